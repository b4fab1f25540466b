"""A report's readings as a flat table for a spreadsheet: one row each, in the words of the record.

Its columns, steps and verdicts are English for all, as every CSV of haccp is.
"""

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import astuple, dataclass, fields
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal

from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.limits import Limit
from haccp.printing.batch_and_unit_pages import entries_of_unit, findings_about, marks_and_ovens
from haccp.printing.report_context import Sheet
from haccp.printing.thermometer_checks import checks_made
from haccp.record.bodies import Measured, ThermometerCheck
from haccp.record.entries import LATE, Entry, having
from haccp.rules.evidence import Finding, Verdict
from haccp.temperature import Degree, Temperature

# What a spreadsheet may take for a formula, OWASP "CSV Injection" (from memory): at the beginning
# of a text an apostrophe goes before it, wide letters of East Asian keyboards included.
_FORMULA = tuple("=+-@\t\r\n＝＋－＠")
_MINUTE = timedelta(minutes=1)
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
# By which spreadsheets know UTF-8.
_BEGINS = "\ufeff"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatReading:
    """One reading, or check of a thermometer; its fields are the columns in their order.

    `temperature` is in the kitchen's degree; what was entered in the other one stands in
    `as_entered`. `verdict` is the worst found by the limits that rest on the reading, `limit` and
    `citation` that limit; `breaks_by_itself` that the reading alone is out of limits, or may be.
    Where the next check was missed, `not_checked_until` says for how long nobody looked.
    """

    entry: str
    date: str
    time: str
    taken_at: str
    food: str
    batch: str
    unit: str
    step: str
    temperature: str
    degree: str
    as_entered: str
    held_s: str
    verdict: str
    limit: str
    citation: str
    breaks_by_itself: str
    not_checked_until: str
    minutes_late: str
    thermometer: str
    initials: str
    method: str
    oven: str
    corrects: str
    replaced_by: str
    note: str


COLUMNS = (*(field.name for field in fields(FlatReading)), "record")


def flat_readings(entries: Iterable[Entry], sheet: Sheet) -> list[FlatReading]:
    """Give each reading that a report's annex prints, and the checks of thermometers that it has.

    One that was corrected is there, with what replaced it and without a verdict.
    """
    found: dict[str, FlatReading] = {}
    for batch in sheet.review.batches:
        judged = _Judged(batch, sheet.judged(batch), sheet)
        for entry in having(sheet.entries_of(batch), Measured):
            found[entry.ref] = judged.row(entry, batch.batch.food)
    for unit in sheet.review.units:
        judged = _Judged(unit, findings_about(unit, sheet), sheet)
        for entry in having(entries_of_unit(unit, sheet), Measured):
            found.setdefault(entry.ref, judged.row(entry, ""))
    if sheet.only.is_whole or sheet.only.thermometers:
        found |= {entry.ref: _check(entry, sheet) for entry in checks_made(entries)}
    in_order = sorted(found.values(), key=lambda row: [int(n) for n in row.entry.split(".")])
    return sorted(in_order, key=lambda row: datetime.fromisoformat(row.taken_at))


def as_csv(rows: Iterable[FlatReading], identity: str) -> Iterator[bytes]:
    """Write rows as CSV, the same bytes for the same rows; `identity` is the record's."""
    yield _BEGINS.encode() + _line(COLUMNS)
    for row in rows:
        yield _line([*map(_guarded, astuple(row)), _mark(identity)])


def is_own_csv(identity: str) -> Callable[[bytes], bool]:
    """Give what recognises an earlier table of the record whose first entry has this digest.

    One without a row may be replaced, too: nothing is lost with it.
    """
    head = _BEGINS.encode() + _line(COLUMNS)

    def recognise(content: bytes) -> bool:
        first = content.removeprefix(head).partition(b"\r\n")[0]
        return content.startswith(head) and (not first or first.endswith(_mark(identity).encode()))

    return recognise


def _mark(identity: str) -> str:
    return f"haccp {identity[:16]}"


