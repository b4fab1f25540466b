"""A report's pages about one batch or one holding unit."""

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from haccp.kitchen.batch_facts import EGGS, about
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cooling_estimate import from_the_heat, planned, running
from haccp.kitchen.lineage import Relation, came_from, went_into
from haccp.kitchen.on_record import entered_later
from haccp.kitchen.register import Register
from haccp.kitchen.stays import stood_in_words
from haccp.kitchen.units import UnitOnRecord
from haccp.language import message, phrase
from haccp.printing.codes_in_words import in_words, named
from haccp.printing.drawn_cooling import DrawnCurve, mark
from haccp.printing.folding import folded, note_of, said_of, span_of, telling
from haccp.printing.report_context import EVENTS, Sheet, by_whom
from haccp.record.bodies import LeftOut, Measured, Moved, kind_in_words
from haccp.record.entries import Entry, by_entry, having
from haccp.record.store import Record
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import (
    INITIAL,
    MICROWAVE,
    OPENED,
    SIX_HOURS,
    UNSLICED,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
)
from haccp.temperature import parse_temperature
from haccp.time import clock, short_day, spell_hold


def batch_pages(subject: BatchOnRecord, sheet: Sheet) -> dict[str, Any]:
    findings = sheet.judged(subject)
    return {
        "title": subject.batch.food,
        "code": subject.name,
        "portion": bool(subject.batch.portion_of),
        "facts": _facts(subject, sheet),
        "relations": _relations(subject, sheet),
        "findings": _verdicts(findings, [one.finding for one in sheet.review.of(subject)]),
        **_rows(sheet.entries_of(subject), findings, sheet, steps=True),
        "no_readings": _no_readings(subject),
    }


def _verdicts(findings: Iterable[Finding], during: Container[Finding]) -> list[list[str]]:
    """Name each limit that was checked with what is found, once; a deviation of other days so."""
    told = dict.fromkeys(
        (one.verdict, named(one.limit), one.verdict.is_deviation and one not in during)
        for one in findings
    )
    return [
        [verdict, phrase("{limit} (on other days)", limit=limit) if other else limit]
        for verdict, limit, other in told
    ]


def _no_readings(subject: BatchOnRecord) -> str:
    """Say that nothing was measured of a batch; nothing where something was."""
    if any(having(subject.entries, Measured)):
        return ""
    if subject.inherited:
        parts = ", ".join(subject.batch.portion_of)
        words = message(
            "No reading of its own is on record; those of {parts} up to then count for it."
        )
        return phrase(words, parts=parts)
    return phrase("No reading of it is on record.")


def cooling_curve(
    subject: BatchOnRecord,
    cooling: tuple[Finding, ...],
    record: Record,
    register: Register,
    as_of: datetime,
) -> DrawnCurve:
    """Give one cooling as it is drawn, an open one with what it is expected to do."""
    fitted = None
    if any(one.verdict is Verdict.OPEN for one in cooling):
        fitted = running(subject, cooling, record, register, as_of)
    dues = [one.due for one in cooling if one.due]
    return DrawnCurve(
        readings=from_the_heat(cooling[0], subject, register),
        findings=cooling,
        degree=register.degree,
        zone=register.zone,
        planned=tuple(planned(subject, cooling)),
        expected=tuple(fitted.band(max(dues, default=as_of))) if fitted else (),
    )


def _facts(subject: BatchOnRecord, sheet: Sheet) -> list[list[str]]:
    told = about(subject, sheet.record, sheet.register, sheet.printed, sheet.on)
    return [*map(list, told), *_logged(having(subject.entries, Measured), sheet)]


def _logged(readings: Iterable[Entry[Measured]], sheet: Sheet) -> list[list[str]]:
    said = said_of(readings, sheet.on)
    return [[phrase("Logged"), said.removesuffix(".")]] if said else []


