"""What stands beside a report's readings: thermometers, deliveries, what came late or changed."""

from collections.abc import Hashable, Iterable, Sequence
from datetime import timedelta
from typing import Any

from haccp.kitchen.on_record import entered_later
from haccp.kitchen.taken_back import taken_back
from haccp.language import message, phrase
from haccp.phrases import spanning
from haccp.printing.first_page import where
from haccp.printing.folding import file_of, note_of, span_of
from haccp.printing.report_context import Sheet, by_whom
from haccp.record.bodies import LeftOut, Measured, ThermometerCheck, Withdrawn, kind_in_words
from haccp.record.bodies_of_record import ClockMoved
from haccp.record.entries import Entry, by_entry, having
from haccp.rules.evidence import Step, overall
from haccp.temperature import parse_temperature
from haccp.time import from_stored, spell


def thermometers(sheet: Sheet) -> list[dict[str, Any]]:
    """List the period's checks by thermometer, and of each the last before it."""
    rows = []
    for label, one in sheet.register.thermometers.items():
        checks = sheet.register.checks_of(label, sheet.begins)
        before = [check for check in checks if check[0] < sheet.begins][-1:]
        mine = [*before, *(check for check in checks if sheet.is_during(check[0]))]
        decided = [
            phrase(
                "{time}: its readings count: {reason} ({who}).",
                time=sheet.on(entry.at),
                reason=entry.body.reason.rstrip("."),
                who=by_whom(entry, sheet.register),
            )
            for entry in sheet.register.decisions
            if entry.body.thermometer == label and sheet.is_during(entry.at)
        ]
        rows.append(
            {
                "label": label,
                "accuracy": f"±{parse_temperature(one.accuracy)}",
                "retired": "" if one.active else phrase("no longer in use"),
                "checks": [
                    {
                        "when": sheet.on(when),
                        "shown": f"{check.temp} °{check.degree} {checked_in(check)}",
                        "passed": check.passed,
                    }
                    for when, check in mine
                ],
                "decided": decided,
            }
        )
    return [one for one in rows if one["checks"] or one["decided"] or not one["retired"]]


def checked_in(check: ThermometerCheck) -> str:
    """Say what a thermometer was checked in, and what it should have shown there."""
    if not check.expected:
        return phrase("in ice")
    return phrase(
        "in boiling water at {temp} (by {source})",
        temp=f"{check.expected} °{check.degree}",
        source=check.by,
    )


def deliveries(sheet: Sheet) -> list[dict[str, Any]]:
    """List what came through the door in the period, as it was read, and where it is now."""
    rows = []
    for batch in sheet.review.batches:
        if not batch.batch.received_as or not sheet.is_during(batch.opened.at):
            continue
        found = [
            one
            for one in batch.judged(sheet.register, sheet.printed)
            if one.step is Step.RECEIVE and not one.of
        ]
        read = [one for one in batch.readings if one.body.step == Step.RECEIVE]
        rows.append(
            {
                "verdict": overall(found) if found else "",
                "food": batch.title,
                "amount": batch.batch.amount,
                "read": "; ".join(f"{e.body.temp} °{e.body.degree} {sheet.on(e.at)}" for e in read),
                "supplier": batch.batch.supplier,
                "place": where(batch, sheet),
                "by": batch.opened.person,
            }
        )
    return rows


def late(entries: Iterable[Entry], sheet: Sheet) -> list[list[str]]:
    """List what was entered late: number, moment, what, by how much and why. Of a logger's file
    what is of one probe and place is a line.
    """
    of_files: dict[Hashable, list[Entry[Measured]]] = {}
    for entry in having(entries, Measured):
        if entered_later(entry) and not entry.corrected_by and not entry.corrects:
            run = entry.run
            file = (run.source_digest, run.probe, entry.batch, entry.unit) if run else entry.ref
            of_files.setdefault(file, []).append(entry)
    return [
        _loaded(these, sheet)
        if these[0].run
        else [
            str(entry.seq),
            sheet.on(entry.at),
            f"{_what(entry)}, {Step(entry.body.step).words}",
            "; ".join(filter(None, [entered_later(entry), entry.body.note])),
            entry.person,
        ]
        for these in of_files.values()
        for entry in these[:1]
    ]


