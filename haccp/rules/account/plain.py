"""Which limits a plain batch is certain to keep: a screen before the rules, and never a verdict.

Most food is cooked, held hot, cooled, held cold, perhaps reheated, and gone, with every reading
good. Of such a batch `PlainFood` says by which limits the rules find it met, where they find nothing
else; of any other it says nothing, and the rules are asked. It leaves more to them than it must:
whatever it has no line for is not plain. The tests hold it against the rules.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import Enum, auto
from operator import attrgetter

from haccp.errors import Refused
from haccp.limits.limit import CountsFrom, Limit, LimitSet
from haccp.rules.account.levels import COOK_LOOK, Levels
from haccp.rules.account.life import NOTHING, Evidence, Life, ends
from haccp.rules.account.steps import CHECKS, Event, Keeps
from haccp.rules.account.table import HELD, State
from haccp.rules.evidence import COMMERCIAL_PACKAGE, WHOLE_ROAST, Reading, Step
from haccp.temperature import Temperature

_CHECKS = frozenset(CHECKS.values())
_CLOCKS = (CountsFrom.START, CountsFrom.PREVIOUS_STAGE)


class _Shown(Enum):
    """What a reading shows by all numbers of a set at once."""

    COLD = auto()  # held cold, and its cooling complete
    WARM = auto()
    STEAMING = auto()  # a cooling counts from it, yet it is not held hot
    HOT = auto()
    ODD = auto()  # the set's numbers are in no order that is known here


class PlainFood:
    """The screen for food of one kind by one set of limits."""

    def __init__(self, limits: LimitSet, kind: str) -> None:
        self.levels = Levels(limits, kind)
        self._shown: dict[Temperature, _Shown] = {}
        self._is_known = kind not in (WHOLE_ROAST, COMMERCIAL_PACKAGE) and self._has_numbers()

    def keeps(self, life: Life, as_of: datetime) -> frozenset[str] | None:
        """Name the limits that a batch is found to meet, as of a moment; None where it may not."""
        special = (life.handed_on, life.prepared, life.received_as, life.oven)
        if not self._is_known or life.opened is None or life.kind != self.levels.kind:
            return None
        if any(special) or life.undercooked or life.to_order:
            return None
        food = _Food(self, life, life.opened)
        for ev in sorted(life.evidence, key=attrgetter("at")):
            if ev.at > as_of or not food.takes(ev):
                return None
        return frozenset(food.met) if food.state is State.GONE else None

    def shown(self, temperature: Temperature) -> _Shown:
        if temperature not in self._shown:
            self._shown[temperature] = self._show(temperature)
        return self._shown[temperature]

    def _show(self, temperature: Temperature) -> _Shown:
        levels = self.levels
        told = (
            levels.cold.kept_by(temperature),
            levels.is_hot(temperature),
            levels.hot.kept_by(temperature),
        )
        kept = [stage.kept_by(temperature) for stage in levels.stages]
        match told:
            case True, False, False if all(kept):
                return _Shown.COLD
            case False, False, False:
                return _Shown.WARM
            case False, True, False if not any(kept):
                return _Shown.STEAMING
            case False, True, True if not any(kept):
                return _Shown.HOT
            case _:
                return _Shown.ODD

    def _has_numbers(self) -> bool:
        """Whether the set has all limits that the rules ask of plain food, of the usual form."""
        levels = self.levels
        try:
            cook, reheat, out = levels.cook, levels.reheat, levels.out
            held = (levels.hot, levels.cold, levels.frozen)
            stages = levels.stages
        except Refused:
            return False
        return (
            all(one.rows and not one.stand for one in (cook, reheat, *held, *stages))
            and all(stage.within and stage.clock in _CLOCKS for stage in stages)
            and stages[0].clock is CountsFrom.START
            and stages[0].start is not None
            and cook.within is None
            and out[1].within is not None
        )


@dataclass(slots=True)
class _Food:
    """How far a plain batch has come. Each step says whether it still is one."""

    by: PlainFood
    life: Life
    last: datetime  # the last evidence that is about this food
    met: set[str] = field(default_factory=set)
    state: State = State.NEW
    read: datetime | None = None  # its last reading of its own
    moved: bool = False  # the last evidence is a move
    unit: str = ""
    loose: bool = False
    warm: datetime | None = None  # since when it is warm on the heat
    hot: datetime | None = None  # when it was last hot, before it fell
    cold: datetime | None = None  # when it was last cold
    fell: bool = False
    cooled: bool = False
    above: list[datetime] = field(default_factory=list)  # by stage: last above its level,
    below: list[datetime | None] = field(default_factory=list)  # and the reading after that

    def takes(self, ev: Evidence) -> bool:
        """Take one piece of evidence; what comes at one moment, in another order, is not plain."""
        if ev.what in _CHECKS:
            if self.state is State.GONE:
                return ev.at > self.last
            return ev.unit != self._place() or self._checked(ev)
        if ev.what is Event.MOVED:
            return ev.at > self.last and self._moved(ev)
        if ends(ev.what):
            return self._gone(ev)
        reading = ev.reading
        if reading is None or reading.doubted_since or reading.method:
            return False
        if ev.at < self.last or (ev.at == self.last and not self.moved and self.read):
            return False
        shown = self.by.shown(reading.temperature)
        match ev.what:
            case Step.COOK:
                plain = self._cooked(reading, shown)
            case Step.HOT_HOLD:
                plain = self._held_hot(ev, shown)
            case Step.COOL | Step.COLD_HOLD:
                plain = self._held_cold(ev, shown) if self._is_cold else self._cooling(ev, shown)
            case Step.REHEAT:
                plain = self._reheated(reading, shown)
            case _:
                return False
        self._look(ev.at)
        self.read = ev.at
        return plain

    @property
    def _is_cold(self) -> bool:
        return self.state is State.COLD

    def _look(self, at: datetime) -> None:
        self.last, self.moved = at, False

    def _place(self) -> str:
        keeps = HELD.get(self.state)
        if keeps is None or self.loose:
            return ""
        return self.unit or self.life.watch.usual.get(keeps, "")

    def _stands(self, named: str, keeps: Keeps) -> None:
        known = self.life.watch.units.get(self.unit)
        stays = self.unit if known and known.keeps is keeps else ""
        self.unit, self.loose = named or stays, False

    def _is_watched(self, at: datetime) -> bool:
        """Whether food that is held was looked at in time."""
        due = self.life.watch.due(self.last, HELD[self.state], self._place())
        return due is None or at <= due

    def _checked(self, ev: Evidence) -> bool:
        if (ev.what is Event.CHECK_HOT) is not (self.state is State.HOT):
            return self.state is not State.NEW  # a cold unit says nothing of hot food in it
        if ev.reading is None or ev.reading.doubted_since or not self._is_watched(ev.at):
            return False
        shown = self.by.shown(ev.reading.temperature)
        if self.state is State.HOT and shown is _Shown.HOT:
            self.met.add(self.by.levels.hot.name)
            self.hot = ev.at
        elif self._is_cold and ev.what is Event.CHECK_COLD and shown is _Shown.COLD:
            self.met.add(self.by.levels.cold.name)
            self.cold = ev.at
        else:
            return False
        self._look(ev.at)
        return True

    def _moved(self, ev: Evidence) -> bool:
        if self.state not in (State.HOT, State.COOLING, State.COLD):
            return False
        if self.state in HELD and not self._is_watched(ev.at):
            return False
        if not self.moved:  # to and fro is no look at it
            self.last, self.moved = ev.at, True
        self.unit, self.loose = ev.unit, False
        return True

    def _gone(self, ev: Evidence) -> bool:
        if self.state not in (State.HOT, State.COLD) or not self._is_watched(ev.at):
            return False
        self.state, self.last = State.GONE, ev.at
        return True

    def _cooked(self, reading: Reading, shown: _Shown) -> bool:
        on_the_heat = self.state is State.HEATING
        if on_the_heat and reading.at - self.last > COOK_LOOK:
            return False
        if self.state is not State.NEW and not on_the_heat:
            return False
        if shown is _Shown.WARM and not _touches(reading, self.by.levels.cook):
            longest = self.by.levels.out[1].within
            self.warm, self.state = self.warm or reading.at, State.HEATING
            return longest is not None and reading.at - self.warm < longest
        return self._is_done(reading, shown, self.by.levels.cook)

    def _is_done(self, reading: Reading, shown: _Shown, limit: Limit) -> bool:
        """Whether a heating is met by this reading's own hold, which no colder one interrupts."""
        since = self.read or self.life.opened
        held = any(
            limit.kept_by(reading.temperature, row.level)
            and (not row.hold or (reading.held >= row.hold and since <= reading.at - row.hold))
            for row in limit.rows
        )
        if not held or shown is not _Shown.HOT:
            return False
        self.met.add(limit.name)
        self.state, self.hot, self.unit, self.loose = State.HOT, reading.at, "", True
        return True

    def _held_hot(self, ev: Evidence, shown: _Shown) -> bool:
        if self.state is not State.HOT or shown is not _Shown.HOT or not self._is_watched(ev.at):
            return False
        self._stands(ev.unit, Keeps.HOT)
        self.met.add(self.by.levels.hot.name)
        self.hot = ev.at
        return True

    def _cooling(self, ev: Evidence, shown: _Shown) -> bool:
        begins = self.state is State.HOT and not self.cooled
        if self.hot is None or not (begins or self.state is State.COOLING):
            return False
        falls = shown in (_Shown.WARM, _Shown.STEAMING)
        if begins and not falls and not self._is_watched(ev.at):
            return False
        stages = self.by.levels.stages
        if begins:
            self.state, self.cooled = State.COOLING, True
            self.above, self.below = [self.hot for _ in stages], [None for _ in stages]
        self._stands(ev.unit, Keeps.COLD)
        match shown:
            case _Shown.HOT | _Shown.STEAMING:
                in_time = all(ev.at - self.hot <= (stage.within or NOTHING) for stage in stages)
                self.hot, self.above = ev.at, [ev.at for _ in stages]
                return in_time and not self.fell
            case _Shown.WARM | _Shown.COLD:
                self.fell = True
                self._falls(ev)
                return shown is _Shown.WARM or self._is_complete(ev)
            case _:
                return False

    def _falls(self, ev: Evidence) -> None:
        assert ev.reading is not None  # its caller read it
        for n, stage in enumerate(self.by.levels.stages):
            if not stage.kept_by(ev.reading.temperature):
                self.above[n], self.below[n] = ev.at, None
            elif self.below[n] is None:
                self.below[n] = ev.at

    def _is_complete(self, ev: Evidence) -> bool:
        """Whether each stage is kept in the worst case between the readings."""
        levels = self.by.levels
        begun = self.hot
        for n, (stage, below) in enumerate(zip(levels.stages, self.below, strict=True)):
            if stage.clock is CountsFrom.PREVIOUS_STAGE:
                begun = self.above[n - 1]
            if not begun or not below or below - begun > (stage.within or NOTHING):
                return False
            self.met.add(stage.name)
        self.state, self.cold = State.COLD, ev.at
        if ev.what is Step.COLD_HOLD:
            self.met.add(levels.cold.name)
        return True

    def _held_cold(self, ev: Evidence, shown: _Shown) -> bool:
        if shown is not _Shown.COLD or not self._is_watched(ev.at):
            return False
        self._stands(ev.unit, Keeps.COLD)
        self.met.add(self.by.levels.cold.name)
        self.cold = ev.at
        return True

    def _reheated(self, reading: Reading, shown: _Shown) -> bool:
        limit = self.by.levels.reheat
        if self._is_cold:
            if shown is _Shown.COLD:
                self.cold = reading.at  # it leaves the cold as it is put on the heat
                if not self._is_watched(reading.at):
                    return False
        elif self.state is not State.REHEATING or shown is _Shown.COLD:
            return False
        within: timedelta | None = limit.within
        if self.cold is None or (within is not None and reading.at - self.cold > within):
            return False
        if shown is not _Shown.ODD and not _touches(reading, limit):
            self.state, self.unit, self.loose = State.REHEATING, "", True
            return True
        return self._is_done(reading, shown, limit)


def _touches(reading: Reading, limit: Limit) -> bool:
    """Whether a reading keeps any row of a heating's limit, for however short a time."""
    return any(limit.kept_by(reading.temperature, row.level) for row in limit.rows)
