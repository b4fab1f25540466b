"""Gathers the blank log sheets to write on when the power is out: the same fields as an entry's.

The shape of the result is what reports/forms.typ prints.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from haccp.kitchen.register import Register
from haccp.language import message, phrase
from haccp.limits import CountsFrom, Limit, LimitSet
from haccp.logs.csv_log import OPTIONAL, REQUIRED
from haccp.printing.codes_in_words import in_words, limit_in_words
from haccp.printing.limits_in_words import (
    caution,
    kinds_of,
    limits_of,
    moment_of_printing,
    set_in_words,
    stated,
)
from haccp.record.entries import HoldingUnit
from haccp.rules.asked import target
from haccp.rules.evidence import Step
from haccp.rules.thermometer import ICE_POINT, boiling_point, pressure_at
from haccp.temperature import Degree
from haccp.time import spell

_HOUR = timedelta(hours=1)
# A cooling that may last longer has rows for its limits alone: a page has no room for each hour.
_HOURLY = 12 * _HOUR
# As many units as leave room to write a temperature with wet hands.
_UNITS_A_PAGE = 5

_Column = tuple[str, dict[str, float]]


def gather(register: Register, printed: datetime) -> dict[str, Any]:
    """Gather a sheet for each kind of entry, with the limits in force when printed."""
    kitchen, limits = register.kitchen_at(printed), register.limits_at(printed)
    sheets = _Sheets(
        register=register,
        limits=limits,
        degree=Degree(kitchen.degree),
        altitude_m=kitchen.altitude_m,
        day=f"{printed.astimezone(register.zone):%Y-%m-%d}",
    )
    return {
        "title": phrase("Blank log sheets"),
        "kitchen": kitchen.name,
        "printed": moment_of_printing(printed, register.zone),
        "limit_set": _guarded(limits),
        "load": phrase(
            "{command}, columns {columns}",
            command="haccp load-readings FILE.csv --paper",
            columns=", ".join((*REQUIRED, *OPTIONAL)),
        ),
        "caution": caution(),
        "sheets": list(sheets.all()),
    }


def _guarded(limits: LimitSet) -> str:
    name = set_in_words(limits)
    if not limits.guard:
        return name
    return phrase("{name}, moved inward by {guard}", name=name, guard=limits.guard)


def _mm(name: str, width: int) -> _Column:
    return name, {"mm": width}


def _share(name: str, width: float) -> _Column:
    """Give a column for words, as wide as its share of what is left of the page."""
    return name, {"share": width}


def _time(width: int = 16) -> _Column:
    return _mm(phrase("Time"), width)


def _by() -> _Column:
    return _mm(phrase("By"), 14)


def _thermometer() -> _Column:
    return _mm(phrase("Thermometer"), 22)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheets:
    """The sheets of one kitchen. `day` stands in the examples of what to type later."""

    register: Register
    limits: LimitSet
    degree: Degree
    altitude_m: int
    day: str

    def all(self) -> Iterator[dict[str, Any]]:
        yield self._batches()
        yield self._receiving()
        yield self._preparation()
        yield self._cooking()
        yield self._cooling()
        yield self._reheating()
        yield from self._holdings()
        if self._of(Step.TIME_CONTROL):
            yield self._time_control()
        yield self._thermometers()
        yield self._corrective_actions()
        yield self._discards()

    def _of(self, step: Step) -> list[Limit]:
        return limits_of(step, self.limits, kinds_of(self.register, self.limits))

    def _temp(self, name: str = "") -> _Column:
        """Give a column for a temperature; `name` says which, where a row has several."""
        return _mm(f"{name or phrase('Temp')} °{self.degree}", 16)

    def _batches(self) -> dict[str, Any]:
        return _sheet(
            phrase("Batches"),
            phrase("A line for each batch that is opened, divided or put together."),
            f'haccp batch FOOD "{self.day} 06:20" --code CODE --kind KIND --from BATCH --by JM',
            [
                _time(),
                _share(phrase("Food"), 2),
                _share(phrase("Code"), 1.4),
                _share(phrase("Kind"), 1.2),
                _share(phrase("How much"), 1),
                _share(phrase("Made from (batches)"), 1.6),
                _by(),
            ],
        )

    def _receiving(self) -> dict[str, Any]:
        return _sheet(
            phrase("Receiving"),
            phrase(
                "Measure each delivery before it is put away, eggs by the air around them; "
                "write whether it comes cold, hot, frozen or as eggs."
            ),
            f'haccp receive FOOD TEMP "{self.day} 06:20" --as cold --code CODE --paper --by JM',
            [
                _time(),
                _share(phrase("Food, code, amount"), 2),
                _share(phrase("From whom, use by"), 1.2),
                _mm(phrase("Comes as"), 17),
                self._temp(),
                _share(phrase("Taken, or why not"), 1.3),
                _thermometer(),
                _by(),
            ],
            limits=self._grouped(self._of(Step.RECEIVE)),
        )

    def _preparation(self) -> dict[str, Any]:
        cold, hot = self.limits.get("cold-holding").level, self.limits.get("hot-holding").level
        how = phrase(
            "What stands out of cold or hot holding before it is cooked or served. Measure when it "
            "comes out and when it goes back or on the heat: its time between {low} and {high} "
            "adds up.",
            low=cold.number(self.degree),
            high=f"{hot.number(self.degree)} °{self.degree}",
        )
        return _sheet(
            phrase("Preparation and resting"),
            how,
            f'haccp prepare BATCH TEMP "{self.day} 08:10" --paper --by JM',
            [
                _share(phrase("Food"), 1),
                _share(phrase("Batch"), 1),
                _mm(phrase("Out: time"), 16),
                self._temp(phrase("Out:")),
                _mm(phrase("Back or on: time"), 18),
                self._temp(phrase("Then:")),
                _share(phrase("Note"), 1),
                _thermometer(),
                _by(),
            ],
        )

    def _cooking(self) -> dict[str, Any]:
        return _sheet(
            phrase("Cooking"),
            phrase(
                "Measure the coldest spot of the thickest piece. For a roast, a line for each "
                "reading and what the oven shows."
            ),
            f'haccp cook BATCH TEMP "{self.day} 11:40" --held SECONDS --oven OVEN --paper --by JM',
            [
                _share(phrase("Food and kind"), 1.6),
                _share(phrase("Batch"), 1.2),
                _time(),
                self._temp(),
                _mm(phrase("Held (s)"), 15),
                self._temp(phrase("Oven")),
                _thermometer(),
                _by(),
            ],
            limits=self._grouped(self._of(Step.COOK)),
        )

    def _cooling(self) -> dict[str, Any]:
        return _sheet(
            phrase("Cooling"),
            phrase(
                "One batch a page. Measure the warmest spot, in the middle of the deepest "
                "container: at the start, and then every hour at least."
            ),
            f'haccp cool BATCH TEMP "{self.day} 14:05" --paper --by JM',
            [
                _mm(phrase("After"), 64),
                _time(20),
                self._temp(),
                _thermometer(),
                _by(),
                _share(phrase("Note"), 1),
            ],
            limits=self._grouped(self._of(Step.COOL)),
            boxes=(
                phrase("Food and amount"),
                phrase("Batch"),
                phrase("Container and depth"),
                phrase("Cooled how: ice bath, shallow pans, ..."),
                phrase("□ cooked   □ made from ingredients at room temperature"),
                phrase("□ cooled again after a reheat"),
            ),
            first=_cooling_rows(self._of(Step.COOL), self.degree),
            answers=True,
        )

    def _reheating(self) -> dict[str, Any]:
        return _sheet(
            phrase("Reheating"),
            phrase(
                "Measure when it goes on the heat and again when it is hot: the time "
                "between counts."
            ),
            f'haccp reheat BATCH TEMP "{self.day} 10:05" --held SECONDS --paper --by JM',
            [
                _share(phrase("Food"), 1),
                _share(phrase("Batch"), 1),
                _mm(phrase("Start: time"), 16),
                self._temp(phrase("Start:")),
                _mm(phrase("Hot: time"), 16),
                self._temp(phrase("Hot:")),
                _mm(phrase("Held (s)"), 15),
                _thermometer(),
                _by(),
            ],
            limits=self._grouped(self._of(Step.REHEAT)),
        )

    def _holdings(self) -> Iterator[dict[str, Any]]:
        """Give sheets with a column for each unit; for hot and cold even where there is none."""
        by_use: dict[str, list[HoldingUnit]] = {"hot": [], "cold": []}
        for unit in self.register.units.values():
            if unit.active:
                by_use.setdefault(unit.holds, []).append(unit)
        for holds, units in by_use.items():
            for first in range(0, max(len(units), 1), _UNITS_A_PAGE):
                yield self._holding(holds, units[first : first + _UNITS_A_PAGE])

    def _holding(self, holds: str, units: Sequence[HoldingUnit]) -> dict[str, Any]:
        names = [f"{one.name}, {_unbroken(one.every_min)}" for one in units]
        names += [""] * (_UNITS_A_PAGE - len(names))
        name = f"{holds}-holding"
        step = Step.HOT_HOLD if holds == "hot" else Step.COLD_HOLD
        title, how = _HELD[holds]
        return _sheet(
            phrase(title),
            phrase(how, degree=self.degree),
            f'haccp hold UNIT TEMP "{self.day} 14:05" --paper --by JM',
            [_time(), *(_share(name, 1) for name in names), _thermometer(), _by()],
            limits=self._grouped([one for one in self._of(step) if one.name == name]),
            answers=True,
        )

    def _time_control(self) -> dict[str, Any]:
        return _sheet(
            phrase("Time as a control"),
            phrase(
                "Write on the food when nothing of it may be left. It may not go back to holding."
            ),
            phrase(
                "{command}, at last {other}",
                command=f'haccp time-control BATCH TEMP "{self.day} 11:30" --paper --by JM',
                other="haccp used-up BATCH",
            ),
            [
                _share(phrase("Food and batch"), 1),
                _mm(phrase("Left: time"), 16),
                self._temp(phrase("Left:")),
                _mm(phrase("Nothing left by"), 18),
                _mm(phrase("Last look: time"), 17),
                self._temp(phrase("Last look:")),
                _mm(phrase("Gone: time"), 16),
                _thermometer(),
                _by(),
            ],
            limits=self._grouped(self._of(Step.TIME_CONTROL)),
        )

    def _thermometers(self) -> dict[str, Any]:
        accuracy = self.limits.get("thermometer-accuracy")
        boiling = boiling_point(pressure_at(self.altitude_m)).number(self.degree)
        ice = ICE_POINT.number(self.degree)
        accurate = f"{accuracy.level.number(self.degree)} °{self.degree}"
        allowed = phrase("within {difference}", difference=accurate)
        how = phrase(
            "In melting ice it should show {ice}; in boiling water here, at {altitude}, about "
            "{boiling}.",
            ice=f"{ice} °{self.degree}",
            altitude=f"{self.altitude_m} m",
            boiling=f"{boiling} °{self.degree}",
        )
        return _sheet(
            phrase("Thermometer checks"),
            how,
            phrase(
                "{command}, or {other}",
                command=f'haccp ice THERMOMETER TEMP "{self.day} 07:00" --by JM',
                other="haccp boil",
            ),
            [
                _time(),
                _thermometer(),
                _mm(phrase("Ice or boiling"), 20),
                self._temp(phrase("Should show")),
                self._temp(phrase("Shows")),
                _mm(phrase("Passed?"), 19),
                _share(phrase("If not: what was done"), 1),
                _by(),
            ],
            limits=[[phrase("Accuracy"), allowed, accuracy.citation]],
        )

    def _corrective_actions(self) -> dict[str, Any]:
        return _sheet(
            phrase("Corrective actions"),
            phrase("Whatever broke a limit, or may have: set the food apart and tell a manager."),
            f'haccp corrective BATCH_OR_UNIT "what was done" "{self.day} 14:20" --by JM',
            [
                _time(),
                _share(phrase("Batch or unit"), 1),
                _share(phrase("What was wrong"), 1.6),
                _share(phrase("What was done: food, and cause"), 2),
                _by(),
                _mm(phrase("Manager"), 18),
            ],
            row_mm=16,
        )

    def _discards(self) -> dict[str, Any]:
        return _sheet(
            phrase("Discarded food"),
            phrase("Whatever was thrown away, and why."),
            f'haccp discard BATCH "why" "{self.day} 20:20" --by JM',
            [
                _time(),
                _share(phrase("Food"), 1.3),
                _share(phrase("Batch"), 1.2),
                _share(phrase("How much"), 0.9),
                _share(phrase("Why"), 2),
                _by(),
            ],
            row_mm=12,
        )

    def _grouped(self, limits: Sequence[Limit]) -> list[list[str]]:
        """Say what each limit is for, what it asks and where it stands; equal kinds together."""
        found: dict[tuple[str, str, str], list[str]] = {}
        for limit in limits:
            cited = limit.citation
            cited += "" if limit.basis == "verified" else f"; {in_words(limit.basis_in_words)}"
            found.setdefault((limit.name, stated(limit, self.degree), cited), []).append(limit.kind)
        return [
            [_about(name, kinds), asked, cited] for (name, asked, cited), kinds in found.items()
        ]


def _sheet(
    title: str,
    how: str,
    entered: str,
    columns: Sequence[_Column],
    *,
    limits: Sequence[Sequence[str]] = (),
    boxes: Sequence[str] = (),
    first: Sequence[str] = (),
    answers: bool = False,
    row_mm: int = 10,
) -> dict[str, Any]:
    """Describe one page: `boxes` stand over the table, `first` begins its first column.

    `entered` is what to type later; `answers` leaves room for corrective actions. There are as
    many rows as fit.
    """
    return {
        "title": title,
        "how": how,
        "entered": entered,
        "columns": columns,
        "limits": limits,
        "boxes": boxes,
        "first": first,
        "answers": answers,
        "row_mm": row_mm,
    }


# What a unit's sheet is called, and how what is in it is measured.
_HELD = {
    "hot": (
        message("Holding hot"),
        message("A unit a column, in °{degree}. Stir, then measure the coolest spot of the food."),
    ),
    "cold": (
        message("Holding cold"),
        message("A unit a column, in °{degree}. Measure the food in the warmest place."),
    ),
    "egg": (
        message("Holding raw shell eggs"),
        message("A unit a column, in °{degree}. Read the air in the warmest place."),
    ),
    "frozen": (
        message("Holding frozen"),
        message(
            "A unit a column, in °{degree}. Read the air in the warmest place; feel that the food "
            "is hard."
        ),
    ),
}


def _unbroken(every_min: int) -> str:
    """Say how often, with spaces that do not end a line."""
    time = spell(timedelta(minutes=every_min))
    return phrase("every {time}", time=time).replace(" ", "\u00a0")


def _about(name: str, kinds: Sequence[str]) -> str:
    """Say what a limit is for by its name and, where it is for some, the kinds of food."""
    named = limit_in_words(name)
    of_kind = ", ".join(in_words(kind) for kind in kinds if kind)
    if not of_kind:
        return named
    if "" in kinds:
        return phrase("{limit}: {kinds}; or kind not known", limit=named, kinds=of_kind)
    return phrase("{limit}: {kinds}", limit=named, kinds=of_kind)


def _cooling_rows(cooling: Sequence[Limit], degree: Degree) -> list[str]:
    """Name a row for the start, one for each hour, and one for each moment of a limit."""
    due: dict[timedelta, list[str]] = {}
    before = timedelta(0)
    for limit in cooling:
        assert limit.within  # a cooling limit is a time: see the loader
        follows = limit.clock is CountsFrom.PREVIOUS_STAGE
        before = limit.within + (before if follows else timedelta(0))
        due.setdefault(before, []).append(_cooled_to(limit, limit.within, degree))
    last = max(due)
    hours = {hour * _HOUR for hour in range(1, last // _HOUR + 1)} if last <= _HOURLY else set()
    start = next(limit.start for limit in cooling if limit.start)
    return [
        phrase("START: the time AT {level}", level=f"{start.number(degree)} °{degree}"),
        *(": ".join([spell(moment), *due.get(moment, [])]) for moment in sorted({*due, *hours})),
    ]


def _cooled_to(limit: Limit, within: timedelta, degree: Degree) -> str:
    asked = target(limit, degree)
    if limit.clock is CountsFrom.PREVIOUS_STAGE:
        after = message("{asked}, {time} after the stage before")
        return phrase(after, asked=asked, time=spell(within))
    if limit.clock is CountsFrom.PREPARATION:
        return phrase("{asked} if from room temperature", asked=asked)
    return asked
