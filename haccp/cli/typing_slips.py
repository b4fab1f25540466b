"""What would be a slip of the finger, put into a question before it is recorded."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial

from haccp.cli.session import Session
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import is_frozen
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord
from haccp.rules.evidence import COOLED, Reading, Step
from haccp.temperature import Degree, Temperature, is_plausible
from haccp.time import day_and_clock, spell, spell_hold

# A reading this old is rather a slip of the day than a late entry: common practice, no source.
_LONG_AGO = timedelta(days=2)
# Food in a cooler is not as cold, and food that holds water not as hot [°F]: common practice, no
# source.
_FROZEN, _BOILING = 25, 230
# Food in bulk does not fall by more than so much, faster than so much a minute, nor rise while it
# is held or cooled; a number that in the other degree is so near to the one before is rather that,
# within so many minutes [°F, °F/min, °F, min]: common practice, no source.
_LEAP, _FALL, _ALIKE, _SOON = 30, 3, 4, 120


def looks_wrong(
    subject: OnRecord | None, taken: Reading, session: Session, typed: str
) -> str | None:
    """Put into a question what a slip of the finger would look like; `typed` is its temperature.

    `subject` is None for what is only being opened.
    """
    return next(_questions(subject, taken, session, typed), None)


def _questions(
    subject: OnRecord | None, taken: Reading, session: Session, typed: str
) -> Iterator[str]:
    if not is_plausible(taken.temperature):
        yield f"{taken.temperature} is no temperature of food."
    if taken.step in (*COOLED, Step.PREPARE) and not _may_be_frozen(subject, taken.at):
        yield from filter(None, [frozen_slip(taken.temperature, typed)])
    if taken.temperature.fahrenheit > _BOILING:
        yield f"{taken.temperature} is hotter than food that holds water."
    if (
        isinstance(subject, BatchOnRecord)
        and taken.step is Step.COLD_HOLD
        and _is_hot(taken, session)
    ):
        yield (
            f"{taken.temperature} is no cold holding, which {subject.name} is in: to hold it hot,"
            f" haccp reheat it first."
        )
    when = day_and_clock(taken.at, session.now, session.register.zone)
    if isinstance(subject, BatchOnRecord) and taken.at < subject.opened.at:
        yield f"{when} is before {subject.name} was opened."
    if session.now - taken.at > _LONG_AGO:
        yield f"{when} is {spell(session.now - taken.at)} ago."
    every = _before_it(subject, session.register)
    if any(_is_the_same(one, taken) for one in every):
        yield f"{taken.temperature} at {when} is on record already."
    earlier = [one for one in every if one.at < taken.at]
    if earlier and not _may_be_frozen(subject, taken.at):
        yield from filter(None, [_against(taken, earlier[-1], typed, session)])


def _before_it(subject: OnRecord | None, register: Register) -> Sequence[Reading]:
    """Give the readings that one more of a batch or unit may be compared with."""
    if subject is None:
        return ()
    if isinstance(subject, UnitOnRecord):
        # what food was read in a unit says nothing of the unit's own checks
        checks = (entry for entry in subject.readings if entry.batch is None)
        return [reading_of(entry, register) for entry in checks]
    return subject.evidence(register)


def frozen_slip(temperature: Temperature, typed: str) -> str | None:
    """Ask about a number that in °F only frozen food shows, where no degree was typed."""
    if (
        temperature.degree is Degree.C
        or temperature.value >= _FROZEN
        or typed.strip()[-1:].isalpha()
    ):
        return None
    return f"{temperature} is frozen: if degrees C were meant, type {temperature.value}C."


def _may_be_frozen(subject: OnRecord | None, at: datetime) -> bool:
    if isinstance(subject, UnitOnRecord):
        return subject.unit.holds == "frozen"
    if not isinstance(subject, BatchOnRecord):
        return False
    return subject.batch.received_as == "frozen" or is_frozen(subject, at)


def _is_hot(taken: Reading, session: Session) -> bool:
    return session.register.limits_at(taken.at).get("hot-holding").kept_by(taken.temperature)


def _is_the_same(one: Reading, other: Reading) -> bool:
    what = (one.step, one.temperature, one.held, one.method, one.chamber)
    same = what == (other.step, other.temperature, other.held, other.method, other.chamber)
    return same and abs(one.at - other.at) < timedelta(minutes=1)


def _against(taken: Reading, last: Reading, typed: str, session: Session) -> str | None:
    """Say what does not fit the batch's or unit's reading before."""
    clock = partial(day_and_clock, now=session.now, zone=session.register.zone)
    if last.at > taken.at - taken.held and taken.is_warmer_than(last):
        held = f"{taken.temperature} held for {spell_hold(taken.held)} by {clock(taken.at)}"
        return f"{held} does not fit {last.temperature} at {clock(last.at)}."
    other = _in_other_degree(taken, last) if typed.strip()[-1:].isdigit() else None
    if other:
        meant = f"{taken.temperature.value}{other}"
        return (
            f"{taken.temperature} so soon after {last.temperature} at {clock(last.at)}: "
            f"if degrees {other} were meant, type {meant}."
        )
    if taken.step is last.step is Step.COOL and taken.is_warmer_than(last):
        return (
            f"{taken.temperature} is warmer than the {last.temperature} before it, and it is"
            f" cooling: if that one is wrong, haccp correct it."
        )
    return None


def _in_other_degree(taken: Reading, last: Reading) -> Degree | None:
    """Give the other degree where the number fits the reading before in that one alone."""
    minutes = max((taken.at - last.at) / timedelta(minutes=1), 1)
    if taken.step in (Step.COOK, Step.REHEAT) or minutes > _SOON:
        return None
    degree = Degree.C if taken.temperature.degree is Degree.F else Degree.F
    before = last.temperature.fahrenheit
    shown = taken.temperature.fahrenheit
    other = replace(taken.temperature, degree=degree).fahrenheit
    fell, rose = before - shown, shown - before
    # nearly what was read before, if only the degree is the other one
    alike = before - _ALIKE <= other <= before + taken.accuracy
    too_fast = fell > _FALL * minutes and other <= before + taken.accuracy
    if (fell > _LEAP and (alike or too_fast)) or (
        rose > _LEAP and before - _LEAP <= other <= before + taken.accuracy
    ):
        return degree
    return None
