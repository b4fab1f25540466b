"""What is certain to be found of a plain batch: a screen before the rules, and never a verdict.

Most food is cooked, held hot, cooled, held cold, perhaps reheated, and gone, each time as it should
be. `PlainFood` follows such food, at a fraction of what an account costs, and says which verdicts
the rules come to, where they come to no others; of any other food it says nothing, and the rules
are asked. It leaves more to them than it must: whatever it has no line for is not plain. A cooling
that it is not certain about, `cooling` judges. The tests hold all of it against the rules.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum, auto
from operator import attrgetter

from haccp.errors import Refused
from haccp.limits.limit import CountsFrom, Limit, LimitSet
from haccp.rules.account.cooling import judge_cooling
from haccp.rules.account.levels import COOK_LOOK, Levels
from haccp.rules.account.life import NOTHING, Evidence, Facts, Life, ends
from haccp.rules.account.steps import CHECKS, Event, Keeps
from haccp.rules.account.table import HELD, State
from haccp.rules.evidence import (
    COMMERCIAL_PACKAGE,
    WHOLE_ROAST,
    Finding,
    Reading,
    Step,
    Verdict,
)
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


@dataclass(frozen=True, slots=True)
class Found:
    """The worst that is found by each limit; those that are not named find nothing.

    `cooling` are the readings of its cooling, empty where it has none.
    """

    verdicts: Mapping[str, Verdict]
    cooling: tuple[Reading, ...] = ()


class PlainFood:
    """The screen for food of one kind by one set of limits."""

    def __init__(self, limits: LimitSet, kind: str) -> None:
        self.levels = Levels(limits, kind)
        self._shown: dict[Temperature, _Shown] = {}
        self._is_known = kind not in (WHOLE_ROAST, COMMERCIAL_PACKAGE) and self._has_numbers()

    def finds(self, life: Life, as_of: datetime) -> Found | None:
        """Say what is found as of a moment; None where it may be other."""
        special = (life.handed_on, life.prepared, life.received_as, life.oven)
        if not self._is_known or life.opened is None or life.kind != self.levels.kind:
            return None
        if any(special) or life.undercooked or life.to_order:
            return None
        food = _Food(self, life, as_of, life.opened)
        evidence = sorted(life.evidence, key=attrgetter("at"))
        if evidence and evidence[-1].at > as_of:
            return None
        for ev in evidence:
            if not food.takes(ev):
                return None
        return Found(food.found, food.cooling) if food.state is State.GONE else None

    def judge_cooling(self, found: Found, as_of: datetime) -> tuple[Finding, ...]:
        """Ask the rules what they find of a plain batch's cooling."""
        return judge_cooling(Facts(line=found.cooling), self.levels, None, as_of)

    def shown(self, temperature: Temperature) -> _Shown:
        shown = self._shown.get(temperature)
        if shown is None:
            shown = self._shown[temperature] = self._show(temperature)
        return shown

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
    as_of: datetime
    last: datetime  # the last evidence that is about this food
    found: dict[str, Verdict] = field(default_factory=dict)
    state: State = State.NEW
    read: datetime | None = None  # its last reading of its own
    moved: bool = False  # the last evidence is a move
    unit: str = ""
    loose: bool = False
    place: str = ""  # whose checks are evidence of it
    warm: datetime | None = None  # since when it is warm on the heat
    cold: datetime | None = None  # when it was last cold
    cooled: bool = False
    line: list[Reading] = field(default_factory=list)  # since it was last hot, from that one on
    cooling: tuple[Reading, ...] = ()

    def takes(self, ev: Evidence) -> bool:
        """Take one piece of evidence; what comes at one moment, in another order, is not plain."""
        if ev.what in _CHECKS:
            if self.state is not State.GONE:
                return ev.unit != self.place or self._checked(ev)
            return ev.at > self.last
        if ev.what is Event.MOVED:
            return ev.at > self.last and self._moved(ev)
        if ends(ev.what):
            return self._gone(ev)
        at_once = ev.at == self.last and self.read and not self.moved
        if ev.reading is None or not _is_plain(ev.reading) or ev.at < self.last or at_once:
            return False
        goes_on = self._goes_on(ev, ev.reading)
        self._look(ev.at)
        self.read = ev.at
        return goes_on

    def _goes_on(self, ev: Evidence, reading: Reading) -> bool:
        shown = self.by.shown(reading.temperature)
        match ev.what:
            case Step.COOK:
                return self._cooked(reading, shown)
            case Step.HOT_HOLD:
                return self._held_hot(ev, reading, shown)
            case Step.COOL | Step.COLD_HOLD if self.state is State.COLD:
                return self._held_cold(ev, shown)
            case Step.COOL | Step.COLD_HOLD:
                return self._cooling(ev, reading, shown)
            case Step.REHEAT:
                return self._reheated(reading, shown)
            case _:
                return False

    def _tell(self, limit: Limit, verdict: Verdict) -> None:
        """Keep the worst that is found by a limit."""
        known = self.found.setdefault(limit.name, verdict)
        if verdict is not known and (known is Verdict.MET or verdict is Verdict.NOT_MET):
            self.found[limit.name] = verdict

    def _look(self, at: datetime) -> None:
        self.last, self.moved = at, False

    def _stays(self, unit: str, *, loose: bool = False) -> None:
        """Say where it stands from now on, in this state."""
        self.unit, self.loose = unit, loose
        keeps = None if loose else HELD.get(self.state)
        self.place = (unit or self.life.watch.usual.get(keeps, "")) if keeps else ""

    def _stands(self, named: str, keeps: Keeps) -> None:
        known = self.life.watch.units.get(self.unit)
        self._stays(named or (self.unit if known and known.keeps is keeps else ""))

    def _is_missed(self, at: datetime) -> bool:
        """Whether food that is held was not looked at in time."""
        due = self.life.watch.due(self.last, HELD[self.state], self.place)
        return due is not None and at > due

    def _watched(self, at: datetime) -> None:
        """Tell of a look that was missed: it changes nothing else."""
        if self._is_missed(at):
            levels = self.by.levels
            limit = levels.hot if self.state is State.HOT else levels.cold
            self._tell(limit, Verdict.NOT_SHOWN)

    def _checked(self, ev: Evidence) -> bool:
        if (ev.what is Event.CHECK_HOT) is not (self.state is State.HOT):
            return True  # a cold unit says nothing of hot food in it
        if self.state not in HELD or ev.reading is None or not _is_plain(ev.reading):
            return False
        shown = self.by.shown(ev.reading.temperature)
        self._watched(ev.at)
        if self.state is State.HOT and shown is _Shown.HOT:
            self._tell(self.by.levels.hot, Verdict.MET)
            self.line = [*(one for one in self.line if one.at == ev.at), ev.reading]
        elif ev.what is Event.CHECK_COLD and self.state is State.COLD and shown is _Shown.COLD:
            self._tell(self.by.levels.cold, Verdict.MET)
            self.cold = ev.at
        else:
            return False
        self._look(ev.at)
        return True

    def _moved(self, ev: Evidence) -> bool:
        if self.state not in (State.HOT, State.COOLING, State.COLD):
            return False
        if self.state in HELD:
            self._watched(ev.at)
        if not self.moved:  # to and fro is no look at it
            self.last, self.moved = ev.at, True
        self._stays(ev.unit)
        return True

    def _gone(self, ev: Evidence) -> bool:
        if self.state not in (State.HOT, State.COLD):
            return False
        self._watched(ev.at)
        self.state, self.last = State.GONE, ev.at
        self._stays(self.unit)
        return True

    def _cooked(self, reading: Reading, shown: _Shown) -> bool:
        levels, on_the_heat = self.by.levels, self.state is State.HEATING
        if self.state is not State.NEW and not on_the_heat:
            return False
        if on_the_heat and reading.at - self.last > COOK_LOOK:
            return False
        if shown is _Shown.WARM and not _touches(reading, levels.cook):
            self.state, self.warm = State.HEATING, self.warm or reading.at
            return reading.at - self.warm < (levels.out[1].within or NOTHING)
        return self._is_done(reading, shown, levels.cook)

    def _is_done(self, reading: Reading, shown: _Shown, limit: Limit) -> bool:
        """Whether a heating is met by this reading's own hold, which no colder one interrupts."""
        since = self.read or self.last
        held = any(
            limit.kept_by(reading.temperature, row.level)
            and (not row.hold or (reading.held >= row.hold and since <= reading.at - row.hold))
            for row in limit.rows
        )
        if not held or shown is not _Shown.HOT:
            return False
        self._tell(limit, Verdict.MET)
        self.state, self.line = State.HOT, [reading]
        self._stays("", loose=True)
        return True

    def _held_hot(self, ev: Evidence, reading: Reading, shown: _Shown) -> bool:
        if self.state is not State.HOT or shown is not _Shown.HOT:
            return False
        self._watched(ev.at)
        self._stands(ev.unit, Keeps.HOT)
        self._tell(self.by.levels.hot, Verdict.MET)
        self.line = [reading]
        return True

    def _cooling(self, ev: Evidence, reading: Reading, shown: _Shown) -> bool:
        begins = self.state is State.HOT and not self.cooled
        if not begins and self.state is not State.COOLING:
            return False
        falls = shown in (_Shown.WARM, _Shown.STEAMING)
        if begins and not falls and self._is_missed(ev.at):
            return False
        self.state, self.cooled = State.COOLING, True
        self._stands(ev.unit, Keeps.COLD)
        match shown:
            case _Shown.HOT | _Shown.STEAMING:
                gap, fell = ev.at - self.line[0].at, len(self.line) > 1
                self.line = [reading]
                stages = self.by.levels.stages
                return not fell and all(gap <= (stage.within or NOTHING) for stage in stages)
            case _Shown.WARM:
                self.line.append(reading)
            case _Shown.COLD:
                self.line.append(reading)
                self._complete(ev)
            case _:
                return False
        return True

    def _complete(self, ev: Evidence) -> None:
        levels, self.cooling = self.by.levels, tuple(self.line)
        if self._is_in_time():
            for stage in levels.stages:
                self._tell(stage, Verdict.MET)
        else:
            for one in judge_cooling(Facts(line=self.cooling), levels, None, self.as_of):
                self._tell(one.limit, one.verdict)
        self.state, self.cold = State.COLD, ev.at
        self._stays(self.unit)
        if ev.what is Step.COLD_HOLD:
            self._tell(levels.cold, Verdict.MET)

    def _is_in_time(self) -> bool:
        """Whether each stage is kept though it began with the last hot reading."""
        began = last_above = self.line[0].at
        for stage in self.by.levels.stages:
            if stage.clock is CountsFrom.PREVIOUS_STAGE:
                began = last_above
            above = [one.at for one in self.line if not stage.kept_by(one.temperature)]
            last_above, below = above[-1], self.line[len(above)].at
            # as many are above as come first: it did not rise past the stage again
            if last_above >= below or below - began > (stage.within or NOTHING):
                return False
        return True

    def _held_cold(self, ev: Evidence, shown: _Shown) -> bool:
        if shown is not _Shown.COLD:
            return False
        self._watched(ev.at)
        self._stands(ev.unit, Keeps.COLD)
        self._tell(self.by.levels.cold, Verdict.MET)
        self.cold = ev.at
        return True

    def _reheated(self, reading: Reading, shown: _Shown) -> bool:
        limit = self.by.levels.reheat
        if self.state is State.COLD and shown is _Shown.COLD:
            self._watched(reading.at)
            self.cold = reading.at  # it leaves the cold as it is put on the heat
        elif self.state is not State.COLD and (
            self.state is not State.REHEATING or shown is _Shown.COLD
        ):
            return False
        within = limit.within
        if self.cold is None or (within is not None and reading.at - self.cold > within):
            return False
        if shown is not _Shown.ODD and not _touches(reading, limit):
            self.state = State.REHEATING
            self._stays("", loose=True)
            return True
        return self._is_done(reading, shown, limit)


def _is_plain(reading: Reading) -> bool:
    return not reading.doubted_since and not reading.method


def _touches(reading: Reading, limit: Limit) -> bool:
    """Whether a reading keeps any row of a heating's limit, for however short a time."""
    return any(limit.kept_by(reading.temperature, row.level) for row in limit.rows)
