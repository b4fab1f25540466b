"""One batch through its steps: which readings are one cooling, which are a holding."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import partial
from itertools import groupby, takewhile

from haccp.limits.model import Limit, LimitSet
from haccp.rules.cooling import CoolingStep, completion, judge_cooling
from haccp.rules.evidence import (
    INITIAL,
    MICROWAVE,
    OPENED,
    SIX_HOURS,
    UNSLICED,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
)
from haccp.rules.holding import judge_holding, missed_checks
from haccp.rules.reaching import judge_initial_heating, judge_reaching, row_reached
from haccp.rules.timecontrol import judge_time_control

_ORDER = list(Step)
HOLDING_LIMIT = {Step.HOT_HOLD: "hot-holding", Step.COLD_HOLD: "cold-holding"}
RECEIVING_LIMIT = {
    "cold": "receiving-cold",
    "hot": "receiving-hot",
    "frozen": "receiving-frozen",
    "egg": "receiving-egg-air",
}
_SERVED = (Step.HOT_HOLD, Step.TIME_CONTROL)
_CALLED = (Step.COOL, Step.COLD_HOLD)
_HELD_OR_HEATED = (Step.HOT_HOLD, Step.COLD_HOLD, Step.COOL, Step.REHEAT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """A batch as evidence. Readings come in any order.

    `kind` is the kind of food where a limit has a variant for it. `ended` is when the batch was
    discarded or used up, `discarded` whether it was thrown away. `prepared` is the moment of
    preparation of a food made from ingredients at room temperature. `longest_gap` between
    hot-holding checks is the kitchen's interval and its grace; without it no check is missed.
    `watched_until` says of a reading, by its `ref`, until when the checks of the unit that the food
    was put into stand for its own.
    `received_as` says in what state it was delivered (`RECEIVING_LIMIT`), `by_law` that a law lets
    it arrive warmer. `oven` is the kind of the limit `oven` that a roast's oven is judged by.
    """

    readings: tuple[Reading, ...]
    kind: str = ""
    ended: datetime | None = None
    discarded: bool = False
    prepared: datetime | None = None
    longest_gap: timedelta | None = None
    watched_until: Mapping[str, datetime] = field(default_factory=dict)
    received_as: str = ""
    by_law: bool = False
    oven: str = ""


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
    ovens = _ovens(segments, batch, limits, ended, as_of)
    heated = _heatings(segments, ovens, batch, limits, ended, as_of)
    arrived = _arrived(readings, batch, limits, ended)
    coolings = list(_coolings(segments, heated, batch, limits, ended, arrived))
    dated = [(segments[i][0].at, finding) for i, finding in heated.items()]
    dated += [
        (c.readings[0].at, f)
        for c in coolings
        for f in judge_cooling(c, stages_for(limits, c.prepared), as_of)
        if c.called or f.verdict is not Verdict.STOPPED
    ]
    if arrived:
        stage = limits.get("cooling-received")
        dated += [(readings[0].at, f) for f in judge_cooling(arrived, (stage,), as_of)]
    kept = readings if arrived is None else _after(arrived, readings, limits)
    seared = list(_initial_heatings(segments, heated, batch, limits, ended, as_of))
    seen = (*heated.values(), *ovens, *(finding for _, finding in seared))
    done = [_completed(c, stages_for(limits, c.prepared)) for c in coolings]
    if arrived:
        done.append(_completed(arrived, (limits.get("cooling-received"),)))
    dated += _holdings(kept, done, seen, batch, limits, ended or as_of)
    dated += _receivings(readings, batch, limits, arrived)
    dated += [(oven.readings[0].at, oven) for oven in ovens]
    dated += seared
    dated += _time_control(readings, limits, ended, as_of)
    dated += _not_reheated(segments, heated, limits)
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
    was_hot = any(
        reading.step in (Step.COOK, Step.HOT_HOLD, Step.REHEAT) or _is_hot(reading, limits)
        for reading in readings
    )
    return None if prepared is None or was_hot else min(prepared, readings[0].at)


def _heatings(
    segments: Sequence[tuple[Reading, ...]],
    ovens: Sequence[Finding],
    batch: Batch,
    limits: LimitSet,
    ended: datetime | None,
    as_of: datetime | None,
) -> dict[int, Finding]:
    """Judge each cook and reheat; the key is the segment's place among the batch's segments."""
    found: dict[int, Finding] = {}
    for i, segment in enumerate(segments):
        step = segment[0].step
        if step not in (Step.COOK, Step.REHEAT) or segment[0].method == INITIAL:
            continue
        cooked = _is_cooked((*found.values(), *ovens), segment[0].at)
        before = segments[i - 1][-1] if i else None
        last = i + 1 == len(segments)
        found[i] = judge_reaching(
            step,
            segment,
            _heating_limit(segment, batch.kind, limits, cooked=cooked),
            before=before,
            after=None if last else segments[i + 1][0],
            over=not last or (ended is not None and not batch.discarded),
            as_of=as_of,
            discarded=ended if last and batch.discarded else None,
            seen_from=limits.get("cooling-stage-1").level,
        )
    return found


def _heating_limit(
    segment: Sequence[Reading], kind: str, limits: LimitSet, *, cooked: bool
) -> Limit:
    """Pick the limit of a cook or reheat by the kind of food and by how it was heated.

    3-401.12 is for raw animal food, 3-403.11(B) for any; 3-403.11(E) for unsliced portions of a
    roast whose cooking by 3-401.11(B) is on record.
    """
    microwaved = any(reading.method == MICROWAVE for reading in segment)
    if segment[0].step is Step.COOK:
        if microwaved and kind != "plant food":
            return limits.get("cook-microwave")
        return limits.get("cook", kind)
    if microwaved:
        return limits.get("reheat-microwave")
    unsliced = all(reading.method == UNSLICED for reading in segment)
    if kind == "whole roast" and not (unsliced and cooked):
        return limits.get("reheat")
    return limits.get("reheat", kind)


def _coolings(
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
    hot = partial(_is_hot, limits=limits)
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
        step, is_hot = segment[0].step, any(map(hot, segment))
        heats = step in (Step.COOK, Step.HOT_HOLD) or (step is Step.PREPARE and is_hot)
        ended_by = _ends_cooling(segment, heated.get(i), earlier) or (heats and not called)
        if current and (ended_by or (heats and _is_complete(cooling(None), limits))):
            yield cooling(segment[0].at if ended_by else None)
            current = []
            hot_since &= not ended_by
        if current:
            current += segment
            called |= step in _CALLED
        elif (
            (step is Step.COOL and not (arrived and segment[0] in arrived.readings))
            or (step is Step.COLD_HOLD and (heated_since or hot_since or ambient))
            or (step is Step.PREPARE and (ambient or (hot_since and not all(map(hot, segment)))))
        ):
            current, earlier, called = list(segment), tuple(seen), step in _CALLED
            heated_since = hot_since = ambient = False
        else:
            yield from _fallen(segment, seen, hot, hot_since=hot_since)
        heated_since |= step in (Step.COOK, Step.HOT_HOLD, Step.REHEAT)
        heated_since |= step is Step.RECEIVE and batch.received_as == "hot"
        hot_since |= is_hot or segment[0].method == INITIAL
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
    for is_hot, group in groupby(readings[:1] if step is Step.TIME_CONTROL else readings, key=hot):
        run = tuple(group)
        if hot_since and not is_hot:
            coolest = min(run, key=lambda reading: reading.temperature.fahrenheit)
            own = run[: run.index(coolest) + 1]
            yield CoolingStep(own, tuple(before), coolest.at, called=False)
        hot_since |= is_hot
        before += run


def _is_hot(reading: Reading, limits: LimitSet) -> bool:
    """Whether food is at or above the temperature from which its cooling counts."""
    start = limits.get("cooling-stage-1").start
    return start is not None and reading.temperature.over(start) >= 0


def _is_complete(cooling: CoolingStep, limits: LimitSet) -> bool:
    return _completed(cooling, stages_for(limits, cooling.prepared)) is not None


def _completed(cooling: CoolingStep, stages: Sequence[Limit]) -> tuple[datetime, datetime] | None:
    """Give when a cooling was complete, and its last reading of any kind."""
    done = completion(cooling, stages)
    return (done.at, cooling.readings[-1].at) if done else None


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
        left = _left_hot(run, following, heated)
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
    run: Sequence[Reading], following: Sequence[Reading], heated: Iterable[Finding]
) -> tuple[Reading, ...]:
    """Give the last reading of a heating that is over, where nothing judges what came of it.

    It is to be held hot from then on, and checked; what is cooled next is judged from that reading.
    """
    last = run[-1]
    done = any(last in one.readings and one.verdict is not Verdict.OPEN for one in heated)
    heats = last.step in (Step.COOK, Step.REHEAT) and last.method != INITIAL and done
    cools = any(one.step in (Step.COOL, Step.COLD_HOLD) for one in following)
    return (last,) if heats and not cools else ()


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
    return limits.get(HOLDING_LIMIT[step], kind if _is_cooked(heated, first.at) else "")


def _is_cooked(found: Iterable[Finding], by: datetime) -> bool:
    """Whether a cook is met on record by a moment, and no oven speaks against it."""
    before = [one for one in found if one.step is Step.COOK and one.readings[0].at <= by]
    ovens = [one for one in before if one.limit.name == "oven"]
    cooks = [one for one in before if one.limit.name not in ("oven", "initial-heating")]
    return any(one.verdict is Verdict.MET for one in cooks) and not any(
        one.verdict.is_deviation for one in ovens
    )


def _arrived(
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


def _after(arrived: CoolingStep, readings: Sequence[Reading], limits: LimitSet) -> list[Reading]:
    """Give what is judged as holding: not what was still cooling from its delivery."""
    done = completion(arrived, (limits.get("cooling-received"),))
    last = done.at if done else arrived.readings[-1].at
    return [reading for reading in readings if reading.at > last]


def _receivings(
    readings: Sequence[Reading], batch: Batch, limits: LimitSet, arrived: CoolingStep | None
) -> Iterator[tuple[datetime, Finding]]:
    """Judge what was measured at the door: 3-202.11."""
    taken = [reading for reading in readings if reading.step is Step.RECEIVE]
    if taken and arrived is None:
        limit = limits.get(RECEIVING_LIMIT[batch.received_as or "cold"])
        yield from ((taken[0].at, found) for found in judge_holding(Step.RECEIVE, taken, limit))


def _ovens(
    segments: Sequence[tuple[Reading, ...]],
    batch: Batch,
    limits: LimitSet,
    ended: datetime | None,
    as_of: datetime | None,
) -> list[Finding]:
    """Judge a whole roast's oven by its kind and the roast's weight: 3-401.11(B), 3-403.11(E)."""
    if not batch.oven:
        return []
    limit = limits.get("oven", batch.oven)
    found: list[Finding] = []
    for i, segment in enumerate(segments):
        step = segment[0].step
        unsliced = step is Step.REHEAT and all(one.method == UNSLICED for one in segment)
        if not (unsliced or step is Step.COOK) or segment[0].method == INITIAL:
            continue
        ovens = [
            replace(reading, temperature=reading.chamber, doubted_since=None)
            for reading in segment
            if reading.chamber is not None
        ]
        over = i + 1 < len(segments) or ended is not None or as_of is None
        if ovens:
            found += judge_holding(step, ovens, limit)
        elif over or _reaches(segment, limits.get("cook", batch.kind)):
            unseen = _unseen(segment, limit, Reason.OVEN, segment[-1].at)
            found.append(replace(unseen, step=step))
    return found


def _reaches(readings: Sequence[Reading], limit: Limit) -> bool:
    return any(row_reached(readings, row, limit) for row in limit.rows)


def _initial_heatings(
    segments: Sequence[tuple[Reading, ...]],
    heated: Mapping[int, Finding],
    batch: Batch,
    limits: LimitSet,
    ended: datetime | None,
    as_of: datetime | None,
) -> Iterator[tuple[datetime, Finding]]:
    """Judge non-continuous cooking, 3-401.14: a short initial heating, and the full cook after."""
    for i, segment in enumerate(segments):
        if segment[0].method != INITIAL:
            continue
        following = segments[i + 1][0].at if i + 1 < len(segments) else ended
        limit = limits.get("initial-heating")
        yield segment[0].at, judge_initial_heating(segment, limit, following, as_of)
        cooked = any(j > i and finding.step is Step.COOK for j, finding in heated.items())
        served = (s[0].at for s in segments[i + 1 :] if s[0].step in _SERVED)
        since = next(served, None if batch.discarded else ended)
        if since and not cooked:
            wanted = limits.get("cook", batch.kind)
            yield since, _unseen(segment, wanted, Reason.HOLD_NOT_SHOWN, since)


def _not_reheated(
    segments: Sequence[tuple[Reading, ...]], heated: Mapping[int, Finding], limits: LimitSet
) -> Iterator[tuple[datetime, Finding]]:
    """Find food that was cooled and is served hot though no reheating is on record: 3-403.11."""
    cooled: tuple[Reading, ...] = ()
    was_hot = False
    for i, segment in enumerate(segments):
        step, first = segment[0].step, segment[0]
        hot = _is_hot(first, limits)
        if cooled and (step is Step.HOT_HOLD or (step is Step.TIME_CONTROL and hot)):
            unseen = _unseen((first,), limits.get("reheat"), Reason.HOLD_NOT_SHOWN, first.at)
            yield first.at, replace(unseen, step=Step.REHEAT)
        below = [reading for reading in segment if not _is_hot(reading, limits)]
        if step in _CALLED and below and (was_hot or step is Step.COOL):
            cooled = segment
        elif i in heated or step in _SERVED:
            cooled = ()
        was_hot |= step in (Step.COOK, Step.REHEAT, Step.HOT_HOLD) or hot


def _unseen(
    readings: tuple[Reading, ...], limit: Limit, reason: Reason, since: datetime
) -> Finding:
    return Finding(
        step=Step.COOK,
        limit=limit,
        verdict=Verdict.NOT_SHOWN,
        reason=reason,
        readings=readings,
        since=since,
    )


def _time_control(
    readings: Sequence[Reading], limits: LimitSet, ended: datetime | None, as_of: datetime | None
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
    found = judge_time_control(timed, limit, ended=ended, returned=returned, as_of=as_of)
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
