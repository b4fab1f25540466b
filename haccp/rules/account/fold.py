"""The account of one batch: a fold over its evidence into phases, each judged as it ends.

Nothing here compares a temperature with a number of its own, or a time with a limit: `levels` holds
the numbers, `table` says what food is next, `cooling`, `heating`, `timed` and `holding` judge.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import pairwise, takewhile

from haccp.limits.limit import Limit
from haccp.rules.account import heating, holding
from haccp.rules.account.cooling import judge_cooling
from haccp.rules.account.levels import COOK_LOOK, Levels
from haccp.rules.account.life import NOTHING, Evidence, Facts, Life, Phase, Span, decide, ends
from haccp.rules.account.steps import CHECKS, TRAITS, Event, Keeps, What
from haccp.rules.account.table import State, Zone, next_states
from haccp.rules.account.timed import Timed, judge_timed
from haccp.rules.evidence import (
    INITIAL,
    UNSLICED,
    WHOLE_ROAST,
    Bounds,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
    overall,
)

_HEATINGS = (State.HEATING, State.REHEATING)
_OUTS = (State.OUT, State.ASIDE)
_CLOCKED = (State.RESTING, State.ASIDE, State.COOLING)  # a cooling's clock runs, or stands ready
_STILL_COLD = (State.COLD, State.RAW)
_HOT_FAMILY = (State.HOT, State.RESTING, State.ASIDE)
_UNCOOKED = (State.NEW, State.FROZEN, State.RAW, State.COLD, State.OUT, State.HEATING, State.SEARED)
_HOT_ZONES = (Zone.HOT, Zone.DONE)
_HELD = {
    State.HOT: Keeps.HOT,
    State.COLD: Keeps.COLD,
    State.RAW: Keeps.COLD,
    State.FROZEN: Keeps.FROZEN,
}
# Said to be taken out less than this before it is read warm, it cannot have been: design 4.3.
_TAKEN_BEFORE = timedelta(minutes=15)


@dataclass(slots=True)
class Account:
    """A batch's phases from its beginning to its end or now, and what is found about them."""

    life: Life
    levels: Levels
    as_of: datetime | None
    facts: Facts
    readings: tuple[Reading, ...]  # all of the food's own, in order
    until: datetime | None  # the latest moment that the record speaks of
    phases: list[Phase] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    filed: list[holding.Filed] = field(default_factory=list)
    ended: Evidence | None = None
    before: Facts = field(default_factory=Facts)  # as they were before the evidence being taken

    def take(self, ev: Evidence) -> None:
        """Take one piece of evidence; what is done here, in this order, is the fold."""
        check = ev.what in CHECKS.values()
        if (check or ev.what is Event.EMPTIED) and ev.unit != self.place():
            return  # no evidence about this food
        step = self._read_step(ev)
        zone = self._zone(ev, step)
        path = self._path(zone, step)
        self._watch(ev, path)
        if ev.what is Event.MADE:
            self._make()
        self.before = self.facts
        self._remember(ev, zone, path)
        for n, state in enumerate(path):
            # a later state of a path begins at the reading's own moment
            self._enter(state, ev, zone, Bounds(ev.at, ev.at) if n else self._since(ev))
        self._file(ev)
        if not check:
            self._stand(ev, step)
        self.facts = replace(self.facts, last=ev)

    # ---- what the evidence says

    def _read_step(self, ev: Evidence) -> What:
        """Read a step by what the food has been through: what was cooled is reheated (4.3)."""
        if ev.what is not Step.COOK or ev.reading is None:
            return ev.what
        fresh = not (self.facts.cooked or self.facts.cooling) and self.facts.state in _UNCOOKED
        if ev.reading.method == INITIAL and fresh:
            return Event.SEAR
        return Step.REHEAT if self.facts.cooled else Step.COOK

    def _zone(self, ev: Evidence, step: What) -> Zone:
        if ev.reading is None:
            return Zone.NONE
        heats = self.facts.state in _HEATINGS or TRAITS[step].heats
        if heats and ev.what not in CHECKS.values():
            run = (*self.facts.run, ev.reading)
            if self._is_done(run, step):
                return Zone.DONE
        temperature = ev.reading.temperature
        if self._cold_limit().kept_by(temperature):
            return Zone.ICE if temperature.over(self.levels.ice) <= 0 else Zone.COLD
        return Zone.HOT if self._hot_limit().kept_by(temperature) else Zone.WARM

    def _hot_limit(self) -> Limit:
        """3-501.16(A)(1): 130 °F for roasts "cooked to a temperature ... in 3-401.11(B)"."""
        return self.levels.hot_roast if self.facts.roasted else self.levels.hot

    def _cold_limit(self) -> Limit:
        """3-501.16(B): untreated raw shell eggs in air of 45 °F or less."""
        return self.levels.egg if self.facts.shell else self.levels.cold

    def _path(self, zone: Zone, step: What) -> tuple[State, ...]:
        """Ask the table, its words read by what the food has been through."""
        state = self._asked_as(zone, step)
        return tuple(self._read_state(one, step) for one in next_states(state, zone, step))

    def _asked_as(self, zone: Zone, step: What) -> State:
        """Read the state that the table is asked about, where the record says more than its name."""
        facts, state = self.facts, self.facts.state
        uncooked = not facts.cooked and (facts.raw or state is not State.RESTING)
        if step is Step.COOK and state in _HOT_FAMILY and uncooked:
            return State.OUT if zone in (Zone.WARM, *_HOT_ZONES) else state  # its cook is to come
        if state not in _HEATINGS or zone not in (Zone.ICE, Zone.COLD, Zone.WARM):
            return state
        if TRAITS[step].heats:  # what was warm and is cold was given up, and begins anew
            warm = not all(self._cold_limit().kept_by(one.temperature) for one in facts.run)
            return State.OUT if warm and zone is not Zone.WARM else state
        fell = self._began_hot() and step is not Step.HOT_HOLD
        return State.HOT if fell else state  # food that was hot is cooling, or aside

    def _read_state(self, state: State, step: What) -> State:
        if state is State.REHEATING and (self.facts.raw or step is Step.COOK):
            return State.HEATING
        if state is State.COLD and self.facts.raw:
            return State.RAW
        return State.COOLING if state is State.OUT and self.facts.cooling else state

    def _since(self, ev: Evidence) -> Bounds:
        """Bound when a state began: after the last evidence, by this one; an event has a moment."""
        if ev.what is Event.TAKEN_OUT and ev.said is None and self._is_cold_still():
            return Bounds(ev.at, ev.at)
        if ev.what is Event.MADE and self.facts.state in _HEATINGS:
            return self.facts.began  # what was in mid-reheat was there since that began
        if self.facts.last is None and self.life.opened is None:
            return Bounds(ev.at, ev.at)  # a file claims nothing of what came before
        return Bounds(self.facts.last.at if self.facts.last else self.life.opened, ev.at)

    def _is_cold_still(self) -> bool:
        last = self.facts.last
        return last is None or last.reading is None or self.facts.cold == last.at

    def _remember(self, ev: Evidence, zone: Zone, path: Sequence[State]) -> None:
        """Take a reading into the clocks; a rise inside an open cooling restarts nothing."""
        if ev.reading is None:
            return
        known = self.facts
        hot = zone is Zone.DONE or self._is_hot(ev.reading)
        self._take_into_clocks(ev.reading, hot=hot)
        if hot and {known.state, *path} & {*_HEATINGS}:  # its reheating is judged yet
            self.facts = replace(self.facts, cold=known.cold, taken=known.taken, warm=known.warm)
        taken, at = known.taken, ev.at
        if known.spell and taken and zone is Zone.WARM and at - taken < _TAKEN_BEFORE:
            self.facts = replace(self.facts, spell=Bounds(known.cold, known.spell.latest))

    def _is_hot(self, reading: Reading) -> bool:
        roast = self.facts.roasted and self.levels.hot_roast.kept_by(reading.temperature)
        return roast or self.levels.is_hot(reading.temperature)

    def _has_fallen(self) -> bool:
        """Whether the food was read below the start of its cooling."""
        line = self.facts.line[1:] if self.facts.heated else self.facts.line
        return self.facts.alone is not None or not all(map(self._is_hot, line))

    def _began_hot(self) -> bool:
        facts = self.facts
        return bool(facts.line) and (facts.heated or self._is_hot(facts.line[0]))

    def _take_into_clocks(self, reading: Reading, *, hot: bool) -> None:
        facts, at = self.facts, reading.at
        if hot and not (facts.cooling and self._has_fallen()):
            heated = not self.levels.is_hot(reading.temperature)
            facts = replace(facts.without_clock(), cooling=facts.cooling, line=(reading,))
            self.facts = replace(facts, heated=heated, cold=None, taken=None, warm=None)
            return
        facts = replace(facts, line=(*facts.line, reading))
        if self._cold_limit().kept_by(reading.temperature):
            facts = replace(facts, cold=at, taken=None, warm=None)
        elif hot:
            facts = replace(facts, cold=None, taken=None, warm=None)
        else:
            facts = replace(facts, warm=facts.warm or at)
        self.facts = facts

    # ---- from one state to the next

    def _make(self) -> None:
        """To make something of it is to take it out of its unit, and off a rule of its own."""
        facts = replace(self.facts, roasted=False, packaged=False)
        if facts.state in _STILL_COLD and self.place() and self._is_cold_still():
            facts = replace(facts, taken=self.life.opened)
        self.facts = replace(facts, raw=facts.raw or self.life.animal)

    def _enter(self, state: State, ev: Evidence, zone: Zone, since: Bounds) -> None:
        old = self.facts.state
        if state is not old:
            if old in _HEATINGS:
                self._leave_heat(ev, zone)
                if self.facts.cooling and state in (State.HOT, State.RESTING):
                    state = State.COOLING  # only a reheat that is met ends a cooling (4.1)
            if old is State.SEARED:
                self._judge_sear(ev.at)
            kept = state in (*_HEATINGS, *_CLOCKED) and state is not State.RESTING
            if self.facts.cooling and not kept:
                self._leave_cooling(ev, state)
            if self.facts.spell and state not in _OUTS:
                self._judge_out(ev.at, over=True)
            self._begin(state, ev, zone, since)
        set_to_cool = (State.RESTING, State.COOLING)
        if {state, old} <= {*set_to_cool} and self._is_hot_still(ev):
            found = self._judge_cooling(self.before, ev.at)
            self.findings += [one for one in found if one.verdict is not Verdict.STOPPED]
        self._collect(ev, zone)

    def _begin(self, state: State, ev: Evidence, zone: Zone, since: Bounds) -> None:
        facts = self.facts
        if self.phases:
            self.phases[-1] = replace(self.phases[-1], ended=since)
        self.phases.append(Phase(state=state, began=since))
        if state in _CLOCKED:
            facts = replace(facts, cooling=True)
        if state is State.COOLING:
            facts = replace(facts, cooled=facts.cooked or not facts.raw, packaged=False)
            if ev.what is Event.RECEIVE_BY_LAW:
                facts = replace(facts, alone=self.levels.by_law, fixed=ev.at, cooled=False)
        if state in _OUTS and facts.spell is None:
            early = since.earliest if ev.what is not Event.TAKEN_OUT else facts.cold
            exact = since.earliest == since.latest
            facts = replace(facts, spell=since if exact else Bounds(early, since.latest))
        if state is State.OUT and ev.what is Event.TAKEN_OUT and since.earliest == ev.at:
            facts = replace(facts, taken=ev.at)
        if state in _HEATINGS:
            facts = replace(facts, run=())
        if state in (*_HEATINGS, State.SEARED, State.HOT, State.RESTING):
            facts = replace(facts, shell=False)  # 3-501.16(B) is for eggs in their shells
        self.facts = replace(facts, state=state, began=since)
        if state is State.SEARED:
            self.facts = replace(self.facts, raw=True)
        if state is State.GONE:
            self.ended = ev
        self._tell_unheated(state, ev, zone)

    def _tell_unheated(self, state: State, ev: Evidence, zone: Zone) -> None:
        """Tell of food that is served, held hot or cooled though its cook or reheat is not on record.

        3-401.11(A) for raw animal food (but 3-401.11(D) and 3-603.11: served so, with the advisory),
        3-403.11(A) for what was cooled.
        """
        served = ev.what is Event.USED
        out_of_hand = state in (State.HOT, State.RESTING, State.COOLING, State.TIMED) or served
        told = {one.limit.name for one in self.findings if one.verdict.is_deviation}
        cook = self.levels.cook
        if self.facts.raw and out_of_hand and not self.life.undercooked and cook.name not in told:
            if state is not State.COOLING or self.before.state is not State.SEARED:
                self._tell(Step.COOK, cook, Reason.NOT_HEATED, ev)
        if state is State.TIMED and self.facts.cooled and zone in _HOT_ZONES:
            self._tell(Step.REHEAT, self.levels.reheat, Reason.NOT_HEATED, ev)

    def _is_hot_still(self, ev: Evidence) -> bool:
        """Whether food that was set to cool is read hot again, not having been read below that."""
        line = self.before.line[1:] if self.before.heated else self.before.line
        hot = ev.reading is not None and self._is_hot(ev.reading)
        return hot and bool(self.before.line) and all(map(self._is_hot, line))

    def _collect(self, ev: Evidence, zone: Zone) -> None:
        """Keep the evidence with its phase, and in the run of a heating, searing or timed food."""
        facts, phase = self.facts, self.phases[-1]
        if not phase.evidence or phase.evidence[-1] is not ev:
            self.phases[-1] = replace(phase, evidence=(*phase.evidence, ev))
        if ev.reading is None:
            return
        if facts.state in _HEATINGS and TRAITS[ev.what].heats:
            facts = replace(facts, run=(*facts.run, ev.reading))
        if facts.state is State.SEARED:
            facts = replace(facts, seared=(*facts.seared, ev.reading), line=(ev.reading,))
            facts = replace(facts, heated=not self.levels.is_hot(ev.reading.temperature))
        if facts.state is State.TIMED:
            facts = replace(facts, timed=(*facts.timed, ev.reading))
        if facts.state is State.HEATING and zone is not Zone.DONE and self._began_hot():
            # a heating that fell runs the cooling's clock until it is met
            facts = replace(facts, cooling=facts.cooling or self._has_fallen())
        self.facts = facts
        if zone in _HOT_ZONES and ev.what is Step.HOT_HOLD and facts.state is State.COOLING:
            self._tell(Step.REHEAT, self.levels.reheat, Reason.NOT_HEATED, ev)

    def _tell(self, step: Step, limit: Limit, reason: Reason, ev: Evidence) -> None:
        """Tell of what is not shown, with the reading that says so or the last before it."""
        last = ev.reading or (self.facts.last.reading if self.facts.last else None)
        self.findings.append(
            Finding(
                step=step,
                limit=limit,
                verdict=Verdict.NOT_SHOWN,
                reason=reason,
                readings=(last,) if last else (),
                since=ev.at,
            )
        )

    # ---- heating: 3-401.11, 3-403.11

    def _around(self) -> heating.Around:
        return heating.Around(self.readings, self.life.opened, self.until)

    def _asked(self, run: Sequence[Reading], step: What) -> list[tuple[Step, Limit]]:
        """Pick the limits of a heating: its cook's, its reheat's, or both (4.3)."""
        facts = self.facts
        first = (facts.state is State.HEATING or step is Step.COOK) and not facts.cooled
        asked = [(Step.COOK, self.levels.cooking(run))] if facts.raw or first else []
        if facts.cooled or not asked:
            packaged, roasted = facts.packaged, facts.roasted
            again = self.levels.reheating(run, packaged=packaged, roasted=roasted)
            asked.append((Step.REHEAT, again))
        return asked

    def _is_done(self, run: Sequence[Reading], step: What) -> bool:
        around = self._around()
        return all(heating.reached(run, limit, around) for _, limit in self._asked(run, step))

    def _leave_heat(self, ev: Evidence, zone: Zone) -> None:
        facts = self.facts
        new = zone is Zone.DONE and ev.reading is not None and ev.reading not in facts.run
        run = (*facts.run, ev.reading) if new and ev.reading else facts.run
        heated, oven, slow = self._judge_heat(run, ev, over=True)
        self.findings += [*heated, *oven, *slow]
        done = zone is Zone.DONE
        if done and (all(one.verdict is Verdict.MET for one in heated) or not facts.cooling):
            self._stop_cooling(run)
            by_table = self.life.kind == WHOLE_ROAST and facts.state is State.HEATING
            proved = not any(one.verdict.is_deviation for one in oven)
            roasted = proved if by_table else facts.roasted
            self.facts = replace(self.facts, raw=False, cooked=True, cooled=False, roasted=roasted)
            if ev.reading:
                self._take_into_clocks(ev.reading, hot=True)
        self.facts = replace(self.facts, run=())

    def _judge_heat(
        self, run: tuple[Reading, ...], ev: Evidence | None, *, over: bool
    ) -> tuple[list[Finding], list[Finding], list[Finding]]:
        """Judge a cooking or reheating by each limit it must keep, a roast's oven, and its time."""
        if not run:
            if ev:
                asked = self._asked(run, Step.REHEAT)
                self._tell(*asked[0], Reason.NOT_HEATED, ev)
            return [], [], []
        discarded = ev is not None and ev.what is Event.DISCARD
        asked_at = ev.at if discarded and ev else self.as_of
        found = []
        for step, limit in self._asked(run, Step.REHEAT):
            start = self._left_cold(run) if limit.within else Bounds(None, None)
            met = heating.reached(run, limit, self._around())
            found.append(
                heating.judge_reaching(
                    step, run, limit, start, met, asked_at, over=over, discarded=discarded
                )
            )
        done = all(one.verdict is Verdict.MET for one in found)
        return found, self._judge_oven(run, over=over or done), self._judge_slow(run)

    def _judge_oven(self, run: Sequence[Reading], *, over: bool) -> list[Finding]:
        unsliced = all(one.method == UNSLICED for one in run)
        if not self.life.oven or not (self.facts.state is State.HEATING or unsliced):
            return []
        step = Step.COOK if self.facts.state is State.HEATING else Step.REHEAT
        if step is Step.REHEAT and heating.reached(run, self.levels.reheat, self._around()):
            return []  # reheated as any food, which asks no oven
        found = heating.judge_oven(step, run, self.levels.oven, over=over)
        return [found] if found else []

    def _judge_slow(self, run: Sequence[Reading]) -> list[Finding]:
        """3-401.11 sets no time to heat; no other paragraph lets food be between for longer.

        Whole roasts are known to take it, and are not told of.
        """
        if self.facts.state is not State.HEATING or self.facts.cooled:
            return []
        warm = [one for one in run if self._is_between(one)]
        _, longest = self.levels.out
        lasted = warm[-1].at - warm[0].at if warm else NOTHING
        if self.life.kind == WHOLE_ROAST or not longest.within or lasted < longest.within:
            return []
        bounds = Bounds(warm[0].at, warm[0].at)
        found = holding.out_of_temperature(bounds, Span(lasted), Verdict.NOT_SHOWN, warm, longest)
        return [replace(found, step=Step.COOK)]

    def _is_between(self, reading: Reading) -> bool:
        cold = self._cold_limit().kept_by(reading.temperature)
        return not cold and not self._hot_limit().kept_by(reading.temperature)

    def _left_cold(self, run: Sequence[Reading]) -> Bounds:
        """Bound when a reheat left 41 °F: 3-403.11(D).

        After the last evidence that it was at or below 41 °F since it was hot: a reading, a good
        check of its unit, or the moment at which it was taken out. Out of an open cooling it counts
        from its last reading before. A sealed package was no TCS food before it was opened
        (1-201.10). By the first reading above 41 °F.
        """
        facts, first = self.facts, run[0]
        cold = self._cold_limit().kept_by
        warm = next((one.at for one in run if not cold(one.temperature)), first.at)
        if cold(first.temperature):
            return Bounds(first.at, first.at)  # stricter: it leaves 41 °F as it is put on the heat
        if facts.cold is not None and not facts.cooling:
            counts = facts.taken and first.at - facts.taken >= _TAKEN_BEFORE
            return Bounds(facts.taken if counts else facts.cold, facts.warm or warm)
        began = facts.began.earliest
        if self._was_never_read():
            began = self.life.opened if facts.packaged else None
        return Bounds(began, warm)

    def _was_never_read(self) -> bool:
        """Whether the heating that is under way began with the first that is on record."""
        return len(self.phases) < 2 or self.phases[-2].state is State.NEW

    def _judge_sear(self, ended: datetime | None) -> None:
        run, limit = self.facts.seared, self.levels.initial
        self.findings.append(heating.judge_initial_heating(run, limit, ended, self.as_of))

    # ---- cooling: 3-501.14

    def _judge_cooling(self, facts: Facts, ended: datetime | None) -> Iterable[Finding]:
        return judge_cooling(facts, self.levels, ended, self.as_of)

    def _stop_cooling(self, run: Sequence[Reading]) -> None:
        """End an open cooling at the first reading of a met reheat; unless that is warmer than the
        last one by more than the accuracy it belongs to both.
        """
        if not self.facts.cooling:
            return
        facts, line = self.facts, self._line_before(run)
        found = self._judge_cooling(replace(facts, line=line), self._stopped_at(run))
        called = any(one not in run for one in facts.line)
        quiet = self._is_dip() or (facts.alone is not None and not called)
        self.findings += [one for one in found if not (quiet and one.verdict is Verdict.STOPPED)]
        self.facts = facts.without_clock()

    def _is_dip(self) -> bool:
        """Whether the cooling that is open is one of a first cooking that fell, and no other."""
        line = self.facts.line
        return self.facts.state is State.HEATING and bool(line) and line[0] in self.facts.run

    def _stopped_at(self, run: Sequence[Reading]) -> datetime:
        return run[-1].at if self._is_dip() else run[0].at

    def _line_before(self, run: Sequence[Reading]) -> tuple[Reading, ...]:
        """Give the readings of an open cooling up to the reheat that ends it."""
        dip = self._is_dip()
        first, mine = (run[-1], run[-1:]) if dip else (run[0], run)
        line = tuple(one for one in self.facts.line if one not in mine)
        if not self._is_hot(first) and not (line and first.is_warmer_than(line[-1])):
            line = (*line, first)
        return _down(line) if dip else line

    def _leave_cooling(self, ev: Evidence, state: State) -> None:
        """Judge a cooling that is complete or ended; of a dip mended in time nobody need hear."""
        back = self.facts.state in (State.ASIDE, State.RESTING)
        back = back and state in (State.HOT, State.RESTING)
        cold = state in (*_STILL_COLD, State.FROZEN)  # complete, or nothing shows that it is
        facts = replace(self.before, line=_down(self.before.line)) if back else self.facts
        found = self._judge_cooling(facts, None if cold else ev.at)
        quiet = back or not self._has_fallen()
        self.findings += [one for one in found if not (quiet and one.verdict is Verdict.STOPPED)]
        self.facts = self.facts.without_clock()
        if ev.reading and self._is_hot(ev.reading):
            self._take_into_clocks(ev.reading, hot=True)

    # ---- where it stands: 3-501.16

    def place(self) -> str:
        """Where it stands: in the unit named for it, else in the usual one of its temperature."""
        kind = _HELD.get(self.facts.state)
        if kind is None or self.facts.loose:
            return ""
        return self.facts.unit or self.life.watch.usual.get(kind, "")

    def _stand(self, ev: Evidence, step: What) -> None:
        """Say where it stands from now on; a step that is not done in a unit takes it out."""
        traits, units = TRAITS[step], self.life.watch.units
        unit, loose = self.facts.unit, self.facts.loose
        if ev.what is Event.MOVED:
            unit, loose = ev.unit, False
        elif ev.what is Event.EMPTIED:
            unit, loose = "", True
        elif ev.unit and not traits.leaves:
            unit, loose = ev.unit, False
        elif traits.leaves:
            unit, loose = "", True
        elif traits.kept:
            stays = unit in units and units[unit].keeps is traits.kept
            unit, loose = unit if stays else "", False
        self.facts = replace(self.facts, unit=unit, loose=loose)

    def _file(self, ev: Evidence) -> None:
        if ev.reading is not None:
            self.filed.append(holding.Filed(ev.reading, self._held_to(ev)))

    def _held_to(self, ev: Evidence) -> Limit | None:
        """Say which limit a reading is held to; none while its food is changing temperature.

        A "cool" reading is held cold once its cooling was complete before it.
        """
        was, state = self.before.state, self.facts.state
        match ev.what:
            case Step.RECEIVE:
                return self.levels.receiving
            case Event.RECEIVE_BY_LAW:
                return None if state is State.COOLING else self.levels.receiving
            case Step.HOT_HOLD:
                return self._hot_limit()
            case Event.CHECK_HOT:
                return self._hot_limit() if state is State.HOT else None
            case Event.CHECK_FROZEN:
                return self.levels.frozen if was is State.FROZEN else None
            case Step.COOL | Step.COLD_HOLD if was in (*_STILL_COLD, State.FROZEN):
                return self._cold_limit()
            case Step.COLD_HOLD | Event.CHECK_COLD:
                return self._cold_limit() if state in _STILL_COLD else None
        return None

    def _watch(self, ev: Evidence, path: Sequence[State]) -> None:
        """Tell of a stretch of holding that nobody watched, unless another clock counts it in full.

        Food on the heat is looked at less often: 3-501.16(A) "except during ... cooking".
        """
        facts, last = self.facts, self.facts.last
        if facts.state is State.NEW:
            self._tell_unread(ev, path)
        self._watch_heating(ev.at)
        if facts.state not in _HELD or last is None:
            return
        fell = ev.reading is not None and self._is_between(ev.reading)
        cold = ev.reading is None or self._cold_limit().kept_by(ev.reading.temperature)
        if facts.state is State.HOT:
            counted = fell and path[-1] is not State.HOT
        else:
            counted = not cold and path[0] in (*_HEATINGS, State.OUT)
        if counted:
            return
        cooks = last.what is ev.what is Step.COOK
        roast = self.life.kind == WHOLE_ROAST and cooks and ev.reading and last.reading
        rises = roast and ev.reading and last.reading and ev.reading.is_warmer_than(last.reading)
        if not (rises or (cooks and ev.at - last.at <= COOK_LOOK)):
            self._miss(ev.at)

    def _watch_heating(self, at: datetime) -> None:
        """Tell of food that was hot before its row was met, and then was not looked at for long."""
        last, gaps = self.facts.last, self.life.watch.longest_gap
        if self.facts.state is not State.HEATING or not (last and last.reading and gaps):
            return
        due = last.at + COOK_LOOK
        hot = self._is_hot(last.reading) and self.life.kind != WHOLE_ROAST
        if hot and at > due:
            missed = holding.missed_check(self._hot_limit(), Keeps.HOT, last, at, due)
            self.findings.append(missed)

    def _tell_unread(self, ev: Evidence, path: Sequence[State]) -> None:
        """Tell of a first reading that explains nothing of the time before it.

        3-401.11 sets no time to heat, so a first cook explains it; time out is counted by itself.
        """
        opened, gaps = self.life.opened, self.life.watch.longest_gap.values()
        if opened is None or ev.reading is None or not gaps or ev.what in (*CHECKS.values(),):
            return
        due = opened + min(gaps)
        if ev.at > due and not {*path} & {*_HEATINGS, State.OUT, State.SEARED, State.TIMED}:
            limit, span = self.levels.out[0], Span(NOTHING, ev.at - opened)
            self.findings.append(holding.not_read(limit, (ev.reading,), opened, span, due))

    def _miss(self, at: datetime) -> None:
        last, due = self.facts.last, self._due_check()
        if last is None or due is None or at <= due:
            return
        kind = _HELD[self.facts.state]
        limit = self.levels.frozen if kind is Keeps.FROZEN else self._cold_limit()
        limit = self._hot_limit() if kind is Keeps.HOT else limit
        self.findings.append(holding.missed_check(limit, kind, last, at, due))

    def _due_check(self) -> datetime | None:
        """When the next look is due: closed hours wait for the opening, but not for hot food."""
        watch, last, kind = self.life.watch, self.facts.last, _HELD[self.facts.state]
        unit = watch.units.get(self.place())
        gap = unit.longest_gap if unit else watch.longest_gap.get(kind)
        if gap is None or last is None:
            return None
        due = last.at + gap
        for start, end in watch.closed if kind is not Keeps.HOT else ():
            if start < due and last.at < end and end - start <= watch.longest_closed:
                due = max(due, end + watch.reopening)
        return due

    # ---- time out: 3-501.16(A) "except during preparation"

    def _judge_out(self, ended: datetime | None, *, over: bool) -> None:
        """Judge a spell out of temperature, from the last proper state to the first after it."""
        facts, spell = self.facts, self.facts.spell
        if spell is None:
            return
        allowed, longest = self.levels.out
        last = facts.last.at if facts.last else spell.latest
        shortest = max(last - spell.latest, NOTHING) if last and spell.latest else NOTHING
        most = ended - spell.earliest if ended and spell.earliest else None
        due = spell.earliest + allowed.within if spell.earliest and allowed.within else None
        span = Span(shortest, most)
        verdict = decide(span, allowed.within, longest.within, due, self.as_of, over=over)
        limit = longest if verdict is Verdict.NOT_MET else allowed
        phases = takewhile(lambda one: one.state in _OUTS, reversed(self.phases))
        taken = [ev.reading for one in phases for ev in one.evidence if ev.reading]
        taken.sort(key=lambda one: one.at)
        stirred = verdict is Verdict.OPEN and self._is_stirred()
        if verdict is not Verdict.MET and not stirred:
            found = holding.out_of_temperature(spell, span, verdict, taken, limit)
            self.findings.append(replace(found, due=due))
        self.facts = replace(facts, spell=None)

    # ---- at the end, or as of now

    def close(self) -> None:
        """Judge what is under way: nobody looked, heating, cooling, time control, time out."""
        facts, now = self.facts, self.as_of
        self._judge_unread()
        if now is not None:
            self._watch_heating(now)
        if facts.state in _HELD and now is not None:
            self._miss(now)
        heats = facts.state in _HEATINGS and bool(facts.run)
        heated: list[Finding] = []
        if heats:
            heated, oven, slow = self._judge_heat(facts.run, None, over=now is None)
            self.findings += [*heated, *oven, *slow]
        if facts.state is State.SEARED:
            self._judge_sear(None)
        if facts.cooling:
            self._judge_running_cooling(heats=bool(heated) and overall(heated) is Verdict.OPEN)
        if facts.spell:
            self._judge_out(None, over=False)
        if facts.timed:
            self._judge_timed()
        self.findings += holding.judge_filed(self.filed)

    def _judge_running_cooling(self, *, heats: bool) -> None:
        """A reheat that is under way ends the cooling for the time being; of food that is stirred
        into nobody need hear while there is time.
        """
        facts, run = self.facts, self.facts.run
        if heats:
            facts = replace(facts, line=self._line_before(run))
        found = self._judge_cooling(facts, self._stopped_at(run) if heats else None)
        quiet = Verdict.STOPPED if heats and self._is_dip() else None
        quiet = Verdict.OPEN if self._is_stirred() else quiet
        self.findings += [one for one in found if one.verdict is not quiet]

    def _is_stirred(self) -> bool:
        last = self.facts.last
        return self.facts.state is State.ASIDE and last is not None and last.what is Step.COOK

    def _judge_unread(self) -> None:
        """A batch that nobody ever read: open for as long as food may be out, then not shown."""
        opened, limit = self.life.opened, self.levels.out[1]
        states = {phase.state for phase in self.phases}
        if opened is None or not limit.within or not states <= {State.NEW, State.GONE}:
            return
        ended = self.ended
        if ended and ended.what is Event.DISCARD:
            return
        due = opened + limit.within
        span = Span(NOTHING, ended.at - opened if ended else None)
        verdict = decide(span, limit.within, None, due, self.as_of, over=ended is not None)
        if verdict is not Verdict.MET:
            found = holding.not_read(self.levels.out[0], (), opened, span, due)
            since = due if verdict.is_deviation else None
            self.findings.append(replace(found, verdict=verdict, since=since))

    def _judge_timed(self) -> None:
        facts, gone = self.facts, self.ended
        phase = next(one for one in self.phases if one.state is State.TIMED)
        keeps = [one for one in phase.evidence if TRAITS[one.what].kept or TRAITS[one.what].heats]
        returned = next((one.reading for one in keeps if one.reading), None)
        mine = (Step.TIME_CONTROL, Step.PREPARE)  # what is read while it is cut shows its warmth
        timed = Timed(
            readings=tuple(one for one in facts.timed if one.step in mine),
            ended=gone.at if gone else None,
            said=gone.said if gone else None,
            returned=returned,
            cooling=self._came_from_a_cooling(phase),
        )
        limit = self.levels.timed(facts.timed[0])
        self.findings.append(judge_timed(timed, limit, self.as_of))

    def _came_from_a_cooling(self, timed: Phase) -> bool:
        place = self.phases.index(timed)
        return place > 0 and self.phases[place - 1].state is State.COOLING


