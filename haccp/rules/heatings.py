"""A batch's heatings, and what each is judged by: 3-401.11 to .14, 3-403.11."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from haccp.limits.limit import Limit, LimitSet
from haccp.rules.account.holding import judge_holding
from haccp.rules.coolings import is_hot
from haccp.rules.evidence import (
    COMMERCIAL_PACKAGE,
    COOLED,
    INITIAL,
    MICROWAVE,
    SERVED,
    UNSLICED,
    WHOLE_ROAST,
    Batch,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
)
from haccp.rules.reaching import Around, judge_initial_heating, judge_reaching, row_reached


def judge_heatings(
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
        cooked = is_cooked((*found.values(), *ovens), segment[0].at)
        before = _began_after(segments[:i], segment[0], limits)
        last = i + 1 == len(segments)
        found[i] = judge_reaching(
            step,
            segment,
            _heating_limit(segment, batch.kind, limits, cooked=cooked),
            Around(
                before=before,
                after=None if last else segments[i + 1][0],
                over=not last or (ended is not None and not batch.discarded),
                as_of=as_of,
                left=ended if last else segments[i + 1][0].at,
                discarded=ended if last and batch.discarded else None,
                seen_from=limits.get("cooling-stage-1").level,
            ),
        )
    return found


def _began_after(
    earlier: Sequence[tuple[Reading, ...]], first: Reading, limits: LimitSet
) -> Reading | None:
    """Give the reading after which a heating began at the earliest.

    That is the one before it; but where the food was cold since it was last hot, and is above the
    first stage's level now, the last one at or below that level: its rise was not seen.
    """
    before = [reading for segment in earlier for reading in segment]
    level = limits.get("cooling-stage-1").level
    for reading in reversed(before) if first.temperature.over(level) > 0 else ():
        if is_hot(reading, limits):
            break
        if reading.temperature.over(level) <= 0:
            return reading
    return before[-1] if before else None


def _heating_limit(
    segment: Sequence[Reading], kind: str, limits: LimitSet, *, cooked: bool
) -> Limit:
    """Pick the limit of a cook or reheat by the kind of food and by how it was heated.

    3-401.12 is for raw animal food, 3-403.11(B) for any "except as specified under (C)", which is
    for commercial packages; 3-403.11(E) for unsliced portions of a roast whose cooking by
    3-401.11(B) is on record.
    """
    microwaved = any(reading.method == MICROWAVE for reading in segment)
    if segment[0].step is Step.COOK:
        if microwaved and kind != "plant food":
            return limits.get("cook-microwave")
        return limits.get("cook", kind)
    if microwaved and kind != COMMERCIAL_PACKAGE:
        return limits.get("reheat-microwave")
    unsliced = all(reading.method == UNSLICED for reading in segment)
    if kind == WHOLE_ROAST and not (unsliced and cooked):
        return limits.get("reheat")
    return limits.get("reheat", kind)


def is_cooked(found: Iterable[Finding], by: datetime) -> bool:
    """Whether a cook is met on record by a moment, and no oven speaks against it."""
    before = [one for one in found if one.step is Step.COOK and one.readings[0].at <= by]
    ovens = [one for one in before if one.limit.name == "oven"]
    cooks = [one for one in before if one.limit.name not in ("oven", "initial-heating")]
    return any(one.verdict is Verdict.MET for one in cooks) and not any(
        one.verdict.is_deviation for one in ovens
    )


def judge_ovens(
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
        elif unsliced and _reaches(segment, limits.get("reheat")):
            continue  # reheated as any food, which asks no oven
        elif over or _reaches(segment, limits.get("cook", batch.kind)):
            unseen = _unseen(segment, limit, Reason.OVEN, segment[-1].at)
            found.append(replace(unseen, step=step))
    return found


def _reaches(readings: Sequence[Reading], limit: Limit) -> bool:
    return any(row_reached(readings, row, limit) for row in limit.rows)


def judge_initial_heatings(
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
        limit = limits.get("initial-heating", batch.kind)
        yield segment[0].at, judge_initial_heating(segment, limit, following, as_of)
        cooked = any(j > i and finding.step is Step.COOK for j, finding in heated.items())
        served = (s[0].at for s in segments[i + 1 :] if s[0].step in SERVED)
        since = next(served, None if batch.discarded else ended)
        if since and not cooked:
            wanted = limits.get("cook", batch.kind)
            yield since, _unseen(segment, wanted, Reason.HOLD_NOT_SHOWN, since)


def judge_not_reheated(
    segments: Sequence[tuple[Reading, ...]],
    heated: Mapping[int, Finding],
    kind: str,
    limits: LimitSet,
) -> Iterator[tuple[datetime, Finding]]:
    """Find food that was cooled and is served hot though no reheating is on record: 3-403.11."""
    cooled: tuple[Reading, ...] = ()
    was_hot = False
    hot_enough = limits.get("hot-holding", kind)
    for i, segment in enumerate(segments):
        step, first = segment[0].step, segment[0]
        hot = is_hot(first, limits)
        if cooled and (step is Step.HOT_HOLD or (step is Step.TIME_CONTROL and hot)):
            unseen = _unseen((first,), limits.get("reheat"), Reason.HOLD_NOT_SHOWN, first.at)
            yield first.at, replace(unseen, step=Step.REHEAT)
        below = [one for one in segment if not hot_enough.kept_by(one.temperature)]
        was_hot |= len(below) < len(segment)
        # a heating's last reading is too cool, though it was hot before
        fell = below and (step in (*COOLED, Step.PREPARE) or segment[-1] in below)
        if fell and (was_hot or step is Step.COOL) and step not in SERVED:
            cooled = segment
        elif i in heated or step in SERVED:
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
