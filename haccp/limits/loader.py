"""Reads limits files strictly: what is missing, unknown or doubled is refused with its line."""

import hashlib
import json
import re
import tomllib
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from haccp.errors import Refused
from haccp.language import phrase
from haccp.limits.limit import DIFFERENCES, HEATED, NOT_READ, Limit, LimitSet
from haccp.limits.table import CLOCKS, WORDS_ALONE, check_equivalents, read_limit
from haccp.temperature import Degree, Level, Temperature, is_of_an_oven, is_plausible

# Every name that a rule reads, or that a page prints beside the numbers.
_NAMES = {
    *CLOCKS, *WORDS_ALONE,
    "receiving-cold", "receiving-egg-air", "receiving-hot", "receiving-frozen",
    "hot-holding", "cold-holding", "egg-holding", "frozen-holding",
    "cook", "cook-microwave", "oven", "thermometer-accuracy", "air-thermometer-accuracy",
}  # fmt: skip

_FOLDER = Path(__file__).parent
_HEAD = {"id": str, "revision": int, "title": str, "publisher": str}
_FILE = re.compile(r"([a-z0-9-]+)\.([1-9][0-9]{0,3})\.toml")

# Numbers that a code prints side by side differ by their rounding: of those that ship at most by
# 0.8 °F (150 °F beside 66 °C, 130 °F beside 54 °C). One digit wrong in °C is 1.8 °F.
_APART = Fraction(3, 2)
# No thermometer for food is stated to be further off [°F]: common practice, no source.
LEAST_ACCURATE = 10


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
        raise Refused(
            phrase(
                "There is no limit set {name}: type one of {known}.",
                name=repr(name),
                known=", ".join(known),
            )
        )
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
            phrase(
                "{where}: there is no [set] with id, revision, title and publisher.",
                where=_where(file_name, 1),
            )
        )
    where = _where(file_name, _line(text, "[set]"))
    for key, kind in _HEAD.items():
        if type(head.get(key)) is not kind:
            raise Refused(phrase("{where}: [set] needs {key}.", where=where, key=key))
    extra = set(head) - {*_HEAD, "base"}
    if extra:
        raise Refused(
            phrase(
                "{where}: [set] has {key}, which is not known.", where=where, key=repr(min(extra))
            )
        )
    base = head.get("base")
    limits = tuple(_entries(tree, text, file_name))
    strange = next((one for one in limits if one.name not in _NAMES), None)
    if strange:
        line = _entry_line(text, limits.index(strange))
        why = phrase("no rule reads a limit {limit}.", limit=repr(strange.name))
        raise _at_line(file_name, line, why)
    if base is None and any("new" in entry for entry in tree["limit"]):
        raise Refused(
            phrase(
                "{where}: [set] has no base, so no limit is new beside it: leave out new.",
                where=where,
            )
        )
    if base is not None:
        if f"{base}.toml" not in {path.name for path in _FOLDER.iterdir()}:
            raise Refused(
                phrase(
                    "{where}: [set] has a base {base}: name a shipped set and its revision.",
                    where=where,
                    base=repr(base),
                )
            )
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
        raise _at_line(file_name, line, phrase("the file is not UTF-8.")) from None


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
            why = phrase("{limit}: {slip}", limit=_called(limit.name, limit.kind), slip=slip)
            raise _at_line(file_name, _entry_line(text, number), why)
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
        return phrase(
            "nothing in a kitchen is at {level}: type both numbers as printed.", level=level
        )
    if abs(f - c) > _APART:
        return phrase(
            "{fahrenheit} °F and {celsius} °C are not the same: type both as printed.",
            fahrenheit=level.f,
            celsius=level.c,
        )
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
            raise _at_line(file_name, _entry_line(text, number), why)
    return tuple(merged.values())


def _unlike(limit: Limit, replaced: Limit, base: LimitSet, *, new: bool) -> str | None:
    """Say why a limit cannot replace one of a base."""
    if new:
        return phrase(
            "{base} has a limit {limit}: leave out new = true to replace it.",
            base=base.title,
            limit=_called(limit.name, limit.kind),
        )
    if limit.side is not replaced.side:
        return phrase(
            "{limit} keeps its side, {side}.", limit=limit.name, side=repr(replaced.side.value)
        )
    return None


def _no_addition(limit: Limit, base: LimitSet, kinds: Container[str], *, new: bool) -> str | None:
    """Say why a limit that a base does not have cannot stand beside its own."""
    called = _called(limit.name, limit.kind)
    if not new:
        names = ", ".join(sorted({one.name for one in base.limits}))
        return phrase(
            "{base} has no limit {limit} to replace; it has {names}. One that is to stand beside "
            "those says new = true.",
            base=base.title,
            limit=called,
            names=names,
        )
    if limit.name not in _NAMES:
        return phrase("no rule reads a limit {limit}.", limit=repr(limit.name))
    if limit.kind and (limit.name == "oven" or limit.kind not in kinds):
        return phrase("no rule reads a limit {limit}: no food is of that kind.", limit=called)
    return None


def _tree(text: str, file_name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise Refused(
            phrase("{file} is not a limits file: {error}.", file=file_name, error=error)
        ) from None
    except (ArithmeticError, RecursionError, ValueError):
        raise Refused(
            phrase("{file} is not a limits file: a number or nesting is too large.", file=file_name)
        ) from None


def _entries(tree: Mapping[str, Any], text: str, file_name: str) -> Iterable[Limit]:
    entries = tree.get("limit")
    if not isinstance(entries, list) or not entries:
        raise _at_line(file_name, 1, phrase("there is no [[limit]]."))
    extra = set(tree) - {"set", "limit"}
    if extra:
        why = phrase("{key} is not known here.", key=repr(min(extra)))
        raise _at_line(file_name, _line(text, min(extra)), why)
    seen: set[tuple[str, str]] = set()
    for number, entry in enumerate(entries):
        try:
            limit = read_limit(entry)
            check_equivalents(limit)
        except Refused as error:
            raise _at_line(file_name, _entry_line(text, number), str(error)) from None
        if (limit.name, limit.kind) in seen:
            called = _called(limit.name, limit.kind)
            why = phrase("{limit} stands here a second time.", limit=called)
            raise _at_line(file_name, _entry_line(text, number), why)
        seen.add((limit.name, limit.kind))
        yield limit


def _called(name: str, kind: str) -> str:
    return phrase("{limit} for {kind}", limit=repr(name), kind=kind) if kind else repr(name)


def _where(file_name: str, line: int) -> str:
    return phrase("{file}, line {line}", file=file_name, line=line)


def _at_line(file_name: str, line: int, why: str) -> Refused:
    """Refuse a file, saying where in it and why."""
    return Refused(phrase("{where}: {why}", where=_where(file_name, line), why=why))


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
