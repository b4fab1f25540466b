"""Looking at the record: `show`, `trace`, `label`, `list`."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from haccp.cli import rescue_answer, terminal
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.batch_facts import about, left_once_thawed, told_setup
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found, date_mark, frozen_times, is_frozen, said_open
from haccp.kitchen.lineage import came_from, went_into
from haccp.kitchen.naming import every_code, find_known, open_codes
from haccp.kitchen.on_record import OnRecord, entered_later
from haccp.kitchen.reading import read_batch, read_batches, read_units
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.stays import stood_in_words
from haccp.language import phrase
from haccp.record.entries import (
    Assessed,
    BatchOpened,
    CoolingPlanned,
    CoolingSetup,
    Entry,
    Measured,
    Moved,
    UnitEmptied,
    Unreadable,
    Withdrawn,
    having,
)
from haccp.record.threads import about_unit
from haccp.rules.datemark import EXEMPT
from haccp.rules.evidence import Bounds, Finding, Step, Verdict, overall
from haccp.temperature import parse_temperature
from haccp.time import clock, day_and_clock, from_stored, short_day, spell_hold, stored

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running

# A curve that is wider shows no more [columns].
_WIDEST = 100


@click.command()
@click.argument("name", metavar="BATCH_OR_UNIT")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def show(session: Session, name: str, json_: bool) -> None:
    """Show one batch or unit: its readings, what was found, and a batch's curve."""
    register, now = session.register, session.now
    subject = any_subject(session, name)
    findings = all_found(subject, session.record, register, now)
    when = partial(day_and_clock, now=now, zone=register.zone)
    running = fitted(subject, findings, session)
    acts = rescue_answer.at_risk(subject, findings, running, session)
    if json_:
        terminal.as_json(
            {
                "name": subject.name,
                "verdict": overall(findings),
                "findings": [terminal.finding(one, when) for one in findings],
                "account": _account(subject, session),
                "entries": [_plain(entry) for entry in subject.entries],
                "rescue": rescue_answer.plain(acts) if acts else None,
            }
        )
        return
    session.tell_troubles()
    terminal.lines(f"{subject.title}: {overall(findings).upper()}")
    for label, words in _facts(subject, session):
        terminal.paragraph(f"{label}: {words}.", indent="  ")
    rows = [
        _line(entry, subject, session)
        for entry in sorted(subject.entries, key=lambda entry: entry.at)
        if not isinstance(entry.body, BatchOpened)
    ]
    if rows:
        terminal.table(("no.", "when", "by", "what", "note"), rows)
        terminal.lines("")
    terminal.findings(findings, when)
    for words in _estimates(findings, running, session):
        terminal.lines("")
        terminal.paragraph(words)
    if acts:
        terminal.lines("")
        rescue_answer.tell(acts, session)
    _draw(subject, findings, session)


def _draw(subject: OnRecord, findings: Sequence[Finding], session: Session) -> None:
    """Draw a batch's coolings, each in a panel of its own; else its readings, or a unit's."""
    from haccp.cli.terminal_curve import cooling_key, cooling_panel, held_panel
    from haccp.kitchen.cooling_estimate import coolings
    from haccp.printing.batch_and_unit_pages import cooling_curve, marks_of

    record, register, now = session.record, session.register, session.now
    wide = min(terminal.width(), _WIDEST)
    if isinstance(subject, BatchOnRecord) and (found := coolings(findings)):
        drawn = [cooling_curve(subject, one, record, register, now) for one in found]
        for one in drawn:
            terminal.lines("", *cooling_panel(one, wide))
        terminal.paragraph(cooling_key(drawn))
        return
    readings = sorted((reading_of(e, register) for e in subject.readings), key=lambda r: r.at)
    if len(readings) < 2:
        return
    judged = [one for one in findings if one.limit.name != "oven"]
    levels = dict.fromkeys(one.limit.level for one in judged if one.limit.rows)
    emptied = [entry.at for entry in having(subject.in_force, UnitEmptied)]
    panel = held_panel(
        readings, marks_of(judged), list(levels), register.degree, register.zone, emptied, wide
    )
    terminal.lines("", *panel)


def _account(subject: OnRecord, session: Session) -> list[list[dict[str, Any]]]:
    """Give the phases of each way back of a batch with their bounds; of a unit there are none."""
    if not isinstance(subject, BatchOnRecord):
        return []

    def bounds(one: Bounds | None) -> list[str | None] | None:
        return [stored(at) if at else None for at in (one.earliest, one.latest)] if one else None

    return [
        [
            {
                "state": one.phase.state,
                "began": bounds(one.phase.began),
                "ended": bounds(one.phase.ended),
                "began_in": one.began_in,
                "units": [{"unit": stay.unit, "usual": stay.usual} for stay in one.stays],
                "deviates": one.deviates,
            }
            for one in way
        ]
        for way in subject.ways_told(session.register, session.now)
    ]


