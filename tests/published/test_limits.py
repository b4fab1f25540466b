"""Every number of every limit set that ships, against values typed by hand from its sources.

Where it says [M] nobody has read that number in a source, and where it says [practice] the Food
Code prints none: a set has to say the same. The sets' digests are pinned: a released file is not
edited, a correction is a new revision.
"""

import json
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any, NamedTuple

import pytest
from click.testing import CliRunner

from haccp import limits
from haccp.cli.main import cli
from haccp.limits import CountsFrom, Limit, Side

AT_LEAST, AT_MOST = Side.AT_OR_ABOVE, Side.AT_OR_BELOW
V, M, PRACTICE = "verified", "from memory", "common practice"


class Asked(NamedTuple):
    """What a limit asks. Rows: °F, °C, seconds; start: °F, °C; within: minutes, counted from."""

    side: Side
    rows: list[tuple[int | str, int | str, int]]
    citation: str
    start: tuple[int | str, int | str] | None = None
    within: tuple[int, CountsFrom] | None = None
    basis: str = V
    inclusive: bool = True
    printed: str | None = None


def one(f: int | str, c: int | str, seconds: int = 0) -> list[tuple[int | str, int | str, int]]:
    return [(f, c, seconds)]


def hours(number: float, clock: CountsFrom) -> tuple[int, CountsFrom]:
    return int(number * 60), clock


# 3-401.11(B), all 17 rows: Maine Food Code, 10-144 chapter 200, 3-4 (2013-based).
ROAST: list[tuple[int | str, int | str, int]] = [
    (130, "54.4", 112 * 60),
    (131, "55.0", 89 * 60),
    (133, "56.1", 56 * 60),
    (135, "57.2", 36 * 60),
    (136, "57.8", 28 * 60),
    (138, "58.9", 18 * 60),
    (140, "60.0", 12 * 60),
    (142, "61.1", 8 * 60),
    (144, "62.2", 5 * 60),
    (145, "62.8", 4 * 60),
    (147, "63.9", 134),
    (149, "65.0", 85),
    (151, "66.1", 54),
    (153, "67.2", 34),
    (155, "68.3", 22),
    (157, "69.4", 14),
    (158, "70.0", 0),
]
# 3-401.11(A)(2), the table beside 155 °F: 12VAC5-421-700 (Virginia, 2017-based); 17 s there, and
# 15 s in the same section's earlier, 2013-based text.
GROUND: list[tuple[int | str, int | str, int]]
GROUND = [(145, 63, 180), (150, 66, 60), (155, 68, 17), (158, 70, 0)]
GROUND_2013: list[tuple[int | str, int | str, int]]
GROUND_2013 = [(145, 63, 180), (150, 66, 60), (155, 68, 15), (158, 70, 0)]

Key = tuple[str, str]

