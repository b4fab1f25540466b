"""What a batch and a holding unit on record have in common."""

from abc import ABC, abstractmethod
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.language import phrase
from haccp.limits import Limit
from haccp.record.bodies import Measured
from haccp.record.entries import LATE, Entry, having, number_in
from haccp.rules.evidence import Finding, Reading, Reason
from haccp.time import spell


@dataclass(frozen=True, slots=True, order=True)
class Look:
    """When a look is due, and at which unit in the food's stead; empty for the food itself."""

    at: datetime
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnRecord(ABC):
    """What is measured: its name and its entries in their order, corrected ones included."""

    name: str
    entries: tuple[Entry, ...]
    _judged: dict[datetime, tuple[Finding, ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    @property
    @abstractmethod
    def title(self) -> str:
        """Its name as a person reads it."""

    @property
    def in_force(self) -> list[Entry]:
        return [entry for entry in self.entries if not entry.corrected_by]

    @property
    def readings(self) -> list[Entry[Measured]]:
        """The readings in force, by the time at which they were taken."""
        return sorted(having(self.in_force, Measured), key=lambda entry: entry.at)

    @property
    @abstractmethod
    def measured(self) -> list[Entry[Measured]]:
        """Every reading that is evidence about it, its own last."""

    def evidence(self, register: Register) -> tuple[Reading, ...]:
        """Give every reading that is evidence about it, its own last, as the rules know it."""
        return tuple(reading_of(entry, register) for entry in self.measured)

    @property
    @abstractmethod
    def all_in_force(self) -> list[Entry]:
        """Everything in force about it, and about what it was taken from until then."""

    @property
    @abstractmethod
    def is_left(self) -> bool:
        """Whether it is food of which something is left."""

    @property
    @abstractmethod
    def is_divided(self) -> bool:
        """Whether it is food that was wholly divided into portions, or put together with other:
        what stood undecided of it is theirs to decide now.
        """

    @property
    @abstractmethod
    def is_outside_the_limits(self) -> bool:
        """Whether the record says that no limit here binds it."""

    def judged(self, register: Register, as_of: datetime) -> tuple[Finding, ...]:
        """Judge it as of a moment, once, by the limits that bind it."""
        if as_of not in self._judged:
            self._judged[as_of] = tuple(self._judge(register, as_of))
        return self._judged[as_of]

    @abstractmethod
    def _judge(self, register: Register, as_of: datetime) -> Sequence[Finding]: ...

    @abstractmethod
    def held_to(self, reading: Reading, register: Register, as_of: datetime, /) -> Limit | None:
        """Give the limit that one of its readings is held to; None while it changes temperature."""

    @abstractmethod
    def refuse_unjudgeable(self, reading: Reading, register: Register) -> None:
        """Raise Refused for a reading that the limits in force cannot judge, before it is recorded.

        A kitchen that is judged by an older set of limits has none for steps that came later.
        """

    @abstractmethod
    def next_look(self, register: Register, now: datetime, /) -> Look | None:
        """When what it holds is to be looked at next; None where nothing is due."""

    @abstractmethod
    def decided_by(
        self, finding: Finding, found: Sequence[Finding], register: Register, /
    ) -> tuple[Entry, ...]:
        """Find what decided a deviation, the first first; `found` is all that was found of it."""

    def notes_on(self, _finding: Finding, /) -> tuple[Entry, ...]:
        """Find what people wrote that was done about a deviation, beside what decided it."""
        return ()

    def _since(self, finding: Finding, acts: Iterable[Entry]) -> list[Entry]:
        """Pick the acts that came after a deviation, by their moment and by their entry.

        What was entered before the evidence was answers nothing, and of a gap or a run that goes on
        after it, an act answers nothing either: what lies before it alone.
        """
        if finding.since is None:
            return []
        since, shown_by = finding.since, self.shown_by(finding)
        mine = [
            e for e in acts if e.at >= since and e.seq > shown_by and not outlives(finding, e.at)
        ]
        return sorted(mine, key=lambda entry: entry.at)

    def shown_by(self, finding: Finding) -> int:
        """The number of the entry by which the record held what shows a deviation: the last one
        up to the moment from which it could be known, of a run out of limits its last.
        """
        assert finding.since is not None  # only deviations are asked about
        run = finding.reason is Reason.OUT_OF_LIMITS
        rests_on = {r.ref for r in finding.readings if run or r.at <= finding.since}
        return max((number_in(ref) for ref in rests_on if ref), default=0)


def outlives(finding: Finding, moment: datetime) -> bool:
    """Whether what was done at a moment came too early to answer a finding.

    A gap in the looks went on for longer than it may, or a branch was not known of yet.
    """
    if finding.reason is Reason.BESIDE and finding.due:
        return moment < finding.due
    if finding.gap is None or finding.due is None:
        return False
    begins, ends = finding.gap
    return ends - moment > finding.due - begins


def entered_later(entry: Entry) -> str:
    """Say by how much a late entry came after its moment; nothing for one made in time."""
    late = entry.entered_at - entry.at
    return phrase("entered {duration} later", duration=spell(late)) if late > LATE else ""
