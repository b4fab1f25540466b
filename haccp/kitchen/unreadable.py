"""Entries that cannot be read: told wherever what they may say is missed, and never as clean."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord
from haccp.language import message, phrase
from haccp.phrases import all_of
from haccp.record.bodies import Unreadable
from haccp.record.entries import Entry, having
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Finding, Reason, Step, Verdict


def unreadable(entries: Iterable[Entry]) -> Iterator[tuple[Entry[Unreadable], str]]:
    """Pick the entries that cannot be read, each with the sentence that says so."""
    for entry in having(entries, Unreadable):
        about = all_of([one for one in (entry.batch, entry.unit) if one])
        nameless = message("Entry no. {seq} ({kind}) cannot be read: {why}.")
        words = message("Entry no. {seq} ({kind} about {name}) cannot be read: {why}.")
        told = words if about else nameless
        yield (
            entry,
            phrase(told, seq=entry.seq, kind=entry.body.kind, name=about, why=entry.body.why),
        )


_TOO_MANY_WAYS = message(
    "It was divided and put together so often that its ways back cannot be followed."
)


def not_shown_for(subject: OnRecord, register: Register) -> Iterator[Finding]:
    """Find that a batch or unit is not shown to be held as it must be.

    The strict reading of 3-501.16(A): an entry that nobody can read, or that is in a branch beside
    the record, may have said that it was not.
    """
    yield from _beside(subject, register)
    entries = {entry.seq: entry for entry in subject.all_in_force}
    step = subject.step if isinstance(subject, UnitOnRecord) else Step.COLD_HOLD
    opened = subject.opened.at if isinstance(subject, BatchOnRecord) else None
    lost = [
        (max(entry.entered_at, opened or entry.entered_at), words)
        for entry, words in unreadable(entries.values())
    ]
    if isinstance(subject, BatchOnRecord) and subject.has_too_many_ways(register):
        lost.append((subject.opened.at, phrase(_TOO_MANY_WAYS)))
    for since, words in lost:
        yield Finding(
            step=step,
            limit=replace(register.limits_at(since).get(TRAITS[step].held_to), text=words),
            verdict=Verdict.NOT_SHOWN,
            reason=Reason.UNREADABLE,
            readings=(),
            since=since,
        )


def _beside(subject: OnRecord, register: Register) -> Iterator[Finding]:
    """Find what branches are about a batch, or about what it comes from, or about a unit.

    It is so of all the time from their first entry until they were known of.
    """
    names = subject.with_its_parts() if isinstance(subject, BatchOnRecord) else {subject.name}
    found = register.beside(names)
    if not found:
        return
    step = subject.step if isinstance(subject, UnitOnRecord) else Step.COLD_HOLD
    since = min(one.since for one in found)
    yield Finding(
        step=step,
        limit=register.limits_at(since).get(TRAITS[step].held_to),
        verdict=Verdict.NOT_SHOWN,
        reason=Reason.BESIDE,
        readings=(),
        longest=max(one.known_at for one in found) - since,
        since=since,
    )
