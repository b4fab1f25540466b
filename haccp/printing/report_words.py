"""Gathers what a report says, in words and figures already formatted for people.

The shape of the result is what reports/report.typ prints: plain dictionaries, lists and texts.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from haccp.kitchen.cases import Caught, cases, caught_in_time
from haccp.kitchen.part_of_review import part_of
from haccp.kitchen.register import Register
from haccp.kitchen.review import Looked, review
from haccp.kitchen.selection import WHOLE, Selection
from haccp.language import counted, message, phrase
from haccp.phrases import ranging
from haccp.physics.growth import behind
from haccp.printing import restricted, tills_on_paper
from haccp.printing.batch_and_unit_pages import batch_pages, cooling_curve, unit_pages
from haccp.printing.beside_the_readings import (
    clock_moves,
    corrections,
    deliveries,
    late,
    put_right,
    thermometers,
)
from haccp.printing.changes import record_changes
from haccp.printing.cooling_log import PER_FIGURE, Cooling, coolings_of, heads, title
from haccp.printing.cooling_log import row as cooling_row
from haccp.printing.curve import Numbered
from haccp.printing.curve_words import describe
from haccp.printing.first_page import caught_row, row, sentence
from haccp.printing.flat_readings import FlatReading, flat_readings
from haccp.printing.holding import holding
from haccp.printing.in_full import Drawings, case_in_full, caught_in_full, curves_of
from haccp.printing.limits_in_words import caution, moment_of_printing, people_of
from haccp.printing.report_context import OF_FOOD, Sheet
from haccp.printing.signatures_and_limits import limits_applied, signatures, signed_in
from haccp.printing.strip import strip
from haccp.printing.thermometer_checks import listed, sentences
from haccp.record.bodies import KitchenSettings
from haccp.record.entries import Entry
from haccp.record.store import Record
from haccp.rules.evidence import Finding
from haccp.rules.words import explain
from haccp.time import dated, short_day

# In English; a translated paper says both at greater length, in its caution.
NOT_SHOWN = (
    "means that the record does not prove the limit was kept; it is decided as a deviation is."
)
CAUTION = (
    "Measurements are compared with the limits at the end; where the local code, the health "
    "authority or licensed advice asks more, it decides."
)
# What a drawing may say in a person's own words: a code as haccp takes it, else its number alone.
_PLAIN = re.compile(r"[A-Za-z0-9._-]{1,40}")
# The readings of longer periods stand in no annex unless they are asked for.
MOST_DAYS_IN_FULL = 7


@dataclass(frozen=True, slots=True)
class Content:
    """A report's words, the curves that they name by file, and its readings for a spreadsheet."""

    words: dict[str, Any]
    drawings: Drawings = field(default_factory=Drawings)
    readings: Sequence[FlatReading] = ()


def gather(
    record: Record,
    register: Register,
    first: date,
    last: date,
    printed: datetime,
    *,
    readings: bool | None = None,
    only: Selection = WHOLE,
) -> Content:
    """Gather the report of kitchen days `first` to `last`, both included, as known when printed.

    `readings` says whether all of them are printed; not said, those of a week at most are. With
    `only` it is about part of what is on record; raises Refused where nothing is.
    """
    found = review(record, register, first, last, printed, only=only)
    found = part_of(found, only, register, printed)
    sheet = Sheet.of(record, register, found, first, last, printed, only)
    entries = sheet.entries()
    drawings = Drawings()
    seq, digest = record.head()
    annex = _has_annex(first, last, only) if readings is None else readings
    words = {
        **_head(first, last, sheet),
        "unreadable": list(found.unreadable),
        "taken_back": put_right(sheet),
        **_judged(entries, sheet, drawings),
        "open": [f"{one.subject.title}: {explain(one.finding, sheet.on)}" for one in found.open],
        "holding": holding(sheet),
        "thermometers": thermometers(sheet) if only.is_whole else [],
        "checks": listed(entries, sheet) if only.thermometers else None,
        "deliveries": [] if only.cooling_log else deliveries(sheet),
        "late": late(entries, sheet),
        "corrections": corrections(entries, sheet),
        "clock": clock_moves(entries, sheet),
        "changes": record_changes(sheet),
        "signatures": signatures(sheet),
        "people": people_of(register, _who(entries, sheet)),
        "limits": limits_applied(_findings(sheet), sheet),
        "record": {"last": str(seq), "digest": digest, "code": "head.svg"},
        "annex": _annex(sheet) if annex else None,
        "note": "" if annex or not only.is_about_food else _without_annex(),
    }
    return Content(words, drawings, flat_readings(entries, sheet))


