"""Looking at the record: `status`, `show`, `list`."""

from collections.abc import Callable
from dataclasses import asdict
from datetime import timedelta
from functools import partial
from typing import Any

import click

from haccp.cli import show as terminal
from haccp.cli.session import Session
from haccp.record.entries import BatchOpened, Entry, Measured, plain_entry
from haccp.record.review import Matter, matters
from haccp.record.subjects import (
    Subject,
    every_code,
    find_known,
    lineage,
    read_batches,
    read_units,
    reading_of,
    use_by,
)
from haccp.rules.evidence import overall
from haccp.rules.words import explain
from haccp.time import day_and_clock, short_day, spell


@click.command()
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def status(session: Session, json_: bool) -> None:
    """List what is open, the least time left first; a manager opens this first."""
    register, now = session.register, session.now
    found = matters(session.record, register, now)
    when = partial(day_and_clock, now=now, zone=register.zone)
    if json_:
        terminal.as_json([_matter(one, session) for one in found])
        return
    click.echo(f"{register.kitchen.name}, {when(now)}")
    if not found:
        click.echo("Nothing is open; every deviation of the last week is answered or signed under.")
        return
    rows = [
        (
            _left(one, session),
            when(one.due) if one.due else "",
            one.subject.title,
            *_told(one, session),
        )
        for one in found
    ]
    terminal.table(("left", "by", "food or unit", "verdict", "what"), rows)


def _left(one: Matter, session: Session) -> str:
    if one.due is None:
        return ""
    left = one.due - session.now
    return spell(left) if left > timedelta(0) else f"over {spell(-left)}"


def _told(one: Matter, session: Session) -> tuple[str, str]:
    when = partial(day_and_clock, now=session.now, zone=session.register.zone)
    if one.finding is None:
        return "", "Next check."
    verdict = one.finding.verdict
    action = " No corrective action is on record." if verdict.is_deviation else ""
    return verdict.upper(), explain(one.finding, when) + action


def _matter(one: Matter, session: Session) -> dict[str, Any]:
    due = one.due
    return {
        "subject": one.subject.name,
        "due": due.astimezone(session.register.zone).isoformat() if due else None,
        "left_min": terminal.minutes(due - session.now) if due else None,
        "verdict": one.finding.verdict if one.finding else None,
        "limit": one.finding.limit.name if one.finding else None,
        "what": _told(one, session)[1],
    }


@click.command()
@click.argument("name", metavar="BATCH_OR_UNIT")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def show(session: Session, name: str, json_: bool) -> None:
    """Show one batch or unit: its readings, what was found, and a batch's curve."""
    register, now = session.register, session.now
    subject = any_subject(session, name)
    findings = subject.judged(register, now)
    when = partial(day_and_clock, now=now, zone=register.zone)
    if json_:
        terminal.as_json(
            {
                "name": subject.name,
                "verdict": overall(findings),
                "findings": [terminal.finding(one, when) for one in findings],
                "entries": [plain_entry(entry) for entry in subject.entries],
            }
        )
        return
    click.echo(f"{subject.title}: {overall(findings).upper()}")
    if not subject.unit:
        _facts(subject, session)
    rows = [
        _line(entry, subject, session)
        for entry in subject.entries
        if not isinstance(entry.body, BatchOpened)
    ]
    terminal.table(("no.", "when", "by", "what", "note"), rows)
    click.echo()
    terminal.findings(findings, when)
    readings = [reading_of(entry, register) for entry in subject.readings]
    if len(readings) > 1:
        click.echo()
        terminal.curve(readings, findings, register.degree, register.zone)


def _facts(subject: Subject, session: Session) -> None:
    mark = use_by(subject.name, lineage(session.record, subject.name), session.register)
    made = f"Made from {', '.join(subject.batch.made_from)}. " if subject.batch.made_from else ""
    click.echo(f"{made}Date mark: use by {short_day(mark)} (3-501.17).")


def _line(entry: Entry, subject: Subject, session: Session) -> tuple[str, ...]:
    when = day_and_clock(entry.at, session.now, session.register.zone)
    body = entry.body
    if isinstance(body, Measured):
        held = f" held {body.held_s} s" if body.held_s != "0" else ""
        what = f"{body.temp} °{body.degree} {body.step.replace('_', ' ')}{held}"
        note = " ".join(part for part in (body.note, body.reason) if part)
    else:
        what = body.kind
        note = " ".join(str(value) for value in asdict(body).values() if value)
    if entry.seq in subject.corrected:
        note = f"REPLACED by no. {subject.corrected[entry.seq]}. {note}"
    if entry.corrects:
        note = f"Replaces no. {entry.corrects}. {note}"
    return str(entry.seq), when, entry.person, what, note


def any_subject(session: Session, name: str) -> Subject:
    """Find a batch, open or not, or a unit with the last two days on which it was used."""
    record, register = session.record, session.register
    found = find_known(name, record, list(register.units))
    if found in register.units:
        last = max((entry.at for entry in record.entries(units=[found])), default=session.now)
        since, until = last - timedelta(days=2), last + timedelta(hours=1)
        return read_units(record, register, [found], since, until)[0]
    return read_batches(record, [found])[0]


@click.command("list")
@click.argument(
    "what", type=click.Choice(["people", "thermometers", "units", "batches", "entries"])
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def list_(session: Session, what: str, json_: bool) -> None:
    """List people, thermometers, units, batches, or every entry of the record."""
    rows = _LISTS[what](session)
    if json_:
        terminal.as_json(rows)
    elif rows:
        header = list(rows[0])
        terminal.table(header, [[_cell(row[column]) for column in header] for row in rows])
    else:
        click.echo(f"There are no {what} yet.")


def _cell(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return ", ".join(f"{key}: {_cell(one)}" for key, one in value.items() if one)
    return ", ".join(value) if isinstance(value, list | tuple) else str(value or "")


def _batches(session: Session) -> list[dict[str, Any]]:
    record, register = session.record, session.register
    codes = every_code(record)
    return [
        {
            "code": batch.name,
            "opened": day_and_clock(batch.opened.at, session.now, register.zone),
            "verdict": overall(batch.judged(register, session.now)),
            "left": "no" if batch.ended else "yes",
            "made from": batch.batch.made_from,
            "food": batch.batch.food,
        }
        for batch in read_batches(record, codes)
    ]


_LISTS: dict[str, Callable[[Session], list[dict[str, Any]]]] = {
    "people": lambda session: [asdict(one) for one in session.register.people.values()],
    "thermometers": lambda session: [asdict(one) for one in session.register.thermometers.values()],
    "units": lambda session: [asdict(one) for one in session.register.units.values()],
    "batches": _batches,
    "entries": lambda session: [plain_entry(one) for one in session.record.entries()],
}