FOOD_CODE_2022: dict[Key, Asked] = {
    # 12VAC5-421-340 (Virginia, 2017-based)
    ("receiving-cold", ""): Asked(AT_MOST, one(41, 5), "3-202.11(A)"),
    ("receiving-egg-air", ""): Asked(AT_MOST, one(45, 7), "3-202.11(C)"),
    ("receiving-hot", ""): Asked(AT_LEAST, one(135, 57), "3-202.11(D)"),
    # "frozen", without a number [practice]
    ("receiving-frozen", ""): Asked(AT_MOST, one(28, -2), "3-202.11(E)", basis=PRACTICE),
    ("frozen-holding", ""): Asked(AT_MOST, one(28, -2), "3-501.11", basis=PRACTICE),
    # 12VAC5-421-700 (Virginia, 2017-based)
    ("cook", ""): Asked(AT_LEAST, one(165, 74), "3-401.11(A)(3)"),
    ("cook", "poultry"): Asked(AT_LEAST, one(165, 74), "3-401.11(A)(3)"),
    ("cook", "stuffed food"): Asked(AT_LEAST, one(165, 74), "3-401.11(A)(3)"),
    ("cook", "wild game"): Asked(AT_LEAST, one(165, 74), "3-401.11(A)(3)"),
    ("cook", "ground meat"): Asked(AT_LEAST, GROUND, "3-401.11(A)(2)"),
    ("cook", "injected meat"): Asked(AT_LEAST, GROUND, "3-401.11(A)(2)"),
    ("cook", "ratite"): Asked(AT_LEAST, GROUND, "3-401.11(A)(2)"),
    ("cook", "pooled egg"): Asked(AT_LEAST, GROUND, "3-401.11(A)(2)"),
    ("cook", "intact meat"): Asked(AT_LEAST, one(145, 63, 15), "3-401.11(A)(1)"),
    ("cook", "fish"): Asked(AT_LEAST, one(145, 63, 15), "3-401.11(A)(1)"),
    ("cook", "egg"): Asked(AT_LEAST, one(145, 63, 15), "3-401.11(A)(1)"),
    ("cook", "game"): Asked(AT_LEAST, one(145, 63, 15), "3-401.11(A)(1)"),
    # Maine Food Code 3-401.11(B)
    ("cook", "whole roast"): Asked(AT_LEAST, ROAST, "3-401.11(B)"),
    ("oven", "still dry, under 10 lb"): Asked(AT_LEAST, one(350, 177), "3-401.11(B)"),
    ("oven", "still dry, 10 lb or more"): Asked(AT_LEAST, one(250, 121), "3-401.11(B)"),
    ("oven", "convection, under 10 lb"): Asked(AT_LEAST, one(325, 163), "3-401.11(B)"),
    ("oven", "convection, 10 lb or more"): Asked(AT_LEAST, one(250, 121), "3-401.11(B)"),
    ("oven", "high humidity"): Asked(AT_MOST, one(250, 121), "3-401.11(B)"),
    # 12VAC5-421-710 (Virginia): all parts 165 °F, then 2 minutes covered
    ("cook-microwave", ""): Asked(AT_LEAST, one(165, 74, 120), "3-401.12"),
    # [M]: the number is in a state's summary, its wording is not read
    ("cook", "plant food"): Asked(AT_LEAST, one(135, 57), "3-401.13", basis=M),
    # Delaware Food Code 3-401.14: no longer than 60 minutes, whatever the temperature
    ("initial-heating", ""): Asked(
        AT_LEAST, one(41, 5), "3-401.14(A)", within=hours(1, CountsFrom.HEATING)
    ),
    # Delaware Food Code 3-403.11 (2013-based)
    ("reheat", ""): Asked(
        AT_LEAST, one(165, 74, 15), "3-403.11(A), (D)", within=hours(2, CountsFrom.REHEATING)
    ),
    ("reheat-microwave", ""): Asked(
        AT_LEAST, one(165, 74, 120), "3-403.11(B), (D)", within=hours(2, CountsFrom.REHEATING)
    ),
    ("reheat", "commercial package"): Asked(
        AT_LEAST, one(135, 57), "3-403.11(C), (D)", within=hours(2, CountsFrom.REHEATING)
    ),
    # the table is read, that the two hours bind it too is [M]
    ("reheat", "whole roast"): Asked(
        AT_LEAST, ROAST, "3-403.11(E)", within=hours(2, CountsFrom.REHEATING), basis=M
    ),
    # Delaware Food Code 3-501.14; Minnesota 4626.0385
    ("cooling-stage-1", ""): Asked(
        AT_MOST, one(70, 21), "3-501.14(A)(1)", start=(135, 57), within=hours(2, CountsFrom.START)
    ),
    ("cooling-stage-2", ""): Asked(
        AT_MOST, one(41, 5), "3-501.14(A)(2)", start=(135, 57), within=hours(6, CountsFrom.START)
    ),
    ("cooling-ambient", ""): Asked(
        AT_MOST, one(41, 5), "3-501.14(B)", within=hours(4, CountsFrom.PREPARATION)
    ),
    ("cooling-received", ""): Asked(
        AT_MOST, one(41, 5), "3-501.14(C)", within=hours(4, CountsFrom.RECEIVING)
    ),
    # Delaware Food Code 3-501.16
    ("hot-holding", ""): Asked(AT_LEAST, one(135, 57), "3-501.16(A)(1)"),
    ("hot-holding", "whole roast"): Asked(AT_LEAST, one(130, 54), "3-501.16(A)(1)"),
    ("cold-holding", ""): Asked(AT_MOST, one(41, 5), "3-501.16(A)(2)"),
    ("egg-holding", ""): Asked(AT_MOST, one(45, 7), "3-501.16(B)"),
    # Minnesota 4626.0400; Wisconsin ATCP 75 3-501.17
    ("date-mark", ""): Asked(
        AT_MOST, one(41, 5), "3-501.17(A)", within=hours(7 * 24, CountsFrom.PREPARATION_DAY)
    ),
    # 2VAC5-585-850 (Virginia, 2022-based)
    ("time-control-hot", ""): Asked(
        AT_LEAST, one(135, 57), "3-501.19(B)", within=hours(4, CountsFrom.REMOVAL)
    ),
    ("time-control-cold", ""): Asked(
        AT_MOST, one(41, 5), "3-501.19(B)", within=hours(4, CountsFrom.REMOVAL)
    ),
    ("time-control-opened", ""): Asked(
        AT_MOST, one(70, 21), "3-501.19(B)(2)", start=(70, 21), within=hours(4, CountsFrom.REMOVAL)
    ),
    # Minnesota 4626.0408
    ("time-control-6h", ""): Asked(
        AT_MOST, one(70, 21), "3-501.19(C)", start=(41, 5), within=hours(6, CountsFrom.REMOVAL)
    ),
    # California Health and Safety Code 114159; District of Columbia 25-A1511
    ("thermometer-accuracy", ""): Asked(AT_MOST, one(2, 1), "4-203.11"),
    ("air-thermometer-accuracy", ""): Asked(AT_MOST, one(3, "1.5"), "4-203.12"),
}