def fitted(subject: OnRecord, findings: Sequence[Finding], session: Session) -> "Running | None":
    """Forecast the cooling that a batch is in, if it is in one."""
    is_cooling = any(one.step is Step.COOL and one.verdict is Verdict.OPEN for one in findings)
    if not isinstance(subject, BatchOnRecord) or not is_cooling:
        return None
    from haccp.kitchen.cooling_estimate import running

    return running(subject, findings, session.record, session.register, session.now)


def _estimates(
    findings: Sequence[Finding], fitted: "Running | None", session: Session
) -> Iterator[str]:
    """Tell what an open cooling is expected to do, and what a model says of one that failed."""
    from haccp.kitchen.cooling_estimate import coolings, estimate, growth

    when = partial(day_and_clock, now=session.now, zone=session.register.zone)
    yield from filter(None, [estimate(fitted, when) if fitted else ""])
    told = list(filter(None, map(growth, coolings(findings))))
    if told:
        from haccp.physics.growth import behind

        yield from (*told, behind())


def _facts(subject: OnRecord, session: Session) -> Iterator[tuple[str, str]]:
    """Tell what is known of a batch; of a unit, what stood in it during the checks shown."""
    record, register, now = session.record, session.register, session.now
    when = partial(day_and_clock, now=now, zone=register.zone)
    if isinstance(subject, BatchOnRecord):
        yield from about(subject, record, register, now, when)
        return
    since = min((entry.at for entry in subject.entries), default=now)
    until = now + timedelta(seconds=1)
    stood = stood_in_words(subject.name, record, register, since, until, now, when)
    if stood:
        yield "Stood in it", stood


def _line(entry: Entry, subject: OnRecord, session: Session) -> tuple[str, ...]:
    when = day_and_clock(entry.at, session.now, session.register.zone)
    body = entry.body
    if isinstance(body, Measured):
        hold = timedelta(seconds=float(body.held_s))
        held = f" held {spell_hold(hold)}" if hold else ""
        method = f" {body.method}" if body.method else ""
        oven = f", oven {parse_temperature(body.chamber)}" if body.chamber else ""
        what = f"{body.temp} °{body.degree} {Step(body.step).words}{method}{held}{oven}"
        paper = "From paper." if body.paper else ""
        note = " ".join(part for part in (paper, body.note, body.reason) if part)
    elif isinstance(body, CoolingSetup):
        what, note = body.kind, told_setup(body)
    elif isinstance(body, CoolingPlanned):
        what, note = body.kind, body.asked
    elif isinstance(body, Assessed):
        known = (("pH", body.ph), ("aw", body.water_activity))
        what = body.kind
        note = f"{body.result}, {', '.join(f'{name} {value}' for name, value in known if value)}"
    elif isinstance(body, Unreadable):
        what, note = body.kind, f"CANNOT BE READ: {body.why}."
    elif isinstance(body, Moved):
        what, note = body.kind, f"{entry.batch} into {entry.unit}"
    else:
        what = body.kind
        note = " ".join(str(value) for value in asdict(body).values() if value)
    note = " ".join(filter(None, (note, entered_later(entry).capitalize())))
    if entry.corrected_by:
        by = entry.corrected_by
        taken_back = any(e.seq == by and isinstance(e.body, Withdrawn) for e in subject.entries)
        note = f"{'WITHDRAWN' if taken_back else 'REPLACED'} by no. {by}. {note}"
    if entry.corrects:
        done = "Withdraws" if isinstance(body, Withdrawn) else "Replaces"
        note = f"{done} no. {entry.corrects}. {note}"
    return str(entry.seq), when, entry.person, what, note


def any_batch(session: Session, name: str) -> BatchOnRecord:
    """Find a batch, open or not; raises Refused for a unit."""
    found = any_subject(session, name)
    if not isinstance(found, BatchOnRecord):
        raise Refused(f"{found.name} is a unit: type a batch.")
    return found


def any_subject(session: Session, name: str) -> OnRecord:
    """Find a batch, open or not, or a unit with the last two days on which it was used."""
    record, register = session.record, session.register
    found = find_known(name, record, list(register.units))
    if found in register.units:
        read = record.backwards(about_unit(found))
        last = next((entry.at for entry in read if entry.unit), session.now)
        since, until = last - timedelta(days=2), last + timedelta(hours=1)
        return read_units(record, register, [found], since, until)[0]
    return read_batch(record, found)


@click.command()
@click.argument("name", metavar="BATCH")
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def trace(session: Session, name: str, json_: bool) -> None:
    """Follow a batch both ways: what is in it, and where it went.

    haccp trace beef-1026
    """
    subject = any_batch(session, name)
    ways = {
        "what is in it": came_from(session.record, subject.name),
        "where it went": went_into(session.record, subject.name),
    }
    if json_:
        terminal.as_json(
            {
                way: [
                    {
                        "depth": one.depth,
                        "how": one.how,
                        "batch": one.batch.name,
                        "food": one.batch.batch.food,
                        "fate": one.batch.fate,
                    }
                    for one in found
                ]
                for way, found in ways.items()
            }
        )
        return
    terminal.lines(f"{subject.title}: {subject.fate}")
    when = partial(day_and_clock, now=session.now, zone=session.register.zone)
    rows = [
        (
            way if number == 0 else "",
            "  " * (one.depth - 1) + one.batch.name,
            one.how,
            when(one.batch.opened.at),
            one.batch.fate,
            one.batch.batch.food,
        )
        for way, found in ways.items()
        for number, one in enumerate(found)
    ]
    if rows:
        terminal.table(("", "batch", "how", "opened", "now", "food"), rows)
    else:
        terminal.lines("Nothing else is in it, and it went into nothing else.")


