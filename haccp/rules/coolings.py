"""Which of a batch's readings are one cooling, whatever anybody called them."""

from collections.abc import Generator, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import groupby, pairwise, takewhile

from haccp.limits.limit import Limit, LimitSet
from haccp.rules.cooling import CoolingStep, completion
from haccp.rules.evidence import (
    COOLED,
    INITIAL,
    Batch,
    Finding,
    Reading,
    Step,
    Verdict,
)

_HEATS = (Step.COOK, Step.HOT_HOLD)


def stages_for(limits: LimitSet, prepared: datetime | None) -> tuple[Limit, ...]:
    """Give the cooling limits that apply, in order; (B) for food made at room temperature."""
    if prepared is not None:
        return (limits.get("cooling-ambient"),)
    return limits.get("cooling-stage-1"), limits.get("cooling-stage-2")


def _prepared(
    prepared: datetime | None, readings: Sequence[Reading], limits: LimitSet
) -> datetime | None:
    """Say when food made at room temperature was prepared; 3-501.14(B) is not for food once hot."""
    was_hot = any(
        reading.step in (Step.COOK, Step.HOT_HOLD, Step.REHEAT) or is_hot(reading, limits)
        for reading in readings
    )
    return None if prepared is None or was_hot else min(prepared, readings[0].at)


def find_coolings(
    segments: Sequence[tuple[Reading, ...]],
    heated: Mapping[int, Finding],
    batch: Batch,
    limits: LimitSet,
    ended: datetime | None,
    arrived: CoolingStep | None,
) -> Iterator[CoolingStep]:
    """Find the coolings: each goes on, whatever its readings are called, until a reheat is met.

    A reheat that is not met starts nothing, and its readings show how warm the food was. One that
    is still under way ends the cooling for the time being. The full cook of food that was cooled
    after its initial heating (3-401.14) is to that cooling what a reheat is to any. Food that was
    hot and is next read in cold storage, or cooler anywhere but in hot holding, was cooled, whether
    anybody called it that or not; so was food made at room temperature, from its first reading. A
    cooling that nobody called one ends where the food is read hot again.
    """
    walk = _Walk(batch=batch, limits=limits, ambient=batch.prepared is not None)
    for i, segment in enumerate(segments):
        rest = segment
        if walk.current:
            rest = yield from walk.leave(segment, heated.get(i))
        if walk.current:
            walk.current += rest
            walk.called |= segment[0].step in COOLED
        elif walk.begins(segment, arrived):
            walk.begin(segment, walk.seen, called=segment[0].step in COOLED)
        else:
            yield from walk.fallen(rest)
        walk.pass_by(segment)
    if walk.current:
        yield walk.cooling(ended)


@dataclass(kw_only=True)
class _Walk:
    """Where a walk through a batch's segments stands.

    `current` are the readings of the cooling that is under way, `earlier` those before it,
    `called` whether somebody named it. `heated_since` and `hot_since` say whether since the last
    cooling the food was in a step that heats, or read hot; `ambient` that it was made at room
    temperature and has been neither.
    """

    batch: Batch
    limits: LimitSet
    ambient: bool
    current: list[Reading] = field(default_factory=list)
    earlier: tuple[Reading, ...] = ()
    seen: list[Reading] = field(default_factory=list)
    called: bool = False
    heated_since: bool = False
    hot_since: bool = False

    def hot(self, reading: Reading) -> bool:
        """Whether food has not left the heat: a roast's own rule may hold it at 130 °F."""
        held = self.limits.get("hot-holding", self.batch.kind).kept_by(reading.temperature)
        return held or is_hot(reading, self.limits)

    def was_hot(self, readings: Iterable[Reading]) -> bool:
        return any(map(self.hot, readings))

    def cooling(self, ended: datetime | None) -> CoolingStep:
        own = tuple(self.current)
        prepared = _prepared(self.batch.prepared, (*self.earlier, *own), self.limits)
        return CoolingStep(own, self.earlier, ended, prepared, called=self.called)

    def end(self, ended: datetime | None) -> CoolingStep:
        cooling = self.cooling(ended)
        self.current, self.heated_since, self.hot_since = [], False, False
        return cooling

    def begins(self, segment: Sequence[Reading], arrived: CoolingStep | None) -> bool:
        match segment[0].step:
            case Step.COOL:
                return not (arrived and segment[0] in arrived.readings)
            case Step.COLD_HOLD:
                return self.heated_since or self.hot_since or self.ambient
            case Step.PREPARE:
                fell = self.hot_since and not all(map(self.hot, segment))
                return self.ambient or fell
            case _:
                return False

    def begin(
        self, readings: Sequence[Reading], earlier: Sequence[Reading], *, called: bool
    ) -> None:
        self.current, self.earlier, self.called = list(readings), tuple(earlier), called
        self.heated_since = self.hot_since = self.ambient = False

    def leave(
        self, segment: tuple[Reading, ...], found: Finding | None
    ) -> Generator[CoolingStep, None, tuple[Reading, ...]]:
        """End the cooling that is under way, where what comes next ends it; give what is left."""
        step = segment[0].step
        ambient = step in _HEATS and self.cooling(None).prepared is not None
        if ambient or _ends_cooling(segment, found, self.earlier):
            yield self.end(segment[0].at)
            return segment
        if not (step in _HEATS or (step is Step.PREPARE and self.was_hot(segment))):
            return segment
        again = [n for n, reading in enumerate(segment) if self.hot(reading)]
        if _is_complete(self.cooling(None), self.limits):
            yield self.end(None)
        elif step in _HEATS and all(map(self.hot, self.current)):
            self.end(None)  # it has not left the heat yet
        elif again and not self.called:
            self.current += segment[: again[0]]
            yield self.end(segment[again[0]].at)
            return segment[again[0] :]
        return segment

    def fallen(self, segment: Sequence[Reading]) -> Iterator[CoolingStep]:
        """Find where food that was hot is read cooler while it is cooked, reheated or taken out.

        It goes on until the food is read hot again, and where it rises from its coolest reading on
        it is not said to be still warm. A reheat has a time of its own: it ends the cooling.
        """
        step = segment[0].step
        if step not in (Step.COOK, Step.REHEAT, Step.TIME_CONTROL):
            return
        if step is Step.TIME_CONTROL:
            segment = segment[:1]
        before = list(self.seen)
        was_hot = self.hot_since
        runs = [(hot, tuple(group)) for hot, group in groupby(segment, key=self.hot)]
        for n, (hot, run) in enumerate(runs):
            if was_hot and not hot:
                coolest = min(run, key=lambda reading: reading.temperature.fahrenheit)
                rising = run[run.index(coolest) :]
                rises = len(rising) > 1 and all(b.is_warmer_than(a) for a, b in pairwise(rising))
                timed = step is Step.TIME_CONTROL or (n == 0 and self._has_a_time(step))
                again = runs[n + 1][1][0].at if n + 1 < len(runs) else None
                down = run[: run.index(coolest) + 1]
                if timed:
                    yield CoolingStep(down, tuple(before), coolest.at, called=False)
                elif again:
                    own = down if rises else run
                    yield CoolingStep(own, tuple(before), again, called=False)
                else:
                    self.begin(run, before, called=False)
            was_hot |= hot
            before += run

    def _has_a_time(self, step: Step) -> bool:
        """Whether a heating is judged by its own time, or follows an initial heating at once."""
        return step is Step.REHEAT or _is_seared(self.seen)

    def pass_by(self, segment: Sequence[Reading]) -> None:
        step = segment[0].step
        self.heated_since |= step in (*_HEATS, Step.REHEAT)
        self.heated_since |= step is Step.RECEIVE and self.batch.received_as == "hot"
        self.hot_since |= self.was_hot(segment) or segment[0].method == INITIAL
        self.ambient &= not (self.heated_since or self.hot_since)
        self.seen += segment


