"""What is put right and vouched for: `correct` and `sign`."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import click

from haccp.cli import terminal
from haccp.cli.answers import answer
from haccp.cli.covered import covered
from haccp.cli.looking import any_subject
from haccp.cli.measure import Told, parse_held
from haccp.cli.session import Session, by_option, confirm, printable
from haccp.cli.typing_slips import looks_wrong
from haccp.errors import Refused
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.reading import read_batch
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import read_register
from haccp.kitchen.review import note_settled, review, walked
from haccp.kitchen.unusual import unusual
from haccp.language import message, phrase
from haccp.phrases import at
from haccp.record.bodies import (
    Assessed,
    BatchOpened,
    ContainerOpened,
    CoolingPlanned,
    CoolingSetup,
    CorrectiveAction,
    DayClosed,
    DaySigned,
    DeliveryRejected,
    Discarded,
    Diverted,
    DoubtSettled,
    Frozen,
    LeftOut,
    Logged,
    Measured,
    Moved,
    NotMeasured,
    OvenAccepted,
    Person,
    Released,
    Renamed,
    SetApart,
    TakenOut,
    Thawed,
    ThermometerCheck,
    UnitEmptied,
    UsedUp,
    Withdrawn,
    kind_in_words,
)
from haccp.record.entries import LATE, Draft, Entry, having, holds
from haccp.record.threads import about_thermometer
from haccp.rules.evidence import Step, overall
from haccp.rules.words import called
from haccp.temperature import Degree, is_temperature, parse_temperature
from haccp.time import (
    CLOCK_TOLERANCE,
    day_and_clock,
    day_starts,
    is_about_time,
    is_time,
    parse_day,
    parse_when,
)

_CAN_BE_WITHDRAWN = (
    Measured, Logged, LeftOut, BatchOpened, UnitEmptied, CorrectiveAction, Released, Discarded,
    Diverted, SetApart, DeliveryRejected,
    UsedUp, Frozen, Thawed, TakenOut, Moved, ContainerOpened, Renamed, Assessed, CoolingPlanned,
    CoolingSetup, ThermometerCheck, DoubtSettled, DayClosed, OvenAccepted, NotMeasured,
)  # fmt: skip


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("entry", metavar="NUMBER_OR_NAME")
@click.argument("words", nargs=-1, metavar="[TEMP] [WHEN] [REASON]")
@click.option("--reason", default="", help="Why; it is printed beside the entry.")
@click.option("--held", metavar="TIME", help="The right time held.")
@click.option("--yes", is_flag=True, help="An unusual value is right.")
@click.option("--withdraw", is_flag=True, help="The entry should not be there at all.")
@by_option
@click.pass_obj
def correct(
    session: Session,
    entry: str,
    words: tuple[str, ...],
    reason: str,
    held: str | None,
    yes: bool,
    withdraw: bool,
    by: str | None,
) -> None:
    """Correct an entry by a new one: haccp amend 42 69F --reason "read the wrong pan".

    NUMBER_OR_NAME is an entry's number, or a batch or unit for its last reading.
    """
    temp, when, said = _parted(words, withdraw=withdraw)
    if said and reason:
        raise Refused(phrase("The reason is typed twice: leave {said} out.", said=repr(said)))
    old = (
        _entry(session, int(entry))
        if entry.isascii() and entry.isdecimal()
        else _last_entry(session, entry, temp)
    )
    if not (said or reason):
        raise Refused(
            phrase(
                'A correction says why: add --reason "read the wrong pan", such as haccp amend '
                '{entry} {words} --reason "read the wrong pan"',
                entry=entry,
                words=" ".join(words) or "TEMP",
            )
        )
    why = printable(said or reason, phrase("The reason"))
    failed = isinstance(old.body, ThermometerCheck) and not old.body.passed
    dated = isinstance(old.body, ContainerOpened) and session.now - old.entered_at > LATE
    # what puts readings in doubt, or dates a food, is not taken away by whoever recorded it
    person = session.manager(by) if failed or dated else session.by(by)
    if withdraw:
        _withdraw(session, old, person, why)
    elif old.run:
        raise Refused(_from_a_file(old, old.run))
    elif holds(old, Measured):
        put_right(session, old, person, why, temp=temp, when=when, held=held, yes=yes)
    else:
        told = message(
            "No. {number} is no reading: take it back with --withdraw, then enter it anew."
        )
        raise Refused(phrase(told, number=old.seq))


def _from_a_file(old: Entry, run: Logged) -> str:
    return phrase(
        "No. {number} is an hour's readings out of {file}, which nobody typed: take the hour back, "
        'haccp amend {number} --withdraw --reason "of another cooler", or leave a part of it out, '
        'haccp leave-out {name} 14:05 14:40 "the probe lay on the bench"',
        number=old.seq,
        file=run.source,
        name=old.batch or old.unit,
    )


def put_right(
    session: Session,
    old: Entry[Measured],
    person: Person,
    why: str,
    *,
    temp: str | None,
    when: str = "",
    held: str | None = None,
    yes: bool = False,
) -> Told:
    """Put a reading in an earlier one's place, and answer it; raises Refused where none changes."""
    register = session.register
    body = _put_right(old.body, temp, register.degree, held, why)
    at = parse_when(when, session.now, register.zone) if when else old.at
    taken = reading_of(replace(old, body=body, at=at), register)
    question = looks_wrong(_without(old, session), taken, session, temp or "")
    if question:
        body = replace(body, confirmed=confirm(question, yes=yes))
    if replace(body, reason=old.body.reason) == old.body and at == old.at:
        told = message("Nothing about no. {number} would change: type the right temperature.")
        raise Refused(phrase(told, number=old.seq))
    before = all_found(_of(old, session), session.record, register, session.now)
    new = _append(session, old, body, at, person)
    told = message("No. {old} of {name} ({what}) is replaced by no. {new}; it stays readable.")
    terminal.say(_corrected(told, old, new, session))
    assert holds(new, Measured)
    return Told(new, answer(_of(new, session), reading_of(new, register), before, session))