@click.command()
@click.argument("name", metavar="BATCH")
@click.option("--portions", is_flag=True, help="A line for each portion of it that is left.")
@click.pass_obj
def label(session: Session, name: str, *, portions: bool) -> None:
    """Print a line to write or stick on a batch's container.

    haccp label stew
    """
    subject = any_batch(session, name)
    labelled = [subject]
    if portions:
        left = read_batches(session.record, open_codes(session.record))
        mine = [one for one in left if subject.name in one.batch.portion_of]
        labelled = sorted(mine, key=lambda one: one.opened.seq)
        if not labelled:
            raise Refused(phrase("No portion of {batch} is left.", batch=subject.name))
    told = [_label(one, session) for one in labelled]
    session.tell_troubles()
    terminal.lines(*told)


def _label(subject: BatchOnRecord, session: Session) -> str:
    register, opened = session.register, subject.opened
    made = subject.began.astimezone(register.zone)
    mark = date_mark(session.record, register, subject.name, session.now)
    timed = [
        one.due
        for one in subject.judged(register, session.now)
        if one.step is Step.TIME_CONTROL and one.due
    ]
    exempt = EXEMPT.get(subject.batch.date_mark_exempt)
    none = f"NO DATE MARK {exempt.citation}" if exempt else ""
    kept = f"USE BY {short_day(mark).upper()}" if mark else none
    if is_frozen(subject, register, session.now):
        left = left_once_thawed(subject, session.record, register, session.now).upper()
        frozen, _ = frozen_times(subject, register, session.now)[-1]
        day = short_day(frozen.astimezone(register.zone).date()).upper()
        kept = f"FROZEN {day}" + (f", {left}" if left else "")
    taken = "received" if subject.batch.received_as else "made"
    since = said_open(subject, session.now)
    since_day = short_day(since.astimezone(register.zone).date()) if since else ""
    words = [
        subject.title,
        subject.batch.amount,
        f"{taken} {short_day(made.date())} {clock(subject.began, register.zone)}",
        f"opened {since_day}" if since else "",
        f"DISCARD AT {clock(timed[0], register.zone)}" if timed else kept,
        opened.person,
    ]
    return " · ".join(word for word in words if word)


@click.command("list")
@click.argument(
    "what",
    type=click.Choice(["people", "thermometers", "units", "foods", "batches", "entries"]),
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def list_(session: Session, what: str, json_: bool) -> None:
    """List people, thermometers, units, foods, batches, or every entry of the record."""
    rows = _LISTS[what](session)
    if json_:
        terminal.as_json(rows)
        return
    session.tell_troubles()
    if rows:
        header = list(rows[0])
        shown = [_in_kitchen_time(row, session) for row in rows]
        terminal.table(header, [[_cell(row[column]) for column in header] for row in shown])
    else:
        terminal.lines(f"There are no {what} yet.")


def _plain(entry: Entry) -> dict[str, Any]:
    """Give an entry as plain values, for JSON and tables."""
    return {
        "seq": entry.seq,
        "kind": entry.body.kind,
        "at": stored(entry.at),
        "entered_at": stored(entry.entered_at),
        "person": entry.person,
        "batch": entry.batch,
        "unit": entry.unit,
        "corrects": entry.corrects,
        "body": {"cannot be read": entry.body.why, "text": entry.body.text}
        if isinstance(entry.body, Unreadable)
        else asdict(entry.body),
    }


def _in_kitchen_time(row: dict[str, Any], session: Session) -> dict[str, Any]:
    moments = {name: from_stored(row[name]) for name in ("at", "entered_at") if name in row}
    zone = session.register.zone
    return row | {name: day_and_clock(at, session.now, zone) for name, at in moments.items()}


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
            "verdict": overall(all_found(batch, record, register, session.now)),
            "left": "no" if batch.ended else "yes",
            "made from": batch.batch.made_from,
            "food": batch.batch.food,
        }
        for batch in read_batches(record, codes)
    ]


def _foods(session: Session) -> list[dict[str, Any]]:
    foods = [asdict(one) for one in session.register.foods.values()]
    steps = [one.pop("steps") for one in foods]
    # what is longest stands last, where it is wrapped
    return [{**one, "steps": told} for one, told in zip(foods, steps, strict=True)]


_LISTS: dict[str, Callable[[Session], list[dict[str, Any]]]] = {
    "people": lambda session: [asdict(one) for one in session.register.people.values()],
    "thermometers": lambda session: [asdict(one) for one in session.register.thermometers.values()],
    "units": lambda session: [asdict(one) for one in session.register.units.values()],
    "foods": _foods,
    "batches": _batches,
    "entries": lambda session: [_plain(one) for one in session.record.entries()],
}
