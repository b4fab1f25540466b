"""`haccp trends`: what goes wrong where and when, over many days."""

from collections.abc import Mapping
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast

import click

from haccp.cli import terminal
from haccp.cli.outputs import SHOWN, force_option, is_paper, paper_mark, write_whole
from haccp.cli.papers import tell_unprintable
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.language import counted, message, phrase
from haccp.time import WEEKDAYS, day_starts, parse_days, short_day

if TYPE_CHECKING:
    import pandas as pd

# pandas and the rules it counts by are imported when it runs
_BY = (
    "unit",
    "hour",
    "weekday",
    "thermometer",
    "container",
    "method",
    "food",
    "cooling-weekday",
)
_HEADS = {
    "unit": message("by unit"),
    "hour": message("by hour"),
    "weekday": message("by weekday"),
    "thermometer": message("by thermometer"),
    "container": message("by container"),
    "method": message("by method"),
    "food": message("by food"),
    "cooling-weekday": message("by cooling-weekday"),
}
# What is printed where nobody says by what; of what has many groups, those where it went wrong.
_TABLES = ("unit", "hour", "weekday", "container", "food", "thermometer")
_WHERE_BAD = ("hour", "weekday")
_USUAL_DAYS = 28
_FORMS = ("png", "svg", "pdf")
_NOT_SAID = message("not said")
_NOTE = message(
    "In brackets: the share that is not met in the long run, by 95 of 100 such counts. Few days "
    "say little; none of it is a verdict, and none of it is about who measured."
)


@click.command()
@click.argument("first", required=False, metavar="[DAY]")
@click.argument("last", required=False, metavar="[LAST_DAY]")
@click.option("--by", "by", type=click.Choice(_BY), help="Count by that alone.")
@click.option(
    "--csv",
    "table",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write every check and cooling, a line each, to FILE.",
)
@click.option(
    "--plot",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Draw the shares: a .png, .svg or .pdf.",
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@force_option
@click.pass_obj
def trends(
    session: Session,
    first: str | None,
    last: str | None,
    by: str | None,
    table: Path | None,
    plot: Path | None,
    json_: bool,
    force: bool,
) -> None:
    """Show what goes wrong where and when, by unit and hour, container, food, thermometer.

    haccp trends 2026-10-01 2026-10-31; without days, the last four weeks.
    """
    begins, ends = parse_days(first, last, session.now, session.register.zone, usual=_USUAL_DAYS)
    form = _form(plot) if plot else None
    from haccp.kitchen.trends import BY, observed, shares

    register, zone = session.register, session.register.zone
    since, until = day_starts(begins, zone), day_starts(ends + timedelta(days=1), zone)
    found = observed(session.record, register, since, until, session.now)
    counts = {name: shares(found, name) for name in ((by,) if by else _BY)}
    session.tell_troubles(err=json_)
    place = partial(write_whole, records=[session.path], mode=SHOWN, force=force)
    if table:
        head, *rows = found.to_csv(index=False).encode().splitlines(keepends=True)
        place(table, [head, *rows], is_own=lambda there: there.startswith(head))
    if plot and form:
        mark = paper_mark("trends", session.identity)
        place(plot, [_drawn(counts, form, mark, session)], is_own=is_paper(mark))
    if json_:
        terminal.as_json({name: _plain(one) for name, one in counts.items()})
        return
    told = phrase(
        "{kitchen}, {first} – {last}",
        kitchen=register.kitchen.name,
        first=short_day(begins),
        last=short_day(ends),
    )
    terminal.lines(told)
    if by:
        _print(by, counts[by], BY[by][1])
    else:
        for name in _TABLES:
            one = counts[name]
            _print(name, one[one["not_met"] > 0] if name in _WHERE_BAD else one, BY[name][1])
    terminal.lines("")
    terminal.paragraph(phrase(_NOTE))


def _drawn(
    counts: "Mapping[str, pd.DataFrame]",
    form: Literal["svg", "png", "pdf"],
    mark: str,
    session: Session,
) -> bytes:
    from haccp.kitchen.trends import BY
    from haccp.printing.trends_plot import Bar, draw
    from haccp.printing.typefaces import drawing_typefaces
    from haccp.printing.typeset import printable

    faces = drawing_typefaces(session.register.kitchen.typeface)
    panels: dict[str, list[Bar]] = {}
    labels: list[str] = []
    for name, found in counts.items():
        rows = found.to_dict("records")
        labels += [group(row, BY[name][1]) for row in rows]
        panels[phrase(_HEADS[name])] = [
            Bar(
                printable(group(row, BY[name][1]), faces),
                row["not_met"],
                row["count"],
                row["low"],
                row["high"],
            )
            for row in rows
        ]
    tell_unprintable(session, session.register, labels)
    return draw(panels, form, mark, faces.used())


def _form(plot: Path) -> Literal["svg", "png", "pdf"]:
    form = plot.suffix.lstrip(".").lower()
    if form not in _FORMS:
        raise Refused(
            phrase(
                "{path} is none of .png, .svg, .pdf: type --plot {stem}.png.",
                path=plot,
                stem=plot.stem,
            )
        )
    return cast(Literal["svg", "png", "pdf"], form)


def _print(by: str, counts: "pd.DataFrame", columns: tuple[str, ...]) -> None:
    """Print a table: each group with how many of how many, when, and what it may be."""
    if not len(counts):
        return
    terminal.lines("")
    rows = [
        (
            group(row, columns),
            phrase("{bad} of {count}", bad=row["not_met"], count=row["count"]),
            f"({row['low']:.0%}-{row['high']:.0%})",
            str(row["not_shown"]),
            _when(row),
        )
        for row in counts.to_dict("records")
    ]
    heads = (
        phrase(_HEADS[by]),
        phrase("not met"),
        "",
        phrase("not shown"),
        phrase("when"),
    )
    terminal.table(heads, rows)


def group(row: dict[Any, Any], columns: tuple[str, ...]) -> str:
    """Name a group: a unit, with its hour or weekday where it is counted by that too."""

    def shown(column: str) -> str:
        value = row[column]
        match column:
            case "weekday":
                return weekday_of(int(value))
            case "hour":
                return f"{int(value):02}:00"
            case "depth_in":
                return phrase("{depth} in deep", depth=value) if value else ""
            case _:
                return str(value) or phrase(_NOT_SAID)

    return ", ".join(text for column in columns if (text := shown(column)))


def _when(row: dict[Any, Any]) -> str:
    """Say on how many days it was, and between which times of day all of it was read."""
    if not row["not_met"]:
        return ""
    first, last = clock_of(row["first"]), clock_of(row["last"])
    days = {"days": row["days"], "first": first, "last": last}
    if first == last:
        return counted(
            "on {count} of {days} days, at this hour: {first}",
            "on {count} of {days} days, each time at this hour: {first}",
            int(row["bad_days"]),
            **days,
        )
    return counted(
        "on {count} of {days} days, between {first} and {last}",
        "on {count} of {days} days, all between {first} and {last}",
        int(row["bad_days"]),
        **days,
    )


def weekday_of(number: int) -> str:
    return phrase(WEEKDAYS[number])


def clock_of(hours: float) -> str:
    minutes = round(hours * 60)
    return f"{minutes // 60:02}:{minutes % 60:02}"


def _plain(counts: "pd.DataFrame") -> list[dict[str, Any]]:
    """Give the rows as plain values; what is not there as null."""
    known = counts.astype(object).where(counts.notna(), None)
    return [
        {
            str(key): round(value, 4) if isinstance(value, float) else value
            for key, value in row.items()
        }
        for row in known.to_dict("records")
    ]
