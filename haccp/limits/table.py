"""Reads one [[limit]] table of a limits file strictly: nothing in it is guessed."""

import re
from collections.abc import Iterable, Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any, TypeVar

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.limits.limit import MICROWAVED, CountsFrom, Limit, Row, Side
from haccp.phrases import any_of
from haccp.temperature import Degree, Level

_REQUIRED = {
    "name": str, "side": str, "inclusive": bool,
    "citation": str, "source": str, "basis": str, "text": str,
}  # fmt: skip
_NUMBERS: tuple[type[int], type[Decimal]] = (int, Decimal)
_OPTIONAL = {
    "kind": str, "f": _NUMBERS, "c": _NUMBERS, "hold_s": int, "rows": list,
    "start_f": _NUMBERS, "start_c": _NUMBERS, "within_min": int, "clock": str,
    "stand_s": int, "address": str, "printed": str, "new": bool,
}  # fmt: skip
_KNOWN: dict[str, Any] = {**_REQUIRED, **_OPTIONAL}

# What the time of a limit may be counted from; without one only a reheat can be judged.
CLOCKS = {
    "cooling-stage-1": (CountsFrom.START,),
    "cooling-stage-2": (CountsFrom.START, CountsFrom.PREVIOUS_STAGE),
    "cooling-ambient": (CountsFrom.PREPARATION,),
    "date-mark": (CountsFrom.PREPARATION_DAY,),
    "reheat": (CountsFrom.REHEATING,),
    "reheat-microwave": (CountsFrom.REHEATING,),
    "cooling-received": (CountsFrom.RECEIVING,),
    "initial-heating": (CountsFrom.HEATING,),
    "time-control-hot": (CountsFrom.REMOVAL,),
    "time-control-cold": (CountsFrom.REMOVAL,),
    "time-control-6h": (CountsFrom.REMOVAL,),
    "time-control-opened": (CountsFrom.REMOVAL,),
    "time-out-allowed": (CountsFrom.LAST_PROPER,),
    "time-out-longest": (CountsFrom.LAST_PROPER,),
}
_TIMED = tuple(name for name in CLOCKS if not name.startswith("reheat"))
# What has no temperature: a time alone, or words that name no number.
_TIME_ALONE = ("initial-heating", "time-out-allowed", "time-out-longest")
WORDS_ALONE = ("cook-by-instructions", "reheat-for-order")
_WITHOUT_TEMPERATURE = (*_TIME_ALONE, *WORDS_ALONE)

_TENTH = Decimal("0.1")

# A slip of a digit, not a limit: no food's is beyond a thousand degrees, a day's hold or a year.
_LARGEST, _LONGEST_HOLD_S, _LONGEST_MIN = 1_000, 86_400, 525_600

_BASES = (message("verified"), message("from memory"), message("common practice"))
_Word = TypeVar("_Word", Side, CountsFrom, Degree)


def read_limit(entry: Any) -> Limit:
    """Read a table; raises Refused with what is wrong in it."""
    if not isinstance(entry, dict):
        raise Refused(phrase("a limit is a [[limit]] table, not {entry}.", entry=repr(entry)))
    name = entry.get("name", phrase("a limit without a name"))
    for key in entry:
        if key not in _KNOWN:
            raise Refused(
                phrase(
                    "{name} has {key}, which is not known: known are {known}.",
                    name=name,
                    key=repr(key),
                    known=", ".join(_KNOWN),
                )
            )
    for key in _REQUIRED:
        if entry.get(key) in (None, ""):
            raise Refused(phrase("{name} needs {key}.", name=name, key=key))
    for key, value in entry.items():
        wanted = _KNOWN[key]
        # bool is an int to Python, not to a reader of limits
        if not isinstance(value, wanted) or (isinstance(value, bool) and wanted is not bool):
            instead = _instead(key, value, wanted)
            raise Refused(
                phrase(
                    "{name}: {key} cannot be {value}: {instead}.",
                    name=name,
                    key=key,
                    value=repr(value),
                    instead=instead,
                )
            )
    if entry["basis"] not in _BASES:
        known = any_of(list(map(repr, _BASES)))
        raise Refused(phrase("{name}: basis is {known}.", name=name, known=known))
    clock = _word(CountsFrom, entry, "clock", name) if "clock" in entry else None
    if clock is not None and clock not in CLOCKS.get(name, ()):
        raise Refused(
            phrase("{name} cannot be counted from {value}.", name=name, value=repr(clock.value))
        )
    return Limit(
        name=entry["name"],
        kind=entry.get("kind", ""),
        side=_side(entry, name),
        inclusive=entry["inclusive"],
        rows=tuple(_rows(entry, name)),
        start=_start(entry, name),
        within=_within(entry, name),
        clock=clock,
        citation=entry["citation"],
        source=entry["source"],
        basis=entry["basis"],
        text=entry["text"],
        printed=_word(Degree, entry, "printed", name) if "printed" in entry else None,
        stand=_stand(entry, name),
        address=entry.get("address", ""),
    )


def _instead(key: str, value: Any, wanted: Any) -> str:
    """Say how a value is typed."""
    if wanted is bool:
        return phrase("type true or false")
    if wanted is str:
        return phrase("type it in quotes")
    if isinstance(value, str) and re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", value):
        return phrase("type it without quotes, {key} = {value}", key=key, value=value)
    if wanted is list:
        return phrase("type a list, rows = [[130, 54, 60]]")
    return phrase("type a number")


