"""A limit's demands in words, how two limits differ, and which of them is the weaker."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from haccp.language import counted, message, phrase
from haccp.limits.limit import HEATED, MICROWAVED, CountsFrom, Limit, LimitSet, Row, Side
from haccp.temperature import Degree, Level
from haccp.time import spell, spell_hold

_SIGNS = {
    (Side.AT_OR_ABOVE, True): "≥",
    (Side.AT_OR_ABOVE, False): ">",
    (Side.AT_OR_BELOW, True): "≤",
    (Side.AT_OR_BELOW, False): "<",
}
_SINCE = {
    CountsFrom.START: message("of the start"),
    CountsFrom.PREVIOUS_STAGE: message("of the previous stage"),
    CountsFrom.PREPARATION: message("of the preparation"),
    CountsFrom.REHEATING: message("of the reheating"),
    CountsFrom.RECEIVING: message("of the receiving"),
    CountsFrom.HEATING: message("of the heating"),
    CountsFrom.REMOVAL: message("of the removal"),
    CountsFrom.LAST_PROPER: message("of the last proper temperature"),
}
# More alternatives than these are told by the first and the last one.
_MANY = 4


def number(limit: Limit, level: Level) -> str:
    """Show a level of a limit as printed; an equivalent that the source does not print has a sign.

    ``135 °F (57 °C)``, or ``21 °C (= 69.8 °F)``, or ``70 °F (≈ 21.1 °C)`` for a rounded one.
    """
    if limit.printed is None:
        return str(level)
    in_f = limit.printed is Degree.F
    beside = level.c if in_f else level.f
    sign = "=" if beside == limit.equivalent(level) else "≈"
    return f"{level.f} °F ({sign} {beside} °C)" if in_f else f"{level.c} °C ({sign} {beside} °F)"


def bound(limit: Limit, level: Level) -> str:
    """Show what is kept: ``≥ 135 °F (57 °C)``."""
    return f"{_SIGNS[limit.side, limit.inclusive]} {number(limit, level)}"


def hold(limit: Limit, row: Row) -> str:
    """Show for how long: ``for 15 s``; empty where a limit is not about reaching a temperature."""
    seconds = int(row.hold.total_seconds())
    if not seconds:
        return phrase("for an instant") if limit.name in (*HEATED, *MICROWAVED) else ""
    return phrase("for {time}", time=spell_hold(row.hold))


def counted_from(limit: Limit) -> str:
    """Show within what time, and what it is counted from; empty where a limit has none."""
    if limit.within is None or limit.clock is None:
        return ""
    if limit.clock is CountsFrom.PREPARATION_DAY:
        return counted(
            "within {count} day, preparation on day 1",
            "within {count} days, preparation on day 1",
            limit.within.days,
        )
    if not limit.within:
        return phrase("no heating at all")  # the loader takes no time at all of nothing else
    time, since = spell(limit.within), phrase(_SINCE[limit.clock])
    if _excludes_its_time(limit):
        return phrase("in less than {time} {of_what}", time=time, of_what=since)
    return phrase("within {time} {of_what}", time=time, of_what=since)


def stood(limit: Limit) -> str:
    """Show for how long food from a microwave stands; empty where a limit asks for none."""
    return phrase("then stood covered for {time}", time=spell(limit.stand)) if limit.stand else ""


def _excludes_its_time(limit: Limit) -> bool:
    """Whether the very time is too long, where a limit is a time alone."""
    return not limit.rows and not limit.inclusive


def demand(limit: Limit) -> str:
    """Show all that a limit asks: its number, its hold, its start and its time."""
    rows = _rows(limit, limit.rows) if limit.rows else ""
    start = phrase("from {level}", level=number(limit, limit.start)) if limit.start else ""
    told = " ".join(filter(None, (rows, stood(limit), start, counted_from(limit))))
    return told or phrase("no number")


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What a new limit asks and an old one does not; one of them is None where a set lacks it.

    `weaker` says that something that breaks the old limit keeps the new one, `stricter` the
    reverse; both can be so. `words` is empty where the two judge alike.
    """

    old: Limit | None
    new: Limit | None
    words: str
    weaker: bool = False
    stricter: bool = False


def differences(old: LimitSet, new: LimitSet) -> tuple[Difference, ...]:
    """Find every limit that does not judge alike in two sets."""
    before, after = ({(one.name, one.kind): one for one in s.limits} for s in (old, new))
    first_stage = max(_first_stage(old), _first_stage(new))
    found = [_compared(before.get(key), after.get(key), first_stage) for key in before | after]
    return tuple(one for one in found if one.words)


def replacements(base: LimitSet, merged: LimitSet) -> tuple[Difference, ...]:
    """Compare what a kitchen laid over a set with what it replaces, even where they judge alike.

    What it adds replaces nothing.
    """
    first_stage = max(_first_stage(base), _first_stage(merged))
    before = {(one.name, one.kind): one for one in base.limits}
    return tuple(_compared(before.get((n.name, n.kind)), n, first_stage) for n in merged.overrides)


def _compared(old: Limit | None, new: Limit | None, first_stage: timedelta) -> Difference:
    """Compare two limits of one name, or tell the one there is whole."""
    if old and new:
        return difference(old, new, first_stage)
    only = old or new
    assert only is not None  # a difference is about one at least
    return Difference(old=old, new=new, words=demand(only))


