"""`haccp limits`: the sets of limits that ship, what they ask, how they differ, and one's own."""

import re
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from typing import Any, BinaryIO

import click

from haccp import limits, signs
from haccp.cli import terminal
from haccp.cli.session import Session
from haccp.cli.wrapping import wrapped
from haccp.language import counted, message, phrase
from haccp.limits import LimitSet
from haccp.limits.compare import (
    Difference,
    bound,
    counted_from,
    differences,
    hold,
    number,
    replacements,
    stood,
)
from haccp.limits.limit import NOT_READ, Limit
from haccp.limits.loader import take_overrides

# A number and its degree stay on one line.
_TIED = "\N{NO-BREAK SPACE}"
_SPLIT = re.compile(r"(?<=[≥≤<>=≈]) | (?=°)")
_GAP = 2
_COLUMNS = (
    message("limit"),
    message("number"),
    message("time"),
    message("citation"),
    message("basis"),
)
_EQUIVALENTS = message(
    "= (exact) and ≈ (to the stricter tenth): an equivalent that the source does not print."
)


@click.group("limits")
def limits_() -> None:
    """List, show and compare the sets of limits; validate a file of local ones."""


@limits_.command("list")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
def list_(json_: bool) -> None:
    """List the sets that ship, in all revisions."""
    sets = [limits.shipped(f"{i}.{n}") for i, known in limits.revisions().items() for n in known]
    if json_:
        terminal.as_json([_named(one) for one in sets])
        return
    rows = [(s.id, str(s.revision), s.title, s.publisher, s.digest[:12]) for s in sets]
    heads = (
        phrase("set"),
        phrase("revision"),
        phrase("title"),
        phrase("publisher"),
        phrase("digest"),
    )
    _table(heads, rows)
    terminal.paragraph(phrase("Take one up: haccp kitchen --limit-set SET --by INITIALS"))


@limits_.command("show")
@click.argument("name", metavar="[SET]", required=False)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def show_(session: Session, name: str | None, json_: bool) -> None:
    """Show every limit of a SET.

    Without SET, show those in force in this kitchen, local ones included. SET may name a revision:

    haccp limits show food-code-2022.1
    """
    chosen = _in_force(session) if name is None else limits.shipped(name)
    if json_:
        terminal.as_json({**_named(chosen), "limits": [one.plain() for one in chosen.limits]})
        return
    terminal.paragraph(
        phrase(
            "{title} (digest {digest}), {publisher}.",
            title=_titled(chosen),
            digest=chosen.digest[:12],
            publisher=chosen.publisher,
        )
    )
    own = [one for one in chosen.limits if one.basis != NOT_READ]
    stand_ins = [one for one in chosen.limits if one.basis == NOT_READ]
    _table(tuple(map(phrase, _COLUMNS)), list(_rows(own)))
    if stand_ins:
        terminal.lines("")
        told = phrase(
            "In {title}, not read for this jurisdiction; the Food Code's number stands in "
            "({base}):",
            title=chosen.title,
            base=chosen.base,
        )
        terminal.paragraph(told)
        _table(tuple(map(phrase, _COLUMNS)), list(_rows(stand_ins)))
        terminal.lines("")
    _tell_equivalents(chosen.limits)
    _tell_addresses(chosen.limits)
    if name is None:
        terminal.paragraph(terminal.judged_by(chosen))


def _in_force(session: Session) -> LimitSet:
    """Give what judges food now: the kitchen's limits, or the Food Code's where there is none."""
    if session.has_record:
        return session.register.limits_at(session.now)
    return limits.shipped()


