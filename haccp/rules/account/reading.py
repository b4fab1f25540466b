"""What a piece of evidence says: its step, its zone and the states that the food goes through."""

from haccp.rules.account import heating_phase
from haccp.rules.account.account import Account
from haccp.rules.account.life import Evidence
from haccp.rules.account.steps import CHECKS, TRAITS, Event, What
from haccp.rules.account.table import (
    HEATINGS,
    HOT_FAMILY,
    HOT_ZONES,
    State,
    Zone,
    next_states,
)
from haccp.rules.evidence import (
    INITIAL,
    Step,
)

_UNCOOKED = (
    State.NEW,
    State.FROZEN,
    State.RAW,
    State.COLD,
    State.OUT,
    State.HEATING,
    State.SEARED,
)


def read_step(account: Account, ev: Evidence) -> What:
    """Read a step by what the food has been through: what was cooled is reheated."""
    if ev.what is not Step.COOK or ev.reading is None:
        return ev.what
    fresh = not (account.facts.cooked or account.facts.cooling) and account.facts.state in _UNCOOKED
    if ev.reading.method == INITIAL and fresh:
        return Event.SEAR
    return Step.REHEAT if account.facts.cooled else Step.COOK


def zone(account: Account, ev: Evidence, step: What) -> Zone:
    if ev.reading is None:
        return Zone.NONE
    heated = account.facts.state in HEATINGS or TRAITS[step].heats
    is_check = ev.what in CHECKS.values()
    if heated and not is_check and heating_phase.is_done(account, ev.reading, step):
        return Zone.DONE
    temperature = ev.reading.temperature
    if account.cold_limit().kept_by(temperature):
        return Zone.ICE if temperature.over(account.levels.ice) <= 0 else Zone.COLD
    return Zone.HOT if account.hot_limit().kept_by(temperature) else Zone.WARM


def path(account: Account, zone: Zone, step: What) -> tuple[State, ...]:
    """Ask the table, its words read by what the food has been through."""
    state = _asked_as(account, zone, step)
    return tuple(_read_state(account, one, step) for one in next_states(state, zone, step))


def _asked_as(account: Account, zone: Zone, step: What) -> State:
    """Read the state that the table is asked about, where the record says more than its name."""
    facts, state = account.facts, account.facts.state
    uncooked = not facts.cooked and (facts.raw or state is not State.RESTING)
    if step is Step.COOK and state in HOT_FAMILY and uncooked:
        return State.OUT if zone in (Zone.WARM, *HOT_ZONES) else state  # its cook is to come
    if step is Step.REHEAT and state is State.HOT and zone in HOT_ZONES and _was_too_cool(account):
        return State.COOLING  # held too cool, it is brought back: a reheat, though not out of cold
    if state not in HEATINGS or zone not in (Zone.ICE, Zone.COLD, Zone.WARM):
        return state
    if TRAITS[step].heats:  # what was warm and is cold was given up, and begins anew
        return State.OUT if facts.warmed and zone is not Zone.WARM else state
    fell = account.began_hot() and step is not Step.HOT_HOLD
    return State.HOT if fell else state  # food that was hot is cooling, or aside


def _was_too_cool(account: Account) -> bool:
    last = account.facts.last
    return last is not None and last.reading is not None and account.is_between(last.reading)


def _read_state(account: Account, state: State, step: What) -> State:
    if state is State.REHEATING:
        # hot before its row was met, it is still in its first cooking: nobody cooled it
        unfinished = account.facts.state is State.HEATING and not TRAITS[step].heats
        first = account.facts.raw or step is Step.COOK or unfinished
        return State.HEATING if first else state
    if state is State.COLD and account.facts.raw:
        return State.RAW
    return State.COOLING if state is State.OUT and account.facts.cooling else state
