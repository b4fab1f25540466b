"""The one place that writes to the terminal, and reads from it: nothing else in haccp does.

What is written passes `_write`, which neutralises what would move a terminal's cursor or turn its
text around. How things look is decided here too: tables that fit the width, words broken between.
"""

from __future__ import annotations

import io
import os
import sys
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from contextlib import contextmanager, suppress
from datetime import timedelta
from typing import TYPE_CHECKING, Any, NamedTuple, TextIO

import click

from haccp.language import message, phrase

# --help waits for this module: what only some of it needs is imported there
if TYPE_CHECKING:
    from haccp.limits import LimitSet
    from haccp.rules.asked import ShowMoment
    from haccp.rules.evidence import Finding
    from haccp.temperature import Degree


# Fewer columns than this hold no sentence.
_ROOM = 24


# So many are kept free beside a question for its answer.
_ANSWER = 8
# A number of columns where nobody says how many there are, such as in a pipe.
_USUAL = 100

_BELL, _CLEARED = "\a", "\x1b[H\x1b[2J"
# Three by five, as the eye reads them across a room.
_FIGURES = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": ("  #", "  #", "  #", "  #", "  #"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    ":": (" ", "#", " ", "#", " "),
    "-": ("   ", "   ", "###", "   ", "   "),
}


def width() -> int:
    """Say how many columns there are: by COLUMNS, else by the terminal, also behind a pager."""
    import shutil

    usual = _USUAL
    if sys.stderr.isatty():
        with suppress(OSError, ValueError):
            usual = os.get_terminal_size(sys.stderr.fileno()).columns
    return max(shutil.get_terminal_size((usual, 24)).columns, 60)


def prepare() -> None:
    """Make the standard streams ready: a closed one is there, and refuses what is asked of it.

    Otherwise the record's own file could come to stand where output is written to.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            # takes the number that is free; opened so that nothing can be written to it
            handle = os.open(os.devnull, os.O_RDONLY)
            setattr(sys, name, os.fdopen(handle, mode, encoding="utf-8"))
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # a letter that the terminal does not have must not cost the verdict
            stream.reconfigure(errors="backslashreplace")


def take_warnings() -> None:
    """Take what is logged, for which logging would find a way of its own to the terminal."""
    import logging  # nothing that a cook types logs

    class Told(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            lines(*self.format(record).splitlines(), err=True)

    logging.lastResort = Told(logging.WARNING)


def finish() -> None:
    """Let nothing that could not be written be tried once more when the process ends."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, stream.fileno())
            os.close(nowhere)


def is_answered() -> bool:
    """Whether somebody sits at a terminal and can answer a question."""
    return sys.stdin.isatty()


def ask_unseen(prompt: str) -> str:
    """Read what is not shown from the terminal, or a line of standard input where there is none."""
    if is_answered():
        return str(click.prompt(safe(prompt), hide_input=True, err=True)).strip()
    return sys.stdin.readline().strip()


_YES = frozenset(("y", "yes", "s", "si", "sí"))
_NO = frozenset(("n", "no"))


def agrees(question: str) -> bool:
    """Ask until it is answered with a yes or a no, an empty line being a no.

    Whatever else was typed, perhaps before anybody saw the question, is told to be lost.
    """
    from haccp.language import message, phrase

    while True:
        typed = _typed(phrase("{question} [y/N]:", question=question))
        word = unicodedata.normalize("NFC", typed.casefold())
        if word in _YES:
            return True
        if not word or word in _NO:
            return False
        told = message("That was not an answer: {line} was not taken.")
        say(phrase(told, line=repr(typed)), err=True)
        say(phrase("Type y for yes, n for no."), err=True)


def line_after(question: str) -> str | None:
    """Ask for a line, at a terminal or of standard input; None where that has come to its end."""
    *above, last = _broken(question, sys.stderr, beside=_ANSWER)
    if above:
        lines(*above, err=True)
    if not is_answered():
        lines(last, err=True)
        line = sys.stdin.readline()
        return line.strip() if line else None
    try:
        return _typed(last)
    except click.Abort as ended:
        if isinstance(ended.__context__, EOFError):
            return None
        raise


