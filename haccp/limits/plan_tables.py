"""The tables beside the limits that a plan is made of: hazards, why a step is critical, retention.

Every text that people read is a message, told by who prints it; `texts` gives them to a catalog.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """A hazard of some kinds of food, the steps at which it is controlled, and what says so.

    Without kinds and words it is one of every food. `source` is empty where there is none.
    """

    name: str
    sort: str
    kinds: tuple[str, ...]
    words: tuple[str, ...]
    steps: tuple[str, ...]
    likelihood: str
    severity: str
    why: str
    basis: str
    source: str = ""
    address: str = ""

    @property
    def is_of_some(self) -> bool:
        """Whether it is one of some foods alone."""
        return bool(self.kinds or self.words)

    def concerns(self, food: str, kind: str) -> bool:
        """Whether it is one of a food, by its kind or by a word of its name."""
        named = set(re.findall(r"\w+", food.casefold()))
        return not self.is_of_some or kind in self.kinds or bool(named & {*self.words})


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """Whether a step is a critical control point, why, and how it is controlled."""

    step: str
    critical: bool
    control: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """For how long records of something are kept under some limit sets, and what says so."""

    what: str
    kept: str
    sets: tuple[str, ...]
    kinds: tuple[str, ...]
    citation: str
    source: str
    basis: str


@cache
def hazards() -> tuple[Hazard, ...]:
    return tuple(Hazard(**_frozen(row)) for row in _read("hazards.toml")["hazard"])


@cache
def decisions() -> Mapping[str, Decision]:
    """Give for each step whether it is critical."""
    return {row["step"]: Decision(**row) for row in _read("hazards.toml")["step"]}


@cache
def retention() -> tuple[Kept, ...]:
    return tuple(Kept(**_frozen(row)) for row in _read("records_kept.toml")["record"])


def texts() -> Iterator[str]:
    """Give every text of the tables that is told to people in their language."""
    for hazard in hazards():
        yield from (hazard.name, hazard.why)
    for decision in decisions().values():
        yield from (decision.control, decision.reason)
    for row in retention():
        yield from (row.what, row.kept)


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads((files("haccp.limits") / name).read_text(encoding="utf-8"))


def _frozen(row: Mapping[str, Any]) -> dict[str, Any]:
    return {key: tuple(one) if isinstance(one, list) else one for key, one in row.items()}
