"""One batch through its steps, judged."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from functools import partial
from itertools import groupby

from haccp.limits.limit import Limit, LimitSet
from haccp.rules.account.holding import judge_holding
from haccp.rules.cooling import CoolingStep, judge_cooling
from haccp.rules.coolings import (
    after_arrival,
    arrival,
    completed,
    find_coolings,
    is_hot,
    stages_for,
)
from haccp.rules.evidence import (
    COOLED,
    INITIAL,
    OPENED,
    SIX_HOURS,
    Batch,
    Finding,
    Reading,
    Step,
    Verdict,
)
from haccp.rules.heatings import (
    is_cooked,
    judge_heatings,
    judge_initial_heatings,
    judge_not_reheated,
    judge_ovens,
)
from haccp.rules.holding import missed_checks
from haccp.rules.timecontrol import judge_time_control

_ORDER = list(Step)
HOLDING_LIMIT = {Step.HOT_HOLD: "hot-holding", Step.COLD_HOLD: "cold-holding"}
RECEIVING_LIMIT = {
    "cold": "receiving-cold",
    "hot": "receiving-hot",
    "frozen": "receiving-frozen",
    "egg": "receiving-egg-air",
}
_HELD_OR_HEATED = (Step.HOT_HOLD, Step.COLD_HOLD, Step.COOL, Step.REHEAT)


def judge_batch(batch: Batch, limits: LimitSet, as_of: datetime | None) -> tuple[Finding, ...]:
    """Judge everything that a batch went through, in the order in which it happened.

    Readings later than `as_of` have not been taken yet; None means after everything.
    Source: DEVELOPERS.md, verdict rules.
    """
    readings = _in_order(batch.readings, as_of)
    ended = batch.ended if batch.ended and (as_of is None or batch.ended <= as_of) else None
    segments = [
        tuple(segment)
        for _, segment in groupby(readings, key=lambda r: (r.step, r.method == INITIAL))
    ]
    ovens = judge_ovens(segments, batch, limits, ended, as_of)
    heated = judge_heatings(segments, ovens, batch, limits, ended, as_of)
    arrived = arrival(readings, batch, limits, ended)
    coolings = list(find_coolings(segments, heated, batch, limits, ended, arrived))
    dated = [(segments[i][0].at, finding) for i, finding in heated.items()]
    dated += [
        (c.readings[0].at, f)
        for c in coolings
        for f in judge_cooling(c, stages_for(limits, c.prepared), as_of)
        if c.called or not _goes_without_saying(f, c)
    ]
    if arrived:
        stage = limits.get("cooling-received")
        dated += [(readings[0].at, f) for f in judge_cooling(arrived, (stage,), as_of)]
    kept = readings if arrived is None else after_arrival(arrived, readings, limits)
    seared = list(judge_initial_heatings(segments, heated, batch, limits, ended, as_of))
    seen = (*heated.values(), *ovens, *(finding for _, finding in seared))
    done = [completed(c, stages_for(limits, c.prepared)) for c in coolings]
    if arrived:
        done.append(completed(arrived, (limits.get("cooling-received"),)))
    dated += _holdings(kept, done, seen, batch, limits, ended or as_of)
    dated += _receivings(readings, batch, limits, arrived)
    dated += [(oven.readings[0].at, oven) for oven in ovens]
    dated += seared
    gone = batch.gone if ended else None
    dated += _time_control(readings, limits, ended, gone, as_of)
    dated += judge_not_reheated(segments, heated, batch.kind, limits)
    return tuple(finding for _, finding in sorted(dated, key=lambda pair: pair[0]))


def _goes_without_saying(found: Finding, cooling: CoolingStep) -> bool:
    """Whether nobody need be told of a cooling that nobody called one.

    It was ended in time; or the food is being cooked, and more went into the pot.
    """
    cooking = cooling.readings[-1].step in (Step.COOK, Step.REHEAT)
    return found.verdict is Verdict.STOPPED or (cooking and found.verdict is Verdict.OPEN)


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


def _holdings(
    readings: Sequence[Reading],
    cold: Iterable[tuple[datetime, datetime] | None],
    heated: Sequence[Finding],
    batch: Batch,
    limits: LimitSet,
    until: datetime | None,
) -> Iterator[tuple[datetime, Finding]]:
    """Judge what is held; what is read under "cool" after its cooling was complete is held cold.

    `cold` says from when to when each cooling's food was cold already.
    """
    already_cold = [times for times in cold if times]

    def held_as(reading: Reading) -> Step:
        after = any(done < reading.at <= last for done, last in already_cold)
        return Step.COLD_HOLD if reading.step is Step.COOL and after else reading.step

    runs = [(step, tuple(run)) for step, run in groupby(readings, key=held_as)]
    for i, (step, run) in enumerate(runs):
        previous = runs[i - 1][1][-1:] if i else ()
        following = runs[i + 1][1][:1] if i + 1 < len(runs) else ()
        left = _left_hot(run, following, heated, limits, batch.kind)
        if step not in HOLDING_LIMIT and not left:
            continue
        held = Step.HOT_HOLD if left else step
        limit = holding_limit(run[0], held, batch.kind, batch.received_as, heated, limits)
        found = () if left else judge_holding(step, run, limit, (*previous, *following))
        if held is Step.HOT_HOLD and batch.longest_gap:
            next_at = following[0].at if following else until
            gap, watched = batch.longest_gap, batch.watched_until
            found += missed_checks(held, left or run, limit, gap, next_at, watched)
        yield from ((run[0].at, finding) for finding in found)


def _left_hot(
    run: Sequence[Reading],
    following: Sequence[Reading],
    heated: Iterable[Finding],
    limits: LimitSet,
    kind: str,
) -> tuple[Reading, ...]:
    """Give the last reading of hot food that is in no hot holding, where nothing judges what came.

    It is to be held hot from then on, and checked; what is cooled next is judged from that reading.
    """
    last = run[-1]
    hot = limits.get("hot-holding", kind)
    if last.method == INITIAL or any(one.step in COOLED for one in following):
        return ()
    if not any(hot.kept_by(one.temperature) for one in run):
        return ()
    if last.step in (Step.PREPARE, Step.RECEIVE):
        return (last,) if is_hot(last, limits) else ()
    mine = [
        one
        for one in heated
        if one.step is last.step
        and one.limit.name not in ("oven", "initial-heating")
        and one.readings[0].at <= last.at
    ]
    latest = max(mine, key=lambda one: one.readings[0].at, default=None)
    heats = latest is not None and latest.verdict is not Verdict.OPEN
    return (last,) if heats and last.step in (Step.COOK, Step.REHEAT) else ()


def holding_limit(
    first: Reading,
    step: Step,
    kind: str,
    received_as: str,
    found: Iterable[Finding],
    limits: LimitSet,
) -> Limit:
    """Pick the limit that food held from a reading on is judged by.

    `found` are the batch's findings about heating. Untreated shell eggs are judged by the air
    around them until they are cooked (3-501.16(B)); 130 °F is for roasts that were cooked by their
    own rule, oven and all, before they were held (3-501.16(A)(1)).
    """
    heated = [one for one in found if one.step in (Step.COOK, Step.REHEAT)]
    raw = all(one.readings[0].at > first.at for one in heated)
    if step is Step.COLD_HOLD and received_as == "egg" and raw:
        return limits.get("egg-holding")
    return limits.get(HOLDING_LIMIT[step], kind if is_cooked(heated, first.at) else "")


def _receivings(
    readings: Sequence[Reading], batch: Batch, limits: LimitSet, arrived: CoolingStep | None
) -> Iterator[tuple[datetime, Finding]]:
    """Judge what was measured at the door: 3-202.11."""
    taken = [reading for reading in readings if reading.step is Step.RECEIVE]
    if taken and arrived is None:
        limit = limits.get(RECEIVING_LIMIT[batch.received_as or "cold"])
        yield from ((taken[0].at, found) for found in judge_holding(Step.RECEIVE, taken, limit))


def _time_control(
    readings: Sequence[Reading],
    limits: LimitSet,
    ended: datetime | None,
    gone: datetime | None,
    as_of: datetime | None,
) -> Iterator[tuple[datetime, Finding]]:
    """Judge food for which time is the control: 3-501.19. It begins once and is never undone."""
    timed = [reading for reading in readings if reading.step is Step.TIME_CONTROL]
    if not timed:
        return
    limit = time_control_limit(timed[0], limits)
    following = readings[readings.index(timed[0]) :]
    # what is read while it is cut or mixed shows how warm it was, too
    timed = [one for one in following if one.step in (Step.TIME_CONTROL, Step.PREPARE)]
    returned = next((one for one in following if one.step in _HELD_OR_HEATED), None)
    found = judge_time_control(timed, limit, ended=ended, gone=gone, returned=returned, as_of=as_of)
    yield timed[0].at, found


def time_control_limit(first: Reading, limits: LimitSet) -> Limit:
    """Pick the case of 3-501.19 by what was said and by the temperature at removal.

    What is nearer to cold than to hot is taken to come from the cold.
    """
    if first.method == SIX_HOURS:
        return limits.get("time-control-6h")
    if first.method == OPENED:
        return limits.get("time-control-opened")
    cold, hot = limits.get("time-control-cold"), limits.get("time-control-hot")
    over_cold = first.temperature.over(cold.level)
    return cold if over_cold < -first.temperature.over(hot.level) else hot