def lines_left() -> list[str]:
    """Give what is left of standard input that is no terminal."""
    return [line.strip() for line in sys.stdin if line.strip()]


def _typed(question: str) -> str:
    shown = safe(question)
    return str(
        click.prompt(shown, default="", show_default=False, prompt_suffix=" ", err=True)
    ).strip()


def answer_to(question: str) -> str:
    """Ask for a few words; an empty line is an answer too."""
    end = " " if question.endswith(("?", "]")) else ": "
    typed = click.prompt(
        safe(question), default="", show_default=False, prompt_suffix=end, err=True
    )
    return str(typed).strip()


def say(words: str, *, err: bool = False) -> None:
    """Print words in one line, broken between them where a terminal would break within one."""
    lines(*_broken(words, sys.stderr if err else sys.stdout), err=err)


def call_out(words: str) -> None:
    """Say what must be heard: on standard error or, where that is closed or full, on the other."""
    for stream in (sys.stderr, sys.stdout):
        with suppress(OSError):
            _write(_broken(words, stream), stream)
            return


def _broken(words: str, stream: TextIO, beside: int = 0) -> list[str]:
    """Break words for a terminal: a number stays with its unit, and whole what is to be copied.

    So many columns are left free `beside` them.
    """
    words = safe(words)
    if not stream.isatty():
        return [words]
    from haccp.cli.wrapping import broken

    return broken(words, width() - beside)


def paragraph(words: str, indent: str = "", lead: str = "") -> None:
    """Print words wrapped to the width, whether it is a terminal's or not."""
    lines(*rows_of(words, indent, lead))


def rows_of(words: str, indent: str = "", lead: str = "") -> list[str]:
    """Give the lines that `paragraph` prints."""
    from haccp.cli.wrapping import wrapped

    options = {"initial_indent": lead, "subsequent_indent": indent, "break_on_hyphens": False}
    return wrapped(safe(words), width(), **options)


def has_screen() -> bool:
    """Whether standard output is a terminal whose page can be cleared."""
    return sys.stdout.isatty() and os.environ.get("TERM", "dumb") != "dumb"


def page(words: Iterable[str], *, ring: bool) -> None:
    """Show lines in place of all that the terminal shows."""
    _write(words, sys.stdout, before=_CLEARED + (_BELL if ring else ""))


def figures(text: str) -> list[str]:
    """Draw digits, a colon and a minus in large type, in five lines."""
    block = "\N{FULL BLOCK}" if "utf" in (sys.stdout.encoding or "").lower() else "#"
    rows = ("  ".join(_FIGURES[c][row] for c in text) for row in range(5))
    return [row.replace("#", block).rstrip() for row in rows]


def lines(*words: str, err: bool = False, bold: bool = False, ring: bool = False) -> None:
    """Print lines as they are; raises OSError where standard output takes no more.

    What is said beside the answer (`err`) takes nothing back where it cannot be said.
    """
    if not words:
        return
    try:
        _write(words, sys.stderr if err else sys.stdout, bold=bold, before=_BELL if ring else "")
    except OSError as error:
        if not err:
            raise _of_output(error) from error


def pass_on(text: str) -> None:
    """Write a file's content to standard output: unchanged, unless that is a terminal."""
    if sys.stdout.isatty():
        lines(*text.splitlines())
        return
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except OSError as error:
        raise _of_output(error) from error


def _of_output(error: OSError) -> OSError:
    return OSError(error.errno, error.strerror, "standard output")


def _write(words: Iterable[str], stream: TextIO, *, bold: bool = False, before: str = "") -> None:
    """Write lines, neutralised: nothing reaches a terminal on another way.

    Only what clears its page and rings its bell goes `before` them, and only to a terminal.
    """
    text = "\n".join(map(safe, words))
    if bold and stream.isatty() and not os.environ.get("NO_COLOR"):
        text = click.style(text, bold=True)
    stream.write(f"{before if stream.isatty() else ''}{text}\n")
    stream.flush()


def safe(text: str) -> str:
    """Replace what would move a terminal's cursor or turn its text around."""
    if text.isprintable():
        return text
    from haccp.signs import is_spelling  # most of what is said needs nothing of it

    return "".join(
        "\N{REPLACEMENT CHARACTER}" if _is_unsafe(c) and not is_spelling(text, place) else c
        for place, c in enumerate(text)
    )


