"""Kitchen time: what people type and read, on ordinary days and in the nights of a clock change.

The moments are invented; the clock changes are those of the IANA time zone database.
"""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.errors import Refused
from haccp.time import (
    MovedZone,
    clock,
    day_and_clock,
    day_starts,
    from_stored,
    parse_day,
    parse_when,
    spell,
    stored,
    zone_named,
)

DENVER = zone_named("America/Denver")
# an island whose clocks change by half an hour
LORD_HOWE = zone_named("Australia/Lord_Howe")


def utc(year: int, month: int, day: int, hour: int = 0, minute: int = 0) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


# A Wednesday, 15:00 on the kitchen's clock.
NOW = utc(2026, 1, 14, 22, 0)
LONG_AFTER = utc(2027, 1, 14, 22, 0)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("14:05", utc(2026, 1, 14, 21, 5)),
        ("2:05pm", utc(2026, 1, 14, 21, 5)),
        ("2:05 PM", utc(2026, 1, 14, 21, 5)),
        ("2pm", utc(2026, 1, 14, 21, 0)),
        ("12:30am", utc(2026, 1, 14, 7, 30)),
        ("12pm", utc(2026, 1, 14, 19, 0)),
        ("today 9:15", utc(2026, 1, 14, 16, 15)),
        ("yesterday 23:40", utc(2026, 1, 14, 6, 40)),
        ("Yesterday 11:40pm", utc(2026, 1, 14, 6, 40)),
        ("2025-12-31 23:40", utc(2026, 1, 1, 6, 40)),
        ("2025-12-31T23:40", utc(2026, 1, 1, 6, 40)),
        ("2026-01-14T14:05-07:00", utc(2026, 1, 14, 21, 5)),
        ("2026-01-14T14:05-0700", utc(2026, 1, 14, 21, 5)),
        ("2026-01-14T21:05Z", utc(2026, 1, 14, 21, 5)),
        ("2026-01-15T08:05+11:00", utc(2026, 1, 14, 21, 5)),
        ("  14:05  ", utc(2026, 1, 14, 21, 5)),
        ("14:05 MST", utc(2026, 1, 14, 21, 5)),
        ("", NOW),
        ("   ", NOW),
    ],
)
def test_what_a_cook_types_is_kitchen_time(typed: str, meant: datetime) -> None:
    assert parse_when(typed, NOW, DENVER) == meant


@pytest.mark.parametrize(
    "typed",
    [
        "14", "25:00", "24:00", "14:60", "14:5", "13pm", "0:10am", "soon", "14.5", "145", "-1:00", "99",
        "2026-02-30 12:00", "2026-13-01 12:00", "2026-01-14T25:00-07:00", "2026-01-14", "14:05 xyz",
        "14:05 MDT", "tomorrow 9:00", "yesterday", "2026-01-14T14:05-99:00",
    ],
)  # fmt: skip
def test_what_is_no_time_is_refused_with_what_was_typed(typed: str) -> None:
    with pytest.raises(Refused) as refused:
        parse_when(typed, NOW, DENVER)
    assert typed.split(" ", maxsplit=1)[0] in str(refused.value)


@pytest.mark.parametrize(
    ("typed", "zone"),
    [
        ("9999-12-31 23:59", DENVER),
        ("0001-01-01 00:00", LORD_HOWE),
        ("9999-12-31T23:59-07:00", DENVER),
        ("0001-01-01T00:00+11:00", LORD_HOWE),
    ],
)
def test_a_year_at_the_end_of_the_calendar_is_refused_not_a_crash(typed: str, zone: object) -> None:
    assert zone in (DENVER, LORD_HOWE)
    with pytest.raises(Refused):
        parse_when(typed, NOW, DENVER if zone is DENVER else LORD_HOWE)


