"""Entries that cannot be read: told wherever what they may say is missed, and never as clean."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.register import Register
from haccp.kitchen.units import UnitOnRecord
from haccp.language import message, phrase
from haccp.phrases import all_of
from haccp.record.bodies import Unreadable
from haccp.record.branches import Branch
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


def as_far_as_shown(
    subject: OnRecord, register: Register, findings: Sequence[Finding]
) -> Iterator[Finding]:
    """Call nothing met of a batch that branches are about, nor of a unit from then on."""
    shown = next(_beside(subject, register), None)
    is_food = isinstance(subject, BatchOnRecord)
    for one in findings:
        since = shown.since if shown else None
        is_later = since and (is_food or any(reading.at >= since for reading in one.readings))
        if shown and one.verdict is Verdict.MET and is_later:
            yield replace(
                one, verdict=shown.verdict, reason=shown.reason, since=since, due=shown.due
            )
        else:
            yield one


def _branches(subject: OnRecord, register: Register) -> list[Branch]:
    """Give the branches that are about a batch, or about what it comes from, or about a unit."""
    if not register.branches:
        return []
    its_parts = subject.with_its_parts() if isinstance(subject, BatchOnRecord) else ()
    return register.beside({subject.name, *its_parts})


def _beside(subject: OnRecord, register: Register) -> Iterator[Finding]:
    """Find that a subject is not shown, from a branch's first entry until it was known of.

    That is when it is `due` to be decided: what was done before answers nothing.
    """
    found = _branches(subject, register)
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
        due=max(one.known_at for one in found),
        since=since,
    )