def difference(old: Limit, new: Limit, first_stage: timedelta) -> Difference:
    """Compare two limits of one name.

    `first_stage` is how long a cooling's first stage may take, for a stage that is counted from it.
    """
    found = [
        *_by_rows(old, new),
        *_by_standing(old, new),
        *_by_start(old, new),
        *_by_time(old, new, first_stage),
    ]
    return Difference(
        old=old,
        new=new,
        words="; ".join(words for words, _, _ in found),
        weaker=any(weaker for _, weaker, _ in found),
        stricter=any(stricter for _, _, stricter in found),
    )


# What was found different: in words, whether the new one is weaker, whether it is stricter.
_Found = Iterator[tuple[str, bool, bool]]


def _by_rows(old: Limit, new: Limit) -> _Found:
    had_all, has_all = _kept(old), _kept(new)
    if had_all == has_all and (old.inclusive is new.inclusive or not has_all):
        return
    same = set(had_all) & set(has_all) if old.inclusive is new.inclusive else set()
    had = _rows(old, [row for row in had_all if row not in same])
    has = _rows(new, [row for row in has_all if row not in same])
    yield _not(has, had), _admits_more(new, old), _admits_more(old, new)


def _by_standing(old: Limit, new: Limit) -> _Found:
    if old.stand != new.stand:
        without = phrase("without standing")
        yield (
            _not(stood(new) or without, stood(old) or without),
            new.stand < old.stand,
            new.stand > old.stand,
        )


def _kept(limit: Limit) -> tuple[Row, ...]:
    """Give what has to be kept or reached; food under time control may have no ceiling."""
    return () if limit.clock is CountsFrom.REMOVAL and limit.start is None else limit.rows


def _admits_more(one: Limit, other: Limit) -> bool:
    """Whether something keeps one limit's rows and none of the other's."""
    rows = _kept(one)
    if not rows or not _kept(other):
        return bool(_kept(other))
    return not all(_implies(one, row, other, degree) for row in rows for degree in Degree)


def _implies(one: Limit, row: Row, other: Limit, degree: Degree) -> bool:
    sign = 1 if other.side is Side.AT_OR_ABOVE else -1
    needed = [asked for asked in _kept(other) if asked.hold <= row.hold]
    over = [sign * (row.level.number(degree) - asked.level.number(degree)) for asked in needed]
    return any(by > 0 or (by == 0 and (other.inclusive or not one.inclusive)) for by in over)


def _by_start(old: Limit, new: Limit) -> _Found:
    had, has = _start(old), _start(new)
    if had is None or has is None or (had == has and old.inclusive is new.inclusive):
        return
    # a cooling's time begins later at a lower start
    sign = -1 if new.side is Side.AT_OR_BELOW and new.clock is CountsFrom.REMOVAL else 1
    over = [sign * (has.number(degree) - had.number(degree)) for degree in Degree]
    if new.clock is not CountsFrom.REMOVAL:
        words = phrase(
            "from {level}, not from {replaced}", level=number(new, has), replaced=number(old, had)
        )
        yield words, min(over) < 0, max(over) > 0
        return
    words = phrase(
        "leaving at {level}, not at {replaced}", level=bound(new, has), replaced=bound(old, had)
    )
    weaker = min(over) < 0 or (min(over) == 0 and new.inclusive and not old.inclusive)
    stricter = max(over) > 0 or (max(over) == 0 and old.inclusive and not new.inclusive)
    yield words, weaker, stricter


def _start(limit: Limit) -> Level | None:
    return limit.start or (limit.level if limit.clock is CountsFrom.REMOVAL else None)


def _by_time(old: Limit, new: Limit, first_stage: timedelta) -> _Found:
    strict = [_excludes_its_time(one) for one in (old, new)]
    if (old.within, old.clock, strict[0]) == (new.within, new.clock, strict[1]):
        return
    # linear in how long the first stage took, so that its ends decide
    pairs = [
        ((_allowed(old, took), not strict[0]), (_allowed(new, took), not strict[1]))
        for took in (timedelta(0), first_stage)
    ]
    yield (
        _not(
            counted_from(new) or phrase("without a time"),
            counted_from(old) or phrase("without one"),
        ),
        any(has > had for had, has in pairs),
        any(has < had for had, has in pairs),
    )


def _allowed(limit: Limit, first_stage: timedelta) -> timedelta:
    if limit.within is None:
        return timedelta.max
    return limit.within + (
        first_stage if limit.clock is CountsFrom.PREVIOUS_STAGE else timedelta(0)
    )


def _first_stage(limits: LimitSet) -> timedelta:
    stages = (one.within for one in limits.limits if one.name == "cooling-stage-1")
    return next((within for within in stages if within), timedelta(0))


def _rows(limit: Limit, rows: Sequence[Row]) -> str:
    told = [f"{bound(limit, row.level)} {hold(limit, row)}".strip() for row in rows]
    if not told:
        if not limit.rows:
            return phrase("without a temperature")
        return phrase("without more") if _kept(limit) else phrase("without a ceiling")
    if len(told) > _MANY:
        return phrase(
            "one of {count} rows from {first} to {last}",
            count=len(told),
            first=told[0],
            last=told[-1],
        )
    rows_told, *others = told
    for other in others:
        rows_told = phrase("{rows} or {row}", rows=rows_told, row=other)
    return rows_told


def _not(has: str, had: str) -> str:
    return phrase("{has}, not {had}", has=has, had=had)
