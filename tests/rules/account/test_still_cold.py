"""What a logger's readings are taken by in short, against the fold that takes each in full.

The fold without the short way is the oracle: of food that went through anything, what is found,
each phase with its evidence, each stay and all that is handed on must be the same.
All readings are invented.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from typing import Any
from unittest import mock

from hypothesis import event, given, settings
from hypothesis import strategies as st

from haccp import limits
from haccp.limits.limit import guarded
from haccp.rules.account import standing
from haccp.rules.account.judge import Judged, hand_on, judge
from haccp.rules.account.life import Evidence, Life, Unit
from haccp.rules.account.steps import CHECKS, Event, Keeps, What
from haccp.rules.evidence import Reading, Step
from haccp.temperature import parse_temperature
from tests.rules.account.story import KITCHEN, at, life

many = settings(max_examples=int(os.environ.get("HACCP_EXAMPLES", "500")), deadline=None)

CODE = limits.shipped("food-code-2022")
# A hand's slip: what is cold by it is hot, too.
SLIP = replace(
    CODE,
    limits=tuple(
        replace(one, rows=CODE.get("reheat").rows) if one.name == "cold-holding" else one
        for one in CODE.limits
    ),
)
SETS = [
    CODE,
    CODE,
    SLIP,
    guarded(limits.shipped(), parse_temperature("1F")),
    limits.shipped("england-wales-ni"),
]
COLD = ("38F", "38F", "38F", "41F", "3.5C", "5C", "28F", "44F")
ANY = (*COLD, "-4F", "41.1F", "45.1F", "46F", "60F", "8C", "120F", "135F", "150F", "199F")
OFTEN: tuple[What, ...] = (
    Step.RECEIVE, Step.COLD_HOLD, Step.COOL, Step.PREPARE, Event.MOVED, Event.TAKEN_OUT, Event.MADE,
    Event.FREEZE, Event.THAW, Event.EMPTIED,
)  # fmt: skip
GAPS = (0, 1, 1, 1, 5, 60, 240, 300, 301, 781)
UNITS = {
    **KITCHEN.units,
    "reach-in": Unit(Keeps.COLD, timedelta(minutes=240)),
}
LOOKS = {"walk-in": Event.CHECK_COLD, "reach-in": Event.CHECK_COLD, "well-1": Event.CHECK_HOT,
         "freezer": Event.CHECK_FROZEN}  # fmt: skip


_RARE = st.sampled_from((False,) * 4 + (True,))


@contextmanager
def in_full() -> Iterator[None]:
    with mock.patch.object(standing, "is_still_cold", return_value=False):
        yield


@contextmanager
def counted() -> Iterator[list[Evidence]]:
    """Tell what was taken in short."""
    taken: list[Evidence] = []
    plain = standing.look_again

    def look_again(account: Any, ev: Evidence) -> None:
        taken.append(ev)
        plain(account, ev)

    with mock.patch.object(standing, "look_again", look_again):
        yield taken


@st.composite
def _read(draw: st.DrawFn, what: What, minute: int, temps: tuple[str, ...]) -> Reading:
    hot = what is Event.CHECK_HOT
    step = what if isinstance(what, Step) else Step.HOT_HOLD if hot else Step.COLD_HOLD
    return Reading(
        at=at(minute),
        temperature=parse_temperature(draw(st.sampled_from(temps))),
        step=step,
        held=timedelta(seconds=draw(st.sampled_from((0, 15)))),
        doubted_since=at(9000) if draw(st.integers(0, 30)) == 0 else None,
        ref=f"{what} {minute} {draw(st.integers(0, 10**9))}",
    )


@st.composite
def _stretches(draw: st.DrawFn, minute: int) -> tuple[Evidence, ...]:
    """Anything that may be on record of food, and between it what a logger reads in a unit."""
    told: list[Evidence] = []
    for _ in range(draw(st.integers(1, 6))):
        minute += draw(st.sampled_from(GAPS))
        what: What = draw(st.sampled_from((*Step, *Event) if draw(_RARE) else OFTEN))
        unit = draw(st.sampled_from(tuple(UNITS) if draw(_RARE) else ("", "walk-in")))
        if what not in CHECKS.values():
            is_read = isinstance(what, Step)
            reading = draw(_read(what, minute, ANY)) if is_read else None
            said = at(minute - 30) if not is_read and draw(st.integers(0, 5)) == 0 else None
            told.append(Evidence(at(minute), what, reading, unit, said))
        unit = draw(st.sampled_from(tuple(UNITS))) if draw(_RARE) else unit or "walk-in"
        temps = ANY if draw(_RARE) else COLD
        for _ in range(draw(st.integers(0, 6))):
            minute += draw(st.sampled_from(GAPS))
            reading = draw(_read(LOOKS[unit], minute, temps))
            told.append(Evidence(at(minute), LOOKS[unit], reading, unit))
    return tuple(told)


@st.composite
def _lives(draw: st.DrawFn) -> Life:
    kind = draw(st.sampled_from(("", "plant food", "poultry", "egg", "whole roast")))
    usual = draw(st.sampled_from((KITCHEN.usual, KITCHEN.usual, {})))
    closed = ((at(200), at(600)),) if draw(st.integers(0, 3)) == 0 else ()
    plain = Life(
        evidence=draw(_stretches(0)),
        opened=at(0),
        kind=kind,
        animal=kind not in ("", "plant food"),
        received_as=draw(st.sampled_from(("", "", "cold", "frozen", "egg"))),
        watch=replace(KITCHEN, units=UNITS, usual=usual, closed=closed),
    )
    special: dict[str, Any] = draw(
        st.sampled_from(({}, {}, {}, {"prepared": at(-20)}, {"opened": None}))
    )
    return replace(plain, **special)


@many
@given(st.data())
def test_what_is_taken_in_short_comes_to_the_same(data: st.DataObject) -> None:
    by, one = data.draw(st.sampled_from(SETS)), data.draw(_lives())
    last = max(ev.at for ev in one.evidence)
    as_of = data.draw(st.sampled_from((None, last, last + timedelta(hours=13))))
    made = (Evidence(last, Event.MADE),) if data.draw(st.booleans()) else ()
    later = (*made, *data.draw(_stretches(int((last - at(0)).total_seconds()) // 60)))

    def found() -> tuple[Judged, Judged]:
        """Judge a food, and what is made of it or divided from it."""
        handed = hand_on(one, by, last).handed
        whole = replace(one, evidence=later, opened=last, prepared=None, handed_on=handed)
        return judge(one, by, as_of), judge(whole, by, None)

    with counted() as taken:
        in_short = found()
    event("taken in short" if taken else "each taken in full")
    with in_full():
        assert in_short == found()


def test_a_logger_s_readings_of_cold_food_are_taken_in_short() -> None:
    story = "receive 0 38; moved 1 in walk-in" + "".join(
        f"; check cold {minute} {temp} in walk-in"
        for minute, temp in enumerate([38] * 50 + [50] * 3 + [39] * 50, start=2)
    )
    one = life(story, opened=0, watch=KITCHEN)
    with counted() as taken:
        found = judge(one, CODE, at(200))
    # but for the first, the three that are warm and none after them
    assert len(taken) == 99
    with in_full():
        assert judge(one, CODE, at(200)) == found


def test_what_a_set_calls_cold_and_hot_is_taken_in_full() -> None:
    story = "receive 0 38; " + "; ".join(
        f"check cold {minute} {temp} in walk-in" for minute, temp in ((1, 38), (2, 150), (3, 38))
    )
    one = life(story, opened=0, watch=KITCHEN)
    with counted() as taken:
        found = judge(one, SLIP, at(200))
    assert [ev.at for ev in taken] == [at(3)]
    with in_full():
        assert judge(one, SLIP, at(200)) == found
