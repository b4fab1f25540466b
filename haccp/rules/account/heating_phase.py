"""A heating as it ends: which limits it must keep, when it began, what it leaves of the food."""

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from datetime import datetime

from haccp.limits.limit import Limit
from haccp.rules.account import clocks, cooling_phase, heating, holding
from haccp.rules.account.account import Account
from haccp.rules.account.life import NOTHING, Evidence, Span
from haccp.rules.account.steps import TRAITS, Event, What
from haccp.rules.account.table import (
    HOT_ZONES,
    State,
    Zone,
)
from haccp.rules.evidence import (
    UNSLICED,
    WHOLE_ROAST,
    Bounds,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
)


def _asked(account: Account, methods: AbstractSet[str], step: What) -> list[tuple[Step, Limit]]:
    """Pick the limits of a heating by how it was heated: its cook's, its reheat's, or both."""
    facts = account.facts
    first = (facts.state is State.HEATING or step is Step.COOK) and not facts.cooled
    raw = facts.kind if facts.raw else ""
    cooks = account.levels.cooking(methods, raw) if facts.raw or first else []
    asked = [(Step.COOK, limit) for limit in cooks]
    if facts.cooled or not asked:
        packaged, roasted = facts.packaged, facts.roasted
        again = account.levels.reheating(methods, packaged=packaged, roasted=roasted)
        asked.append((Step.REHEAT, again))
    return asked


def _around(account: Account) -> heating.Around:
    return heating.Around(account.readings, account.life.opened, account.until)


def is_done(account: Account, last: Reading, step: What) -> bool:
    """Whether a reading after a run meets all that is asked; those before it did not."""
    facts, around = account.facts, _around(account)
    run, asked = (*facts.run, last), _asked(account, facts.methods | {last.method}, step)
    # asked of those before it too, and not met by them: it can be met by what ends with this one
    goes_on, account.unmet = len(asked) == 1 and asked == account.unmet, asked
    for _, limit in asked:
        hot = limit.stand or limit.kept_by(last.temperature, limit.rows[0].level)
        mine = _hot_end(run, limit) if goes_on and not limit.stand else run
        if not hot or not heating.reached(mine, limit, around):
            return False
    account.unmet = []
    return True


def _hot_end(run: Sequence[Reading], limit: Limit) -> Sequence[Reading]:
    """Give the last readings of a run that keep its coolest row, with those of the same moment."""
    first = len(run)
    while first and (
        limit.kept_by(run[first - 1].temperature, limit.rows[0].level)
        or (first < len(run) and run[first - 1].at == run[first].at)
    ):
        first -= 1
    return run[first:]


def leave_heat(account: Account, ev: Evidence, zone: Zone) -> None:
    facts = account.facts
    new = zone is Zone.DONE and ev.reading is not None and ev.reading not in facts.run
    run = (*facts.run, ev.reading) if new and ev.reading else facts.run
    if Step.REHEAT in _not_asked(account, ev):  # it may be at any temperature, yet not for long
        account.facts = facts.without_run().but(spell=_left_cold(account, run))
        return
    heated, oven, slow = judge_heat(account, run, ev, over=True)
    account.findings += [*heated, *oven, *slow]
    done = zone is Zone.DONE
    if done and (all(one.verdict is Verdict.MET for one in heated) or not facts.cooling):
        cooling_phase.stop_cooling(account, run)
        by_table = account.life.kind == WHOLE_ROAST and facts.state is State.HEATING
        proved = not any(one.verdict.is_deviation for one in oven)
        roasted = proved if by_table else facts.roasted
        account.facts = account.facts.but(raw=False, cooked=True, cooled=False, roasted=roasted)
        if ev.reading:
            clocks.take_into_clocks(account, ev.reading, hot=True)
    account.facts = account.facts.without_run()


def judge_heat(
    account: Account, run: tuple[Reading, ...], ev: Evidence | None, *, over: bool
) -> tuple[list[Finding], list[Finding], list[Finding]]:
    """Judge a cooking or reheating by each limit it must keep, a roast's oven, and its time."""
    asked = _asked(account, {one.method for one in run}, Step.REHEAT)
    asked = [one for one in asked if one[0] not in _not_asked(account, ev)]
    if not run:
        if ev and asked:
            account.tell(*asked[0], Reason.NOT_HEATED, ev)
        return [], [], []
    discarded = ev is not None and ev.what is Event.DISCARD
    asked_at = ev.at if discarded and ev else account.as_of
    found = []
    for step, limit in asked:
        start = _left_cold(account, run) if limit.within else Bounds(None, None)
        met = heating.reached(run, limit, _around(account))
        judged = heating.judge_reaching(
            step, run, limit, start, met, asked_at, over=over, discarded=discarded
        )
        found.append(replace(judged, usual=account.seen_in(start)))
    done = all(one.verdict is Verdict.MET for one in found)
    return found, _judge_oven(account, run, over=over or done), _judge_slow(account, run)


