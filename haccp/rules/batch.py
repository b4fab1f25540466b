"""One batch through its steps: which readings are one cooling, which are a holding."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from itertools import groupby

from haccp.limits.model import Limit, LimitSet
from haccp.rules.cooling import CoolingStep, completion, judge_cooling
from haccp.rules.evidence import Finding, Reading, Step, Verdict
from haccp.rules.holding import judge_holding, missed_checks
from haccp.rules.reaching import judge_reaching

_ORDER = list(Step)
_HEATING_LIMIT = {Step.COOK: "cook", Step.REHEAT: "reheat"}
HOLDING_LIMIT = {Step.HOT_HOLD: "hot-holding", Step.COLD_HOLD: "cold-holding"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """A batch as evidence. Readings come in any order.

    `kind` is the kind of food where a limit has a variant for it. `ended` is when the batch was
    discarded or used up, `discarded` whether it was thrown away. `prepared` is the moment of
    preparation of a food made from ingredients at room temperature. `longest_gap` between
    hot-holding checks is the kitchen's interval and its grace; without it no check is missed.
    """

    readings: tuple[Reading, ...]
    kind: str = ""
    ended: datetime | None = None
    discarded: bool = False
    prepared: datetime | None = None
    longest_gap: timedelta | None = None


def judge_batch(batch: Batch, limits: LimitSet, as_of: datetime | None) -> tuple[Finding, ...]:
    """Judge everything that a batch went through, in the order in which it happened.

    Readings later than `as_of` have not been taken yet; None means after everything.
    Source: DEVELOPERS.md, verdict rules.
    """
    readings = _in_order(batch.readings, as_of)
    ended = batch.ended if batch.ended and (as_of is None or batch.ended <= as_of) else None
    segments = [tuple(segment) for _, segment in groupby(readings, key=lambda r: r.step)]
    heated = _heatings(segments, batch, limits, ended, as_of)
    coolings = list(_coolings(segments, heated, limits, ended, batch.prepared))
    dated = [(segments[i][0].at, finding) for i, finding in heated.items()]
    dated += [
        (c.readings[0].at, f)
        for c in coolings
        for f in judge_cooling(c, stages_for(limits, c.prepared), as_of)
    ]
    dated += _holdings(readings, coolings, heated, batch, limits, ended or as_of)
    return tuple(finding for _, finding in sorted(dated, key=lambda pair: pair[0]))


def stages_for(limits: LimitSet, prepared: datetime | None) -> tuple[Limit, ...]:
    """Give the cooling limits that apply, in order; (B) for food made at room temperature."""
    if prepared is not None:
        return (limits.get("cooling-ambient"),)
    return limits.get("cooling-stage-1"), limits.get("cooling-stage-2")


def _in_order(readings: Iterable[Reading], as_of: datetime | None) -> list[Reading]:
    """Sort by time; at one moment the step that is under way comes before a new one."""
    taken = sorted((r for r in readings if as_of is None or r.at <= as_of), key=lambda r: r.at)
    ordered: list[Reading] = []
    for _, moment in groupby(taken, key=lambda r: r.at):
        current = ordered[-1].step if ordered else None
        ordered += sorted(moment, key=partial(_rank, current))
    return ordered


def _rank(current: Step | None, reading: Reading) -> tuple[object, ...]:
    temperature = reading.temperature
    same = (temperature.fahrenheit, temperature.degree, reading.held, reading.doubted_since is None)
    return (reading.step is not current, _ORDER.index(reading.step), *same)


def _prepared(
    prepared: datetime | None, readings: Sequence[Reading], limits: LimitSet
) -> datetime | None:
    """Say when food made at room temperature was prepared; 3-501.14(B) is not for food once hot."""
    start = limits.get("cooling-stage-1").start
    was_hot = any(
        reading.step in (Step.COOK, Step.HOT_HOLD, Step.REHEAT)
        or (start is not None and reading.temperature.over(start) >= 0)
        for reading in readings
    )
    return None if prepared is None or was_hot else min(prepared, readings[0].at)


def _heatings(
    segments: Sequence[tuple[Reading, ...]],
    batch: Batch,
    limits: LimitSet,
    ended: datetime | None,
    as_of: datetime | None,
) -> dict[int, Finding]:
    """Judge each cook and reheat; the key is the segment's place among the batch's segments."""
    cold, hot = limits.get("cold-holding"), limits.get("hot-holding")
    found: dict[int, Finding] = {}
    for i, segment in enumerate(segments):
        step = segment[0].step
        if step not in _HEATING_LIMIT:
            continue
        before = segments[i - 1][-1] if i else None
        last = i + 1 == len(segments)
        found[i] = judge_reaching(
            step,
            segment,
            limits.get(_HEATING_LIMIT[step], batch.kind),
            before=before,
            over=not last or (ended is not None and not batch.discarded),
            as_of=as_of,
            discarded=ended if last and batch.discarded else None,
            # straight from the cooler and hot already: the beginning was not seen
            unseen_start=before is not None
            and cold.kept_by(before.temperature)
            and hot.kept_by(segment[0].temperature),
        )
    return found


def _coolings(
    segments: Sequence[tuple[Reading, ...]],
    heated: Mapping[int, Finding],
    limits: LimitSet,
    ended: datetime | None,
    prepared: datetime | None,
) -> Iterator[CoolingStep]:
    """Find the coolings: each goes on, whatever its readings are called, until a reheat is met.

    A reheat that is not met starts nothing, and its readings show how warm the food was. One that
    is still under way ends the cooling for the time being. Food that was hot and is next read in
    cold storage was cooled, whether anybody called it that or not.
    """
    current: list[Reading] = []
    earlier: tuple[Reading, ...] = ()
    seen: list[Reading] = []
    hot_since = False

    def cooling(ended: datetime | None) -> CoolingStep:
        own = tuple(current)
        return CoolingStep(own, earlier, ended, _prepared(prepared, (*earlier, *own), limits))

    for i, segment in enumerate(segments):
        step = segment[0].step
        ends = step is Step.REHEAT and heated[i].verdict in (Verdict.MET, Verdict.OPEN)
        if current and ends:
            yield cooling(segment[0].at)
            current = []
        elif current and step in (Step.COOK, Step.HOT_HOLD) and _is_complete(cooling(None), limits):
            yield cooling(None)
            current = []
        elif current:
            current += segment
        elif step is Step.COOL or (step is Step.COLD_HOLD and hot_since):
            current, earlier, hot_since = list(segment), tuple(seen), False
        hot_since |= step in (Step.COOK, Step.HOT_HOLD, Step.REHEAT)
        seen += segment
    if current:
        yield cooling(ended)


def _is_complete(cooling: CoolingStep, limits: LimitSet) -> bool:
    return completion(cooling, stages_for(limits, cooling.prepared)) is not None


def _holdings(
    readings: Sequence[Reading],
    coolings: Sequence[CoolingStep],
    heated: Mapping[int, Finding],
    batch: Batch,
    limits: LimitSet,
    until: datetime | None,
) -> Iterator[tuple[datetime, Finding]]:
    """Judge what is held; what is read under "cool" after its cooling was complete is held cold."""
    cold: list[tuple[datetime, datetime]] = []
    for cooling in coolings:
        done = completion(cooling, stages_for(limits, cooling.prepared))
        if done:
            cold.append((done.at, cooling.readings[-1].at))

    def held_as(reading: Reading) -> Step:
        after = any(done < reading.at <= last for done, last in cold)
        return Step.COLD_HOLD if reading.step is Step.COOL and after else reading.step

    runs = [(step, tuple(run)) for step, run in groupby(readings, key=held_as)]
    for i, (step, run) in enumerate(runs):
        if step not in HOLDING_LIMIT:
            continue
        # 130 °F is for roasts cooked by their own rule: 3-501.16(A)(1)
        cooked = any(f.step is Step.COOK and f.verdict is Verdict.MET for f in heated.values())
        limit = limits.get(HOLDING_LIMIT[step], batch.kind if cooked else "")
        previous = runs[i - 1][1][-1:] if i else ()
        following = runs[i + 1][1][:1] if i + 1 < len(runs) else ()
        found = judge_holding(step, run, limit, (*previous, *following))
        if step is Step.HOT_HOLD and batch.longest_gap:
            next_at = following[0].at if following else until
            found += missed_checks(step, run, limit, batch.longest_gap, next_at)
        yield from ((run[0].at, finding) for finding in found)
