"""Gathers what a report says, in words and figures already formatted for people.

The shape of the result is what reports/report.typ prints: plain dictionaries, lists and texts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import pandas as pd

from haccp.kitchen.on_record import entered_later
from haccp.kitchen.register import Register
from haccp.kitchen.review import Looked, lasted, review
from haccp.kitchen.taken_back import taken_back
from haccp.limits import Limit, LimitSet
from haccp.physics.growth import behind
from haccp.printing.batch_and_unit_pages import batch_pages, unit_pages
from haccp.printing.changes import record_changes
from haccp.printing.drawn_cooling import DrawnCurve
from haccp.printing.limits_in_words import moment_of_printing, people_of, stated
from haccp.printing.report_context import EVENTS, Sheet, by_whom, named, told
from haccp.record.entries import (
    ClockMoved,
    DaySigned,
    DeliveryRejected,
    Discarded,
    Diverted,
    Entry,
    Measured,
    Released,
    ThermometerCheck,
    Withdrawn,
    having,
    holds,
)
from haccp.record.store import Record
from haccp.rules.evidence import Step, Verdict
from haccp.rules.words import explain
from haccp.temperature import parse_temperature
from haccp.time import day_starts, short_day, spell

CAUTION = (
    "This record shows what was measured and how it compares with the limits named at its end. "
    "It does not replace the local health code, the health authority's judgment or the advice of "
    "people licensed to give it; where they ask for more, they decide. A verdict of “not shown” "
    "means that the record does not prove the limit was kept; it needs a decision, as a deviation."
)

# Longer periods print deviations and curves in full and leave the readings to the export: 5,000
# rows are a hundred pages that nobody reads.
MOST_DAYS_IN_FULL = 7
_WITHOUT_READINGS = (
    "This period is longer than seven days: deviations, curves and events are printed, the single "
    "readings are not. Print a week, or see them all with haccp export."
)


@dataclass(frozen=True, slots=True)
class Content:
    """A report's words, and the curves that they name by file."""

    words: dict[str, Any]
    curves: dict[str, DrawnCurve]


def gather(
    record: Record, register: Register, first: date, last: date, printed: datetime
) -> Content:
    """Gather the report of kitchen days `first` to `last`, both included, as known when printed."""
    sheet = Sheet(
        record=record,
        register=register,
        review=review(record, register, first, last, printed),
        begins=day_starts(first, register.zone),
        ends=day_starts(last + timedelta(days=1), register.zone),
        printed=printed,
        full=(last - first).days < MOST_DAYS_IN_FULL,
    )
    entries = record.during(sheet.begins, sheet.ends)
    readings = _readings(entries, sheet)
    # as it was called, and where it was, at the end of these days
    kitchen = register.kitchen_at(min(sheet.ends - _MOMENT, printed))
    curves: dict[str, DrawnCurve] = {}
    batches = [batch_pages(subject, sheet, curves) for subject in sheet.review.batches]
    units = [unit_pages(subject, sheet) for subject in sheet.review.units]
    seq, digest = record.head()
    words = {
        "title": "Food temperature record",
        "kitchen": kitchen.name,
        "site": [
            ["Time zone", kitchen.zone],
            ["Altitude", f"{kitchen.altitude_m} m"],
            ["Temperatures", f"°{kitchen.degree} unless noted"],
        ],
        "period": f"{first:%a} {first.day} {first:%b %Y}"
        + (f" to {last:%a} {last.day} {last:%b %Y}" if last != first else ""),
        "printed": moment_of_printing(printed, register.zone),
        "empty": not any(isinstance(e.body, _OF_FOOD) for e in entries),
        "caution": CAUTION,
        "counts": _counts(readings, entries, sheet),
        "days": _by_day(readings, sheet),
        "unreadable": list(sheet.review.unreadable),
        "taken_back": _taken_back(sheet),
        "attention": [_attention(one, sheet) for one in sheet.review.deviations],
        "open": [
            f"{one.subject.title}: {explain(one.finding, sheet.day_and_clock)}"
            for one in sheet.review.open
        ],
        "people": people_of(register, _who(entries, sheet)),
        "batches": batches,
        "growth": behind() if any(c["growth"] for one in batches for c in one["curves"]) else "",
        "units": [unit for unit in units if unit["readings"] or unit["findings"] or unit["events"]],
        "thermometers": _thermometers(sheet),
        "corrections": _corrections(entries, sheet),
        "signatures": _signatures(sheet),
        "limits": _limits(sheet),
        "record": {"last": str(seq), "digest": digest, "code": "head.svg"},
        "clock": _clock(entries, sheet),
        "changes": record_changes(sheet),
        "note": "" if sheet.full else _WITHOUT_READINGS,
    }
    return Content(words, curves)


