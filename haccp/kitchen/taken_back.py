"""Readings that broke a limit until they were put right: kept in a manager's sight.

What was put right by whoever took it is listed. What was put right more than 15 minutes later takes
nothing back by itself, whoever did it: its deviation stays until a manager signs the day.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.register import Register
from haccp.language import message, phrase
from haccp.phrases import at, spanning
from haccp.record.bodies import LeftOut, Measured, Withdrawn
from haccp.record.entries import LATE, Entry, having
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Finding, Verdict
from haccp.time import from_stored


@dataclass(frozen=True, slots=True)
class TakenBack:
    """What a reading was found to be, and the correction after which it is that no more."""

    subject: OnRecord
    reading: Entry[Measured]
    correction: Entry
    finding: Finding

    @property
    def is_late(self) -> bool:
        return self.correction.entered_at - self.reading.at > LATE

    def stays(self, register: Register) -> bool:
        """Whether what it took back counts all the same, until a manager says otherwise."""
        return self.is_late and not self.is_seen(register)

    def is_seen(self, register: Register) -> bool:
        """Whether a manager signed the reading's day after it was corrected."""
        day = self.reading.at.astimezone(register.zone).date()
        return register.signed_up_to(day) > self.correction.seq

    def words(self, clock: ShowMoment) -> str:
        old, new = self.reading.body, self.correction.body
        put, span = "", ""
        if isinstance(new, LeftOut):
            words = _LEFT_OUT
            span = spanning(clock(from_stored(new.first)), clock(self.correction.at))
        elif isinstance(new, Measured):
            put = f"{new.temp} °{new.degree}"
            words = _BY_TAKER if self._is_by_taker else _BY_ANOTHER
        else:
            words = _TAKEN_AWAY_BY_TAKER if self._is_by_taker else _TAKEN_AWAY_BY_ANOTHER
        reason = new.reason if isinstance(new, Measured | LeftOut | Withdrawn) else ""
        was = _WAS[self.finding.verdict]
        return phrase(
            words,
            temp=f"{old.temp} °{old.degree}",
            at=at(clock(self.reading.at)),
            seq=self.reading.seq,
            was=phrase(was, citation=self.finding.limit.citation),
            person=self.correction.person,
            later_temp=put,
            later_seq=self.correction.seq,
            span=span,
            reason=reason.rstrip("."),
        )

    @property
    def _is_by_taker(self) -> bool:
        return self.reading.person == self.correction.person


_WAS = {
    Verdict.NOT_MET: message("was not met, {citation}"),
    Verdict.NOT_SHOWN: message("was not shown, {citation}"),
}
_BY_TAKER = message(
    "{temp} {at} (no. {seq}) {was}; {person}, who took it, put {later_temp} in its place "
    "(no. {later_seq}): {reason}."
)
_BY_ANOTHER = message(
    "{temp} {at} (no. {seq}) {was}; {person} put {later_temp} in its place "
    "(no. {later_seq}): {reason}."
)
_TAKEN_AWAY_BY_TAKER = message(
    "{temp} {at} (no. {seq}) {was}; {person}, who took it, put nothing in its place "
    "(no. {later_seq}): {reason}."
)
_TAKEN_AWAY_BY_ANOTHER = message(
    "{temp} {at} (no. {seq}) {was}; {person} put nothing in its place (no. {later_seq}): {reason}."
)


_LEFT_OUT = message(
    "{temp} {at} (no. {seq}) {was}; {person} left the logger's readings {span} out "
    "(no. {later_seq}): {reason}."
)


def taken_back(
    subjects: Iterable[OnRecord], register: Register, as_of: datetime
) -> Iterator[TakenBack]:
    """Find what deviated by a reading as it was taken, and does not any more since a correction."""
    for subject in subjects:
        known = {entry.seq: entry for entry in subject.entries}
        for last in subject.in_force:
            corrections, gone = _undone_by(last, subject, known)
            if not gone:
                continue
            by_taker = any(one.person == gone[0].person for one in corrections)
            late = last.entered_at - gone[0].at > LATE
            if by_taker or late:
                finding = _lost(subject, corrections, gone, register, as_of, late=late)
                if finding:
                    refs = _refs(finding)
                    shows = next(one for one in gone if one.ref in refs)
                    yield TakenBack(subject, shows, last, finding)


def _undone_by(
    last: Entry, subject: OnRecord, known: dict[int, Entry]
) -> tuple[list[Entry], list[Entry[Measured]]]:
    """Give the corrections of which one is the last, and the readings that were before them."""
    if isinstance(last.body, LeftOut):
        read = having(subject.entries, Measured)
        return [last], [one for one in read if one.corrected_by == last.seq]
    *corrections, first = _chain(last, known)
    if not corrections:
        return [], []
    return corrections, [e for e in having(subject.entries, Measured) if e.seq == first.seq]


def _chain(last: Entry, known: dict[int, Entry]) -> list[Entry]:
    """Follow an entry back through what it corrects to the first; a forged circle ends."""
    chain = [last]
    while (before := known.get(chain[-1].corrects or 0)) and before.seq < chain[-1].seq:
        chain.append(before)
    return chain


def _lost(
    subject: OnRecord,
    corrections: Sequence[Entry],
    gone: Sequence[Entry[Measured]],
    register: Register,
    as_of: datetime,
    *,
    late: bool,
) -> Finding | None:
    """Give what was not met by readings before their corrections and is not any more; of late ones
    also what was not shown.
    """
    lost = (Verdict.NOT_MET, Verdict.NOT_SHOWN) if late else (Verdict.NOT_MET,)
    made, refs = {entry.seq for entry in corrections}, {entry.ref for entry in gone}
    before = replace(
        subject,
        entries=tuple(
            replace(entry, corrected_by=None) if entry.ref in refs else entry
            for entry in subject.entries
            if entry.seq not in made
        ),
    )
    now = _found(subject, register, as_of, lost)
    for finding in _found(before, register, as_of, lost):
        rests_on = _refs(finding)
        if refs & rests_on and not any(
            one.limit == finding.limit
            and _refs(one) & {*rests_on, corrections[0].ref}
            and one.verdict in (finding.verdict, Verdict.NOT_MET)  # not shown may be released
            for one in now
        ):
            return finding
    return None


def _found(
    subject: OnRecord, register: Register, as_of: datetime, verdicts: Collection[Verdict]
) -> list[Finding]:
    return [one for one in subject.judged(register, as_of) if one.verdict in verdicts]


def _refs(finding: Finding) -> set[str]:
    return {reading.ref for reading in finding.readings if reading.ref}
