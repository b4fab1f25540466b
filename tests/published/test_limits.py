"""Every number of every limit set that ships, against values typed by hand from its sources.

Where it says [M] nobody has read that number in a source, and where it says [practice] the Food
Code prints none: a set has to say the same. What a local set does not name is the Food Code's, and
has to say that it stands in. The sets' digests are pinned: a released file is not edited, a
correction is a new revision.
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
V, M, PRACTICE, STANDS_IN = "verified", "from memory", "common practice", "not read"


class Asked(NamedTuple):
    """What a limit asks. Rows: °F, °C, seconds; start: °F, °C; within: minutes, counted from.

    A limit without rows has no temperature. `stand` is for how many seconds food stands covered.
    """

    side: Side
    rows: list[tuple[int | str, int | str, int]]
    citation: str
    start: tuple[int | str, int | str] | None = None
    within: tuple[int, CountsFrom] | None = None
    basis: str = V
    inclusive: bool = True
    printed: str | None = None
    stand: int = 0


NO_TEMPERATURE: list[tuple[int | str, int | str, int]] = []


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
    ("cook-microwave", ""): Asked(AT_LEAST, one(165, 74), "3-401.12", stand=120),
    # "Fruits and vegetables ... shall be cooked to a temperature of 57oC (135oF)": 2013 text, as
    # quoted in issue III-020 of the Conference for Food Protection, 2016; California 114010
    ("cook", "plant food"): Asked(AT_LEAST, one(135, 57), "3-401.13"),
    # Delaware Food Code 3-401.14; 2VAC5-585-725: no longer than 60 minutes, and no temperature
    ("initial-heating", ""): Asked(
        AT_MOST, NO_TEMPERATURE, "3-401.14(A)", within=hours(1, CountsFrom.HEATING)
    ),
    # 2VAC5-585-726 (Virginia, 2025): by the package's instructions, no number
    ("cook-by-instructions", ""): Asked(AT_MOST, NO_TEMPERATURE, "3-401.15"),
    # 1 NYCRR 271-2.13(a); S.C. 61-25 3-403: "may be served at any temperature"
    ("reheat-for-order", ""): Asked(AT_MOST, NO_TEMPERATURE, "3-403.10"),
    # Delaware Food Code 3-403.11 (2013-based); Minnesota 4626.0360
    ("reheat", ""): Asked(
        AT_LEAST, one(165, 74, 15), "3-403.11(A), (D)", within=hours(2, CountsFrom.REHEATING)
    ),
    ("reheat-microwave", ""): Asked(
        AT_LEAST,
        one(165, 74),
        "3-403.11(B), (D)",
        within=hours(2, CountsFrom.REHEATING),
        stand=120,
    ),
    ("reheat", "commercial package"): Asked(
        AT_LEAST, one(135, 57), "3-403.11(C), (D)", within=hours(2, CountsFrom.REHEATING)
    ),
    # the table is read; (D) sets the two hours for (A) to (C), so that here they are [practice]
    ("reheat", "whole roast"): Asked(
        AT_LEAST, ROAST, "3-403.11(E)", within=hours(2, CountsFrom.REHEATING), basis=PRACTICE
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
    # Delaware Food Code 3-501.16; WAC 246-215-03525
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
    # WAC 246-215-03525(1): "active preparation for up to two hours"; California 113998
    ("time-out-allowed", ""): Asked(
        AT_MOST, NO_TEMPERATURE, "3-501.16(A)", within=hours(2, CountsFrom.LAST_PROPER)
    ),
    # the common reading [practice]; 3-501.13(B)(4) prints 4 hours for thawing and preparation
    ("time-out-longest", ""): Asked(
        AT_MOST,
        NO_TEMPERATURE,
        "3-501.16(A)",
        within=hours(4, CountsFrom.LAST_PROPER),
        basis=PRACTICE,
    ),
}

# 12VAC5-421-700 (Virginia) in its 2013-based text; Delaware Food Code 3-501.19 (2013-based), which
# has no case of opened food: FDA's list of changes names it as new in 2022; 3-401.15 came later, too.
# That 12VAC5-421-340, which was read in its 2017-based text, is as in 2013 is [M].
FOOD_CODE_2013: dict[Key, Asked] = {
    **{key: asked for key, asked in FOOD_CODE_2022.items() if key != ("cook-by-instructions", "")},
    ("receiving-cold", ""): Asked(AT_MOST, one(41, 5), "3-202.11(A)", basis=M),
    ("receiving-egg-air", ""): Asked(AT_MOST, one(45, 7), "3-202.11(C)", basis=M),
    ("receiving-hot", ""): Asked(AT_LEAST, one(135, 57), "3-202.11(D)", basis=M),
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

Rows = list[tuple[int | str, int | str, int]]
TWO_HOURS = hours(2, CountsFrom.REMOVAL)
# (name, kind) -> rows, citation, of cooking alone
Cooking = dict[str, tuple[Rows, str]]


def cooking(by_kind: Cooking, **differing: str) -> dict[Key, Asked]:
    """Cooking by kind of food; `differing` gives the basis of single kinds, `_` for a space."""
    basis = {kind.replace("_", " "): given for kind, given in differing.items()}
    return {
        ("cook", kind): Asked(AT_LEAST, rows, cited, basis=basis.get(kind, V))
        for kind, (rows, cited) in by_kind.items()
    }


# 10 NYCRR 14-1.40(a): 45 °F (7.2 °C) or below, 140 °F (60 °C) or above "at all times, except during
# necessary times of preparation or during a limited period of time, while being held for service,
# which may not exceed two hours"; eggs in air of 45 °F (7.2 °C). (b): 120 °F (48.9 °C) to 70 °F
# (21.1 °C) in 2 h, 45 °F (7.2 °C) in 4 additional h. 14-1.82: 140 °F (60 °C), except (a) poultry and
# stuffed food 165 °F (73.9 °C) "with no interruption of the cooking process", (b) pork 150 °F
# (65.6 °C), (c) rare roast beef 130 °F (54.4 °C), (d) eggs 145 °F (62.8 °C), (e) ground meat 158 °F
# (69.4 °C). 14-1.83: (a) 165 °F (73.9 °C) in 2 h, (b) packages for the first time 140 °F (60 °C) in
# 2 h. 14-1.31(b): more than two hours between 45 and 140 °F. Thermometers ±2 °F (1.1 °C): 14-1.44,
# .45, .85. All in a public copy, which prints both degrees.
NY_A, NY_EGG, NY_B = "10 NYCRR 14-1.40(a)", "10 NYCRR 14-1.40(a), (c)", "10 NYCRR 14-1.40(b)"
NY_82, NY_83, NY_OUT = "10 NYCRR 14-1.82", "10 NYCRR 14-1.83", "10 NYCRR 14-1.31(b), 14-1.40(a)"
NEW_YORK: dict[Key, Asked] = {
    ("cooling-stage-1", ""): Asked(
        AT_MOST, one(70, "21.1"), NY_B, start=(120, "48.9"), within=hours(2, CountsFrom.START)
    ),
    ("cooling-stage-2", ""): Asked(
        AT_MOST, one(45, "7.2"), NY_B, within=hours(4, CountsFrom.PREVIOUS_STAGE)
    ),
    ("hot-holding", ""): Asked(AT_LEAST, one(140, 60), NY_A),
    ("hot-holding", "whole roast"): Asked(AT_LEAST, one(140, 60), NY_A),
    ("cold-holding", ""): Asked(AT_MOST, one(45, "7.2"), NY_A),
    ("egg-holding", ""): Asked(AT_MOST, one(45, "7.2"), NY_EGG),
    ("receiving-cold", ""): Asked(AT_MOST, one(45, "7.2"), NY_A),
    ("receiving-hot", ""): Asked(AT_LEAST, one(140, 60), NY_A),
    ("receiving-egg-air", ""): Asked(AT_MOST, one(45, "7.2"), NY_EGG),
    **cooking(
        {
            "": (one(165, "73.9"), f"{NY_82}(a)"),
            "poultry": (one(165, "73.9"), f"{NY_82}(a)"),
            "stuffed food": (one(165, "73.9"), f"{NY_82}(a)"),
            "ground meat": (one(158, "69.4"), f"{NY_82}(e)"),
            "pork": (one(150, "65.6"), f"{NY_82}(b)"),
            # these kinds may be pork
            "intact meat": (one(150, "65.6"), f"{NY_82}(b)"),
            "injected meat": (one(150, "65.6"), f"{NY_82}(b)"),
            "whole roast": (one(150, "65.6"), f"{NY_82}(b)"),
            "meat without pork": (one(140, 60), NY_82),
            "rare roast beef": (one(130, "54.4"), f"{NY_82}(c)"),
            "fish": (one(140, 60), NY_82),
            "game": (one(140, 60), NY_82),
            "plant food": (one(140, 60), NY_82),
            "egg": (one(145, "62.8"), f"{NY_82}(d)"),
            "pooled egg": (one(145, "62.8"), f"{NY_82}(d)"),
            # [M]: that they are poultry there
            "wild game": (one(165, "73.9"), f"{NY_82}(a)"),
            "ratite": (one(165, "73.9"), f"{NY_82}(a)"),
        },
        wild_game=M,
        ratite=M,
    ),
    **{
        ("initial-heating", kind): Asked(
            AT_MOST,
            NO_TEMPERATURE,
            f"{NY_82}(a)",
            within=hours(0, CountsFrom.HEATING),
            inclusive=False,
        )
        for kind in ("poultry", "stuffed food")
    },
    **{
        (name, kind): Asked(
            AT_LEAST, one(165, "73.9"), f"{NY_83}(a)", within=hours(2, CountsFrom.REHEATING)
        )
        for name, kind in (("reheat", ""), ("reheat", "whole roast"), ("reheat-microwave", ""))
    },
    ("reheat", "commercial package"): Asked(
        AT_LEAST, one(140, 60), f"{NY_83}(b)", within=hours(2, CountsFrom.REHEATING)
    ),
    ("time-control-hot", ""): Asked(AT_LEAST, one(140, 60), NY_A, within=TWO_HOURS),
    ("time-control-cold", ""): Asked(AT_MOST, one(45, "7.2"), NY_A, within=TWO_HOURS),
    ("time-control-6h", ""): Asked(AT_MOST, one(45, "7.2"), NY_A, within=TWO_HOURS),
    ("time-control-opened", ""): Asked(AT_MOST, one(45, "7.2"), NY_A, within=TWO_HOURS),
    **{
        (name, ""): Asked(AT_MOST, NO_TEMPERATURE, NY_OUT, within=hours(2, CountsFrom.LAST_PROPER))
        for name in ("time-out-allowed", "time-out-longest")
    },
    ("thermometer-accuracy", ""): Asked(AT_MOST, one(2, "1.1"), "10 NYCRR 14-1.85"),
    ("air-thermometer-accuracy", ""): Asked(AT_MOST, one(2, "1.1"), "10 NYCRR 14-1.44, 14-1.45"),
}

# COMAR 10.15.03.10A, chart 1, both degrees: 145 (63) 15 s; 155 (68) 15 s with 145 (63) 3 min, 150 (66)
# 1 min, 158 (70) < 1 s for comminuted and injected meat, ratites and farmed game; 165 (74) 15 s;
# microwave 165 (74), 2 minutes after; plant food 135 (57); roasts without 149, 153 and 157 °F; ovens
# 350, 325 and 250 °F, in °F alone. .11, in °F alone: 135 °F to 70 °F in 2 h, then 41 °F within an
# additional 4 h; 41 °F in 4 h for cold service; reheated to 165 °F 15 s, packages to 135 °F, in 2 h.
# .09C: pooled eggs 155 °F 15 s. .09A(2), .06B(1): ±2 °F. Worked out, to the stricter side: 135 °F =
# 57.22, 70 °F = 21.11, 155 °F = 68.33, 350 °F = 176.67, 325 °F = 162.78, 250 °F = 121.11 °C; 2 °F is
# a difference of 1.11 °C.
MD_10, MD_11 = "COMAR 10.15.03.10 A", "COMAR 10.15.03.11"
ROAST_MARYLAND = [row for row in ROAST if row[0] not in (149, 153, 157)]
MARYLAND: dict[Key, Asked] = {
    **cooking(
        {
            **dict.fromkeys(
                ("", "poultry", "stuffed food", "wild game"), (one(165, 74, 15), MD_10)
            ),
            **dict.fromkeys(
                ("ground meat", "injected meat", "ratite", "game"), (GROUND_2013, MD_10)
            ),
            **dict.fromkeys(("intact meat", "fish", "egg"), (one(145, 63, 15), MD_10)),
            "whole roast": (ROAST_MARYLAND, MD_10),
            "plant food": (one(135, 57), MD_10),
        }
    ),
    ("cook", "pooled egg"): Asked(
        AT_LEAST, one(155, "68.4", 15), "COMAR 10.15.03.09 C", printed="F"
    ),
    ("cook-microwave", ""): Asked(AT_LEAST, one(165, 74), MD_10, stand=120),
    ("oven", "still dry, under 10 lb"): Asked(AT_LEAST, one(350, "176.7"), MD_10, printed="F"),
    ("oven", "still dry, 10 lb or more"): Asked(AT_LEAST, one(250, "121.2"), MD_10, printed="F"),
    ("oven", "convection, under 10 lb"): Asked(AT_LEAST, one(325, "162.8"), MD_10, printed="F"),
    ("oven", "convection, 10 lb or more"): Asked(AT_LEAST, one(250, "121.2"), MD_10, printed="F"),
    ("oven", "high humidity"): Asked(AT_MOST, one(250, "121.1"), MD_10, printed="F"),
    ("reheat", ""): Asked(
        AT_LEAST,
        one(165, 74, 15),
        "COMAR 10.15.03.10 A, .11 D(1)",
        within=hours(2, CountsFrom.REHEATING),
    ),
    ("reheat", "commercial package"): Asked(
        AT_LEAST,
        one(135, "57.3"),
        f"{MD_11} D(2)",
        within=hours(2, CountsFrom.REHEATING),
        printed="F",
    ),
    # (3): by the chart of .10, and no time; the two hours are [practice]
    ("reheat", "whole roast"): Asked(
        AT_LEAST,
        ROAST_MARYLAND,
        f"{MD_11} D(3)",
        within=hours(2, CountsFrom.REHEATING),
        basis=PRACTICE,
    ),
    ("cooling-stage-1", ""): Asked(
        AT_MOST,
        one(70, "21.1"),
        f"{MD_11} A",
        start=(135, "57.3"),
        within=hours(2, CountsFrom.START),
        printed="F",
    ),
    ("cooling-stage-2", ""): Asked(
        AT_MOST, one(41, 5), f"{MD_11} A", within=hours(4, CountsFrom.PREVIOUS_STAGE), printed="F"
    ),
    ("cooling-ambient", ""): Asked(
        AT_MOST, one(41, 5), f"{MD_11} B", within=hours(4, CountsFrom.PREPARATION), printed="F"
    ),
    ("thermometer-accuracy", ""): Asked(
        AT_MOST, one(2, "1.1"), "COMAR 10.15.03.09 A(2)", printed="F"
    ),
    ("air-thermometer-accuracy", ""): Asked(
        AT_MOST, one(2, "1.1"), "COMAR 10.15.03.06 B(1)", printed="F"
    ),
}

# Minnesota 4626, both degrees: .0340 A (1) 145 °F (63 °C) 15 s, (2) 155 °F (68 °C) 15 s or 145 (63)
# 3 min, 150 (66) 1 min, 158 (70) < 1 s, (3) 165 °F (74 °C) 15 s; .0349 A 60 minutes; .0360 A 165 (74)
# 15 s, B 165 (74) and 2 minutes covered, C 135 (57), D 2 h for A to C; .0385 A 135 (57) to 70 (21) in
# 2 h, 41 (5) in a total of 6 h, B and C 41 (5) in 4 h; .0400 seven days, no temperature; .0408 B "less
# than 41 degrees F (5 degrees C) or greater than 135 degrees F (57 degrees C)", 4 h, C 41 (5) or less,
# 70 (21), 6 h.
MN = "Minn. R. 4626."
MN_1, MN_2, MN_3 = (f"{MN}0340, item A({n})" for n in (1, 2, 3))
MINNESOTA: dict[Key, Asked] = {
    **cooking(
        {
            **dict.fromkeys(("", "poultry", "stuffed food", "wild game"), (one(165, 74, 15), MN_3)),
            **dict.fromkeys(
                ("ground meat", "injected meat", "ratite", "pooled egg"), (GROUND_2013, MN_2)
            ),
            **dict.fromkeys(("intact meat", "fish", "egg", "game"), (one(145, 63, 15), MN_1)),
        }
    ),
    ("initial-heating", ""): Asked(
        AT_MOST, NO_TEMPERATURE, f"{MN}0349, item A", within=hours(1, CountsFrom.HEATING)
    ),
    ("reheat", ""): Asked(
        AT_LEAST, one(165, 74, 15), f"{MN}0360, items A, D", within=hours(2, CountsFrom.REHEATING)
    ),
    ("reheat-microwave", ""): Asked(
        AT_LEAST,
        one(165, 74),
        f"{MN}0360, items B, D",
        within=hours(2, CountsFrom.REHEATING),
        stand=120,
    ),
    ("reheat", "commercial package"): Asked(
        AT_LEAST, one(135, 57), f"{MN}0360, items C, D", within=hours(2, CountsFrom.REHEATING)
    ),
    ("cooling-stage-1", ""): Asked(
        AT_MOST,
        one(70, 21),
        f"{MN}0385, item A(1)",
        start=(135, 57),
        within=hours(2, CountsFrom.START),
    ),
    ("cooling-stage-2", ""): Asked(
        AT_MOST,
        one(41, 5),
        f"{MN}0385, item A(2)",
        start=(135, 57),
        within=hours(6, CountsFrom.START),
    ),
    ("cooling-ambient", ""): Asked(
        AT_MOST, one(41, 5), f"{MN}0385, item B", within=hours(4, CountsFrom.PREPARATION)
    ),
    ("cooling-received", ""): Asked(
        AT_MOST, one(41, 5), f"{MN}0385, item C", within=hours(4, CountsFrom.RECEIVING)
    ),
    ("date-mark", ""): Asked(
        AT_MOST, NO_TEMPERATURE, f"{MN}0400", within=hours(7 * 24, CountsFrom.PREPARATION_DAY)
    ),
    ("time-control-hot", ""): Asked(
        AT_LEAST,
        one(135, 57),
        f"{MN}0408, item B",
        within=hours(4, CountsFrom.REMOVAL),
        inclusive=False,
    ),
    **{
        (name, ""): Asked(
            AT_MOST,
            one(41, 5),
            f"{MN}0408, item B",
            within=hours(4, CountsFrom.REMOVAL),
            inclusive=False,
        )
        for name in ("time-control-cold", "time-control-opened")
    },
    ("time-control-6h", ""): Asked(
        AT_MOST,
        one(70, 21),
        f"{MN}0408, item C",
        start=(41, 5),
        within=hours(6, CountsFrom.REMOVAL),
    ),
}


def celsius(
    cited: str,
    side: Side,
    c: int,
    f: int | str,
    within: tuple[int, CountsFrom] | None = None,
    start: tuple[int | str, int | str] | None = None,
    basis: str = V,
    inclusive: bool = True,
) -> Asked:
    return Asked(
        side,
        one(f, c),
        cited,
        start=start,
        within=within,
        basis=basis,
        inclusive=inclusive,
        printed="C",
    )


# Standard 3.2.2, clause 7(3) as quoted: 60 °C to 21 °C within two hours, to 5 °C within a further
# four. 7(4): "rapidly" to 60 °C; the 2 hours, and 5 °C or below, 60 °C or above, a probe to 1 °C, are
# guidance by Logan and Somerset councils (Queensland) and the state of Victoria. The 2-hour/4-hour
# rule: text by Food Standards Australia New Zealand, and Somerset. The exact equivalents: 60 °C =
# 140 °F, 21 °C = 69.8 °F, 5 °C = 41 °F.
AU, AU_3, AU_4, AU_24 = (f"Standard 3.2.2{rest}" for rest in ("", ", 7(3)", ", 7(4)", ", 2 h/4 h"))
IN_FOUR, IN_TWO = hours(4, CountsFrom.REMOVAL), hours(2, CountsFrom.REHEATING)
AUSTRALIA: dict[Key, Asked] = {
    ("cooling-stage-1", ""): celsius(
        AU_3, AT_MOST, 21, "69.8", hours(2, CountsFrom.START), start=(140, 60)
    ),
    ("cooling-stage-2", ""): celsius(AU_3, AT_MOST, 5, 41, hours(4, CountsFrom.PREVIOUS_STAGE)),
    ("hot-holding", ""): celsius(AU, AT_LEAST, 60, 140),
    ("cold-holding", ""): celsius(AU, AT_MOST, 5, 41),
    ("reheat", ""): celsius(AU_4, AT_LEAST, 60, 140, IN_TWO),
    ("thermometer-accuracy", ""): celsius(AU, AT_MOST, 1, "1.8"),
    ("time-control-hot", ""): celsius(AU_24, AT_LEAST, 60, 140, IN_FOUR),
    ("time-control-cold", ""): celsius(AU_24, AT_MOST, 5, 41, IN_FOUR),
    # under 2 h it may go back to the refrigerator; over 4 h it is discarded
    ("time-out-allowed", ""): Asked(
        AT_MOST,
        NO_TEMPERATURE,
        AU_24,
        within=hours(2, CountsFrom.LAST_PROPER),
        inclusive=False,
    ),
    ("time-out-longest", ""): Asked(
        AT_MOST, NO_TEMPERATURE, AU_24, within=hours(4, CountsFrom.LAST_PROPER)
    ),
    # [M]: the stricter reading, that the general number has no exception and binds a delivery
    ("hot-holding", "whole roast"): celsius(AU, AT_LEAST, 60, 140, basis=M),
    ("reheat", "commercial package"): celsius(AU_4, AT_LEAST, 60, 140, IN_TWO, basis=M),
    ("reheat", "whole roast"): celsius(AU_4, AT_LEAST, 60, 140, IN_TWO, basis=M),
    ("reheat-microwave", ""): celsius(AU_4, AT_LEAST, 60, 140, IN_TWO, basis=M),
    ("receiving-cold", ""): celsius(AU, AT_MOST, 5, 41, basis=M),
    ("receiving-hot", ""): celsius(AU, AT_LEAST, 60, 140, basis=M),
    ("time-control-6h", ""): celsius(AU_24, AT_MOST, 5, 41, IN_FOUR, basis=M),
    ("time-control-opened", ""): celsius(AU_24, AT_MOST, 5, 41, IN_FOUR, basis=M),
}

# Schedule 4. Paragraph 2: an offence "above 8°C" (England 2013, Wales 2006); 5: a defence for less than
# four hours (Northern Ireland 2006); 6: an offence "below 63°C" (Wales 2006); 7: a defence for less
# than two hours (Wales 2006, England 2005). 8 °C = 46.4 °F, 63 °C = 145.4 °F.
UK_2, UK_5, UK_6, UK_7 = (f"schedule 4, paragraph {n}" for n in (2, 5, 6, 7))
ENGLAND_WALES_NI: dict[Key, Asked] = {
    ("hot-holding", ""): celsius(UK_6, AT_LEAST, 63, "145.4"),
    ("cold-holding", ""): celsius(UK_2, AT_MOST, 8, "46.4"),
    ("time-control-hot", ""): celsius(UK_7, AT_LEAST, 63, "145.4", hours(2, CountsFrom.REMOVAL)),
    **{
        (f"time-control-{case}", ""): celsius(UK_5, AT_MOST, 8, "46.4", IN_FOUR)
        for case in ("cold", "6h", "opened")
    },
    ("time-out-allowed", ""): Asked(
        AT_MOST, NO_TEMPERATURE, UK_7, within=hours(2, CountsFrom.LAST_PROPER), inclusive=False
    ),
    ("time-out-longest", ""): Asked(
        AT_MOST, NO_TEMPERATURE, UK_5, within=hours(4, CountsFrom.LAST_PROPER), inclusive=False
    ),
    # [M]: the stricter reading, that the general number binds here; the 2 hours are the Food Code's
    ("hot-holding", "whole roast"): celsius(UK_6, AT_LEAST, 63, "145.4", basis=M),
    ("receiving-cold", ""): celsius(UK_2, AT_MOST, 8, "46.4", basis=M),
    ("receiving-hot", ""): celsius(UK_6, AT_LEAST, 63, "145.4", basis=M),
    ("reheat", "commercial package"): celsius(UK_6, AT_LEAST, 63, "145.4", IN_TWO, basis=M),
}

# SSI 2006/3, schedule 4, paragraph 2(1)(b): "at a temperature above 63°C". SI 1995/2200, regulation
# 14(1): "not less than 82°C"; no time for it [M]. 82 °C = 179.6 °F.
SC_2, SC_14 = "schedule 4, paragraph 2(1)(b)", "regulation 14(1)"
SCOTLAND: dict[Key, Asked] = {
    ("hot-holding", ""): celsius(SC_2, AT_LEAST, 63, "145.4", inclusive=False),
    ("hot-holding", "whole roast"): celsius(SC_2, AT_LEAST, 63, "145.4", basis=M, inclusive=False),
    ("receiving-hot", ""): celsius(SC_2, AT_LEAST, 63, "145.4", basis=M, inclusive=False),
    ("time-control-hot", ""): celsius(
        SC_2, AT_LEAST, 63, "145.4", IN_FOUR, basis=M, inclusive=False
    ),
    **{
        (name, kind): celsius(SC_14, AT_LEAST, 82, "179.6", IN_TWO, basis=M)
        for name, kind in (
            ("reheat", ""),
            ("reheat", "commercial package"),
            ("reheat", "whole roast"),
            ("reheat-microwave", ""),
        )
    },
}


def of_hot_and_cold(cited: str, left_for: tuple[int, CountsFrom]) -> dict[Key, Asked]:
    """A code of which 60 °C (140 °F) and 4 °C (39.2 °F) were read; the stricter reading is [M]."""
    return {
        ("hot-holding", ""): celsius(cited, AT_LEAST, 60, 140),
        ("cold-holding", ""): celsius(cited, AT_MOST, 4, "39.2"),
        ("hot-holding", "whole roast"): celsius(cited, AT_LEAST, 60, 140, basis=M),
        ("receiving-cold", ""): celsius(cited, AT_MOST, 4, "39.2", basis=M),
        ("receiving-hot", ""): celsius(cited, AT_LEAST, 60, 140, basis=M),
        ("reheat", "commercial package"): celsius(cited, AT_LEAST, 60, 140, IN_TWO, basis=M),
        ("time-control-hot", ""): celsius(cited, AT_LEAST, 60, 140, left_for, basis=M),
        **{
            (f"time-control-{case}", ""): celsius(cited, AT_MOST, 4, "39.2", left_for, basis=M)
            for case in ("cold", "6h", "opened")
        },
    }


# Quebec, P-29, r. 1, 1.4.1: not exceeding 4 °C, at least 60 °C, frozen at -18 °C (-0.4 °F) at most;
# 2.1.3.2: thermometers to 1 °C, a difference of 1.8 °F.
QC, QC_T = "P-29, r. 1, 1.4.1", "P-29, r. 1, 2.1.3.2"
QUEBEC: dict[Key, Asked] = {
    **of_hot_and_cold(QC, IN_FOUR),
    ("frozen-holding", ""): celsius(QC, AT_MOST, -18, "-0.4"),
    ("receiving-frozen", ""): celsius(QC, AT_MOST, -18, "-0.4", basis=M),
    ("thermometer-accuracy", ""): celsius(QC_T, AT_MOST, 1, "1.8"),
    ("air-thermometer-accuracy", ""): celsius(QC_T, AT_MOST, 1, "1.8"),
}

# Ontario, by guidance: 4 °C, 60 °C and two hours between them (Peterborough Public Health); 60 °C to
# 20 °C (68 °F) in 2 h (Eastern Ontario Health Unit), then 4 °C in 4 h [M].
ON = "O. Reg. 493/17"
ONTARIO: dict[Key, Asked] = {
    **of_hot_and_cold(ON, TWO_HOURS),
    ("cooling-stage-1", ""): celsius(
        ON, AT_MOST, 20, 68, hours(2, CountsFrom.START), start=(140, 60)
    ),
    ("cooling-stage-2", ""): celsius(
        ON, AT_MOST, 4, "39.2", hours(4, CountsFrom.PREVIOUS_STAGE), basis=M
    ),
    **{
        (name, ""): Asked(AT_MOST, NO_TEMPERATURE, ON, within=hours(2, CountsFrom.LAST_PROPER))
        for name in ("time-out-allowed", "time-out-longest")
    },
}


def over_the_food_code(own: dict[Key, Asked]) -> dict[Key, Asked]:
    """What a local set asks: its own limits, and the Food Code's in the place of those not read."""
    return {key: asked._replace(basis=STANDS_IN) for key, asked in FOOD_CODE_2022.items()} | own


