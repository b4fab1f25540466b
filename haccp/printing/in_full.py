"""A deviation in full: its curve, its readings, the food's account, and what was done."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cases import Case, Caught, parted
from haccp.kitchen.cooling_estimate import growth
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.review import lasted
from haccp.language import counted, phrase
from haccp.printing.batch_and_unit_pages import cooling_curve, marks_and_ovens, reading_rows
from haccp.printing.codes_in_words import named
from haccp.printing.cooling_log import Cooling
from haccp.printing.curve import Numbered, draw, key, small_multiples
from haccp.printing.curve_words import describe
from haccp.printing.drawn_cooling import DrawnCurve
from haccp.printing.first_page import about_cause, acts, caught_row, done, row
from haccp.printing.folding import folded, said_of, span_of
from haccp.printing.report_context import Sheet
from haccp.record.bodies import Measured
from haccp.record.entries import Entry, having
from haccp.rules.account_in_words import line
from haccp.rules.dispositions import may_release
from haccp.rules.evidence import Finding
from haccp.rules.words import explain, taken
from haccp.time import short_day, spell

# Beside the readings that decided, so many before and after them are printed.
_BEFORE = _AFTER = 1
# The file of what the marks on curves mean.
KEY = "key.svg"


@dataclass(frozen=True, slots=True)
class Drawings:
    """The curves of a report by the file names under which its words call for them."""

    large: dict[str, Sequence[DrawnCurve]] = field(default_factory=dict)
    small: dict[str, Sequence[Numbered]] = field(default_factory=dict)

    def add(self, curves: Sequence[DrawnCurve]) -> str:
        """Take coolings of one batch, to be drawn beside each other."""
        file = f"curve-{len(self.large) + 1}.svg"
        self.large[file] = curves
        return file

    def add_small(self, panels: Sequence[Numbered]) -> str:
        file = f"coolings-{len(self.small) + 1}.svg"
        self.small[file] = panels
        return file

    def drawn(self) -> dict[str, bytes]:
        """Draw them all, and the key to them where there are any."""
        files = {file: draw(*curves) for file, curves in self.large.items()}
        files |= {file: small_multiples(panels) for file, panels in self.small.items()}
        return {**files, KEY: key()} if files else files


def case_in_full(
    case: Case, anchor: str, cooled: Sequence[Cooling], sheet: Sheet, drawings: Drawings
) -> dict[str, Any]:
    """Give all that there is about a case; of equal portions the curve of the worst."""
    first = case.looked[0].subject
    findings, by_day = parted([one.finding for one in case.first])
    passed_on = {one.since for one in by_day}
    in_full = [one.finding for one in case.looked if one.finding.since not in passed_on]
    told = row(case, anchor, sheet)
    return {
        **told,
        "done": [done(entry, sheet) for entry in case.answers],
        "more": about_cause(case, sheet, done),
        "title": _title(case, findings),
        "why": [
            *(_why(one, sheet) for one in findings),
            *_runs_by_day(by_day, sheet),
            *_logged(_subjects_read(case), sheet),
        ],
        "curves": curves_of(first, findings, cooled, sheet, drawings),
        "accounts": [words for batch in case.batches[:2] for words in _accounts(batch, sheet)],
        "readings": _readings(_subjects_read(case), in_full, sheet),
        "others": [_in_a_line(one, sheet) for one in _others(case)],
        "choices": _choices(case),
    }


def _runs_by_day(runs: Iterable[Finding], sheet: Sheet) -> Iterator[str]:
    """Say of each day how often a limit was broken, for how long at most and how far."""
    days: dict[date, list[Finding]] = {}
    for one in sorted(runs, key=lasted):
        began = one.since or one.readings[0].at
        days.setdefault(began.astimezone(sheet.register.zone).date(), []).append(one)
    for day, mine in days.items():
        read = sorted(
            (reading.temperature for one in mine for reading in one.readings),
            key=lambda temperature: temperature.fahrenheit,
        )
        yield counted(
            "{day}: {count} more, for at most {time}, {low} to {high}; its readings are in the "
            "annex.",
            "{day}: {count} more, each for at most {time}, {low} to {high}; their readings are in "
            "the annex.",
            len(mine),
            day=short_day(day),
            time=spell(max(one.longest for one in mine if one.longest is not None)),
            low=read[0],
            high=read[-1],
        )


def _choices(case: Case) -> list[str]:
    """Name what a manager may write under what is undecided: no reason mends what is disproved."""
    if not case.undecided:
        return []
    if all(one.subject in case.units for one in case.looked if one.is_undecided):
        return [phrase("put right, by whom, when:"), phrase("how:")]
    open_ones = [one.finding for one in case.looked if one.is_undecided]
    released = all(may_release(one) for one in open_ones)
    return [
        phrase("discarded, by whom, when:"),
        phrase("released, because:") if released else phrase("put to another use, which:"),
    ]


def caught_in_full(
    one: Caught, anchor: str, cooled: Sequence[Cooling], sheet: Sheet, drawings: Drawings
) -> dict[str, Any]:
    """Give all that there is about a cooling that was caught in time."""
    told = caught_row(one, anchor, sheet)
    findings = list(one.cooling)
    again = [
        stage
        for cooling in cooled
        if cooling.batch is one.batch and cooling.began > one.cooling[0].readings[-1].at
        for stage in cooling.stages
    ]
    return {
        **told,
        "done": acts(one, sheet, done),
        "title": f"{told['food']} ({told['codes']}), {_goal(findings[0])}",
        "why": [*(_why(each, sheet) for each in findings[:1]), *_logged([one.batch], sheet)],
        "curves": curves_of(one.batch, [*findings, *again], cooled, sheet, drawings),
        "accounts": _accounts(one.batch, sheet),
        "readings": _readings([one.batch], [*findings, *again], sheet),
        "others": [],
        "choices": [],
    }


def _title(case: Case, findings: Sequence[Finding]) -> str:
    name = row_name(case)
    return f"{name}, {_goal(findings[0])}"


def row_name(case: Case) -> str:
    """Name a case for a heading: a unit, a food with its code, or how many portions."""
    if case.units:
        return ", ".join(one.name for one in case.units)
    names = [one.name for one in case.batches]
    food = case.batches[0].batch.food
    if len(names) == 1:
        return f"{food} ({names[0]})"
    return phrase("{food} ({first} and {count} more)", food=food, first=names[0],
                  count=len(names) - 1)  # fmt: skip


def _goal(finding: Finding) -> str:
    return f"{named(finding.limit)}, {finding.limit.citation}"


def _why(finding: Finding, sheet: Sheet) -> str:
    sentences = (make(finding, sheet.on) for make in (explain, taken))
    return " ".join([*filter(None, sentences), f"({finding.limit.citation})"])


def curves_of(
    subject: OnRecord,
    findings: Sequence[Finding],
    cooled: Sequence[Cooling],
    sheet: Sheet,
    drawings: Drawings,
) -> list[dict[str, str]]:
    """Draw the coolings that findings are about, those of one batch beside each other."""
    if not isinstance(subject, BatchOnRecord):
        return []
    mine = [one for one in cooled if one.batch.name == subject.name]
    about = [one for one in mine if any(stage in findings for stage in one.stages)]
    curves = [
        cooling_curve(subject, one.stages, sheet.record, sheet.register, sheet.printed)
        for one in about
    ]
    if not curves:
        return []
    figures = dict.fromkeys(filter(None, (growth(one.stages) for one in about)))
    return [
        {
            "file": drawings.add(curves),
            "alt": " ".join(map(describe, curves)),
            "growth": " ".join(figures),
        }
    ]


def _accounts(batch: BatchOnRecord, sheet: Sheet) -> list[str]:
    ways = batch.ways_told(sheet.register, sheet.printed)
    lines = dict.fromkeys(line(told, sheet.on, sheet.register.zone) for told in ways)
    return [f"{batch.name}: {words}" for words in lines]


def _subjects_read(case: Case) -> list[OnRecord]:
    """Give the one that stands for all, and of a unit the foods in it, which were read there."""
    return list(case.subjects) if case.units else [case.looked[0].subject]


def _others(case: Case) -> tuple[BatchOnRecord, ...]:
    return () if case.units else case.batches[1:]


def _readings(
    subjects: Sequence[OnRecord], findings: Sequence[Finding], sheet: Sheet
) -> list[dict[str, Any]]:
    """Give the readings that deviations rest on, with some before and after, corrected ones too."""
    every = {
        entry.ref: entry for subject in subjects for entry in having(subject.entries, Measured)
    }
    for subject in subjects:
        every |= {entry.ref: entry for entry in subject.measured}
    ordered = sorted(every.values(), key=lambda entry: (entry.at, entry.seq, entry.place))
    all_findings = [finding for subject in subjects for finding in sheet.found(subject)]
    marks, ovens = marks_and_ovens(all_findings)
    wanted: set[int] = set()
    for finding in findings:
        wanted |= set(_window(ordered, finding))
    chosen = [entry for i, entry in enumerate(ordered) if i in wanted]
    return reading_rows(chosen, all_findings, marks, ovens, sheet)


def _logged(subjects: Sequence[OnRecord], sheet: Sheet) -> list[str]:
    every = (entry for subject in subjects for entry in having(subject.entries, Measured))
    said = said_of(every, sheet.on)
    return [said] if said else []


def _window(ordered: Sequence[Entry[Measured]], finding: Finding) -> Iterable[int]:
    """Say which readings in order a finding is about: from the last before it to the next after."""
    moments = list(_moments(finding))
    if not moments or not ordered:
        return range(min(len(ordered), _AFTER))
    first = sum(1 for one in ordered if one.at < min(moments))
    last = sum(1 for one in ordered if one.at <= max(moments))
    return range(max(0, first - _BEFORE), min(len(ordered), last + _AFTER))


def _moments(finding: Finding) -> Iterator[datetime]:
    yield from (one.at for one in finding.readings)
    for bounds in (finding.start, finding.crossing):
        if bounds:
            yield from (one for one in (bounds.earliest, bounds.latest) if one)
    if finding.since:
        yield from (finding.since, lasted(finding))


def _in_a_line(batch: BatchOnRecord, sheet: Sheet) -> str:
    """Give an equal portion's own readings in a line."""
    own = [f"{sheet.on(run[0].at)} {span_of(run)}" for run in folded(batch.readings, ())]
    return f"{batch.name}: " + (", ".join(own) if own else phrase("no reading of its own"))
