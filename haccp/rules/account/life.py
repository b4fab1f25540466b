"""A batch's life as evidence, what is true of its food, and how a time becomes a verdict."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from haccp.limits.limit import Limit
from haccp.rules.account.steps import Event, Keeps, What
from haccp.rules.account.table import State
from haccp.rules.evidence import Bounds, Reading, Verdict

NOTHING = timedelta(0)
# The least time that is told from another: what may last a limit's time is broken by more.
MOMENT = timedelta.resolution
UNKNOWN = Bounds(None, None)


@dataclass(frozen=True, slots=True)
class Evidence:
    """One piece of evidence about a batch: a reading of it, a check of a unit, or an event.

    `unit` is where the food was read or put, or which unit was checked. `said` is the moment that
    was said of an event which was entered too late for that to be relied on; `at` is its entry's.
    """

    at: datetime
    what: What
    reading: Reading | None = None
    unit: str = ""
    said: datetime | None = None


@dataclass(frozen=True, slots=True)
class Unit:
    """Where food is held; `longest_gap` between its checks is its interval and its `grace`."""

    keeps: Keeps
    longest_gap: timedelta
    grace: timedelta = NOTHING


@dataclass(frozen=True, slots=True)
class Watch:
    """How a kitchen looks after its food.

    `usual` names the unit in which food of a temperature stands unless another is named.
    `longest_gap`, its `grace` included, is between readings of food whose place is not on record;
    a temperature that is missing asks for none. In a `closed` time of at most `longest_closed` no
    check of cold food is due, the first after it within `reopening`.
    """

    units: Mapping[str, Unit] = field(default_factory=dict)
    usual: Mapping[Keeps, str] = field(default_factory=dict)
    longest_gap: Mapping[Keeps, timedelta] = field(default_factory=dict)
    grace: timedelta = NOTHING
    closed: tuple[tuple[datetime, datetime], ...] = ()
    longest_closed: timedelta = timedelta(days=2)
    reopening: timedelta = timedelta(hours=1)

    def due(self, last: datetime, keeps: Keeps, unit: str = "") -> datetime | None:
        """Say when a look is missed after the last one of what stands in a unit, or in none.

        Closed hours wait for the opening, once, but not for hot food. None where no look is due.
        """
        known = self._that_keeps(keeps, unit)
        gap = known.longest_gap if known else self.longest_gap.get(keeps)
        if gap is None:
            return None
        due, waited = last + gap, False
        for start, end in self.closed if keeps is not Keeps.HOT else ():
            if waited and start < due:
                return start  # who opens for less than that looks before closing again
            first = end + self.reopening
            short = end - start <= self.longest_closed
            if start < due < first and last < end and short:
                due, waited = first, True
        return due

    def asked(self, last: datetime, keeps: Keeps, unit: str = "") -> datetime | None:
        """Say when the next look is asked for: when it is missed, but for the grace."""
        due = self.due(last, keeps, unit)
        return due - (self._that_keeps(keeps, unit) or self).grace if due else None

    def _that_keeps(self, keeps: Keeps, unit: str) -> Unit | None:
        """Give a unit by whose interval food is looked at: hot food is not by that of a cooler."""
        known = self.units.get(unit)
        fits = known and (known.keeps is Keeps.HOT) is (keeps is Keeps.HOT)
        return known if fits else None


@dataclass(frozen=True, slots=True)
class Span:
    """How long something lasted, at least and at most; None for no bound."""

    shortest: timedelta = NOTHING
    longest: timedelta | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """A stretch of a batch's life in one state; not ended, it goes on.

    The fold adds to its evidence: a logger reads ten thousand times in a week of one phase.
    """

    state: State
    began: Bounds
    ended: Bounds | None = None
    evidence: list[Evidence] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Stay:
    """A stretch that food stood in one unit: named for it, or `usual`; not ended, it goes on."""

    unit: str
    usual: bool
    began: datetime
    ended: datetime | None = None

    def is_during(self, since: datetime, until: datetime) -> bool:
        return self.began < until and (self.ended is None or self.ended > since)


class Facts(NamedTuple):
    """What is true of food whatever it is put or made into, and its clocks.

    `raw`: raw animal food is in it and no cook of it is met, `kind` its kind. `cooled`: since it
    was last cooked or reheated. `packaged`: by its maker, and never cooled in the kitchen.
    `roasted`: a whole roast, cooked by its own rule. `shell`: untreated shell eggs, not heated yet.
    `cooling`: a cooling is open, whatever anybody called it; `line` are the readings since it was
    last hot, from that one on, `heated` that the first of them counts as hot
    though it is below 135 °F; `alone` is the one stage of 3-501.14(B) or (C), which counts from
    `fixed`. `run` are the readings of a heating that is under way, `methods` how they were heated,
    and `warmed` that one of them was above 41 °F: what is asked at each is not gone through for all
    of them again. `cold` is the last evidence that
    the food was at or below 41 °F since it was hot, `seen_in` the unit whose check that was, where
    none was named, `taken` when it was taken from there, `warm` the first reading above that since.
    `spell` is when the time out began that is under way.

    A tuple: each reading changes some facts several times over, and a dataclass is copied far
    slower.
    """

    state: State = State.NEW
    raw: bool = False
    kind: str = ""
    cooked: bool = False
    cooled: bool = False
    packaged: bool = False
    roasted: bool = False
    shell: bool = False
    cooling: bool = False
    line: tuple[Reading, ...] = ()
    heated: bool = False
    alone: Limit | None = None
    fixed: datetime | None = None
    run: tuple[Reading, ...] = ()
    methods: frozenset[str] = frozenset()
    warmed: bool = False
    cold: datetime | None = None
    seen_in: str = ""
    taken: datetime | None = None
    warm: datetime | None = None
    began: Bounds = UNKNOWN
    spell: Bounds | None = None
    unit: str = ""
    loose: bool = False  # out of any unit
    last: Evidence | None = None  # the last that is about this food
    timed: tuple[Reading, ...] = ()
    seared: tuple[Reading, ...] = ()

    def without_run(self) -> "Facts":
        return self.but(run=(), methods=frozenset(), warmed=False)

    def but(self, **changed: Any) -> "Facts":
        """Give these facts but for what changed, as `_replace` does in three times as long."""
        values = list(self)
        for name, value in changed.items():
            values[_PLACES[name]] = value
        return Facts._make(values)

    def without_clock(self) -> "Facts":
        return self.but(cooling=False, line=(), heated=False, alone=None, fixed=None)


_PLACES = {name: n for n, name in enumerate(Facts._fields)}


def decide(
    span: Span,
    within: timedelta | None,
    breaks: timedelta | None,
    due: datetime | None,
    until: datetime | None,
    *,
    over: bool,
    left: bool = False,
) -> Verdict:
    """Compare what the evidence allows with what is allowed: where each time becomes a verdict.

    Met if the worst case keeps `within`, not met if the best case breaks `breaks`; None where the
    Code sets no time. `over`: its end is on record. Else it is open until `due`, as of `until`
    (None: after everything, when nothing is open), or stopped where the food `left` it by then.
    """
    if over and (within is None or (span.longest is not None and span.longest <= within)):
        return Verdict.MET
    if breaks is not None and span.shortest >= breaks:
        return Verdict.NOT_MET
    if over or until is None or (within is not None and (due is None or until > due)):
        return Verdict.NOT_SHOWN
    return Verdict.STOPPED if left else Verdict.OPEN


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """A batch as evidence, in any order.

    `opened` None: readings in a file, which say nothing of what came before the first of them.
    `kind` is the kind of food where a limit has a variant for it, `animal` that it is raw animal
    food to be cooked. `undercooked` says that it is served so with the advisory of 3-603.11,
    `to_order` that it is prepared for immediate service to an individual order, 3-403.10.
    `prepared` is the moment of preparation of food made from ingredients at room temperature.
    `handed_on` are the facts of what it is made of or taken from, one way back each.
    """

    evidence: tuple[Evidence, ...]
    opened: datetime | None = None
    kind: str = ""
    animal: bool = False
    undercooked: bool = False
    to_order: bool = False
    prepared: datetime | None = None
    received_as: str = ""
    oven: str = ""
    watch: Watch = Watch()
    handed_on: "tuple[Handed, ...]" = ()


@dataclass(frozen=True, slots=True)
class Handed:
    """What food hands on to what is made of it: its facts by all its evidence, and by what is left
    of it without thermometers in doubt.
    """

    every: Facts
    trusted: Facts


def ends(what: What) -> bool:
    return what in (Event.USED, Event.USED_IN, Event.DISCARD)
