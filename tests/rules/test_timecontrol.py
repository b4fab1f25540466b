"""Time as a control, 3-501.19. All readings here are invented.

Sources of the numbers: 2VAC5-585-850 (Virginia, 2022 form of (B)), Delaware 3-501.19, Minnesota
4626.0408 for (C). They are typed here, so that nothing is shared with the limits that ship.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from haccp import limits
from haccp.limits.limit import CountsFrom, Limit, Row, Side
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.account.timed import Timed, judge_timed
from haccp.rules.asked import goal
from haccp.rules.evidence import Batch, Finding, Reading, Reason, Step, Verdict
from haccp.rules.words import explain
from haccp.temperature import Degree, Level, Temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)


def limit(name: str, side: Side, level: Level, hours: int, start: Level | None = None) -> Limit:
    return Limit(
        name=name,
        side=side,
        inclusive=True,
        rows=(Row(level, timedelta(0)),),
        start=start,
        within=timedelta(hours=hours),
        clock=CountsFrom.REMOVAL,
        citation="3-501.19",
        source="2VAC5-585-850 (Virginia)",
        basis="verified",
        text="",
    )


AT_135, AT_70, AT_41 = (Level(Decimal(f), Decimal(c)) for f, c in ((135, 57), (70, 21), (41, 5)))
HOT = limit("time-control-hot", Side.AT_OR_ABOVE, AT_135, 4)
COLD = limit("time-control-cold", Side.AT_OR_BELOW, AT_41, 4)
SIX = limit("time-control-6h", Side.AT_OR_BELOW, AT_70, 6, AT_41)
OPENED = limit("time-control-opened", Side.AT_OR_BELOW, AT_70, 4, AT_70)


def at(minute: float) -> datetime:
    return ZERO + timedelta(minutes=minute)


def reading(
    minute: float, temp: str, step: Step = Step.TIME_CONTROL, *, doubted: bool = False
) -> Reading:
    degree = Degree.C if temp.endswith("C") else Degree.F
    return Reading(
        at=at(minute),
        temperature=Temperature(Decimal(temp.rstrip("C")), degree),
        step=step,
        doubted_since=at(-60) if doubted else None,
    )


def judge(
    case: Limit,
    *readings: Reading,
    ended: float | None = None,
    returned: Reading | None = None,
    as_of: float | None = None,
) -> Finding:
    timed = Timed(
        readings=readings,
        ended=None if ended is None else at(ended),
        returned=returned,
    )
    return judge_timed(timed, case, None if as_of is None else at(as_of))


def told(finding: Finding) -> tuple[Verdict, Reason]:
    return finding.verdict, finding.reason


def sentence(finding: Finding) -> str:
    return explain(finding, lambda moment: f"minute {(moment - ZERO) // timedelta(minutes=1)}")


@pytest.mark.parametrize(
    ("case", "temp", "good"),
    [
        (HOT, "135", True),
        (HOT, "134.9", False),
        (HOT, "57C", True),
        (HOT, "56.9C", False),
        (COLD, "41", True),
        (COLD, "41.1", False),
        (COLD, "5C", True),
        (COLD, "5.1C", False),
        (SIX, "41", True),
        (SIX, "41.1", False),
        (SIX, "5.1C", False),
        (OPENED, "70", True),
        (OPENED, "70.1", False),
        (OPENED, "21C", True),
        (OPENED, "21.1C", False),
    ],
)
def test_food_must_have_its_temperature_when_it_is_taken_out(
    case: Limit, temp: str, good: bool
) -> None:
    found = judge(case, reading(0, temp), as_of=0)
    if good:
        assert told(found) == (Verdict.OPEN, Reason.TIME_LEFT)
    else:
        assert told(found) == (Verdict.NOT_MET, Reason.WRONG_START)
        assert found.since == at(0)


@pytest.mark.parametrize(("case", "temp"), [(HOT, "140"), (COLD, "40")])
def test_four_hours_are_inclusive_and_the_moment_to_discard_by_is_known_at_once(
    case: Limit, temp: str
) -> None:
    assert judge(case, reading(0, temp), as_of=0).due == at(240)
    assert judge(case, reading(0, temp), as_of=240).verdict is Verdict.OPEN
    assert told(judge(case, reading(0, temp), ended=240)) == (Verdict.MET, Reason.IN_TIME)
    for found in (
        judge(case, reading(0, temp), as_of=241),
        judge(case, reading(0, temp), ended=241),
        judge(case, reading(0, temp), reading(241, temp)),
    ):
        assert told(found) == (Verdict.NOT_MET, Reason.TOO_LATE)
        assert found.since == at(240)


def test_for_four_hours_no_temperature_is_asked_after_the_start() -> None:
    warm = judge(COLD, reading(0, "40"), reading(200, "75"), ended=239)
    assert warm.verdict is Verdict.MET


@pytest.mark.parametrize(("case", "minutes"), [(SIX, 360), (OPENED, 240)])
def test_a_ceiling_is_met_only_with_a_reading_at_the_end(case: Limit, minutes: int) -> None:
    start = reading(0, "41")
    assert told(judge(case, start, ended=minutes)) == (Verdict.NOT_SHOWN, Reason.NOT_WATCHED)
    early = judge(case, start, reading(minutes - 1, "70"), ended=minutes)
    assert told(early) == (Verdict.NOT_SHOWN, Reason.NOT_WATCHED)
    assert early.since == at(minutes)
    seen = judge(case, start, reading(minutes, "70"), ended=minutes)
    assert told(seen) == (Verdict.MET, Reason.IN_TIME)
    same_minute = judge(case, start, reading(minutes - 0.5, "70"), ended=minutes)
    assert same_minute.verdict is Verdict.MET


@pytest.mark.parametrize("case", [SIX, OPENED])
def test_above_the_ceiling_it_is_not_met_at_that_moment(case: Limit) -> None:
    found = judge(case, reading(0, "41"), reading(100, "70.1"), reading(120, "60"), as_of=130)
    assert told(found) == (Verdict.NOT_MET, Reason.TOO_WARM_IN_TIME)
    assert found.since == at(100)
    assert "70.1 °F at minute 100" in sentence(found)
    assert judge(case, reading(0, "41"), reading(100, "70"), as_of=130).verdict is Verdict.OPEN
    celsius = judge(case, reading(0, "5C"), reading(100, "21.1C"), as_of=130)
    assert celsius.verdict is Verdict.NOT_MET


def test_what_went_back_to_temperature_control_is_not_met() -> None:
    """From memory; the stricter reading."""
    back = reading(100, "140", Step.HOT_HOLD)
    found = judge(HOT, reading(0, "140"), returned=back, ended=120)
    assert told(found) == (Verdict.NOT_MET, Reason.RETURNED)
    assert found.since == at(100)
    assert "under hot hold (140 °F)" in sentence(found)


def test_of_several_faults_the_first_is_told() -> None:
    back = reading(300, "50", Step.COLD_HOLD)
    late = judge(COLD, reading(0, "40"), returned=back, as_of=400)
    assert (late.reason, late.since) == (Reason.TOO_LATE, at(240))
    wrong = judge(COLD, reading(0, "45"), returned=back, as_of=400)
    assert (wrong.reason, wrong.since) == (Reason.WRONG_START, at(0))


def test_after_everything_a_missing_end_is_not_shown_rather_than_not_met() -> None:
    found = judge(HOT, reading(0, "140"))
    assert told(found) == (Verdict.NOT_SHOWN, Reason.NOT_REACHED_ON_RECORD)
    assert "Nothing on record shows that it was served" in sentence(found)


def test_a_doubted_start_proves_nothing_yet_its_time_runs() -> None:
    doubted = reading(0, "140", doubted=True)
    assert told(judge(HOT, doubted, ended=100)) == (
        Verdict.NOT_SHOWN,
        Reason.THERMOMETER_IN_DOUBT,
    )
    assert told(judge(HOT, doubted, as_of=241)) == (Verdict.NOT_MET, Reason.TOO_LATE)
    assert judge(HOT, doubted, as_of=100).due == at(240)
    both = judge(HOT, doubted, reading(0, "138"), ended=100)
    assert both.verdict is Verdict.MET
    wrong = judge(HOT, reading(0, "130", doubted=True), ended=100)
    assert told(wrong) == (Verdict.NOT_SHOWN, Reason.THERMOMETER_IN_DOUBT)


def test_in_a_batch_doubt_is_weighed_as_alone() -> None:
    """The clock runs from a look whatever it showed; an open cooling needs a look that counts."""

    def verdict(*readings: Reading, ended: float | None = None) -> Verdict:
        batch = Batch(readings=readings, ended=None if ended is None else at(ended))
        found = judge_batch(batch, limits.shipped(), at(241))
        return next(one.verdict for one in found if one.step is Step.TIME_CONTROL)

    assert verdict(reading(0, "140", doubted=True)) is Verdict.NOT_MET
    assert verdict(reading(0, "140", doubted=True), reading(20, "139")) is Verdict.NOT_MET
    assert verdict(reading(0, "140", doubted=True), ended=100) is Verdict.NOT_SHOWN
    hot, timed = reading(0, "140", Step.HOT_HOLD), reading(30, "136")
    assert verdict(hot, reading(20, "120", Step.COOL), timed) is Verdict.NOT_MET
    doubted = reading(20, "120", Step.COOL, doubted=True)
    assert verdict(hot, doubted, timed) is Verdict.NOT_SHOWN


def test_a_doubted_last_reading_shows_no_ceiling() -> None:
    found = judge(SIX, reading(0, "40"), reading(300, "65", doubted=True), ended=300)
    assert told(found) == (Verdict.NOT_SHOWN, Reason.THERMOMETER_IN_DOUBT)
    warm = judge(
        SIX, reading(0, "40"), reading(100, "75", doubted=True), reading(300, "65"), ended=300
    )
    assert told(warm) == (Verdict.NOT_SHOWN, Reason.THERMOMETER_IN_DOUBT)


def test_every_sentence_says_what_a_cook_needs() -> None:
    left = judge(SIX, reading(0, "40"), as_of=60)
    clock = lambda moment: f"minute {(moment - ZERO) // timedelta(minutes=1)}"  # noqa: E731
    wanted = "served, used or discarded by minute 360, 70 °F or below until then"
    assert goal(left, clock) == wanted
    assert sentence(left) == f"To be {wanted}."
    assert "Still there at minute 250, 4 h 10 min after" in sentence(
        judge(HOT, reading(0, "140"), as_of=250)
    )
    assert "Nothing was left by minute 200, 3 h 20 min after" in sentence(
        judge(HOT, reading(0, "140"), ended=200)
    )
    assert "not 41 °F or below" in sentence(judge(SIX, reading(0, "50"), as_of=60))
    assert "stayed 70 °F or below until minute 300" in sentence(
        judge(SIX, reading(0, "40"), ended=300)
    )


# The oracle: every course that the food may have taken, minute by minute, each judged by the words
# of 3-501.19. It knows no bounds; where the food was last seen it may warm at once or never.

BEYOND = 1000


def courses(rows: list[tuple[int, int]], end: int) -> list[list[int]]:
    """Give the temperature at each minute up to the end, for each way between the readings."""
    found: list[list[int]] = [[]]
    for (begun, one), (ended, other) in pairwise(rows):
        steps = ended - begun
        ways = (
            [one] * steps,  # late
            [one, *[other] * (steps - 1)][:steps],  # early
        )
        found = [[*course, *way] for course in found for way in ways]
    minute, last = rows[-1]
    rest = max(end - minute, 0)
    return [
        [*course, last, *after]
        for course in found
        for after in ([last] * rest, [200] * rest, [0] * rest)
    ]


def complies(case: str, course: list[int], end: int, back: int | None) -> bool:
    hours = {"hot": 4, "cold": 4, "6h": 6, "opened": 4}[case]
    starts = {
        "hot": course[0] >= 135,
        "cold": course[0] <= 41,
        "6h": course[0] <= 41,
        "opened": course[0] <= 70,
    }[case]
    ceiling = case not in ("6h", "opened") or max(course[: end + 1]) <= 70
    return starts and ceiling and end <= 60 * hours and back is None


CASES = {"hot": HOT, "cold": COLD, "6h": SIX, "opened": OPENED}


@given(
    st.sampled_from(list(CASES)),
    st.sampled_from([30, 41, 42, 70, 71, 134, 135, 140]),
    st.lists(
        st.tuples(
            st.sampled_from([1, 60, 120, 239, 240, 241, 359, 360, 361]),
            st.sampled_from([41, 60, 70, 71, 140]),
        ),
        max_size=3,
        unique_by=lambda one: one[0],
    ),
    st.sampled_from([None, 0, 1, 60, 240, 241, 360]),
    st.sampled_from([None, 5, 200, 300]),
    st.sampled_from([None, 0, 100, 240, 241, 360, 361]),
)
def test_it_is_judged_as_all_courses_say(
    case: str,
    start: int,
    later: list[tuple[int, int]],
    ended: int | None,
    back: int | None,
    as_of: int | None,
) -> None:
    rows = [(0, start), *sorted(later)]
    seen = max([rows[-1][0], *([back] if back is not None else [])])
    ended = None if ended is None else max(ended, seen)
    as_of = None if as_of is None else max(as_of, seen, ended or 0)
    ends = [ended] if ended is not None else [max(as_of or 0, seen), BEYOND]
    tried = [complies(case, course, end, back) for end in ends for course in courses(rows, end)]
    if not any(tried):
        expected = Verdict.NOT_MET
    elif all(tried):
        expected = Verdict.MET
    elif ended is None and as_of is not None:
        expected = Verdict.OPEN
    else:
        expected = Verdict.NOT_SHOWN
    event(f"{case} {expected}")
    found = judge(
        CASES[case],
        *(reading(minute, str(temp)) for minute, temp in rows),
        ended=ended,
        returned=None if back is None else reading(back, "140", Step.HOT_HOLD),
        as_of=as_of,
    )
    assert found.verdict is expected
    assert (found.since is not None) is expected.is_deviation
    assert sentence(found)


@given(
    st.sampled_from(list(CASES)),
    st.lists(
        st.tuples(st.integers(0, 300), st.sampled_from(["40", "70", "71", "140"]), st.booleans()),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from([None, 300, 301]),
)
def test_doubted_readings_prove_nothing(
    case: str, drawn: list[tuple[int, str, bool]], ended: int | None
) -> None:
    """Where doubt is left out, met needs what is trusted alone; nor does doubt disprove."""
    rows = sorted((reading(m, t, doubted=d) for m, t, d in drawn), key=lambda one: one.at)
    found = judge(CASES[case], *rows, ended=ended, as_of=301)
    trusting = judge(CASES[case], *(replace(r, doubted_since=None) for r in rows), ended=ended, as_of=301)  # fmt: skip
    if found.verdict is Verdict.MET:
        assert trusting.verdict is Verdict.MET
        assert any(r.at == rows[0].at and not r.doubted_since for r in rows)
    if found.verdict is Verdict.NOT_MET:
        assert trusting.verdict is Verdict.NOT_MET
        if found.reason in (Reason.WRONG_START, Reason.TOO_WARM_IN_TIME):
            assert not found.readings[0].doubted_since
