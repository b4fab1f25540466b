"""What changed in a period beside the readings: PINs, copies put back, the kitchen itself."""

from datetime import date

from haccp.kitchen.branch_words import branch_in_words
from haccp.kitchen.register import Register, accepted_words, restored_words
from haccp.language import counted, message, phrase
from haccp.phrases import ranging
from haccp.printing.report_context import Sheet, by_whom
from haccp.record.bodies import DayClosed, KitchenSettings
from haccp.record.bodies_of_record import ForkDecided, HandedOver, PinSet
from haccp.record.entries import Entry
from haccp.time import day_starts, short_day


def record_changes(sheet: Sheet) -> list[list[str]]:
    """List them in the order in which they were entered: number, when, by whom, what."""
    register = sheet.register
    told: dict[Entry, str] = _kitchens(register) if sheet.only.is_whole else {}
    told |= {entry: restored_words(entry.body) for entry in register.restored}
    told |= {entry: _handed_over(entry.body) for entry in register.handed_over}
    told |= {one.noted: branch_in_words(one) for one in register.branches if one.noted}
    told |= {entry: _fork_decided(entry.body) for entry in register.forks}
    told |= {entry: _closed(entry, register) for entry in register.closed}
    told |= {
        entry: phrase(
            "Oven, {oven}: {accepted}.",
            oven=entry.body.oven,
            accepted=accepted_words(entry.body),
        )
        for entry in register.ovens
    }
    return [
        [str(entry.seq), sheet.day_and_clock(entry.entered_at), by_whom(entry, register), words]
        for entry, words in sorted(told.items(), key=lambda one: one[0].seq)
        if sheet.is_during(entry.entered_at)
    ]


def _kitchens(register: Register) -> dict[Entry, str]:
    """Tell of PINs and settings: they concern no single food or unit."""
    told: dict[Entry, str] = {entry: _pin_set(entry.body) for entry in register.pins}
    for before, entry in zip(register.settings, register.settings[1:], strict=False):
        if words := _moved(before.body, entry.body):
            told[entry] = words
    return told


def _pin_set(body: PinSet) -> str:
    if body.proved:
        return phrase("The PIN of {initials} was set.", initials=body.initials)
    return phrase(
        "The PIN of {initials} was set. Nobody had one, so nothing proves by whom.",
        initials=body.initials,
    )


def _handed_over(body: HandedOver) -> str:
    return phrase(
        "Handed over to {server} up to no. {until} ({head}); its receipt of {moment} by its own "
        "clock: {signature}.",
        server=body.server,
        until=body.until,
        head=body.head[:12],
        moment=body.received_at,
        signature=body.signature[:16],
    )


def _fork_decided(body: ForkDecided) -> str:
    return counted(
        "{count} entry after no. {after} parted from what {server} holds, and is kept whole beside "
        "it as {head}: {reason}.",
        "{count} entries after no. {after} parted from what {server} holds, and are kept whole "
        "beside it as {head}: {reason}.",
        body.entries,
        after=body.after,
        server=body.server,
        head=body.head[:12],
        reason=body.reason.rstrip("."),
    )


def _closed(entry: Entry[DayClosed], register: Register) -> str:
    """Say which days were closed; afterwards it may take missed checks back."""
    body = entry.body
    first, last = date.fromisoformat(body.first), date.fromisoformat(body.last)
    days = ranging(short_day(first), short_day(last))
    told = message("Closed {days}: {reason}.")
    if entry.entered_at > day_starts(first, register.zone):
        told = message(
            "Closed {days}: {reason}. Declared afterwards: no check of those days is missed any "
            "more."
        )
    return phrase(told, days=days, reason=body.reason.rstrip("."))


def _moved(old: KitchenSettings, new: KitchenSettings) -> str:
    changed = [
        (what, was, now)
        for what, was, now in (
            (phrase("Name"), old.name, new.name),
            (phrase("Time zone"), old.zone, new.zone),
            (phrase("Opening hours"), old.open_hours, new.open_hours),
            (phrase("Walk"), ", ".join(old.walk), ", ".join(new.walk)),
            (phrase("Longest closure"), f"{old.longest_closure} d", f"{new.longest_closure} d"),
            (phrase("Address"), old.address or None, new.address),
            (phrase("Permit number"), old.permit or None, new.permit),
            (phrase("Person in charge"), old.in_charge or None, new.in_charge),
            (phrase("Altitude"), f"{old.altitude_m} m", f"{new.altitude_m} m"),
        )
        if (was or "") != now
    ]
    return " ".join(_from_now_on(what, was, now) for what, was, now in changed)


def _from_now_on(what: str, was: str | None, now: str) -> str:
    """Say what is so from now on, and what was before; None where nobody had said it."""
    if was is None:
        return phrase("{what} from now on: {now}.", what=what, now=now)
    told = message("{what} from now on: {now}, before it {was}.")
    if not was:
        told = message("{what} from now on: {now}, before it none.")
    if not now:
        told = message("{what} from now on: none, before it {was}.")
    return phrase(told, what=what, was=was, now=now)
