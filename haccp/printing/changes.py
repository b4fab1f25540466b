"""What changed in a period beside the readings: PINs, copies put back, the kitchen itself."""

from datetime import date

from haccp.kitchen.register import Register, accepted_words, restored_words
from haccp.printing.report_context import Sheet, by_whom
from haccp.record.entries import DayClosed, Entry, KitchenSettings, PinSet
from haccp.time import day_starts, short_day


def record_changes(sheet: Sheet) -> list[list[str]]:
    """List them in the order in which they were entered: number, when, by whom, what."""
    register = sheet.register
    told: dict[Entry, str] = {entry: _pin_set(entry.body) for entry in register.pins}
    told |= {entry: restored_words(entry.body) for entry in register.restored}
    told |= {entry: _closed(entry, register) for entry in register.closed}
    told |= {
        entry: f"Oven, {entry.body.oven}: {accepted_words(entry.body)}." for entry in register.ovens
    }
    for before, entry in zip(register.settings, register.settings[1:], strict=False):
        if words := _moved(before.body, entry.body):
            told[entry] = words
    return [
        [str(entry.seq), sheet.day_and_clock(entry.entered_at), by_whom(entry, register), words]
        for entry, words in sorted(told.items(), key=lambda one: one[0].seq)
        if sheet.is_during(entry.entered_at)
    ]


def _pin_set(body: PinSet) -> str:
    unproved = "" if body.proved else " Nobody had one, so nothing proves by whom."
    return f"The PIN of {body.initials} was set.{unproved}"


def _closed(entry: Entry[DayClosed], register: Register) -> str:
    """Say which days were closed; afterwards it may take missed checks back."""
    body = entry.body
    first, last = date.fromisoformat(body.first), date.fromisoformat(body.last)
    days = short_day(first) + (f" to {short_day(last)}" if last != first else "")
    late = entry.entered_at > day_starts(first, register.zone)
    afterwards = " Declared afterwards: no check of those days is missed any more." if late else ""
    return f"Closed {days}: {body.reason.rstrip('.')}.{afterwards}"


def _moved(old: KitchenSettings, new: KitchenSettings) -> str:
    changed = [
        (what, was, now)
        for what, was, now in (
            ("Name", old.name, new.name),
            ("Time zone", old.zone, new.zone),
            ("Opening hours", old.open_hours or "none", new.open_hours or "none"),
            ("Walk", ", ".join(old.walk) or "none", ", ".join(new.walk) or "none"),
            ("Longest closure", f"{old.longest_closure} d", f"{new.longest_closure} d"),
            ("Address", old.address, new.address),
            ("Permit number", old.permit, new.permit),
            ("Person in charge", old.in_charge, new.in_charge),
            ("Altitude", f"{old.altitude_m} m", f"{new.altitude_m} m"),
        )
        if was != now
    ]
    return " ".join(
        f"{what} from now on: {now or 'none'}{f', before it {was}' if was else ''}."
        for what, was, now in changed
    )
