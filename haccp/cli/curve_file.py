"""`haccp curve`: a batch's cooling as a drawing, or its fitted values."""

from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast

import click

from haccp.cli import terminal
from haccp.cli.looking import any_subject
from haccp.cli.outputs import SHOWN, force_option, is_paper, paper_mark, write_whole
from haccp.cli.papers import in_its_papers_language
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running
    from haccp.physics.forecast import Interval

_FORMS = ("png", "svg", "pdf")


@click.command()
@click.argument("name", metavar="BATCH")
@click.option(
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    help="A .png, .svg or .pdf; default: BATCH.png here.",
)
@click.option("--json", "json_", is_flag=True, help="Print the fitted values as JSON instead.")
@force_option
@click.pass_obj
def curve(session: Session, name: str, output: Path | None, json_: bool, force: bool) -> None:
    """Draw a batch's last cooling, with its plan and, while it runs, what is expected.

    haccp curve stew --output stew.pdf
    """
    from haccp.kitchen.cooling_estimate import coolings, running
    from haccp.printing.batch_and_unit_pages import cooling_curve
    from haccp.printing.curve import draw

    register, now = session.register, session.now
    subject = any_subject(session, name)
    found = coolings(subject.judged(register, now))
    if not isinstance(subject, BatchOnRecord) or not found:
        raise Refused(f"{subject.name} has no cooling on record: log one with haccp cool")
    if json_:
        fitted = running(subject, found[-1], session.record, register, now)
        terminal.as_json({"batch": subject.name, "estimate": _plain(fitted) if fitted else None})
        return
    path = output or Path(f"{subject.name}.png")
    form = path.suffix.lstrip(".").lower()
    if form not in _FORMS:
        raise Refused(f"{path} is none of .{', .'.join(_FORMS)}: type --output {path.stem}.png.")
    mark = paper_mark("curve", session.identity)
    with in_its_papers_language(register):
        drawing = cooling_curve(subject, found[-1], session.record, register, now)
        drawn = draw(drawing, cast(Literal["svg", "png", "pdf"], form), mark)
    write_whole(
        path,
        [drawn],
        records=[session.path],
        is_own=is_paper(mark),
        mode=SHOWN,
        force=force,
    )
    terminal.say(f"{path} shows the last cooling of {subject.title}.")


def _plain(fitted: "Running") -> dict[str, Any]:
    """Give the fitted values as [5 %, 50 %, 95 %], null beyond all bounds; temperatures in °F."""
    values = fitted.fitted.fitted
    return {
        "note": "an estimate from a model; it changes no verdict",
        "from": fitted.zero.isoformat(),
        "rate_per_hour_hot": _points(values.rate),
        "rate_per_hour_cold": _points(values.rate_cold),
        "lag_min": _points(values.lag),
        "surroundings_f": _points(values.surroundings),
        "first_f": _points(values.first),
        "stages": [
            {
                "limit": one.finding.limit.name,
                "reached_min": _points(one.arrival.at),
                "chance": one.arrival.chance,
                "outlook": one.outlook.value,
            }
            for one in fitted.expected
        ],
    }


def _points(one: "Interval") -> list[float | None]:
    points = (one.low, one.middle, one.high)
    return [round(value, 3) if isfinite(value) else None for value in points]
