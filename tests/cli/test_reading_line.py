"""Every line that is taken means what its usual spelling means: all ways to read it are counted.

The grammar is written out once more here, over a small kitchen, and tried word by word.
"""

from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal
from functools import cached_property
from itertools import permutations, product
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.cli.reading_line import Line, Typed, whole_line
from haccp.errors import Refused
from haccp.kitchen.naming import Names, find
from haccp.record.bodies import BatchOpened
from haccp.temperature import Degree, Temperature, parse_temperature
from haccp.time import parse_when

ZONE = ZoneInfo("America/Denver")
NOW = datetime(2026, 10, 26, 20, 58, tzinfo=UTC)


class _Foods(Names):
    """The names of a small kitchen, without a record."""

    @cached_property
    def foods(self) -> dict[str, BatchOpened]:
        return {
            "pork-stew": BatchOpened(food="pork stew"),
            "pork-chili": BatchOpened(food="pork chili"),
            "brisket-1026-c": BatchOpened(food="beef brisket", portion_of=("brisket-1026",)),
        }

    def became(self, *_: object) -> str | None:
        return None


_TARGETS = ("well-1", "well-2", "walk-in", "pork-stew", "pork-chili", "brisket-1026-c")
NAMES = _Foods(
    {one: one for one in _TARGETS},
    None,  # type: ignore[arg-type]
    {},
    {"1": "well-1", "2": "well-2", "3": "walk-in"},
)


def _in_any_order(*words: str) -> Iterator[str]:
    """Give some of the words of a food, each once."""
    for count in range(1, len(words) + 1):
        yield from map(" ".join, permutations(words, count))


# What each of these words, or words in a row, may name: written by hand.
_MEANS: dict[str, set[str]] = {"in": set()}
for _target, _said in {
    "well-1": ["well-1", "well1", "well", "1"],
    "well-2": ["well-2", "WELL-2", "well", "2"],
    "walk-in": ["walk-in", "walkin", "walk in", "walk", "3"],
    "pork-stew": ["pork-stew", *_in_any_order("pork", "stew")],
    "pork-chili": ["pork-chili", "pork c", "pork C", *_in_any_order("pork", "chili")],
    "brisket-1026-c": [
        *_in_any_order("beef", "brisket", "c"),
        *_in_any_order("beef", "brisket", "C"),
        *_in_any_order("beef", "brisket-1026-c"),
    ],
}.items():
    for _one in _said:
        _MEANS.setdefault(_one, set()).add(_target)
_DEGREES = {"F": Degree.F, "C": Degree.C, "c": Degree.C}
_NUMBERS = ("1", "2", "3", "38", "98", "151", "1145", "-4", "150,5")
_CLOCKS = {
    "11:45": (11, 45), "1145": (11, 45), "noon": (12, 0), "11h45": (11, 45), "2:05": (2, 5),
    "2:05 p. m.": (14, 5),
}  # fmt: skip
_TIMES = {before + said: clock for said, clock in _CLOCKS.items() for before in ("", "at ")}
_WORDS = (*dict.fromkeys(w for said in _MEANS for w in said.split()), *_NUMBERS, "F", "61C", "at",
          "11:45", "noon", "11h45", "2:05", "p.", "m.")  # fmt: skip
_FEW = ("well-1", "well", "walkin", "pork", "stew", "c", "1", "3", "38", "1145", "F", "C", "noon")


def _temperature(words: str) -> Temperature | None:
    number, _, letter = words.partition(" ")
    if words == "61C":
        return Temperature(Decimal(61), Degree.C)
    if number in _NUMBERS and (not letter or letter in _DEGREES):
        return Temperature(Decimal(number.replace(",", ".")), _DEGREES.get(letter, Degree.F))
    return None


def _ways(words: tuple[str, ...]) -> Iterator[tuple[str, Temperature, datetime | None]]:
    """Give every target, temperature and time that a line may mean, by the tables above."""
    cuts = ((i, j) for i in range(1, len(words)) for j in range(i + 1, len(words) + 1))
    for i, j in cuts:
        first, second, rest = (" ".join(part) for part in (words[:i], words[i:j], words[j:]))
        if rest and rest not in _TIMES:
            continue
        clock = _TIMES.get(rest)
        at = datetime(2026, 10, 26, *clock, tzinfo=ZONE) if clock else None
        for name, shown in ((first, second), (second, first)):
            temperature = _temperature(shown)
            lone_degree = (name, shown) == (second, first) and name in _DEGREES
            if temperature and not lone_degree:
                for target in _MEANS.get(name, ()):
                    yield target, temperature, at


def _taken(words: tuple[str, ...]) -> tuple[str, Temperature, datetime | None] | None:
    """Give what a line is taken for; None where it is refused."""
    try:
        typed = Line(words, "hold", NAMES, "batch or unit").read(NOW, ZONE)
        target = find(typed.name, NAMES, "batch or unit")
        shown = parse_temperature(typed.temp, Degree.F)
        return target, shown, parse_when(typed.when, NOW, ZONE) if typed.when else None
    except Refused:
        return None


