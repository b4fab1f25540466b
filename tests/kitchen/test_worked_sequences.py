"""Twelve sequences worked by hand, typed as a cook would; the bounds are told in minutes.

The paragraphs are of the Food Code 2022. The kitchen and its foods are invented.
"""

from pathlib import Path

from tests.kitchen.typed import deviations, shown, the, type_in, undecided
from tests.kitchens import Kitchen

BEANS = """
06:00 batch beans --code beans --kind "plant food"
06:30 cook beans 199
07:00 cool beans 136
08:40 cool beans 70
11:00 cool beans 41
"""


def test_1_food_in_a_well_that_sank_and_its_cooling_afterwards(line: Kitchen) -> None:
    type_in(
        line,
        """
        09:00 batch stew --code stew --kind "plant food"
        09:30 cook stew 199
        10:00 hold stew 170 --in well-1
        11:00 hold well-1 100
        12:00 hold well-1 95
        13:00 hold well-1 90
        14:00 hold well-1 140
        """,
    )
    sank = the(line, "stew", "hot-holding", "not met")
    assert sank.citation == "3-501.16(A)(1)"
    assert (sank.shortest, sank.longest) == (120, 240)
    type_in(line, "14:10 cool stew 134", "15:55 cool stew 70", "19:55 cool stew 41")
    # from the 140 at 14:00, not from the 170 at 10:00
    assert the(line, "stew", "cooling-stage-1", "met").longest == 115
    assert the(line, "stew", "cooling-stage-2", "met").longest == 355
    assert "stew hot-holding not met" in undecided(line)


def test_2_food_in_a_walk_in_that_is_warm(line: Kitchen) -> None:
    type_in(
        line,
        BEANS,
        """
        11:10 hold beans 41 --in walk-in
        12:00 hold walk-in 60
        13:30 hold walk-in 62
        15:00 hold walk-in 61
        """,
    )
    warm = the(line, "beans", "cold-holding", "not met")
    assert warm.citation == "3-501.16(A)(2)"
    assert warm.shortest == 180


def test_3_hot_food_that_nobody_looks_at_for_a_night(line: Kitchen) -> None:
    type_in(
        line,
        """
        19:00 batch stew --code stew --kind "plant food"
        20:00 cook stew 199
        tue 09:00 cook stew 199
        """,
    )
    night = the(line, "stew", "hot-holding", "not shown")
    assert night.citation == "3-501.16(A)(1)"
    assert night.longest == 13 * 60


def test_4_cooled_food_prepared_all_day(line: Kitchen) -> None:
    type_in(line, BEANS, "11:10 prepare beans 60", "19:00 prepare beans 110")
    out = the(line, "beans", "time-out-longest", "not met")
    assert out.shortest == 7 * 60 + 50
    type_in(line, "19:00 discard beans 'stood out'")
    out = the(line, "beans", "time-out-longest", "not met")
    assert (out.shortest, out.longest) == (7 * 60 + 50, 8 * 60)


NIGHT = """
08:00 kitchen --open "mon-sun 08:00-22:00" --by AR
14:00 batch beans --code beans --kind "plant food"
14:30 cook beans 199
15:00 cool beans 136
16:40 cool beans 70
20:00 cool beans 40
20:30 hold walk-in 39
tue 08:00 hold beans 38
"""


def test_5_a_reheat_counts_from_the_last_look_at_the_cooler(line: Kitchen) -> None:
    type_in(
        line,
        NIGHT,
        """
        11:30 hold walk-in 39
        12:00 reheat beans 65
        13:00 reheat beans 165 --held 15
        """,
    )
    reheat = the(line, "beans", "reheat", "met")
    assert (reheat.shortest, reheat.longest) == (60, 90)
    assert not deviations(line, "beans")


def test_5_without_that_look_it_is_not_shown(line: Kitchen) -> None:
    type_in(line, NIGHT, "12:00 reheat beans 65", "13:00 reheat beans 165 --held 15")
    reheat = the(line, "beans", "reheat", "not shown")
    assert (reheat.shortest, reheat.longest) == (60, 300)


