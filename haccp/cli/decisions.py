"""What people decide about a food: `action`, `release`, `tcs`."""

from decimal import Decimal, InvalidOperation

import click

from haccp.cli import terminal
from haccp.cli.looking import any_subject
from haccp.cli.session import Session, by_option, printable
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.lineage import went_into
from haccp.kitchen.naming import find, find_known, open_names
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.review import remedies, undecided
from haccp.record.entries import Assessed, CorrectiveAction, Draft, Released
from haccp.rules.evidence import Finding, Verdict
from haccp.rules.tcs import Result, assess
from haccp.time import parse_when


@click.command()
@click.argument("name", metavar="BATCH_OR_UNIT")
@click.argument("text", required=False)
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def action(
    session: Session, name: str, text: str | None, when: tuple[str, ...], by: str | None
) -> None:
    """Record a corrective action; without TEXT, list what is usual.

    haccp action well-1 "turned up, stirred, 141 °F after"
    """
    units = list(session.register.units)
    found = find_known(name, session.record, units)
    if text is None:
        _propose(session, found)
        return
    person = session.by(by)
    subject = any_subject(session, found)
    answers = _answered_by_an_action(subject, session)
    session.append(
        Draft(
            body=CorrectiveAction(text=printable(text, "The action", 400)),
            at=parse_when(" ".join(when), session.now, session.register.zone),
            person=person.initials,
            batch=None if found in units else found,
            unit=found if found in units else None,
        )
    )
    terminal.say(f"Corrective action for {found} recorded.")
    if not answers:
        terminal.say("It answers nothing: no deviation stood against it that nobody had answered.")


def _answered_by_an_action(subject: OnRecord, session: Session) -> bool:
    """Whether something stands unanswered against a subject, or against what was taken from it."""
    is_batch = isinstance(subject, BatchOnRecord)
    into = went_into(session.record, subject.name) if is_batch else []
    taken = [subject, *(relation.batch for relation in into)]
    return any(_unanswered(one, session) for one in taken)


def _unanswered(subject: OnRecord, session: Session) -> list[Finding]:
    found = all_found(subject, session.record, session.register, session.now)
    return list(undecided(subject, found, session.register))


def _propose(session: Session, name: str) -> None:
    """List the usual options for each unanswered deviation; a person decides and records one."""
    subject = any_subject(session, name)
    proposed = remedies(subject, session.record, session.register, session.now)
    if not proposed:
        terminal.say(f"{name} has no deviation that nobody has answered, and nothing open.")
        return
    for finding, options in proposed:
        if not options:
            continue
        terminal.say(f"{finding.verdict.upper()}, {finding.limit.citation}:")
        rows = []
        for option in options:
            sources = (option.citation, option.source, option.basis)
            told = "; ".join(part for part in sources if part)
            rows.append((f"- {option.words} [{told}]",))
        terminal.table(("what may be done [by what source]",), rows)
    terminal.say(f'A person decides: haccp action {name} "what was done".')


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("reason")
@by_option
@click.pass_obj
def release(session: Session, name: str, reason: str, by: str | None) -> None:
    """Release a food whose limit is not shown, with the reason (a manager).

    haccp release rice "measured at 15:30 on the paper sheet: 64 °F"
    """
    found = find(name, open_names(session.record), "open batch")
    subject = any_subject(session, found)
    undecided = _unanswered(subject, session)
    if not undecided:
        raise Refused(f"{found} has no deviation that nobody has answered: nothing to release.")
    disproved = [one for one in undecided if one.verdict is Verdict.NOT_MET]
    if disproved:
        raise Refused(
            f"{found} broke {disproved[0].limit.citation}, which no reason mends: log what was done"
            f' with haccp action {found} "..." or haccp discard {found} "..."'
        )
    why = printable(reason, "The reason")
    manager = session.manager(by)
    session.append(
        Draft(body=Released(reason=why), at=session.now, person=manager.initials, batch=found),
        as_seen=True,
    )
    terminal.say(f"{found} is released by {manager.name} ({manager.initials}).")
    terminal.say(terminal.CAUTION)


@click.command()
@click.argument("name", metavar="[BATCH]", required=False)
@click.option("--ph", metavar="PH", help="Its measured pH, such as 3.9.")
@click.option("--aw", metavar="AW", help="Its measured water activity, such as 0.93.")
@click.option("--heat-treated", is_flag=True, help="Cooked to kill vegetative cells.")
@click.option("--packaged", is_flag=True, help="Then packaged, so that nothing gets in.")
@click.option(
    "--to-preserve",
    is_flag=True,
    help="Vinegar, smoke, curing or reduced oxygen is what makes it keep.",
)
@by_option
@click.pass_obj
def tcs(
    session: Session,
    name: str | None,
    ph: str | None,
    aw: str | None,
    heat_treated: bool,
    packaged: bool,
    to_preserve: bool,
    by: str | None,
) -> None:
    """Say by pH and water activity whether a food is TCS at all (1-201.10, Tables A and B).

    For a BATCH it is recorded (a manager): haccp tcs glaze --ph 3.7 --aw 0.91
    """
    found = assess(
        _number(ph, "pH"),
        _number(aw, "water activity"),
        heat_treated_and_packaged=heat_treated and packaged,
    )
    if to_preserve:
        raise Refused(
            "That needs a variance (3-502.11) or a HACCP plan (3-502.12) from the health authority "
            "first: until then the food is TCS, and this tool goes no further."
        )
    if name is None:
        terminal.say(found.words)
        return
    batch = find(name, open_names(session.record), "open batch")
    manager = session.manager(by)
    terminal.say(found.words)
    body = Assessed(
        ph=ph or "",
        water_activity=aw or "",
        heat_treated=heat_treated,
        packaged=packaged,
        result=found.result,
    )
    session.append(Draft(body=body, at=session.now, person=manager.initials, batch=batch))
    bound = "no limit here binds it" if found.result is Result.NON_TCS else "it is treated as TCS"
    terminal.say(f"Recorded for {batch}: {bound}.")


def _number(text: str | None, what: str) -> Decimal | None:
    if text is None:
        return None
    try:
        return Decimal(text.strip())
    except InvalidOperation:
        raise Refused(f"{text!r} is no {what}: type a number such as 4.2.") from None
