"""What people decide about a food: `action`, `release`, `set-apart`, `tcs`."""

from decimal import Decimal, InvalidOperation

import click

from haccp.cli import terminal
from haccp.cli.deciding import how_to_decide
from haccp.cli.looking import any_subject
from haccp.cli.session import Session, by_option, given, printable
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.naming import find, find_known, open_names, several
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.review import remedies, undecided
from haccp.language import counted, message, phrase
from haccp.record.bodies import Assessed, CorrectiveAction, Released, SetApart
from haccp.record.entries import Draft
from haccp.rules.dispositions import may_release
from haccp.rules.evidence import Finding
from haccp.rules.tcs import Result, assess
from haccp.rules.words import called
from haccp.time import parse_when


@click.command()
@click.argument("names", metavar="BATCH_OR_UNIT")
@click.argument("text", required=False)
@click.argument("when", nargs=-1)
@click.option("--cause", default="", help="Why it came to be, where that is known.")
@by_option
@click.pass_obj
def action(
    session: Session,
    names: str,
    text: str | None,
    when: tuple[str, ...],
    cause: str,
    by: str | None,
) -> None:
    """Record a corrective action; without TEXT, list what is usual.

    Several batches or units are named with commas; of food it is a note, its fate decides.

    haccp corrective well-1,well-2 "turned up, stirred, 141 °F after"
    """
    units = list(session.register.units)
    found = [find_known(name, session.record, units) for name in several(names)]
    if text is None:
        for one in found:
            _propose(session, one)
        return
    person = session.by(by)
    at = parse_when(" ".join(when), session.now, session.register.zone)
    subjects = [any_subject(session, one) for one in found]
    against = [_undecided(one, session) for one in subjects]
    body = CorrectiveAction(
        text=printable(text, phrase("The action"), 400),
        cause=printable(cause, phrase("The cause")) if cause else "",
    )
    session.append(
        *(
            Draft(
                body=body,
                at=at,
                person=person.initials,
                batch=None if one in units else one,
                unit=one if one in units else None,
            )
            for one in found
        )
    )
    terminal.say(phrase("Corrective action for {names} recorded.", names=", ".join(found)))
    for subject, stood in zip(subjects, against, strict=True):
        if not stood:
            told = message("Nothing stood undecided against {name}.")
            terminal.say(phrase(told, name=subject.name))
        elif isinstance(subject, BatchOnRecord):
            _tell_what_decides(subject, session)


def _tell_what_decides(subject: BatchOnRecord, session: Session) -> None:
    """Say what still stands against a food, and what decides it: what was written does not."""
    left = _undecided(any_subject(session, subject.name), session)
    if left:
        told = message("{title} is still {verdict}. {how_to_decide}")
        verdict, how = called(left[0].verdict), how_to_decide(subject, left, session.register)
        terminal.say(phrase(told, title=subject.title, verdict=verdict, how_to_decide=how))


def _undecided(subject: OnRecord, session: Session) -> list[Finding]:
    found = all_found(subject, session.record, session.register, session.now)
    return list(undecided(subject, found, session.register))


def _propose(session: Session, name: str) -> None:
    """List the usual options for each unanswered deviation; a person decides and records one."""
    subject = any_subject(session, name)
    proposed = remedies(subject, session.record, session.register, session.now)
    if not proposed:
        told = message("{name} has no deviation that nobody has answered, and nothing open.")
        terminal.say(phrase(told, name=name))
        return
    for finding, options in proposed:
        if not options:
            continue
        terminal.say(f"{called(finding.verdict)}, {finding.limit.citation}:")
        rows = []
        for option in options:
            sources = (option.citation, option.source, option.basis)
            told = "; ".join(part for part in sources if part)
            rows.append((f"- {option.words} [{told}]",))
        terminal.table((phrase("what may be done [by what source]"),), rows)
    terminal.say(phrase('A person decides: haccp corrective {name} "what was done".', name=name))


@click.command()
@click.argument("names", metavar="BATCH")
@click.argument("reason", required=False)
@by_option
@click.pass_obj
def release(session: Session, names: str, reason: str | None, by: str | None) -> None:
    """Release food whose limit is not shown, with the reason (a manager).

    haccp release-food rice "measured at 15:30 on the paper sheet: 64 °F"
    """
    found = [find_known(name, session.record, ()) for name in several(names)]
    for one in found:
        _may_be_released(any_subject(session, one), session)
    why = given(reason, f'haccp release-food {names} "..."')
    manager = session.manager(by)
    session.append(
        *(
            Draft(body=Released(reason=why), at=session.now, person=manager.initials, batch=one)
            for one in found
        ),
        as_seen=True,
    )
    terminal.say(
        counted(
            "{names} is released by {manager} ({initials}).",
            "{names} are released by {manager} ({initials}).",
            len(found),
            names=", ".join(found),
            manager=manager.name,
            initials=manager.initials,
        )
    )
    terminal.say(phrase(terminal.CAUTION))


def _may_be_released(subject: OnRecord, session: Session) -> None:
    """Raise Refused for food against which nothing stands, or what no reason mends."""
    left = _undecided(subject, session)
    if not left:
        told = message("Nothing stands undecided against {name}: nothing to release.")
        raise Refused(phrase(told, name=subject.name))
    disproved = [one for one in left if not may_release(one)]
    if disproved:
        raise Refused(
            phrase(
                "{name} broke {citation}, which no reason mends: {how_to_decide} or haccp divert "
                '{name} "..."',
                name=subject.name,
                citation=disproved[0].limit.citation,
                how_to_decide=how_to_decide(subject, disproved, session.register),
            )
        )


@click.command("set-apart")
@click.argument("names", metavar="BATCH")
@click.argument("reason", default="until somebody decides")
@by_option
@click.pass_obj
def set_apart(session: Session, names: str, reason: str, by: str | None) -> None:
    """Record that food that deviates stands apart, on hold, until somebody decides.

    haccp set-apart rice "in the walk-in, bottom shelf, marked"
    """
    found = [find(name, open_names(session.record), "open batch") for name in several(names)]
    person = session.by(by)
    body = SetApart(reason=printable(reason, phrase("The reason")))
    session.append(
        *(Draft(body=body, at=session.now, person=person.initials, batch=one) for one in found)
    )
    told = message("{names} set apart: not to be served until somebody decides.")
    terminal.say(phrase(told, names=", ".join(found)))


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
        _number(ph, message("{text} is no pH: type a number such as 4.2.")),
        _number(aw, message("{text} is no water activity: type a number such as 4.2.")),
        heat_treated_and_packaged=heat_treated and packaged,
    )
    if to_preserve:
        raise Refused(
            phrase(
                "That needs a variance (3-502.11) or a HACCP plan (3-502.12) from the health "
                "authority first: until then the food is TCS, and this tool goes no further."
            )
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
    is_free = found.result is Result.NON_TCS
    told = (
        message("Recorded for {batch}: no limit here binds it.")
        if is_free
        else message("Recorded for {batch}: it is treated as TCS.")
    )
    terminal.say(phrase(told, batch=batch))


def _number(text: str | None, refusal: str) -> Decimal | None:
    if text is None:
        return None
    try:
        return Decimal(text.strip())
    except InvalidOperation:
        raise Refused(phrase(refusal, text=repr(text))) from None
