"""What trends show that asks for an act: only what its counts carry, and of people never.

A unit is told of by itself, a way of cooling or a thermometer by how it stands out of the others.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TypeVar

import pandas as pd

from haccp.kitchen.share import interval
from haccp.kitchen.trends import CHECK, COOLING
from haccp.rules.evidence import Verdict

_Key = TypeVar("_Key", str, tuple[str, ...])

# These choices are this project's own, no source; benchmarks/patterns.py measures what they let
# through where nothing is wrong anywhere, and what they find.

# A unit out of limits on fewer days is a deviation, which somebody decides, and no pattern.
_FEWEST_DAYS = 3
# So small a share of days out of limits is no pattern either.
_SHARE_OF_DAYS = 0.05
# Times of day that lie within so many hours are worth a look at what happens then.
_WITHIN_H = 3.0
# Of so many reviews in which nothing stands out, one may name something.
_REVIEWS = 20


@dataclass(frozen=True, slots=True)
class Counts:
    """Of `of` days or coolings so many were `bad`; the share behind that lies in `bounds`."""

    bad: int
    of: int
    bounds: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """One thing that comes again: `by` what it is counted, and the names of that.

    Of a unit `between` are the clock times [hour as a fraction] of what was out of limits, where
    they are close together, and `weekday` is theirs where they share one. `others` is what it
    stands out of.
    """

    by: str
    names: tuple[str, ...]
    counts: Counts
    others: Counts | None = None
    limit: str = ""
    between: tuple[float, float] | None = None
    weekday: int | None = None


@dataclass(frozen=True, slots=True)
class _Row:
    at: datetime
    name: str
    container: str
    depth_in: str
    method: str
    thermometer: str
    limit: str
    bad: bool

    @property
    def day(self) -> date:
        return self.at.date()

    @property
    def hour(self) -> float:
        return self.at.hour + self.at.minute / 60


# What a way of cooling may be: what it cooled in comes first, the rest is told if it says more.
_WAYS: dict[str, Callable[[_Row], tuple[str, ...]]] = {
    "container": lambda row: (row.container, row.depth_in) if row.container else (),
    "method": lambda row: (row.method,) if row.method else (),
    "food": lambda row: (row.name,),
    "weekday": lambda row: (str(row.at.weekday()),),
}


def patterns(observed: pd.DataFrame) -> list[Pattern]:
    """Find what comes again in what `trends.observed` gives, units first; of each the worst first.

    What is not shown proves nothing and is not counted. A thermometer is told of where what it
    measured out of limits is in more than one unit: else the unit is.
    """
    checks, coolings = _rows(observed, CHECK), _rows(observed, COOLING)
    units = _units(checks)
    instruments = [row for row in checks if row.thermometer]
    rest = [*_standing_out(coolings, _WAYS), *_thermometers(instruments)]
    return [*units, *rest]


def _rows(observed: pd.DataFrame, what: str) -> list[_Row]:
    decided = observed[
        (observed["what"] == what) & observed["verdict"].isin([Verdict.MET, Verdict.NOT_MET])
    ]
    fields = ["at", "name", "container", "depth_in", "method", "thermometer", "limit"]
    bad = decided["verdict"] == Verdict.NOT_MET
    return [
        _Row(*row) for row in decided[fields].assign(bad=bad).itertuples(index=False, name=None)
    ]


def _units(checks: Sequence[_Row]) -> list[Pattern]:
    """Tell of units that were out of limits on days enough to be more than now and then."""
    by_unit = _grouped(checks, lambda row: row.name)
    found = []
    for name, rows in by_unit.items():
        bad = [row for row in rows if row.bad]
        days = {row.day for row in bad}
        counts = _counts(len(days), len({row.day for row in rows}), _level(len(by_unit)))
        if len(days) >= _FEWEST_DAYS and counts.bounds[0] > _SHARE_OF_DAYS:
            found.append(
                Pattern(
                    by="unit",
                    names=(name,),
                    counts=counts,
                    limit=bad[-1].limit,
                    between=_between(bad, rows),
                    weekday=_weekday(bad, rows),
                )
            )
    return sorted(found, key=lambda one: (-one.counts.bounds[0], one.names))


def _between(bad: Sequence[_Row], rows: Sequence[_Row]) -> tuple[float, float] | None:
    """Give between which times all that was out of limits was read, if most is read at others."""
    first, last = min(row.hour for row in bad), max(row.hour for row in bad)
    inside = sum(first <= row.hour <= last for row in rows)
    return (first, last) if last - first <= _WITHIN_H and 2 * inside <= len(rows) else None


def _weekday(bad: Sequence[_Row], rows: Sequence[_Row]) -> int | None:
    """Give the weekday that all days out of limits share, if it is read on others as well."""
    (first, *more) = {row.day.weekday() for row in bad}
    return None if more or len({row.day.weekday() for row in rows}) == 1 else first


def _thermometers(checks: Sequence[_Row]) -> list[Pattern]:
    """Tell of a thermometer by the days of each unit that it read: one failing unit is no sign."""
    of_days = {(row.thermometer, row.name, row.day): row for row in checks}
    bad = {(row.thermometer, row.name, row.day) for row in checks if row.bad}
    days = [replace(row, bad=key in bad) for key, row in of_days.items()]
    ways: dict[str, Callable[[_Row], tuple[str, ...]]] = {
        "thermometer": lambda row: (row.thermometer,)
    }
    return [
        one
        for one in _standing_out(days, ways)
        if len({row.name for row in days if row.bad and row.thermometer == one.names[0]}) > 1
    ]


def _standing_out(
    rows: Sequence[_Row], ways: dict[str, Callable[[_Row], tuple[str, ...]]]
) -> list[Pattern]:
    """Tell of groups whose share lies above that of all others, bounds and all.

    The bounds are as wide as so many groups ask for together. The same rows are told of once.
    """
    groups = [
        (by, names, mine, others)
        for by, way in ways.items()
        for names, mine, others in _each(rows, way)
    ]
    level = _level(len(groups))
    found: dict[frozenset[int], Pattern] = {}
    for by, names, mine, others in groups:
        counts, beside = _counted(mine, level), _counted(others, level)
        if counts.bounds[0] > beside.bounds[1]:
            which = frozenset(map(id, mine))
            found.setdefault(which, Pattern(by=by, names=names, counts=counts, others=beside))
    return sorted(found.values(), key=lambda one: (-one.counts.bounds[0], one.by, one.names))


def _each(
    rows: Sequence[_Row], way: Callable[[_Row], tuple[str, ...]]
) -> Iterable[tuple[tuple[str, ...], list[_Row], list[_Row]]]:
    """Give each group of which somebody said what it is, with those of which that is otherwise."""
    said = [row for row in rows if way(row)]
    for names, mine in _grouped(said, way).items():
        others = [row for row in said if way(row) != names]
        if others:
            yield names, mine, others


def _grouped(rows: Iterable[_Row], key: Callable[[_Row], _Key]) -> dict[_Key, list[_Row]]:
    groups: dict[_Key, list[_Row]] = {}
    for row in rows:
        groups.setdefault(key(row), []).append(row)
    return groups


def _level(groups: int) -> float:
    return 1 - 1 / (_REVIEWS * max(groups, 1))


def _counted(rows: Sequence[_Row], level: float) -> Counts:
    return _counts(sum(row.bad for row in rows), len(rows), level)


def _counts(bad: int, of: int, level: float) -> Counts:
    return Counts(bad, of, interval(bad, of, level))