def _relations(subject: BatchOnRecord, sheet: Sheet) -> list[list[str]]:
    """List what is in a batch and where it went, both through any depth."""
    ways = {
        phrase("In it"): came_from(sheet.record, subject.name),
        phrase("Went into"): went_into(sheet.record, subject.name),
    }
    return [
        [
            way,
            one.batch.title,
            _how(one),
            sheet.on(one.batch.opened.at),
            one.batch.fate,
        ]
        for way, found in ways.items()
        for one in found
    ]


def _how(one: Relation) -> str:
    if one.depth == 1:
        return one.how
    return phrase("{how}, {count} steps away", how=one.how, count=one.depth)


def unit_pages(subject: UnitOnRecord, sheet: Sheet) -> dict[str, Any]:
    unit = subject.unit
    findings = [one.finding for one in sheet.review.of(subject)]
    entries = entries_of_unit(subject, sheet)
    held = phrase(EGGS) if unit.holds == "egg" else in_words(unit.holds)
    holds = phrase("{food}, checked every {minutes} min", food=held, minutes=unit.every_min)
    partly = not sheet.only.takes(subject)
    return {
        "title": unit.name,
        "partly": partly,
        "facts": [
            [phrase("Holds"), holds],
            *([] if partly else _stood_in(unit.name, sheet)),
            *_logged(having(entries, Measured), sheet),
        ],
        "findings": _verdicts(findings, findings),
        **_rows(entries, findings_about(subject, sheet), sheet, steps=False, with_batch=True),
    }


def _stood_in(unit: str, sheet: Sheet) -> list[list[str]]:
    stood = stood_in_words(sheet.stays.get(unit, ()), sheet.on, sheet.register.zone)
    return [[phrase("Stood in it"), stood]] if stood else []


def entries_of_unit(subject: UnitOnRecord, sheet: Sheet) -> list[Entry]:
    """Give what was entered about a unit in the period, but for what is printed with a batch."""
    printed = {one.name for one in sheet.review.batches}
    return [
        entry
        for entry in subject.entries
        if sheet.is_during(entry.at)
        and not (entry.batch in printed and isinstance(entry.body, Measured))
    ]


def findings_about(subject: UnitOnRecord, sheet: Sheet) -> list[Finding]:
    """Give what is found of a unit's checks; where it is shown for its food, what is of that, too.

    The checks that are missing then, before the food stood in it and after, are none of its.
    """
    if sheet.only.takes(subject):
        return [one.finding for one in sheet.review.of(subject)]
    own = [one for one in sheet.found(subject) if one.gap is None]
    return [*own, *(one.finding for one in sheet.review.found)]


def marks_and_ovens(findings: Iterable[Finding]) -> tuple[dict[str, str], dict[str, str]]:
    """Mark readings by their number: the food's by its limits, the oven's by its own."""
    found = list(findings)
    of_ovens = [finding for finding in found if finding.limit.name == "oven"]
    return marks_of([one for one in found if one not in of_ovens]), marks_of(of_ovens)


def _rows(
    entries: Iterable[Entry],
    findings: Sequence[Finding],
    sheet: Sheet,
    *,
    steps: bool,
    with_batch: bool = False,
) -> dict[str, Any]:
    marks, ovens = marks_and_ovens(findings)
    mine = sorted(entries, key=lambda entry: (entry.at, entry.seq, entry.place))
    read = list(having(mine, Measured))
    told = _told(read, findings, marks, ovens, sheet, with_batch=with_batch)
    return {
        "readings": _runs(told, sheet, steps=steps),
        "events": [
            [
                sheet.on(one.at),
                by_whom(one, sheet.register),
                kind_in_words(one.body),
                _happened(one),
            ]
            for one in by_entry(mine)
            if isinstance(one.body, tuple(EVENTS))
        ],
    }


