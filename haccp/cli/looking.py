"""Looking at one batch or unit: `show`, `trace`."""

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from haccp.cli import rescue_answer, terminal
from haccp.cli.listing import plain
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.batch_facts import about, told_setup
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cases import parted
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.lineage import came_from, went_into
from haccp.kitchen.naming import find_known
from haccp.kitchen.on_record import OnRecord, entered_later
from haccp.kitchen.reading import read_batch, read_units
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.stays import stays, stood_in_words
from haccp.language import counted, message, phrase
from haccp.phrases import spanning
from haccp.record.bodies import (
    Assessed,
    BatchOpened,
    Body,
    CoolingPlanned,
    CoolingSetup,
    CorrectiveAction,
    LeftOut,
    Measured,
    Moved,
    UnitEmptied,
    Unreadable,
    Withdrawn,
    kind_in_words,
)
from haccp.record.entries import Entry, by_entry, having
from haccp.record.threads import about_unit
from haccp.rules.evidence import Bounds, Finding, Step, Verdict, overall
from haccp.rules.words import called
from haccp.temperature import parse_temperature
from haccp.time import day_and_clock, from_stored, spell, spell_hold, stored

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running

# A curve that is wider shows no more [columns].
_WIDEST = 100
_REPLACES = message("Replaces no. {number}.")
_TAKEN_BACK: dict[type[Body], str] = {
    Withdrawn: message("WITHDRAWN by no. {number}."),
    LeftOut: message("LEFT OUT by no. {number}."),
}


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
                "entries": [plain(entry) for entry in by_entry(subject.entries)],
                "rescue": rescue_answer.plain(acts) if acts else None,
            }
        )
        return
    session.tell_troubles()
    terminal.lines(f"{subject.title}: {called(overall(findings))}")
    for label, words in _facts(subject, session):
        terminal.paragraph(f"{label}: {words}.", indent="  ")
    rows = _lines(subject, findings, session)
    if rows:
        header = (phrase("no."), phrase("when"), phrase("by"), phrase("what"), phrase("note"))
        terminal.table(header, rows)
        _tell_logged(subject, session)
        terminal.lines("")
    by_themselves, others = parted(findings)
    terminal.findings(by_themselves, when)
    if others:
        longest = max(one.longest for one in others if one.longest is not None)
        told = counted(
            "{count} more out of limits, for at most {time}: haccp show {name} --json",
            "{count} more out of limits, each for at most {time}: haccp show {name} --json",
            len(others),
            time=spell(longest),
            name=subject.name,
        )
        terminal.paragraph(told)
    for words in _estimates(findings, running, session):
        terminal.lines("")
        terminal.paragraph(words)
    if acts:
        terminal.lines("")
        rescue_answer.tell(acts, session)
    _draw(subject, findings, session)


def _tell_logged(subject: OnRecord, session: Session) -> None:
    """Say out of which files a logger's readings are, that stand there by the hour."""
    if any(one.run for one in subject.readings):
        from haccp.printing.folding import said_of

        when = partial(day_and_clock, now=session.now, zone=session.register.zone)
        terminal.paragraph(said_of(subject.readings, when))


def _lines(
    subject: OnRecord, findings: Sequence[Finding], session: Session
) -> list[tuple[str, ...]]:
    """Tell each entry in a line, a logger's readings by the hour."""
    from haccp.printing.batch_and_unit_pages import marks_and_ovens
    from haccp.printing.folding import folded, note_of, span_of, telling

    marks, _ = marks_and_ovens(findings)
    kept = telling(subject.readings, findings, marks)
    runs: list[Sequence[Entry]] = [[one] for one in subject.entries if one.run is None]
    logged = sorted((one for one in having(subject.entries, Measured) if one.run), key=_when)
    runs += folded(logged, kept)
    told = []
    for run in sorted(runs, key=lambda run: run[0].at):
        if isinstance(run[0].body, BatchOpened):
            continue
        line = _line(run[0], subject, session)
        if len(run) > 1:
            read = list(having(run, Measured))
            note = " ".join(filter(None, (f"{note_of(read)}.", line[4])))
            line = (*line[:3], f"{span_of(read)} {Step(read[0].body.step).words}", note)
        told.append(line)
    return told