def _loaded(read: Sequence[Entry[Measured]], sheet: Sheet) -> list[str]:
    """Tell of what a logger's file held of a probe in a line."""
    first, last = read[0], read[-1]
    what = f"{first.batch or first.unit} {span_of(read)}, {Step(first.body.step).words}"
    until = phrase("up to {when}", when=sheet.on(last.at))
    words = "; ".join([note_of(read), until, file_of(first, sheet.on)])
    return [str(first.seq), sheet.on(first.at), what, words, first.person]


def corrections(entries: Sequence[Entry], sheet: Sheet) -> list[list[str]]:
    """List what was put right, taken back or left out: by which entry, of which, what, why."""
    changes = [(entry, _corrected(entry)) for entry in entries if _corrected(entry)]
    numbers = [number for _, number in changes]
    old = {one.seq: one for one in by_entry(sheet.record.numbered(numbers))} if numbers else {}
    return [_correction(entry, number, old.get(number), sheet) for entry, number in changes]


def _corrected(entry: Entry) -> int:
    """Give the number of the entry that one puts right, or leaves readings of out; 0 for none."""
    return entry.body.of if isinstance(entry.body, LeftOut) else entry.corrects or 0


def _correction(entry: Entry, number: int, old: Entry | None, sheet: Sheet) -> list[str]:
    body = entry.body
    reason = body.reason if isinstance(body, Measured | LeftOut | Withdrawn) else ""
    if isinstance(body, LeftOut):
        span = spanning(sheet.on(from_stored(body.first)), sheet.on(entry.at))
        told = message("{name}, what a logger read {span} → left out")
        what = phrase(told, name=entry.batch or entry.unit or "", span=span)
    else:
        now = _what(entry) if isinstance(body, Measured) else phrase("withdrawn")
        what = f"{_what(old) if old else number} → {now}"
    failed = old is not None and isinstance(old.body, ThermometerCheck) and not old.body.passed
    by = by_whom(entry, sheet.register, proved=failed)
    return [str(entry.seq), str(number), what, reason, by, sheet.on(entry.entered_at)]


def _what(entry: Entry) -> str:
    body = entry.body
    subject = entry.batch or entry.unit or ""
    if isinstance(body, ThermometerCheck):
        passed = phrase("passed") if body.passed else phrase("FAILED")
        return f"{body.thermometer} {body.temp} °{body.degree} {checked_in(body)}, {passed}"
    if isinstance(body, Measured) and entry.run is None:
        return f"{subject} {body.temp} °{body.degree}"
    return f"{subject} {kind_in_words(entry.run or body)}"


def clock_moves(entries: Sequence[Entry], sheet: Sheet) -> list[list[str]]:
    rows = []
    for entry in having(entries, ClockMoved):
        time = spell(timedelta(seconds=abs(entry.body.seconds)))
        back = message("{time} back")
        ahead = message("{time} ahead, or nothing was entered for that long")
        words = back if entry.body.seconds < 0 else ahead
        rows.append([str(entry.seq), sheet.on(entry.at), phrase(words, time=time)])
    return rows


def put_right(sheet: Sheet) -> list[str]:
    """Tell of what was not met until whoever measured it corrected that."""
    subjects = (*sheet.review.batches, *sheet.review.units)
    return [
        f"{one.subject.title}: {one.words(sheet.on)}"
        for one in taken_back(subjects, sheet.register, sheet.printed)
        if sheet.is_during(one.reading.at) or sheet.is_during(one.correction.entered_at)
    ]
