"""What is written on a container: `label`."""

import click

from haccp.cli import terminal
from haccp.cli.looking import any_batch
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.batch_facts import left_once_thawed
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import date_mark, frozen_times, is_frozen, said_open
from haccp.kitchen.naming import open_codes
from haccp.kitchen.reading import read_batches
from haccp.language import message, phrase
from haccp.rules.datemark import EXEMPT
from haccp.rules.evidence import Step
from haccp.time import clock, short_day


@click.command()
@click.argument("name", metavar="BATCH")
@click.option("--portions", is_flag=True, help="A line for each portion of it that is left.")
@click.pass_obj
def label(session: Session, name: str, *, portions: bool) -> None:
    """Print a line to write or stick on a batch's container.

    haccp label stew
    """
    subject = any_batch(session, name)
    labelled = [subject]
    if portions:
        left = read_batches(session.record, open_codes(session.record))
        mine = [one for one in left if subject.name in one.batch.portion_of]
        labelled = sorted(mine, key=lambda one: one.opened.seq)
        if not labelled:
            raise Refused(phrase("No portion of {batch} is left.", batch=subject.name))
    told = [_label(one, session) for one in labelled]
    session.tell_troubles()
    terminal.lines(*told)


def _label(subject: BatchOnRecord, session: Session) -> str:
    register, opened = session.register, subject.opened
    made = subject.began.astimezone(register.zone)
    mark = date_mark(session.record, register, subject.name, session.now)
    timed = [
        one.due
        for one in subject.judged(register, session.now)
        if one.step is Step.TIME_CONTROL and one.due
    ]
    exempt = EXEMPT.get(subject.batch.date_mark_exempt)
    none = phrase("NO DATE MARK {citation}", citation=exempt.citation) if exempt else ""
    kept = phrase("USE BY {capital_day}", capital_day=short_day(mark).upper()) if mark else none
    if is_frozen(subject, register, session.now):
        kept = _frozen_label(subject, session)
    began = f"{short_day(made.date())} {clock(subject.began, register.zone)}"
    taken = message("received {moment}") if subject.batch.received_as else message("made {moment}")
    since = said_open(subject, session.now)
    since_day = short_day(since.astimezone(register.zone).date()) if since else ""
    words = [
        subject.title,
        subject.batch.amount,
        phrase(taken, moment=began),
        phrase("opened {day}", day=since_day) if since else "",
        phrase("DISCARD AT {time}", time=clock(timed[0], register.zone)) if timed else kept,
        opened.person,
    ]
    return " · ".join(word for word in words if word)


def _frozen_label(subject: BatchOnRecord, session: Session) -> str:
    """Say on a label since when food is frozen, and how many days are left once it is thawed."""
    register, now = session.register, session.now
    left = left_once_thawed(subject, session.record, register, now).upper()
    frozen, _ = frozen_times(subject, register, now)[-1]
    day = short_day(frozen.astimezone(register.zone).date()).upper()
    if left:
        return phrase("FROZEN {capital_day}, {capital_left}", capital_day=day, capital_left=left)
    return phrase("FROZEN {capital_day}", capital_day=day)