def test_the_day_is_the_kitchens_not_utcs() -> None:
    evening = utc(2026, 1, 15, 3, 0)  # 20:00 on the 14th in the kitchen
    assert parse_when("19:00", evening, DENVER) == utc(2026, 1, 15, 2, 0)
    assert parse_when("yesterday 19:00", evening, DENVER) == utc(2026, 1, 14, 2, 0)
    assert parse_day("today", evening, DENVER) == date(2026, 1, 14)
    assert parse_day("Yesterday", evening, DENVER) == date(2026, 1, 13)
    assert parse_day("2026-01-02", evening, DENVER) == date(2026, 1, 2)


@pytest.mark.parametrize("typed", ["", "monday", "2026-02-30", "14.1.2026"])
def test_what_is_no_day_is_refused(typed: str) -> None:
    with pytest.raises(Refused):
        parse_day(typed, NOW, DENVER)


def test_a_time_later_than_now_is_refused_and_the_day_before_suggested() -> None:
    after_midnight = utc(2026, 1, 14, 7, 10)  # 00:10 in the kitchen
    with pytest.raises(Refused, match="yesterday 23:40"):
        parse_when("23:40", after_midnight, DENVER)
    with pytest.raises(Refused, match="later than now"):
        parse_when("2026-01-15 10:00", NOW, DENVER)
    with pytest.raises(Refused, match="later than now"):
        parse_when("2026-01-14T22:03Z", NOW, DENVER)


def test_a_terminal_two_minutes_slow_still_takes_the_reading() -> None:
    assert parse_when("15:02", NOW, DENVER) == NOW + timedelta(minutes=2)
    with pytest.raises(Refused):
        parse_when("15:02:01", NOW, DENVER)


# The night of 2026-03-08: Denver's clocks go from 02:00 to 03:00.


@pytest.mark.parametrize("typed", ["02:00", "02:30", "2:59am", "02:59:59"])
def test_a_time_in_the_skipped_hour_is_refused(typed: str) -> None:
    with pytest.raises(Refused, match="did not happen"):
        parse_when(f"2026-03-08 {typed}", LONG_AFTER, DENVER)
    with pytest.raises(Refused, match="did not happen"):
        parse_when(typed, utc(2026, 3, 8, 18, 0), DENVER)


def test_real_time_passes_across_the_spring_change() -> None:
    before = parse_when("2026-03-08 01:30", LONG_AFTER, DENVER)
    after = parse_when("2026-03-08 03:30", LONG_AFTER, DENVER)
    assert after - before == timedelta(hours=1)
    assert (clock(before, DENVER), clock(after, DENVER)) == ("01:30", "03:30")


# The night of 2026-11-01: Denver's clocks go from 02:00 back to 01:00.


def test_a_time_in_the_repeated_hour_must_be_resolved() -> None:
    with pytest.raises(Refused) as refused:
        parse_when("2026-11-01 01:30", LONG_AFTER, DENVER)
    assert "'2026-11-01 01:30 MDT'" in str(refused.value)
    assert "'2026-11-01 01:30 MST'" in str(refused.value)
    assert parse_when("2026-11-01 01:30 MDT", LONG_AFTER, DENVER) == utc(2026, 11, 1, 7, 30)
    assert parse_when("2026-11-01 01:30 mst", LONG_AFTER, DENVER) == utc(2026, 11, 1, 8, 30)


def test_in_the_first_of_the_repeated_hours_only_the_first_has_happened() -> None:
    first_0145 = utc(2026, 11, 1, 7, 45)
    assert parse_when("01:30", first_0145, DENVER) == utc(2026, 11, 1, 7, 30)
    second_0115 = utc(2026, 11, 1, 8, 15)
    assert parse_when("01:45", second_0115, DENVER) == utc(2026, 11, 1, 7, 45)
    with pytest.raises(Refused, match="happened twice"):
        parse_when("01:10", second_0115, DENVER)
    with pytest.raises(Refused, match="later than now"):
        parse_when("01:45 MST", second_0115, DENVER)