def _runs(
    rows: Iterable[tuple[list[Entry[Measured]], dict[str, Any]]], sheet: Sheet, *, steps: bool
) -> list[dict[str, Any]]:
    """Put readings that follow each other on one day, at one step, by one person under one head.

    A big week has thousands: each repeats nothing of its neighbours.
    """
    zone, degree = sheet.register.zone, sheet.register.degree
    runs: list[dict[str, Any]] = []
    for entries, row in rows:
        day = short_day(entries[0].at.astimezone(zone).date())
        parts = [row["step"] if steps else "", day, row["by"], row["thermometer"]]
        head = ", ".join(filter(None, parts))
        if not runs or runs[-1]["head"] != head:
            runs.append({"head": head, "rows": []})
        brief = {name: row[name] for name in ("no", "note", "mark", "struck")}
        temp = row["temp"].removesuffix(f" °{degree}")
        at = "–".join(dict.fromkeys(clock(one.at, zone) for one in (entries[0], entries[-1])))
        runs[-1]["rows"].append({"at": at, "temp": temp, **brief})
    return runs


def _happened(entry: Entry) -> str:
    moved = ""
    if isinstance(entry.body, Moved):
        moved = phrase("{batch} into {unit}", batch=entry.batch, unit=entry.unit)
    words = [moved, EVENTS[type(entry.body)](entry.body), entered_later(entry)]
    successor = entry.corrected_by
    words += [phrase("WITHDRAWN by no. {seq}", seq=successor)] if successor else []
    return "; ".join(word.rstrip(".") for word in words if word)


def marks_of(findings: Sequence[Finding]) -> dict[str, str]:
    """Mark readings by their number: ✕ breaks a limit, ? may break one or is in doubt."""
    marks: dict[str, str] = {}
    for finding in findings:
        for reading in finding.readings:
            if finding.step is Step.COOL:
                sign = mark(reading, [finding])
            elif reading.doubted_since:
                sign = "?"
            else:
                sign = "✕" if _breaks(reading, finding) else ""
            marks[reading.ref] = max(sign, marks.get(reading.ref, ""), key=["", "?", "✕"].index)
    return marks


# Why a limit is not met by each of the readings themselves, and not by the time or what came after.
_BY_ITSELF = (Reason.OUT_OF_LIMITS, Reason.WRONG_START, Reason.TOO_WARM_IN_TIME)


def _breaks(reading: Reading, finding: Finding) -> bool:
    """Whether a reading itself is out of limits; of a heating, the last that was too cool."""
    heated = TRAITS[finding.step].heats
    if heated and finding.reason in (Reason.TOO_COOL, Reason.TOO_LATE) and finding.crossing:
        return reading.at == finding.crossing.earliest
    return finding.reason in _BY_ITSELF


def reading_rows(
    readings: Sequence[Entry[Measured]],
    findings: Iterable[Finding],
    marks: Mapping[str, str],
    ovens: Mapping[str, str],
    sheet: Sheet,
) -> list[dict[str, Any]]:
    """Give readings in their order as they are printed, a logger's by the hour."""
    return [row for _, row in _told(readings, findings, marks, ovens, sheet)]


def _told(
    readings: Sequence[Entry[Measured]],
    findings: Iterable[Finding],
    marks: Mapping[str, str],
    ovens: Mapping[str, str],
    sheet: Sheet,
    *,
    with_batch: bool = False,
) -> Iterator[tuple[list[Entry[Measured]], dict[str, Any]]]:
    """Give what is printed of readings, each with its row; a logger's of an hour have one."""
    for run in folded(readings, telling(readings, findings, marks)):
        row = reading_row(run[0], marks, ovens, sheet, with_batch=with_batch)
        if len(run) > 1:
            last = clock(run[-1].at, sheet.register.zone)
            when = row["when"] if row["when"].endswith(last) else f"{row['when']}–{last}"
            note = "; ".join(filter(None, (note_of(run), row["note"])))
            row |= {"when": when, "temp": span_of(run).replace("-", "−"), "note": note}
        yield run, row