_OF_FOOD = (Measured, *EVENTS)


def _counts(readings: pd.DataFrame, entries: Sequence[Entry], sheet: Sheet) -> list[list[str]]:
    verdicts = [one.finding.verdict for one in sheet.review.deviations]
    return [
        ["Temperature readings", str(len(readings))],
        ["Late entries", str(int(readings["late"].sum()))],
        ["Corrected or withdrawn", str(sum(1 for e in entries if e.corrected_by))],
        ["Not met", str(verdicts.count(Verdict.NOT_MET))],
        ["Not shown", str(verdicts.count(Verdict.NOT_SHOWN))],
        ["Not decided", str(len(sheet.review.undecided))],
        ["Still open when printed", str(len(sheet.review.open))],
    ]


def _readings(entries: Sequence[Entry], sheet: Sheet) -> pd.DataFrame:
    """Tabulate the readings in force: kitchen day, whether of a unit, whether late."""
    rows = [
        (
            entry.at.astimezone(sheet.register.zone).date(),
            entry.batch is None,
            bool(entered_later(entry)),
        )
        for entry in entries
        if isinstance(entry.body, Measured) and not entry.corrected_by
    ]
    return pd.DataFrame(rows, columns=["day", "of_unit", "late"])


def _who(entries: Sequence[Entry], sheet: Sheet) -> set[str]:
    """Give the initials of everybody whose entries these pages print."""
    every = [
        *entries,
        *(entry for batch in sheet.review.batches for entry in batch.entries),
        *(entry for one in sheet.review.deviations for entry in one.answers),
        *sheet.register.settings,
        *_signed_in(sheet),
    ]
    return {entry.person for entry in every}


def _by_day(readings: pd.DataFrame, sheet: Sheet) -> list[list[str]]:
    """Count each day's readings of foods and of units, late ones and deviations; say who signed.

    A deviation counts on each day that it touches. No day is left out from the first of the record
    to that of printing: an inspector asks about the one on which nothing was done.
    """
    touched = [day for one in sheet.review.deviations for day in _days_of(one, sheet)]
    deviations = pd.Series(touched, dtype=object)
    days = pd.DataFrame(
        {
            "foods": readings[~readings["of_unit"].astype(bool)].groupby("day").size(),
            "units": readings[readings["of_unit"].astype(bool)].groupby("day").size(),
            "late": readings.groupby("day")["late"].sum(),
            "deviations": deviations.value_counts(),
        }
    )
    begins = max(sheet.begins, sheet.register.settings[0].at)
    ends = min(sheet.ends - _MOMENT, sheet.printed)
    every = sorted({*days.index, *_days(begins, ends, sheet)})
    counts = days.reindex(every).fillna(0).astype(int)
    return [
        [short_day(one), *map(str, row), *_signed(one, sheet)]
        for one, row in zip(counts.index, counts.to_numpy(), strict=True)
    ]


_MOMENT = timedelta(microseconds=1)


def _days_of(one: Looked, sheet: Sheet) -> list[date]:
    """List the days of the period that a deviation touches."""
    since = one.finding.since or sheet.begins
    last = min(lasted(one.finding), sheet.ends - _MOMENT)
    return _days(max(since, sheet.begins), last, sheet)


def _days(begins: datetime, ends: datetime, sheet: Sheet) -> list[date]:
    first, last = (moment.astimezone(sheet.register.zone).date() for moment in (begins, ends))
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _signed(day: date, sheet: Sheet) -> list[str]:
    """Say by whom a day was signed, when, and how many deviations were undecided then."""
    signature = sheet.register.signed(day)
    if signature is None:
        return ["not signed", "–"]
    when = sheet.day_and_clock(signature.entered_at)
    return [f"{by_whom(signature, sheet.register)}, {when}", str(signature.body.undecided)]


def _attention(one: Looked, sheet: Sheet) -> dict[str, str]:
    answer = " ".join(_done(entry, sheet) for entry in one.answers)
    return {**told(one.finding, sheet), "subject": one.subject.title, "answer": answer}