def test_5_a_first_reading_that_is_cold_is_that_evidence(line: Kitchen) -> None:
    type_in(line, NIGHT, "12:00 reheat beans 40", "13:00 reheat beans 165 --held 15")
    assert the(line, "beans", "reheat", "met").longest == 60


def test_6_the_cook_of_cooled_beans_is_a_reheat(line: Kitchen) -> None:
    type_in(line, BEANS, "tue 08:10 cook beans 60", "13:10 cook beans 140", "14:00")
    assert the(line, "beans", "reheat", "not met").citation.startswith("3-403.11")


def test_7_a_cooling_goes_on_in_what_is_made_of_it(line: Kitchen) -> None:
    type_in(
        line,
        """
        06:00 batch meat --code meat --kind "plant food"
        06:30 cook meat 190
        07:00 cool meat 136
        08:20 cool meat 110
        08:25 batch stew --code stew --from meat --yes
        17:25 hold stew 40 --in walk-in
        """,
    )
    stage = the(line, "stew", "cooling-stage-1", "not shown")
    assert stage.citation.startswith("3-501.14(A)")
    assert stage.longest is not None and stage.longest > 120


def test_8_raw_chicken_held_hot_and_served_was_never_shown_to_be_cooked(line: Kitchen) -> None:
    type_in(
        line,
        """
        08:00 receive chicken 38 --code chicken --kind poultry
        09:00 hold chicken 140 --in well-1 --yes
        10:00 used chicken
        """,
    )
    assert the(line, "chicken", "cook", "not shown").citation.startswith("3-401.11")


def test_9_a_batch_that_nobody_measured_is_open_and_then_not_shown(line: Kitchen) -> None:
    type_in(line, "08:00 batch salad --code salad --ambient", "11:59")
    assert not deviations(line, "salad")
    listed = line.says("status --json")
    assert "salad" in listed and "2026-10-26T12:00:00-06:00" in listed, "status says when"
    type_in(line, "12:01")
    assert deviations(line, "salad")
    assert any(one.startswith("salad ") and "not shown" in one for one in undecided(line))


def test_10_a_late_reheat_hides_no_failed_stage(line: Kitchen) -> None:
    type_in(
        line,
        """
        09:00 batch stew --code stew --kind "plant food"
        09:30 cook stew 199
        10:00 cool stew 135
        12:05 reheat stew 90
        """,
    )
    stage = the(line, "stew", "cooling-stage-1", "not met")
    assert stage.citation == "3-501.14(A)(1)"
    assert "3-501.14(A)(1)" in line.refuses('release stew "it was fine" --by AR')
    assert "stew cooling-stage-1 not met" in undecided(line)


def test_11_a_word_decides_nothing_and_what_is_made_of_it_carries_it(line: Kitchen) -> None:
    type_in(
        line,
        """
        09:00 batch stew --code stew --kind "plant food"
        09:30 cook stew 199
        11:30 cool stew 135
        13:40 cool stew 100
        13:41 action stew ok
        """,
    )
    line.at("2026-10-26T13:45-06:00")
    assert "NOT MET" in line.refuses("batch soup --code soup --from stew")
    line.says("batch soup --code soup --from stew --yes")
    assert "cooling-stage-1 not met" in deviations(line, "soup")
    assert "soup cooling-stage-1 not met" in undecided(line)
    assert "stew cooling-stage-1 not met" in undecided(line)


def test_12_time_is_no_control_of_food_in_an_open_cooling(line: Kitchen, tmp_path: Path) -> None:
    type_in(
        line,
        """
        09:00 batch rice --code rice --kind "plant food"
        09:30 cook rice 199
        10:00 cool rice 135
        11:50 cool rice 69
        11:55
        """,
    )
    line.refuses("time rice 69 --opened")
    file = tmp_path / "rice.csv"
    file.write_text(
        "batch,step,taken_at,temp,unit,method\n"
        "rice,cook,0,199,F,\nrice,cool,30,135,F,\nrice,cool,140,69,F,\n"
        "rice,time_control,145,69,F,opened\n"
    )
    answer = line.run(f"check {file} --json")
    assert answer.exit_code == 1
    assert '"time-control-opened"' in answer.output and '"not met"' in answer.output
    assert not any(one.limit.startswith("time-control") for one in shown(line, "rice"))
