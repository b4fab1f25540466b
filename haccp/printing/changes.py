"""What changed in a period beside the readings: PINs, copies put back, the kitchen itself."""

from haccp.kitchen.register import restored_words
from haccp.printing.report_context import Sheet, by_whom
from haccp.record.entries import Entry, KitchenSettings, PinSet, Restored


def record_changes(sheet: Sheet) -> list[list[str]]:
    """List them in the order in which they were entered: number, when, by whom, what."""
    register = sheet.register
    told = {
        entry: words for entry in (*register.pins, *register.restored) if (words := _told(entry))
    }
    for before, entry in zip(register.settings, register.settings[1:], strict=False):
        if words := _moved(before, entry):
            told[entry] = words
    return [
        [str(entry.seq), sheet.day_and_clock(entry.entered_at), by_whom(entry, register), words]
        for entry, words in sorted(told.items(), key=lambda one: one[0].seq)
        if sheet.is_during(entry.entered_at)
    ]


def _told(entry: Entry) -> str:
    match entry.body:
        case PinSet(initials=initials, proved=True):
            return f"The PIN of {initials} was set."
        case PinSet(initials=initials):
            return f"The PIN of {initials} was set. Nobody had one, so nothing proves by whom."
        case Restored() as body:
            return restored_words(body)
        case _:
            return ""


def _moved(before: Entry, after: Entry) -> str:
    old, new = before.body, after.body
    if not (isinstance(old, KitchenSettings) and isinstance(new, KitchenSettings)):
        return ""
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
