"""The checks of thermometers one by one, for who asks for them, and the readings in doubt by them.

What was found of the food that was measured so stands in the report of its day.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from haccp.kitchen.on_record import entered_later
from haccp.kitchen.part_of_review import NothingOnRecord
from haccp.language import counted, message, phrase
from haccp.printing.beside_the_readings import checked_in, thermometers
from haccp.printing.report_context import Sheet
from haccp.record.bodies import Measured, ThermometerCheck
from haccp.record.entries import Entry, having
from haccp.rules.evidence import Step, Verdict


def checks_made(entries: Iterable[Entry]) -> list[Entry[ThermometerCheck]]:
    """Give the checks among entries in the order of their moments, corrected ones too."""
    made = having(entries, ThermometerCheck)
    return sorted(made, key=lambda entry: (entry.at, entry.seq))


def listed(entries: Iterable[Entry], sheet: Sheet) -> dict[str, Any]:
    """Give the checks line by line, each thermometer's in brief, and the readings in doubt.

    Raises NothingOnRecord where none was checked.
    """
    made = checks_made(entries)
    if not made:
        raise NothingOnRecord(message("No thermometer was checked on these days: type others."))
    return {
        "thermometers": [_in_brief(one, made, sheet) for one in thermometers(sheet)],
        "rows": [_row(entry, sheet) for entry in made],
        "doubted": [_doubted(entry, sheet) for entry in in_doubt(sheet)],
    }


def in_doubt(sheet: Sheet) -> list[Entry[Measured]]:
    """Give the readings of the period that a failed check puts in doubt."""
    readings = having(sheet.record.during(sheet.begins, sheet.ends), Measured)
    doubted_since = sheet.register.doubted_since
    return [
        one
        for one in readings
        if not one.corrected_by and doubted_since(one.body.thermometer, one.at)
    ]


def sentences(entries: Iterable[Entry], sheet: Sheet) -> list[str]:
    """Say how many checks were made, and first which were not passed."""
    made = [one for one in checks_made(entries) if not one.corrected_by]
    failed = [one for one in made if not one.body.passed]
    told = counted(
        "{count} check of thermometers, passed.",
        "{count} checks of thermometers, all passed.",
        len(made),
    )
    if failed:
        told = counted(
            "{count} check of thermometers; not passed: {which}.",
            "{count} checks of thermometers; not passed: {which}.",
            len(made),
            which=", ".join(f"{one.body.thermometer} ({sheet.on(one.at)})" for one in failed),
        )
    doubted = len(in_doubt(sheet))
    if not doubted:
        return [told]
    return [
        told,
        counted(
            "{count} reading is in doubt by it; what was found of that food stands in the report "
            "of its day.",
            "{count} readings are in doubt by it; what was found of that food stands in the report "
            "of its day.",
            doubted,
        ),
    ]


def _in_brief(
    one: dict[str, Any], made: Sequence[Entry[ThermometerCheck]], sheet: Sheet
) -> dict[str, Any]:
    """Say on how many of the days a thermometer was checked, and what was decided about it."""
    zone = sheet.register.zone
    mine = [
        entry for entry in made if entry.body.thermometer == one["label"] and not entry.corrected_by
    ]
    days = {entry.at.astimezone(zone).date() for entry in mine}
    told = message("checked on {count} of {days} days")
    return {
        **{name: one[name] for name in ("label", "accuracy", "retired", "decided")},
        "checked": phrase(told, count=len(days), days=len(sheet.days)),
    }


def _row(entry: Entry[ThermometerCheck], sheet: Sheet) -> dict[str, Any]:
    body = entry.body
    return {
        "no": str(entry.seq),
        "when": sheet.day_and_clock(entry.at),
        "thermometer": body.thermometer,
        "shown": f"{body.temp} °{body.degree}".replace("-", "−"),
        "bath": checked_in(body),
        "verdict": Verdict.MET if body.passed else Verdict.NOT_MET,
        "by": entry.person,
        "note": "; ".join(_notes(entry)),
        "struck": entry.corrected_by is not None,
    }


def _notes(entry: Entry) -> Iterable[str]:
    if late := entered_later(entry):
        yield late
    if entry.corrects:
        yield phrase("corrects no. {seq}", seq=entry.corrects)
    if entry.corrected_by:
        yield phrase("replaced by no. {seq}", seq=entry.corrected_by)


def _doubted(entry: Entry[Measured], sheet: Sheet) -> list[str]:
    body = entry.body
    return [
        str(entry.seq),
        sheet.day_and_clock(entry.at),
        body.thermometer,
        f"{body.temp} °{body.degree}".replace("-", "−"),
        Step(body.step).words,
        ", ".join(filter(None, [entry.batch, entry.unit])),
        entry.person,
    ]