def _line(cells: Sequence[str]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerow(cells)
    return out.getvalue().encode()


def _guarded(cell: str) -> str:
    """Keep what a person typed from running as a formula; a number is none."""
    runs = cell.startswith(_FORMULA) and not _NUMBER.fullmatch(cell)
    return f"'{cell}" if runs else cell


class _Judged:
    """A batch or unit with what is found of it, asked about its readings one by one."""

    def __init__(self, subject: OnRecord, findings: Sequence[Finding], sheet: Sheet) -> None:
        self.subject, self.sheet = subject, sheet
        self.marks, _ = marks_and_ovens(findings)
        self.by_reading: dict[str, list[Finding]] = {}
        for finding in findings:
            for reading in finding.readings if finding.gap is None else ():
                self.by_reading.setdefault(reading.ref, []).append(finding)
        self.gaps = dict(sorted(finding.gap for finding in findings if finding.gap))

    def row(self, entry: Entry[Measured], food: str) -> FlatReading:
        body = entry.body
        verdict, limit = self._verdict(entry)
        temperature = Temperature(Decimal(body.temp), Degree(body.degree))
        degree = self.sheet.register.degree
        unmarked = "" if entry.corrected_by else self.marks.get(entry.ref, "")
        gap = None if entry.corrected_by else self.gaps.get(entry.at)
        return FlatReading(
            **_about(entry, self.sheet),
            food=food,
            step=body.step,
            temperature=_in(degree, temperature),
            degree=degree,
            as_entered="" if temperature.degree is degree else str(temperature),
            held_s="" if Decimal(body.held_s) == 0 else body.held_s,
            verdict=verdict,
            limit=limit.name if limit else "",
            citation=limit.citation if limit else "",
            breaks_by_itself={"✕": "yes", "?": "perhaps", "": ""}[unmarked],
            not_checked_until=_iso(gap, self.sheet) if gap else "",
            thermometer=body.thermometer,
            method=body.method,
            oven=body.chamber,
            note=body.note,
        )

    def _verdict(self, entry: Entry[Measured]) -> tuple[str, Limit | None]:
        """Give the worst that rests on a reading in force; where nothing does, its limit's word."""
        if entry.corrected_by:
            return "", None
        order = list(Verdict)
        resting = self.by_reading.get(entry.ref, [])
        worst = min(resting, key=lambda one: order.index(one.verdict), default=None)
        if worst:
            return worst.verdict, worst.limit
        register = self.sheet.register
        reading = reading_of(entry, register)
        limit = self.subject.held_to(reading, register, self.sheet.printed)
        if limit is None:
            return "", None
        if reading.doubted_since:
            return Verdict.NOT_SHOWN, limit
        kept = limit.kept_by(reading.temperature)
        return (Verdict.MET if kept else Verdict.NOT_MET), limit


def _check(entry: Entry[ThermometerCheck], sheet: Sheet) -> FlatReading:
    body = entry.body
    shown = Temperature(Decimal(body.temp), Degree(body.degree))
    degree = sheet.register.degree
    accuracy = sheet.register.limits_at(entry.at).get("thermometer-accuracy")
    verdict = Verdict.MET if body.passed else Verdict.NOT_MET
    return FlatReading(
        **_about(entry, sheet),
        food="",
        step="check in boiling water" if body.expected else "check in ice",
        temperature=_in(degree, shown),
        degree=degree,
        as_entered="" if shown.degree is degree else str(shown),
        held_s="",
        verdict="" if entry.corrected_by else verdict,
        limit="" if entry.corrected_by else accuracy.name,
        citation="" if entry.corrected_by else accuracy.citation,
        breaks_by_itself="" if body.passed or entry.corrected_by else "yes",
        not_checked_until="",
        thermometer=body.thermometer,
        method="",
        oven="",
        note="",
    )


def _about(entry: Entry, sheet: Sheet) -> Mapping[str, str]:
    """Give what every kind of row says of its entry."""
    local = entry.at.astimezone(sheet.register.zone)
    late = entry.entered_at - entry.at
    return {
        "entry": entry.ref,
        "date": f"{local:%Y-%m-%d}",
        "time": f"{local:%H:%M}",
        "taken_at": local.isoformat(timespec="seconds"),
        "batch": entry.batch or "",
        "unit": entry.unit or "",
        "minutes_late": str(late // _MINUTE) if late > LATE else "0",
        "initials": entry.person,
        "corrects": str(entry.corrects or ""),
        "replaced_by": str(entry.corrected_by or ""),
    }


def _iso(moment: datetime, sheet: Sheet) -> str:
    return moment.astimezone(sheet.register.zone).isoformat(timespec="seconds")


def _in(degree: Degree, temperature: Temperature) -> str:
    """Give a temperature in a degree as a number: as entered, else to a tenth."""
    if temperature.degree is degree:
        return str(temperature.value)
    fahrenheit = temperature.fahrenheit
    number = fahrenheit if degree is Degree.F else (fahrenheit - 32) * 5 / 9
    tenth = Decimal(number.numerator) / Decimal(number.denominator)
    return str(tenth.quantize(Decimal("0.1"), ROUND_HALF_UP))