def fold(life: Life, levels: Levels, facts: Facts, as_of: datetime | None) -> Account:
    """Fold a batch's evidence from the facts that it begins with; not yet closed."""
    taken = (one for one in life.evidence if as_of is None or one.at <= as_of)
    mine = in_order(taken, levels)
    readings = tuple(one.reading for one in mine if one.reading and isinstance(one.what, Step))
    gone = next((one.at for one in mine if ends(one.what)), None)
    until = min((one for one in (gone, as_of) if one), default=None)
    began = facts.began if facts.began.latest else Bounds(life.opened, life.opened)
    account = Account(life, levels, as_of, facts, readings, until)
    account.phases.append(Phase(state=facts.state, began=began))
    account.facts = replace(facts, began=began)
    for ev in mine:
        account.take(ev)
    return account


def _down(line: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """Cut a cooling's readings at the coolest where the food rises from there on.

    It is being heated again, and so is not said to be still warm: 3-501.16(A) "during cooking".
    """
    if not line:
        return line
    coolest = min(range(len(line)), key=lambda i: line[i].temperature.fahrenheit)
    rest = line[coolest:]
    rises = len(rest) > 1 and all(b.is_warmer_than(a) for a, b in pairwise(rest))
    return line[: coolest + 1] if rises else line


def in_order(evidence: Iterable[Evidence], levels: Levels) -> list[Evidence]:
    """Sort by time: at one moment the food's own readings, the step under way first, then checks
    of units and what was said. Of several readings of a step at a moment the worst one counts.
    """
    order = [*Step, *Event]
    ordered: list[Evidence] = []
    moments: dict[datetime, list[Evidence]] = {}
    for one in evidence:
        moments.setdefault(one.at, []).append(one)
    for at in sorted(moments):
        current = ordered[-1].what if ordered else None
        taken = [one for one in moments[at] if one.reading is not None]
        said = [one for one in moments[at] if one.reading is None]
        taken.sort(
            key=lambda one: (
                isinstance(one.what, Event),
                one.what is not current,
                order.index(one.what),
            )
        )
        ordered += [one for one in said if one.what in (Event.MADE, Event.MOVED)]
        ordered += _worst(taken, levels)
        rest = [one for one in said if one.what not in (Event.MADE, Event.MOVED)]
        ordered += sorted(rest, key=lambda one: order.index(one.what))
    return ordered


def _worst(at_once: Iterable[Evidence], levels: Levels) -> Iterable[Evidence]:
    """Keep the worst reading of each step: the coolest of heated or hot food, else the warmest.

    Read in both degrees, what keeps fewer limits, each by the number that is printed for its own
    degree, counts as worse, whatever the conversion says; of equal ones the one held longest.
    """
    heated = [
        (one, row.level) for one in (levels.cook, levels.reheat, levels.hot) for row in one.rows
    ]
    cooled = [(one, one.level) for one in (*levels.stages, levels.cold)]
    worst: dict[object, tuple[object, Evidence]] = {}
    for one in at_once:
        assert one.reading is not None  # the caller passes readings
        kept = heated if (cool := TRAITS[one.what].coolest) else cooled
        count = sum(not limit.kept_by(one.reading.temperature, level) for limit, level in kept)
        heat = one.reading.temperature.fahrenheit
        rank = (count, -heat if cool else heat, one.reading.held)
        known = worst.get((one.what, one.unit))
        if known is None or known[0] < rank:  # type: ignore[operator]
            worst[one.what, one.unit] = (rank, one)
    return [one for _, one in worst.values()]
