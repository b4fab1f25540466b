"""`haccp curve`: a batch's coolings as a drawing, or the fitted values of one."""

import re
from collections.abc import Iterator
from functools import partial
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click

from haccp.cli import terminal
from haccp.cli.looking import any_subject
from haccp.cli.outputs import SHOWN, force_option, is_paper, paper_mark, write_whole
from haccp.cli.papers import in_its_papers_language, tell_unprintable
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.language import counted, phrase

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running
    from haccp.physics.forecast import Interval
    from haccp.printing.curve_sheet import About, Form
    from haccp.printing.drawn_cooling import DrawnCurve
    from haccp.rules.evidence import Finding

_FORMS = ("png", "svg", "pdf")


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument(
    "output", metavar="[OUT]", required=False, type=click.Path(dir_okay=False, path_type=Path)
)
@click.option(
    "--cooling",
    "which",
    metavar="N",
    type=click.IntRange(min=1),
    help="Only its first (1), second (2) ... cooling; default: all, side by side.",
)
@click.option("--json", "json_", is_flag=True, help="Print fitted values as JSON instead.")
@force_option
@click.pass_obj
def curve(
    session: Session,
    name: str,
    output: Path | None,
    which: int | None,
    json_: bool,
    force: bool,
) -> None:
    """Draw a batch's coolings as a .pdf, .svg or .png, each with its plan and what is expected.

    haccp curve stew stew.pdf
    """
    from haccp.kitchen.cooling_estimate import coolings, running
    from haccp.printing.batch_and_unit_pages import cooling_curve

    register, now = session.register, session.now
    subject = any_subject(session, name)
    found = coolings(subject.judged(register, now))
    if not isinstance(subject, BatchOnRecord) or not found:
        raise Refused(
            phrase("{name} has no cooling on record: log one with haccp cool", name=subject.name)
        )
    chosen = [_nth(found, which, subject.name)] if which else found
    if json_:
        fitted = running(subject, chosen[-1], session.record, register, now)
        terminal.as_json({"batch": subject.name, "estimate": _plain(fitted) if fitted else None})
        return
    path = output or Path(f"{subject.name}.png")
    form = path.suffix.lstrip(".").lower()
    if form not in _FORMS:
        raise Refused(
            phrase(
                "{path} is none of .png, .svg, .pdf: type {stem}.png.", path=path, stem=path.stem
            )
        )
    with in_its_papers_language(register):
        drawings = [cooling_curve(subject, one, session.record, register, now) for one in chosen]
        about = _about(session, subject, drawings, cast("Form", form))
        drawn = b"".join(_drawn(drawings, about, cast("Form", form), session))
    write_whole(
        path,
        [drawn],
        records=[session.path],
        is_own=is_paper(about.mark),
        mode=SHOWN,
        force=force,
    )
    terminal.say(
        counted(
            "{path} shows {count} cooling of {batch}.",
            "{path} shows {count} coolings of {batch}.",
            len(drawings),
            path=path,
            batch=subject.title,
        )
    )


def _nth(found: "list[tuple[Finding, ...]]", which: int, batch: str) -> "tuple[Finding, ...]":
    if which > len(found):
        raise Refused(
            counted(
                "{batch} has {count} cooling on record: type --cooling 1.",
                "{batch} has {count} coolings on record: type a number up to that, such as "
                "--cooling {count}.",
                len(found),
                batch=batch,
            )
        )
    return found[which - 1]


def _about(
    session: Session, subject: BatchOnRecord, drawings: "list[DrawnCurve]", form: "Form"
) -> "About":
    """Say what is drawn, of which kitchen, and from which record."""
    from haccp.printing.curve_sheet import About
    from haccp.printing.curve_words import day, describe, headed
    from haccp.printing.typefaces import drawing_typefaces
    from haccp.printing.typeset import printable
    from haccp.rules.evidence import overall

    number, digest = session.record.head()
    amount = f", {subject.batch.amount}" if subject.batch.amount else ""
    verdict = overall(finding for one in drawings for finding in one.findings)
    kitchen = session.register.kitchen
    title = headed(verdict, f"{subject.title}{amount}, {day(drawings[0])}")
    tell_unprintable(session, session.register, (title, kitchen.name))
    faces = drawing_typefaces(kitchen.typeface)
    # where a page is set, that makes its words printable
    shown = str if form == "pdf" else partial(printable, faces=faces)
    return About(
        title=shown(title),
        below=(
            shown(kitchen.name),
            # in groups, so that no line-breaking sign comes to stand in it
            phrase(
                "Record up to no. {number}, digest {digest}",
                number=number,
                digest=" ".join(re.findall(".{1,16}", digest)),
            ),
        ),
        described=" ".join(map(describe, drawings)),
        mark=paper_mark("curve", session.identity),
        faces=tuple(faces.used()),
    )


def _drawn(
    drawings: "list[DrawnCurve]", about: "About", form: "Form", session: Session
) -> Iterator[bytes]:
    """Draw them in a form; a PDF is set on a page, with tags for who cannot see it."""
    from haccp.printing.curve import draw, key, key_in_words

    if form != "pdf":
        yield draw(*drawings, form=form, about=about)
        return
    from haccp.printing.typeset import typeset

    terminal.take_warnings()
    words = {
        "title": about.title,
        "kitchen": about.below[0],
        "below": about.below,
        "described": about.described,
        "mark": about.mark,
        "key": key_in_words(),
    }
    files = {"curve.svg": draw(*drawings), "key.svg": key()}
    yield typeset(
        words,
        files,
        template="curve",
        paper="letter",
        printed=session.now,
        typeface=session.register.kitchen.typeface,
    )


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