def _is_unsafe(c: str) -> bool:
    return unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")


def table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print columns; the last one is wrapped to what is left of the terminal's width.

    Where too little is left for words, the last column stands under its row; where the others
    alone are too wide, they are not lined up.
    """
    from haccp.cli.wrapping import wrapped
    from haccp.signs import columns, padded

    cells = [[safe(cell) for cell in row] for row in (header, *rows)]
    widths = [max(columns(row[i]) for row in cells) for i in range(len(header) - 1)]
    indent = sum(widths) + 2 * len(widths)
    beside = width() - indent >= _ROOM
    hang = indent if beside else 4
    lined_up = indent - 2 <= width()
    for number, row in enumerate(cells):
        lead = "".join(padded(cell, size + 2) for cell, size in zip(row, widths, strict=False))
        last = wrapped(row[-1], width() - hang) or [""]
        hung = [" " * hang + line for line in last]
        leads = [lead] if lined_up else _packed(row[:-1])
        shown = [lead + last[0], *hung[1:]] if beside else [*leads, *hung]
        lines(*(line.rstrip() for line in shown if line.strip()), bold=number == 0)


def _packed(cells: Sequence[str]) -> list[str]:
    """Put cells one after the other, no short one broken, in as many lines as they need."""
    from haccp.cli.wrapping import wrapped
    from haccp.signs import columns

    kept = [
        cell.replace(" ", "\u00a0") if columns(cell) <= _ROOM else cell for cell in cells if cell
    ]
    lines = wrapped("  ".join(kept), width(), subsequent_indent="  ")
    return [line.replace("\u00a0", " ") for line in lines]


class Series(NamedTuple):
    """A line of a chart, or its points alone: hours after its beginning, and temperatures."""

    hours: Sequence[float]
    temperatures: Sequence[float]
    marker: str
    joined: bool = True


@contextmanager
def progress(what: str, steps: int, worth_it: int) -> Iterator[Callable[[int], None]]:
    """Give what is told of steps that are done; a bar shows them to who sits at a terminal."""
    hidden = steps <= worth_it or not sys.stderr.isatty()
    with click.progressbar(length=steps, label=what, file=sys.stderr, hidden=hidden) as bar:
        yield bar.update


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
    lines(*plt.uncolorize(plt.build()).split("\n"))


def as_json(value: Any) -> None:
    import json

    lines(*map(_escaped, json.dumps(value, ensure_ascii=False, indent=2).split("\n")))


def _escaped(line: str) -> str:
    """Write as JSON does what a terminal would take for an order: nothing of the text is lost."""
    import json

    if line.isprintable():
        return line
    return "".join(
        c if not _is_unsafe(c) else json.dumps(c)[1:-1] if not c.isascii() else f"\\u{ord(c):04x}"
        for c in line
    )


CAUTION = message(
    "The local health code and the people licensed to apply it decide; "
    "this check does not replace them."
)


def findings(found: Sequence[Finding], when: ShowMoment) -> None:
    from haccp.rules.words import called, explain

    rows = [
        (called(one.verdict), one.limit.name, one.limit.citation, explain(one, when))
        for one in found
    ]
    header = (phrase("verdict"), phrase("limit"), phrase("citation"), phrase("why"))
    table(header, rows)


def finding(found: Finding, when: ShowMoment) -> dict[str, Any]:
    """Give a finding as plain values; durations in minutes, null where the record sets no bound."""
    from haccp.rules.words import explain

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
    name = phrase("{title}, revision {number}", title=limits.title, number=limits.revision)
    for one in limits.overrides:
        name = phrase(
            "{laws}; {limit} by {source}, {citation}",
            laws=name,
            limit=one.name,
            source=one.source,
            citation=one.citation,
        )
    if limits.guard:
        name = phrase(
            "{laws}; limits moved inward by a guard band of {band}", laws=name, band=limits.guard
        )
    return phrase("Judged by {laws} (digest {digest}).", laws=name, digest=limits.digest[:12])