_WORDS: dict[type, str] = {
    Discarded: "Discarded: ",
    DeliveryRejected: "Rejected: ",
    Diverted: "Put to another use: ",
    Released: "Released: ",
}


def _done(entry: Entry, sheet: Sheet) -> str:
    body = entry.body
    discarded = _WORDS.get(type(body), "")
    if holds(entry, Measured):
        one = entry.body
        text = f"Brought back: {one.temp} °{one.degree} {Step(one.step).words}"
    else:
        text = EVENTS[type(body)](body).rstrip(".")
    late = f", {entered_later(entry)}" if entered_later(entry) else ""
    by = by_whom(entry, sheet.register)
    return f"{discarded}{text} ({by}, {sheet.day_and_clock(entry.at)}{late})."


def _thermometers(sheet: Sheet) -> list[list[str]]:
    """List the period's checks, and of each thermometer the last before it."""
    rows = []
    for label, one in sheet.register.thermometers.items():
        checks = sheet.register.checks_of(label, sheet.begins)
        before = [check for check in checks if check[0] < sheet.begins][-1:]
        for when, check in [*before, *(check for check in checks if sheet.is_during(check[0]))]:
            passed = "passed" if check.passed else "FAILED"
            shown = f"{check.temp} °{check.degree} {checked_in(check)}: {passed}"
            accuracy = f"±{parse_temperature(one.accuracy)}"
            rows.append([label, accuracy, sheet.day_and_clock(when), shown])
        for entry in sheet.register.decisions:
            body = entry.body
            if body.thermometer == label and sheet.is_during(entry.at):
                words = f"its readings count: {body.reason} ({by_whom(entry, sheet.register)})"
                rows.append([label, "", sheet.day_and_clock(entry.at), words])
    return rows


def checked_in(check: ThermometerCheck) -> str:
    """Say what a thermometer was checked in, and what it should have shown there."""
    if not check.expected:
        return "in ice"
    return f"in boiling water at {check.expected} °{check.degree} (by {check.by})"


def _corrections(entries: Sequence[Entry], sheet: Sheet) -> list[list[str]]:
    corrections = [entry for entry in entries if entry.corrects]
    replaced = {
        old.seq: old
        for old in sheet.record.numbered([entry.corrects or 0 for entry in corrections])
    } if corrections else {}  # fmt: skip
    rows = []
    for entry in corrections:
        old = replaced[entry.corrects or 0]
        body = entry.body
        reason = body.reason if isinstance(body, Measured | Withdrawn) else ""
        what = f"{_what(old)} → {_what(entry) if isinstance(body, Measured) else 'withdrawn'}"
        made = sheet.day_and_clock(entry.entered_at)
        failed = isinstance(old.body, ThermometerCheck) and not old.body.passed
        by = by_whom(entry, sheet.register, proved=failed)
        rows.append([str(entry.seq), str(old.seq), what, reason, by, made])
    return rows


def _what(entry: Entry) -> str:
    body = entry.body
    subject = entry.batch or entry.unit or ""
    if isinstance(body, ThermometerCheck):
        passed = "passed" if body.passed else "FAILED"
        return f"{body.thermometer} {body.temp} °{body.degree} {checked_in(body)}, {passed}"
    if isinstance(body, Measured):
        return f"{subject} {body.temp} °{body.degree}"
    return f"{subject} {body.kind}"


def _clock(entries: Sequence[Entry], sheet: Sheet) -> list[list[str]]:
    rows = []
    for entry in having(entries, ClockMoved):
        by = spell(timedelta(seconds=abs(entry.body.seconds)))
        way = "back" if entry.body.seconds < 0 else "ahead, or nothing was entered for that long"
        rows.append([str(entry.seq), sheet.day_and_clock(entry.at), f"{by} {way}"])
    return rows


def _taken_back(sheet: Sheet) -> list[str]:
    """Tell of what was not met until whoever measured it corrected that."""
    subjects = (*sheet.review.batches, *sheet.review.units)
    return [
        f"{one.subject.title}: {one.words(sheet.day_and_clock)}"
        for one in taken_back(subjects, sheet.register, sheet.printed)
        if sheet.is_during(one.reading.at) or sheet.is_during(one.correction.entered_at)
    ]


