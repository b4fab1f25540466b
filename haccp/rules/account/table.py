"""The one table of states: what food is, by what it was, how warm it is read, and at which step.

It is data, to be read beside the Food Code 2022; DEVELOPERS.md prints it as it stands here.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from haccp.rules.account.steps import Event, Keeps, What
from haccp.rules.evidence import Step


class State(StrEnum):
    __hash__ = str.__hash__  # asked for with each reading

    NEW = "not yet read"
    FROZEN = "frozen"
    RAW = "raw, cold"  # in the table: raw
    SEARED = "seared"  # heated once, to be cooked later: 3-401.14
    HEATING = "heating"
    HOT = "hot"
    RESTING = "resting"  # hot food that was set to cool
    ASIDE = "aside"  # hot food below 135 °F while it is prepared or stirred into
    COOLING = "cooling"
    COLD = "cold"
    REHEATING = "reheating"
    OUT = "out"
    TIMED = "timed"
    OUTSIDE = "outside the limits"  # in the table: outside
    GONE = "gone"


class Zone(StrEnum):
    """How warm food is read; the words are the Code's numbers, a local set's take their place."""

    __hash__ = str.__hash__

    NONE = "none"  # nothing was measured
    ICE = "28"  # at or below
    COLD = "41"  # at or below
    WARM = "between"
    HOT = "135"  # at or above
    DONE = "done"  # a row of its cooking or reheating is met


HEATINGS = (State.HEATING, State.REHEATING)
OUTS = (State.OUT, State.ASIDE)
CLOCKED = (State.RESTING, State.ASIDE, State.COOLING)  # a cooling's clock runs, or stands ready
STILL_COLD = (State.COLD, State.RAW)
HOT_FAMILY = (State.HOT, State.RESTING, State.ASIDE)
HOT_ZONES = (Zone.HOT, Zone.DONE)
# What stands in a unit and is looked at there, by what the unit keeps.
HELD = {
    State.HOT: Keeps.HOT,
    State.COLD: Keeps.COLD,
    State.RAW: Keeps.COLD,
    State.FROZEN: Keeps.FROZEN,
}

# `a > b`: the food passes through a at this reading, and a is judged. "stays": no other state.
# The first row that fits counts. The last two are for what has no row of its own: the strict side.
# Words are read by what the food has been through (`fold.Account`): the "cook" of cooled food is a
# reheat, cold food that is raw is "raw", "out" is "cooling" while a cooling is open, and so on.
TABLE = """
state                            | zone          | step                                  | next state                 | Food Code
---                              | ---           | ---                                   | ---                        | ---
gone                             | any           | any                                   | stays                      |
any                              | any           | used, used in, discard                | gone                       |
outside                          | any           | any                                   | stays                      | 1-201.10(B)
any                              | any           | not TCS                               | outside                    | 1-201.10(B)
timed                            | any           | any                                   | stays                      | 3-501.19(B)
frozen, raw, cold                | none          | taken out                             | out                        | 3-501.16(A)
hot, resting, seared             | none          | taken out                             | aside                      | 3-501.16(A)
heating, reheating               | none          | made                                  | out                        | 3-501.16(A)
not yet read, frozen, raw, cold  | none          | freeze                                | frozen                     | 3-501.11
frozen                           | none          | thaw                                  | cold                       | 3-501.13(A)
any                              | none          | any                                   | stays                      |
frozen, raw, cold                | 28            | check frozen                          | frozen                     | 3-501.11
frozen                           | 41            | check frozen                          | cold                       | 3-501.11
frozen                           | any           | check frozen                          | out                        | 3-501.11
frozen                           | any           | check cold                            | cold                       | 3-501.13(A)
any                              | any           | check hot, check cold, check frozen   | stays                      | 3-501.16(A)
frozen                           | 28            | any                                   | frozen                     | 3-501.11
not yet read                     | 28            | receive                               | frozen                     | 3-202.11(E)
any                              | any           | sear                                  | seared                     | 3-401.14(A)
heating                          | 28, 41        | cook                                  | stays                      | 3-401.11
reheating                        | 28, 41        | reheat                                | stays                      | 3-403.11(D)
hot, resting, aside, seared, cooling | 28, 41    | cook, reheat                          | cooling > cold > reheating | 3-501.14(A)
hot, resting, aside, seared, cooling | 28, 41    | time control                          | cooling > cold > timed     | 3-501.14(A)
hot, resting, aside, seared, cooling | 28, 41    | any                                   | cooling > cold             | 3-501.14(A)
any                              | 28, 41        | cook, reheat                          | cold > reheating           | 3-403.11(D)
any                              | 28, 41        | time control                          | cold > timed               | 3-501.19(B)
not yet read                     | 28, 41        | cool                                  | cooling > cold             | 3-501.14(A)
any                              | 28, 41        | any                                   | cold                       | 3-501.16(A)(2)
hot, resting, aside, seared      | between       | time control                          | cooling > timed            | 3-501.14(A)
any                              | any           | time control                          | timed                      | 3-501.19(B)
not yet read                     | between       | receive by law                        | cooling                    | 3-501.14(C)
not yet read                     | between       | cool                                  | cooling                    | 3-501.14(A)
not yet read                     | between       | cold hold                             | cold                       | 3-501.16(A)(2)
not yet read                     | between       | hot hold                              | hot                        | 3-501.16(A)(1)
hot, aside                       | between       | hot hold                              | stays                      | 3-501.16(A)(1)
hot, aside                       | between       | prepare, cook, receive                | aside                      | 3-501.16(A)
heating, reheating               | between       | hot hold                              | stays                      | 3-401.11, 3-403.11
heating                          | between       | cool, cold hold                       | cooling                    | 3-501.14(A)
hot, resting                     | between       | reheat                                | cooling > reheating        | 3-501.14(A)
resting                          | between       | cook                                  | cooling                    | 3-501.14(A)
raw, cold, frozen                | between       | cool, cold hold                       | cold                       | 3-501.16(A)(2)
raw, cold, frozen, out           | between       | hot hold                              | reheating                  | 3-403.11(A)
any                              | between       | cook                                  | heating                    | 3-401.11
any                              | between       | reheat                                | reheating                  | 3-403.11(A)
heating, reheating               | done          | cool, cold hold                       | hot > resting              | 3-401.11, 3-403.11
heating, reheating               | done          | any                                   | hot                        | 3-401.11, 3-403.11
hot, resting, aside              | 135, done     | cool, cold hold                       | resting                    | 3-501.14(A)
resting                          | 135, done     | prepare                               | stays                      | 3-501.14(A)
aside                            | 135           | reheat                                | reheating                  | 3-403.11(A)
hot, resting, aside              | 135, done     | any                                   | hot                        | 3-501.16(A)(1)
any                              | done          | cook                                  | heating > hot              | 3-401.11
any                              | done          | reheat                                | reheating > hot            | 3-403.11(A)
cooling                          | 135           | cook, reheat                          | reheating                  | 3-403.11(A)
cooling                          | 135, done     | any                                   | stays                      | 3-501.14(A)
not yet read, seared             | 135, done     | cool, cold hold                       | resting                    | 3-501.14(A)
not yet read                     | 135, done     | hot hold, prepare, receive, receive by law | hot                   | 3-501.16(A)(1)
any                              | 135           | cook                                  | heating                    | 3-401.11
any                              | 135           | reheat                                | reheating                  | 3-403.11(A)
any                              | 135, done     | cool, cold hold                       | reheating > resting        | 3-403.11(A)
any                              | 135, done     | hot hold, prepare, receive, receive by law | reheating > hot       | 3-403.11(A)
hot, resting, aside, seared, cooling | any       | any                                   | cooling                    | 3-501.14(A)
any                              | any           | any                                   | out                        | 3-501.16(A)
"""  # noqa: E501

_SHORT = {"raw": State.RAW, "outside": State.OUTSIDE}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the table; an empty set fits everything, an empty `path` leaves the state."""

    states: frozenset[State]
    zones: frozenset[Zone]
    steps: frozenset[What]
    path: tuple[State, ...]
    citation: str

    def fits(self, state: State, zone: Zone, step: What) -> bool:
        return (
            (not self.states or state in self.states)
            and (not self.zones or zone in self.zones)
            and (not self.steps or step in self.steps)
        )