REVISION_1: tuple[Key, ...] = (
    ("cooling-stage-1", ""),
    ("cooling-stage-2", ""),
    ("cooling-ambient", ""),
    ("hot-holding", ""),
    ("hot-holding", "whole roast"),
    ("cold-holding", ""),
    ("reheat", ""),
    ("cook", ""),
    ("cook", "poultry"),
    ("cook", "ground meat"),
    ("cook", "intact meat"),
    ("cook", "fish"),
    ("cook", "whole roast"),
    ("cook", "plant food"),
    ("date-mark", ""),
    ("thermometer-accuracy", ""),
)

# 12VAC5-421-700 (Virginia) in its 2013-based text; Delaware Food Code 3-501.19 (2013-based), which
# has no case of opened food: FDA's list of changes names it as new in 2022.
FOOD_CODE_2013: dict[Key, Asked] = {
    ("cook", ""): Asked(AT_LEAST, one(165, 74, 15), "3-401.11(A)(3)"),
    ("cook", "poultry"): Asked(AT_LEAST, one(165, 74, 15), "3-401.11(A)(3)"),
    ("cook", "stuffed food"): Asked(AT_LEAST, one(165, 74, 15), "3-401.11(A)(3)"),
    ("cook", "wild game"): Asked(AT_LEAST, one(165, 74, 15), "3-401.11(A)(3)"),
    ("cook", "ground meat"): Asked(AT_LEAST, GROUND_2013, "3-401.11(A)(2)"),
    ("cook", "injected meat"): Asked(AT_LEAST, GROUND_2013, "3-401.11(A)(2)"),
    ("cook", "ratite"): Asked(AT_LEAST, GROUND_2013, "3-401.11(A)(2)"),
    ("cook", "pooled egg"): Asked(AT_LEAST, GROUND_2013, "3-401.11(A)(2)"),
    ("time-control-opened", ""): Asked(
        AT_MOST, one(41, 5), "3-501.19(B)", within=hours(4, CountsFrom.REMOVAL)
    ),
}

