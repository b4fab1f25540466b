"""Published limits as data: one TOML file an edition, and what a kitchen lays over it."""

from haccp.limits.loader import decoded, load_overrides, parse_set, revisions, shipped
from haccp.limits.model import Clock, Limit, LimitSet, Row, Side

__all__ = [
    "Clock",
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