def _withdraw(session: Session, old: Entry, person: Person, why: str) -> None:
    _may_be_withdrawn(session, old)
    new = _append(session, old, Withdrawn(reason=why), old.at, person)
    told = message("No. {old} of {name} ({what}) is withdrawn by no. {new}; it stays readable.")
    terminal.say(_corrected(told, old, new, session))
    if isinstance(old.body, Measured | LeftOut):
        subject = _of(new, session)
        verdict = overall(all_found(subject, session.record, session.register, session.now))
        words = message("{title} is now {verdict}.")
        terminal.say(phrase(words, title=subject.title, verdict=called(verdict)))


def _append(
    session: Session, old: Entry, body: Measured | Withdrawn, at: datetime, person: Person
) -> Entry:
    draft: Draft = Draft(
        body=body,
        at=at,
        person=person.initials,
        batch=old.batch,
        unit=old.unit,
        corrects=old.seq,
    )
    (new,) = session.append(draft, as_seen=isinstance(body, Withdrawn))
    return new


def _corrected(told: str, old: Entry, new: Entry, session: Session) -> str:
    name = old.batch or old.unit or phrase("the kitchen")
    return phrase(told, old=old.seq, name=name, what=_what(old, session), new=new.seq)


# Later than that a correction says why.
_AT_ONCE = timedelta(minutes=10)
_SLIP = "a slip in typing, put right at once"


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("temp")
@by_option
@click.pass_obj
def oops(session: Session, temp: str, by: str | None) -> None:
    """Put your last reading right, within ten minutes: haccp oops 39."""
    person = session.by(by)
    old = _last_of(person, session)
    if old.run:
        raise Refused(_from_a_file(old, old.run))
    if not holds(old, Measured):
        told = message(
            "Your last entry, no. {number} ({kind}), is no reading: see haccp amend --help"
        )
        raise Refused(phrase(told, number=old.seq, kind=kind_in_words(old.body)))
    if old.corrected_by:
        told = message("Your last reading was replaced by no. {number}: haccp amend {number} TEMP")
        raise Refused(phrase(told, number=old.corrected_by))
    put_right(session, old, person, _SLIP, temp=temp)


