"""Published limits as data: one TOML file an edition, and what a kitchen lays over it."""

from haccp.limits.limit import CountsFrom, Limit, LimitSet, Row, Side
from haccp.limits.loader import decoded, load_overrides, parse_set, revisions, shipped

__all__ = [
    "CountsFrom",
    "Limit",
    "LimitSet",
    "Row",
    "Side",
    "decoded",
    "load_overrides",
    "parse_set",
    "revisions",
    "shipped",
]
