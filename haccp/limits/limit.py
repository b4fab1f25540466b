"""The frozen values that a limits file is read into."""

from dataclasses import dataclass, field, replace
from datetime import timedelta
from decimal import ROUND_UP, Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Any

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.temperature import Degree, Level, Temperature

# Limits on a difference between two temperatures, where no zero point is to be converted.
DIFFERENCES = ("thermometer-accuracy", "air-thermometer-accuracy")
# What a kind of food may be heated by limits of its own for, and what has one for every food.
HEATED, MICROWAVED = ("cook", "reheat"), ("cook-microwave", "reheat-microwave")


class Side(StrEnum):
    """On which side of its number a limit is kept."""

    AT_OR_ABOVE = "at or above"
    AT_OR_BELOW = "at or below"


class CountsFrom(StrEnum):
    """What a limit's time is counted from."""

    START = "start"
    PREVIOUS_STAGE = "previous stage"
    PREPARATION = "preparation"
    PREPARATION_DAY = "preparation day"
    REHEATING = "reheating"
    RECEIVING = "receiving"
    HEATING = "heating"
    REMOVAL = "removal"
    LAST_PROPER = "last proper temperature"


# The basis of a row that a local code's set has from its base, because nobody read that code's own.
NOT_READ = message("not read")
_BASIS_IN_WORDS = {
    NOT_READ: message("not read for this jurisdiction; the Food Code's number stands in"),
}


def basis_in_words(basis: str) -> str:
    return _BASIS_IN_WORDS.get(basis, basis)


