"""Readings that broke a limit until whoever took them put them right: kept in a manager's sight."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from haccp.kitchen.register import Register
from haccp.kitchen.subjects import Subject
from haccp.record.entries import Entry, Measured, Withdrawn
from haccp.rules.evidence import Finding, Verdict
from haccp.rules.words import ShowMoment


@dataclass(frozen=True, slots=True)
class TakenBack:
    """What a reading was found to be, and the correction after which it is that no more."""

    subject: Subject
    reading: Entry
    correction: Entry
    finding: Finding

    def is_seen(self, register: Register) -> bool:
        """Whether a manager signed the reading's day after it was corrected."""
        signature = register.signed(self.reading.at.astimezone(register.zone).date())
        return signature is not None and signature.seq > self.correction.seq

    def words(self, clock: ShowMoment) -> str:
        old, new = self.reading.body, self.correction.body
        assert isinstance(old, Measured)  # nothing else is found to break a limit
        reason = new.reason if isinstance(new, Measured | Withdrawn) else ""
        done = f"put {new.temp} °{new.degree}" if isinstance(new, Measured) else "put nothing"
        return (
            f"{old.temp} °{old.degree} at {clock(self.reading.at)} (no. {self.reading.seq}) was "
            f"not met, {self.finding.limit.citation}; {self.reading.person}, who took it, {done} "
            f"in its place (no. {self.correction.seq}): {reason.rstrip('.')}."
        )


def taken_back(
    subjects: Iterable[Subject], register: Register, as_of: datetime
) -> Iterator[TakenBack]:
    """Find what was not met by a reading as it was taken, and is not any more since its taker's
    own correction.
    """
    for subject in subjects:
        known = {entry.seq: entry for entry in subject.entries}
        for last in subject.in_force:
            chain = _chain(last, known)
            first = chain[-1]
            by_taker = any(one.person == first.person for one in chain[:-1])
            if by_taker and isinstance(first.body, Measured):
                finding = _lost(subject, chain, register, as_of)
                if finding:
                    yield TakenBack(subject, first, last, finding)


def _chain(last: Entry, known: dict[int, Entry]) -> list[Entry]:
    """Follow an entry back through what it corrects to the first; a forged circle ends."""
    chain = [last]
    while (before := known.get(chain[-1].corrects or 0)) and before.seq < chain[-1].seq:
        chain.append(before)
    return chain


def _lost(
    subject: Subject, chain: list[Entry], register: Register, as_of: datetime
) -> Finding | None:
    """Give what was not met by the first reading of a chain of corrections and is not any more."""
    corrections = {entry.seq for entry in chain[:-1]}
    corrected = {entry.seq for entry in chain[1:]}
    before = replace(
        subject,
        entries=tuple(
            replace(entry, corrected_by=None) if entry.seq in corrected else entry
            for entry in subject.entries
            if entry.seq not in corrections
        ),
    )
    now = _not_met(subject, register, as_of)
    for finding in _not_met(before, register, as_of):
        rests_on = _refs(finding)
        if str(chain[-1].seq) in rests_on and not any(
            one.limit == finding.limit and _refs(one) & {*rests_on, str(chain[0].seq)}
            for one in now
        ):
            return finding
    return None


def _not_met(subject: Subject, register: Register, as_of: datetime) -> list[Finding]:
    found = subject.judged(register, as_of)
    return [finding for finding in found if finding.verdict is Verdict.NOT_MET]


def _refs(finding: Finding) -> set[str]:
    return {reading.ref for reading in finding.readings}
