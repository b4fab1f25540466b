"""The cook's hourly entry: `prepare`, `cook`, `hold`, `cool`, `reheat`, `time`."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import partial
from itertools import islice
from typing import Any, NamedTuple, TypeVar

import click

from haccp.cli.answer import Answer
from haccp.cli.answers import answer
from haccp.cli.asking import complete, the_one
from haccp.cli.reading_line import Line, Typed
from haccp.cli.session import Declined, Session, confirm, printable
from haccp.cli.typing_slips import looks_wrong
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord, refuse_unjudgeable
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.naming import Names, find, open_names, unit_numbers
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.reading import read_batch, read_units
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord, refuse_other_use, unit_step
from haccp.language import message, phrase
from haccp.record.bodies import BatchOpened, Measured, Person, TakenOut
from haccp.record.entries import Draft, Entry, having
from haccp.rules.account.steps import TRAITS, Keeps
from haccp.rules.asked import goal
from haccp.rules.evidence import (
    INITIAL,
    MICROWAVE,
    OPENED,
    SIX_HOURS,
    UNSLICED,
    WHOLE_ROAST,
    Reading,
    Step,
    Verdict,
)
from haccp.temperature import (
    Degree,
    Temperature,
    is_of_an_oven,
    parse_temperature,
)
from haccp.time import day_and_clock, parse_next, parse_when, stored

_Command = TypeVar("_Command", bound=Callable[..., Any])

_HOLD = re.compile(r"([0-9]{1,5})\s*(s|sec|min|h)?")
_LONGEST_HOLD_S = 86_400
_SECONDS = {None: 1, "s": 1, "sec": 1, "min": 60, "h": 3600}


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedReading:
    """One reading as it was typed; `unit` is what a batch stands in."""

    temp: str
    thermometer: str | None
    note: str
    yes: bool
    paper: bool
    held: str = "0"
    unit: str | None = None
    method: str | None = None
    oven: str | None = None
    overnight: str | None = None

    def measured(self, step: Step, register: Register, at: datetime, now: datetime) -> Measured:
        """Read it into the body of an entry; raises Refused for what cannot be."""
        shown = parse_temperature(self.temp, register.degree)
        chamber = parse_temperature(self.oven, register.degree) if self.oven else None
        if chamber and not is_of_an_oven(chamber):
            told = message("No oven is at {temp}: type what it shows, such as 250F.")
            raise Refused(phrase(told, temp=chamber))
        return Measured(
            step=step,
            temp=str(shown.value),
            degree=shown.degree,
            held_s=parse_held(self.held),
            thermometer=which_thermometer(register, self.thermometer, now),
            note=printable(self.note, phrase("The note")) if self.note else "",
            paper=self.paper,
            method=self.method or "",
            chamber=f"{chamber.value}{chamber.degree}" if chamber else "",
            next_look=stored(parse_next(self.overnight, at, register.zone))
            if self.overnight
            else "",
        )


@dataclass(frozen=True, slots=True)
class Ready:
    """A reading that was checked and may be recorded, and what it is a reading of."""

    subject: BatchOnRecord | UnitOnRecord
    drafts: tuple[Draft, ...]


class Told(NamedTuple):
    """A reading as it was recorded, and what it was answered with."""

    entry: Entry[Measured]
    answer: Answer


def log(
    session: Session,
    words: tuple[str, ...],
    by: str | None,
    step: Step | None,
    command: str,
    **typed: Any,
) -> None:
    """Record one reading of a batch or unit, or several holding checks, and answer each."""
    person, register = session.by(by), session.register
    names, what = open_names(session.record), "open batch"
    if not step:
        names, what = _may_be_held(names, session), "batch or unit"
    line = Line(words, command, names, what)
    now, zone = session.now, register.zone
    every = (line.read(now, zone),) if step else line.read_all(now, zone)
    at = parse_when(every[0].when, now, zone)
    if len(every) > 1:
        _enter_several(session, every, names, at, person, typed)
        return
    subject = on_record_now(session, the_one(every[0].name, names, what))
    reading = TypedReading(temp=every[0].temp, **typed)
    enter(session, ready(session, subject, reading, step, at, person))


def _enter_several(
    session: Session,
    every: Sequence[Typed],
    names: Names,
    at: datetime,
    person: Person,
    options: dict[str, Any],
) -> None:
    """Record several holding checks of a moment; raises Refused, for all, for what cannot be.

    What is answered no to is left out, and told at the end.
    """
    may_be: list[Ready] = []
    left_out: list[str] = []
    for one in every:
        pair = f"{one.name} {one.temp}"
        try:
            subject = on_record_now(session, the_one(one.name, names, "batch or unit"))
            if any(known.subject.name == subject.name for known in may_be):
                raise Refused(phrase("{name} stands in it twice.", name=subject.name))
            reading = TypedReading(temp=one.temp, **options)
            may_be.append(ready(session, subject, reading, None, at, person))
        except Declined:
            left_out.append(pair)
        except Refused as slip:
            told = message("Nothing of this line was recorded, because of {pair}. {why}")
            raise Refused(phrase(told, pair=pair, why=slip)) from slip
    if may_be:
        enter(session, *may_be, in_a_round=True)
    if left_out:
        raise Refused(phrase("This was not recorded: {pairs}.", pairs=", ".join(left_out)))


def ready(
    session: Session,
    subject: BatchOnRecord | UnitOnRecord,
    reading: TypedReading,
    step: Step | None,
    at: datetime,
    person: Person,
) -> Ready:
    """Check a reading, asking what it leaves open; without a step it is one of holding."""
    register = session.register
    step = step or _holding_step(session, subject, reading, at)
    body, taken = checked_reading(session, reading, step, at, subject)
    body, taken_out = complete(body, taken, subject, session)
    stands_in = find(reading.unit, list(register.units), "unit") if reading.unit else None
    if stands_in:
        refuse_other_use(register.units[stands_in], step)
    is_unit = isinstance(subject, UnitOnRecord)
    draft: Draft = Draft(
        body=body,
        at=at,
        person=person.initials,
        batch=None if is_unit else subject.name,
        unit=subject.name if is_unit else stands_in,
    )
    if not taken_out:
        return Ready(subject, (draft,))
    out = Draft(body=TakenOut(), at=taken_out, person=person.initials, batch=subject.name)
    return Ready(subject, (out, draft))


def enter(session: Session, *every: Ready, in_a_round: bool = False) -> list[Told]:
    """Record readings in one go, and answer each in a few lines."""
    record, register = session.record, session.register
    before = [all_found(one.subject, record, register, session.now) for one in every]
    made = iter(session.append(*(draft for one in every for draft in one.drafts)))
    told = []
    for one, found in zip(every, before, strict=True):
        mine = tuple(islice(made, len(one.drafts)))
        (entry,) = having(mine, Measured)
        subject = replace(one.subject, entries=(*one.subject.entries, *mine))
        reading = reading_of(entry, register)
        told.append(Told(entry, answer(subject, reading, found, session, in_a_round=in_a_round)))
    return told


def checked_reading(
    session: Session,
    typed: TypedReading,
    step: Step,
    at: datetime,
    subject: OnRecord | BatchOpened,
) -> tuple[Measured, Reading]:
    """Check one reading, asking where it looks like a slip; raises Refused for a no.

    Gives its body, and the reading as the rules know it.

    `subject` is what it is a reading of: on record, or the opening of a batch that is about to be.
    """
    register = session.register
    body = typed.measured(step, register, at, session.now)
    if body.next_look:
        _refuse_unwatched(subject)
    taken = Reading(
        at=at,
        temperature=Temperature(Decimal(body.temp), Degree(body.degree)),
        step=step,
        method=body.method,
        chamber=parse_temperature(body.chamber) if body.chamber else None,
    )
    if isinstance(subject, BatchOpened):
        refuse_unjudgeable(subject, at, taken, register)
    else:
        subject.refuse_unjudgeable(taken, register)
        _refuse_timing(subject, taken, session)
    taken = replace(taken, held=timedelta(seconds=float(body.held_s)))
    question = looks_wrong(subject, taken, session, typed.temp)
    if question:
        body = replace(body, confirmed=confirm(question, yes=typed.yes))
    return body, taken


def _refuse_unwatched(subject: OnRecord | BatchOpened) -> None:
    """Refuse that food other than a whole roast cooks on with nobody there."""
    opened = subject.batch if isinstance(subject, BatchOnRecord) else subject
    if not (isinstance(opened, BatchOpened) and opened.food_kind == WHOLE_ROAST):
        raise Refused(
            phrase(
                "Only a whole roast stays on the heat unwatched; a batch says so when it is "
                'opened: haccp batch "beef shoulder" --kind "whole roast"'
            )
        )


def _refuse_timing(subject: OnRecord, taken: Reading, session: Session) -> None:
    """Refuse time as the control of food that is cooling: 3-501.19(B)(1), no word ends that."""
    if taken.step is not Step.TIME_CONTROL or not isinstance(subject, BatchOnRecord):
        return
    found = subject.judged(session.register, session.now)
    cooling = [one for one in found if one.step is Step.COOL and one.verdict is Verdict.OPEN]
    if cooling:
        clock = partial(day_and_clock, now=session.now, zone=session.register.zone)
        raise Refused(
            phrase(
                "{title} is cooling ({goal}): time is a control only of food that is hot or cold "
                "when it is taken out. Cool it on, or reheat it.",
                title=subject.title,
                goal=goal(cooling[0], clock),
            )
        )


def open_batch(session: Session, name: str) -> BatchOnRecord:
    """Find the open batch meant; raises Refused for none or several."""
    found = the_one(name, open_names(session.record), "open batch")
    return read_batch(session.record, found)


def _may_be_held(names: Names, session: Session) -> Names:
    register = session.register
    return names.with_units(register.units_in_use, unit_numbers(register))


def on_record_now(session: Session, name: str) -> BatchOnRecord | UnitOnRecord:
    """Read a batch or unit by its whole name; of a unit what is near now."""
    if name not in session.register.units:
        return read_batch(session.record, name)
    since, until = session.now - timedelta(days=2), session.now + timedelta(hours=1)
    return read_units(session.record, session.register, [name], since, until)[0]


def _holding_step(
    session: Session, subject: BatchOnRecord | UnitOnRecord, typed: TypedReading, at: datetime
) -> Step:
    """Say whether a batch is held hot or cold: by its unit, or what it went through before."""
    register = session.register
    if isinstance(subject, UnitOnRecord):
        return subject.step
    if typed.unit:
        return unit_step(register.units[find(typed.unit, list(register.units), "unit")])
    shown = parse_temperature(typed.temp, register.degree)
    limits = register.limits_at(at)
    is_hot = limits.get("hot-holding").kept_by(shown)
    taken = [one for one in subject.evidence(register) if one.at <= at]
    for reading in reversed(taken):
        traits = TRAITS[reading.step]
        still_hot = is_hot and limits.get("hot-holding").kept_by(reading.temperature)
        if reading.step is Step.RECEIVE:
            still_hot = subject.batch.received_as == "hot"
        if traits.kept is Keeps.COLD and not still_hot:
            return Step.COLD_HOLD
        if traits.kept or traits.heats:
            return Step.HOT_HOLD
    if taken and (is_hot or limits.get("cold-holding").kept_by(shown)):
        return Step.HOT_HOLD if is_hot else Step.COLD_HOLD
    raise Refused(
        phrase(
            "{name} has no reading before that, so hot or cold is not known: log haccp cook or "
            "haccp cool first.",
            name=subject.name,
        )
    )


def which_thermometer(register: Register, label: str | None, now: datetime) -> str:
    """Give the thermometer named, or the kitchen's first; raises Refused for an unknown one.

    One that failed its check is nobody's usual one until that is settled, unless there is no other.
    """
    active = [one.label for one in register.thermometers.values() if one.active]
    if label:
        return find(label, active, "thermometer")
    trusted = (one for one in active if not register.doubted_since(one, now))
    return next(trusted, active[0] if active else "")


def parse_held(text: str) -> str:
    """Read a hold such as ``15``, ``15s`` or ``2min`` into seconds; raises Refused otherwise."""
    match = _HOLD.fullmatch(text.strip().lower())
    if match is None:
        told = message("{text} is no time held: type seconds such as 15, or 2min.")
        raise Refused(phrase(told, text=repr(text)))
    seconds = int(match[1]) * _SECONDS[match[2]]
    if seconds > _LONGEST_HOLD_S:
        told = message("{text} is longer than a day: type seconds such as 15, or 2min.")
        raise Refused(phrase(told, text=repr(text)))
    return str(seconds)


def _command(name: str, step: Step | None, help_: str, *more: click.Parameter) -> click.Command:
    return click.Command(
        name,
        # so that a freezer's -4F is a temperature and no option
        context_settings={"ignore_unknown_options": True},
        callback=click.pass_obj(partial(log, step=step, command=name)),
        params=[
            click.Argument(
                ["words"],
                nargs=-1,
                metavar="BATCH TEMP [WHEN]" if step else "BATCH_OR_UNIT TEMP [MORE]... [WHEN]",
            ),
            *more,
            _option("--thermometer", "If not the kitchen's first.", envvar="HACCP_THERMOMETER"),
            _option("-n --note", "A few words to print beside the reading.", default=""),
            _option("--paper", "It was written on paper first.", is_flag=True),
            _option("-b --by", "Who records; else HACCP_BY or `haccp initials`."),
            _option("--yes", "An unusual value is right.", is_flag=True),
        ],
        help=help_,
    )


def _option(name: str, help_: str, **more: Any) -> click.Option:
    return click.Option([*name.split()], help=help_, **more)


def _method(flag: str, value: str, help_: str) -> click.Option:
    def choose(ctx: click.Context, _: click.Parameter, given: bool) -> None:
        """Take one way only: a second one would silently stand in its place."""
        if given and "method" in ctx.params:
            other = ctx.params["method"]
            told = message("It cannot be {one} and {other} at once: type one of them.")
            raise Refused(phrase(told, one=other, other=value))
        if given:
            ctx.params["method"] = value

    return _option(f"--{flag}", help_, is_flag=True, expose_value=False, callback=choose)


_HELD = _option("--held", "How long it stayed there: 15, 15s, 2min.", default="0")
_OVEN = _option("--oven", "What the oven shows, such as 250F.")
_IN = _option("-i --in unit", "The unit that it stands in.")

prepare = _command(
    "prepare",
    Step.PREPARE,
    "Log food that is out of temperature control before it is cooked.\n\nhaccp prepare beef 46",
)
cook = _command(
    "cook",
    Step.COOK,
    "Log a cooking temperature.\n\nhaccp cook stew 165 --held 15",
    _HELD,
    _OVEN,
    _option("--overnight", "A whole roast runs on alone; when it is looked at next: 06:00."),
    _method("microwave", MICROWAVE, "In a microwave: covered, stood 2 min (3-401.12)."),
    _method("initial", INITIAL, "Initial heating of a food cooked in two goes (3-401.14)."),
)
hold = _command(
    "hold",
    None,
    "Log a hot or cold holding check, or several.\n\nhaccp hold well-1 141 well-2 148",
    _IN,
)
cool = _command("cool", Step.COOL, "Log a cooling temperature.\n\nhaccp cool stew 98 14:05", _IN)
reheat = _command(
    "reheat",
    Step.REHEAT,
    "Log a reheating temperature.\n\nhaccp reheat stew 166 --held 15",
    _HELD,
    _OVEN,
    _method("microwave", MICROWAVE, "In a microwave: covered, stood 2 min (3-403.11(B))."),
    _method("unsliced", UNSLICED, "An unsliced portion of a roast (3-403.11(E))."),
)
time = _command(
    "time",
    Step.TIME_CONTROL,
    "Log food that leaves temperature control, with time as the control from then on "
    "(3-501.19), or a look at it later.\n\nhaccp time rice 141",
    _method("six-hours", SIX_HOURS, "Cold, for 6 hours, never above 70 °F."),
    _method("opened", OPENED, "Cut or opened just now, at 70 °F or below, for 4 hours."),
)


def paper_option(command: _Command) -> _Command:
    return click.option("--paper", is_flag=True, help="It was written on paper first.")(command)
