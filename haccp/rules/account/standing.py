"""Where food stands and who looked at it: 3-501.16(A), and the time that it is out."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from itertools import takewhile

from haccp.limits.limit import Limit
from haccp.rules.account import cooling_phase, holding
from haccp.rules.account.account import Account
from haccp.rules.account.levels import COOK_LOOK
from haccp.rules.account.life import NOTHING, Evidence, Span, Stay, decide
from haccp.rules.account.steps import CHECKS, TRAITS, Event, Keeps, What
from haccp.rules.account.table import (
    HEATINGS,
    HELD,
    HOT_FAMILY,
    OUTS,
    STILL_COLD,
    State,
)
from haccp.rules.evidence import (
    WHOLE_ROAST,
    Step,
    Verdict,
)


def stand(account: Account, ev: Evidence, step: What) -> None:
    """Say where it stands from now on; a step that is not done in a unit takes it out."""
    traits, units = TRAITS[step], account.life.watch.units
    unit, loose = account.facts.unit, account.facts.loose
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
    if (unit, loose) != (account.facts.unit, account.facts.loose):
        account.facts = account.facts.but(unit=unit, loose=loose)


def note_place(account: Account, at: datetime) -> None:
    """Keep in which unit it stands from a moment on, where that is another than before."""
    unit = account.place()
    usual = bool(unit) and not account.facts.unit
    last = account.stays[-1] if account.stays else None
    if last and last.ended is None:
        if (last.unit, last.usual) == (unit, usual):
            return
        account.stays[-1:] = [replace(last, ended=at)] if last.began < at else []
    if unit:
        account.stays.append(Stay(unit, usual, at))


def file(account: Account, ev: Evidence) -> None:
    if ev.reading is not None:
        usual = account.usual_place() if ev.what in CHECKS.values() else ""
        account.filed.append(holding.Filed(ev.reading, _held_to(account, ev), usual))


def is_still_cold(account: Account, ev: Evidence) -> bool:
    """Whether a unit's check finds cold food in it cold, as did the look before, a check like it.

    What the two say of the food is the same: no state, place or clock of it changes.
    """
    last, reading = account.facts.last, ev.reading
    if ev.what is not Event.CHECK_COLD or last is None or last.what is not ev.what:
        return False
    return (
        reading is not None
        and account.facts.state in STILL_COLD
        and account.cold_limit().kept_by(reading.temperature)
        and not account.is_hot(reading)
    )


def look_again(account: Account, ev: Evidence) -> None:
    """Take a check by which food is still cold: what `fold.take` does with any other, in short."""
    assert ev.reading is not None  # it `is_still_cold`
    miss(account, ev.at)
    usual, line = "" if account.facts.unit else ev.unit, (ev.reading,)
    account.before = account.facts
    account.facts = account.facts.but(
        line=line, cold=ev.at, seen_in=usual, taken=None, warm=None, last=ev
    )
    account.filed.append(holding.Filed(ev.reading, account.cold_limit(), usual))
    account.phases[-1].evidence.append(ev)


def _held_to(account: Account, ev: Evidence) -> Limit | None:
    """Say which limit a reading is held to; none while its food is changing temperature.

    A "cool" reading is held cold once its cooling was complete before it.
    """
    was, state, levels = account.before.state, account.facts.state, account.levels
    still_cold = account.cold_limit() if state in STILL_COLD else None
    limit: Limit | None = None
    match ev.what:
        case _ if state is State.OUTSIDE:
            pass
        case Step.RECEIVE:
            limit = levels.receiving
        case Event.RECEIVE_BY_LAW if state is not State.COOLING:
            limit = levels.receiving
        case Step.HOT_HOLD:
            limit = account.hot_limit()
        case Step.REHEAT if was in HOT_FAMILY and state is State.HOT:  # hot food is not reheated
            limit = account.hot_limit()
        case Event.CHECK_HOT if state is State.HOT:
            limit = account.hot_limit()
        case Event.CHECK_FROZEN if was is State.FROZEN:
            limit = levels.frozen
        case Step.COOL | Step.COLD_HOLD if was in (*STILL_COLD, State.FROZEN):
            limit = account.cold_limit()
        case Step.COLD_HOLD | Event.CHECK_COLD | Event.CHECK_FROZEN:
            limit = still_cold
    return limit


def watch(account: Account, ev: Evidence, path: Sequence[State]) -> None:
    """Tell of a stretch of holding that nobody watched, unless another clock counts it in full.

    Food on the heat is looked at less often: 3-501.16(A) "except during ... cooking".
    """
    facts, last = account.facts, account.facts.last
    if facts.state is State.NEW:
        _tell_unread(account, ev, path)
    watch_heating(account, ev.at)
    if facts.state not in HELD or last is None:
        return
    fell = ev.reading is not None and account.is_between(ev.reading)
    cold = ev.reading is None or account.cold_limit().kept_by(ev.reading.temperature)
    if facts.state is State.HOT:
        counted = (fell and path[-1] is not State.HOT) or is_set_to_cool(account, ev, path[-1])
    else:
        counted = not cold and path[0] in (*HEATINGS, State.OUT)
    if counted:
        return
    if not (last.what is Step.COOK and _was_on_the_heat(account, ev)):
        miss(account, ev.at)


def _was_on_the_heat(account: Account, ev: Evidence) -> bool:
    """Whether food that is cooked on is hot at its next look on the heat, in time.

    A roast is known to take long: it was on the heat while it grew warmer.
    """
    last = account.facts.last
    if not (last and last.reading and ev.reading and account.is_hot(ev.reading)):
        return False
    kept_hot = ev.what in (Step.COOK, Step.HOT_HOLD)
    if account.life.kind == WHOLE_ROAST and kept_hot and ev.reading.is_warmer_than(last.reading):
        return True
    return ev.what is Step.COOK and ev.at - last.at <= COOK_LOOK


def is_set_to_cool(account: Account, ev: Evidence, state: State) -> bool:
    """Whether food comes from the heat and is read hot as it cools: since its last reading on the
    heat it has been cooling, which does not rise, and the cooling's clock counts the stretch.
    """
    last = account.facts.last
    if account.facts.state is not State.HOT or state is not State.RESTING or last is None:
        return False
    fallen = ev.reading and last.reading and not ev.reading.is_warmer_than(last.reading)
    return ev.what is Step.COOL and TRAITS[last.what].heats and bool(fallen)


def watch_heating(account: Account, at: datetime) -> None:
    """Tell of food on the heat that was not looked at for long; a roast is known to take it."""
    last, gaps = account.facts.last, account.life.watch.longest_gap
    if account.facts.state is not State.HEATING or not (last and last.reading and gaps):
        return
    due = last.at + COOK_LOOK
    if account.life.kind != WHOLE_ROAST and at > due:
        missed = holding.missed_check(account.hot_limit(), Keeps.HOT, last, at, due)
        account.findings.append(missed)


def _tell_unread(account: Account, ev: Evidence, path: Sequence[State]) -> None:
    """Tell of a first reading that explains nothing of the time before it, longer than food may be
    out: as long as a batch that was never read is open.

    3-401.11 sets no time to heat, so a first cook explains it; time out is counted by itself.
    """
    opened, within = account.life.opened, account.levels.out[1].within
    if opened is None or ev.reading is None or not within or ev.what in CHECKS.values():
        return
    due = opened + within
    if ev.at > due and not {*path} & {*HEATINGS, State.OUT, State.SEARED, State.TIMED}:
        limit, span = account.levels.out[0], Span(NOTHING, ev.at - opened)
        account.findings.append(holding.not_read(limit, (ev.reading,), opened, span, due))


def watch_held(account: Account, now: datetime) -> None:
    """Tell of food that is held and that nobody looks at; a roast may be on the heat yet."""
    last = account.facts.last
    roast = account.life.kind == WHOLE_ROAST and last is not None and last.what is Step.COOK
    if not (roast and last and now - last.at <= COOK_LOOK):
        miss(account, now)


def miss(account: Account, at: datetime) -> None:
    last, kind = account.facts.last, HELD[account.facts.state]
    due = account.life.watch.due(last.at, kind, account.place()) if last else None
    if last is None or due is None or at <= due:
        return
    limit = account.levels.frozen if kind is Keeps.FROZEN else account.cold_limit()
    limit = account.hot_limit() if kind is Keeps.HOT else limit
    missed = holding.missed_check(limit, kind, last, at, due)
    account.findings.append(replace(missed, usual=account.usual_place()))


def next_look(account: Account) -> datetime | None:
    """When food that is held is to be looked at next, without grace; None while it is not held."""
    keeps, last = HELD.get(account.facts.state), account.facts.last
    if keeps is None or last is None:
        return None
    if account.life.kind == WHOLE_ROAST and last.what is Step.COOK:
        return last.at + COOK_LOOK
    return account.life.watch.asked(last.at, keeps, account.place())


def judge_out(account: Account, ended: datetime | None, *, over: bool) -> None:
    """Judge a spell out of temperature, from the last proper state to the first after it."""
    facts, spell = account.facts, account.facts.spell
    if spell is None:
        return
    allowed, longest = account.levels.out
    last = facts.last.at if facts.last else spell.latest
    shortest = max(last - spell.latest, NOTHING) if last and spell.latest else NOTHING
    most = ended - spell.earliest if ended and spell.earliest else None
    due = spell.earliest + allowed.within if spell.earliest and allowed.within else None
    span = Span(shortest, most)
    verdict = decide(span, allowed.within, longest.within, due, account.as_of, over=over)
    limit = longest if verdict is Verdict.NOT_MET else allowed
    phases = takewhile(lambda one: one.state in OUTS, reversed(account.phases))
    taken = [ev.reading for one in phases for ev in one.evidence if ev.reading]
    taken.sort(key=lambda one: one.at)
    stirred = verdict is Verdict.OPEN and cooling_phase.is_stirred(account)
    if verdict is not Verdict.MET and not stirred:
        found = holding.out_of_temperature(spell, span, verdict, taken, limit)
        account.findings.append(replace(found, due=due, usual=account.seen_in(spell)))
    account.facts = facts.but(spell=None)


def judge_unread(account: Account) -> None:
    """A batch that nobody ever read: open for as long as food may be out, then not shown.

    A freezer does not say how long its food was warm before.
    """
    opened, limit = account.life.opened, account.levels.out[1]
    states = {phase.state for phase in account.phases}
    unread = states <= {State.NEW, State.FROZEN, State.GONE} and not account.readings
    if opened is None or not limit.within or not (unread and State.NEW in states):
        return
    ended = account.ended
    if ended and ended.what is Event.DISCARD:
        return
    due = opened + limit.within
    span = Span(NOTHING, ended.at - opened if ended else None)
    verdict = decide(span, limit.within, None, due, account.as_of, over=ended is not None)
    if verdict is not Verdict.MET:
        found = holding.not_read(account.levels.out[0], (), opened, span, due)
        since = due if verdict.is_deviation else None
        account.findings.append(replace(found, verdict=verdict, since=since))
