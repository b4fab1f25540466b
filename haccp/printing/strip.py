"""The days of a report beside each other: how each was watched, and who signed it."""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from haccp.kitchen.on_record import entered_later
from haccp.language import counted, phrase
from haccp.printing.report_context import Sheet
from haccp.record.bodies import Measured, ThermometerCheck
from haccp.record.entries import Entry, having
from haccp.rules.evidence import Finding, Reason, Step, Verdict
from haccp.time import short_day

_HOT, _COLD = (Step.HOT_HOLD,), (Step.COLD_HOLD,)


def strip(
    cooled: Iterable[tuple[date, Verdict]], entries: Sequence[Entry], sheet: Sheet
) -> list[dict[str, Any]]:
    """Give each day: coolings, checks made and due, thermometers, late entries, signature.

    `cooled` are the coolings by the day on which they began.
    """
    coolings: dict[date, list[Verdict]] = {day: [] for day in sheet.days}
    for day, verdict in cooled:
        coolings.setdefault(day, []).append(verdict)
    by_day: dict[date, list[Entry]] = {day: [] for day in sheet.days}
    for entry in entries:
        if not entry.corrected_by:
            by_day.setdefault(_day(entry.at, sheet), []).append(entry)
    hot, cold = _Watched(_HOT, sheet), _Watched(_COLD, sheet)
    return [
        {
            "day": short_day(day),
            "coolings": coolings.get(day, []),
            "hot": hot.told(day, by_day[day]),
            "cold": cold.told(day, by_day[day]),
            "thermometers": [
                [entry.body.thermometer, entry.body.passed]
                for entry in having(by_day[day], ThermometerCheck)
            ],
            "late": str(
                len({one.seq for one in having(by_day[day], Measured) if entered_later(one)})
            ),
            "signed": _signed(day, sheet),
        }
        for day in sheet.days
        if day in by_day
    ]


def _day(moment: datetime, sheet: Sheet) -> date:
    return moment.astimezone(sheet.register.zone).date()


class _Watched:
    """What is found about holding at some steps, counted by day: each reading and gap once."""

    def __init__(self, steps: tuple[Step, ...], sheet: Sheet) -> None:
        self.steps, self.sheet = steps, sheet
        bad: dict[str, tuple[date, Reason]] = {}
        gaps: dict[datetime, int] = {}
        for one in sheet.review.deviations:
            finding = one.finding
            if finding.step not in steps:
                continue
            if finding.gap:
                gaps[finding.gap[0]] = _missed(finding, one.subject.name, sheet)
            elif finding.reason in (Reason.OUT_OF_LIMITS, Reason.THERMOMETER_IN_DOUBT):
                for reading in finding.readings:
                    bad.setdefault(reading.ref, (_day(reading.at, sheet), finding.reason))
        self.bad = Counter(bad.values())
        self.missed = Counter[date]()
        for begins, count in gaps.items():
            self.missed[_day(begins, sheet)] += count

    def told(self, day: date, entries: Sequence[Entry]) -> dict[str, Any]:
        """Say how many checks were made of those due, and what was wrong with some."""
        made = sum(1 for one in having(entries, Measured) if Step(one.body.step) in self.steps)
        missed = self.missed[day]
        out = self.bad[day, Reason.OUT_OF_LIMITS]
        doubted = self.bad[day, Reason.THERMOMETER_IN_DOUBT]
        wrong = [
            counted("{count} out of limits", "{count} out of limits", out) if out else "",
            counted("{count} in doubt", "{count} in doubt", doubted) if doubted else "",
        ]
        return {
            "made": phrase("{made} of {due}", made=made, due=made + missed),
            "missed": missed > 0,
            "wrong": [words for words in wrong if words],
        }


def _missed(finding: Finding, name: str, sheet: Sheet) -> int:
    """Count the checks that were due in a gap, by the interval of its unit."""
    assert finding.gap  # only gaps are counted
    begins, ends = finding.gap
    register = sheet.register
    every = register.kitchen_at(begins).check_every_min
    if name in register.units:
        every = register.unit_at(name, begins).every_min
    return max(1, round((ends - begins) / timedelta(minutes=every)) - 1)


def _signed(day: date, sheet: Sheet) -> dict[str, str]:
    """Say by whom a day was signed and when, and how many deviations were undecided then."""
    signature = sheet.register.signed(day)
    if signature is None:
        closed = sheet.register.declared_closed(day)
        words = phrase("closed, not signed") if closed else phrase("not signed")
        return {"words": words, "undecided": "", "missing": "yes"}
    undecided = signature.body.undecided
    return {
        "words": phrase("{who} {time}", who=signature.person, time=sheet.on(signature.entered_at)),
        "undecided": counted("{count} undecided", "{count} undecided", undecided)
        if undecided
        else "",
        "missing": "",
    }