def check_equivalents(limit: Limit) -> None:
    """Refuse a number beside the printed one that is weaker than it, or a tenth or more off.

    Where a cooling starts, higher is stricter: its time begins sooner.
    """
    if limit.printed is None:
        return
    above = limit.side is Side.AT_OR_ABOVE
    levels = [(row.level, above) for row in limit.rows]
    if limit.start:
        levels.append((limit.start, above or limit.clock is CountsFrom.START))
    for level, up in levels:
        exact = limit.equivalent(level)
        beside = level.f if limit.printed is Degree.C else level.c
        over = beside - exact if up else exact - beside
        if not 0 <= over < _TENTH:
            raise Refused(
                phrase(
                    "{name}: printed in °{degree} alone, so {beside} beside it has to be its "
                    "equivalent, at most a tenth on the stricter side.",
                    name=limit.name,
                    degree=limit.printed,
                    beside=beside,
                )
            )


def _word(words: type[_Word], entry: Mapping[str, Any], key: str, name: str) -> _Word:
    try:
        return words(entry[key])
    except ValueError:
        known = any_of([repr(one.value) for one in words])
        told = phrase("{name}: {key} is {known}.", name=name, key=key, known=known)
        raise Refused(told) from None


def _side(entry: Mapping[str, Any], name: str) -> Side:
    side = _word(Side, entry, "side", name)
    if name in _WITHOUT_TEMPERATURE and side is not Side.AT_OR_BELOW:
        raise Refused(
            phrase(
                "{name} has no temperature: its side is {value}.",
                name=name,
                value=repr(Side.AT_OR_BELOW.value),
            )
        )
    return side


def _rows(entry: Mapping[str, Any], name: str) -> Iterable[Row]:
    given = [key for key in ("rows", "f", "c", "hold_s") if key in entry]
    if name in _WITHOUT_TEMPERATURE and given:
        raise Refused(
            phrase("{name} has no temperature: leave out {key}.", name=name, key=given[0])
        )
    if name in _WITHOUT_TEMPERATURE or (name == "date-mark" and not given):
        return
    if given[:1] == ["rows"] and len(given) > 1:
        raise Refused(phrase("{name}: give either f and c, or rows.", name=name))
    rows = entry.get("rows", [[entry.get("f"), entry.get("c"), entry.get("hold_s", 0)]])
    if not rows:
        raise Refused(phrase("{name}: rows is empty.", name=name))
    last: Decimal | None = None
    for row in rows:
        if not (isinstance(row, list) and len(row) == 3):
            raise Refused(
                phrase(
                    "{name}: each of rows is [°F, °C, seconds], not {row}.",
                    name=name,
                    row=repr(row),
                )
            )
        f, c, seconds = row
        level = _level(f, c, name)
        if type(seconds) is not int or not 0 <= seconds <= _LONGEST_HOLD_S:
            raise Refused(
                phrase(
                    "{name}: a hold is whole seconds, 0 seconds or more and a day at most.",
                    name=name,
                )
            )
        if last is not None and level.f <= last:
            raise Refused(phrase("{name}: rows rise in temperature.", name=name))
        last = level.f
        yield Row(level, timedelta(seconds=seconds))


def _level(f: Any, c: Any, name: str) -> Level:
    for number in (f, c):
        if not isinstance(number, _NUMBERS) or isinstance(number, bool):
            raise Refused(
                phrase(
                    "{name} needs its number in both degrees as printed, in °F and °C.", name=name
                )
            )
        if not Decimal(number).is_finite() or Decimal(number).copy_abs() > _LARGEST:
            raise Refused(phrase("{name}: {number} is no temperature.", name=name, number=number))
    return Level(Decimal(f), Decimal(c))


def _start(entry: Mapping[str, Any], name: str) -> Level | None:
    if ("start_f" in entry) is not ("start_c" in entry):
        raise Refused(
            phrase(
                "{name} needs the start in both degrees as printed, start_f and start_c.", name=name
            )
        )
    if "start_f" not in entry:
        if entry.get("clock") == CountsFrom.START:
            raise Refused(
                phrase("{name}: its clock begins at a start: give start_f and start_c.", name=name)
            )
        return None
    return _level(entry["start_f"], entry["start_c"], name)


def _within(entry: Mapping[str, Any], name: str) -> timedelta | None:
    if ("within_min" in entry) is not ("clock" in entry):
        raise Refused(phrase("{name}: within_min and clock go together.", name=name))
    if "within_min" not in entry:
        if name in _TIMED:
            raise Refused(phrase("{name} needs within_min and clock.", name=name))
        return None
    # less than 0 minutes of initial heating: none at all
    never = name == "initial-heating" and not entry["inclusive"] and entry["within_min"] == 0
    if not never and not 0 < entry["within_min"] <= _LONGEST_MIN:
        raise Refused(
            phrase(
                "{name}: within_min is above 0 and at most {most}.", name=name, most=_LONGEST_MIN
            )
        )
    return timedelta(minutes=entry["within_min"])


def _stand(entry: Mapping[str, Any], name: str) -> timedelta:
    seconds = entry.get("stand_s", 0)
    if seconds and name not in MICROWAVED:
        raise Refused(phrase("{name}: only food from a microwave stands covered.", name=name))
    if not 0 <= seconds <= _LONGEST_HOLD_S:
        raise Refused(phrase("{name}: stand_s is 0 seconds or more and a day at most.", name=name))
    return timedelta(seconds=seconds)
