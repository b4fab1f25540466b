"""Lives of food whose true temperature is known at each minute: danger is never silent.

A life is a chain of stays: on ice, in a cooler, on a bench, in a well, on the stove. The food nears
each place's temperature as warm things do; readings show what it truly is, at honest or at careless
moments, under honest or under wrong names. All of it is invented.
"""

import math
import os
import random
from dataclasses import dataclass, replace
from itertools import pairwise

import pytest

from haccp import limits
from haccp.rules.account.judge import Judged, judge
from haccp.rules.account.life import Evidence, Life, Watch
from haccp.rules.account.steps import Event
from haccp.rules.asked import goal
from haccp.rules.evidence import Reading, Step, Verdict
from haccp.rules.remedies import options
from haccp.rules.words import explain
from haccp.temperature import parse_temperature
from tests.rules.account.story import KITCHEN, LIMITS, NOBODY_LOOKS, at, told

LIVES = int(os.environ.get("HACCP_EXAMPLES", "600"))

# Where food may be: how warm it is there [°F], how fast food nears that [1/min], and the honest
# names of a reading taken there.
PLACES = {
    "ice": (33.0, 0.03, (Step.COOL,)),
    "cooler": (38.0, 0.008, (Step.COOL, Step.COLD_HOLD)),
    "warm cooler": (52.0, 0.01, (Step.COLD_HOLD, Step.COOL)),
    "bench": (72.0, 0.012, (Step.PREPARE,)),
    "well": (150.0, 0.02, (Step.HOT_HOLD,)),
    "cold well": (112.0, 0.02, (Step.HOT_HOLD,)),
    "stove": (200.0, 0.03, (Step.COOK, Step.REHEAT)),
}
STEPS = (Step.PREPARE, Step.COOK, Step.HOT_HOLD, Step.COOL, Step.COLD_HOLD, Step.REHEAT)


@dataclass(frozen=True)
class Lived:
    """A life as it truly was: the temperature at each minute [°F], what was written down, and from
    which minute on it was where.
    """

    curve: tuple[float, ...]
    evidence: tuple[Evidence, ...]
    end: int
    stays: tuple[tuple[int, str], ...]


def live(chance: random.Random) -> Lived:
    temperature = chance.choice([38.0, 38.0, 70.0, 180.0])
    curve: list[float] = []
    written: list[Evidence] = []
    stays: list[tuple[int, str]] = []
    lies = chance.choice([0.0, 0.1, 0.5, 1.0])
    for _ in range(chance.randint(1, 5)):
        place = chance.choice(list(PLACES))
        around, rate, names = PLACES[place]
        stays.append((len(curve), place))
        stay = chance.choice([20, 45, 90, 150, 260, 400, 700])
        every = chance.choice([15, 30, 60, 60, 120, 240, 500])
        for minute in range(stay):
            if minute % every == 0:
                written.append(read(len(curve), temperature, chance, names, lies))
            curve.append(temperature)
            temperature += (around - temperature) * (1 - math.exp(-rate))
    if chance.random() < 0.3:
        written.append(Evidence(at(len(curve)), chance.choice([Event.USED, Event.DISCARD])))
    return Lived(tuple(curve), tuple(written), len(curve), tuple(stays))


def read(
    minute: int,
    temperature: float,
    chance: random.Random,
    names: tuple[Step, ...],
    lies: float,
) -> Evidence:
    step = chance.choice(STEPS) if chance.random() < lies else chance.choice(names)
    shown = parse_temperature(f"{temperature:.1f}F")
    return Evidence(at(minute), step, Reading(at=at(minute), temperature=shown, step=step))


def is_between(reading: Reading) -> bool:
    return 41 < reading.temperature.value < 135


def longest_shown(life: Lived) -> float:
    """For how long the readings show it above 41 and below 135 °F without a break [min]."""
    best, began = 0.0, None
    for one in life.evidence:
        if one.reading is None:
            continue
        if not is_between(one.reading):
            began = None
            continue
        began = began or one.at
        best = max(best, (one.at - began).total_seconds() / 60)
    return best


def longest_true(life: Lived) -> int:
    """For how long it truly was above 41 and below 135 °F without a break [min]."""
    best = run = 0
    for temperature in life.curve:
        run = run + 1 if 41.05 < temperature < 134.95 else 0
        best = max(best, run)
    return best


def is_told(judged: Judged) -> bool:
    return any(one.verdict.is_deviation for one in judged.findings)


def judged(life: Lived, watch: Watch, now: int | None, kind: str = "") -> Judged:
    opened = None if watch is NOBODY_LOOKS else at(0)
    lived = Life(evidence=life.evidence, opened=opened, watch=watch, kind=kind)
    return judge(lived, LIMITS, None if now is None else at(now))


def lives(seed: int) -> list[Lived]:
    chance = random.Random(seed)
    return [live(chance) for _ in range(LIVES)]


@pytest.mark.parametrize("watch", [KITCHEN, NOBODY_LOOKS], ids=["kitchen", "file"])
def test_food_that_readings_show_between_for_six_hours_is_told_of(watch: Watch) -> None:
    """No paragraph lets food be above 41 and below 135 °F for more than six hours, whatever the
    step is called, and but for a whole roast that is being cooked.
    """
    dangerous = [life for life in lives(1) if longest_shown(life) > 360]
    assert len(dangerous) >= LIVES // 20
    silent = [life for life in dangerous if not is_told(judged(life, watch, None))]
    assert not silent, written_down(silent[0])