def reading_row(
    entry: Entry[Measured],
    marks: Mapping[str, str],
    ovens: Mapping[str, str],
    sheet: Sheet,
    *,
    with_batch: bool = False,
) -> dict[str, Any]:
    """Give a reading as it is printed; one that was corrected is struck through."""
    body = entry.body
    shown = f"{body.temp} °{body.degree}"
    successor = entry.corrected_by
    notes = [
        entry.batch if entry.batch and with_batch else "",
        "" if entry.run else entered_later(entry),  # of a file that is said once
        body.note,
        phrase("transcribed from paper") if body.paper else "",
        _oven(body.chamber, ovens.get(entry.ref, "")),
        phrase("confirmed as unusual: {temp}", temp=shown) if body.confirmed else "",
        phrase("corrects no. {seq}: {reason}", seq=entry.corrects, reason=body.reason)
        if entry.corrects
        else "",
        _why_struck(entry, sheet),
    ]
    return {
        "no": str(entry.seq),
        "when": sheet.on(entry.at),
        "temp": shown.replace("-", "−"),
        "step": _step(entry),
        "by": entry.person,
        "thermometer": entry.run.probe
        if entry.run and not body.thermometer
        else _instrument(body.thermometer, entry.at, sheet),
        "note": "; ".join(note for note in notes if note),
        "struck": successor is not None,
        "mark": marks.get(entry.ref, ""),
    }


def _why_struck(entry: Entry[Measured], sheet: Sheet) -> str:
    """Say by which entry a reading counts no more, and of what was left out of an hour, why."""
    successor = entry.corrected_by
    if not successor:
        return ""
    for one in having(sheet.record.numbered((successor,)) if entry.run else (), LeftOut):
        reason = one.body.reason.rstrip(".")
        return phrase("left out by no. {seq}: {reason}", seq=successor, reason=reason)
    return phrase("replaced by no. {seq}", seq=successor)


def _step(entry: Entry[Measured]) -> str:
    """Name a reading's step, how it was heated or held, for how long, and in which unit."""
    body, unit = entry.body, entry.unit or ""
    hold = timedelta(seconds=float(body.held_s))
    how = [
        phrase(_METHODS[body.method]) if body.method else "",
        phrase("held {time}", time=spell_hold(hold)) if hold else "",
    ]
    if unit and not any(how):
        return phrase(_IN_UNITS[Step(body.step)], unit=unit)
    return ", ".join(filter(None, [Step(body.step).words, *how, unit]))


# Beside the name of a unit it takes fewer words in some languages.
_IN_UNITS = {
    Step.RECEIVE: message("receive, {unit}"),
    Step.PREPARE: message("prepare, {unit}"),
    Step.COOK: message("cook, {unit}"),
    Step.HOT_HOLD: message("hot hold, {unit}"),
    Step.COOL: message("cool, {unit}"),
    Step.COLD_HOLD: message("cold hold, {unit}"),
    Step.REHEAT: message("reheat, {unit}"),
    Step.TIME_CONTROL: message("time control, {unit}"),
}
_METHODS = {
    MICROWAVE: message("microwave"),
    INITIAL: message("initial"),
    UNSLICED: message("unsliced"),
    SIX_HOURS: message("6 h"),
    OPENED: message("opened"),
}


def _oven(chamber: str, mark: str) -> str:
    """Tell what the oven showed, with the mark of its own limit."""
    if not chamber:
        return ""
    temp = " ".join(filter(None, (mark, str(parse_temperature(chamber)))))
    return phrase("oven {temp}", temp=temp)


def _instrument(label: str, at: datetime, sheet: Sheet) -> str:
    """Name a reading's thermometer, and say where its last check was not passed."""
    if not label:
        return phrase("no thermometer named")
    checks = [check for check in sheet.register.checks_of(label, at) if check[0] <= at]
    if not checks:
        return phrase("{thermometer} (no check on record)", thermometer=label)
    when, check = checks[-1]
    if check.passed:
        return label
    return phrase("{thermometer} (FAILED {time})", thermometer=label, time=sheet.on(when))
