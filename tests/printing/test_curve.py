"""The drawing of a cooling and the words beside it. Every cooling here is invented."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import matplotlib as mpl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp import limits
from haccp.limits import LimitSet
from haccp.printing.curve import DrawnCurve, describe, draw, mark
from haccp.rules.account.readings_alone import judge_batch
from haccp.rules.evidence import Batch, Reading, Step, Verdict
from haccp.temperature import Degree, Temperature
from tests.local_codes import MARYLAND

DENVER = ZoneInfo("America/Denver")
CODE = limits.shipped()
NOON = datetime(2026, 10, 26, 18, 0, tzinfo=UTC)  # 12:00 in Denver
NIGHT = datetime(2026, 11, 1, 4, 50, tzinfo=UTC)  # 22:50, before the clocks go back
TEXT = "{http://www.w3.org/2000/svg}text"


def cooling(
    *points: tuple[int, str],
    begin: datetime = NOON,
    degree: Degree = Degree.F,
    limit_set: LimitSet = CODE,
    as_of: datetime | None = None,
    prepared: datetime | None = None,
    doubted: Sequence[int] = (),
) -> DrawnCurve:
    """Judge readings given as (minutes from the beginning, number)."""
    readings = tuple(
        Reading(
            at=begin + timedelta(minutes=minutes),
            temperature=Temperature(Decimal(number), degree),
            step=Step.COOL,
            ref=f"shepherd's pie, reading of minute {minutes}",
            doubted_since=begin if minutes in doubted else None,
        )
        for minutes, number in points
    )
    found = judge_batch(Batch(readings=readings, prepared=prepared), limit_set, as_of)
    cooled = tuple(one for one in found if one.step is Step.COOL)
    return DrawnCurve(readings=readings, findings=cooled, degree=degree, zone=DENVER)


MET = cooling((0, "180"), (30, "135"), (90, "98"), (140, "69"), (330, "41"))
NOT_MET = cooling((0, "140"), (20, "130"), (145, "75"), (200, "68"), (375, "44"))
NOT_SHOWN = cooling((0, "150"), (60, "120"), (150, "80"), (170, "69"))
NO_START = cooling((0, "128"), (60, "90"), (110, "68"), (300, "40"))
ONE = cooling((0, "150"), as_of=NOON + timedelta(minutes=30))
CELSIUS = cooling(
    (0, "78.5"), (25, "57"), (60, "44.5"), (125, "20.5"), (340, "4.8"), degree=Degree.C
)
OVER_MIDNIGHT = cooling(
    (0, "172"), (25, "141"), (45, "129"), (135, "72"), (160, "67"), (375, "40"), begin=NIGHT
)
AMBIENT = cooling((20, "72"), (120, "55"), (230, "40"), prepared=NOON)
LONG = cooling((0, "180"), (30, "138"), (60, "112"), (1200, "75"), (2300, "43"))
ALL = {
    "met": MET,
    "not met": NOT_MET,
    "not shown": NOT_SHOWN,
    "no start": NO_START,
    "one reading": ONE,
    "celsius": CELSIUS,
    "clock change": OVER_MIDNIGHT,
    "ambient": AMBIENT,
    "two days": LONG,
    "nothing judged": replace(ONE, findings=()),
}
every = pytest.mark.parametrize("curve", ALL.values(), ids=ALL.keys())


def words(curve: DrawnCurve) -> list[str]:
    return ["".join(text.itertext()).strip() for text in ET.fromstring(draw(curve)).iter(TEXT)]


# ---- what the drawing holds ----

LABELS = re.compile(
    r"""
    -?\d+ [ ]°[FC]                                            # tick of the degrees
    | \d\d:00 | M[DS]T | \w{3} [ ] \d{1,2} [ ] \w{3}          # tick of the clock
    | kitchen [ ] time
    | \d+ [ ]°[FC] [ ] (start | within [ ] \d+ [ ] h | by [ ] \d\d:\d\d ([ ] M[DS]T)?)
    | start [ ] \d\d:\d\d
    | [●✕?○–] [ ] (met | not [ ] met | not [ ] shown | open | stopped)
    | [?]
    """,
    re.VERBOSE,
)


@every
def test_the_drawing_holds_only_fixed_words_and_numbers(curve: DrawnCurve) -> None:
    drawn = words(curve)
    assert drawn
    assert [text for text in drawn if not LABELS.fullmatch(text)] == []


@every
def test_a_cooling_is_drawn_the_same_way_twice(curve: DrawnCurve) -> None:
    assert draw(curve) == draw(curve)


def test_levels_deadlines_and_verdicts_are_named() -> None:
    assert {
        "135 °F start",
        "70 °F within 2 h",
        "✕ not met",
        "41 °F within 6 h",
        "? not shown",
        "70 °F by 14:00",
        "41 °F by 18:00",
    } <= set(words(NOT_MET))


def test_a_plot_in_celsius_shows_the_limits_as_printed_in_celsius() -> None:
    drawn = words(CELSIUS)
    assert {"57 °C start", "21 °C within 2 h", "5 °C within 6 h"} <= set(drawn)
    assert not [text for text in drawn if "°F" in text]


def test_fahrenheit_readings_are_converted_for_a_plot_in_celsius() -> None:
    """212 °F is 100 °C, so the degrees end near 100 and not near 212."""
    curve = replace(cooling((0, "212"), (60, "130")), degree=Degree.C)
    ticks = [int(text[:-3]) for text in words(curve) if re.fullmatch(r"-?\d+ °C", text)]
    assert max(ticks) == 100


def test_ticks_are_real_hours_with_the_clock_that_the_kitchen_saw() -> None:
    ticks = [text for text in words(OVER_MIDNIGHT) if re.fullmatch(r"\d\d:00|M[DS]T", text)]
    assert " ".join(ticks) == (
        "23:00 MDT 00:00 MDT 01:00 MDT 01:00 MST 02:00 MST 03:00 MST 04:00 MST"
    )


def test_the_hour_that_the_clocks_skip_has_no_tick() -> None:
    spring = datetime(2026, 3, 8, 7, 30, tzinfo=UTC)  # 00:30, before the clocks go forward
    curve = cooling((0, "140"), (60, "120"), (200, "60"), begin=spring)
    ticks = [text for text in words(curve) if re.fullmatch(r"\d\d:00|M[DS]T", text)]
    assert " ".join(ticks[:6]) == "01:00 MST 03:00 MDT 04:00 MDT"


def test_a_day_without_a_clock_change_names_no_zone() -> None:
    assert not {"MDT", "MST"} & set(words(MET))


def test_a_tick_names_each_new_day() -> None:
    days = [text for text in words(OVER_MIDNIGHT) if re.fullmatch(r"\w{3} \d+ \w{3}", text)]
    assert days == ["Sat 31 Oct", "Sun 1 Nov"]


def test_a_long_cooling_has_no_more_ticks_than_fit() -> None:
    ticks = [text for text in words(LONG) if re.fullmatch(r"\d\d:00", text)]
    assert 4 <= len(ticks) <= 12


def test_the_time_of_preparation_is_marked() -> None:
    drawn = words(AMBIENT)
    assert "start 12:00" in drawn
    assert "41 °F by 16:00" in drawn


@every
def test_a_photocopy_keeps_every_rule(curve: DrawnCurve) -> None:
    widths = [float(width) for width in re.findall(r"stroke-width: ([\d.]+)", draw(curve).decode())]
    assert min(widths) >= 0.4


@every
def test_the_drawing_is_black_white_and_grey(curve: DrawnCurve) -> None:
    colours = set(re.findall(r"#([0-9a-f]{6})\b", draw(curve).decode()))
    assert "000000" in colours
    assert {colour for colour in colours if len({colour[:2], colour[2:4], colour[4:]}) > 1} == set()


def test_a_persons_own_plot_settings_change_nothing_and_stay() -> None:
    expected = draw(MET)
    with mpl.rc_context({"figure.facecolor": "red", "font.size": 30, "svg.fonttype": "path"}):
        before = dict(mpl.rcParams)
        assert draw(MET) == expected
        assert dict(mpl.rcParams) == before


# ---- marks ----


@pytest.mark.parametrize(
    ("curve", "marks"),
    [
        (MET, ["", "", "", "", ""]),
        # 75 °F is 125 min after the latest start; 44 °F is 355 min after it, 375 after the earliest
        (NOT_MET, ["", "", "✕", "", "?"]),
        (NOT_SHOWN, ["", "", "?", ""]),
        # no start is known: nothing breaks a limit before its time has passed since the first
        (NO_START, ["", "", "", ""]),
        # complete at 330 min: what follows is cold holding, judged elsewhere
        (
            cooling((0, "180"), (30, "135"), (140, "69"), (330, "41"), (420, "43")),
            ["", "", "", "", ""],
        ),
        # the limit is inclusive: 70 °F at its very time is in time, 70.1 °F is not
        (cooling((0, "135"), (120, "70"), (360, "41")), ["", "", ""]),
        (cooling((0, "135"), (120, "70.1"), (360, "41")), ["", "✕", ""]),
    ],
)
def test_a_reading_is_marked_by_what_it_proves(curve: DrawnCurve, marks: list[str]) -> None:
    assert [mark(reading, curve.findings) for reading in curve.readings] == marks


def test_a_thermometer_in_doubt_breaks_no_limit() -> None:
    curve = cooling((0, "135"), (130, "75"), (150, "74"), (200, "60"), doubted=(130,))
    assert [mark(r, curve.findings) for r in curve.readings] == ["", "?", "✕", ""]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 500), st.integers(35, 190)), min_size=1, max_size=7, unique=True
    )
)
def test_a_reading_breaks_a_limit_exactly_where_a_finding_says_not_met(
    points: list[tuple[int, int]],
) -> None:
    curve = cooling(*((minutes, str(number)) for minutes, number in sorted(points)))
    marks = {mark(reading, curve.findings) for reading in curve.readings}
    verdicts = {finding.verdict for finding in curve.findings}
    assert ("✕" in marks) is (Verdict.NOT_MET in verdicts)


# ---- in words ----


@pytest.mark.parametrize(
    ("curve", "parts"),
    [
        (
            MET,
            [
                "Mon 26 Oct 2026: 5 readings, 180 °F at 12:00 to 41 °F at 17:30.",
                "135 °F, where the time starts, was passed at 12:30.",
                "70 °F within 2 h: met.",
                "The safe deadline is 14:30.",
                "41 °F within 6 h: met.",
                "The safe deadline is 18:30.",
            ],
        ),
        (
            NOT_MET,
            ["passed between 12:00 and 12:20.", "70 °F within 2 h: not met.", "75 °F at 14:25"],
        ),
        (NO_START, ["passed before 12:00, not shown when.", "70 °F within 2 h: not shown."]),
        (ONE, ["1 reading, 150 °F at 12:00.", "passed after 12:00.", "41 °F within 6 h: open."]),
        (
            CELSIUS,
            ["57 °C, where", "21 °C within 2 h: met.", "78.5 °C at 12:00 to 4.8 °C at 17:40"],
        ),
        (OVER_MIDNIGHT, ["Sat 31 Oct 2026", "01:15 MDT", "70 °F within 2 h: not shown."]),
        (AMBIENT, ["41 °F within 4 h: met.", "The safe deadline is 16:00."]),
    ],
)
def test_the_words_tell_verdicts_times_and_levels(curve: DrawnCurve, parts: list[str]) -> None:
    told = describe(curve)
    assert [part for part in parts if part not in told] == []


def test_a_stage_counted_from_the_one_before_is_drawn_with_its_own_time() -> None:
    local = limits.load_overrides(CODE, MARYLAND, "maryland.toml")
    curve = cooling((0, "135"), (99, "71"), (100, "70"), (300, "41"), limit_set=local)
    assert {"70 °F within 2 h", "41 °F within 4 h"} <= set(words(curve))
    assert "41 °F within 4 h: met." in describe(curve)


@pytest.mark.parametrize("tell", [describe, lambda curve: draw(curve).decode()])
def test_a_readings_name_is_told_nowhere(tell: Callable[[DrawnCurve], str]) -> None:
    assert NOT_MET.readings[0].ref.startswith("shepherd")
    assert "shepherd" not in tell(NOT_MET)