@dataclass(frozen=True, slots=True)
class Row:
    """A temperature and how long it must last; 0 s means that an instant is enough."""

    level: Level
    hold: timedelta


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One critical limit, as printed.

    `kind` is the kind of food a variant is for; the variant without one is the strictest.
    `rows` has more than one entry where the source offers alternatives, lowest temperature first,
    and none where it asks for a time alone, or names no number: then `inclusive` is about the time.
    `stand` is for how long food stands covered once it has reached its temperature. `basis` says
    whether the number was read in the source, is from memory or stands in for one that was not
    read; `address` is where it was read. `printed` is the degree of a number that was read in one
    degree alone: the other is its equivalent.
    """

    name: str
    kind: str = ""
    side: Side
    inclusive: bool
    rows: tuple[Row, ...]
    start: Level | None = None
    within: timedelta | None = None
    clock: CountsFrom | None = None
    citation: str
    source: str
    basis: str
    text: str
    printed: Degree | None = None
    stand: timedelta = timedelta(0)
    address: str = ""

    @property
    def level(self) -> Level:
        return self.rows[0].level

    @property
    def basis_in_words(self) -> str:
        return basis_in_words(self.basis)

    def allows(self, time: timedelta) -> bool:
        """Whether a limit that is a time alone is kept by one that long."""
        assert self.within is not None and not self.rows  # see the loader
        return time <= self.within if self.inclusive else time < self.within

    def equivalent(self, level: Level) -> Decimal:
        """Convert a level's number from the degree that it was read in to the other one."""
        offset = 0 if self.name in DIFFERENCES else 32
        if self.printed is Degree.C:
            return level.c * 9 / 5 + offset
        return (level.f - offset) * 5 / 9

    def plain(self) -> dict[str, Any]:
        """Give every field in words, numbers as printed: what the set's digest is made of."""
        minutes = None if self.within is None else int(self.within.total_seconds()) // 60
        # named only where they are set: the digests of sets without them stand
        printed = {"printed": self.printed.value} if self.printed else {}
        stand = {"stand_s": int(self.stand.total_seconds())} if self.stand else {}
        address = {"address": self.address} if self.address else {}
        return {
            **printed,
            **stand,
            **address,
            "name": self.name,
            "kind": self.kind,
            "side": self.side.value,
            "inclusive": self.inclusive,
            "rows": [
                [str(row.level.f), str(row.level.c), int(row.hold.total_seconds())]
                for row in self.rows
            ],
            "start": [str(self.start.f), str(self.start.c)] if self.start else None,
            "within_min": minutes,
            "clock": self.clock.value if self.clock else None,
            "citation": self.citation,
            "source": self.source,
            "basis": self.basis,
            "text": self.text,
        }

    def kept_by(self, temperature: Temperature, level: Level | None = None) -> bool:
        """Whether a temperature keeps this limit, compared in its own degree and never rounded.

        `level` is one of the limit's rows where it is not the first.
        """
        number, value = (level or self.level).number(temperature.degree), temperature.value
        if value == number:
            return self.inclusive
        return (value > number) is (self.side is Side.AT_OR_ABOVE)


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitSet:
    """A named, versioned collection of limits, with what a kitchen laid over it.

    `base` names the set and revision whose limits stand where this one has none of its own.
    `digest` is the SHA-256 of the parsed content (64 hex digits): comments and order do not
    change it, any number or word that decides does.
    """

    id: str
    revision: int
    title: str
    publisher: str
    base: str = ""
    limits: tuple[Limit, ...]
    overrides: tuple[Limit, ...] = ()
    guard: Temperature | None = None
    digest: str
    # asked for many times for each reading
    _by_key: dict[tuple[str, str], Limit] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_key = {(limit.name, limit.kind): limit for limit in self.limits}
        object.__setattr__(self, "_by_key", by_key)

    def get(self, name: str, kind: str = "") -> Limit:
        """Find the limit for a kind of food, or else the one for any food.

        Raises Refused for a limit that an older revision does not have.
        """
        found = self._by_key.get((name, kind)) or self._by_key.get((name, ""))
        if found is None:
            raise Refused(
                phrase(
                    "{title}, revision {revision}, has no limit for {name}: a manager takes up the "
                    "newest with haccp kitchen --limit-set {id}.",
                    title=self.title,
                    revision=self.revision,
                    name=name,
                    id=self.id,
                )
            )
        return found

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of food that are cooked or reheated by limits of their own."""
        return tuple(sorted({one.kind for one in self.limits if one.kind and one.name in HEATED}))


# Limits that are not about how hot or cold a food is measured to be.
_NOT_OF_FOOD = ("date-mark", *DIFFERENCES)


def guarded(limits: LimitSet, band: Temperature) -> LimitSet:
    """Move every level inward by a guard band (guarded acceptance, JCGM 106:2012).

    The number of the other degree moves by the band's equivalent, rounded up to a tenth, so that
    no degree is judged more leniently. Where a cooling starts is not a limit and stays; where time
    as a control starts is one.
    """
    if not 0 < band.value <= 10:
        raise Refused(
            phrase(
                "A guard band of {band} makes no sense: type one above 0 and up to 10, such as 1F.",
                band=band,
            )
        )
    by = {degree: band.value if band.degree is degree else _other(band) for degree in Degree}

    def inward(limit: Limit) -> Limit:
        sign = 1 if limit.side is Side.AT_OR_ABOVE else -1
        rows = tuple(
            replace(
                row,
                level=Level(row.level.f + sign * by[Degree.F], row.level.c + sign * by[Degree.C]),
            )
            for row in limit.rows
        )
        start = limit.start if limit.clock is CountsFrom.REMOVAL else None
        if start:
            start = Level(start.f + sign * by[Degree.F], start.c + sign * by[Degree.C])
        return replace(limit, rows=rows, start=start or limit.start)

    moved = tuple(limit if limit.name in _NOT_OF_FOOD else inward(limit) for limit in limits.limits)
    return replace(limits, limits=moved, guard=band)


def _other(band: Temperature) -> Decimal:
    factor = Fraction(5, 9) if band.degree is Degree.F else Fraction(9, 5)
    exact = Fraction(band.value) * factor
    return (Decimal(exact.numerator) / Decimal(exact.denominator)).quantize(
        Decimal("0.1"), ROUND_UP
    )