def _signatures(sheet: Sheet) -> list[list[str]]:
    rows = []
    for entry in _signed_in(sheet):
        body = entry.body
        signed = date.fromisoformat(body.day)
        made_on, changed = _made_on(signed, sheet), _changed_after(entry, signed, sheet)
        notes = [body.note]
        notes += ["No second person looked."] if made_on <= {entry.person} else []
        notes += [f"Entries about this day were made after it: {changed}."] if changed else []
        person = sheet.register.people.get(entry.person)
        by = by_whom(entry, sheet.register)
        name = f"{person.name} ({by})" if person else by
        when = sheet.day_and_clock(entry.entered_at)
        rows.append([short_day(signed), name, when, " ".join(notes).strip()])
    return rows


def _signed_in(sheet: Sheet) -> list[Entry[DaySigned]]:
    """Give the signatures under days of the period."""
    begins, ends = sheet.begins, min(sheet.ends - _MOMENT, sheet.printed)
    days = _days(begins, max(begins, ends), sheet)
    return [entry for day in days for entry in sheet.register.history.signatures(day)]


def _changed_after(signature: Entry, signed: date, sheet: Sheet) -> int:
    """Count what was entered about a day after it was signed."""
    about = _about_food(signed, sheet)
    return sum(1 for entry in about if entry.seq > signature.seq)


def _made_on(signed: date, sheet: Sheet) -> set[str]:
    """Give the initials of those who made the day's entries about food."""
    return {entry.person for entry in _about_food(signed, sheet)}


def _about_food(day: date, sheet: Sheet) -> list[Entry]:
    """Give what was entered about the food of a day."""
    begins = day_starts(day, sheet.register.zone)
    ends = day_starts(day + timedelta(days=1), sheet.register.zone)
    entries = sheet.record.during(begins, ends)
    return [entry for entry in entries if isinstance(entry.body, _OF_FOOD)]


def _began(sheet: Sheet) -> list[datetime]:
    """Give the moments by whose limits something on these pages is judged."""
    batches = [batch.began for batch in sheet.review.batches]
    return [*batches, sheet.begins, sheet.ends]


def _changes(sheet: Sheet) -> list[list[str]]:
    """List the settings that came into force in the period, or earlier and still judge a batch."""
    settings = sheet.register.settings
    judging = {max((e.at for e in settings if e.at <= at), default=None) for at in _began(sheet)}
    told = [entry for entry in settings if sheet.is_during(entry.at) or entry.at in judging]
    rows: list[list[str]] = []
    for entry in told:
        limits = sheet.register.limits_at(entry.at)
        local = ", ".join(limit.name for limit in limits.overrides) or "none"
        guard = f", guard band {limits.guard}" if limits.guard else ""
        words = f"{limits.title}, revision {limits.revision}; local rules: {local}{guard}"
        by = [words, limits.digest[:16]]
        # other settings change, too
        if not rows or rows[-1][2:] != by:
            rows.append([sheet.day_and_clock(entry.at), by_whom(entry, sheet.register), *by])
    return rows if len(rows) > 1 else []


def _limits(sheet: Sheet) -> dict[str, Any]:
    limits = sheet.register.limits_at(sheet.ends)
    guard = f"Limits moved inward by {limits.guard} (guarded acceptance)" if limits.guard else ""
    return {
        "name": f"{limits.title}, revision {limits.revision}",
        "digest": limits.digest,
        "guard": guard,
        "changes": _changes(sheet),
        "rows": [_row(limit, limits, sheet) for limit in limits.limits]
        + [
            {**_row(limit, older, sheet), "limit": f"{named(limit)}, as by {older.digest[:16]}"}
            for older in _older(sheet, limits)
            for limit in older.limits
            if limit not in limits.limits
        ],
    }


def _older(sheet: Sheet, newest: LimitSet) -> list[LimitSet]:
    """Give the other sets by which something on these pages is judged."""
    used = {one.digest: one for at in _began(sheet) if (one := sheet.register.limits_at(at))}
    return [one for digest, one in used.items() if digest != newest.digest]


def _row(limit: Limit, limits: LimitSet, sheet: Sheet) -> dict[str, Any]:
    """Print a limit; its table, where it has one, for the kinds of food on these pages."""
    kinds = {batch.batch.food_kind for batch in sheet.review.batches}
    tabled = len(limit.rows) > 1 and limit.kind in kinds
    return {
        "limit": named(limit),
        "text": limit.text,
        "table": stated(limit, sheet.register.degree) if tabled else "",
        "citation": limit.citation,
        "source": limit.source,
        "basis": limit.basis_in_words,
        "override": limit in limits.overrides,
    }
