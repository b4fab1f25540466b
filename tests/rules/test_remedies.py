"""What is proposed for each kind of deviation, and what is never proposed. Readings are invented.

The branches: regulations collected for this tool, cooling guidance as remembered from FDA's Annex
5, the stricter where published advice differs; holding after USDA's sample school procedure, from
memory.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from haccp import limits
from haccp.limits.limit import Limit
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Bounds, Finding, Reading, Reason, Step, Verdict
from haccp.rules.remedies import FROM_MEMORY, LOCAL, VERIFIED, Option, options
from haccp.rules.words import explain
from haccp.temperature import Degree, Temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)
LIMITS = limits.shipped()
LOCAL_CODE = "County code 12-3"


def at(minute: float) -> datetime:
    return ZERO + timedelta(minutes=minute)


def reading(minute: float, temp: str, step: Step = Step.COOL) -> Reading:
    return Reading(at=at(minute), temperature=Temperature(Decimal(temp), Degree.F), step=step)


def cooling(
    *pairs: tuple[float, str], now: float, stage: int = 1, late_reheat: str = ""
) -> tuple[Option, ...]:
    rows = tuple(reading(*pair) for pair in pairs)
    found = judge_batch(Batch(readings=rows), LIMITS, at(now))
    (finding,) = [one for one in found if one.limit.name == f"cooling-stage-{stage}"]
    return options(finding, last=rows[-1], now=at(now), late_reheat=late_reheat)


def made(
    name: str,
    step: Step,
    *,
    verdict: Verdict = Verdict.NOT_MET,
    reason: Reason = Reason.OUT_OF_LIMITS,
    limit: Limit | None = None,
    start: Bounds | None = None,
    crossing: Bounds | None = None,
    longest: timedelta | None = None,
    due: float | None = None,
) -> Finding:
    base = limit or LIMITS.get("cold-holding")
    return Finding(
        step=step,
        limit=replace(base, name=name),
        verdict=verdict,
        reason=reason,
        readings=(reading(0, "50", step),),
        start=start,
        crossing=crossing,
        longest=longest,
        due=None if due is None else at(due),
        since=at(0),
    )


def texts(found: tuple[Option, ...]) -> list[str]:
    return [option.text.split(":")[0].split(".")[0] for option in found]


def reheats(found: tuple[Option, ...]) -> list[Option]:
    return [option for option in found if "165 °F" in option.text]


def test_a_cooling_under_way_may_be_sped_up_or_reheated_within_its_first_two_hours() -> None:
    found = cooling((0, "140"), (60, "110"), now=100)
    assert "ice bath" in found[0].text
    assert found[0].basis == VERIFIED
    (again,) = reheats(found)
    # by the longest that the record allows: the last reading at or above 135 was at minute 0
    assert again.until == at(120)
    assert again.basis == FROM_MEMORY
    assert "not reheated before" in again.when


def test_a_first_stage_that_is_too_late_is_discarded_unless_the_local_code_says_otherwise() -> None:
    rows = ((0, "135"), (130, "90"))
    assert texts(cooling(*rows, now=130)) == ["Discard it"]
    strict, local = cooling(*rows, now=130, late_reheat=LOCAL_CODE)
    assert strict.text == "Discard it."
    assert (local.citation, local.basis) == (LOCAL_CODE, LOCAL)
    assert "once only" in local.when


def test_food_without_a_known_start_has_no_time_left_whatever_the_local_code() -> None:
    found = cooling((0, "120"), (30, "110"), now=30, late_reheat=LOCAL_CODE)
    assert texts(found) == [
        "Enter the last hot reading",
        "Discard it",
        "Release it, with the reason",
    ]
    assert not reheats(found)


def test_no_reheat_is_proposed_by_the_shortest_time_that_the_record_allows() -> None:
    """Between 0 and 60 it passed 135: by the best case 110 min at 170, by the worst 170."""
    found = cooling((0, "150"), (60, "120"), (170, "75"), now=170)
    assert not reheats(found)
    assert "Discard it" in texts(found)


def test_the_second_stage_is_sped_up_while_open_and_discarded_after_six_hours() -> None:
    rows = ((0, "135"), (110, "70"), (200, "55"))
    before = cooling(*rows, now=200, stage=2, late_reheat=LOCAL_CODE)
    assert texts(before) == ["Cool it faster"]
    assert before[0].until == at(360)
    late = cooling(*rows, (361, "45"), now=361, stage=2, late_reheat=LOCAL_CODE)
    assert late[0].text == "Discard it."
    assert not reheats(late)


def test_food_already_cold_is_not_reheated_for_a_stage_that_it_missed() -> None:
    found = cooling((0, "135"), (125, "75"), (200, "60"), now=200, late_reheat=LOCAL_CODE)
    assert texts(found) == ["Discard it"]


def test_a_cooling_that_is_met_or_stopped_needs_nothing() -> None:
    assert cooling((0, "135"), (100, "69"), now=100) == ()
    stopped = made("cooling-stage-1", Step.COOL, verdict=Verdict.STOPPED)
    assert options(stopped, last=None, now=at(0), late_reheat=LOCAL_CODE) == ()


@pytest.mark.parametrize("name", ["cooling-ambient", "cooling-received"])
def test_four_hour_coolings_are_sped_up_or_discarded(name: str) -> None:
    going = made(name, Step.COOL, verdict=Verdict.OPEN, reason=Reason.TIME_LEFT, due=240)
    assert texts(options(going, last=None, now=at(10), late_reheat="")) == ["Cool it faster"]
    over = made(name, Step.COOL, reason=Reason.STILL_WARM, start=Bounds(at(0), at(0)))
    assert texts(options(over, last=None, now=at(241), late_reheat=LOCAL_CODE)) == ["Discard it"]


@pytest.mark.parametrize(
    ("name", "step", "saving"),
    [
        ("hot-holding", Step.HOT_HOLD, "Reheat it to 165 °F"),
        ("cold-holding", Step.COLD_HOLD, "Chill it fast"),
        ("egg-holding", Step.COLD_HOLD, "Chill it fast"),
    ],
)
def test_held_food_is_saved_only_within_two_hours_of_its_last_good_reading(
    name: str, step: Step, saving: str
) -> None:
    """From memory: USDA sample school procedure for holding hot and cold food."""

    def ask(start: Bounds | None, now: float, longest: float | None = None) -> list[Option]:
        lasted = None if longest is None else timedelta(minutes=longest)
        finding = made(name, step, start=start, longest=lasted)
        return [*options(finding, last=None, now=at(now), late_reheat="")]

    good = Bounds(at(0), at(60))
    saved, otherwise = ask(good, 120)
    assert saved.text.startswith(saving)
    assert saved.until == at(120)
    assert otherwise.text == "Discard it."
    for unsaved in (ask(good, 121), ask(None, 60), ask(Bounds(None, at(60)), 61)):
        assert [option.text for option in unsaved] == ["Discard it."]
    # a deviation that is over counts the time that it may have lasted, not what passed since
    assert ask(good, 600, longest=120)[0].text.startswith(saving)
    assert ask(good, 600, longest=121)[0].text == "Discard it."


def test_a_reheat_goes_on_in_its_time_and_is_discarded_after_it() -> None:
    hot = LIMITS.get("reheat")
    cool = made("reheat", Step.REHEAT, limit=hot, reason=Reason.TOO_COOL, due=120)
    going, out = options(cool, last=None, now=at(120), late_reheat="")
    assert going.text.startswith("Go on heating: reheat")
    assert going.until == at(120)
    assert out.text == "Discard it."
    assert texts(options(cool, last=None, now=at(121), late_reheat="")) == ["Discard it"]
    unknown = replace(cool, due=None, reason=Reason.NO_START, verdict=Verdict.NOT_SHOWN)
    found = options(unknown, last=None, now=at(5), late_reheat="")
    assert texts(found) == ["Discard it", "Release it, with the reason"]


def test_a_cook_that_fell_short_goes_on_cooking_while_it_is_on_the_heat() -> None:
    cook = made("cook", Step.COOK, limit=LIMITS.get("cook", "poultry"), reason=Reason.TOO_COOL)
    on = options(cook, last=reading(0, "150", Step.COOK), now=at(1), late_reheat="")
    assert on[0].text.startswith("Go on heating: cook poultry")
    off = options(cook, last=reading(9, "120", Step.COOL), now=at(10), late_reheat="")
    assert texts(off) == ["Discard it"]


@pytest.mark.parametrize(
    ("finding", "first"),
    [
        (made("receiving-cold", Step.RECEIVE), "Reject it and write down why"),
        (made("time-control-hot", Step.TIME_CONTROL, reason=Reason.TOO_LATE), "Discard it"),
        (made("date-mark", Step.COLD_HOLD, reason=Reason.PAST_ITS_DAY), "Discard it"),
        (made("frozen-holding", Step.COLD_HOLD), "Move it to a unit that freezes"),
        (made("initial-heating", Step.COOK, reason=Reason.HEATED_FOR), "Cook it to its full"),
        (made("oven", Step.COOK), "Set the oven right"),
        (made("hot-holding", Step.HOT_HOLD, reason=Reason.MISSED_CHECK), "Measure it now"),
        (
            made("hot-holding", Step.HOT_HOLD, reason=Reason.THERMOMETER_IN_DOUBT),
            "Measure it with another thermometer now",
        ),
        (made("oven", Step.COOK, reason=Reason.OVEN), "Enter what the oven showed"),
        (made("cook", Step.COOK, reason=Reason.LINES_REJECTED), "Mend the lines"),
    ],
)
def test_each_kind_of_deviation_has_its_usual_answer(finding: Finding, first: str) -> None:
    found = options(finding, last=None, now=at(1), late_reheat="")
    assert found[0].text.startswith(first)
    for option in found:
        assert option.citation
        assert option.basis
        assert option.source or option.basis == "common practice, no source"
        assert option.text[0].isupper()
        assert option.text.endswith(".")
        assert len(option.text) < 200


def test_food_under_time_control_that_is_gone_cannot_be_discarded() -> None:
    gone = made(
        "time-control-6h",
        Step.TIME_CONTROL,
        verdict=Verdict.NOT_SHOWN,
        reason=Reason.NOT_WATCHED,
        crossing=Bounds(at(100), at(100)),
    )
    found = options(gone, last=None, now=at(200), late_reheat="")
    assert texts(found)[0].startswith("Write down who was served")
    assert "Discard it" not in texts(found)


def test_only_what_is_not_shown_may_be_released_and_only_by_a_manager() -> None:
    for verdict, released in ((Verdict.NOT_SHOWN, True), (Verdict.NOT_MET, False)):
        finding = made("cooling-stage-2", Step.COOL, verdict=verdict, reason=Reason.STILL_WARM)
        found = options(finding, last=None, now=at(0), late_reheat="")
        release = [option for option in found if option.text.startswith("Release")]
        assert bool(release) is released
        assert all("manager" in option.when for option in release)


def test_a_date_mark_without_a_reading_is_explained_and_answered() -> None:
    mark = LIMITS.get("date-mark")
    past = replace(
        made("date-mark", Step.COLD_HOLD, limit=mark, reason=Reason.PAST_ITS_DAY, due=600),
        readings=(),
    )
    words = explain(past, lambda moment: f"minute {(moment - ZERO) // timedelta(minutes=1)}")
    assert "ended at minute 600" in words
    assert "7 days, the day of preparation being day 1" in words


def test_an_oven_that_is_not_on_record_is_told_with_what_it_must_be() -> None:
    finding = made("oven", Step.COOK, verdict=Verdict.NOT_SHOWN, reason=Reason.OVEN)
    assert "says what the oven showed; it must be 41 °F or below" in explain(finding, str)
    assert explain(replace(finding, readings=()), str).startswith("No reading says")
