"""What a batch and a holding unit on record have in common."""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.limits import Limit
from haccp.record.entries import (
    LATE,
    CorrectiveAction,
    DeliveryRejected,
    Discarded,
    Entry,
    Measured,
    Released,
    having,
)
from haccp.rules.evidence import Finding, Reading, Step, Verdict
from haccp.time import spell

ANSWERS = (CorrectiveAction, Released, Discarded, DeliveryRejected)
_ONE_FOOD = (Step.COOL, Step.TIME_CONTROL)


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
        """Whether it is food that was wholly divided into portions, or put together with other."""

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
    def held_to(self, reading: Reading, register: Register, found: Sequence[Finding], /) -> Limit:
        """Give the limit that one holding reading of it is judged by."""

    @abstractmethod
    def refuse_unjudgeable(self, reading: Reading, register: Register) -> None:
        """Raise Refused for a reading that the limits in force cannot judge, before it is recorded.

        A kitchen that is judged by an older set of limits has none for steps that came later.
        """

    @abstractmethod
    def last_check(self, register: Register, now: datetime, /) -> datetime | None:
        """When what it holds was last checked; None if it holds nothing that is checked."""

    @abstractmethod
    def check_every(self, register: Register, /) -> timedelta:
        """How often what it holds is to be checked."""

    def answers_to(self, finding: Finding, known: Sequence[datetime]) -> tuple[Entry, ...]:
        """Find what was done about a deviation since it could be known, the first first.

        `known` are the moments of all its deviations: what follows the first action and a later
        deviation answers that one. What was entered before the evidence was answers nothing. What
        was done about a whole batch before it was divided was done about each portion.
        """
        if finding.since is None:
            return ()
        shown_by = self.shown_by(finding)
        acts = self._acts_about(finding)
        since = [e for e in acts if e.at >= finding.since and e.seq > shown_by]
        done = sorted(since, key=lambda entry: entry.at)
        later = min((moment for moment in known if done and moment > done[0].at), default=None)
        return tuple(entry for entry in done if later is None or entry.at < later)

    @abstractmethod
    def _acts_about(self, finding: Finding, /) -> list[Entry]:
        """Give what people did that may answer a deviation."""

    def shown_by(self, finding: Finding) -> int:
        """The number of the entry by which the record held what shows a deviation: the last one
        up to the moment from which it could be known.
        """
        assert finding.since is not None  # only deviations are asked about
        rests_on = {r.ref for r in finding.readings if r.at <= finding.since}
        return max((entry.seq for entry in self.measured if str(entry.seq) in rests_on), default=0)

    def hands_on(self, finding: Finding) -> bool:
        """Whether a finding of a batch that was wholly divided is one of each portion now."""
        return self.is_divided and is_about_portions(finding)


def is_about_portions(finding: Finding) -> bool:
    """Whether a finding of a whole batch is one of each portion too, the food being the same.

    What it was out of limits for in its holding stays with the whole, where it is answered.
    """
    heated = finding.step in (Step.COOK, Step.REHEAT) and finding.verdict.is_deviation
    return heated or finding.step in _ONE_FOOD or finding.verdict is Verdict.OPEN


def entered_later(entry: Entry) -> str:
    """Say by how much a late entry came after its moment; nothing for one made in time."""
    late = entry.entered_at - entry.at
    return f"entered {spell(late)} later" if late > LATE else ""