def put_right_at_once(session: Session, old: Entry[Measured], person: Person, temp: str) -> Told:
    """Put right what was typed in the same sitting; raises Refused where that is long ago."""
    if session.now - old.entered_at > _AT_ONCE:
        told = message(
            "That was typed more than ten minutes ago: haccp amend {number} TEMP --reason WHY"
        )
        raise Refused(phrase(told, number=old.seq))
    return put_right(session, old, person, _SLIP, temp=temp)


def _last_of(person: Person, session: Session) -> Entry:
    """Find what a person entered last; raises Refused for what was not entered just now."""
    entered = session.record.entered_since(session.now - _AT_ONCE)
    mine = [entry for entry in entered if entry.person == person.initials]
    if mine:
        return mine[-1]
    if entered:
        told = message("The last entry is that of {other}: to put it right, see haccp amend --help")
        raise Refused(phrase(told, other=entered[-1].person))
    told = message(
        "You entered nothing in the last ten minutes: haccp amend puts right what is older."
    )
    raise Refused(phrase(told))


def _what(old: Entry, session: Session) -> str:
    when = day_and_clock(old.at, session.now, session.register.zone)
    if old.run or not isinstance(old.body, Measured):
        return f"{kind_in_words(old.run or old.body)}, {when}"
    return phrase(
        "{temp} {at}, {step}",
        temp=f"{old.body.temp} °{old.body.degree}",
        at=at(when),
        step=Step(old.body.step).words,
    )


def _of(entry: Entry, session: Session) -> OnRecord:
    return any_subject(session, entry.batch or entry.unit or "")


def _without(entry: Entry, session: Session) -> OnRecord:
    subject = _of(entry, session)
    return replace(subject, entries=tuple(e for e in subject.entries if e.seq != entry.seq))


def _entry(session: Session, number: int) -> Entry:
    entries = session.record.numbered((number,))
    if not entries:
        told = message("There is no entry no. {number}: haccp show gives the numbers.")
        raise Refused(phrase(told, number=number))
    successor = entries[0].corrected_by
    if successor:
        told = message("No. {number} was replaced by no. {successor}: correct that one.")
        raise Refused(phrase(told, number=number, successor=successor))
    return entries[0]


def _parted(words: Sequence[str], *, withdraw: bool) -> tuple[str | None, str, str]:
    """Part words into a temperature, a time and why, of which any may be missing.

    Why is taken from words of letters alone: what holds a digit may be a number typed wrong.
    """
    first = next((n for n in (2, 1) if is_temperature(" ".join(words[:n]))), 0)
    if words and not first and not withdraw and not is_about_time(words[0]):
        parse_temperature(words[0], Degree.F)
    temp, rest = " ".join(words[:first]) or None, words[first:]
    time = next((n for n in range(len(rest), 0, -1) if _is_time(rest[:n])), 0)
    said = " ".join(rest[time:])
    if any(letter.isdecimal() for letter in said) or any(map(is_about_time, rest[time:])):
        raise Refused(
            phrase(
                "{words} is neither a time nor a reason of letters alone: type the time such as "
                '14:05, and why with --reason "..."',
                words=repr(said),
            )
        )
    return temp, " ".join(rest[:time]), said


def _is_time(words: Sequence[str]) -> bool:
    """Whether words are a time; a word after it is a zone's name only in capitals."""
    after = len(words) > 1 and len(words[-1]) > 2 and not is_about_time(words[-1])
    return is_time(" ".join(words)) and not (after and words[-1].isalpha() and words[-1].islower())