def _has_annex(first: date, last: date, only: Selection) -> bool:
    """Whether all readings are printed where nobody said: of few days, and of single batches."""
    single = only.batches and not (only.foods or only.units)
    is_short = (last - first).days < MOST_DAYS_IN_FULL
    return not only.cooling_log and bool(single or is_short)


def _without_annex() -> str:
    return phrase(
        "The readings of every deviation are printed; all of them are with --readings, or with "
        "haccp export."
    )


def _head(first: date, last: date, sheet: Sheet) -> dict[str, Any]:
    """Say whose pages these are, of which days, and as of when."""
    register = sheet.register
    # as it was called, and where it was, at the end of these days
    kitchen = register.kitchen_at(min(sheet.ends - _MOMENT, sheet.printed))
    begins = register.settings[0].at.astimezone(register.zone).date()
    translated = caution()
    whole = sheet.only.is_whole
    return {
        "title": phrase("Food temperature record")
        if whole
        else phrase("Food temperature record, in part"),
        "only": restricted.told(sheet),
        "part": ", ".join(
            filter(None, [tills_on_paper.in_short(sheet), restricted.in_short(sheet)])
        ),
        "branch": restricted.branch(sheet),
        "tills": tills_on_paper.told(sheet),
        "kitchen": kitchen.name,
        "address": _address(kitchen),
        "charge": _in_charge(kitchen, register),
        "site": [
            kitchen.zone,
            f"{kitchen.altitude_m} m",
            f"°{kitchen.degree}",
        ],
        "period": _period(first, last),
        "begins": _days_covered(begins, sheet),
        "printed": moment_of_printing(sheet.printed, register.zone),
        "not_shown": "" if translated else NOT_SHOWN,
        "caution": translated or CAUTION,
    }


_MOMENT = timedelta(microseconds=1)


def _address(kitchen: KitchenSettings) -> str:
    permit = phrase("permit {number}", number=kitchen.permit) if kitchen.permit else ""
    return " · ".join(filter(None, [kitchen.address, permit]))


def _in_charge(kitchen: KitchenSettings, register: Register) -> str:
    """Name the person in charge; where nobody said who, the managers."""
    if kitchen.in_charge:
        return phrase("Person in charge: {name}", name=kitchen.in_charge)
    managers = [one for one in register.people.values() if one.role == "manager" and one.active]
    names = ", ".join(f"{one.name} ({one.initials})" for one in managers)
    return counted("Manager: {names}", "Managers: {names}", len(managers), names=names)


def _period(first: date, last: date) -> str:
    short = first != last and first.year == last.year
    return ranging(short_day(first) if short else dated(first), dated(last))


def _days_covered(begins: date, sheet: Sheet) -> str:
    """Say when the record begins, and which of these days have no entry about food."""
    told = [phrase("Record begins {day}.", day=dated(begins))]
    if not sheet.only.is_whole:
        return told[0]
    entries = sheet.record.during(sheet.begins, sheet.ends)
    zone = sheet.register.zone
    seen = {one.at.astimezone(zone).date() for one in entries if isinstance(one.body, OF_FOOD)}
    bare = [day for day in sheet.days if day not in seen]
    closed = [day for day in bare if sheet.register.declared_closed(day)]
    for words, days in (
        (message("Without entries: {days}."), [day for day in bare if day not in closed]),
        (message("Declared closed: {days}."), closed),
    ):
        if days:
            told.append(phrase(words, days=", ".join(map(short_day, days))))
    if not bare and sheet.days:
        told.append(phrase("No day is without entries."))
    return " ".join(told)


