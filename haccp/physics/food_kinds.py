"""What food that is in no table is counted as: the nearest kind, by a word of its name."""

import re
import tomllib
import unicodedata
from functools import cache
from importlib.resources import files

from haccp.physics.properties import Food, foods


@cache
def _kinds() -> tuple[tuple[tuple[str, frozenset[str]], ...], str]:
    text = (files("haccp.physics") / "food_kinds.toml").read_text(encoding="utf-8")
    tree = tomllib.loads(text)
    kinds = tuple((kind["like"], frozenset(kind["words"])) for kind in tree["kind"])
    return kinds, tree["nothing_near"]


def nearest(name: str) -> Food | None:
    """Find the nearest kind of food; None where no word of the name tells of any."""
    words = _words(name)
    kinds, _ = _kinds()
    like = next((like for like, telling in kinds if words & telling), None)
    return foods()[like] if like else None


def cautious() -> Food:
    """Give the food that one of which nothing is known is counted as: it is slow to cool."""
    _, nothing_near = _kinds()
    return foods()[nothing_near]


def _words(name: str) -> frozenset[str]:
    """Split a name into words without accents, each in the singular too."""
    bare = unicodedata.normalize("NFKD", name.casefold())
    plain = "".join(sign for sign in bare if not unicodedata.combining(sign))
    words = re.findall(r"[^\W\d_]+", plain)
    return frozenset(one for word in words for one in (word, word.removesuffix("s")))