def _rows(told: Sequence[Limit]) -> Iterable[tuple[str, ...]]:
    """Give a line for each limit, its kinds below its name; alternatives line up in their cells."""
    names = list(dict.fromkeys(one.name for one in told))
    last = ""
    for one in sorted(told, key=lambda one: names.index(one.name)):
        if one.kind and one.name != last:
            yield one.name, "", "", "", ""
        last = one.name
        levels = [bound(one, row.level) for row in one.rows]
        times = [hold(one, row).replace(" ", _TIED) for row in one.rows]
        if one.start:
            levels.append(phrase("from {level}", level=number(one, one.start)))
        if not one.rows:
            levels = [] if one.clock else [phrase("no number")]
        yield (
            f"{_TIED * 2}{one.kind}" if one.kind else one.name,
            "\n".join(level.replace(" ", _TIED) for level in levels),
            "\n".join(filter(None, (*times, stood(one), counted_from(one)))),
            one.citation,
            phrase(one.basis),
        )


def _tell_addresses(told: Iterable[Limit]) -> None:
    """Say of the numbers that are a set's own where they were read."""
    read: dict[str, dict[str, None]] = {}
    for one in told:
        if one.address and one.basis != NOT_READ:
            read.setdefault(one.address, {})[one.citation] = None
    for address, citations in read.items():
        terminal.paragraph(f"{', '.join(citations)}: {address}")


@limits_.command()
@click.argument("a")
@click.argument("b")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
def compare(a: str, b: str, json_: bool) -> None:
    """Say in what set B differs from set A.

    haccp limits compare food-code-2022 new-york-14-1
    """
    old, new = limits.shipped(a), limits.shipped(b)
    found = differences(old, new)
    if json_:
        told = [_difference(one) for one in found]
        terminal.as_json({"a": _named(old), "b": _named(new), "differences": told})
        return
    terminal.paragraph(phrase("{new}, against {old}:", new=_titled(new), old=_titled(old)))
    if found:
        _tell(
            found, new.id if old.id != new.id else phrase("revision {number}", number=new.revision)
        )
    shared = {(one.name, one.kind) for one in old.limits} & {(o.name, o.kind) for o in new.limits}
    alike = len(shared) - sum(1 for d in found if d.old and d.new)
    terminal.paragraph(counted("{count} limit judges alike.", "{count} limits judge alike.", alike))
    for one in dict.fromkeys((old, new)):
        _tell_stand_ins(one)


def _tell_stand_ins(chosen: LimitSet) -> None:
    """Name the limits that are not a set's own."""
    stand_ins = [one for one in chosen.limits if one.basis == NOT_READ]
    if stand_ins:
        names = "; ".join(_named_limit(one) for one in stand_ins)
        told = phrase(
            "In {title}, not read for this jurisdiction; the Food Code's number stands in: "
            "{names}.",
            title=_titled(chosen),
            names=names,
        )
        terminal.paragraph(told)


@limits_.command()
@click.argument("file", type=click.File("rb"))
@click.option("--over", default="food-code-2022", show_default=True, metavar="SET")
def validate(file: BinaryIO, over: str) -> None:
    """Check a FILE of local limits (TOML).

    It says what the file replaces, old and new, and warns where it is weaker.

    haccp limits validate local.toml
    """
    base = limits.shipped(over)
    merged = take_overrides(base, limits.decoded(file.read(), file.name), file.name)
    found = replacements(base, merged)
    terminal.paragraph(
        phrase("{name} can be laid over {base}:", name=file.name, base=_titled(base))
    )
    _tell(found, phrase("the file"))
    for line in (*_left(merged), *_warnings(found, base)):
        terminal.paragraph(line)


def _left(merged: LimitSet) -> Iterable[str]:
    """Say where a replaced limit leaves those for single kinds of food as they were."""
    replaced = [(one.name, one.kind) for one in merged.overrides]
    for name in (name for name, kind in replaced if not kind):
        kinds = [one.kind for one in merged.limits if one.name == name and one.kind]
        left = [kind for kind in kinds if (name, kind) not in replaced]
        if left:
            yield phrase("{limit} for {kinds} stays as it was.", limit=name, kinds=", ".join(left))


def _warnings(found: Iterable[Difference], base: LimitSet) -> Iterable[str]:
    for one in found:
        if one.weaker and one.new:
            yield phrase(
                "WARNING: {limit} is weaker than what it replaces. Food that breaks the {base} "
                "would be called met: {source}, {citation}, has to say so.",
                limit=_called(one),
                base=base.title,
                source=one.new.source,
                citation=one.new.citation,
            )