def _state(word: str) -> State:
    return _SHORT.get(word) or State(word)


def _step(word: str) -> What:
    name = word.replace(" ", "_")
    return Step(name) if name in {step.value for step in Step} else Event(word)


def _row(line: str) -> Row:
    states, zones, steps, path, citation = (cell.strip() for cell in line.split("|"))

    def words(cell: str) -> list[str]:
        return [] if cell == "any" else cell.split(", ")

    return Row(
        frozenset(map(_state, words(states))),
        frozenset(map(Zone, words(zones))),
        frozenset(map(_step, words(steps))),
        () if path == "stays" else tuple(map(_state, path.split(" > "))),
        citation,
    )


@cache
def rows() -> tuple[Row, ...]:
    """Read the table; a word that is no state, zone or step is an error here."""
    return tuple(map(_row, TABLE.strip().splitlines()[2:]))


@cache
def next_states(state: State, zone: Zone, step: What) -> tuple[State, ...]:
    """Give the states that food goes through at a piece of evidence, the last to stay in."""
    row = next(row for row in rows() if row.fits(state, zone, step))
    return row.path or (state,)


def printed() -> str:
    """Print the table as DEVELOPERS.md has it."""
    return "\n".join(
        "| " + " | ".join(cell.strip() for cell in line.split("|")) + " |"
        for line in TABLE.strip().splitlines()
    )
