"""A big kitchen's week, invented: 40 points read hourly, 15 coolings a day, and what goes wrong there.

The days are those of `years`, of six foods that cool in the walk-ins they are named for; each holds
one thing that an inspector would ask about.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from haccp.record.bodies import (
    BatchOpened,
    CoolingSetup,
    CorrectiveAction,
    Discarded,
    Measured,
    Thermometer,
    ThermometerCheck,
    UsedUp,
)
from haccp.record.entries import Draft
from haccp.record.store import open_record
from tests.years import a_day, chained, setup

FIRST, LAST = datetime(2026, 11, 16, tzinfo=UTC), datetime(2026, 11, 22, tzinfo=UTC)
PRINTED = LAST + timedelta(days=1, hours=8)
_FOODS = ("bean stew", "chicken stock", "beef gravy", "brown rice", "tomato sauce", "lentil soup")
_WAYS = (("pan", "2"), ("pan", "4"), ("pot", "8"))
_DAY = timedelta(days=1)


def make_big_week(path: Path) -> int:
    """Make the record of the week; gives the number of entries."""
    record = open_record(path, create=True)
    try:
        record.restore(chained(_drafts(), PRINTED))
        return record.head()[0]
    finally:
        record.close()


def _drafts() -> Iterator[Draft]:
    yield from setup(FIRST)
    yield Draft(body=Thermometer(label="T2", accuracy="2F"), at=FIRST, person="AR")
    for number, goes_wrong in enumerate(_WRONG):
        midnight = FIRST + number * _DAY
        day = [*map(_in_its_walk_in, a_day(midnight)), *_ways(midnight)]
        yield from sorted(goes_wrong(day, midnight), key=lambda draft: draft.at)


def _number(code: str) -> int:
    return int(code.rpartition("-")[2])


def _in_its_walk_in(draft: Draft) -> Draft:
    """Give a batch one of six foods, and the walk-in that it cools in."""
    body = draft.body
    if isinstance(body, BatchOpened) and draft.batch:
        return replace(draft, body=replace(body, food=_FOODS[_number(draft.batch) % len(_FOODS)]))
    if isinstance(body, Measured) and body.step == "cool" and draft.batch:
        return replace(draft, unit=f"walk-in-{_number(draft.batch)}")
    return draft


def _ways(midnight: datetime) -> Iterator[Draft]:
    for number in range(1, 16):
        container, depth = _WAYS[number % len(_WAYS)]
        body = CoolingSetup(method="walk-in", container=container, depth_in=depth)
        yield Draft(body=body, at=midnight + timedelta(hours=9), person="JM",
                    batch=_code(midnight, number))  # fmt: skip


def _code(midnight: datetime, number: int) -> str:
    return f"stew-{midnight:%y%m%d}-{number}"


def _at(midnight: datetime, hour: int, minute: int = 0) -> datetime:
    return midnight + timedelta(hours=hour, minutes=minute)


def _reads(draft: Draft, temp: str) -> Draft:
    assert isinstance(draft.body, Measured)
    return replace(draft, body=replace(draft.body, temp=temp))


def _changed(
    day: Iterable[Draft], name: str, hours: range, temps: Callable[[int], str | None]
) -> Iterator[Draft]:
    """Change a unit's checks in these hours; None leaves one out."""
    for draft in day:
        if draft.unit != name or draft.batch or draft.at.hour not in hours:
            yield draft
        elif temp := temps(draft.at.hour):
            yield _reads(draft, temp)


def _a_well_sinks(day: Iterable[Draft], midnight: datetime) -> Iterator[Draft]:
    yield from _changed(day, "well-3", range(11, 13), {11: "133", 12: "128"}.get)
    act = CorrectiveAction(text="burner relit, food stirred, reheated to 170 °F")
    yield Draft(body=act, at=_at(midnight, 12, 20), person="JM", unit="well-3")


