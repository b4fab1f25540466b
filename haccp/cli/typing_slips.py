"""What would be a slip of the finger, put into a question before it is recorded."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from functools import partial

from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import is_frozen
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord
from haccp.language import message, phrase
from haccp.phrases import at, with_article
from haccp.record.bodies import BatchOpened
from haccp.rules.evidence import Reading, Step
from haccp.rules.slips import Expected, Slip, Why, find_slip
from haccp.rules.thermometer import boiling_point, pressure_at
from haccp.temperature import Degree, Level, Temperature
from haccp.time import day_and_clock, spell, spell_hold

# A reading this old is rather a slip of the day than a late entry: common practice, no source.
_LONG_AGO = timedelta(days=2)


_ODD = {
    Why.NO_TEMPERATURE: message("{shown} is no temperature of food"),
    Why.ABOVE_BOILING: message(
        "No food is at {shown} here, where water boils at {boiling} °{degree}"
    ),
    Why.FROZE_AT_ONCE: message("{shown} so soon after {last} {at}, and nothing freezes so fast"),
    Why.LIKELIER: message("{shown} so soon after {last} {at}"),
    Why.FROZEN: message("{shown} is frozen"),
    Why.HOTTER: message("{shown} is hotter than food that holds water"),
    Why.TOO_FAST: message("{shown} so soon after {last} {at}, and food in bulk falls slower"),
}


def looks_wrong(
    subject: OnRecord | BatchOpened, taken: Reading, session: Session, typed: str
) -> str | None:
    """Put into a question what a slip of the finger would look like.

    `subject` is on record, or the opening of what is about to be; `typed` is the temperature,
    empty where it stands as it was recorded. Raises Refused for what food cannot be at.
    """
    return next(_questions(subject, taken, session, typed), None)


def _questions(
    subject: OnRecord | BatchOpened, taken: Reading, session: Session, typed: str
) -> Iterator[str]:
    every = _before_it(subject, session.register)
    # of the same minute too: what was read just now may not fit
    earlier = [one for one in every if one.at <= taken.at]
    last = earlier[-1] if earlier else None
    slip = _slip(subject, taken, last, session, typed)
    odd = slip and _in_words(slip, taken.temperature, typed, session, taken.at)
    if slip and slip.is_impossible and typed:
        raise Refused(odd)
    if (
        isinstance(subject, BatchOnRecord)
        and taken.step is Step.COLD_HOLD
        and _is_hot(taken, session)
    ):
        yield phrase(
            "{temp} is no cold holding, which {batch} is in: to hold it hot, haccp reheat it "
            "first.",
            temp=taken.temperature,
            batch=subject.name,
        )
    if odd:
        yield odd
    when = day_and_clock(taken.at, session.now, session.register.zone)
    if isinstance(subject, BatchOnRecord) and taken.at < subject.opened.at:
        yield phrase("{when} is before {batch} was opened.", when=when, batch=subject.name)
    if session.now - taken.at > _LONG_AGO:
        yield phrase("{when} is {time} ago.", when=when, time=spell(session.now - taken.at))
    if any(_is_the_same(one, taken) for one in every):
        told = message("{temp} {at} is on record already.")
        yield phrase(told, temp=taken.temperature, at=at(when))
    if last:
        yield from filter(None, [_against(taken, last, session)])


def _slip(
    subject: OnRecord | BatchOpened,
    taken: Reading,
    last: Reading | None,
    session: Session,
    typed: str,
) -> Slip | None:
    expected = Expected(
        boiling=boiling_at(taken.at, session.register),
        last=last,
        of_unit=isinstance(subject, UnitOnRecord),
        frozen=_may_be_frozen(subject, session.register, taken.at),
    )
    return find_slip(taken, expected, degree_typed=not typed.strip()[-1:].isdigit())


def _before_it(subject: OnRecord | BatchOpened, register: Register) -> Sequence[Reading]:
    """Give the readings that one more of a batch or unit may be compared with."""
    if isinstance(subject, BatchOpened):
        return ()
    if isinstance(subject, UnitOnRecord):
        # what food was read in a unit says nothing of the unit's own checks
        checks = (entry for entry in subject.readings if entry.batch is None)
        return [reading_of(entry, register) for entry in checks]
    return subject.evidence(register)


def _in_words(
    slip: Slip, shown: Temperature, typed: str, session: Session, moment: datetime
) -> str:
    """Say what is odd about a temperature, and what to type if something else was meant."""
    clock = partial(day_and_clock, now=session.now, zone=session.register.zone)
    last, boiling = slip.last, boiling_at(moment, session.register)
    odd = phrase(
        _ODD[slip.why],
        shown=shown,
        last=last.temperature if last else "",
        at=at(clock(last.at)) if last else "",
        boiling=boiling.number(shown.degree),
        degree=shown.degree,
    )
    hints = [hint(one, shown, typed) for one in slip.meant]
    if slip.why in (Why.FROZE_AT_ONCE, Why.TOO_FAST):
        hints.append(phrase("if that one is wrong, haccp amend it"))
    elif slip.is_impossible and not hints:
        hints = [phrase("type what the thermometer shows")]
    return f"{odd}: {'; '.join(hints)}." if hints else f"{odd}."


def boiling_at(moment: datetime, register: Register) -> Level:
    """Say where water boils in the kitchen, by its altitude."""
    return boiling_point(pressure_at(register.kitchen_at(moment).altitude_m))


def hint(meant: Temperature, shown: Temperature, typed: str) -> str:
    if meant.degree is not shown.degree:
        fahrenheit = meant.fahrenheit
        here = fahrenheit if shown.degree is Degree.F else (fahrenheit - 32) * 5 / 9
        typed = f"{meant.value}{meant.degree} ({float(here):.0f} °{shown.degree})"
        told = message("if degrees {degree} were meant, type {typed}")
        return phrase(told, degree=meant.degree, typed=typed)
    letter = "" if typed.strip()[-1:].isdigit() else meant.degree
    told = message("if {meant} was meant, type {typed}")
    return phrase(told, meant=meant, typed=f"{meant.value}{letter}")


def _may_be_frozen(subject: OnRecord | BatchOpened, register: Register, at: datetime) -> bool:
    if isinstance(subject, UnitOnRecord):
        return subject.unit.holds == "frozen"
    if isinstance(subject, BatchOnRecord):
        return subject.batch.received_as == "frozen" or is_frozen(subject, register, at)
    return isinstance(subject, BatchOpened) and subject.received_as == "frozen"


def _is_hot(taken: Reading, session: Session) -> bool:
    return session.register.limits_at(taken.at).get("hot-holding").kept_by(taken.temperature)


def _is_the_same(one: Reading, other: Reading) -> bool:
    what = (one.step, one.temperature, one.held, one.method, one.chamber)
    same = what == (other.step, other.temperature, other.held, other.method, other.chamber)
    return same and abs(one.at - other.at) < timedelta(minutes=1)


def _against(taken: Reading, last: Reading, session: Session) -> str | None:
    """Say what does not fit the batch's or unit's reading before."""
    clock = partial(day_and_clock, now=session.now, zone=session.register.zone)
    if last.at > taken.at - taken.held and taken.is_warmer_than(last):
        return phrase(
            "{temp} held for {time} by {until} does not fit {last} {at}.",
            temp=taken.temperature,
            time=spell_hold(taken.held),
            until=with_article(clock(taken.at)),
            last=last.temperature,
            at=at(clock(last.at)),
        )
    if taken.step is last.step is Step.COOL and taken.is_warmer_than(last):
        return phrase(
            "{warmer} is warmer than the {cooler} before it, and it is cooling: if that one is "
            "wrong, haccp amend it.",
            warmer=taken.temperature,
            cooler=last.temperature,
        )
    return None
