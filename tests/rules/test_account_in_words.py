"""A batch's account as a cook reads it: one line of phases with times. All readings are invented."""

from dataclasses import replace
from zoneinfo import ZoneInfo

from haccp.rules.account.judge import Judged, hand_on, judge
from haccp.rules.account_in_words import Told, line, tell
from haccp.time import day_and_clock
from tests.rules.account.story import KITCHEN, LIMITS, ZERO, at, life
from tests.rules.account.test_dangerous_lives import LIVES, is_told, judged, lives

UTC = ZoneInfo("UTC")


def lines(found: Judged, *parts: tuple[str, ...], opened: float = 0) -> list[str]:
    """Write each way back, on the day of the first evidence."""
    told = tell(found, parts or [()] * len(found.ways), at(opened))
    return [line(way, lambda moment: day_and_clock(moment, ZERO, UTC), UTC) for way in told]


def only_line(story: str, now: float) -> str:
    (found,) = lines(judge(life(story, opened=0, watch=KITCHEN), LIMITS, at(now)))
    return found


def test_each_phase_has_the_bounds_of_its_beginning_and_its_unit() -> None:
    story = "cook 30 190; hot hold 60 160 in well-1; cool 120 136; cool 200 69; cool 420 41"
    assert only_line(story, 430) == (
        "cooking from between 00:00 and 00:30; hot from 00:30, in well-1 from 01:00; "
        "set to cool from between 01:00 and 02:00; "
        "cooling from between 02:00 and 03:20; cold since 07:00, in walk-in as usual"
    )


def test_an_end_that_was_said_has_its_moment_and_what_took_no_time_is_left_out() -> None:
    assert only_line("cook 0 190; hot hold 30 160 in well-1; used 80", 100) == (
        "hot from 00:00, in well-1 from 00:30; nothing left since 01:20"
    )


def test_the_unit_changes_within_a_phase() -> None:
    story = "cook 0 190; hot hold 30 160 in well-1; emptied 60 in well-1; hot hold 70 150 in hatch"
    assert only_line(story, 100) == "hot since 00:00, in well-1 from 00:30, in hatch from 01:10"


def test_the_phase_of_a_deviation_is_marked_and_no_other() -> None:
    sank = "cook 0 190; hot hold 30 160 in well-1; check hot 60 120 in well-1; hot hold 90 150"
    assert only_line(f"{sank}; cool 100 136; cool 190 69; cool 400 41", 430) == (
        "!hot from 00:00, in well-1 from 00:30; "
        "set to cool from between 01:30 and 01:40; "
        "cooling from between 01:40 and 03:10; cold since 06:40, in walk-in as usual "
        "(! marks a deviation)"
    )
    warm = only_line("cook 0 190; cool 10 136; cool 200 75", 210)
    assert "hot from 00:00; set to cool" in warm
    assert "; !cooling since between 00:10 and 03:20 (!" in warm


def test_what_nobody_measured_says_so() -> None:
    assert only_line("", 100) == "not yet measured since 00:00"
    late = only_line("", 300)
    assert late == "!not yet measured since 00:00 (! marks a deviation)"


def test_the_day_stands_where_it_is_another_than_before() -> None:
    assert only_line("cook 1400 190; hot hold 1500 160 in well-1", 1510) == (
        "cooking from between 00:00 and 23:20; !hot since 23:20, in well-1 from Tue 6 Jan 01:00 "
        "(! marks a deviation)"
    )


def test_what_began_in_a_part_names_it_and_each_way_has_its_line() -> None:
    hot, cold = (
        life(story, opened=0, watch=KITCHEN)
        for story in ("cook 0 190", "cook 0 190; cool 10 136; cool 90 69; cool 250 41")
    )
    handed = [hand_on(one, LIMITS, at(300)).handed for one in (hot, cold)]
    pot = replace(
        life("hot hold 310 150 in well-1", opened=300, watch=KITCHEN),
        handed_on=(*handed[0], *handed[1]),
    )
    found = judge(pot, LIMITS, at(320))
    told = lines(found, ("stock-0105",), ("rice-0105", "rice-0105-a"), opened=300)
    assert told[0].startswith("!hot since 00:00 (began in stock-0105), in well-1 from 05:10")
    assert told[1].startswith("cold from 04:10 (began in rice-0105 or rice-0105-a)")


def phases(found: Judged) -> list[Told]:
    return [one for way in tell(found, [()] * len(found.ways), at(0)) for one in way]


def test_a_deviation_is_always_marked_and_nothing_is_marked_without_one() -> None:
    """Over lives at random: nothing dangerous is without its place in the line."""
    for lived in lives(8)[: LIVES // 5]:
        found = judged(lived, KITCHEN, lived.end)
        assert any(one.deviates for one in phases(found)) is is_told(found)


def test_a_unit_is_named_only_while_food_is_held_in_it() -> None:
    for lived in lives(9)[: LIVES // 5]:
        for way in judged(lived, KITCHEN, lived.end).ways:
            ends = [one.ended for one in way.stays]
            assert all(end is not None for end in ends[:-1])
            assert all(one.began < (one.ended or at(lived.end + 1)) for one in way.stays)
            assert (ends[-1:] == [None]) is bool(way.place)