# 10 NYCRR 14-1.40: hot 140 °F (60 °C), cold 45 °F (7.2 °C), cooling 120 °F to 70 °F in 2 h, then
# 45 °F within 4 additional h. 14-1.83: 165 °F within 2 h, commercial packages 140 °F within 2 h.
# Where it gives °F alone, °C is worked out: 48.89, 21.11 and 73.89 °C, to the stricter tenth.
NY_40, NY_83 = "10 NYCRR 14-1.40", "10 NYCRR 14-1.83"
NEW_YORK: dict[Key, Asked] = {
    ("cooling-stage-1", ""): Asked(
        AT_MOST,
        one(70, "21.1"),
        NY_40,
        start=(120, "48.9"),
        within=hours(2, CountsFrom.START),
        printed="F",
    ),
    ("cooling-stage-2", ""): Asked(
        AT_MOST, one(45, "7.2"), NY_40, within=hours(4, CountsFrom.PREVIOUS_STAGE)
    ),
    ("hot-holding", ""): Asked(AT_LEAST, one(140, 60), NY_40),
    ("cold-holding", ""): Asked(AT_MOST, one(45, "7.2"), NY_40),
    ("reheat", ""): Asked(
        AT_LEAST, one(165, "73.9"), NY_83, within=hours(2, CountsFrom.REHEATING), printed="F"
    ),
    ("reheat", "commercial package"): Asked(
        AT_LEAST, one(140, 60), NY_83, within=hours(2, CountsFrom.REHEATING), printed="F"
    ),
    # [M]: the stricter reading, that the general number has no exception
    ("hot-holding", "whole roast"): Asked(AT_LEAST, one(140, 60), NY_40, basis=M),
    ("reheat", "whole roast"): Asked(
        AT_LEAST,
        one(165, "73.9"),
        NY_83,
        within=hours(2, CountsFrom.REHEATING),
        basis=M,
        printed="F",
    ),
    ("receiving-hot", ""): Asked(AT_LEAST, one(140, 60), NY_40, basis=M),
    ("time-control-hot", ""): Asked(
        AT_LEAST, one(140, 60), NY_40, within=hours(4, CountsFrom.REMOVAL), basis=M
    ),
}

# COMAR 10.15.03.11: 135 °F to 70 °F in 2 h, then 41 °F within an additional 4 h.
MARYLAND: dict[Key, Asked] = {
    ("cooling-stage-2", ""): Asked(
        AT_MOST,
        one(41, 5),
        "COMAR 10.15.03.11",
        within=hours(4, CountsFrom.PREVIOUS_STAGE),
        printed="F",
    ),
}

# Minnesota 4626.0408: "less than 41 °F or greater than 135 °F"; 57.22 °C to the stricter tenth.
MINNESOTA: dict[Key, Asked] = {
    ("time-control-hot", ""): Asked(
        AT_LEAST,
        one(135, "57.3"),
        "Minn. R. 4626.0408",
        within=hours(4, CountsFrom.REMOVAL),
        inclusive=False,
        printed="F",
    ),
    ("time-control-cold", ""): Asked(
        AT_MOST,
        one(41, 5),
        "Minn. R. 4626.0408",
        within=hours(4, CountsFrom.REMOVAL),
        inclusive=False,
        printed="F",
    ),
}


def celsius(
    side: Side,
    c: int,
    f: int | str,
    within: tuple[int, CountsFrom] | None = None,
    start: tuple[int | str, int | str] | None = None,
    basis: str = V,
) -> Asked:
    timed = within is not None and within[1] is CountsFrom.REMOVAL
    cited = "Standard 3.2.2, 2 h/4 h" if timed else "Standard 3.2.2"
    return Asked(side, one(f, c), cited, start=start, within=within, basis=basis, printed="C")


# Standard 3.2.2, by Logan and Somerset councils (Queensland) and the state of Victoria: 5 °C or
# below, 60 °C or above; cool 60 °C to 21 °C in 2 h, then to 5 °C in a further 4 h; reheat to 60 °C
# within 2 h; a probe to 1 °C. The 2-hour/4-hour rule: text by Food Standards Australia New Zealand
# in a copy, and Somerset. The exact equivalents: 60 °C = 140 °F, 21 °C = 69.8 °F, 5 °C = 41 °F.
AUSTRALIA: dict[Key, Asked] = {
    ("cooling-stage-1", ""): celsius(
        AT_MOST, 21, "69.8", hours(2, CountsFrom.START), start=(140, 60)
    ),
    ("cooling-stage-2", ""): celsius(AT_MOST, 5, 41, hours(4, CountsFrom.PREVIOUS_STAGE)),
    ("hot-holding", ""): celsius(AT_LEAST, 60, 140),
    ("cold-holding", ""): celsius(AT_MOST, 5, 41),
    ("reheat", ""): celsius(AT_LEAST, 60, 140, hours(2, CountsFrom.REHEATING)),
    ("thermometer-accuracy", ""): celsius(AT_MOST, 1, "1.8"),
    ("time-control-hot", ""): celsius(AT_LEAST, 60, 140, hours(4, CountsFrom.REMOVAL)),
    ("time-control-cold", ""): celsius(AT_MOST, 5, 41, hours(4, CountsFrom.REMOVAL)),
    # [M]: the stricter reading, that the general number has no exception and binds a delivery
    ("hot-holding", "whole roast"): celsius(AT_LEAST, 60, 140, basis=M),
    ("reheat", "commercial package"): celsius(
        AT_LEAST, 60, 140, hours(2, CountsFrom.REHEATING), basis=M
    ),
    ("reheat", "whole roast"): celsius(AT_LEAST, 60, 140, hours(2, CountsFrom.REHEATING), basis=M),
    ("receiving-cold", ""): celsius(AT_MOST, 5, 41, basis=M),
    ("receiving-hot", ""): celsius(AT_LEAST, 60, 140, basis=M),
    ("time-control-6h", ""): celsius(AT_MOST, 5, 41, hours(4, CountsFrom.REMOVAL), basis=M),
    ("time-control-opened", ""): celsius(AT_MOST, 5, 41, hours(4, CountsFrom.REMOVAL), basis=M),
}