def _not_asked(account: Account, ev: Evidence | None) -> list[Step]:
    """Say which heating is not asked of food that is served at once.

    3-401.11(D): raw animal food "may be served ... undercooked", with the advisory of 3-603.11.
    3-403.10: "Cooked and refrigerated food that is prepared for immediate service in response to an
    individual consumer order ... may be served at any temperature". Stricter: held hot, cooled or
    kept instead, it is reheated as any food, and so is food of an open cooling.
    """
    if ev is None or ev.what is not Event.USED:
        return []
    facts, life = account.facts, account.life
    heated = [TRAITS[one.what].heats for one in account.phases[-1].evidence]
    at_once = facts.state is State.REHEATING and all(heated)
    refrigerated = facts.cooked and facts.cooled and not facts.raw and not facts.cooling
    to_order = [Step.REHEAT] if life.to_order and at_once and refrigerated else []
    return [*to_order, *([Step.COOK] if life.undercooked else [])]


def _judge_oven(account: Account, run: Sequence[Reading], *, over: bool) -> list[Finding]:
    unsliced = all(one.method == UNSLICED for one in run)
    if not account.life.oven or not (account.facts.state is State.HEATING or unsliced):
        return []
    step = Step.COOK if account.facts.state is State.HEATING else Step.REHEAT
    if step is Step.REHEAT and heating.reached(run, account.levels.reheat, _around(account)):
        return []  # reheated as any food, which asks no oven
    levels = account.levels
    found = heating.judge_oven(step, run, levels.oven, levels.ovens, over=over)
    return [found] if found else []


def _judge_slow(account: Account, run: Sequence[Reading]) -> list[Finding]:
    """3-401.11 sets no time to heat; no other paragraph lets food be between for longer.

    Whole roasts are known to take it, and are not told of.
    """
    if account.facts.state is not State.HEATING or account.facts.cooled:
        return []
    warm = [one for one in run if account.is_between(one)]
    _, longest = account.levels.out
    lasted = warm[-1].at - warm[0].at if warm else NOTHING
    if account.life.kind == WHOLE_ROAST or not longest.within or lasted < longest.within:
        return []
    bounds = Bounds(warm[0].at, warm[0].at)
    found = holding.out_of_temperature(bounds, Span(lasted), Verdict.NOT_SHOWN, warm, longest)
    return [replace(found, step=Step.COOK)]


def _left_cold(account: Account, run: Sequence[Reading]) -> Bounds:
    """Bound when a reheat left 41 °F: 3-403.11(D).

    After the last evidence that it was at or below 41 °F since it was hot: a reading, a good
    check of its unit, or the moment at which it was taken out. Out of an open cooling it counts
    from its last reading before. A sealed package was no TCS food before it was opened
    (1-201.10). By the first reading above 41 °F.
    """
    facts, first = account.facts, run[0]
    cold = account.cold_limit().kept_by
    warm = next((one.at for one in run if not cold(one.temperature)), first.at)
    if cold(first.temperature):
        return Bounds(first.at, first.at)  # stricter: it leaves 41 °F as it is put on the heat
    if facts.cold is not None and not facts.cooling:
        counts = facts.taken and first.at - facts.taken >= clocks.TAKEN_BEFORE
        return Bounds(facts.taken if counts else facts.cold, facts.warm or warm)
    began = facts.began.earliest
    if _was_never_read(account):
        began = account.life.opened if facts.packaged else None
    return Bounds(began, warm)


def _was_never_read(account: Account) -> bool:
    """Whether the heating that is under way began with the first that is on record."""
    return len(account.phases) < 2 or account.phases[-2].state is State.NEW


def judge_sear(account: Account, ended: datetime | None) -> None:
    run, limit = account.facts.seared, account.levels.initial
    account.findings.append(heating.judge_initial_heating(run, limit, ended, account.as_of))


def tell_unheated(account: Account, state: State, ev: Evidence, zone: Zone) -> None:
    """Tell of food that is served, held hot or cooled though its cook or reheat is not on record.

    3-401.11(A) for raw animal food (but 3-401.11(D) and 3-603.11: served so, with the advisory),
    3-403.11(A) for what was cooled.
    """
    served = ev.what is Event.USED
    out_of_hand = state in (State.HOT, State.RESTING, State.COOLING, State.TIMED) or served
    seared = state is State.COOLING and account.before.state is State.SEARED  # its cook is to come
    out_of_hand = out_of_hand and not seared and not account.life.undercooked
    if account.facts.raw and out_of_hand:
        told = {one.limit.name for one in account.findings if one.verdict.is_deviation}
        cook = account.levels.cooking(set(), account.facts.kind)[-1]
        if cook.name not in told:
            account.tell(Step.COOK, cook, Reason.NOT_HEATED, ev)
    if state is State.TIMED and account.facts.cooled and zone in HOT_ZONES:
        account.tell(Step.REHEAT, account.levels.reheat, Reason.NOT_HEATED, ev)