@pytest.mark.parametrize(
    ("typed", "meant"), [("00:59", utc(2026, 11, 1, 6, 59)), ("02:00", utc(2026, 11, 1, 9, 0))]
)
def test_beside_the_repeated_hour_nothing_is_asked(typed: str, meant: datetime) -> None:
    assert parse_when(f"2026-11-01 {typed}", LONG_AFTER, DENVER) == meant


def test_real_time_passes_across_the_autumn_change() -> None:
    before = parse_when("2026-11-01 00:30", LONG_AFTER, DENVER)
    after = parse_when("2026-11-01 02:30", LONG_AFTER, DENVER)
    assert after - before == timedelta(hours=3)


def test_the_clock_names_its_zone_only_in_the_hour_that_comes_twice() -> None:
    assert clock(utc(2026, 11, 1, 6, 59), DENVER) == "00:59"
    assert clock(utc(2026, 11, 1, 7, 30), DENVER) == "01:30 MDT"
    assert clock(utc(2026, 11, 1, 8, 30), DENVER) == "01:30 MST"
    assert clock(utc(2026, 11, 1, 9, 0), DENVER) == "02:00"


# Lord Howe Island 2026: 04-05 from 02:00 back to 01:30, 10-04 from 02:00 to 02:30.


def test_a_change_by_half_an_hour() -> None:
    for typed in ("02:00", "02:29"):
        with pytest.raises(Refused, match="did not happen"):
            parse_when(f"2026-10-04 {typed}", LONG_AFTER, LORD_HOWE)
    assert parse_when("2026-10-04 02:30", LONG_AFTER, LORD_HOWE) == utc(2026, 10, 3, 15, 30)
    with pytest.raises(Refused, match="happened twice"):
        parse_when("2026-04-05 01:45", LONG_AFTER, LORD_HOWE)
    assert parse_when("2026-04-05 01:29", LONG_AFTER, LORD_HOWE) == utc(2026, 4, 4, 14, 29)
    elapsed = parse_when("2026-04-05 02:10", LONG_AFTER, LORD_HOWE) - parse_when(
        "2026-04-05 01:10", LONG_AFTER, LORD_HOWE
    )
    assert elapsed == timedelta(minutes=90)


@pytest.mark.parametrize(
    ("zone_name", "typed"),
    [("America/Denver", "2026-11-01 01:30"), ("Australia/Lord_Howe", "2026-04-05 01:45")],
)
def test_what_the_refusal_of_a_doubled_time_suggests_can_be_typed(
    zone_name: str, typed: str
) -> None:
    zone = zone_named(zone_name)
    with pytest.raises(Refused) as refused:
        parse_when(typed, LONG_AFTER, zone)
    suggested = [part for part in str(refused.value).split("'") if part.startswith(typed)]
    moments = {parse_when(text, LONG_AFTER, zone) for text in suggested if text != typed}
    assert len(moments) == 2