SETS: dict[str, dict[Key, Asked]] = {
    "food-code-2022.1": {key: FOOD_CODE_2022[key] for key in REVISION_1},
    "food-code-2022.2": FOOD_CODE_2022,
    "food-code-2013.1": FOOD_CODE_2022 | FOOD_CODE_2013,
    "new-york-14-1.1": FOOD_CODE_2022 | NEW_YORK,
    "maryland-10-15-03.1": FOOD_CODE_2022 | MARYLAND,
    "minnesota-4626.1": FOOD_CODE_2022 | MINNESOTA,
    "australia-3-2-2.1": FOOD_CODE_2022 | AUSTRALIA,
}
DIGESTS = {
    "australia-3-2-2.1": "5c81c05946cceb31305bc2ea185a6ddb6958066de42d04fdd7e7d8021d915258",
    "food-code-2013.1": "2af05a46f71d4d881a7f58f2c70794f03ee4c368d3446316a6188aa431dc5f49",
    "food-code-2022.1": "7b90ea265bf17e4f739359308e45596ffad5ffb93aa8a6c8c252f609b2cc2977",
    "food-code-2022.2": "05d7ac0d9c9c5a70bc01ff5dc94388cbf4065a337034fbbe1ae222585e19ee26",
    "maryland-10-15-03.1": "1b474db1bef2c6da4617d4ae0372d6fd9aba411d3f4a513e2ac7d1b08964d07a",
    "minnesota-4626.1": "14a8ae775c401046a34415fdc07388cc3f19d461b73101e137af052493cc9a4a",
    "new-york-14-1.1": "d4b9fa83997ccd27ba47b2d566006250e65c908c5a82562cbb83c484ed742014",
}
EVERY = [(name, key) for name, asked in SETS.items() for key in asked]


def found(name: str, key: Key) -> Limit:
    (limit,) = (one for one in limits.shipped(name).limits if (one.name, one.kind) == key)
    return limit


def test_every_set_and_limit_that_ships_is_compared_here() -> None:
    shipped = {f"{name}.{n}" for name, known in limits.revisions().items() for n in known}
    assert shipped == set(SETS) == set(DIGESTS)
    for name, asked in SETS.items():
        assert {(limit.name, limit.kind) for limit in limits.shipped(name).limits} == set(asked)


@pytest.mark.parametrize(("name", "key"), EVERY)
def test_a_shipped_limit_asks_what_its_source_prints(name: str, key: Key) -> None:
    limit, asked = found(name, key), SETS[name][key]
    rows = [(row.level.f, row.level.c, int(row.hold.total_seconds())) for row in limit.rows]
    assert rows == [(Decimal(f), Decimal(c), seconds) for f, c, seconds in asked.rows]
    assert (limit.side, limit.inclusive) == (asked.side, asked.inclusive)
    start = (limit.start.f, limit.start.c) if limit.start else None
    assert start == (asked.start and tuple(map(Decimal, asked.start)))
    within = (limit.within, limit.clock)
    minutes, clock = asked.within or (None, None)
    assert within == (None if minutes is None else timedelta(minutes=minutes), clock)
    assert (limit.citation, limit.basis, limit.printed) == (
        asked.citation,
        asked.basis,
        asked.printed,
    )
    assert limit.source
    assert limit.text


