"""A cooling as it ends: which readings are its own, and of which nobody need hear."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import groupby, pairwise

from haccp.rules.account import clocks
from haccp.rules.account.account import Account
from haccp.rules.account.cooling import judge_cooling
from haccp.rules.account.life import Evidence, Facts
from haccp.rules.account.steps import TRAITS, Keeps
from haccp.rules.account.table import (
    STILL_COLD,
    State,
)
from haccp.rules.evidence import (
    Finding,
    Reading,
    Step,
    Verdict,
)


def judge(account: Account, facts: Facts, ended: datetime | None) -> Iterable[Finding]:
    return judge_cooling(facts, account.levels, ended, account.as_of)


def stop_cooling(account: Account, run: Sequence[Reading]) -> None:
    """End an open cooling at the first reading of a met reheat; unless that is warmer than the
    last one by more than the accuracy it belongs to both.
    """
    if not account.facts.cooling:
        return
    facts, line = account.facts, _line_before(account, run)
    # all since it was last hot is in the reheat: it was reheated before it fell below the start
    fell = bool(line) or facts.fixed is not None
    found = judge(account, facts.but(line=line), _stopped_at(account, run)) if fell else ()
    mine = set(map(id, run))
    called = any(TRAITS[one.step].kept is Keeps.COLD for one in facts.line if id(one) not in mine)
    quiet = _is_dip(account) or (facts.alone is not None and not called)
    account.findings += [one for one in found if not (quiet and one.verdict is Verdict.STOPPED)]
    account.facts = facts.without_clock()


def _runs_on(account: Account) -> bool:
    """Whether an open cooling goes on in the heating: a first cook has no two hours of its own."""
    return account.facts.state is State.HEATING and not account.facts.cooled


def _is_dip(account: Account) -> bool:
    """Whether the cooling that is open is one of a first cooking that fell, and no other."""
    line = account.facts.line
    return account.facts.state is State.HEATING and bool(line) and line[0] in account.facts.run


def _stopped_at(account: Account, run: Sequence[Reading]) -> datetime:
    return run[-1].at if _runs_on(account) else run[0].at


def _line_before(account: Account, run: Sequence[Reading]) -> tuple[Reading, ...]:
    """Give the readings of an open cooling up to the reheat that ends it, or to the met cook."""
    runs_on = _runs_on(account)
    first, mine = (run[-1], {id(run[-1])}) if runs_on else (run[0], set(map(id, run)))
    line = tuple(one for one in account.facts.line if id(one) not in mine)
    if not account.is_hot(first) and not (line and first.is_warmer_than(line[-1])):
        line = (*line, first)
    return _down(line) if runs_on else line


def leave_cooling(account: Account, ev: Evidence, state: State) -> None:
    """Judge a cooling that is complete or ended; of a dip mended in time nobody need hear."""
    back = account.facts.state in (State.ASIDE, State.RESTING)
    back = back and state in (State.HOT, State.RESTING)
    cold = state in (*STILL_COLD, State.FROZEN)  # complete, or nothing shows that it is
    facts = account.before.but(line=_down(account.before.line)) if back else account.facts
    found = judge(account, facts, None if cold else ev.at)
    quiet = back or not account.has_fallen()
    account.findings += [one for one in found if not (quiet and one.verdict is Verdict.STOPPED)]
    account.facts = account.facts.without_clock()
    if ev.reading and account.is_hot(ev.reading):
        clocks.take_into_clocks(account, ev.reading, hot=True)


def judge_running_cooling(account: Account, *, reheats: bool) -> None:
    """A reheat that is under way ends the cooling for the time being; of food that is stirred
    into, or on the heat, nobody need hear while there is time.
    """
    facts, run = account.facts, account.facts.run
    ended = None
    if reheats and not _runs_on(account):
        facts = facts.but(line=_line_before(account, run))
        ended = _stopped_at(account, run)
    quiet = is_stirred(account) or _is_dip(account)
    for one in judge(account, facts, ended):
        if not (quiet and one.verdict is Verdict.OPEN):
            account.findings.append(one)


def is_stirred(account: Account) -> bool:
    last = account.facts.last
    return account.facts.state is State.ASIDE and last is not None and last.what is Step.COOK


def is_hot_still(account: Account, ev: Evidence) -> bool:
    """Whether food that was set to cool is read hot again, at no moment before read below that.

    Of several readings at a moment the warmest counts.
    """
    before = account.before
    line = before.line[1:] if before.heated else before.line
    moments = groupby(line, key=lambda one: one.at)
    hot = ev.reading is not None and account.is_hot(ev.reading)
    return hot and bool(before.line) and all(any(map(account.is_hot, one)) for _, one in moments)


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
