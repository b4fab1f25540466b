"""Which of a batch's readings are one cooling, whatever anybody called them."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime
from functools import partial
from itertools import groupby, takewhile

from haccp.limits.model import Limit, LimitSet
from haccp.rules.cooling import CoolingStep, completion
from haccp.rules.evidence import (
    INITIAL,
    Batch,
    Finding,
    Reading,
    Step,
    Verdict,
)

CALLED_COOLING = (Step.COOL, Step.COLD_HOLD)


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
    anybody called it that or not; so was food made at room temperature, from its first reading.
    """
    hot = partial(is_hot, limits=limits)
    current: list[Reading] = []
    earlier: tuple[Reading, ...] = ()
    seen: list[Reading] = []
    called = heated_since = hot_since = False
    ambient = batch.prepared is not None

    def cooling(ended: datetime | None) -> CoolingStep:
        own = tuple(current)
        prepared = _prepared(batch.prepared, (*earlier, *own), limits)
        return CoolingStep(own, earlier, ended, prepared, called=called)

    for i, segment in enumerate(segments):
        step, has_hot = segment[0].step, any(map(hot, segment))
        heats = step in (Step.COOK, Step.HOT_HOLD) or (step is Step.PREPARE and has_hot)
        ended_by = _ends_cooling(segment, heated.get(i), earlier) or (heats and not called)
        if current and (ended_by or (heats and _is_complete(cooling(None), limits))):
            yield cooling(segment[0].at if ended_by else None)
            current = []
            hot_since &= not ended_by
        if current:
            current += segment
            called |= step in CALLED_COOLING
        elif (
            (step is Step.COOL and not (arrived and segment[0] in arrived.readings))
            or (step is Step.COLD_HOLD and (heated_since or hot_since or ambient))
            or (step is Step.PREPARE and (ambient or (hot_since and not all(map(hot, segment)))))
        ):
            current, earlier, called = list(segment), tuple(seen), step in CALLED_COOLING
            heated_since = hot_since = ambient = False
        else:
            yield from _fallen(segment, seen, hot, hot_since=hot_since)
        heated_since |= step in (Step.COOK, Step.HOT_HOLD, Step.REHEAT)
        heated_since |= step is Step.RECEIVE and batch.received_as == "hot"
        hot_since |= has_hot or segment[0].method == INITIAL
        ambient &= not (heated_since or hot_since)
        seen += segment
    if current:
        yield cooling(ended)


def _ends_cooling(
    segment: Sequence[Reading], found: Finding | None, earlier: Sequence[Reading]
) -> bool:
    """Whether what comes next ends a cooling: a reheat that is met or under way, or time control.

    `found` is what was found about the segment's heating, `earlier` what the food went through
    before the cooling.
    """
    step = segment[0].step
    cooked = [reading for reading in earlier if reading.step is Step.COOK]
    in_two_goes = step is Step.COOK and bool(cooked) and cooked[-1].method == INITIAL
    heats = step is Step.REHEAT or in_two_goes
    done = found is not None and found.verdict in (Verdict.MET, Verdict.OPEN)
    return step is Step.TIME_CONTROL or (heats and done)


def _fallen(
    readings: Sequence[Reading],
    earlier: Sequence[Reading],
    hot: Callable[[Reading], bool],
    *,
    hot_since: bool,
) -> Iterator[CoolingStep]:
    """Find where food that was hot is read cooler while it is cooked, reheated or taken out.

    Nobody called that cooling. It went on as far as its coolest reading: from there it was heated.
    """
    step = readings[0].step
    if step not in (Step.COOK, Step.REHEAT, Step.TIME_CONTROL):
        return
    before = list(earlier)
    for hot_run, group in groupby(readings[:1] if step is Step.TIME_CONTROL else readings, key=hot):
        run = tuple(group)
        if hot_since and not hot_run:
            coolest = min(run, key=lambda reading: reading.temperature.fahrenheit)
            own = run[: run.index(coolest) + 1]
            yield CoolingStep(own, tuple(before), coolest.at, called=False)
        hot_since |= hot_run
        before += run


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