def _ends_cooling(
    segment: Sequence[Reading], found: Finding | None, earlier: Sequence[Reading]
) -> bool:
    """Whether what comes next ends a cooling: a reheat that is met or under way, or time control.

    `found` is what was found about the segment's heating, `earlier` what the food went through
    before the cooling.
    """
    step = segment[0].step
    heats = step is Step.REHEAT or (step is Step.COOK and _is_seared(earlier))
    done = found is not None and found.verdict in (Verdict.MET, Verdict.OPEN)
    return step is Step.TIME_CONTROL or (heats and done)


def _is_seared(readings: Iterable[Reading]) -> bool:
    """Whether food was last cooked by an initial heating, 3-401.14: its full cook is to come."""
    cooked = [reading for reading in readings if reading.step is Step.COOK]
    return bool(cooked) and cooked[-1].method == INITIAL


def is_hot(reading: Reading, limits: LimitSet) -> bool:
    """Whether food is at or above the temperature from which its cooling counts."""
    start = limits.get("cooling-stage-1").start
    return start is not None and reading.temperature.over(start) >= 0


def _is_complete(cooling: CoolingStep, limits: LimitSet) -> bool:
    return completed(cooling, stages_for(limits, cooling.prepared)) is not None


def completed(cooling: CoolingStep, stages: Sequence[Limit]) -> tuple[datetime, datetime] | None:
    """Give when a cooling was complete, and its last reading of any kind."""
    done = completion(cooling, stages)
    return (done.at, cooling.readings[-1].at) if done else None


def arrival(
    readings: Sequence[Reading], batch: Batch, limits: LimitSet, ended: datetime | None
) -> CoolingStep | None:
    """Find the cooling of food that by law arrived warmer than cold, 3-501.14(C): from delivery."""
    cold = batch.by_law and batch.received_as in ("", "cold")
    if not (cold and readings and readings[0].step is Step.RECEIVE):
        return None
    if limits.get("receiving-cold").kept_by(readings[0].temperature):
        return None
    heated = (Step.COOK, Step.REHEAT, Step.HOT_HOLD, Step.TIME_CONTROL)
    own = tuple(takewhile(lambda r: r.step not in heated, readings))
    left = readings[len(own)].at if len(own) < len(readings) else ended
    return CoolingStep(own, ended=left, prepared=readings[0].at)


def after_arrival(
    arrived: CoolingStep, readings: Sequence[Reading], limits: LimitSet
) -> list[Reading]:
    """Give what is judged as holding: not what was still cooling from its delivery."""
    done = completion(arrived, (limits.get("cooling-received"),))
    last = done.at if done else arrived.readings[-1].at
    return [reading for reading in readings if reading.at > last]
