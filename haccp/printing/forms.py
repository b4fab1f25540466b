"""Gathers the blank log sheets to write on when the power is out: the same fields as an entry's.

The shape of the result is what reports/forms.typ prints.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from haccp.kitchen.register import Register
from haccp.limits import CountsFrom, Limit, LimitSet
from haccp.logs.csv_log import OPTIONAL, REQUIRED
from haccp.printing.limits_in_words import kinds_of, limits_of, moment_of_printing, stated
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
    guard = f", moved inward by {limits.guard}" if limits.guard else ""
    return {
        "title": "Blank log sheets",
        "kitchen": kitchen.name,
        "printed": moment_of_printing(printed, register.zone),
        "limit_set": f"{limits.title}, revision {limits.revision}{guard}",
        "load": "haccp load-readings FILE.csv --paper, columns "
        + ", ".join((*REQUIRED, *OPTIONAL)),
        "sheets": list(sheets.all()),
    }


def _mm(name: str, width: int) -> _Column:
    return name, {"mm": width}


def _share(name: str, width: float) -> _Column:
    """Give a column for words, as wide as its share of what is left of the page."""
    return name, {"share": width}


_TIME, _BY, _THERMOMETER = _mm("Time", 16), _mm("By", 14), _mm("Thermometer", 22)


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

    def _temp(self, name: str = "Temp") -> _Column:
        return _mm(f"{name} °{self.degree}", 16)

    def _batches(self) -> dict[str, Any]:
        return _sheet(
            "Batches",
            "A line for each batch that is opened, divided or put together.",
            f'haccp batch FOOD "{self.day} 06:20" --code CODE --kind KIND --from BATCH --by JM',
            [_TIME, _share("Food", 2), _share("Code", 1.4), _share("Kind", 1.2),
             _share("How much", 1), _share("Made from (batches)", 1.6), _BY],
        )  # fmt: skip

    def _receiving(self) -> dict[str, Any]:
        return _sheet(
            "Receiving",
            "Measure each delivery before it is put away, eggs by the air around them; "
            "write whether it comes cold, hot, frozen or as eggs.",
            f'haccp receive FOOD TEMP "{self.day} 06:20" --as cold --code CODE --paper --by JM',
            [_TIME, _share("Food, code, amount", 2), _share("From whom, use by", 1.2),
             _mm("Comes as", 17), self._temp(), _share("Taken, or why not", 1.3), _THERMOMETER,
             _BY],
            limits=self._grouped(self._of(Step.RECEIVE)),
        )  # fmt: skip

    def _preparation(self) -> dict[str, Any]:
        cold, hot = self.limits.get("cold-holding").level, self.limits.get("hot-holding").level
        between = f"between {cold.number(self.degree)} and {hot.number(self.degree)} °{self.degree}"
        return _sheet(
            "Preparation and resting",
            "What stands out of cold or hot holding before it is cooked or served. Measure when it "
            f"comes out and when it goes back or on the heat: its time {between} adds up.",
            f'haccp prepare BATCH TEMP "{self.day} 08:10" --paper --by JM',
            [_share("Food", 1), _share("Batch", 1), _mm("Out: time", 16), self._temp("Out:"),
             _mm("Back or on: time", 18), self._temp("Then:"), _share("Note", 1), _THERMOMETER,
             _BY],
        )  # fmt: skip

    def _cooking(self) -> dict[str, Any]:
        return _sheet(
            "Cooking",
            "Measure the coldest spot of the thickest piece. For a roast, a line for each reading "
            "and what the oven shows.",
            f'haccp cook BATCH TEMP "{self.day} 11:40" --held SECONDS --oven OVEN --paper --by JM',
            [_share("Food and kind", 1.6), _share("Batch", 1.2), _TIME, self._temp(),
             _mm("Held (s)", 15), self._temp("Oven"), _THERMOMETER, _BY],
            limits=self._grouped(self._of(Step.COOK)),
        )  # fmt: skip

    def _cooling(self) -> dict[str, Any]:
        return _sheet(
            "Cooling",
            "One batch a page. Measure the warmest spot, in the middle of the deepest container: "
            "at the start, and then every hour at least.",
            f'haccp cool BATCH TEMP "{self.day} 14:05" --paper --by JM',
            [_mm("After", 64), _mm("Time", 20), self._temp(), _THERMOMETER, _BY, _share("Note", 1)],
            limits=self._grouped(self._of(Step.COOL)),
            boxes=(
                "Food and amount", "Batch", "Container and depth",
                "Cooled how: ice bath, shallow pans, ...",
                "□ cooked   □ made from ingredients at room temperature",
                "□ cooled again after a reheat",
            ),
            first=_cooling_rows(self._of(Step.COOL), self.degree),
            answers=True,
        )  # fmt: skip

    def _reheating(self) -> dict[str, Any]:
        return _sheet(
            "Reheating",
            "Measure when it goes on the heat and again when it is hot: the time between counts.",
            f'haccp reheat BATCH TEMP "{self.day} 10:05" --held SECONDS --paper --by JM',
            [_share("Food", 1), _share("Batch", 1), _mm("Start: time", 16), self._temp("Start:"),
             _mm("Hot: time", 16), self._temp("Hot:"), _mm("Held (s)", 15), _THERMOMETER, _BY],
            limits=self._grouped(self._of(Step.REHEAT)),
        )  # fmt: skip

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
            f"Holding {title}",
            f"A unit a column, in °{self.degree}. {how}",
            f'haccp hold UNIT TEMP "{self.day} 14:05" --paper --by JM',
            [_TIME, *(_share(name, 1) for name in names), _THERMOMETER, _BY],
            limits=self._grouped([one for one in self._of(step) if one.name == name]),
            answers=True,
        )

    def _time_control(self) -> dict[str, Any]:
        return _sheet(
            "Time as a control",
            "Write on the food when nothing of it may be left. It may not go back to holding.",
            f'haccp time-control BATCH TEMP "{self.day} 11:30" --paper --by JM, '
            "at last haccp used-up BATCH",
            [_share("Food and batch", 1), _mm("Left: time", 16), self._temp("Left:"),
             _mm("Nothing left by", 18), _mm("Last look: time", 17), self._temp("Last look:"),
             _mm("Gone: time", 16), _THERMOMETER, _BY],
            limits=self._grouped(self._of(Step.TIME_CONTROL)),
        )  # fmt: skip

    def _thermometers(self) -> dict[str, Any]:
        accuracy = self.limits.get("thermometer-accuracy")
        boiling = boiling_point(pressure_at(self.altitude_m)).number(self.degree)
        ice = ICE_POINT.number(self.degree)
        allowed = f"within {accuracy.level.number(self.degree)} °{self.degree}"
        return _sheet(
            "Thermometer checks",
            f"In melting ice it should show {ice} °{self.degree}; in boiling water here, at "
            f"{self.altitude_m} m, about {boiling} °{self.degree}.",
            f'haccp ice THERMOMETER TEMP "{self.day} 07:00" --by JM, or haccp boil',
            [_TIME, _THERMOMETER, _mm("Ice or boiling", 20), self._temp("Should show"),
             self._temp("Shows"), _mm("Passed?", 19), _share("If not: what was done", 1), _BY],
            limits=[["Accuracy", allowed, accuracy.citation]],
        )  # fmt: skip

    def _corrective_actions(self) -> dict[str, Any]:
        return _sheet(
            "Corrective actions",
            "Whatever broke a limit, or may have: set the food apart and tell a manager.",
            f'haccp corrective BATCH_OR_UNIT "what was done" "{self.day} 14:20" --by JM',
            [_TIME, _share("Batch or unit", 1), _share("What was wrong", 1.6),
             _share("What was done: food, and cause", 2), _BY, _mm("Manager", 18)],
            row_mm=16,
        )  # fmt: skip

    def _discards(self) -> dict[str, Any]:
        return _sheet(
            "Discarded food",
            "Whatever was thrown away, and why.",
            f'haccp discard BATCH "why" "{self.day} 20:20" --by JM',
            [_TIME, _share("Food", 1.3), _share("Batch", 1.2), _share("How much", 0.9),
             _share("Why", 2), _BY],
            row_mm=12,
        )  # fmt: skip

    def _grouped(self, limits: Sequence[Limit]) -> list[list[str]]:
        """Say what each limit is for, what it asks and where it stands; equal kinds together."""
        found: dict[tuple[str, str, str], list[str]] = {}
        for limit in limits:
            cited = limit.citation
            cited += "" if limit.basis == "verified" else f"; {limit.basis_in_words}"
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
    "hot": ("hot", "Stir, then measure the coolest spot of the food."),
    "cold": ("cold", "Measure the food in the warmest place."),
    "egg": ("raw shell eggs", "Read the air in the warmest place."),
    "frozen": ("frozen", "Read the air in the warmest place; feel that the food is hard."),
}


def _unbroken(every_min: int) -> str:
    """Say how often, with spaces that do not end a line."""
    return f"every {spell(timedelta(minutes=every_min))}".replace(" ", "\u00a0")


def _about(name: str, kinds: Sequence[str]) -> str:
    """Say what a limit is for by its name and, where it is for some, the kinds of food."""
    named = name.replace("-", " ").capitalize()
    of_kind = [kind for kind in kinds if kind]
    if not of_kind:
        return named
    unknown = "; or kind not known" if "" in kinds else ""
    return f"{named}: {', '.join(of_kind)}{unknown}"


def _cooling_rows(cooling: Sequence[Limit], degree: Degree) -> list[str]:
    """Name a row for the start, one for each hour, and one for each moment of a limit."""
    due: dict[timedelta, list[str]] = {}
    before = timedelta(0)
    for limit in cooling:
        assert limit.within  # a cooling limit is a time: see the loader
        follows = limit.clock is CountsFrom.PREVIOUS_STAGE
        before = limit.within + (before if follows else timedelta(0))
        words = target(limit, degree)
        words += f", {spell(limit.within)} after the stage before" if follows else ""
        words += " if from room temperature" if limit.clock is CountsFrom.PREPARATION else ""
        due.setdefault(before, []).append(words)
    last = max(due)
    hours = {hour * _HOUR for hour in range(1, last // _HOUR + 1)} if last <= _HOURLY else set()
    start = next(limit.start for limit in cooling if limit.start)
    return [
        f"START: the time AT {start.number(degree)} °{degree}",
        *(": ".join([spell(moment), *due.get(moment, [])]) for moment in sorted({*due, *hours})),
    ]