def _judged(entries: Sequence[Entry], sheet: Sheet, drawings: Drawings) -> dict[str, Any]:
    """Give what deviated and what was caught in time, in brief and in full, and the coolings."""
    whole = sheet.only.is_whole
    empty = whole and not any(isinstance(one.body, OF_FOOD) for one in entries)
    checks = sentences(entries, sheet) if sheet.only.thermometers else []
    found = cases(sheet.review)
    cooled = coolings_of(sheet)
    caught = _caught(cooled, sheet)
    anchors = [f"case-{n}" for n in range(1, len(found) + len(caught) + 1)]
    in_full = [case_in_full(one, anchor, cooled, sheet, drawings)
               for one, anchor in zip(found, anchors, strict=False)]  # fmt: skip
    rescued = anchors[len(found) :]
    in_full += [caught_in_full(one, anchor, cooled, sheet, drawings)
                for one, anchor in zip(caught, rescued, strict=True)]  # fmt: skip
    named = {name: anchor for one, anchor in zip(found, anchors, strict=False)
             for name in (batch.name for batch in one.batches)}  # fmt: skip
    named |= {one.batch.name: anchor for one, anchor in zip(caught, rescued, strict=True)}
    return {
        "sentence": sentence(found, caught, empty=empty, sheet=sheet, checks=checks),
        "deviations": [row(one, at, sheet) for one, at in zip(found, anchors, strict=False)],
        "caught": [caught_row(one, at, sheet) for one, at in zip(caught, rescued, strict=True)],
        "days": strip([(one.day(sheet), one.verdict) for one in cooled], entries, sheet)
        if whole
        else [],
        "curves": [] if in_full else _of_one_food(cooled, sheet, drawings),
        "log": _log(cooled, named, sheet, drawings),
        "full": in_full,
        "growth": behind() if any(c["growth"] for one in in_full for c in one["curves"]) else "",
    }


def _of_one_food(
    cooled: Sequence[Cooling], sheet: Sheet, drawings: Drawings
) -> list[dict[str, str]]:
    """Draw the coolings of a food that a paper is about alone as large as deviations are."""
    if sheet.only.is_whole or len(sheet.review.batches) != 1:
        return []
    stages = [stage for one in cooled for stage in one.stages]
    return curves_of(sheet.review.batches[0], stages, cooled, sheet, drawings)


def _caught(cooled: Sequence[Cooling], sheet: Sheet) -> list[Caught]:
    """Find the coolings of these days that were ended in time."""
    shown = {(one.batch.name, one.stages) for one in cooled}
    return [
        one
        for batch in {each.batch.name: each.batch for each in cooled}.values()
        for one in caught_in_time(batch, sheet.found(batch))
        if (batch.name, one.cooling) in shown
    ]


def _log(
    cooled: Sequence[Cooling], named: dict[str, str], sheet: Sheet, drawings: Drawings
) -> dict[str, Any]:
    """Give the cooling log, and its small curves twelve to a figure."""
    numbered = list(enumerate(cooled, start=1))
    figures = []
    # those of a part are drawn once: beside what is told of them in full
    large = [curve.findings for curves in drawings.large.values() for curve in curves]
    drawn = not sheet.only.is_whole and all(one.stages in large for one in cooled)
    for begins in range(0, 0 if drawn else len(cooled), PER_FIGURE):
        some = numbered[begins : begins + PER_FIGURE]
        curves = [
            cooling_curve(one.batch, one.stages, sheet.record, sheet.register, sheet.printed)
            for _, one in some
        ]
        panels = [
            Numbered(n, one.batch.name if _PLAIN.fullmatch(one.batch.name) else "", curve)
            for (n, one), curve in zip(some, curves, strict=True)
        ]
        told = [f"{one.number}. {describe(one.cooling)}" for one in panels]
        figures.append({"file": drawings.add_small(panels), "alt": " ".join(told)})
    return {
        "title": title(cooled),
        "heads": heads(cooled, sheet),
        "rows": [cooling_row(one, n, named.get(one.batch.name, ""), sheet) for n, one in numbered],
        "figures": figures,
    }


def _annex(sheet: Sheet) -> dict[str, Any]:
    """Give all readings, by batch and unit."""
    units = [unit_pages(subject, sheet) for subject in sheet.review.units]
    return {
        "batches": [batch_pages(subject, sheet) for subject in sheet.review.batches],
        "units": [one for one in units if one["readings"] or one["findings"] or one["events"]],
    }


def _findings(sheet: Sheet) -> Iterable[Finding]:
    """Give all that was found about what stands on these pages."""
    for batch in sheet.review.batches:
        yield from sheet.judged(batch)
    yield from (one.finding for one in sheet.review.found)


def _who(entries: Sequence[Entry], sheet: Sheet) -> set[str]:
    """Give the initials of everybody whose entries these pages print."""
    answered: Iterable[Looked] = sheet.review.deviations
    every = [
        *entries,
        *(entry for batch in sheet.review.batches for entry in batch.entries),
        *(entry for one in answered for entry in one.answers),
        *sheet.register.settings,
        *signed_in(sheet),
    ]
    return {entry.person for entry in every}
