"""Gathers what a report says, in words and figures already formatted for people.

The shape of the result is what reports/report.typ prints: plain dictionaries, lists and texts.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from haccp.limits import Limit, LimitSet
from haccp.printing.curve import Curve, describe, mark
from haccp.record.entries import (
    CorrectiveAction,
    DaySigned,
    Discarded,
    Entry,
    Measured,
    UnitEmptied,
    UsedUp,
    Withdrawn,
)
from haccp.record.register import Register, limits_of
from haccp.record.review import Looked, Review, review
from haccp.record.store import Record
from haccp.record.subjects import Subject, lineage, use_by
from haccp.rules.evidence import Finding, Step, Verdict
from haccp.rules.words import explain
from haccp.temperature import parse_temperature
from haccp.time import day_starts, spell

CAUTION = (
    "This record shows what was measured and how it compares with the limits named at its end. "
    "It does not replace the local health code, the health authority's judgment or the advice of "
    "people licensed to give it; where they ask for more, they decide. A verdict of “not shown” "
    "means that the record does not prove the limit was kept; it needs a decision, as a deviation."
)

# An entry this long after the measurement prints as late: common practice, no source.
LATE = timedelta(minutes=15)

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
    curves: dict[str, Curve]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """What every part of a report needs to be written."""

    record: Record
    register: Register
    review: Review
    begins: datetime
    ends: datetime
    printed: datetime
    full: bool

    def day_and_clock(self, moment: datetime) -> str:
        local = moment.astimezone(self.register.zone)
        twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
        return f"{day(local.date())} {local:%H:%M}{f' {local.tzname()}' if twice else ''}"

    def is_during(self, moment: datetime) -> bool:
        return self.begins <= moment < self.ends


def day(one: date) -> str:
    return f"{one:%a} {one.day} {one:%b}"


def gather(
    record: Record, register: Register, first: date, last: date, printed: datetime
) -> Content:
    """Gather the report of kitchen days `first` to `last`, both included, as known when printed."""
    sheet = _Sheet(
        record=record,
        register=register,
        review=review(record, register, first, last, printed),
        begins=day_starts(first, register.zone),
        ends=day_starts(last + timedelta(days=1), register.zone),
        printed=printed,
        full=(last - first).days < MOST_DAYS_IN_FULL,
    )
    entries = record.entries(since=sheet.begins, until=sheet.ends)
    kitchen = register.kitchen
    curves: dict[str, Curve] = {}
    batches = [_batch(subject, sheet, curves) for subject in sheet.review.batches]
    units = [_unit(subject, sheet) for subject in sheet.review.units]
    seq, digest = record.head()
    local = printed.astimezone(register.zone)
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
        "printed": f"{local:%a} {local.day} {local:%b %Y %H:%M %Z}",
        "empty": not any(isinstance(e.body, _OF_FOOD) for e in entries),
        "caution": CAUTION,
        "counts": _counts(entries, sheet),
        "attention": [_attention(one, sheet) for one in sheet.review.deviations],
        "open": [
            f"{one.subject.title}: {explain(one.finding, sheet.day_and_clock)}"
            for one in sheet.review.open
        ],
        "batches": batches,
        "units": [unit for unit in units if unit["readings"] or unit["findings"] or unit["events"]],
        "thermometers": _thermometers(sheet),
        "corrections": _corrections(entries, sheet),
        "signatures": _signatures(sheet),
        "limits": _limits(sheet),
        "record": {"last": str(seq), "digest": digest},
        "note": "" if sheet.full else _WITHOUT_READINGS,
    }
    return Content(words, curves)


_OF_FOOD = (Measured, CorrectiveAction, Discarded, UsedUp, UnitEmptied)


def _counts(entries: Sequence[Entry], sheet: _Sheet) -> list[list[str]]:
    """Count what the first page sums up, the readings day by day with pandas."""
    corrected = sheet.record.corrected()
    readings = [e for e in entries if isinstance(e.body, Measured) and e.seq not in corrected]
    late = [entry for entry in readings if entry.entered_at - entry.at > LATE]
    verdicts = [one.finding.verdict for one in sheet.review.deviations]
    return [
        ["Temperature readings", str(len(readings))],
        ["Late entries", str(len(late))],
        ["Corrected or withdrawn", str(sum(1 for e in entries if e.seq in corrected))],
        ["Not met", str(verdicts.count(Verdict.NOT_MET))],
        ["Not shown", str(verdicts.count(Verdict.NOT_SHOWN))],
        ["Without corrective action", str(len(sheet.review.undecided))],
        ["Still open when printed", str(len(sheet.review.open))],
    ]


def _attention(one: Looked, sheet: _Sheet) -> dict[str, str]:
    answer = " ".join(_done(entry, sheet) for entry in one.answers)
    return {**_finding(one.finding, sheet), "subject": one.subject.title, "answer": answer}


def _done(entry: Entry, sheet: _Sheet) -> str:
    body = entry.body
    discarded = "Discarded: " if isinstance(body, Discarded) else ""
    text = _EVENTS[type(body)](body).rstrip(".")
    return f"{discarded}{text} ({entry.person}, {sheet.day_and_clock(entry.at)})."


def _finding(finding: Finding, sheet: _Sheet) -> dict[str, str]:
    return {
        "verdict": finding.verdict,
        "limit": _named(finding.limit),
        "citation": finding.limit.citation,
        "why": explain(finding, sheet.day_and_clock),
    }


def _batch(subject: Subject, sheet: _Sheet, curves: dict[str, Curve]) -> dict[str, Any]:
    register = sheet.register
    findings = subject.judged(register, sheet.printed)
    files = []
    for cooling in _coolings(findings):
        file = f"curve-{len(curves) + 1}.svg"
        curve = Curve(
            readings=cooling[0].readings,
            findings=cooling,
            degree=register.degree,
            zone=register.zone,
        )
        curves[file] = curve
        files.append({"file": file, "caption": _caption(cooling), "alt": describe(curve)})
    return {
        "title": subject.batch.food,
        "code": subject.name,
        "facts": _facts(subject, sheet),
        "findings": [_finding(finding, sheet) for finding in findings],
        "curves": files,
        **_rows(subject, subject.entries, findings, sheet),
    }


def _coolings(findings: Iterable[Finding]) -> list[tuple[Finding, ...]]:
    """Group cooling findings by the cooling that they are about: those on the same readings."""
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        if finding.step is Step.COOL:
            groups.setdefault(tuple(r.ref for r in finding.readings), []).append(finding)
    return [tuple(group) for group in groups.values()]


def _caption(cooling: Sequence[Finding]) -> str:
    stages = "; ".join(f"{_named(finding.limit)}: {finding.verdict}" for finding in cooling)
    return f"{stages}."


def _named(limit: Limit) -> str:
    name = limit.name.replace("-", " ").capitalize()
    return f"{name}, {limit.kind}" if limit.kind else name


def _facts(subject: Subject, sheet: _Sheet) -> list[list[str]]:
    opened, batch = subject.opened, subject.batch
    mark = use_by(subject.name, lineage(sheet.record, subject.name), sheet.register)
    limit = sheet.register.limits_at(opened.at).get("date-mark")
    facts = [["Opened", f"{sheet.day_and_clock(opened.at)} by {opened.person}"]]
    if batch.amount:
        facts.append(["Amount", batch.amount])
    if batch.food_kind:
        facts.append(["Kind", batch.food_kind])
    if batch.ambient:
        facts.append(["Prepared", "from ingredients at room temperature"])
    if batch.made_from:
        facts.append(["Made from", ", ".join(batch.made_from)])
    return [*facts, ["Date mark", f"use by {day(mark)} ({limit.citation})"]]


def _unit(subject: Subject, sheet: _Sheet) -> dict[str, Any]:
    unit = subject.unit
    assert unit is not None  # the caller picks units
    findings = [one.finding for one in sheet.review.of(subject)]
    entries = [entry for entry in subject.entries if sheet.is_during(entry.at)]
    return {
        "title": unit.name,
        "facts": [["Holds", f"{unit.holds}, checked every {unit.every_min} min"]],
        "findings": [_finding(finding, sheet) for finding in findings],
        **_rows(subject, entries, findings, sheet),
    }


def _rows(
    subject: Subject, entries: Iterable[Entry], findings: Sequence[Finding], sheet: _Sheet
) -> dict[str, Any]:
    marks = _marks(findings)
    readings = sorted(
        (entry for entry in entries if isinstance(entry.body, Measured)),
        key=lambda e: (e.at, e.seq),
    )
    events = [entry for entry in entries if isinstance(entry.body, tuple(_EVENTS))]
    return {
        "readings": [_reading(entry, subject, marks, sheet) for entry in readings]
        if sheet.full
        else [],
        "events": [
            [sheet.day_and_clock(e.at), e.person, e.body.kind, _EVENTS[type(e.body)](e.body)]
            for e in events
        ],
    }


_EVENTS: dict[type, Any] = {
    CorrectiveAction: lambda body: body.text,
    Discarded: lambda body: body.reason,
    UsedUp: lambda _: "",
    UnitEmptied: lambda _: "",
}


def _marks(findings: Sequence[Finding]) -> dict[str, str]:
    """Mark readings by their number: ✕ breaks a limit, ? may break one or is in doubt."""
    marks: dict[str, str] = {}
    for finding in findings:
        for reading in finding.readings:
            if finding.step is Step.COOL:
                sign = mark(reading, [finding])
            elif reading.doubted_since:
                sign = "?"
            else:
                sign = "✕" if finding.verdict is Verdict.NOT_MET else ""
            marks[reading.ref] = max(sign, marks.get(reading.ref, ""), key=["", "?", "✕"].index)
    return marks


def _reading(
    entry: Entry, subject: Subject, marks: Mapping[str, str], sheet: _Sheet
) -> dict[str, Any]:
    body = entry.body
    assert isinstance(body, Measured)  # the caller picks readings
    held = f", held {body.held_s} s" if body.held_s != "0" else ""
    late = entry.entered_at - entry.at
    notes = [
        body.note,
        f"confirmed as unusual: {body.temp} °{body.degree}" if body.confirmed else "",
    ]
    if entry.corrects:
        notes.append(f"corrects no. {entry.corrects}: {body.reason}")
    successor = subject.corrected.get(entry.seq)
    if successor:
        notes.append(f"replaced by no. {successor}")
    return {
        "no": str(entry.seq),
        "when": sheet.day_and_clock(entry.at),
        "temp": f"{body.temp} °{body.degree}",
        "step": Step(body.step).words + held,
        "by": entry.person,
        "late": f"entered {spell(late)} later" if late > LATE else "",
        "thermometer": _instrument(body.thermometer, entry.at, sheet),
        "note": "; ".join(note for note in notes if note),
        "struck": successor is not None,
        "mark": marks.get(str(entry.seq), ""),
    }


def _instrument(label: str, at: datetime, sheet: _Sheet) -> str:
    checks = [check for check in sheet.register.checks_of(label) if check[0] <= at]
    if not checks:
        return f"{label} (no check on record)" if label else "not named"
    when, check = checks[-1]
    local = when.astimezone(sheet.register.zone)
    return f"{label} ({'passed' if check.passed else 'FAILED'} {local.day} {local:%b})"


def _thermometers(sheet: _Sheet) -> list[list[str]]:
    return [
        [
            label,
            f"±{parse_temperature(one.accuracy)}",
            sheet.day_and_clock(when),
            f"{check.temp} °{check.degree} in ice: {'passed' if check.passed else 'FAILED'}",
        ]
        for label, one in sheet.register.thermometers.items()
        for when, check in sheet.register.checks_of(label)
        if when < sheet.ends
    ]


def _corrections(entries: Sequence[Entry], sheet: _Sheet) -> list[list[str]]:
    corrections = [entry for entry in entries if entry.corrects]
    replaced = {
        old.seq: old
        for old in sheet.record.entries(numbers=[entry.corrects or 0 for entry in corrections])
    } if corrections else {}  # fmt: skip
    rows = []
    for entry in corrections:
        old = replaced[entry.corrects or 0]
        body = entry.body
        reason = body.reason if isinstance(body, Measured | Withdrawn) else ""
        what = f"{_what(old)} → {_what(entry) if isinstance(body, Measured) else 'withdrawn'}"
        made = sheet.day_and_clock(entry.entered_at)
        rows.append([str(entry.seq), str(old.seq), what, reason, entry.person, made])
    return rows


def _what(entry: Entry) -> str:
    body = entry.body
    subject = entry.batch or entry.unit or ""
    return (
        f"{subject} {body.temp} °{body.degree}"
        if isinstance(body, Measured)
        else f"{subject} {body.kind}"
    )


def _signatures(sheet: _Sheet) -> list[list[str]]:
    rows = []
    for signed, entry in sorted(sheet.register.signed.items()):
        body = entry.body
        if isinstance(body, DaySigned) and sheet.is_during(day_starts(signed, sheet.register.zone)):
            person = sheet.register.people[entry.person]
            rows.append(
                [
                    day(signed),
                    f"{person.name} ({entry.person})",
                    sheet.day_and_clock(entry.at),
                    body.note,
                ]
            )
    return rows


def _limits(sheet: _Sheet) -> dict[str, Any]:
    kitchen = sheet.register.kitchen_at(sheet.ends)
    limits: LimitSet = limits_of(kitchen.limit_set, kitchen.overrides, kitchen.guard)
    local = {(limit.name, limit.kind) for limit in limits.overrides}
    guard = f"Limits moved inward by {limits.guard} (guarded acceptance)" if limits.guard else ""
    return {
        "name": f"{limits.title}, revision {limits.revision}",
        "digest": limits.digest,
        "guard": guard,
        "rows": [
            {
                "limit": _named(limit),
                "text": limit.text,
                "citation": limit.citation,
                "source": limit.source,
                "basis": limit.basis,
                "override": (limit.name, limit.kind) in local,
            }
            for limit in limits.limits
        ],
    }
