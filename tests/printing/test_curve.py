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
from haccp.printing.curve import Numbered, draw, key, small_multiples
from haccp.printing.curve_words import describe
from haccp.printing.drawn_cooling import DrawnCurve, TimeAxis, mark
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


def texts(svg: bytes) -> list[str]:
    return ["".join(text.itertext()).strip() for text in ET.fromstring(svg).iter(TEXT)]


def words(curve: DrawnCurve) -> list[str]:
    return texts(draw(curve))


# ---- what the drawing holds ----

LABELS = re.compile(
    r"""
    \d+ [ ]°[FC]                                              # a level
    | \d\d:00 ([ ] M[DS]T)? ([ ] \w{3})?                      # the clock
    | \d+ [ ] h | 0 [ ] h [ ] since [ ] (\d+ [ ] °[FC] | it [ ] was [ ] made) ([ ] or [ ] above)?
    | (later: [ ])? \d+ [ ]°[FC] [ ] by [ ] \d\d:\d\d ([ ] M[DS]T)? [ ] \(\d [ ] h\)
    | (Met | Not [ ] met | Not [ ] shown | Open | Stopped [ ] in [ ] time): [ ] .* within .* | Not [ ] judged
    | \w{3} [ ] \d{1,2} [ ] \w{3} [ ] \d{4}
    | -?\d+ (\.\d+)? ([ ] \?)? | [?]                          # a reading, and its doubt
    | \d+ (\.\d+)?, [ ] \d\d:\d\d                            # one above the scale
    | ((\d+ [ ]°[FC] | passed | after | still | above | to | allowed | no | reading | shows | for | by
        | the | start | is | not | shown | \d+ [ ] h ([ ] \d\d)? | \d+ [ ] min | \d\d:\d\d) ;? [ ]?)+
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
    many = [Numbered(n, f"stew-{n}", curve) for n in range(1, 4)]
    assert small_multiples(many) == small_multiples(many)


def test_the_verdict_comes_first_and_deadlines_are_named() -> None:
    drawn = words(NOT_MET)
    assert drawn[0] == "Not met: 70 °F within 2 h"
    assert {"70 °F by 14:00 (2 h)", "41 °F by 18:00 (6 h)", "135 °F", "70 °F", "41 °F"} <= set(
        drawn
    )
    assert words(NO_START)[0] in ("Not shown: 70 °F within 2 h, 41 °F within 6 h", "?")


def test_a_bar_tells_its_bounds_and_what_was_allowed() -> None:
    """Of 135 °F at 30 min: 98 at 90 and 69 at 140 leave 1 h to 1 h 50 for 70 °F."""
    told = " ".join(words(MET))
    assert "70 °F passed after 1 h to 1 h 50; allowed 2 h" in told
    assert "41 °F passed after 1 h 50 to 5 h; allowed 6 h" in told
    unsure = " ".join(words(NOT_SHOWN))
    assert "70 °F passed after 1 h 30 to 2 h 50; allowed 2 h no reading for 20 min" in unsure


def test_an_upper_bound_is_never_told_shorter_than_it_is() -> None:
    curve = cooling((0, "135"), (60, "98"), (90, "69"))
    late = tuple(
        replace(r, at=r.at + timedelta(seconds=30) * (n > 0)) for n, r in enumerate(curve.readings)
    )
    found = judge_batch(Batch(readings=late), CODE, None)
    drawn = replace(curve, readings=late, findings=tuple(f for f in found if f.step is Step.COOL))
    assert "70 °F passed after 1 h to 1 h 31" in " ".join(words(drawn))


def test_what_breaks_a_limit_and_both_sides_of_each_crossing_have_their_values() -> None:
    assert {"135", "98", "69", "41"} <= set(words(MET))
    assert {"75", "68", "44 ?"} <= set(words(NOT_MET))
    assert "172, 22:50" in words(OVER_MIDNIGHT), "what was hotter than the scale"


def test_a_plot_in_celsius_shows_the_limits_as_printed_in_celsius() -> None:
    drawn = words(CELSIUS)
    assert {"57 °C", "21 °C", "5 °C", "21 °C by 14:25 (2 h)"} <= set(drawn)
    assert not [text for text in drawn if "°F" in text]


@given(st.integers(-200, 2300), st.sampled_from(list(Degree)), st.sampled_from(list(Degree)))
def test_a_reading_is_drawn_on_the_side_of_a_level_that_it_is_judged_on(
    tenths: int, typed: Degree, shown: Degree
) -> None:
    """57 °C keeps 135 °F, and is 134.6 °F: no conversion carries it over the line."""
    temperature = Temperature(Decimal(tenths) / 10, typed)
    curve = replace(MET, degree=shown)
    height = curve.height(temperature)
    for level in curve.levels:
        over, line = temperature.over(level), float(level.number(shown))
        assert (height >= line) if over > 0 else (height <= line)
        assert over != 0 or height == line


def test_hours_are_those_of_the_clock_that_the_kitchen_saw() -> None:
    ticks = [text for text in words(OVER_MIDNIGHT) if re.match(r"\d\d:00", text)]
    assert ticks == ["23:00 MDT Sat", "00:00 Sun", "01:00", "01:00 MST", "02:00", "03:00", "04:00"]


def test_the_hour_that_the_clocks_skip_has_no_tick() -> None:
    spring = datetime(2026, 3, 8, 7, 30, tzinfo=UTC)  # 00:30, before the clocks go forward
    curve = cooling((0, "135"), (60, "120"), (200, "60"), begin=spring)
    ticks = [text for text in words(curve) if re.match(r"\d\d:00", text)]
    assert ticks[:3] == ["01:00 MST Sun", "03:00 MDT", "04:00"]


def test_a_day_without_a_clock_change_names_no_zone() -> None:
    assert not [text for text in words(MET) if "MDT" in text or "MST" in text]


def test_the_time_of_preparation_counts_where_nothing_was_hot() -> None:
    assert {"0 h since it was made", "41 °F by 16:00 (4 h)"} <= set(words(AMBIENT))


@every
def test_no_word_is_smaller_than_eight_points(curve: DrawnCurve) -> None:
    drawn = draw(curve) + small_multiples([Numbered(1, "stew", curve)]) + key()
    sizes = re.findall(r"font-size: ([\d.]+)px", drawn.decode())
    assert sizes and min(map(float, sizes)) >= 8


@every
def test_a_photocopy_keeps_every_rule(curve: DrawnCurve) -> None:
    widths = [float(width) for width in re.findall(r"stroke-width: ([\d.]+)", draw(curve).decode())]
    assert min(width for width in widths if width) >= 0.4


@every
def test_the_drawing_is_black_and_white(curve: DrawnCurve) -> None:
    assert set(re.findall(r"#[0-9a-f]{6}\b", draw(curve).decode())) == {"#000000", "#ffffff"}


# ---- time along the axis ----


def test_a_long_time_without_an_event_is_cut_and_keeps_its_order() -> None:
    axis = LONG.axis
    assert len(axis.cuts) >= 2 and axis.width < 12
    moments = [axis.begin + n * timedelta(minutes=7) for n in range(400)]
    places = [axis(moment) for moment in moments]
    assert places == sorted(places)
    assert all(axis.shows(one.at) for one in LONG.readings[2:])


@given(st.lists(st.integers(1, 300), min_size=1, max_size=6), st.integers(0, 2000))
def test_a_place_along_the_axis_is_the_time_that_is_drawn_before_it(
    gaps: list[int], minute: int
) -> None:
    """Oracle: minute by minute, one of a span counts as it is, a cut is as wide as its gap."""
    edges = [0]
    for gap in gaps:
        edges.append(edges[-1] + gap)
    moments = [NOON + timedelta(minutes=edge) for edge in edges]
    cuts = list(zip(moments[1:-1:2], moments[2:-1:2], strict=False))
    axis = TimeAxis.of(moments[0], moments[-1], cuts, gap=0.5)
    at = min(minute, edges[-1])
    place = 0.0
    for n in range(at):
        inside = [c for c in cuts if c[0] <= NOON + timedelta(minutes=n) < c[1]]
        place += 0.5 / ((inside[0][1] - inside[0][0]) / timedelta(minutes=1)) if inside else 1 / 60
    assert axis(NOON + timedelta(minutes=at)) == pytest.approx(place)


# ---- several together ----


def test_two_coolings_stand_side_by_side_and_three_in_two_rows() -> None:
    def size(svg: bytes) -> tuple[float, float]:
        root = ET.fromstring(svg)
        return float(root.attrib["width"][:-2]), float(root.attrib["height"][:-2])

    one, two, three = (size(draw(*[MET] * count)) for count in (1, 2, 3))
    assert one == two
    assert three == pytest.approx((one[0], 2 * one[1]), abs=0.1)
    titles = [t for t in texts(draw(MET, NOT_MET)) if "within" in t]
    assert len(titles) == 2


def test_small_drawings_share_one_scale_and_carry_their_number() -> None:
    drawn = texts(small_multiples([Numbered(n, f"stew-{n}", MET) for n in range(1, 13)]))
    assert {f"stew-{n}" for n in range(1, 13)} <= set(drawn)
    assert drawn.count("6 h") == 12
    assert drawn.count("135") == 3, "levels are named once a row"
    assert "Mon 12:30" in drawn, "when its time began"


def test_the_key_names_every_mark() -> None:
    told = " ".join(texts(key()))
    for meaning in ("breaks a limit", "in doubt", "hotter", "black in time", "too warm"):
        assert meaning in told


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
    drawn = " ".join(words(curve))
    assert "41 °F by 17:39 (4 h from the stage before)" in drawn
    assert "41 °F within 4 h: met." in describe(curve)


@pytest.mark.parametrize("tell", [describe, lambda curve: draw(curve).decode()])
def test_a_readings_name_is_told_nowhere(tell: Callable[[DrawnCurve], str]) -> None:
    assert NOT_MET.readings[0].ref.startswith("shepherd")
    assert "shepherd" not in tell(NOT_MET)


def test_the_day_is_named_behind_a_night_that_is_cut_out() -> None:
    """As in the invented week: a reading at 17:00, the clocks put back, the next at 07:20."""
    begin = datetime(2026, 10, 31, 19, 5, tzinfo=UTC)  # 13:05 in Denver
    points = ((0, "135"), (60, "89.6"), (108, "68.9"), (175, "53.3"), (235, "45.8"))
    drawn = words(cooling(*points, (1155, "37.9"), begin=begin))
    assert "07:00 MST Sun" in drawn
    assert not [text for text in drawn if re.match(r"(0\d|2\d):00$", text)], "no hour of the night"