@given(
    st.datetimes(datetime(2026, 1, 1), datetime(2026, 12, 31)),  # noqa: DTZ001 - made UTC below
    st.sampled_from(["America/Denver", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"]),
)
def test_a_clock_time_as_shown_can_be_typed_back(moment: datetime, zone_name: str) -> None:
    """What a list of readings shows names the moment that was stored, in every night."""
    zone = zone_named(zone_name)
    at = moment.replace(second=0, microsecond=0, tzinfo=UTC)
    shown = f"{at.astimezone(zone):%Y-%m-%d} {clock(at, zone)}"
    assert parse_when(shown, LONG_AFTER, zone) == at


@given(
    st.integers(0, 120),
    st.sampled_from(
        [("America/Denver", (2026, 11, 1, 7)), ("Australia/Lord_Howe", (2026, 4, 4, 14))]
    ),
)
def test_a_clock_time_shown_in_the_night_of_the_change_can_be_typed_back(
    minute: int, night: tuple[str, tuple[int, int, int, int]]
) -> None:
    zone = zone_named(night[0])
    at = utc(*night[1]) + timedelta(minutes=minute)
    shown = f"{at.astimezone(zone):%Y-%m-%d} {clock(at, zone)}"
    assert parse_when(shown, LONG_AFTER, zone) == at


def test_another_days_time_is_shown_with_its_date() -> None:
    assert day_and_clock(utc(2026, 1, 14, 21, 5), NOW, DENVER) == "14:05"
    assert day_and_clock(utc(2026, 1, 14, 6, 40), NOW, DENVER) == "Tue 13 Jan 23:40"
    assert day_and_clock(utc(2026, 11, 1, 8, 30), NOW, DENVER) == "Sun 1 Nov 01:30 MST"
    # a clock that is a year off shows that it is
    assert day_and_clock(utc(2025, 1, 14, 21, 5), NOW, DENVER) == "Tue 14 Jan 2025 14:05"
    assert day_and_clock(utc(2027, 1, 14, 21, 5), NOW, DENVER) == "Thu 14 Jan 2027 14:05"


def test_a_day_is_as_long_as_the_clocks_make_it() -> None:
    lengths = [
        day_starts(date(2026, month, day + 1), DENVER) - day_starts(date(2026, month, day), DENVER)
        for month, day in ((1, 14), (3, 8), (11, 1))
    ]
    assert lengths == [timedelta(hours=24), timedelta(hours=23), timedelta(hours=25)]


def test_a_stored_moment_is_utc_and_sorts_as_text() -> None:
    first, second = utc(2026, 11, 1, 7, 30), utc(2026, 11, 1, 8, 30)
    assert stored(first.astimezone(DENVER)) == "2026-11-01T07:30:00Z"
    assert stored(first) < stored(second)
    assert from_stored(stored(second)) == second


@pytest.mark.parametrize(
    ("duration", "words"),
    [
        (timedelta(0), "0 min"),
        (timedelta(minutes=35), "35 min"),
        (timedelta(minutes=59, seconds=59), "59 min"),
        (timedelta(hours=1), "1 h"),
        (timedelta(hours=1, minutes=5), "1 h 05 min"),
        (timedelta(days=1, minutes=1), "24 h 01 min"),
    ],
)
def test_a_duration_in_words(duration: timedelta, words: str) -> None:
    assert spell(duration) == words


@pytest.mark.parametrize(
    "name", ["", "Denver", "America/Nowhere", "../etc", "/etc/localtime", "x\0"]
)
def test_an_unknown_time_zone_is_refused(name: str) -> None:
    with pytest.raises(Refused, match="IANA"):
        zone_named(name)


ZONES = st.sampled_from(
    ["America/Denver", "America/Los_Angeles", "America/New_York", "Asia/Kathmandu", "UTC"]
).map(ZoneInfo)


@given(
    before=ZONES,
    after=ZONES,
    hour=st.integers(0, 8_760),
    minutes=st.integers(-3_000, 3_000),
)
def test_a_kitchen_that_moved_shows_each_moment_by_the_zone_it_was_in_then(
    before: ZoneInfo, after: ZoneInfo, hour: int, minutes: int
) -> None:
    since = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=hour)
    moment = since + timedelta(minutes=minutes)
    shown = moment.astimezone(MovedZone.after(before, after, since))
    by_hand = moment.astimezone(before if minutes < 0 else after)
    assert shown.replace(tzinfo=None, fold=0) == by_hand.replace(tzinfo=None, fold=0)
    assert shown.tzname() == by_hand.tzname()
    assert shown.astimezone(UTC) == moment


def test_the_days_before_a_move_begin_where_they_began() -> None:
    since = datetime(2026, 7, 1, 18, tzinfo=UTC)
    denver, new_york = ZoneInfo("America/Denver"), ZoneInfo("America/New_York")
    zone = MovedZone.after(denver, new_york, since)
    for day in (date(2026, 6, 30), date(2026, 7, 1)):
        assert day_starts(day, zone) == day_starts(day, denver)
    assert day_starts(date(2026, 7, 2), zone) == day_starts(date(2026, 7, 2), new_york)
