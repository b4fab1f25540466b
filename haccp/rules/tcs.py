"""Whether a food is TCS by its acidity and water activity: 1-201.10, Tables A and B."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from haccp.errors import Refused
from haccp.language import message, phrase


class Result(StrEnum):
    """What a cell of the tables says. A food awaiting product assessment is treated as TCS."""

    NON_TCS = "non-TCS"
    PRODUCT_ASSESSMENT = "product assessment"


@dataclass(frozen=True, slots=True)
class Band:
    """The values up to `upper` that no band before it holds; None is without an end."""

    upper: Decimal | None
    inclusive: bool = True

    def holds(self, value: Decimal) -> bool:
        if self.upper is None:
            return True
        return value <= self.upper if self.inclusive else value < self.upper


def _up_to(upper: str) -> Band:
    return Band(Decimal(upper))


def _below(upper: str) -> Band:
    return Band(Decimal(upper), inclusive=False)


_ABOVE = Band(None)


@dataclass(frozen=True, slots=True)
class Table:
    """One table as printed: a row for each band of water activity, a column for each of pH."""

    name: str
    food: str
    ph: tuple[Band, ...]
    water_activity: tuple[Band, ...]
    cells: tuple[tuple[Result, ...], ...]

    def results(self, ph: Decimal | None, water_activity: Decimal | None) -> Iterator[Result]:
        """Give every cell that may be the food's; a value that is not known leaves all of them."""
        for row in _places(self.water_activity, water_activity):
            for column in _places(self.ph, ph):
                yield self.cells[row][column]


_SAFE, _ASSESS = Result.NON_TCS, Result.PRODUCT_ASSESSMENT

# Both tables: read in Tenn. Comp. R. & Regs. 0080-04-09-.01, 25 TAC 228.2(144) (Texas) and
# NAC 446.025 (Nevada), which adopt the Food Code's text.
TABLE_A = Table(
    name=message("Table A"),
    food=message("heat-treated to destroy vegetative cells, then packaged"),
    ph=(_up_to("4.6"), _up_to("5.6"), _ABOVE),
    water_activity=(_up_to("0.92"), _up_to("0.95"), _ABOVE),
    cells=(
        (_SAFE, _SAFE, _SAFE),
        (_SAFE, _SAFE, _ASSESS),
        (_SAFE, _ASSESS, _ASSESS),
    ),
)
TABLE_B = Table(
    name=message("Table B"),
    food=message("not heat-treated, or heat-treated but not packaged"),
    ph=(_below("4.2"), _up_to("4.6"), _up_to("5.0"), _ABOVE),
    water_activity=(_below("0.88"), _up_to("0.90"), _up_to("0.92"), _ABOVE),
    cells=(
        (_SAFE, _SAFE, _SAFE, _SAFE),
        (_SAFE, _SAFE, _SAFE, _ASSESS),
        (_SAFE, _SAFE, _ASSESS, _ASSESS),
        (_SAFE, _ASSESS, _ASSESS, _ASSESS),
    ),
)

BEYOND = message(
    "Vinegar or anything else added to make a food non-TCS, smoking to preserve it and "
    "reduced-oxygen packaging need a variance (3-502.11) or a HACCP plan (3-502.12) first; "
    "this tool goes no further."
)


@dataclass(frozen=True, slots=True)
class Assessment:
    """What the tables say of one food; a value that was not measured is None."""

    result: Result
    table: Table
    ph: Decimal | None
    water_activity: Decimal | None

    @property
    def words(self) -> str:
        """Say what was decided, by which table, and where the tables end."""
        is_free = message(
            "1-201.10 {table} ({food}): at {measured} the food is non-TCS: it needs no control "
            "of time or temperature."
        )
        is_open = message(
            "1-201.10 {table} ({food}): at {measured} a product assessment is required; until "
            "there is one the food is treated as TCS."
        )
        words = is_free if self.result is Result.NON_TCS else is_open
        found = phrase(
            words,
            table=phrase(self.table.name),
            food=phrase(self.table.food),
            measured=self._measured(),
        )
        return f"{found} {phrase(BEYOND)}"

    def _measured(self) -> str:
        if self.ph is None:
            return phrase(
                "pH not known and water activity {water_activity}",
                water_activity=self.water_activity,
            )
        if self.water_activity is None:
            return phrase("pH {ph} and water activity not known", ph=self.ph)
        return phrase(
            "pH {ph} and water activity {water_activity}",
            ph=self.ph,
            water_activity=self.water_activity,
        )


def assess(
    ph: Decimal | None, water_activity: Decimal | None, *, heat_treated_and_packaged: bool
) -> Assessment:
    """Look a food up; where one value is not known the worst cell that it may be in counts.

    Raises Refused for a value that no food can have, and where neither is known.
    Source: Food Code 1-201.10, definition of TCS food, Tables A and B.
    """
    if ph is None and water_activity is None:
        raise Refused(
            phrase("Neither pH nor water activity is given: type at least one that was measured.")
        )
    no_ph = message("{value} is no pH: type a number from 0 to {most}, such as {such_as}.")
    _within(no_ph, ph, 14, "4.2")
    no_water_activity = message(
        "{value} is no water activity: type a number from 0 to {most}, such as {such_as}."
    )
    _within(no_water_activity, water_activity, 1, "0.92")
    table = TABLE_A if heat_treated_and_packaged else TABLE_B
    cells = set(table.results(ph, water_activity))
    worst = _ASSESS if _ASSESS in cells else _SAFE
    return Assessment(worst, table, ph, water_activity)


def _within(otherwise: str, value: Decimal | None, most: int, such_as: str) -> None:
    if value is not None and not (value.is_finite() and 0 <= value <= most):
        raise Refused(phrase(otherwise, value=value, most=most, such_as=such_as))


def _places(bands: Sequence[Band], value: Decimal | None) -> Sequence[int]:
    if value is None:
        return range(len(bands))
    return [next(place for place, band in enumerate(bands) if band.holds(value))]
