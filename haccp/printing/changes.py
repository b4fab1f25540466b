"""What changed in a period beside the readings: PINs, copies put back, the kitchen itself."""

from haccp.kitchen.register import restored_words
from haccp.printing.report_context import Sheet, by_whom
from haccp.record.entries import Entry, KitchenSettings, PinSet


def record_changes(sheet: Sheet) -> list[list[str]]:
    """List them in the order in which they were entered: number, when, by whom, what."""
    register = sheet.register
    told: dict[Entry, str] = {entry: _pin_set(entry.body) for entry in register.pins}
    told |= {entry: restored_words(entry.body) for entry in register.restored}
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


def _moved(old: KitchenSettings, new: KitchenSettings) -> str:
    changed = [
        (what, was, now)
        for what, was, now in (
            ("Name", old.name, new.name),
            ("Time zone", old.zone, new.zone),
            ("Altitude", f"{old.altitude_m} m", f"{new.altitude_m} m"),
        )
        if was != now
    ]
    return " ".join(f"{what} from now on: {now}, before it {was}." for what, was, now in changed)
