"""The screen for plain food against the rules, which are the oracle: it may say nothing, and
what it says must be what they find, and all of it.

All readings are invented: mostly plain days of food, each bent by what is hostile to a screen:
limits that are touched exactly or missed by the least that can be typed, two degrees, equal
moments, gaps as long as they may be, resets, doubt, steps out of their order.
"""

import os
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from haccp import limits
from haccp.errors import Refused
from haccp.limits.limit import LimitSet, guarded
from haccp.rules.account.judge import judge
from haccp.rules.account.life import Evidence, Life, Unit, Watch
from haccp.rules.account.plain import PlainFood
from haccp.rules.account.steps import CHECKS, Event, Keeps, What
from haccp.rules.evidence import Reading, Step, Verdict, overall
from haccp.temperature import Degree, Temperature, parse_temperature
from tests.rules.account.story import KITCHEN, at, life

many = settings(max_examples=int(os.environ.get("HACCP_EXAMPLES", "500")), deadline=None)

NAMES = (
    "food-code-2022", "food-code-2013", "new-york-14-1", "australia-3-2-2", "england-wales-ni",
    "scotland", "ontario-493-17", "quebec-p-29-r-1", "minnesota-4626", "maryland-10-15-03",
)  # fmt: skip
SETS: Mapping[str, LimitSet] = {
    **{name: limits.shipped(name) for name in NAMES},
    "guarded": guarded(limits.shipped(), parse_temperature("1F")),
}
KINDS = ("", "plant food", "poultry", "intact meat", "fish", "egg", "", "", "whole roast")
END = at(20_000)

PLAIN = """cook 90 199 for 15; cool 120 136; cool 150 112; cool 185 88; cool 222 69; cool 300 54;
    cool 390 40; cold hold 450 38; check cold 600 39 in walk-in; check cold 840 38 in walk-in;
    used 1000"""


def by_the_rules(one: Life, by: LimitSet) -> dict[str, Verdict]:
    found = judge(one, by, END).findings
    names = {finding.limit.name for finding in found}
    return {name: overall(f for f in found if f.limit.name == name) for name in names}


def screened(one: Life, by: LimitSet) -> Mapping[str, Verdict] | None:
    found = PlainFood(by, one.kind).finds(one, END)
    return found.verdicts if found else None


STAGES = {"cooling-stage-1": Verdict.MET, "cooling-stage-2": Verdict.MET}
COOLED = {"cook": Verdict.MET, **STAGES, "cold-holding": Verdict.MET}
# Each is plain: nothing but what is told beside it is found.
TOLD: tuple[tuple[str, dict[str, Verdict]], ...] = (
    (PLAIN, COOLED),
    (
        "cook 90 199 for 15; hot hold 150 140 in well-1; used 200",
        {"cook": Verdict.MET, "hot-holding": Verdict.MET},
    ),
    (
        PLAIN.replace("used 1000", "reheat 900 120; reheat 930 165 for 15; used 990"),
        {**COOLED, "reheat": Verdict.MET},
    ),
    (
        PLAIN.replace("check cold 600", "check cold 760"),
        {**COOLED, "cold-holding": Verdict.NOT_SHOWN},
    ),
    (PLAIN.replace("cool 222 69", "cool 222 71"), {**COOLED, "cooling-stage-1": Verdict.NOT_SHOWN}),
    (PLAIN.replace("cool 222 69", "cool 275 71"), {**COOLED, "cooling-stage-1": Verdict.NOT_MET}),
    (
        PLAIN.replace("cool 390 40; cold hold 450 38", "cool 481 40; cold hold 490 38"),
        {**COOLED, "cooling-stage-2": Verdict.NOT_SHOWN},
    ),
)


@pytest.mark.parametrize(("story", "told"), TOLD)
def test_what_is_plain_is_known_without_the_rules(story: str, told: dict[str, Verdict]) -> None:
    one = life(story, opened=0, watch=KITCHEN)
    assert screened(one, SETS["food-code-2022"]) == told
    assert by_the_rules(one, SETS["food-code-2022"]) == told