def _when(entry: Entry) -> tuple[datetime, int, int]:
    return entry.at, entry.seq, entry.place


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
    mine = stays(record, register, since, until, now).get(subject.name, ())
    stood = stood_in_words(mine, when, register.zone)
    if stood:
        yield phrase("Stood in it"), stood


def _line(entry: Entry, subject: OnRecord, session: Session) -> tuple[str, ...]:
    when = day_and_clock(entry.at, session.now, session.register.zone)
    body = entry.body
    what = _read(body) if isinstance(body, Measured) else kind_in_words(body)
    late = "" if entry.run else entered_later(entry)  # of a file that is said once
    till = session.register.history.till_of(entry)
    notes = [_note(entry, session), late.capitalize()]
    notes += [phrase("Typed at {till}.", till=till)] if till else []
    if entry.corrected_by:
        by = entry.corrected_by
        kind = next((type(e.body) for e in subject.entries if e.seq == by), Measured)
        told = _TAKEN_BACK.get(kind, message("REPLACED by no. {number}."))
        notes.insert(0, phrase(told, number=by))
    if entry.corrects:
        is_taken_back = isinstance(body, Withdrawn)
        told = message("Withdraws no. {number}.") if is_taken_back else _REPLACES
        notes.insert(0, phrase(told, number=entry.corrects))
    *others, last = [*filter(None, notes)] or [""]
    told = " ".join([*(f"{one.rstrip('.')}." for one in others), last])
    return str(entry.seq), when, entry.person, what, told


def _read(body: Measured) -> str:
    """Tell a reading: its temperature and step, and how long it was held, by what, in what oven."""
    hold = timedelta(seconds=float(body.held_s))
    told = " ".join(
        filter(None, (f"{body.temp} °{body.degree}", Step(body.step).words, body.method))
    )
    if hold:
        told = phrase("{reading} held {time}", reading=told, time=spell_hold(hold))
    if body.chamber:
        told = phrase("{reading}, oven {temp}", reading=told, temp=parse_temperature(body.chamber))
    return told


def _note(entry: Entry, session: Session) -> str:
    """Tell what an entry says beside what it is."""
    match entry.body:
        case LeftOut(of=number, first=first, reason=reason):
            when = partial(day_and_clock, now=session.now, zone=session.register.zone)
            span = spanning(when(from_stored(first)), when(entry.at))
            told = phrase(
                "Of no. {number} {span}: {reason}", number=number, span=span, reason=reason
            )
        case Measured(paper=on_paper, note=note, reason=reason):
            paper = phrase("From paper.") if on_paper else ""
            told = " ".join(part for part in (paper, note, reason) if part)
        case CorrectiveAction(text=text, cause=cause) if cause:
            told = phrase("{text}; cause: {cause}", text=text.rstrip("."), cause=cause)
        case CoolingSetup() as body:
            told = told_setup(body)
        case CoolingPlanned(asked=asked):
            told = asked
        case Assessed() as body:
            known = (("pH", body.ph), ("aw", body.water_activity))
            values = ", ".join(f"{name} {value}" for name, value in known if value)
            told = f"{body.result}, {values}"
        case Unreadable(why=why):
            told = phrase("CANNOT BE READ: {why}.", why=why)
        case Moved():
            told = phrase("{batch} into {unit}", batch=entry.batch, unit=entry.unit)
        case body:
            told = " ".join(str(value) for value in asdict(body).values() if value)
    return told


def any_batch(session: Session, name: str) -> BatchOnRecord:
    """Find a batch, open or not; raises Refused for a unit."""
    found = any_subject(session, name)
    if not isinstance(found, BatchOnRecord):
        raise Refused(phrase("{unit} is a unit: type a batch.", unit=found.name))
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
        message("what is in it"): came_from(session.record, subject.name),
        message("where it went"): went_into(session.record, subject.name),
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
            phrase(way) if number == 0 else "",
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
        heads = (phrase("batch"), phrase("how"), phrase("opened"), phrase("now"), phrase("food"))
        terminal.table(("", *heads), rows)
    else:
        terminal.lines(phrase("Nothing else is in it, and it went into nothing else."))
