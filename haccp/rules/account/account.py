"""The account of one batch while it is folded: its facts, phases and findings so far."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from haccp.limits.limit import Limit
from haccp.rules.account import holding
from haccp.rules.account.levels import Levels
from haccp.rules.account.life import Evidence, Facts, Life, Phase, Stay
from haccp.rules.account.table import (
    HELD,
)
from haccp.rules.evidence import (
    Bounds,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
)


@dataclass(slots=True)
class Account:
    """A batch's phases from its beginning to its end or now, and what is found about them."""

    life: Life
    levels: Levels
    as_of: datetime | None
    facts: Facts
    readings: tuple[Reading, ...]  # all of the food's own, in order
    until: datetime | None  # the latest moment that the record speaks of
    phases: list[Phase] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    filed: list[holding.Filed] = field(default_factory=list)
    stays: list[Stay] = field(default_factory=list)
    ended: Evidence | None = None
    before: Facts = field(default_factory=Facts)  # as they were before the evidence being taken
    unmet: Sequence[tuple[Step, Limit]] = ()  # what the last look at a heating did not meet

    def hot_limit(self) -> Limit:
        """3-501.16(A)(1): 130 °F for roasts "cooked to a temperature ... in 3-401.11(B)"."""
        return self.levels.hot_roast if self.facts.roasted else self.levels.hot

    def cold_limit(self) -> Limit:
        """3-501.16(B): untreated raw shell eggs in air of 45 °F or less."""
        return self.levels.egg if self.facts.shell else self.levels.cold

    def is_hot(self, reading: Reading) -> bool:
        roast = self.facts.roasted and self.levels.hot_roast.kept_by(reading.temperature)
        return roast or self.levels.is_hot(reading.temperature)

    def has_fallen(self) -> bool:
        """Whether the food was read below the start of its cooling."""
        line = self.facts.line[1:] if self.facts.heated else self.facts.line
        return self.facts.alone is not None or not all(map(self.is_hot, line))

    def began_hot(self) -> bool:
        facts = self.facts
        return bool(facts.line) and (facts.heated or self.is_hot(facts.line[0]))

    def is_between(self, reading: Reading) -> bool:
        cold = self.cold_limit().kept_by(reading.temperature)
        return not cold and not self.hot_limit().kept_by(reading.temperature)

    def is_cold_still(self) -> bool:
        last = self.facts.last
        return last is None or last.reading is None or self.facts.cold == last.at

    def place(self) -> str:
        """Where it stands: in the unit named for it, else in the usual one of its temperature."""
        kind = HELD.get(self.facts.state)
        if kind is None or self.facts.loose:
            return ""
        return self.facts.unit or self.life.watch.usual.get(kind, "")

    def usual_place(self) -> str:
        """Name the usual unit that it is taken to stand in; empty where one was named."""
        return "" if self.facts.unit else self.place()

    def seen_in(self, since: Bounds) -> str:
        """Name the usual unit whose check says that the food was cold until then, if one does."""
        facts = self.facts
        return facts.seen_in if facts.cold and facts.cold == since.earliest else ""

    def tell(self, step: Step, limit: Limit, reason: Reason, ev: Evidence) -> None:
        """Tell of what is not shown, with the reading that says so or the last before it."""
        last = ev.reading or (self.facts.last.reading if self.facts.last else None)
        self.findings.append(
            Finding(
                step=step,
                limit=limit,
                verdict=Verdict.NOT_SHOWN,
                reason=reason,
                readings=(last,) if last else (),
                since=ev.at,
            )
        )
