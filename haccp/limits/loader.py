"""Reads limits files strictly: what is missing, unknown or doubled is refused with its line."""

import hashlib
import json
import re
import tomllib
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from haccp.errors import Refused
from haccp.limits.limit import (
    DIFFERENCES,
    HEATED,
    MICROWAVED,
    NOT_READ,
    CountsFrom,
    Limit,
    LimitSet,
    Row,
    Side,
)
from haccp.temperature import Degree, Level, Temperature, is_of_an_oven, is_plausible

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
_CLOCKS = {
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
_TIMED = tuple(name for name in _CLOCKS if not name.startswith("reheat"))
# What has no temperature: a time alone, or words that name no number.
_TIME_ALONE = ("initial-heating", "time-out-allowed", "time-out-longest")
_WORDS_ALONE = ("cook-by-instructions", "reheat-for-order")
_WITHOUT_TEMPERATURE = (*_TIME_ALONE, *_WORDS_ALONE)
# Every name that a rule reads, or that a page prints beside the numbers.
_NAMES = {
    *_CLOCKS, *_WORDS_ALONE,
    "receiving-cold", "receiving-egg-air", "receiving-hot", "receiving-frozen",
    "hot-holding", "cold-holding", "egg-holding", "frozen-holding",
    "cook", "cook-microwave", "oven", "thermometer-accuracy", "air-thermometer-accuracy",
}  # fmt: skip

_FOLDER = Path(__file__).parent
_HEAD = {"id": str, "revision": int, "title": str, "publisher": str}
_FILE = re.compile(r"([a-z0-9-]+)\.([1-9][0-9]{0,3})\.toml")
_TENTH = Decimal("0.1")

# A slip of a digit, not a limit: no food's is beyond a thousand degrees, a day's hold or a year.
_LARGEST, _LONGEST_HOLD_S, _LONGEST_MIN = 1_000, 86_400, 525_600

# Numbers that a code prints side by side differ by their rounding: of those that ship at most by
# 0.8 °F (150 °F beside 66 °C, 130 °F beside 54 °C). One digit wrong in °C is 1.8 °F.
_APART = Fraction(3, 2)
# No thermometer for food is stated to be further off [°F]: common practice, no source.
LEAST_ACCURATE = 10

_BASES = ("verified", "from memory", "common practice")
_Word = TypeVar("_Word", Side, CountsFrom, Degree)


@cache
def revisions() -> Mapping[str, tuple[int, ...]]:
    """Say which limit sets ship with this package, and in which revisions, the newest first."""
    named = (_FILE.fullmatch(path.name) for path in _FOLDER.iterdir())
    found = sorted((match[1], -int(match[2])) for match in named if match)
    return {
        set_id: tuple(-number for other, number in found if other == set_id)
        for set_id in dict.fromkeys(set_id for set_id, _ in found)
    }


def shipped(name: str = "food-code-2022") -> LimitSet:
    """Load a limit set that ships with this package: ``food-code-2022`` or ``food-code-2022.1``.

    Without a revision it is the newest. Raises Refused for a set that does not ship.
    """
    known = revisions()
    exact = f"{name}.{known[name][0]}" if name in known else name
    if exact not in {f"{set_id}.{n}" for set_id, numbers in known.items() for n in numbers}:
        raise Refused(f"There is no limit set {name!r}: type one of {', '.join(known)}.")
    path = _FOLDER / f"{exact}.toml"
    return parse_set(path.read_text(encoding="utf-8"), path.name)


def parse_set(text: str, file_name: str) -> LimitSet:
    """Read a limits file. Raises Refused with the file's name and line where it is malformed.

    A set with a `base` replaces single limits of that shipped set, and adds some of its own. Those
    that it does not name stand in for what nobody read in its jurisdiction, and say so.
    """
    tree = _tree(text, file_name)
    head = tree.get("set")
    if not isinstance(head, dict):
        raise Refused(
            f"{file_name}, line 1: there is no [set] with id, revision, title and publisher."
        )
    where = f"{file_name}, line {_line(text, '[set]')}: [set]"
    for key, kind in _HEAD.items():
        if type(head.get(key)) is not kind:
            raise Refused(f"{where} needs {key}.")
    extra = set(head) - {*_HEAD, "base"}
    if extra:
        raise Refused(f"{where} has {min(extra)!r}, which is not known.")
    base = head.get("base")
    limits = tuple(_entries(tree, text, file_name))
    strange = next((one for one in limits if one.name not in _NAMES), None)
    if strange:
        line = _entry_line(text, limits.index(strange))
        raise Refused(f"{file_name}, line {line}: no rule reads a limit {strange.name!r}.")
    if base is None and any("new" in entry for entry in tree["limit"]):
        raise Refused(f"{where} has no base, so no limit is new beside it: leave out new.")
    if base is not None:
        if f"{base}.toml" not in {path.name for path in _FOLDER.iterdir()}:
            raise Refused(f"{where} has a base {base!r}: name a shipped set and its revision.")
        limits = _laid_over(_standing_in(shipped(base)), limits, tree, text, file_name)
    return LimitSet(
        id=head["id"],
        revision=head["revision"],
        title=head["title"],
        publisher=head["publisher"],
        base=base or "",
        limits=limits,
        digest=_digest([head["id"], head["revision"]], limits),
    )


def decoded(content: bytes, file_name: str) -> str:
    """Decode a limits file; raises Refused if it is not UTF-8."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise Refused(f"{file_name}, line {line}: the file is not UTF-8.") from None


def load_overrides(base: LimitSet, text: str, file_name: str) -> LimitSet:
    """Lay a kitchen's local code over single limits; each entry replaces a whole limit.

    Raises Refused for a limit that the base does not have and that does not say that it is new: a
    slip in a name must not leave the weaker limit in force.
    """
    tree = _tree(text, file_name)
    overrides = tuple(_entries(tree, text, file_name))
    merged = _laid_over(base, overrides, tree, text, file_name)
    return replace(
        base, limits=merged, overrides=overrides, digest=_digest([base.id, base.revision], merged)
    )


def take_overrides(base: LimitSet, text: str, file_name: str) -> LimitSet:
    """Lay a file over a set that somebody hands in now.

    Raises Refused as `load_overrides` does, and for a number that is a slip: a record's own limits
    are read without that, since what was once taken up still judges.
    """
    merged = load_overrides(base, text, file_name)
    for number, limit in enumerate(merged.overrides):
        slip = next(filter(None, (_slip(limit, level) for level in _levels(limit))), None)
        if slip:
            where = f"{file_name}, line {_entry_line(text, number)}"
            raise Refused(f"{where}: {_called(limit.name, limit.kind)}: {slip}")
    return merged


def _levels(limit: Limit) -> list[Level]:
    return [*(row.level for row in limit.rows), *([limit.start] if limit.start else [])]


def _slip(limit: Limit, level: Level) -> str | None:
    """Say how a level's numbers cannot be what a code prints."""
    both = [Temperature(level.number(degree), degree) for degree in Degree]
    if limit.name in DIFFERENCES:
        f, c = (one.difference for one in both)
        possible = all(0 < one <= LEAST_ACCURATE for one in (f, c))
    else:
        f, c = (one.fahrenheit for one in both)
        possible = all(map(is_of_an_oven if limit.name == "oven" else is_plausible, both))
    if not possible:
        return f"nothing in a kitchen is at {level}: type both numbers as printed."
    if abs(f - c) > _APART:
        return f"{level.f} °F and {level.c} °C are not the same: type both as printed."
    return None


def _standing_in(base: LimitSet) -> LimitSet:
    """Mark the limits of a base as those that stand in for what nobody read."""
    return replace(base, limits=tuple(replace(one, basis=NOT_READ) for one in base.limits))


def _laid_over(
    base: LimitSet, limits: Sequence[Limit], tree: Mapping[str, Any], text: str, file_name: str
) -> tuple[Limit, ...]:
    known = {(limit.name, limit.kind): limit for limit in base.limits}
    merged = {**known, **{(limit.name, limit.kind): limit for limit in limits}}
    kinds = {kind for name, kind in merged if name in HEATED}
    for number, limit in enumerate(limits):
        replaced = known.get((limit.name, limit.kind))
        new = tree["limit"][number].get("new", False)
        why = (
            _unlike(limit, replaced, base, new=new)
            if replaced
            else _no_addition(limit, base, kinds, new=new)
        )
        if why:
            raise Refused(f"{file_name}, line {_entry_line(text, number)}: {why}")
    return tuple(merged.values())


def _unlike(limit: Limit, replaced: Limit, base: LimitSet, *, new: bool) -> str | None:
    """Say why a limit cannot replace one of a base."""
    if new:
        called = _called(limit.name, limit.kind)
        return f"{base.title} has a limit {called}: leave out new = true to replace it."
    if limit.side is not replaced.side:
        return f"{limit.name} keeps its side, {replaced.side.value!r}."
    return None


def _no_addition(limit: Limit, base: LimitSet, kinds: Container[str], *, new: bool) -> str | None:
    """Say why a limit that a base does not have cannot stand beside its own."""
    called = _called(limit.name, limit.kind)
    if not new:
        names = ", ".join(sorted({one.name for one in base.limits}))
        return (
            f"{base.title} has no limit {called} to replace; it has {names}. One that is to stand "
            f"beside those says new = true."
        )
    if limit.name not in _NAMES:
        return f"no rule reads a limit {limit.name!r}."
    if limit.kind and (limit.name == "oven" or limit.kind not in kinds):
        return f"no rule reads a limit {called}: no food is of that kind."
    return None


def _tree(text: str, file_name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise Refused(f"{file_name} is not a limits file: {error}.") from None
    except (ArithmeticError, RecursionError, ValueError):
        raise Refused(
            f"{file_name} is not a limits file: a number or nesting is too large."
        ) from None


def _entries(tree: Mapping[str, Any], text: str, file_name: str) -> Iterable[Limit]:
    entries = tree.get("limit")
    if not isinstance(entries, list) or not entries:
        raise Refused(f"{file_name}, line 1: there is no [[limit]].")
    extra = set(tree) - {"set", "limit"}
    if extra:
        raise Refused(
            f"{file_name}, line {_line(text, min(extra))}: {min(extra)!r} is not known here."
        )
    seen: set[tuple[str, str]] = set()
    for number, entry in enumerate(entries):
        try:
            limit = _limit(entry)
            _check_equivalents(limit)
        except Refused as error:
            raise Refused(f"{file_name}, line {_entry_line(text, number)}: {error}") from None
        if (limit.name, limit.kind) in seen:
            raise Refused(
                f"{file_name}, line {_entry_line(text, number)}: {_called(limit.name, limit.kind)} "
                f"stands here a second time."
            )
        seen.add((limit.name, limit.kind))
        yield limit


def _limit(entry: Any) -> Limit:
    if not isinstance(entry, dict):
        raise Refused(f"a limit is a [[limit]] table, not {entry!r}.")
    name = entry.get("name", "a limit without a name")
    for key in entry:
        if key not in _KNOWN:
            raise Refused(f"{name} has {key!r}, which is not known: known are {', '.join(_KNOWN)}.")
    for key in _REQUIRED:
        if entry.get(key) in (None, ""):
            raise Refused(f"{name} needs {key}.")
    for key, value in entry.items():
        wanted = _KNOWN[key]
        # bool is an int to Python, not to a reader of limits
        if not isinstance(value, wanted) or (isinstance(value, bool) and wanted is not bool):
            raise Refused(f"{name}: {key} cannot be {value!r}{_instead(key, value, wanted)}.")
    if entry["basis"] not in _BASES:
        raise Refused(f"{name}: basis is {' or '.join(map(repr, _BASES))}.")
    clock = _word(CountsFrom, entry, "clock", name) if "clock" in entry else None
    if clock is not None and clock not in _CLOCKS.get(name, ()):
        raise Refused(f"{name} cannot be counted from {clock.value!r}.")
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
        return ": type true or false"
    if wanted is str:
        return ": type it in quotes"
    if isinstance(value, str) and re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", value):
        return f": type it without quotes, {key} = {value}"
    return ": type a list, rows = [[130, 54, 60]]" if wanted is list else ": type a number"


def _check_equivalents(limit: Limit) -> None:
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
                f"{limit.name}: printed in °{limit.printed} alone, so {beside} beside it has to be "
                f"its equivalent, at most a tenth on the stricter side."
            )


def _word(words: type[_Word], entry: Mapping[str, Any], key: str, name: str) -> _Word:
    try:
        return words(entry[key])
    except ValueError:
        raise Refused(f"{name}: {key} is {' or '.join(repr(w.value) for w in words)}.") from None


def _side(entry: Mapping[str, Any], name: str) -> Side:
    side = _word(Side, entry, "side", name)
    if name in _WITHOUT_TEMPERATURE and side is not Side.AT_OR_BELOW:
        raise Refused(f"{name} has no temperature: its side is {Side.AT_OR_BELOW.value!r}.")
    return side


def _rows(entry: Mapping[str, Any], name: str) -> Iterable[Row]:
    given = [key for key in ("rows", "f", "c", "hold_s") if key in entry]
    if name in _WITHOUT_TEMPERATURE and given:
        raise Refused(f"{name} has no temperature: leave out {given[0]}.")
    if name in _WITHOUT_TEMPERATURE or (name == "date-mark" and not given):
        return
    if given[:1] == ["rows"] and len(given) > 1:
        raise Refused(f"{name}: give either f and c, or rows.")
    rows = entry.get("rows", [[entry.get("f"), entry.get("c"), entry.get("hold_s", 0)]])
    if not rows:
        raise Refused(f"{name}: rows is empty.")
    last: Decimal | None = None
    for row in rows:
        if not (isinstance(row, list) and len(row) == 3):
            raise Refused(f"{name}: each of rows is [°F, °C, seconds], not {row!r}.")
        f, c, seconds = row
        level = _level(f, c, name)
        if type(seconds) is not int or not 0 <= seconds <= _LONGEST_HOLD_S:
            raise Refused(f"{name}: a hold is whole seconds, 0 seconds or more and a day at most.")
        if last is not None and level.f <= last:
            raise Refused(f"{name}: rows rise in temperature.")
        last = level.f
        yield Row(level, timedelta(seconds=seconds))


def _level(f: Any, c: Any, name: str) -> Level:
    for number in (f, c):
        if not isinstance(number, _NUMBERS) or isinstance(number, bool):
            raise Refused(f"{name} needs its number in both degrees as printed, in °F and °C.")
        if not Decimal(number).is_finite() or Decimal(number).copy_abs() > _LARGEST:
            raise Refused(f"{name}: {number} is no temperature.")
    return Level(Decimal(f), Decimal(c))


def _start(entry: Mapping[str, Any], name: str) -> Level | None:
    if ("start_f" in entry) is not ("start_c" in entry):
        raise Refused(f"{name} needs the start in both degrees as printed, start_f and start_c.")
    if "start_f" not in entry:
        if entry.get("clock") == CountsFrom.START:
            raise Refused(f"{name}: its clock begins at a start: give start_f and start_c.")
        return None
    return _level(entry["start_f"], entry["start_c"], name)


def _within(entry: Mapping[str, Any], name: str) -> timedelta | None:
    if ("within_min" in entry) is not ("clock" in entry):
        raise Refused(f"{name}: within_min and clock go together.")
    if "within_min" not in entry:
        if name in _TIMED:
            raise Refused(f"{name} needs within_min and clock.")
        return None
    # less than 0 minutes of initial heating: none at all
    never = name == "initial-heating" and not entry["inclusive"] and entry["within_min"] == 0
    if not never and not 0 < entry["within_min"] <= _LONGEST_MIN:
        raise Refused(f"{name}: within_min is above 0 and at most {_LONGEST_MIN}.")
    return timedelta(minutes=entry["within_min"])


def _stand(entry: Mapping[str, Any], name: str) -> timedelta:
    seconds = entry.get("stand_s", 0)
    if seconds and name not in MICROWAVED:
        raise Refused(f"{name}: only food from a microwave stands covered.")
    if not 0 <= seconds <= _LONGEST_HOLD_S:
        raise Refused(f"{name}: stand_s is 0 seconds or more and a day at most.")
    return timedelta(seconds=seconds)


def _called(name: str, kind: str) -> str:
    return f"{name!r} for {kind}" if kind else repr(name)


def _digest(head: list[object], limits: Iterable[Limit]) -> str:
    plain = sorted((limit.plain() for limit in limits), key=lambda one: (one["name"], one["kind"]))
    canonical = json.dumps([head, plain], sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(canonical.encode()).hexdigest()


def _line(text: str, start: str) -> int:
    lines = text.splitlines()
    return next(
        (n for n, line in enumerate(lines, 1) if line.lstrip(" [").startswith(start.lstrip("["))), 1
    )


def _entry_line(text: str, number: int) -> int:
    starts = [
        n for n, line in enumerate(text.splitlines(), 1) if re.match(r"\s*\[\[\s*limit", line)
    ]
    return starts[number] if number < len(starts) else 1
