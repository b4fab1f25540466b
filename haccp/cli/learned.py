"""`haccp learned`: how the kitchen's finished coolings went."""

from collections.abc import Iterator
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import click

from haccp.cli import terminal
from haccp.cli.session import Session
from haccp.kitchen.naming import find
from haccp.language import counted, message, phrase
from haccp.limits.limit import CountsFrom
from haccp.rules.evidence import Verdict
from haccp.signs import folded
from haccp.temperature import Degree
from haccp.time import spell

if TYPE_CHECKING:
    from haccp.kitchen.learned import Manner, Row, Stage, Times

_NOTE = message(
    "A time is the middle of what a cooling's readings allow, and unknown where they do not bound "
    "it: no verdict, and no promise for the next batch."
)
_MANY = 200
# Their keys in JSON; a cooling that is broken off is neither met nor not met.
_VERDICTS = {
    Verdict.MET: "met",
    Verdict.NOT_MET: "not_met",
    Verdict.NOT_SHOWN: "not_shown",
    Verdict.STOPPED: "broken_off",
}


@click.command()
@click.argument("food", required=False)
@click.option(
    "--days",
    type=click.IntRange(1, 3660),
    default=365,
    show_default=True,
    help="How many days to look back.",
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def learned(session: Session, food: str | None, days: int, json_: bool) -> None:
    """Show how the kitchen's finished coolings went: by food, container, depth and method.

    haccp learned "bean stew" --days 90
    """
    from haccp.kitchen.learned import finished, foods_of_batches, rows_of

    record, register, now = session.record, session.register, session.now
    since = now - timedelta(days=days)
    foods, lost = foods_of_batches(record)
    names = (*foods.values(), *(one.name for one in register.foods.values()))
    wanted = (
        find(food, {name: folded(name) for name in names}, "food") if food is not None else None
    )
    during = record.batches_during(since, now + timedelta(seconds=1))
    mine = [code for code, name in foods.items() if wanted in (None, folded(name))]
    codes = [code for code in mine if code in during]
    with terminal.progress(phrase("Judging batches"), len(codes), _MANY) as done:
        rows = rows_of(finished(record, register, codes, since, now, done))
    session.tell_troubles(err=json_)
    for words in lost:
        terminal.say(words, err=True)
    if json_:
        terminal.as_json([_plain(row, register.degree) for row in rows])
        return
    if not rows:
        terminal.say(_none(wanted, days))
        return
    for row in rows:
        _tell(row, register.degree)
    terminal.paragraph(phrase(_NOTE))


def _none(food: str | None, days: int) -> str:
    if food:
        return counted(
            "No cooling of {food} was finished in the last day.",
            "No cooling of {food} was finished in the last {count} days.",
            days,
            food=food,
        )
    return counted(
        "No cooling was finished in the last day.",
        "No cooling was finished in the last {count} days.",
        days,
    )


def _tell(row: "Row", degree: Degree) -> None:
    """Print how often it was met, and a line of times for each stage."""
    told = counted(
        "{manner}: {count} cooling, {counts}",
        "{manner}: {count} coolings, {counts}",
        row.count,
        manner=_words(row.manner),
        counts=", ".join(_count(one, n) for one, n in _counts(row) if n),
    )
    terminal.paragraph(told, indent="  ")
    header = (
        phrase("stage"),
        phrase("median"),
        phrase("shortest"),
        phrase("longest"),
        phrase("of"),
    )
    terminal.table(header, [_line(one, degree) for one in row.times])
    terminal.lines("")


def _counts(row: "Row") -> Iterator[tuple[Verdict, int]]:
    yield from ((one, row.verdicts.get(one, 0)) for one in _VERDICTS)


def _count(verdict: Verdict, count: int) -> str:
    match verdict:
        case Verdict.MET:
            return counted("{count} met", "{count} met", count)
        case Verdict.NOT_MET:
            return counted("{count} not met", "{count} not met", count)
        case Verdict.NOT_SHOWN:
            return counted("{count} not shown", "{count} not shown", count)
        case Verdict.STOPPED:
            return counted("{count} broken off", "{count} broken off", count)
        case Verdict.OPEN:
            raise AssertionError("a finished cooling is not open")


def _words(manner: "Manner") -> str:
    depth = phrase("{depth} in deep", depth=manner.depth_in) if manner.depth_in else ""
    method = manner.method or phrase("method not said")
    return ", ".join(one for one in (manner.food, manner.container, depth, method) if one)


def _line(times: "Times", degree: Degree) -> tuple[str, ...]:
    middle = times.median
    told = ("-",) * 3
    if middle is not None:
        told = (spell(middle), spell(times.known[0]), spell(times.known[-1]))
    known = len(times.known)
    if times.unknown:
        of = phrase("{known} known, {unknown} unknown", known=known, unknown=times.unknown)
    else:
        of = phrase("{known} known", known=known)
    return (_leads(times.stage, degree), *told, of)


def _leads(stage: "Stage", degree: Degree) -> str:
    """Name a stage by its levels, as the limit that was in force prints them."""
    level = f"{stage.level.number(degree)} °{degree}"
    if stage.clock is CountsFrom.PREVIOUS_STAGE:
        return phrase("then to {level}", level=level)
    if stage.start:
        return phrase("{number} to {level}", number=stage.start.number(degree), level=level)
    return phrase("to {level}", level=level)


def _plain(row: "Row", degree: Degree) -> dict[str, Any]:
    manner = row.manner
    return {
        "food": manner.food,
        "container": manner.container,
        "depth_in": manner.depth_in,
        "method": manner.method,
        "coolings": row.count,
        **{_VERDICTS[one]: n for one, n in _counts(row)},
        "stages": [
            {
                "limit": one.stage.limit,
                "stage": _leads(one.stage, degree),
                "known": len(one.known),
                "unknown": one.unknown,
                "median_min": None if one.median is None else _minutes(one.median),
                "shortest_min": _minutes(one.known[0]) if one.known else None,
                "longest_min": _minutes(one.known[-1]) if one.known else None,
            }
            for one in row.times
        ],
    }


def _minutes(time: timedelta) -> float:
    return round(time / timedelta(minutes=1), 1)
