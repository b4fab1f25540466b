"""A heating of thousands of readings: the same findings as when all are looked at at each, in time.

`_is_done_by_all` and `_asked_by_all` are the rules as they were first written, which went through
all the readings of a heating at each of them; they are the oracle here.
"""

import os
import sys
from datetime import timedelta
from decimal import Decimal
from types import FrameType
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.rules.account import heating, heating_phase, reading
from haccp.rules.account.account import Account
from haccp.rules.account.judge import judge
from haccp.rules.account.life import Evidence, Life
from haccp.rules.account.steps import TRAITS, Event, What
from haccp.rules.account.table import HEATINGS, HOT_FAMILY, HOT_ZONES, State, Zone
from haccp.rules.evidence import INITIAL, MICROWAVE, UNSLICED, WHOLE_ROAST, Reading, Step
from haccp.temperature import Degree, Temperature
from tests.rules.account.story import LIMITS, at


def _is_done_by_all(account: Account, last: Reading, step: What) -> bool:
    run = (*account.facts.run, last)
    asked = heating_phase._asked(account, {one.method for one in run}, step)
    return all(
        (limit.stand or limit.kept_by(last.temperature, limit.rows[0].level))
        and heating.reached(run, limit, heating_phase._around(account))
        for _, limit in asked
    )


def _asked_by_all(account: Account, zone: Zone, step: What) -> State:
    facts, state = account.facts, account.facts.state
    uncooked = not facts.cooked and (facts.raw or state is not State.RESTING)
    if step is Step.COOK and state in HOT_FAMILY and uncooked:
        return State.OUT if zone in (Zone.WARM, *HOT_ZONES) else state
    too_cool = reading._was_too_cool(account)
    if step is Step.REHEAT and state is State.HOT and zone in HOT_ZONES and too_cool:
        return State.COOLING
    if state not in HEATINGS or zone not in (Zone.ICE, Zone.COLD, Zone.WARM):
        return state
    if TRAITS[step].heats:
        warm = not all(account.cold_limit().kept_by(one.temperature) for one in facts.run)
        return State.OUT if warm and zone is not Zone.WARM else state
    fell = account.began_hot() and step is not Step.HOT_HOLD
    return State.HOT if fell else state


EXAMPLES = int(os.environ.get("HACCP_EXAMPLES", "300"))
KINDS = ("", "plant food", "poultry", WHOLE_ROAST, "commercial package", "ground meat")
METHODS: dict[What, tuple[str, ...]] = {
    Step.COOK: ("", "", MICROWAVE, INITIAL),
    Step.REHEAT: ("", "", MICROWAVE, UNSLICED),
}


@st.composite
def looks(draw: st.DrawFn) -> list[Evidence]:
    """Food that is heated again and again, read often; sometimes other things are done with it."""
    found: list[Evidence] = []
    minute = 0.0
    for _ in range(draw(st.integers(1, 30))):
        minute += draw(st.sampled_from([0, 0.1, 0.25, 1, 4, 30, 61]))
        common: tuple[What, ...] = (Step.COOK, Step.COOK, Step.COOK, Step.REHEAT, Step.REHEAT)
        others: list[What] = [Step.COOL, Step.HOT_HOLD, Step.PREPARE, Event.MADE]
        what: What = draw(st.sampled_from([*common, *others]))
        if isinstance(what, Event):
            found.append(Evidence(at(minute), what))
            continue
        warmth = st.sampled_from([30, 41, 42, 90, 129, 130, 134, 135, 140, 145, 155, 158, 165, 170])
        held = draw(st.sampled_from([0, 0, 0, 15, 240]))
        one = Reading(
            at=at(minute),
            temperature=Temperature(Decimal(draw(warmth)), Degree.F),
            step=what,
            held=timedelta(seconds=held),
            method=draw(st.sampled_from(METHODS.get(what, ("",)))),
        )
        found.append(Evidence(one.at, what, one))
    return found


@settings(max_examples=EXAMPLES)
@given(
    looks(),
    st.sampled_from(KINDS),
    st.booleans(),
    st.sampled_from(["", "still dry, 10 lb or more"]),
)
def test_each_reading_alone_finds_what_all_of_them_together_find(
    evidence: list[Evidence], kind: str, animal: bool, oven: str
) -> None:
    life = Life(evidence=tuple(evidence), kind=kind, animal=animal, oven=oven, opened=at(0))
    found = judge(life, LIMITS, at(3000))
    with (
        patch.object(heating_phase, "is_done", _is_done_by_all),
        patch.object(reading, "_asked_as", _asked_by_all),
    ):
        assert found == judge(life, LIMITS, at(3000))


def _calls(evidence: list[Evidence], kind: str) -> int:
    """Count the calls, of functions and of generators, in which readings are judged."""
    count = 0

    def note(_frame: FrameType, event: str, _: object) -> None:
        nonlocal count
        count += event == "call"

    life = Life(evidence=tuple(evidence), kind=kind, animal=True, opened=at(0))
    sys.setprofile(note)
    try:
        judge(life, LIMITS, at(3000))
    finally:
        sys.setprofile(None)
    return count


def _read(count: int, first: float, last: float, step: Step) -> list[Evidence]:
    """Read food that gets warmer, every ten seconds, so often."""
    found = []
    for n in range(count):
        temperature = Temperature(Decimal(f"{first + (last - first) * n / count:.2f}"), Degree.F)
        one = Reading(at=at(n / 6), temperature=temperature, step=step)
        found.append(Evidence(one.at, step, one))
    return found


@pytest.mark.parametrize(
    ("first", "last", "step", "kind"),
    [
        (60, 120, Step.COOK, "poultry"),
        (30, 40, Step.COOK, "poultry"),
        (45, 160, Step.REHEAT, "plant food"),
        (60, 129.9, Step.COOK, WHOLE_ROAST),
    ],
)
def test_twice_as_many_readings_take_twice_as_long(
    first: float, last: float, step: Step, kind: str
) -> None:
    few, many = (_calls(_read(count, first, last, step), kind) for count in (400, 800))
    assert many < 2.2 * few
