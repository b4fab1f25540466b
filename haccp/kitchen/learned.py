"""How this kitchen's finished coolings went: by food, container, depth and method.

Counts of what was judged, and times as far as the readings bound them; no verdict of its own.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cooling_conditions import AT_THE_CHANGE, setup_of
from haccp.kitchen.cooling_estimate import coolings
from haccp.kitchen.reading import read_in_turn
from haccp.kitchen.register import Register
from haccp.kitchen.taken_back import taken_back
from haccp.kitchen.unreadable import not_shown_for, unreadable
from haccp.limits.limit import CountsFrom
from haccp.record.bodies import BatchOpened, CoolingSetup
from haccp.record.entries import having
from haccp.record.store import Record
from haccp.record.threads import of_kind
from haccp.rules.evidence import Finding, Step, Verdict, overall, unproved
from haccp.temperature import Level


@dataclass(frozen=True, slots=True)
class Manner:
    """What was cooled, and how; empty where nobody said. `depth_in` is in inches."""

    food: str
    container: str
    depth_in: str
    method: str

    @property
    def key(self) -> tuple[str, ...]:
        """The same for whoever typed it with other capitals."""
        return tuple(map(str.casefold, (self.food, self.method, self.container, self.depth_in)))


@dataclass(frozen=True, slots=True)
class Cooled:
    """One cooling of a batch that is over: its stages are decided, or the food left them."""

    batch: str
    began: datetime
    manner: Manner
    stages: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of its stages; stopped where it was broken off before all of them were met."""
        worst = overall(self.stages)
        met = all(one.verdict is Verdict.MET for one in self.stages)
        return worst if worst.is_deviation or met else Verdict.STOPPED


@dataclass(frozen=True, slots=True)
class Stage:
    """What a stage of a cooling leads down to, and from where on its time counts."""

    limit: str
    start: Level | None
    level: Level
    clock: CountsFrom | None


@dataclass(frozen=True, slots=True)
class Times:
    """How long coolings took to come down to a stage's level, sorted; of `unknown` more the
    readings do not bound it.
    """

    stage: Stage
    known: tuple[timedelta, ...]
    unknown: int

    @property
    def median(self) -> timedelta | None:
        seconds = [one.total_seconds() for one in self.known]
        return timedelta(seconds=median(seconds)) if seconds else None


@dataclass(frozen=True, slots=True)
class Row:
    """All coolings of one manner: how often each verdict, and the times of each stage."""

    manner: Manner
    verdicts: Mapping[Verdict, int]
    times: tuple[Times, ...]

    @property
    def count(self) -> int:
        return sum(self.verdicts.values())


def rows_of(cooled: Iterable[Cooled]) -> list[Row]:
    """Count coolings by their manner; nothing of them is kept but verdicts and times."""
    manners: dict[tuple[str, ...], Manner] = {}
    verdicts: dict[tuple[str, ...], Counter[Verdict]] = {}
    taken: dict[tuple[str, ...], dict[Stage, list[timedelta | None]]] = {}
    for one in cooled:
        key = one.manner.key
        manners[key] = one.manner
        verdicts.setdefault(key, Counter())[one.verdict] += 1
        mine = taken.setdefault(key, {})
        for finding in one.stages:
            mine.setdefault(_stage(finding), []).append(time_taken(finding))
    return [Row(manners[key], verdicts[key], _times(taken[key])) for key in sorted(manners)]


def _stage(finding: Finding) -> Stage:
    limit = finding.limit
    return Stage(limit.name, limit.start, limit.level, limit.clock)


def _times(taken: Mapping[Stage, Sequence[timedelta | None]]) -> tuple[Times, ...]:
    """Sort the times of each stage, the first stage first."""
    found = []
    for stage, times in sorted(taken.items(), key=lambda item: item[0].limit):
        known = sorted(one for one in times if one is not None)
        found.append(Times(stage, tuple(known), len(times) - len(known)))
    return tuple(found)


def time_taken(finding: Finding) -> timedelta | None:
    """Give the middle of the times that the readings allow; None where a bound is not known.

    Of food that was never read above the level nothing says when it came below it.
    """
    start, crossing = finding.start, finding.crossing
    if not (start and start.earliest and start.latest and crossing and crossing.earliest):
        return None
    if finding.shortest is None or finding.longest is None:
        return None
    return (finding.shortest + finding.longest) / 2


def foods_of_batches(record: Record) -> tuple[dict[str, str], list[str]]:
    """Name the food of each batch that was ever opened, by its code.

    Of openings that cannot be read there is a sentence each: their coolings are not looked at.
    """
    entries = record.about(of_kind(BatchOpened.kind))
    opened = having(entries, BatchOpened)
    foods = {one.batch: one.body.food for one in opened if one.batch and not one.corrected_by}
    return foods, [words for _, words in unreadable(entries)]


def finished(
    record: Record,
    register: Register,
    codes: Sequence[str],
    since: datetime,
    now: datetime,
    done: Callable[[int], None],
) -> Iterator[Cooled]:
    """Judge batches, a few in memory at a time, and give their coolings that ended since a moment.

    `done` is told of each batch that was looked at.
    """
    for batch in read_in_turn(record, codes):
        yield from _of_batch(batch, register, since, now)
        done(1)


def _of_batch(
    batch: BatchOnRecord, register: Register, since: datetime, now: datetime
) -> Iterator[Cooled]:
    """Give a batch's own coolings; what it carries of its parts is theirs.

    Where an entry of it cannot be read, that may have been a warm reading, and what was put right
    late counts until a manager says otherwise: nothing is shown.
    """
    own = [one for one in batch.judged(register, now) if not one.of]
    lost = any(not_shown_for(batch, register)) or any(
        one.stays(register) and one.finding.step is Step.COOL
        for one in taken_back([batch], register, now)
    )
    last = max((one.at for one in batch.readings), default=batch.opened.at)
    for stages in coolings(own):
        ended = _ended(stages, batch.opened.at)
        if ended < since or any(one.verdict is Verdict.OPEN for one in stages):
            continue
        told = tuple(map(unproved, stages)) if lost else stages
        began = min((r.at for one in stages for r in one.readings), default=ended)
        cooled = Cooled(batch.name, began, _manner(batch, register, began, ended), told)
        # of food that was divided meanwhile the portions go on with it: it is theirs
        if not (cooled.verdict is Verdict.STOPPED and batch.is_divided and ended >= last):
            yield cooled


def _ended(stages: Sequence[Finding], opened: datetime) -> datetime:
    """Say when a cooling was read last; of one that nobody read, when that could be known."""
    read = [r.at for one in stages for r in one.readings]
    return max(read or [one.since for one in stages if one.since], default=opened)


def _manner(batch: BatchOnRecord, register: Register, began: datetime, ended: datetime) -> Manner:
    """Say how a batch was cooled: by one method, or by one and then another."""
    begins = min(began + AT_THE_CHANGE, ended)
    methods = [setup_of(batch, register, begins).method]
    for entry in sorted(having(batch.in_force, CoolingSetup), key=lambda entry: entry.at):
        if begins < entry.at <= ended:
            method = setup_of(batch, register, entry.at).method
            # what held from the start takes the place of what was said before
            methods = [*methods, method] if entry.body.changed else [method]
    known = setup_of(batch, register, ended)
    # a key, and a value in the tables that programs read: the same in every language
    distinct = dict.fromkeys(method or "not said" for method in methods)
    words = ", then ".join(distinct) if any(methods) else ""
    return Manner(batch.batch.food, known.container, known.depth_in, words)
