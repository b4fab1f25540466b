"""What every log sheet shares: the kitchen as it stood, its columns, the limits on it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from haccp.kitchen.register import Register
from haccp.language import phrase
from haccp.limits import Limit, LimitSet
from haccp.limits.limit import NOT_READ, basis_in_words
from haccp.printing.codes_in_words import in_words, limit_in_words
from haccp.printing.limits_in_words import kinds_of, limits_of, stated
from haccp.record.bodies import KitchenSettings
from haccp.rules.evidence import Step
from haccp.temperature import Degree

_One = TypeVar("_One")

Column = tuple[str, dict[str, float]]
# When a number is missed, what is done, and what that rests on.
Remedy = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class FormsContext:
    """The kitchen and its limits when the sheets are printed."""

    register: Register
    limits: LimitSet
    printed: datetime

    @property
    def kitchen(self) -> KitchenSettings:
        return self.register.kitchen_at(self.printed)

    @property
    def degree(self) -> Degree:
        return Degree(self.kitchen.degree)

    @property
    def day(self) -> str:
        """The day that stands in the examples of what to type later."""
        return f"{self.printed.astimezone(self.register.zone):%Y-%m-%d}"

    @property
    def thermometers(self) -> list[str]:
        return [label for label, one in self.register.thermometers.items() if one.active]

    def of(self, step: Step) -> list[Limit]:
        return limits_of(step, self.limits, kinds_of(self.register, self.limits))

    def temp(self, name: str = "") -> Column:
        """Give a column for a temperature; `name` says which, where a row has several."""
        return mm(f"{name or phrase('Temp')} °{self.degree}", 16)

    def grouped(self, limits: Sequence[Limit]) -> list[list[str]]:
        """Say what each limit is for, what it asks and where it stands; equal kinds together."""
        found: dict[tuple[str, str, str], list[str]] = {}
        for limit in limits:
            key = (limit.name, stated(limit, self.degree), cited(limit))
            found.setdefault(key, []).append(limit.kind)
        return [[_about(name, kinds), asked, at] for (name, asked, at), kinds in found.items()]


# What a number rests on that was not read in its section: a mark beside it, told at the foot.
_MARKS = {"common practice": "\u00b9", "from memory": "\u00b2", NOT_READ: "\u00b3"}


def cited(limit: Limit) -> str:
    """Give a limit's section, with a mark unless its number was read there."""
    if limit.basis == "verified":
        return limit.citation
    return limit.citation + _MARKS.get(limit.basis, f"; {in_words(limit.basis_in_words)}")


def noted(citations: Iterable[str]) -> str:
    """Tell the marks that stand in citations: ``¹ common practice``."""
    joined = "".join(citations)
    told = (
        f"{mark} {in_words(basis_in_words(basis))}"
        for basis, mark in _MARKS.items()
        if mark in joined
    )
    return "; ".join(told)


def _about(name: str, kinds: Sequence[str]) -> str:
    """Say what a limit is for by its name and, where it is for some, the kinds of food."""
    named = limit_in_words(name)
    of_kind = ", ".join(in_words(kind) for kind in kinds if kind)
    if not of_kind:
        return named
    if "" in kinds:
        return phrase("{limit}: {kinds}; or kind not known", limit=named, kinds=of_kind)
    return phrase("{limit}: {kinds}", limit=named, kinds=of_kind)


def chunks(every: Sequence[_One], size: int) -> list[Sequence[_One]]:
    """Part what does not fit beside or below each other, in order; the last may be short."""
    return [every[first : first + size] for first in range(0, len(every), size)]


def mm(name: str, width: int) -> Column:
    return name, {"mm": width}


def share(name: str, width: float) -> Column:
    """Give a column for words, as wide as its share of what is left of the page."""
    return name, {"share": width}


def time() -> Column:
    return mm(phrase("Time"), 16)


def initials() -> Column:
    return mm(phrase("Initials"), 17)


def thermometer() -> Column:
    return mm(phrase("Thermometer"), 23)


def sheet(
    title: str,
    how: str,
    entered: str,
    columns: Sequence[Column],
    *,
    limits: Sequence[Sequence[str]] = (),
    missed: Sequence[Remedy] = (),
    boxes: Sequence[str] = (),
    first: Sequence[str] = (),
    marked: Sequence[int] = (),
    facts: Sequence[Sequence[str]] = (),
    answers: bool = False,
    row_mm: float = 9,
    dated: str = "",
    units: str = "",
) -> dict[str, Any]:
    """Describe one page: `boxes` stand over the table, `first` begins its first column,
    with the rows that are `marked` in bold.

    `entered` is what to type later; `missed` what to do when a limit is not kept; `answers` leaves
    room for corrective actions; `facts` is what else is to be known; `dated` is what its date is
    called, `units` whose sheet it is. There are as many rows as fit.
    """
    notes = noted(cells[2] for cells in (*limits, *missed))
    return {
        "title": title,
        "how": how,
        "entered": entered,
        "columns": columns,
        "limits": limits,
        "missed": missed,
        "boxes": boxes,
        "first": first,
        "notes": f"{notes}." if notes else "",
        "marked": marked,
        "facts": facts,
        "answers": answers,
        "row_mm": row_mm,
        "dated": dated or phrase("Date"),
        "units": units,
    }
