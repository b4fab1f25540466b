"""Food Code 1-201.10, Tables A and B: every cell, at, just under and just over each edge.

Source of both tables: Tenn. Comp. R. & Regs. 0080-04-09-.01, 25 TAC 228.2(144) (Texas) and Nevada
NAC 446.025, which adopt the Food Code's text. The verdicts were typed by hand from them, column by
column; P is product assessment, n non-TCS.
"""

from decimal import Decimal

import pytest

from haccp.errors import Refused
from haccp.rules.tcs import Result, assess

NAMES = {"n": Result.NON_TCS, "P": Result.PRODUCT_ASSESSMENT}

# pH:     0     4.599 4.6   4.601 5.599 5.6   5.601 14
A_PH = ("0", "4.599", "4.6", "4.601", "5.599", "5.6", "5.601", "14")
A_ROWS = {
    # aw 0.92 or less
    "0": "nnnnnnnn",
    "0.9199": "nnnnnnnn",
    "0.92": "nnnnnnnn",
    # more than 0.92, up to 0.95
    "0.9201": "nnnnnnPP",
    "0.9499": "nnnnnnPP",
    "0.95": "nnnnnnPP",
    # more than 0.95
    "0.9501": "nnnPPPPP",
    "1": "nnnPPPPP",
}

B_PH = ("0", "4.199", "4.2", "4.201", "4.599", "4.6", "4.601", "4.999", "5.0", "5.001", "14")
B_ROWS = {
    # aw less than 0.88
    "0": "nnnnnnnnnnn",
    "0.8799": "nnnnnnnnnnn",
    # 0.88 to 0.90
    "0.88": "nnnnnnnnnPP",
    "0.8801": "nnnnnnnnnPP",
    "0.8999": "nnnnnnnnnPP",
    "0.90": "nnnnnnnnnPP",
    # more than 0.90, up to 0.92
    "0.9001": "nnnnnnPPPPP",
    "0.9199": "nnnnnnPPPPP",
    "0.92": "nnnnnnPPPPP",
    # more than 0.92: only below pH 4.2
    "0.9201": "nnPPPPPPPPP",
    "1": "nnPPPPPPPPP",
}

CELLS = [
    (packaged, ph, water, NAMES[letter])
    for packaged, columns, rows in ((True, A_PH, A_ROWS), (False, B_PH, B_ROWS))
    for water, letters in rows.items()
    for ph, letter in zip(columns, letters, strict=True)
]


@pytest.mark.parametrize(("packaged", "ph", "water", "expected"), CELLS)
def test_a_cell_is_what_was_published(
    packaged: bool, ph: str, water: str, expected: Result
) -> None:
    found = assess(Decimal(ph), Decimal(water), heat_treated_and_packaged=packaged)
    assert found.result is expected
    assert found.table.name == ("Table A" if packaged else "Table B")


def test_an_edge_is_exact_to_the_last_digit() -> None:
    """0.1 + 0.2 is not 0.3 in binary; here a trillionth decides."""
    for water, expected in (("0.92", "n"), ("0.920000000000000000000001", "P")):
        found = assess(Decimal("4.2"), Decimal(water), heat_treated_and_packaged=False)
        assert found.result is NAMES[expected]


# A missing value proves nothing: the worst cell of the column or row, read from the tables above.


@pytest.mark.parametrize(
    ("packaged", "ph", "expected"),
    [
        (True, "4.6", "n"),
        (True, "4.601", "P"),
        (True, "5.601", "P"),
        (False, "4.199", "n"),
        (False, "4.2", "P"),
        (False, "4.6", "P"),
        (False, "14", "P"),
    ],
)
def test_with_no_water_activity_the_worst_of_the_column_counts(
    packaged: bool, ph: str, expected: str
) -> None:
    found = assess(Decimal(ph), None, heat_treated_and_packaged=packaged)
    assert found.result is NAMES[expected]
    assert "water activity not known" in found.words


@pytest.mark.parametrize(
    ("packaged", "water", "expected"),
    [
        (True, "0.92", "n"),
        (True, "0.9201", "P"),
        (True, "0.9501", "P"),
        (False, "0.8799", "n"),
        (False, "0.88", "P"),
        (False, "0.92", "P"),
        (False, "1", "P"),
    ],
)
def test_with_no_ph_the_worst_of_the_row_counts(packaged: bool, water: str, expected: str) -> None:
    found = assess(None, Decimal(water), heat_treated_and_packaged=packaged)
    assert found.result is NAMES[expected]
    assert "pH not known" in found.words


def test_both_results_are_told_with_what_the_tables_do_not_decide() -> None:
    """3-502.11 and 3-502.12: read in 2VAC5-585-860 and 2VAC5-585-870 (Virginia)."""
    safe = assess(Decimal("3.9"), Decimal("0.98"), heat_treated_and_packaged=False).words
    unsure = assess(Decimal("4.3"), Decimal("0.98"), heat_treated_and_packaged=False).words
    assert "non-TCS: it needs no control" in safe
    assert "treated as TCS" in unsure
    for words in (safe, unsure):
        assert "1-201.10 Table B" in words
        for told in ("Vinegar", "smoking", "reduced-oxygen", "3-502.11", "3-502.12"):
            assert told in words


@pytest.mark.parametrize(
    ("ph", "water", "told"),
    [
        ("-0.1", None, "0 to 14"),
        ("14.1", None, "0 to 14"),
        ("NaN", None, "0 to 14"),
        (None, "-0.01", "0 to 1,"),
        (None, "1.01", "0 to 1,"),
        (None, "Infinity", "0 to 1,"),
        ("4.2", "92", "0 to 1,"),
        (None, None, "Neither"),
    ],
)
def test_an_impossible_value_is_refused_in_one_sentence(
    ph: str | None, water: str | None, told: str
) -> None:
    with pytest.raises(Refused, match=told) as refused:
        assess(
            None if ph is None else Decimal(ph),
            None if water is None else Decimal(water),
            heat_treated_and_packaged=False,
        )
    assert "type" in str(refused.value)
    assert str(refused.value).endswith(".")
    assert "\n" not in str(refused.value)