@pytest.mark.parametrize(
    "bent",
    [
        PLAIN.replace("cook 90 199", "cook 90 144"),
        PLAIN.replace("check cold 840 38", "check cold 840 42"),
        PLAIN.replace("used 1000", "moved 1000 in walk-in"),
        PLAIN.replace("used 1000", "used 1000; cold hold 1001 38"),
        PLAIN.replace("cold hold 450 38", "cold hold 450 38 ?"),
        PLAIN.replace("cook 90", "prepare 80 60; cook 90"),
        PLAIN.replace("cool 300 54", "taken out 299; cool 300 54"),
        PLAIN.replace("cool 300 54", "cool 300 136"),
        PLAIN.replace("cool 300 54", "cool 300 54; cool 300 53"),
    ],
)
def test_what_is_not_plain_is_left_to_the_rules(bent: str) -> None:
    assert screened(life(bent, opened=0, watch=KITCHEN), SETS["food-code-2022"]) is None


def _levels(by: LimitSet) -> tuple[Temperature, ...]:
    """Every number of a set in either degree, and the nearest to it that can be typed."""
    near = [Decimal(0), Decimal("0.1"), Decimal("-0.1")]
    every = {
        Temperature(level.number(degree) + by, degree)
        for limit in by.limits
        if limit.name not in ("thermometer-accuracy", "air-thermometer-accuracy")
        for level in [*(row.level for row in limit.rows), *([limit.start] if limit.start else [])]
        for degree in Degree
        for by in near
    }
    return tuple(sorted(every, key=lambda one: (one.fahrenheit, one.degree)))


LEVELS = {name: _levels(by) for name, by in SETS.items()}
# How long something may take, to the minute; a minute more is too long.
TIMES = (0, 1, 59, 60, 74, 75, 76, 119, 120, 121, 239, 240, 241, 299, 300, 301, 359, 360, 361)
WALKS: tuple[tuple[What, int], ...] = (
    (Step.COOK, 199), (Step.HOT_HOLD, 150), (Step.COOL, 130), (Step.COOL, 100), (Step.COOL, 68),
    (Step.COOL, 50), (Step.COOL, 40), (Step.COLD_HOLD, 38),
)  # fmt: skip
REHEATED: tuple[tuple[What, int], ...] = (
    (Step.REHEAT, 120), (Step.REHEAT, 170), (Step.HOT_HOLD, 160),
)  # fmt: skip
UNITS = ("",) * 60 + ("well-1", "walk-in", "reach-in", "freezer", "nowhere")


@st.composite
def _days(draw: st.DrawFn, by: str) -> Life:
    """A day of food: a plain one, some of whose pieces are bent, moved, doubled or left out."""
    evidence: list[Evidence] = []
    minute = draw(st.sampled_from((0, 5, 90)))
    hostile = draw(st.sampled_from((0, 0, 1, 3)))
    walk = [one for one in WALKS if draw(st.integers(0, 19)) >= hostile]
    if draw(st.integers(0, 2)) == 0:
        walk += REHEATED
    for what, temp in walk:
        again = what is not Step.COOK and draw(st.integers(0, 9)) < 2
        for _ in range(1 + again):
            rare = draw(st.integers(0, 19)) < hostile
            minute += draw(st.sampled_from(TIMES if rare else (20, 25, 30, 35)))
            evidence.append(draw(_read(by, what, temp, minute, hostile)))
    evidence += draw(st.lists(_bent(by, minute + 900), max_size=1 if hostile > 1 else 0))
    evidence += draw(_checks(by, minute + 900, hostile))
    ends = minute + draw(st.sampled_from((1, 30, 60, 75, 76, 240, 300, 301)))
    if draw(st.integers(0, 19)) >= hostile:
        what = draw(st.sampled_from((Event.USED, Event.USED, Event.USED_IN, Event.DISCARD)))
        said = at(ends - 5) if draw(st.integers(0, 19)) == 0 else None
        evidence.append(Evidence(at(ends), what, said=said))
    if hostile:
        evidence = draw(st.permutations(evidence))
    special: dict[str, Any] = {}
    if hostile > 1 and draw(st.integers(0, 5)) == 0:
        special = draw(
            st.sampled_from(
                ({"prepared": at(0)}, {"undercooked": True}, {"to_order": True},
                 {"received_as": "cold"}, {"opened": None})
            )
        )  # fmt: skip
    kind = draw(st.sampled_from(KINDS))
    raw = kind not in ("", "plant food")
    plain = Life(
        evidence=tuple(evidence), opened=at(0), kind=kind, animal=raw, watch=draw(_watch())
    )
    return replace(plain, **special)


@st.composite
def _watch(draw: st.DrawFn) -> Watch:
    watch = draw(st.sampled_from((KITCHEN, KITCHEN, replace(KITCHEN, usual={}), Watch())))
    more = {"reach-in": Unit(Keeps.COLD, timedelta(minutes=240))}
    closed: tuple[tuple[datetime, datetime], ...] = ()
    if draw(st.integers(0, 4)) == 0:
        start = draw(st.sampled_from((400, 500, 600)))
        closed = ((at(start), at(start + 30)), (at(start + 40), at(start + 400)))
    return replace(watch, units={**watch.units, **more}, closed=closed)