def _tell(found: Sequence[Difference], new: str) -> None:
    rows = [
        (
            _called(d),
            _relation(d),
            _SPLIT.sub(_TIED, d.words) or phrase("as before"),
            _cited(d),
        )
        for d in found
    ]
    heads = (
        phrase("limit"),
        phrase("{set_of_limits} is", set_of_limits=new),
        phrase("what it asks"),
        phrase("citation"),
    )
    _table(heads, rows)
    _tell_equivalents([one for d in found for one in (d.old, d.new) if one])


def _called(found: Difference) -> str:
    limit = found.new or found.old
    assert limit is not None  # a difference is about one at least
    return _named_limit(limit)


def _named_limit(limit: Limit) -> str:
    return f"{limit.name}, {limit.kind}" if limit.kind else limit.name


def _relation(found: Difference) -> str:
    """Say how strict a new limit is beside the old one."""
    if found.new is None:
        return phrase("without it")
    if found.old is None:
        return phrase("new")
    if found.weaker and found.stricter:
        return phrase("partly weaker")
    if found.weaker:
        return phrase("weaker")
    return phrase("stricter") if found.stricter else phrase("alike")


def _cited(found: Difference) -> str:
    cited = list(dict.fromkeys(_citation(one) for one in (found.new, found.old) if one))
    if len(cited) == 1:
        return cited[0]
    return phrase("{citation}, not {replaced}", citation=cited[0], replaced=cited[1])


def _citation(limit: Limit) -> str:
    stands_in = limit.basis == NOT_READ
    if not stands_in:
        return limit.citation
    return phrase(
        "{citation} ({basis})", citation=limit.citation, basis=phrase(limit.basis_in_words)
    )


def _tell_equivalents(told: Iterable[Limit]) -> None:
    if any(one.printed for one in told):
        terminal.paragraph(phrase(_EQUIVALENTS))


def _titled(one: LimitSet) -> str:
    return phrase("{title}, revision {number}", title=one.title, number=one.revision)


def _named(one: LimitSet) -> dict[str, Any]:
    return {**terminal.limit_set(one), "publisher": one.publisher, "base": one.base or None}


def _difference(found: Difference) -> dict[str, Any]:
    return {
        "limit": _called(found),
        "b_is": _relation(found),
        "words": found.words,
        "a": found.old.plain() if found.old else None,
        "b": found.new.plain() if found.new else None,
    }


def _table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print columns that are all wrapped, the widest first, until they fit the terminal."""
    cells = [
        [[terminal.safe(s) for s in cell.split("\n")] for cell in row] for row in (header, *rows)
    ]
    columns = [[line for cell in column for line in cell] for column in zip(*cells, strict=True)]
    widths = [max(map(signs.columns, column)) for column in columns]
    least = [max(map(_longest_word, column)) for column in columns]
    while sum(widths) + _GAP * (len(widths) - 1) > terminal.width() and widths != least:
        shrinking = [i for i, width in enumerate(widths) if width > least[i]]
        widths[max(shrinking, key=widths.__getitem__)] -= 1
    for number_, row in enumerate(cells):
        for line in _lines(row, widths):
            terminal.lines(line, bold=number_ == 0)


def _lines(row: Sequence[Sequence[str]], widths: Sequence[int]) -> Iterable[str]:
    cells = [
        [s for line in cell for s in _wrapped(line, w)] for cell, w in zip(row, widths, strict=True)
    ]
    for parts in zip_longest(*cells, fillvalue=""):
        line = (" " * _GAP).join(
            signs.padded(part, w) for part, w in zip(parts, widths, strict=True)
        )
        yield line.replace(_TIED, " ").rstrip()


def _wrapped(line: str, width: int) -> list[str]:
    indent = _TIED * (len(line) - len(line.lstrip(_TIED)))
    return wrapped(line, width, subsequent_indent=indent) or [""]


def _longest_word(line: str) -> int:
    return max(map(signs.columns, wrapped(line, 1, break_long_words=False)), default=0)
