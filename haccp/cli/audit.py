"""`haccp audit`: history judged anew by another set of limits, what comes out otherwise."""

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import click

from haccp import limits
from haccp.cli import terminal
from haccp.cli.outputs import SHOWN, force_option, write_whole
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.language import counted, message, phrase
from haccp.limits.loader import take_overrides
from haccp.rules.evidence import Finding, Verdict, overall
from haccp.time import day_and_clock, day_starts, parse_days, short_day

if TYPE_CHECKING:
    from haccp.kitchen.audit import Changed, Unjudged

# More batches than these are worth a bar.
_MANY = 200
# More differences than these are told by their count: the rest is for a file.
_MOST = 100
# The columns of the files; moments are UTC, verdicts as in JSON, empty where a set has no such
# limit for the food.
_COLUMNS = ("name", "food", "began", "limit", "in_force", "anew", "why_in_force", "why_anew")


@click.command()
@click.argument("first", required=False, metavar="[DAY]")
@click.argument("last", required=False, metavar="[LAST_DAY]")
@click.option(
    "--set",
    "set_name",
    required=True,
    metavar="SET",
    help="The limits to judge by; haccp limits list names them.",
)
@click.option(
    "--limits",
    "overrides",
    type=click.File("rb"),
    help="A file of local limits to lay over the set's.",
)
@click.option(
    "--csv",
    "table",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write the differences, a line each, to FILE.",
)
@click.option(
    "--parquet",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write them as Parquet.",
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@force_option
@click.pass_obj
def audit(
    session: Session,
    first: str | None,
    last: str | None,
    set_name: str,
    overrides: BinaryIO | None,
    table: Path | None,
    parquet: Path | None,
    json_: bool,
    force: bool,
) -> None:
    """Judge the batches and units of some days by another set of limits, and list what differs.

    haccp audit 2026-10-01 2026-10-31 --set new-york-14-1; without days, the last four weeks.
    Nothing is recorded: food stays judged by the limits in force when it began.
    """
    from haccp.kitchen.audit import Unjudged, asked, judged_anew

    chosen = limits.shipped(set_name)
    if overrides:
        text = limits.decoded(overrides.read(), overrides.name)
        chosen = take_overrides(chosen, text, overrides.name)
    register, zone = session.register, session.register.zone
    begins, ends = parse_days(first, last, session.now, zone, usual=28)
    since, until = day_starts(begins, zone), day_starts(ends + timedelta(days=1), zone)
    what = asked(session.record, register, since, until, session.now)
    changed: list[Changed] = []
    unjudged: list[Unjudged] = []
    with terminal.progress(phrase("Judging batches"), what.count, _MANY) as done:
        for one in judged_anew(session.record, register, what, chosen, done):
            if isinstance(one, Unjudged):
                unjudged.append(one)
            else:
                changed.append(one)
    session.tell_troubles(err=json_)
    rows = [_row(one) for one in changed]
    place = partial(write_whole, records=[session.path], mode=SHOWN, force=force)
    if table:
        head, *lines = _as_csv(rows)
        place(table, [head, *lines], is_own=lambda there: there.startswith(head))
    if parquet:
        place(parquet, [_as_parquet(rows)], is_own=_is_ours)
    if json_:
        terminal.as_json(
            {
                "limits": terminal.limit_set(chosen),
                "judged": what.count,
                "differences": [dict(zip(_COLUMNS, row, strict=True)) for row in rows],
                "not_judged": [{"name": one.name, "why": one.why} for one in unjudged],
            }
        )
        return
    told = phrase(
        "{kitchen}, {first} – {last}, judged by {title} as well:",
        kitchen=register.kitchen.name,
        first=short_day(begins),
        last=short_day(ends),
        title=chosen.title,
    )
    terminal.paragraph(told)
    today = session.now.astimezone(zone).date()
    if ends > today:
        begun = message("Days after {day} have not begun: nothing of them is judged.")
        terminal.paragraph(phrase(begun, day=today))
    _tell(changed, session)
    _sum_up(changed, unjudged, what.count)


def _tell(changed: Sequence["Changed"], session: Session) -> None:
    from haccp.rules.words import called, explain

    def when(moment: datetime) -> str:
        return day_and_clock(moment, session.now, session.register.zone)

    def worst(found: Sequence[Finding]) -> str:
        return called(overall(found)) if found else phrase("nothing found")

    rows = [
        (
            one.name,
            one.limit,
            worst(one.in_force),
            worst(one.anew),
            explain(_decisive(one.anew or one.in_force), when),
        )
        for one in changed[:_MOST]
    ]
    heads = (
        phrase("food or unit"),
        phrase("limit"),
        phrase("in force"),
        phrase("anew"),
        phrase("why"),
    )
    if rows:
        terminal.table(heads, rows)
        terminal.lines("")
    if len(changed) > _MOST:
        terminal.paragraph(
            counted(
                "{count} difference more: write all of them with --csv differences.csv",
                "{count} differences more: write all of them with --csv differences.csv",
                len(changed) - _MOST,
            )
        )


def _sum_up(changed: Sequence["Changed"], unjudged: Sequence["Unjudged"], judged: int) -> None:
    from haccp.rules.words import called

    kinds = Counter(
        (overall(one.in_force), overall(one.anew)) for one in changed if one.in_force and one.anew
    )
    terminal.paragraph(
        counted(
            "{count} batch or unit was judged.", "{count} batches and units were judged.", judged
        )
    )
    for (before, after), number in sorted(kinds.items(), key=lambda one: (-one[1], one[0])):
        terminal.paragraph(
            phrase(
                "{before}, and {after} anew: {count}",
                before=called(before),
                after=called(after),
                count=number,
            ),
            indent="  ",
        )
    if not changed and not unjudged:
        terminal.paragraph(phrase("All of it comes out the same."))
    for one in unjudged:
        terminal.say(
            phrase("{name} is not judged anew: {why}", name=one.name, why=one.why), err=True
        )
    terminal.say(phrase(terminal.CAUTION))


def _decisive(found: Sequence[Finding]) -> Finding:
    """Give the worst of what was found by a limit."""
    return min(found, key=lambda one: list(Verdict).index(one.verdict))


def _row(one: "Changed") -> tuple[str, ...]:
    from haccp.rules.words import explain

    def verdict(found: Sequence[Finding]) -> str:
        return str(overall(found)) if found else ""

    def why(found: Sequence[Finding]) -> str:
        return explain(_decisive(found), _utc) if found else ""

    return (
        one.name,
        one.food,
        _utc(one.began),
        one.limit,
        verdict(one.in_force),
        verdict(one.anew),
        why(one.in_force),
        why(one.anew),
    )


def _utc(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}Z"


def _as_csv(rows: Sequence[Sequence[str]]) -> Iterator[bytes]:
    for row in (_COLUMNS, *rows):
        line = io.StringIO()
        csv.writer(line).writerow(row)
        yield line.getvalue().encode()


def _as_parquet(rows: Sequence[Sequence[str]]) -> bytes:
    try:
        import pyarrow as pa
        from pyarrow import parquet
    except ImportError:
        raise Refused(
            phrase("Parquet needs one library more: pip install 'haccp[parquet]', or use --csv.")
        ) from None
    columns = list(zip(*rows, strict=True)) or [()] * len(_COLUMNS)
    whole = pa.table(
        {
            name: pa.array(column, pa.string())
            for name, column in zip(_COLUMNS, columns, strict=True)
        }
    )
    file = io.BytesIO()
    parquet.write_table(whole, file)
    return file.getvalue()


def _is_ours(there: bytes) -> bool:
    """Whether a file is Parquet with these columns, in this order."""
    names = ",".join(_COLUMNS)
    return there.startswith(b"PAR1") and all(name.encode() in there for name in names.split(","))
