"""What a kitchen has to cool food with, as a manager types it."""

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from haccp.errors import Refused

FAN, ICE, ICE_BATH, ICE_WAND, FREEZER, BLAST_CHILLER = (
    "fan", "ice", "ice bath", "ice wand", "freezer", "blast chiller",
)  # fmt: skip
THINGS = (FAN, ICE, ICE_BATH, ICE_WAND, FREEZER, BLAST_CHILLER)

_PANS = re.compile(r'([0-9]{1,2}(?:\.[0-9]{1,2})?)[ -]?(inch|in|"|cm) pans?')
_CM_IN_INCH = Decimal("2.54")
# Lower than this is a tray, higher is a pot [in].
_LOWEST, _HIGHEST = Decimal("0.5"), Decimal(8)


@dataclass(frozen=True, slots=True)
class Equipment:
    """What there is: `things` out of `THINGS`, and pans up to `pan_in` high, 0 for none [in]."""

    things: frozenset[str] = frozenset()
    pan_in: float = 0.0


EVERYTHING = Equipment(frozenset(THINGS), float(_HIGHEST))


@lru_cache(maxsize=16)
def parse_equipment(text: str) -> Equipment:
    """Read ``ice bath, ice wand, freezer, 2-inch pans``; raises Refused for anything else.

    Whoever has an ice bath has ice.
    """
    things: set[str] = set()
    pan = Decimal(0)
    for part in text.lower().split(","):
        named = " ".join(part.split())
        pans = _PANS.fullmatch(named)
        if pans:
            pan = max(pan, Decimal(pans[1]) / (_CM_IN_INCH if pans[2] == "cm" else 1))
        elif named.removesuffix("s") in THINGS:
            things.add(named.removesuffix("s"))
        else:
            raise Refused(
                f"{part.strip()!r} is no equipment that is known here: type some of "
                f'{", ".join(THINGS)}, and pans by their height, such as "ice bath, 2-inch pans".'
            )
        if pans and not _LOWEST <= pan <= _HIGHEST:
            raise Refused(f"{named!r}: pans are from half an inch to 8 inches (20 cm) high.")
    if ICE_BATH in things:
        things.add(ICE)
    return Equipment(frozenset(things), float(pan))