def _last_entry(session: Session, name: str, temp: str | None) -> Entry:
    """Give the last reading of a batch or unit; a thermometer's last check is told of."""
    labels = {one.casefold(): one for one in session.register.thermometers}
    label = labels.get(name.casefold())
    if label is None:
        return _last_reading(session, name)
    last = next(session.record.backwards(about_thermometer(label)), None)
    if last is None or not isinstance(last.body, ThermometerCheck):
        raise Refused(phrase("{label} has no check to correct.", label=label))
    command = "boil" if last.body.expected else "ice"
    raise Refused(
        phrase(
            "The last check of {label} is no. {number}, {shown}: take it back, haccp amend "
            '{number} --withdraw --reason "read wrong", then haccp {command} {label} {temp}',
            label=label,
            number=last.seq,
            shown=f"{last.body.temp} °{last.body.degree}",
            command=command,
            temp=temp or "TEMP",
        )
    )


def _last_reading(session: Session, name: str) -> Entry:
    subject = any_subject(session, name)
    readings = list(having(subject.in_force, Measured))
    if not readings:
        raise Refused(phrase("{name} has no reading to correct.", name=subject.name))
    return readings[-1]


def _may_be_withdrawn(session: Session, old: Entry) -> None:
    if not isinstance(old.body, _CAN_BE_WITHDRAWN):
        told = message("No. {number} ({kind}) cannot be withdrawn: enter the new state.")
        raise Refused(phrase(told, number=old.seq, kind=kind_in_words(old.body)))
    if isinstance(old.body, BatchOpened) and old.batch:
        batch = read_batch(session.record, old.batch)
        others = [one for one in batch.in_force if not isinstance(one.body, Withdrawn)]
        if len(others) > 1:
            told = message("{batch} has other entries: withdraw those first.")
            raise Refused(phrase(told, batch=old.batch))


def _put_right(
    old: Measured, temp: str | None, degree: Degree, held: str | None, why: str
) -> Measured:
    shown = parse_temperature(temp, degree) if temp else None
    return replace(
        old,
        temp=str(shown.value) if shown else old.temp,
        degree=shown.degree if shown else old.degree,
        held_s=parse_held(held) if held else old.held_s,
        reason=why,
    )


@click.command()
@click.argument("day", default="today")
@click.option("--note", default="", help="Why it is signed with something undecided or open.")
@by_option
@click.pass_obj
def sign(session: Session, day: str, note: str, by: str | None) -> None:
    """Sign a day as reviewed (a manager).

    haccp sign-day yesterday
    """
    manager = session.manager(by)
    register, now = session.register, session.now
    signed = parse_day(day, now, register.zone)
    if day_starts(signed, register.zone) > now + CLOCK_TOLERANCE:
        raise Refused(phrase("{day} has not begun: sign it when it is over.", day=signed))
    record = walked(session.record, signed, signed, register.zone)
    reviewed = review(record, read_register(record), signed, signed, now)
    unsettled = [*reviewed.undecided, *reviewed.open]
    if unsettled and not note:
        names = ", ".join(sorted({one.subject.name for one in unsettled}))
        raise Refused(
            phrase(
                "{day} has {count} undecided or open ({names}): settle it, or say why with "
                '--note "...".',
                day=signed,
                count=len(unsettled),
                names=names,
            )
        )
    body = DaySigned(
        day=signed.isoformat(),
        undecided=len(reviewed.undecided),
        note=printable(note, phrase("The note")) if note else "",
    )
    session.append(Draft(body=body, at=now, person=manager.initials), as_seen=True)
    note_settled(session.record, read_register(session.record), now)
    terminal.say(
        phrase(
            "{day} is signed by {name} ({initials}).",
            day=signed,
            name=manager.name,
            initials=manager.initials,
        )
    )
    for words in covered(record, reviewed, register, signed, now):
        terminal.say(words)
    found = unusual(session.record, register, signed, signed)
    if found:
        words = message("Worth a look: {count} (haccp record unusual {day} {day}).")
        terminal.say(phrase(words, count=len(found), day=signed))