@pytest.mark.parametrize("name", SETS)
def test_a_released_set_has_not_changed(name: str) -> None:
    """A released file is not edited; a correction raises the revision, with a digest of its own."""
    assert limits.shipped(name).digest == DIGESTS[name]
    set_id, _, revision = name.partition(".")
    assert (limits.shipped(name).id, limits.shipped(name).revision) == (set_id, int(revision))


def test_a_bare_name_is_the_newest_revision() -> None:
    assert (
        limits.shipped() == limits.shipped("food-code-2022") == limits.shipped("food-code-2022.2")
    )
    for known in limits.revisions().values():
        assert all(newer > older for newer, older in pairwise(known))


@pytest.mark.parametrize("name", ["new-york-14-1.1", "australia-3-2-2.1"])
def test_no_exception_of_the_food_code_is_left_below_a_local_code_s_number(name: str) -> None:
    """A code that asks 140 °F of hot food must not leave the Food Code's 130 °F of roasts in."""
    hot = found(name, ("hot-holding", "")).level
    assert hot.f == 140
    names = ("hot-holding", "reheat", "reheat-microwave", "receiving-hot", "time-control-hot")
    for limit in limits.shipped(name).limits:
        if limit.name in names:
            assert limit.level.f >= hot.f, (limit.name, limit.kind)
            assert limit.level.c >= hot.c, (limit.name, limit.kind)


@pytest.mark.parametrize(("name", "key"), EVERY)
def test_a_limit_says_in_words_which_of_its_numbers_is_an_equivalent(name: str, key: Key) -> None:
    limit = found(name, key)
    assert ("equivalent" in limit.text or "difference" in limit.text) is bool(limit.printed)


# Each local code where its verdict parts from the Food Code's. The readings are invented.


def check(set_name: str, *rows: str) -> dict[str, str]:
    """Judge readings (step, minute, temperature, unit) and give the verdict of each limit."""
    lines = ["batch,step,taken_at,temp,unit,held_s,food", *(f"b,{row}" for row in rows)]
    ran = CliRunner().invoke(
        cli, ["check", "-", "--set", set_name, "--json"], input="\n".join(lines)
    )
    assert ran.exit_code in (0, 1), ran.output
    answer: dict[str, Any] = json.loads(ran.stdout)
    assert answer["limits"]["id"] == set_name
    assert answer["rejected"] == []
    return {one["limit"]: one["verdict"] for one in answer["batches"][0]["findings"]}


STAGES = ("cooling-stage-1", "cooling-stage-2")


def cooled(set_name: str, *readings: tuple[int, str], unit: str = "F") -> list[str]:
    rows = [f"cool,{minute},{temp},{unit},," for minute, temp in readings]
    verdicts = check(set_name, *rows)
    return [verdicts[stage] for stage in STAGES]


def test_new_york_counts_from_120_and_grants_four_more_hours_to_45() -> None:
    """10 NYCRR 14-1.40."""
    slow = ((0, "135"), (60, "120"), (179, "71"), (180, "70"), (419, "45"))
    assert cooled("new-york-14-1", *slow) == ["met", "met"]
    # by the Food Code's start stage 1 took 3 h, and 45 °F after 7 h is not 41 °F after 6 h
    assert cooled("food-code-2022", *slow) == ["not met", "not met"]
    late = ((0, "120"), (120, "70"), (359, "45.1"), (361, "45"))
    assert cooled("new-york-14-1", *late) == ["met", "not shown"]
    assert cooled("new-york-14-1", (0, "120"), (120, "70"), (360, "45.1")) == ["met", "not met"]
    assert cooled("new-york-14-1", (0, "120"), (120, "70.1"), (360, "45"))[0] == "not met"


def test_new_york_holds_hot_at_140_and_cold_at_45() -> None:
    """10 NYCRR 14-1.40; that roasts are no exception is the stricter reading."""
    for temp, expected in (("140", "met"), ("139.9", "not met"), ("135", "not met")):
        assert check("new-york-14-1", f"hot_hold,0,{temp},F,,")["hot-holding"] == expected
    roast = ("cook,0,158,F,,whole roast", "hot_hold,60,135,F,,whole roast")
    assert check("new-york-14-1", *roast)["hot-holding"] == "not met"
    assert check("food-code-2022", *roast)["hot-holding"] == "met"
    for temp, unit, expected in (
        ("45", "F", "met"),
        ("45.1", "F", "not met"),
        ("7.2", "C", "met"),
        ("7.3", "C", "not met"),
    ):
        assert check("new-york-14-1", f"cold_hold,0,{temp},{unit},,")["cold-holding"] == expected


