"""The account of a batch: a fold over its evidence into phases, each judged as it ends.

Nothing here compares a temperature with a number of its own, or a time with a limit: `levels` holds
the numbers, `table` says what food is next, `cooling`, `heating`, `timed` and `holding` judge.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from haccp.rules.account import clocks, cooling_phase, heating_phase, holding, reading, standing
from haccp.rules.account.account import Account
from haccp.rules.account.levels import Levels
from haccp.rules.account.life import Evidence, Facts, Life, Phase, ends
from haccp.rules.account.steps import CHECKS, TRAITS, Event, What
from haccp.rules.account.table import (
    CLOCKED,
    HEATINGS,
    HELD,
    HOT_ZONES,
    OUTS,
    STILL_COLD,
    State,
    Zone,
)
from haccp.rules.account.timed import Timed, judge_timed
from haccp.rules.evidence import (
    Bounds,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
    overall,
)

_HOT = (State.HOT, State.RESTING)
_HEATED = (*HEATINGS, State.SEARED, *_HOT)


def _make(account: Account) -> None:
    """To make something of it is to take it out of its unit, and off a rule of its own."""
    facts = account.facts.but(roasted=False, packaged=False)
    if facts.state in (*STILL_COLD, State.FROZEN) and account.place() and account.is_cold_still():
        facts = facts.but(taken=account.life.opened)
    account.facts = facts.but(raw=facts.raw or account.life.animal)


def take(account: Account, ev: Evidence) -> None:
    """Take one piece of evidence; what is done here, in this order, is the fold.

    Most of a logger's readings change nothing but when food was last seen cold: for them all of it
    comes to `look_again`, at a fifth of the cost.
    """
    check = ev.what in CHECKS.values()
    if (check or ev.what is Event.EMPTIED) and ev.unit != account.place():
        return  # no evidence about this food
    if check and (ev.what is Event.CHECK_HOT) is not (account.facts.state is State.HOT):
        return  # a cold unit says nothing of hot food in it, nor a hot one of cold food
    if standing.is_still_cold(account, ev):
        standing.look_again(account, ev)
        return
    step = reading.read_step(account, ev)
    zone = reading.zone(account, ev, step)
    path = reading.path(account, zone, step)
    standing.watch(account, ev, path)
    if ev.what is Event.MADE:
        _make(account)
    account.before = account.facts
    clocks.remember(account, ev, zone, path)
    for n, state in enumerate(path):
        # a later state of a path begins at the reading's own moment
        _enter(account, state, ev, zone, Bounds(ev.at, ev.at) if n else _since(account, ev))
    standing.file(account, ev)
    if not check:
        standing.stand(account, ev, step)
    last = account.facts.last
    if not (last and last.what is ev.what is Event.MOVED):  # to and fro is no look at it
        account.facts = account.facts.but(last=ev)
    standing.note_place(account, ev.at)


def _since(account: Account, ev: Evidence) -> Bounds:
    """Bound when a state began: after the last evidence, by this one; an event has a moment."""
    if ev.what is Event.TAKEN_OUT and ev.said is None and account.is_cold_still():
        return Bounds(ev.at, ev.at)
    if ev.what is Event.MADE and account.facts.state in HEATINGS:
        return account.facts.began  # what was in mid-reheat was there since that began
    if account.facts.last is None and account.life.opened is None:
        return Bounds(ev.at, ev.at)  # a file claims nothing of what came before
    return Bounds(account.facts.last.at if account.facts.last else account.life.opened, ev.at)


def _enter(account: Account, state: State, ev: Evidence, zone: Zone, since: Bounds) -> None:
    old = account.facts.state
    set_to_cool = standing.is_set_to_cool(account, ev, state)
    if state is not old:
        if old in HEATINGS:
            heating_phase.leave_heat(account, ev, zone)
            if account.facts.cooling and state in (State.HOT, State.RESTING):
                state = State.COOLING  # only a reheat that is met ends a cooling
        if old is State.SEARED:
            heating_phase.judge_sear(account, ev.at)
        kept = state in (*HEATINGS, *CLOCKED) and state is not State.RESTING
        if account.facts.cooling and not kept:
            cooling_phase.leave_cooling(account, ev, state)
        if account.facts.spell and state not in OUTS:
            standing.judge_out(account, ev.at, over=True)
        _begin(account, state, ev, zone, since)
    resting = {state, old} <= {State.RESTING, State.COOLING} or set_to_cool
    if resting and cooling_phase.is_hot_still(account, ev):
        found = cooling_phase.judge(account, account.before, ev.at)
        account.findings += [one for one in found if one.verdict is not Verdict.STOPPED]
    _collect(account, ev, zone)


def _begin(account: Account, state: State, ev: Evidence, zone: Zone, since: Bounds) -> None:
    if account.phases:
        account.phases[-1] = replace(account.phases[-1], ended=since)
    account.phases.append(Phase(state=state, began=since))
    facts = account.facts
    facts = facts.without_run() if state in HEATINGS else facts
    facts = facts.but(
        state=state,
        began=since,
        shell=facts.shell and state not in _HEATED,  # 3-501.16(B) is for eggs in their shells
        cooling=facts.cooling or state in CLOCKED,
    )
    if state in OUTS:
        facts = _taken_out(facts, ev, since, account)
    match state:
        case State.COOLING if ev.what is Event.RECEIVE_BY_LAW:
            facts = facts.but(alone=account.levels.by_law, fixed=ev.at)
        case State.COOLING:
            facts = facts.but(cooled=facts.cooked or not facts.raw, packaged=False)
        case State.SEARED:
            facts = facts.but(raw=True)
        case State.HEATING if _goes_on(account.before, ev):
            facts = facts.without_clock()
        case State.OUTSIDE:  # it never was TCS food: 1-201.10(B)
            account.findings.clear()
            account.filed.clear()
        case State.GONE:
            account.ended = ev
    account.facts = facts
    heating_phase.tell_unheated(account, state, ev, zone)


def _goes_on(before: Facts, ev: Evidence) -> bool:
    """Whether seared food is cooked on at once: it has not fallen since its initial heating."""
    if before.state is not State.SEARED or ev.reading is None:
        return False
    return not before.seared[-1].is_warmer_than(ev.reading)


def _taken_out(facts: Facts, ev: Evidence, since: Bounds, account: Account) -> Facts:
    """Begin a spell out of temperature; a moment that was said counts if it can be relied on.

    Of hot food it counts from the last reading that was hot, of other food from the last evidence
    that it was cold: neither from one that was out of limits.
    """
    if ev.what is Event.TAKEN_OUT and since.earliest == ev.at and facts.state is State.OUT:
        facts = facts.but(taken=ev.at)
    if facts.spell:
        return facts
    early = since.earliest
    if ev.what is Event.TAKEN_OUT and since.earliest != since.latest:
        hot = [one.at for one in account.before.line if account.is_hot(one)]
        early = max(hot, default=None) if account.before.state in _HOT else facts.cold
    return facts.but(spell=Bounds(early, since.latest))


def _collect(account: Account, ev: Evidence, zone: Zone) -> None:
    """Keep the evidence with its phase, and in the run of a heating, searing or timed food."""
    facts, phase = account.facts, account.phases[-1]
    if not phase.evidence or phase.evidence[-1] is not ev:
        phase.evidence.append(ev)
    if ev.reading is None:
        return
    if facts.state in HEATINGS and TRAITS[ev.what].heats:
        facts = facts.but(
            run=(*facts.run, ev.reading),
            methods=facts.methods | {ev.reading.method},
            warmed=facts.warmed or not account.cold_limit().kept_by(ev.reading.temperature),
        )
    if facts.state is State.SEARED:
        facts = facts.but(seared=(*facts.seared, ev.reading), line=(ev.reading,))
        facts = facts.but(heated=not account.levels.is_hot(ev.reading.temperature))
    if facts.state is State.TIMED:
        facts = facts.but(timed=(*facts.timed, ev.reading))
    if facts.state is State.HEATING and zone is not Zone.DONE and account.began_hot():
        # a heating that fell runs the cooling's clock until it is met
        facts = facts.but(cooling=facts.cooling or account.has_fallen())
    account.facts = facts
    if zone in HOT_ZONES and ev.what is Step.HOT_HOLD and facts.state is State.COOLING:
        account.tell(Step.REHEAT, account.levels.reheat, Reason.NOT_HEATED, ev)


def close(account: Account) -> None:
    """Judge what is under way: nobody looked, heating, cooling, time control, time out."""
    facts, now = account.facts, account.as_of
    standing.judge_unread(account)
    if now is not None:
        standing.watch_heating(account, now)
    if facts.state in HELD and now is not None:
        standing.watch_held(account, now)
    is_heating = facts.state in HEATINGS and bool(facts.run)
    heated: list[Finding] = []
    if is_heating:
        heated, oven, slow = heating_phase.judge_heat(account, facts.run, None, over=now is None)
        account.findings += [*heated, *oven, *slow]
    if facts.state is State.SEARED:
        heating_phase.judge_sear(account, None)
    if facts.cooling:
        cooling_phase.judge_running_cooling(
            account, reheats=bool(heated) and overall(heated) is Verdict.OPEN
        )
    if facts.spell:
        standing.judge_out(account, None, over=False)
    if facts.timed:
        _judge_timed(account)
    account.findings += holding.judge_filed(account.filed)


def _judge_timed(account: Account) -> None:
    facts, gone = account.facts, account.ended
    phase = next(one for one in account.phases if one.state is State.TIMED)
    keeps = [one for one in phase.evidence if TRAITS[one.what].kept or TRAITS[one.what].heats]
    returned = next((one.reading for one in keeps if one.reading), None)
    mine = (Step.TIME_CONTROL, Step.PREPARE)  # what is read while it is cut shows its warmth
    timed = Timed(
        readings=tuple(one for one in facts.timed if one.step in mine),
        ended=gone.at if gone else None,
        said=gone.said if gone else None,
        returned=returned,
        cooling=_came_from_a_cooling(account, phase),
    )
    limit = account.levels.timed(facts.timed[0])
    account.findings.append(judge_timed(timed, limit, account.as_of))


def _came_from_a_cooling(account: Account, timed: Phase) -> tuple[Reading, ...] | None:
    place = account.phases.index(timed)
    before = account.phases[place - 1] if place else None
    if before is None or before.state is not State.COOLING:
        return None
    return tuple(ev.reading for ev in before.evidence if ev.reading)


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
    account.facts = facts.but(began=began)
    if life.opened:
        standing.note_place(account, life.opened)
    for ev in mine:
        take(account, ev)
    return account


_ORDER: Mapping[What, int] = {what: n for n, what in enumerate((*Step, *Event))}


def in_order(evidence: Iterable[Evidence], levels: Levels) -> list[Evidence]:
    """Sort by time: at one moment the food's own readings, the step under way first, then checks
    of units and what was said. Of several readings of a step at a moment the worst one counts.
    """
    ordered: list[Evidence] = []
    moments: dict[datetime, list[Evidence]] = {}
    for one in evidence:
        moments.setdefault(one.at, []).append(one)
    for at in sorted(moments):
        if len(moments[at]) == 1:
            ordered += moments[at]
            continue
        current = ordered[-1].what if ordered else None
        taken = [one for one in moments[at] if one.reading is not None]
        said = [one for one in moments[at] if one.reading is None]
        taken.sort(
            key=lambda one: (
                isinstance(one.what, Event),
                one.what is not current,
                _ORDER[one.what],
            )
        )
        ordered += [one for one in said if one.what in (Event.MADE, Event.MOVED)]
        ordered += _worst(taken, levels) if len(taken) > 1 else taken
        rest = [one for one in said if one.what not in (Event.MADE, Event.MOVED)]
        ordered += sorted(rest, key=lambda one: _ORDER[one.what])
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
