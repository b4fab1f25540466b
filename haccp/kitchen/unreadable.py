"""Entries that cannot be read: told wherever what they may say is missed, and never as clean."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from haccp.kitchen.register import Register
from haccp.kitchen.subjects import Subject
from haccp.record.entries import Entry, Unreadable
from haccp.rules.evidence import Finding, Reason, Step, Verdict


def unreadable(entries: Iterable[Entry]) -> Iterator[tuple[Entry, str]]:
    """Pick the entries that cannot be read, each with the sentence that says so."""
    for entry in entries:
        if isinstance(entry.body, Unreadable):
            about = " and ".join(one for one in (entry.batch, entry.unit) if one)
            what = f"{entry.body.kind}{f' about {about}' if about else ''}"
            yield entry, f"Entry no. {entry.seq} ({what}) cannot be read: {entry.body.why}."


def not_shown_for(subject: Subject, register: Register) -> Iterator[Finding]:
    """Find that a batch or unit is not shown to be held as it must be.

    The strict reading of 3-501.16(A): an entry that nobody can read may have said that it was not.
    """
    inherited = [entry for past in subject.pasts for entry in past.entries]
    entries = {entry.seq: entry for entry in (*inherited, *subject.in_force)}
    hot = subject.unit is not None and subject.unit.holds == "hot"
    name, step = ("hot-holding", Step.HOT_HOLD) if hot else ("cold-holding", Step.COLD_HOLD)
    for entry, words in unreadable(entries.values()):
        since = entry.entered_at if subject.unit else max(entry.entered_at, subject.opened.at)
        yield Finding(
            step=step,
            limit=replace(register.limits_at(since).get(name), text=words),
            verdict=Verdict.NOT_SHOWN,
            reason=Reason.UNREADABLE,
            readings=(),
            since=since,
        )