def test_food_that_was_never_hot_is_told_of_after_four_hours() -> None:
    """Only what was hot has the six hours of 3-501.14(A)."""
    dangerous = [
        life
        for life in lives(2)
        if longest_shown(life) > 240 and not any(temp > 100 for temp in life.curve)
    ]
    assert dangerous
    silent = [life for life in dangerous if not is_told(judged(life, KITCHEN, None))]
    assert not silent, written_down(silent[0])


def test_food_that_truly_was_between_for_long_is_told_of_though_nobody_saw_it() -> None:
    """A kitchen that says how often it looks: what it did not look at is not shown.

    But for food on the stove for the first time: 3-401.11 sets no time to heat.
    """
    dangerous = [
        life
        for life in lives(3)
        if longest_true(life) > 360 and not any(one.what is Step.COOK for one in life.evidence)
    ]
    assert len(dangerous) >= LIVES // 20
    silent = [life for life in dangerous if not is_told(judged(life, KITCHEN, life.end))]
    assert not silent, written_down(silent[0])


def test_what_is_not_told_yet_has_a_deadline_ahead() -> None:
    """Nothing that is open is past its time, and a deviation never becomes open again."""
    for life in lives(4)[: LIVES // 5]:
        for now in (life.end // 2, life.end):
            for one in judged(life, KITCHEN, now).findings:
                if one.verdict is Verdict.OPEN and one.due is not None:
                    assert one.due >= at(now), written_down(life)


def test_more_time_without_evidence_never_makes_a_life_better() -> None:
    for life in lives(5)[: LIVES // 5]:
        if any(one.reading is None for one in life.evidence):
            continue
        told = [is_told(judged(life, KITCHEN, life.end + later)) for later in (0, 60, 600)]
        assert all(not before or after for before, after in pairwise(told)), written_down(life)


def test_each_finding_can_be_told_with_what_to_do_about_it() -> None:
    for life in lives(7)[: LIVES // 5]:
        for now in (life.end // 3, life.end, None):
            for one in judged(life, KITCHEN, now).findings:
                assert explain(one, lambda moment: f"{moment:%H:%M}")
                if one.verdict is Verdict.OPEN:
                    assert goal(one, lambda moment: f"{moment:%H:%M}")
                last = one.readings[-1] if one.readings else None
                done = options(one, last=last, now=at(now or life.end), late_reheat="")
                assert done or one.verdict in (Verdict.MET, Verdict.STOPPED), one.limit.name


@pytest.mark.parametrize("name", sorted(limits.revisions()))
def test_by_any_set_each_deviation_is_told_with_since_when(name: str) -> None:
    """A set may hold food hotter than its cooling begins (10 NYCRR 14-1.40): food between the two is
    neither held well nor cooling. What has no beginning is never told of as undecided.
    """
    chosen = limits.shipped(name)
    for life in lives(8)[: LIVES // 5]:
        lived = Life(evidence=life.evidence, opened=at(0), watch=KITCHEN)
        for one in judge(lived, chosen, at(life.end)).findings:
            assert explain(one, lambda moment: f"{moment:%H:%M}")
            assert one.since or not one.verdict.is_deviation, one.limit.name


def test_what_is_reheated_before_it_fell_below_the_start_of_a_cooling_never_cooled() -> None:
    """10 NYCRR 14-1.40: held at 140 °F or above, cooled from 120 °F. At 131 °F it was too cool."""
    too_cool = "cook 0 198; hot hold 30 158 in well-1; hot hold 60 131 in well-1"
    story = f"{too_cool}; reheat 65 131 for 15; reheat 89 168 for 15; hot hold 100 150"
    by = limits.shipped("new-york-14-1")
    found = told(story, as_of=100, opened=0, limits=by, animal=True).findings
    assert [one.limit.name for one in found if one.verdict.is_deviation] == ["hot-holding"]
    assert not any(one.step is Step.COOL for one in found)


def test_doubt_never_hides_what_was_told() -> None:
    """Readings of a thermometer that failed its check prove nothing, and so nothing good either."""
    chance = random.Random(6)
    for life in lives(6)[: LIVES // 5]:
        if not is_told(judged(life, KITCHEN, life.end)):
            continue
        doubted = replace(life, evidence=tuple(in_doubt(one, chance) for one in life.evidence))
        assert is_told(judged(doubted, KITCHEN, life.end)), written_down(doubted)


def in_doubt(one: Evidence, chance: random.Random) -> Evidence:
    if one.reading is None or chance.random() < 0.5:
        return one
    return replace(one, reading=replace(one.reading, doubted_since=at(9000)))


def written_down(life: Lived) -> str:
    lines = []
    for one in life.evidence:
        minute = (one.at - at(0)).total_seconds() / 60
        temp = f" {one.reading.temperature.value}" if one.reading else ""
        doubt = " ?" if one.reading and one.reading.doubted_since else ""
        lines.append(f"{one.what.replace('_', ' ')} {minute:g}{temp}{doubt}")
    return "; ".join(lines)