@st.composite
def _read(draw: st.DrawFn, by: str, what: What, temp: int, minute: float, hostile: int) -> Evidence:
    """Read food near a temperature; at or beside a limit's number, as often as it is hostile."""
    temperature = Temperature(Decimal(temp), Degree.F)
    if draw(st.integers(0, 19)) < 1 + 2 * hostile:
        near = [t for t in LEVELS[by] if abs(t.fahrenheit - temp) < 12] or LEVELS[by]
        temperature = draw(st.sampled_from(near))
    heats = what in (Step.COOK, Step.REHEAT)
    reading = Reading(
        at=at(minute),
        temperature=temperature,
        step=what if isinstance(what, Step) else Step.COLD_HOLD,
        held=timedelta(seconds=draw(st.sampled_from((15,) * 20 + (120, 0, 14))) if heats else 0),
        method=draw(st.sampled_from(("",) * 200 + ("microwave", "initial", "unsliced"))),
        doubted_since=at(9000) if hostile and draw(st.integers(0, 40)) == 0 else None,
        ref=f"{what} {minute} {draw(st.integers(0, 10**9))}",
    )
    return Evidence(at(minute), what, reading, draw(st.sampled_from(UNITS)) if not heats else "")


@st.composite
def _bent(draw: st.DrawFn, by: str, until: int) -> Evidence:
    """Anything that may be on record of food, at any moment."""
    what: What = draw(st.sampled_from((*Step, Event.MOVED, *Event)))
    minute = draw(st.integers(0, until))
    if isinstance(what, Step) or what in CHECKS.values():
        return draw(_read(by, what, draw(st.sampled_from((38, 120, 150, 180))), minute, 9))
    return Evidence(at(minute), what, unit=draw(st.sampled_from(UNITS)))


@st.composite
def _checks(draw: st.DrawFn, by: str, until: int, hostile: int) -> list[Evidence]:
    """The rounds of a kitchen: mostly good and in time."""
    told: list[Evidence] = []
    rounds = ((Event.CHECK_COLD, "walk-in", 38, 240), (Event.CHECK_HOT, "well-1", 150, 60),
              (Event.CHECK_COLD, "reach-in", 39, 240), (Event.CHECK_FROZEN, "freezer", 0, 600))  # fmt: skip
    for what, unit, temp, every in rounds:
        if draw(st.integers(0, 3)):
            minute = draw(st.integers(0, every))
            while minute < until:
                odd = draw(st.integers(0, 40)) < hostile
                one = draw(_read(by, what, temp, minute, 9)) if odd else None
                good = Temperature(Decimal(temp), Degree.F)
                step = Step.HOT_HOLD if what is Event.CHECK_HOT else Step.COLD_HOLD
                reading = (one and one.reading) or Reading(
                    at=at(minute), temperature=good, step=step, ref=f"{unit} {minute}"
                )
                told.append(Evidence(at(minute), what, reading, unit))
                minute += every
    return told


@many
@given(st.data())
def test_what_the_screen_says_is_all_that_the_rules_find(data: st.DataObject) -> None:
    by = data.draw(st.sampled_from(sorted(SETS)))
    one = data.draw(_days(by))
    plain = PlainFood(SETS[by], one.kind)
    found = plain.finds(one, END)
    told = found.verdicts if found else None
    bad = told is not None and any(verdict.is_deviation for verdict in told.values())
    event("left to the rules" if told is None else "plain, with a deviation" if bad else "plain")
    assert told is None or told == by_the_rules(one, SETS[by])
    if found and found.cooling:
        cooling = plain.judge_cooling(found, END)
        names = {one.limit.name for one in cooling}
        every = judge(one, SETS[by], END).findings
        assert [one for one in every if one.limit.name in names] == list(cooling)


@pytest.mark.parametrize("name", ["hot-holding", "frozen-holding", "time-out-longest", "reheat"])
def test_a_set_without_a_limit_that_the_rules_ask_for_is_left_to_them(name: str) -> None:
    whole = SETS["food-code-2022"]
    lacking = replace(whole, limits=tuple(one for one in whole.limits if one.name != name))
    assert screened(life(PLAIN, opened=0, watch=KITCHEN), lacking) is None
    with pytest.raises(Refused):
        lacking.get(name)
