"""Date marking: 3-501.17. The day of preparation is day 1; a food keeps its oldest part's mark."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from haccp.language import message, phrase
from haccp.limits.limit import Limit

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Exemption:
    """Why a delivery needs no date mark as its container is opened; `what` is a message."""

    what: str
    citation: str

    def __str__(self) -> str:
        return phrase("{food} ({citation})", food=phrase(self.what), citation=self.citation)


# The deliveries that are exempt, by the word that is typed; (G) asks that an inspected plant made
# and packed them. What is prepared of one here is marked all the same, by (A).
# Source: 3-501.17(E) to (G) as Maine adopted them (chapter 3, part 5), and the CDC's Vessel
# Sanitation Program manual, for the foods of (G); the numbers of its items and all of (F),
# shellstock, are from memory. Portions that are sold from a bulk container at a consumer's request
# (E, from memory) are no deliveries and not among them.
EXEMPT: Mapping[str, Exemption] = {
    "deli salad": Exemption(
        message("deli salad made and packed by an inspected plant"), "3-501.17(G)(1)"
    ),
    "hard cheese": Exemption(
        message("hard cheese of at most 39 % moisture, packed by an inspected plant"),
        "3-501.17(G)(2)",
    ),
    "semi-soft cheese": Exemption(
        message(
            "semi-soft cheese of more than 39 and at most 50 % moisture, packed by an"
            " inspected plant"
        ),
        "3-501.17(G)(3)",
    ),
    "cultured dairy": Exemption(
        message("cultured dairy product packed by an inspected plant"), "3-501.17(G)(4)"
    ),
    "preserved fish": Exemption(
        message("preserved or acidified fish packed by an inspected plant"), "3-501.17(G)(5)"
    ),
    "dry sausage": Exemption(
        message(
            "shelf-stable dry fermented sausage, not labelled to be kept refrigerated, packed by an"
            " inspected plant"
        ),
        "3-501.17(G)(6)",
    ),
    "salt-cured meat": Exemption(
        message(
            "shelf-stable salt-cured meat, not labelled to be kept refrigerated, packed by an"
            " inspected plant"
        ),
        "3-501.17(G)(7)",
    ),
    "shellstock": Exemption(message("shellstock"), "3-501.17(F)"),
}


def last_day(
    made: date | None,
    parts: Iterable[date],
    limit: Limit,
    frozen: Iterable[tuple[date, date | None]] = (),
    today: date | None = None,
) -> date:
    """Give the last day on which a food may be used.

    `made` is the day of preparation, None where the parts alone decide (a portion). `parts` are
    the last days, as of when they went in, of what it was made from: combined foods keep the
    earliest. `frozen` are the days on which the food itself was frozen and thawed, None for one
    still frozen: its mark is what it would be if it were thawed `today`, which must then be given.
    Freezing stops the count and never starts it anew: a whole kitchen day in the freezer does not
    count, the days of freezing and of thawing do.
    Source: Food Code 2022 3-501.17, 3-501.18(A)(1).
    """
    assert limit.within is not None  # a date mark is nothing but a time
    own = [made + limit.within - _DAY] if made else []
    last = min([*own, *parts])
    for day in _days_frozen(frozen, today):
        if day <= last:
            last += _DAY
    return last


def _days_frozen(frozen: Iterable[tuple[date, date | None]], today: date | None) -> list[date]:
    """List, in order, the days on which the food was frozen from midnight to midnight."""
    whole: set[date] = set()
    for froze, thawed in frozen:
        until = thawed or today
        assert until is not None  # whoever has food in the freezer says what day it is
        whole.update(froze + n * _DAY for n in range(1, (until - froze).days))
    return sorted(whole)
