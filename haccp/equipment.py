"""What food is cooled with and in, in the words of a kitchen: one table for all who ask."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from haccp.errors import Refused
from haccp.language import phrase
from haccp.quantities import parse_length
from haccp.temperature import Degree

WALK_IN, REACH_IN, REFRIGERATOR = "walk-in", "reach-in", "refrigerator"
FAN, ICE, ICE_BATH, ICE_WAND, FREEZER, BLAST_CHILLER = (
    "fan", "ice", "ice bath", "ice wand", "freezer", "blast chiller",
)  # fmt: skip
THINGS = (FAN, ICE, ICE_BATH, ICE_WAND, FREEZER, BLAST_CHILLER)
METHODS = (WALK_IN, REACH_IN, REFRIGERATOR, FREEZER, ICE_BATH, ICE_WAND, BLAST_CHILLER)

# What else they are called; a hyphen and a space are one.
_ALSO = {
    WALK_IN: ("walkin", "cooler", "walk in cooler", "walk in refrigerator", "walk in fridge"),
    REACH_IN: ("reachin", "reach in cooler", "reach in refrigerator", "reach in fridge"),
    REFRIGERATOR: ("fridge", "household refrigerator", "household fridge", "home refrigerator"),
    FREEZER: ("walk in freezer",),
    ICE_BATH: ("icebath", "ice water bath", "ice water"),
    ICE_WAND: ("wand", "ice paddle", "cooling paddle", "chill stick"),
    BLAST_CHILLER: ("blast chill", "blaster"),
}

_PANS = re.compile(r"(.+?)[ -]?pans?")
# Lower than this is a tray, higher is a pot [in].
_LOWEST, _HIGHEST = Decimal("0.5"), Decimal(8)


def _spaced(text: str) -> str:
    return " ".join(re.split(r"[\s_-]+", text.strip().casefold()))


_NAMES = {_spaced(name): name for name in (*THINGS, *METHODS)} | {
    spelling: name for name, spellings in _ALSO.items() for spelling in spellings
}


@dataclass(frozen=True, slots=True)
class Equipment:
    """What there is: `things` out of `THINGS`, and pans up to `pan_in` high, 0 for none [in]."""

    things: frozenset[str] = frozenset()
    pan_in: float = 0.0


EVERYTHING = Equipment(frozenset(THINGS), float(_HIGHEST))


def name_of(text: str, among: Sequence[str] = (*THINGS, *METHODS)) -> str | None:
    """Give the one name of what is typed so or so, such as ``ice-bath``; None for anything else."""
    spaced = _spaced(text)
    name = _NAMES.get(spaced) or _NAMES.get(spaced.removesuffix("s"))
    return name if name in among else None


def parse_method(text: str) -> str:
    """Read what food is cooled in, in any spelling; raises Refused for anything else."""
    if name := name_of(text, METHODS):
        return name
    raise Refused(
        phrase(
            "{text} is no way of cooling that is known here: type one of {known}.",
            text=repr(text),
            known=", ".join(METHODS),
        )
    )


def in_one_spelling(words: str) -> str:
    """Give a method's words with what is in the table by its one name; the others as they are."""
    return ", ".join(name_of(part) or part.strip() for part in words.split(","))


def named_in(words: str) -> frozenset[str]:
    """Find what is named anywhere in a method's words."""
    spaced = f" {re.sub(r'[^a-z]+', ' ', words.casefold())} "
    return frozenset(name for spelling, name in _NAMES.items() if f" {spelling} " in spaced)


@lru_cache(maxsize=16)
def parse_equipment(text: str) -> Equipment:
    """Read ``ice bath, ice wand, freezer, 2-inch pans``; raises Refused for anything else.

    Whoever has an ice bath has ice.
    """
    things: set[str] = set()
    highest = Decimal(0)
    for part in text.split(","):
        if thing := name_of(part, THINGS):
            things.add(thing)
            continue
        named = " ".join(part.lower().split())
        height = _pan_height(named)
        if height is None:
            raise Refused(
                phrase(
                    "{part} is no equipment that is known here: type some of {known}, and pans by "
                    'their height, such as "ice bath, 2-inch pans".',
                    part=repr(part.strip()),
                    known=", ".join(THINGS),
                )
            )
        if not _LOWEST <= height <= _HIGHEST:
            raise Refused(
                phrase(
                    "{named}: pans are from half an inch to 8 inches (20 cm) high.",
                    named=repr(named),
                )
            )
        highest = max(highest, height)
    if ICE_BATH in things:
        things.add(ICE)
    return Equipment(frozenset(things), float(highest))


def _pan_height(named: str) -> Decimal | None:
    """Read the height in ``2-inch pans`` [in]; its unit must be typed."""
    pans = _PANS.fullmatch(named)
    if pans is None:
        return None
    try:
        return parse_length(pans[1], Degree.C)
    except Refused:
        return None