SETS: dict[str, dict[Key, Asked]] = {
    "food-code-2022.1": FOOD_CODE_2022,
    "food-code-2013.1": FOOD_CODE_2013,
    "new-york-14-1.1": over_the_food_code(NEW_YORK),
    "maryland-10-15-03.1": over_the_food_code(MARYLAND),
    "minnesota-4626.1": over_the_food_code(MINNESOTA),
    "australia-3-2-2.1": over_the_food_code(AUSTRALIA),
    "england-wales-ni.1": over_the_food_code(ENGLAND_WALES_NI),
    "scotland.1": over_the_food_code(SCOTLAND),
    "quebec-p-29-r-1.1": over_the_food_code(QUEBEC),
    "ontario-493-17.1": over_the_food_code(ONTARIO),
}
DIGESTS = {
    "australia-3-2-2.1": "5903157c45d87dacd8866201dbf05474d4ceb48f2ba046ba2d311255dfb54aab",
    "england-wales-ni.1": "93d6052174c5d5d607bf75a9b4a1430d1832686cdd7fc58630bb71a3003bb70e",
    "food-code-2013.1": "1c1b27a6fa5e026e020ac1be3b153ff07af5c4a78830952dc556a7ae3053afe9",
    "food-code-2022.1": "722559f2a09ebf37d1798809f16f2d618249b9bd25d8bbe3d372a10f1efa989c",
    "maryland-10-15-03.1": "7f65544e6b0e83070d7179281feb9d7cdc2eeb788b23b0d0b7e3ec0f9c7ad9b4",
    "minnesota-4626.1": "6a3c7e4227aace7e49b23a733b5ef0c371b7481cc4855c30c3b94c1a8f5fbb5a",
    "new-york-14-1.1": "ccb6400122b27d4e7d5a779f5276a462ccf4e7eb4abb3aaadf369efdd4c4663d",
    "ontario-493-17.1": "66309d7ce83942f824679418432f718ac84609b9725412fde263b09f0ef0644d",
    "quebec-p-29-r-1.1": "bda9df6de17b0c67cf760fc4cf691ac884f8b10205756815851a6f054e252974",
    "scotland.1": "808626b66a3d41469ad95ec6aa50c7f9f56e15d4f78de89f4fd5f57a2e844528",
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
    assert limit.stand == timedelta(seconds=asked.stand)
    assert limit.source
    assert limit.text
    # what was read says where
    assert limit.address or limit.basis in (PRACTICE, STANDS_IN)


@pytest.mark.parametrize("name", SETS)
def test_a_released_set_has_not_changed(name: str) -> None:
    """A released file is not edited; a correction raises the revision, with a digest of its own."""
    assert limits.shipped(name).digest == DIGESTS[name]
    set_id, _, revision = name.partition(".")
    assert (limits.shipped(name).id, limits.shipped(name).revision) == (set_id, int(revision))


def test_a_bare_name_is_the_newest_revision() -> None:
    assert (
        limits.shipped() == limits.shipped("food-code-2022") == limits.shipped("food-code-2022.1")
    )
    for known in limits.revisions().values():
        assert all(newer > older for newer, older in pairwise(known))


LOCAL = [name for name in SETS if not name.startswith("food-code")]


@pytest.mark.parametrize("name", LOCAL)
def test_a_federal_number_under_a_local_name_says_that_it_stands_in(name: str) -> None:
    """A set may not pass off as its own what nobody read in its jurisdiction."""
    federal = {(one.name, one.kind): one for one in limits.shipped("food-code-2022").limits}
    for limit in limits.shipped(name).limits:
        base = federal.get((limit.name, limit.kind))
        if base and (limit.citation, limit.source) == (base.citation, base.source):
            assert limit.basis_in_words == (
                "not read for this jurisdiction; the Food Code's number stands in"
            )
        else:
            # only the federal sections are cited in this form
            assert not limit.citation.startswith(("3-", "4-")), (limit.name, limit.kind)


@pytest.mark.parametrize(
    ("name", "hot"),
    [
        ("new-york-14-1.1", 140),
        ("australia-3-2-2.1", 140),
        ("quebec-p-29-r-1.1", 140),
        ("ontario-493-17.1", 140),
        ("england-wales-ni.1", "145.4"),
        ("scotland.1", "145.4"),
    ],
)
def test_no_exception_of_the_food_code_is_left_below_a_local_code_s_number(
    name: str, hot: int | str
) -> None:
    """A code that asks 140 °F of hot food must not leave the Food Code's 130 °F of roasts in.

    A roast's table that stands in says so; what is reheated by it is held by the local number.
    """
    level = found(name, ("hot-holding", "")).level
    assert level.f == Decimal(hot)
    names = ("hot-holding", "reheat", "reheat-microwave", "receiving-hot", "time-control-hot")
    for limit in limits.shipped(name).limits:
        if limit.name in names and (limit.kind, limit.basis) != ("whole roast", STANDS_IN):
            assert limit.level.f >= level.f, (limit.name, limit.kind)
            assert limit.level.c >= level.c, (limit.name, limit.kind)


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


def test_new_york_cooks_each_food_to_its_own_number() -> None:
    """10 NYCRR 14-1.82(a) to (e), and its first sentence for any other food."""
    for food, temp, below in (
        ("poultry", "165", "164.9"),
        ("ground meat", "158", "157.9"),
        ("pork", "150", "149.9"),
        ("intact meat", "150", "149.9"),
        ("egg", "145", "144.9"),
        ("rare roast beef", "130", "129.9"),
        ("meat without pork", "140", "139.9"),
        ("fish", "140", "139.9"),
    ):
        assert check("new-york-14-1", f"cook,0,{temp},F,,{food}")["cook"] == "met", food
        assert check("new-york-14-1", f"cook,0,{below},F,,{food}")["cook"] == "not met", food


def test_new_york_lets_food_stand_for_service_two_hours_and_takes_it_in_at_45() -> None:
    """10 NYCRR 14-1.40(a): "may not exceed two hours"; 45 °F or below at all times."""
    name = "time-control-hot"
    for last, new_york, food_code in ((121, "not met", "not shown"), (241, "not met", "not met")):
        rows = ("time_control,0,140,F,,", f"time_control,{last},100,F,,")
        assert check("new-york-14-1", *rows)[name] == new_york, last
        assert check("food-code-2022", *rows)[name] == food_code, last
    for temp, expected in (("45", "met"), ("45.1", "not met")):
        found = check("new-york-14-1", f"receive,0,{temp},F,,")
        assert found["receiving-cold"] == expected


def test_maryland_cooks_farmed_game_as_ground_meat_and_has_fewer_rows_for_roasts() -> None:
    """COMAR 10.15.03.10A: 155 °F for 15 s; no row of 149, 153 or 157 °F."""
    game = "cook,0,145,F,15,game"
    assert check("maryland-10-15-03", game)["cook"] == "not shown"
    assert check("food-code-2022", game)["cook"] == "met"
    roast = "cook,0,149,F,85,whole roast"
    assert check("maryland-10-15-03", roast)["cook"] == "not shown"
    assert check("food-code-2022", roast)["cook"] == "met"


def test_minnesota_asks_15_seconds_of_poultry_and_of_ground_meat() -> None:
    """Minnesota 4626.0340 A(3), A(2)."""
    for food, temp in (("poultry", "165"), ("ground meat", "155")):
        for held, expected in (("15", "met"), ("14", "not shown")):
            assert check("minnesota-4626", f"cook,0,{temp},F,{held},{food}")["cook"] == expected


@pytest.mark.parametrize(
    ("name", "step", "limit", "kept", "broken"),
    [
        # SI 2013/2996 and WSI 2006/31, schedule 4: an offence above 8 °C, below 63 °C
        ("england-wales-ni", "cold_hold", "cold-holding", "8", "8.1"),
        ("england-wales-ni", "hot_hold", "hot-holding", "63", "62.9"),
        # SSI 2006/3, schedule 4: above 63 °C
        ("scotland", "hot_hold", "hot-holding", "63.1", "63"),
        # P-29, r. 1, 1.4.1: 4 °C, 60 °C
        ("quebec-p-29-r-1", "cold_hold", "cold-holding", "4", "4.1"),
        ("quebec-p-29-r-1", "hot_hold", "hot-holding", "60", "59.9"),
        # O. Reg. 493/17, by guidance: 4 °C, 60 °C
        ("ontario-493-17", "cold_hold", "cold-holding", "4", "4.1"),
        ("ontario-493-17", "hot_hold", "hot-holding", "60", "59.9"),
    ],
)
def test_a_code_in_celsius_decides_at_its_own_number(
    name: str, step: str, limit: str, kept: str, broken: str
) -> None:
    assert check(name, f"{step},0,{kept},C,,")[limit] == "met"
    assert check(name, f"{step},0,{broken},C,,")[limit] == "not met"


def test_scotland_reheats_to_82() -> None:
    """SI 1995/2200, regulation 14(1): not less than 82 °C."""
    for temp, expected in (("82", "met"), ("81.9", "not met")):
        rows = ("reheat,0,5,C,,", f"reheat,60,{temp},C,,")
        assert check("scotland", *rows)["reheat"] == expected


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
