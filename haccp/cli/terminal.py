"""How things look in a terminal: tables that fit its width, text that cannot misbehave."""

import json
import os
import re
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Callable, Sequence
from collections.abc import Set as AbstractSet
from contextlib import suppress
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple
from zoneinfo import ZoneInfo

import click

from haccp.limits import LimitSet
from haccp.rules.evidence import Finding, Reading
from haccp.rules.words import ShowMoment, explain
from haccp.temperature import Degree
from haccp.time import clock

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import BandPoint


# Fewer columns than this hold no sentence.
_ROOM = 24


# A number of columns where nobody says how many there are, such as in a pipe.
_USUAL = 100
# What is typed as one word, such as "bean stew".
_QUOTED = re.compile(r"""(?<![\w"'])(["'])(?:(?!\1).){1,60}\1(?!\w)""")
_TIED = "\N{NO-BREAK SPACE}"


def width() -> int:
    """Say how many columns there are: by COLUMNS, else by the terminal, also behind a pager."""
    usual = _USUAL
    if sys.stderr.isatty():
        with suppress(OSError, ValueError):
            usual = os.get_terminal_size(sys.stderr.fileno()).columns
    return max(shutil.get_terminal_size((usual, 24)).columns, 60)


def say(words: str, *, err: bool = False) -> None:
    """Print words, broken between them where a terminal would break within one.

    What stands in quotes stays on one line, so that a command can be copied whole.
    """
    if (sys.stderr if err else sys.stdout).isatty():
        tied = _QUOTED.sub(lambda quoted: quoted[0].replace(" ", _TIED), words)
        words = textwrap.fill(tied, width(), break_on_hyphens=False, break_long_words=False)
        words = words.replace(_TIED, " ")
    click.echo(words, err=err)


def safe(text: str) -> str:
    """Replace what would move a terminal's cursor or turn its text around."""
    return "".join("\N{REPLACEMENT CHARACTER}" if _is_unsafe(c) else c for c in text)


def _is_unsafe(c: str) -> bool:
    return unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co")


