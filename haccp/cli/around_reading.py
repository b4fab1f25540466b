"""One reading, and all that its answer is made of: what was found, what stands, what comes next."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from haccp.cli.asking import hold_to_show
from haccp.cli.deciding import standing_in
from haccp.cli.session import Session
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.on_record import Look, OnRecord
from haccp.kitchen.review import undecided
from haccp.kitchen.units import UnitOnRecord
from haccp.rules.account.steps import TRAITS
from haccp.rules.advice import Advice, advise
from haccp.rules.evidence import Finding, Reading, Step, Verdict, overall
from haccp.rules.kitchen_words import forbids_serving
from haccp.time import day_and_clock

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running


@dataclass(frozen=True)
class Around:
    """One reading of a subject, `findings` about it, and all that is found `after` it."""

    subject: OnRecord
    reading: Reading
    findings: Sequence[Finding]
    after: Sequence[Finding]
    session: Session

    def _clock(self, moment: datetime) -> str:
        return day_and_clock(moment, self.session.now, self.session.register.zone)

    @cached_property
    def _decisive(self) -> Finding | None:
        """The finding that this reading is told by; of open ones that with the least time left."""
        if not self.findings:
            return None
        verdict = overall(self.findings)
        found = [one for one in self.findings if one.verdict is verdict]
        if verdict is not Verdict.OPEN:
            return found[-1]
        return min(found, key=lambda one: (one.due is None, one.due or self.reading.at))

    @cached_property
    def _deviates(self) -> bool:
        return self._decisive is not None and self._decisive.verdict.is_deviation

    @property
    def _is_over(self) -> bool:
        """Whether nothing more is measured of it: a roast stays on the heat, whatever its oven."""
        found = self._decisive
        return self._deviates and found is not None and found.limit.name != "oven"

    @property
    def _may_be_served(self) -> bool:
        return not any(map(forbids_serving, self._older))

    @cached_property
    def _older(self) -> list[Finding]:
        """What nobody decided beside what this reading is told by, the worst first."""
        is_unit = isinstance(self.subject, UnitOnRecord)
        return [
            one
            for one in undecided(self.subject, self.after, self.session.register)
            if one not in self.findings and not (is_unit and one.gap)
        ]

    @cached_property
    def _unfit_inside(self) -> list[str]:
        """The foods in a unit that may not be served and that nobody set apart yet."""
        if not isinstance(self.subject, UnitOnRecord) or self._deviates:
            return []
        return [
            one.name
            for one in standing_in(self.subject.name, self.session)
            if one.set_apart is None
            and any(
                map(forbids_serving, undecided(one, self._found_of(one), self.session.register))
            )
        ]

    def _found_of(self, batch: BatchOnRecord) -> Sequence[Finding]:
        now = max(self.session.now, self.reading.at)
        return all_found(batch, self.session.record, self.session.register, now)

    @cached_property
    def _outweighed(self) -> Reading | None:
        """Another reading of the same minute that counts in this one's stead: the worse of both."""
        if not TRAITS[self.reading.step].coolest:
            return None
        same = [
            one
            for one in self.subject.evidence(self.session.register)
            if one.at == self.reading.at and one.step is self.reading.step
        ]
        worst = min(same, key=lambda one: one.temperature.fahrenheit, default=self.reading)
        cooler = worst.temperature.fahrenheit < self.reading.temperature.fahrenheit
        return worst if cooler else None

    @cached_property
    def _hold(self) -> tuple[str, timedelta] | None:
        """The temperature, and for how long, that nothing but the typed time held is missing of."""
        if self._deviates or self._outweighed:
            return None
        return hold_to_show(self.subject, self.reading, self.session)

    @cached_property
    def _running(self) -> "Running | None":
        """What a cooling that goes on is expected to do; only its entry waits for the forecast."""
        subject, session = self.subject, self.session
        is_open = any(f.step is Step.COOL and f.verdict is Verdict.OPEN for f in self.after)
        cools = isinstance(subject, BatchOnRecord) and self.reading.step is Step.COOL
        if not (isinstance(subject, BatchOnRecord) and cools and is_open) or self._deviates:
            return None
        from haccp.kitchen.cooling_estimate import running

        return running(subject, self.after, session.record, session.register, session.now)

    @cached_property
    def _look(self) -> Look | None:
        return self.subject.next_look(self.session.register, self.session.now)

    @cached_property
    def _advice(self) -> Advice:
        register = self.session.register
        newest = max(self.subject.evidence(register), key=lambda one: one.at)
        every = timedelta(minutes=register.kitchen.check_every_min)
        return advise(self.after, newest, every, self._look.at if self._look else None)

    @cached_property
    def _measure_at(self) -> datetime | None:
        looks = [self._advice.measure_by, self._running.measure_at if self._running else None]
        return min((moment for moment in looks if moment), default=None)
