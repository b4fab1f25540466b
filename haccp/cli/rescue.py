"""`haccp rescue`: which act still saves a cooling."""

import click

from haccp.cli import rescue_answer, terminal
from haccp.cli.looking import fitted
from haccp.cli.measure import open_batch
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.rescue import open_stages
from haccp.language import phrase
from haccp.physics.forecast import Outlook


@click.command()
@click.argument("name", metavar="BATCH")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def rescue(session: Session, name: str, json_: bool) -> None:
    """Estimate which act still saves a batch that cools too slowly, the likeliest first.

    haccp rescue stew
    """
    subject = open_batch(session, name)
    findings = all_found(subject, session.record, session.register, session.now)
    stages = open_stages(findings)
    if not stages:
        raise Refused(
            phrase(
                "{batch} is in no cooling that acts can be estimated for: look at it with haccp"
                " show {name}",
                batch=subject.title,
                name=subject.name,
            )
        )
    running = fitted(subject, findings, session)
    found = rescue_answer.estimated(subject, stages, running, session)
    if json_:
        terminal.as_json({"batch": subject.name, **rescue_answer.plain(found)})
        return
    session.tell_troubles()
    if running and all(one.outlook is Outlook.ON_COURSE for one in running.expected):
        terminal.say(
            phrase(
                "{batch} is on course by its readings: nothing need be done.", batch=subject.title
            )
        )
        return
    terminal.lines(subject.title)
    rescue_answer.tell(found, session)