def _agrees(words: tuple[str, ...]) -> None:
    ways = set(_ways(words))
    taken = _taken(words)
    if len(ways) == 1:
        assert taken == next(iter(ways)), words
    else:
        assert taken is None, (words, ways)


def test_every_short_line_is_taken_only_for_the_one_thing_that_it_can_mean() -> None:
    for words in ((), *product(_WORDS), *product(_WORDS, repeat=2), *product(_FEW, repeat=3)):
        _agrees(words)


@given(st.lists(st.sampled_from(_WORDS), min_size=4, max_size=7).map(tuple))
def test_longer_lines_too(words: tuple[str, ...]) -> None:
    _agrees(words)


@given(
    st.sampled_from([said for said, means in _MEANS.items() if len(means) == 1]),
    st.sampled_from(["151", "98 F", "61C", "150,5", "-4", "38"]),
    st.sampled_from(["", *_TIMES]),
    st.booleans(),
)
def test_a_name_and_a_temperature_are_taken_either_way_round(
    name: str, temp: str, when: str, turned: bool
) -> None:
    pair = (temp, name) if turned else (name, temp)
    words = tuple(" ".join((*pair, when)).split())
    ways = set(_ways(words))
    assert ways or name in _DEGREES
    _agrees(words)


@pytest.mark.parametrize("words", ["2 3", "1 2", "3 1 1145", "2 1 noon"])
def test_a_number_that_may_be_a_name_or_a_temperature_is_told_both_ways(words: str) -> None:
    first, second, *when = words.split()
    with pytest.raises(Refused) as refused:
        Line(words.split(), "hold", NAMES, "batch or unit").read(NOW, ZONE)
    for name, temp in ((first, second), (second, first)):
        assert whole_line("hold", [Typed(name, temp, " ".join(when))]) in str(refused.value)


def _ways_of_several(words: tuple[str, ...]) -> set[tuple[object, ...]]:
    """Give every way to cut a line into readings, of which only the last has a time."""
    found: set[tuple[object, ...]] = {(one,) for one in _ways(words)}
    for end in range(2, len(words)):
        first = {(target, shown) for target, shown, at in _ways(words[:end]) if at is None}
        found |= {(one, *more) for one in first for more in _ways_of_several(words[end:])}
    return found


def _several_taken(words: tuple[str, ...]) -> tuple[object, ...] | None:
    try:
        every = Line(words, "hold", NAMES, "batch or unit").read_all(NOW, ZONE)
        found = [find(one.name, NAMES, "batch or unit") for one in every]
        shown = [parse_temperature(one.temp, Degree.F) for one in every]
        at = parse_when(every[0].when, NOW, ZONE) if every[0].when else None
    except Refused:
        return None
    *first, last = zip(found, shown, strict=True)
    return (*first, (*last, at))


@given(st.lists(st.sampled_from(_FEW), min_size=3, max_size=8).map(tuple))
def test_several_readings_are_taken_only_for_what_they_alone_can_mean(
    words: tuple[str, ...],
) -> None:
    ways = _ways_of_several(words)
    taken = _several_taken(words)
    assert taken == next(iter(ways)) if len(ways) == 1 else taken is None, (words, ways)


@given(
    st.lists(
        st.tuples(st.sampled_from(["well-1", "well2", "walk-in", "brisket"]), st.just("151")),
        min_size=1,
        max_size=6,
    ),
    st.sampled_from(["", "14:05", "yesterday 23:40"]),
)
def test_pairs_and_a_time_are_taken(pairs: list[tuple[str, str]], when: str) -> None:
    words = tuple(word for pair in pairs for word in (*pair, ""))
    line = tuple(word for word in (*words, *when.split()) if word)
    every = Line(line, "hold", NAMES, "batch or unit").read_all(NOW, ZONE)
    assert [(one.name, one.temp, one.when) for one in every] == [(*pair, when) for pair in pairs]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("well-1 151 well-9 148", "well-9"),
        ("well-1 151 well-2", "What temperature"),
        ("well-1 151 well-2 148 walk-in", "What temperature"),
        ("well-1 151 11:5x", "11:5x"),
        ("well-1 151 well-2 hot", "hot"),
    ],
)
def test_of_several_the_first_that_cannot_be_read_is_told(words: str, told: str) -> None:
    with pytest.raises(Refused, match=told):
        Line(words.split(), "hold", NAMES, "batch or unit").read_all(NOW, ZONE)


def test_a_long_line_is_read_at_once() -> None:
    line = ("well-1", "151", "walkin", "38", "brisket", "150") * 8
    assert len(Line(line, "hold", NAMES, "batch or unit").read_all(NOW, ZONE)) == 24
