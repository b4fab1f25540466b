"""Who signed the days of a report, and the limits by which anything on its pages was judged."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from haccp.language import counted, phrase
from haccp.limits import Limit, LimitSet
from haccp.printing.codes_in_words import in_words, named
from haccp.printing.limits_in_words import set_in_words, stated
from haccp.printing.report_context import OF_FOOD, Sheet, by_whom
from haccp.record.bodies import DaySigned
from haccp.record.entries import Entry
from haccp.rules.evidence import Finding
from haccp.time import day_starts, short_day


def signatures(sheet: Sheet) -> list[list[str]]:
    """List who signed which day, when, with what note."""
    return [
        [
            short_day(date.fromisoformat(entry.body.day)),
            _signer(entry, sheet),
            sheet.on(entry.entered_at),
            _noted(entry, sheet),
        ]
        for entry in signed_in(sheet)
    ]


def _signer(entry: Entry[DaySigned], sheet: Sheet) -> str:
    person = sheet.register.people.get(entry.person)
    by = by_whom(entry, sheet.register)
    return f"{person.name} ({by})" if person else by


def _noted(entry: Entry[DaySigned], sheet: Sheet) -> str:
    """Give what was noted, and what a reader has to know of the signature."""
    signed = date.fromisoformat(entry.body.day)
    heads = ["{} {} {:.8}".format(*head.split()) for head in entry.body.heads]
    over = [phrase("Signed over all of {tills}.", tills=", ".join(heads))] if heads else []
    notes = [entry.body.note, *over]
    if _made_on(signed, sheet) <= {entry.person}:
        notes.append(phrase("No second person looked."))
    changed = _changed_after(entry, signed, sheet)
    if changed:
        notes.append(phrase("Entries about this day were made after it: {count}.", count=changed))
    return " ".join(notes).strip()


def signed_in(sheet: Sheet) -> list[Entry[DaySigned]]:
    """Give the signatures under days of the period."""
    return [entry for day in sheet.days for entry in sheet.register.history.signatures(day)]


def limits_applied(findings: Iterable[Finding], sheet: Sheet) -> dict[str, Any]:
    """Give the limits that judged or dated something here; a digest stands for all of their set."""
    newest = sheet.register.limits_at(sheet.ends)
    dated = () if sheet.only.cooling_log else sheet.review.batches
    marks = (sheet.register.limits_at(one.opened.at).get("date-mark") for one in dated)
    checked = [newest.get("thermometer-accuracy")] if sheet.only.thermometers else []
    applied = list(dict.fromkeys([*(one.limit for one in findings), *marks, *checked]))
    sets = [newest, *_older(sheet, newest)]
    rows = [_row(limit, sets, sheet) for limit in applied]
    unread = [one for one in applied if one.basis != "verified"]
    guard = (
        phrase("Limits moved inward by {guard} (guarded acceptance)", guard=newest.guard)
        if newest.guard
        else ""
    )
    return {
        "name": set_in_words(newest),
        "digest": newest.digest,
        "guard": guard,
        "changes": _changes(sheet),
        "rows": rows,
        "rest": counted(
            "{count} other limit of this set judged nothing here; the digest covers it, too.",
            "{count} other limits of this set judged nothing here; the digest covers them, too.",
            len([one for one in newest.limits if one not in applied]),
        ),
        "unread": counted(
            "* {count} number is not yet verified against its own print: its source says of it "
            "what was read.",
            "* {count} numbers are not yet verified against their own print: their sources say "
            "what was read.",
            len(unread),
        )
        if unread
        else "",
    }


def _row(limit: Limit, sets: list[LimitSet], sheet: Sheet) -> dict[str, Any]:
    """Print a limit, with its table where it is one, and the set that it stands in."""
    mine = next((one for one in sets if limit in one.limits), sets[0])
    name = named(limit)
    if mine is not sets[0]:
        name = phrase("{limit} (as by {digest})", limit=name, digest=mine.digest[:16])
    return {
        "limit": name,
        "text": limit.text,
        "table": stated(limit, sheet.register.degree) if len(limit.rows) > 1 else "",
        "citation": limit.citation,
        "source": limit.source,
        "basis": "" if limit.basis == "verified" else in_words(limit.basis_in_words),
        "override": limit in mine.overrides,
    }


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
    return [entry for entry in entries if isinstance(entry.body, OF_FOOD)]


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
        by = [_set(limits), limits.digest[:16]]
        # other settings change, too
        if not rows or rows[-1][2:] != by:
            rows.append([sheet.on(entry.at), by_whom(entry, sheet.register), *by])
    return rows if len(rows) > 1 else []


def _set(limits: LimitSet) -> str:
    """Name a set, the local rules in it and by how much its numbers were moved."""
    local = ", ".join(named(limit) for limit in limits.overrides)
    rules = phrase("local rules: {names}", names=local) if local else phrase("local rules: none")
    guard = [phrase("guard band {guard}", guard=limits.guard)] if limits.guard else []
    return "; ".join([set_in_words(limits), ", ".join([rules, *guard])])


def _older(sheet: Sheet, newest: LimitSet) -> list[LimitSet]:
    """Give the other sets by which something on these pages is judged."""
    used = {one.digest: one for at in _began(sheet) if (one := sheet.register.limits_at(at))}
    return [one for digest, one in used.items() if digest != newest.digest]
