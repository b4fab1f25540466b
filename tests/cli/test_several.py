"""A line of several checks: where its names, its temperatures and its time are."""

import pytest

from haccp.cli.several import taken_apart
from haccp.errors import Refused
from haccp.temperature import Degree

NAMES = {"well-1", "well-2", "at", "noon"}
TIMES = {"14:05", "noon", "at 1145", "yesterday 23:40"}


def apart(*words: str, names: set[str] = NAMES) -> tuple[list[tuple[str, str]], str]:
    return taken_apart(words, names.__contains__, TIMES.__contains__, Degree.F)


@pytest.mark.parametrize("time", ["", "14:05", "noon", "yesterday 23:40"])
@pytest.mark.parametrize("count", [1, 2, 5])
def test_a_line_is_pairs_and_perhaps_a_time(count: int, time: str) -> None:
    words = ["well-1", "151"] * count
    assert apart(*words, *time.split()) == ([("well-1", "151")] * count, time)


def test_what_can_be_a_time_or_a_name_is_refused_unless_it_is_no_name() -> None:
    with pytest.raises(Refused, match="'at 1145' can be a time or the next name"):
        apart("well-1", "151", "at", "1145")
    assert apart("well-1", "151", "at", "1145", names=NAMES - {"at"}) == (
        [("well-1", "151")],
        "at 1145",
    )


def test_a_name_that_nobody_knows_is_a_name_where_it_can_be_nothing_else() -> None:
    pairs = [("well-1", "151"), ("well-9", "148")]
    assert apart("well-1", "151", "well-9", "148") == (pairs, "")
    assert apart("well-1", "151", "well-9", "148", "noon") == (pairs, "noon")


@pytest.mark.parametrize("words", [("well-2",), ("well-2", "hot"), ("well-2", "148", "well-1")])
def test_a_name_without_a_temperature_is_named(words: tuple[str, ...]) -> None:
    with pytest.raises(
        Refused, match=f"no temperature after {words[-1] if len(words) > 2 else words[0]}"
    ):
        apart("well-1", "151", *words)