def table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print columns; the last one is wrapped to what is left of the terminal's width.

    Where too little is left for words, the last column stands under its row; where the others
    alone are too wide, they are not lined up.
    """
    cells = [[safe(cell) for cell in row] for row in (header, *rows)]
    widths = [max(len(row[i]) for row in cells) for i in range(len(header) - 1)]
    indent = sum(widths) + 2 * len(widths)
    beside = width() - indent >= _ROOM
    hang = indent if beside else 4
    lined_up = indent - 2 <= width()
    for number, row in enumerate(cells):
        lead = "".join(cell.ljust(size + 2) for cell, size in zip(row, widths, strict=False))
        lines = textwrap.wrap(row[-1], width() - hang) or [""]
        hung = [" " * hang + line for line in lines]
        leads = [lead] if lined_up else _packed(row[:-1])
        shown = [lead + lines[0], *hung[1:]] if beside else [*leads, *hung]
        text = "\n".join(line.rstrip() for line in shown if line.strip())
        click.echo(click.style(text, bold=True) if number == 0 and _may_style() else text)


def _packed(cells: Sequence[str]) -> list[str]:
    """Put cells one after the other, no short one broken, in as many lines as they need."""
    kept = [cell.replace(" ", "\u00a0") if len(cell) <= _ROOM else cell for cell in cells if cell]
    lines = textwrap.wrap("  ".join(kept), width(), subsequent_indent="  ")
    return [line.replace("\u00a0", " ") for line in lines]


def _may_style() -> bool:
    """Whether print may be bold: not where a person asked for plain text (NO_COLOR)."""
    return not os.environ.get("NO_COLOR")


class Series(NamedTuple):
    """A line of a chart, or its points alone: hours after its beginning, and temperatures."""

    hours: Sequence[float]
    temperatures: Sequence[float]
    marker: str
    joined: bool = True


def curve(
    readings: Sequence[Reading],
    findings: Sequence[Finding],
    degree: Degree,
    zone: ZoneInfo,
    expected: "Sequence[BandPoint]" = (),
) -> None:
    """Draw readings over the kitchen's clock, with the levels of the limits they are judged by.

    `expected` is drawn as dots around them: what an estimate holds for likely.
    """

    def shown(fahrenheit: float) -> float:
        return fahrenheit if degree is Degree.F else (fahrenheit - 32) * 5 / 9

    start = readings[0].at

    def hour(moment: datetime) -> float:
        return (moment - start) / timedelta(hours=1)

    hours = [hour(one.at) for one in readings]
    temperatures = [shown(float(one.temperature.fahrenheit)) for one in readings]
    at = [hour(moment) for moment, *_ in expected]
    ends = zip(*((low, high) for _, low, _, high in expected), strict=True)
    band = [Series(at, [shown(one) for one in end], "·") for end in ends]
    levels = {
        float(level.number(degree))
        for finding in findings
        if finding.limit.name != "oven"
        for level in (finding.limit.start, *(row.level for row in finding.limit.rows[:1]))
        if level
    }
    chart(
        [
            *band,
            Series(hours, temperatures, "braille"),
            Series(hours, temperatures, "o", joined=False),
        ],
        levels,
        degree,
        lambda hour: clock(start + timedelta(hours=hour), zone),
    )


def chart(
    series: Sequence[Series],
    levels: AbstractSet[float],
    degree: Degree,
    label: Callable[[int], str],
    height: int = 18,
) -> None:
    """Draw temperatures over hours, which `label` names, with levels across."""
    import plotext as plt

    plt.clear_figure()
    plt.theme("clear")
    plt.plot_size(width() - 2, height)
    for one in series:
        draw = plt.plot if one.joined else plt.scatter
        draw(one.hours, one.temperatures, marker=one.marker)
    for level in levels:
        plt.hline(level)
    every = [temperature for one in series for temperature in one.temperatures]
    ends = min(every), max(every)
    # a level's number comes first where an end would stand in its row
    row = (ends[1] - ends[0]) / (height - 5)
    clear = {end for end in ends if all(abs(end - level) >= row for level in levels)}
    plt.yticks(sorted(levels | clear))
    last = int(max(one.hours[-1] for one in series)) + 1
    ticks = range(0, last + 1, max(1, last // 6))
    plt.xticks(ticks, [label(hour) for hour in ticks])
    plt.xlim(0, last)
    plt.ylabel(f"°{degree}")
    click.echo(plt.uncolorize(plt.build()))


def as_json(value: Any) -> None:
    text = json.dumps(value, ensure_ascii=False, indent=2)
    click.echo("".join(c if c == "\n" or not _is_unsafe(c) else _escaped(c) for c in text))


def _escaped(c: str) -> str:
    return json.dumps(c)[1:-1] if not c.isascii() else f"\\u{ord(c):04x}"


CAUTION = (
    "The local health code and the people licensed to apply it decide; "
    "this check does not replace them."
)


def findings(found: Sequence[Finding], when: ShowMoment) -> None:
    rows = [
        (one.verdict.upper(), one.limit.name, one.limit.citation, explain(one, when))
        for one in found
    ]
    table(("verdict", "limit", "citation", "why"), rows)


def finding(found: Finding, when: ShowMoment) -> dict[str, Any]:
    """Give a finding as plain values; durations in minutes, null where the record sets no bound."""
    return {
        "step": found.step,
        "limit": found.limit.name,
        "citation": found.limit.citation,
        "verdict": found.verdict,
        "shortest_min": minutes(found.shortest),
        "longest_min": minutes(found.longest),
        "reason": explain(found, when),
    }


def minutes(duration: timedelta | None) -> int | float | None:
    if duration is None:
        return None
    exact = duration / timedelta(minutes=1)
    return int(exact) if exact == int(exact) else exact


def limit_set(limits: LimitSet) -> dict[str, Any]:
    return {
        "id": limits.id,
        "revision": limits.revision,
        "title": limits.title,
        "digest": limits.digest,
        "overrides": [limit.plain() for limit in limits.overrides],
        "guard_band": str(limits.guard) if limits.guard else None,
    }


def judged_by(limits: LimitSet) -> str:
    """Name the limit set and what a kitchen laid over it, in a line."""
    over = "".join(f"; {one.name} by {one.source}, {one.citation}" for one in limits.overrides)
    guard = f"; limits moved inward by a guard band of {limits.guard}" if limits.guard else ""
    name = f"{limits.title}, revision {limits.revision}"
    return safe(f"Judged by {name}{over}{guard} (digest {limits.digest[:12]}).")