def test_new_york_reheats_to_165_or_packages_to_140_within_two_hours() -> None:
    """10 NYCRR 14-1.83."""
    for food, temp, expected in (
        ("", "165", "met"),
        ("", "164.9", "not met"),
        ("commercial package", "140", "met"),
        ("commercial package", "139.9", "not met"),
    ):
        rows = (f"reheat,0,45,F,,{food}", f"reheat,120,{temp},F,,{food}")
        assert check("new-york-14-1", *rows)["reheat"] == expected, (food, temp)


def test_maryland_counts_the_second_stage_from_the_first() -> None:
    """COMAR 10.15.03.11: at 70 °F after 30 min, the 4 h end at 4 h 30, not at 6 h."""
    quick_then_slow = ((0, "135"), (30, "70"), (279, "42"), (280, "41"))
    assert cooled("maryland-10-15-03", *quick_then_slow) == ["met", "not met"]
    assert cooled("food-code-2022", *quick_then_slow) == ["met", "met"]
    assert cooled("maryland-10-15-03", (0, "135"), (30, "70"), (240, "41")) == ["met", "met"]


def test_minnesota_lets_no_food_leave_at_the_number_itself() -> None:
    """Minnesota 4626.0408: less than 41 °F or greater than 135 °F.

    A file has no end of a batch, so food that left as it should is not shown; the other is not met.
    """
    for temp, minnesota, food_code in (
        ("135", "not met", "not shown"),
        ("135.1", "not shown", "not shown"),
        ("41", "not met", "not shown"),
        ("40.9", "not shown", "not shown"),
    ):
        row = f"time_control,0,{temp},F,,"
        name = "time-control-hot" if temp.startswith("13") else "time-control-cold"
        assert check("minnesota-4626", row)[name] == minnesota, temp
        assert check("food-code-2022", row)[name] == food_code, temp


def test_australia_is_judged_in_celsius_from_60_to_21_to_5() -> None:
    """Standard 3.2.2: 60 °C to 21 °C in 2 h, to 5 °C in a further 4 h."""
    by_the_book = ((0, "60"), (119, "21.5"), (120, "21"), (359, "5"))
    assert cooled("australia-3-2-2", *by_the_book, unit="C") == ["met", "met"]
    warm = ((0, "60"), (120, "21.1"), (360, "5"))
    assert cooled("australia-3-2-2", *warm, unit="C")[0] == "not met"
    # the equivalents, exactly: 140, 69.8 and 41 °F
    in_f = ((0, "140"), (119, "70"), (120, "69.8"), (359, "41"))
    assert cooled("australia-3-2-2", *in_f) == ["met", "met"]
    assert cooled("australia-3-2-2", (0, "140"), (120, "69.9"), (360, "41"))[0] == "not met"
    # the Food Code prints 70 °F beside 21 °C
    assert cooled("food-code-2022", (0, "140"), (120, "69.9"), (360, "41")) == ["met", "met"]


def test_australia_holds_hot_at_60_and_reheats_to_60() -> None:
    """Standard 3.2.2: 60 °C or above, 5 °C or below; reheat to 60 °C within 2 hours."""
    for temp, expected in (("60", "met"), ("59.9", "not met"), ("57", "not met")):
        assert check("australia-3-2-2", f"hot_hold,0,{temp},C,,")["hot-holding"] == expected
        reheated = ("reheat,0,5,C,,", f"reheat,120,{temp},C,,")
        assert check("australia-3-2-2", *reheated)["reheat"] == expected
    assert check("australia-3-2-2", "hot_hold,0,139.9,F,,")["hot-holding"] == "not met"


def test_the_older_edition_asks_15_seconds_of_poultry_and_of_ground_meat() -> None:
    """12VAC5-421-700 (Virginia) in its 2013-based text."""
    for food, temp in (("poultry", "165"), ("ground meat", "155")):
        for held, expected in (("15", "met"), ("14", "not shown")):
            row = f"cook,0,{temp},F,{held},{food}"
            assert check("food-code-2013", row)["cook"] == expected, (food, held)
    assert check("food-code-2022", "cook,0,165,F,,poultry")["cook"] == "met"
    assert check("food-code-2022", "cook,0,155,F,15,ground meat")["cook"] == "not shown"
