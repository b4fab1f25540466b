"""What a reading does to the clocks: a rise inside an open cooling restarts nothing."""

from collections.abc import Sequence
from datetime import timedelta

from haccp.rules.account.account import Account
from haccp.rules.account.life import Evidence
from haccp.rules.account.steps import CHECKS, TRAITS
from haccp.rules.account.table import (
    HEATINGS,
    STILL_COLD,
    State,
    Zone,
)
from haccp.rules.evidence import (
    Bounds,
    Reading,
)

# Said to be taken out less than this before it is read warm, it cannot have been: 4.3.
TAKEN_BEFORE = timedelta(minutes=15)


def remember(account: Account, ev: Evidence, zone: Zone, path: Sequence[State]) -> None:
    """Take a reading into the clocks; a rise inside an open cooling restarts nothing."""
    if ev.reading is None:
        return
    known = account.facts
    hot = zone is Zone.DONE or account.is_hot(ev.reading)
    usual = account.usual_place() if ev.what in CHECKS.values() else ""
    take_into_clocks(account, ev.reading, hot=hot)
    if account.facts.cold == ev.at and account.facts.seen_in != usual:
        account.facts = account.facts.but(seen_in=usual)
    if hot and {known.state, *path} & {*HEATINGS}:  # its reheating is judged yet
        account.facts = account.facts.but(cold=known.cold, taken=known.taken, warm=known.warm)
    taken, at = known.taken, ev.at
    if known.spell and taken and zone is Zone.WARM and at - taken < TAKEN_BEFORE:
        account.facts = account.facts.but(spell=Bounds(known.cold, known.spell.latest))


def take_into_clocks(account: Account, reading: Reading, *, hot: bool) -> None:
    facts, at = account.facts, reading.at
    if hot and facts.alone is not None and not facts.line and not TRAITS[reading.step].heats:
        # hot at first though nobody heated it, it was not "prepared from ingredients at ambient
        # temperature"
        facts = account.facts = facts.but(alone=None, fixed=None)
    if hot and not (facts.cooling and account.has_fallen()):
        heated = not account.levels.is_hot(reading.temperature)
        at_once = (one for one in facts.line if one.at == at and account.is_hot(one))
        line = (*at_once, reading)  # of one moment's readings the warmest counts
        facts = facts.without_clock().but(cooling=facts.cooling, line=line)
        account.facts = facts.but(heated=heated, cold=None, taken=None, warm=None)
        return
    kept_cold = facts.state in STILL_COLD and account.cold_limit().kept_by(reading.temperature)
    # what is cold and stays so has no curve behind it: a year's looks at it are no line
    line = (reading,) if kept_cold else (*facts.line, reading)
    if account.cold_limit().kept_by(reading.temperature):
        account.facts = facts.but(line=line, cold=at, taken=None, warm=None)
    elif hot:
        account.facts = facts.but(line=line, cold=None, taken=None, warm=None)
    else:
        account.facts = facts.but(line=line, warm=facts.warm or at)