def _checks_are_missed(day: Iterable[Draft], midnight: datetime) -> Iterator[Draft]:
    yield from _changed(day, "well-7", range(14, 16), lambda _: None)
    act = CorrectiveAction(text="two people short; round handed over to the second cook")
    yield Draft(body=act, at=_at(midnight, 16, 10), person="AR", unit="well-7")


def _cooled(
    day: Iterable[Draft], code: str, temps: dict[str, str | None], *, until: datetime | None = None
) -> Iterator[Draft]:
    """Change a batch's cooling by what its readings were, and end it before a moment."""
    for draft in day:
        body = draft.body
        if draft.batch != code or (until and draft.at >= until):
            if draft.batch != code:
                yield draft
        elif isinstance(body, Measured) and body.step == "cool":
            if temp := temps.get(body.temp, body.temp):
                yield _reads(draft, temp)
        else:
            yield draft


def _too_slow(day: Iterable[Draft], midnight: datetime) -> Iterator[Draft]:
    code, thrown = _code(midnight, 4), _at(midnight, 12, 0)
    yield from _cooled(day, code, {"69": "84", "95": "112"}, until=thrown)
    yield Draft(body=Discarded(reason="84 °F 2 h 05 min after 135 °F, pot too deep"),
                at=thrown, person="AR", batch=code)  # fmt: skip


def _a_reading_is_missing(day: Iterable[Draft], midnight: datetime) -> Iterator[Draft]:
    code = _code(midnight, 9)
    kept = (one for one in day if not (one.batch == code and isinstance(one.body, UsedUp)))
    return _cooled(kept, code, {"69": None})


def _caught(day: Iterable[Draft], midnight: datetime) -> Iterator[Draft]:
    """A cooling that would not make it is reheated in time and cooled again in a shallow pan."""
    code, again = _code(midnight, 6), _at(midnight, 11, 30)
    yield from _cooled(day, code, {"95": "113"}, until=_at(midnight, 11))
    for minute, temp, step in (
        (-5, "101", "cool"), (15, "168", "reheat"), (20, "135", "cool"), (70, "88", "cool"),
        (120, "66", "cool"), (240, "46", "cool"), (330, "40", "cool"),
    ):  # fmt: skip
        body = Measured(step=step, temp=temp, degree="F", thermometer="T1",
                        held_s="15" if step == "reheat" else "0")  # fmt: skip
        unit = "walk-in-6" if step == "cool" and minute > 0 else None
        at = again + timedelta(minutes=minute)
        yield Draft(body=body, at=at, person="JM", batch=code, unit=unit)
    yield Draft(body=UsedUp(), at=_at(midnight, 19, 30), person="JM", batch=code)


def _a_walk_in_is_warm(day: Iterable[Draft], midnight: datetime) -> Iterator[Draft]:
    yield from _changed(day, "walk-in-22", range(13, 15), {13: "46", 14: "44"}.get)
    act = CorrectiveAction(text="door gasket closed, ice put in, 39 °F at the next check")
    yield Draft(body=act, at=_at(midnight, 15, 5), person="JM", unit="walk-in-22")


def _a_thermometer_fails(day: Iterable[Draft], midnight: datetime) -> Iterator[Draft]:
    """One that read the last two units of the evening."""
    for draft in day:
        last = draft.unit in ("walk-in-29", "walk-in-30") and draft.at.hour == 20
        body = draft.body
        if isinstance(body, Measured) and last:
            draft = replace(draft, body=replace(body, thermometer="T2"))  # noqa: PLW2901
        yield draft
    for hour, temp, passed in ((5, "32", True), (21, "36", False)):
        check = ThermometerCheck(thermometer="T2", temp=temp, degree="F", passed=passed)
        yield Draft(body=check, at=_at(midnight, hour, 55 if passed else 5), person="JM")


_WRONG = (
    _a_well_sinks, _checks_are_missed, _too_slow, _a_reading_is_missing, _caught,
    _a_walk_in_is_warm, _a_thermometer_fails,
)  # fmt: skip
