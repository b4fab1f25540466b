"""What a verdict is made of, and what it is: readings in, findings out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from fractions import Fraction

from haccp.language import message, phrase
from haccp.limits.limit import Limit, Row
from haccp.temperature import Temperature

# A food thermometer's where no other is stated: ±2 °F, Food Code 4-203.11.
ACCURACY = Fraction(2)


class Step(StrEnum):
    __hash__ = str.__hash__  # asked for with each reading, many times over

    RECEIVE = "receive"
    PREPARE = "prepare"
    COOK = "cook"
    HOT_HOLD = "hot_hold"
    COOL = "cool"
    COLD_HOLD = "cold_hold"
    REHEAT = "reheat"
    TIME_CONTROL = "time_control"

    @property
    def words(self) -> str:
        return phrase(_STEPS[self])


_STEPS = {
    Step.RECEIVE: message("receive"),
    Step.PREPARE: message("prepare"),
    Step.COOK: message("cook"),
    Step.HOT_HOLD: message("hot hold"),
    Step.COOL: message("cool"),
    Step.COLD_HOLD: message("cold hold"),
    Step.REHEAT: message("reheat"),
    Step.TIME_CONTROL: message("time control"),
}

# How a reading says that food was heated or held in a way that has a limit of its own.
MICROWAVE, INITIAL, UNSLICED, SIX_HOURS, OPENED = (
    "microwave",
    "initial",
    "unsliced",
    "6 h",
    "opened",
)
# The kind of food with an oven, a table and a hot-holding limit of its own: 3-401.11(B).
WHOLE_ROAST = "whole roast"
# The kind of food with a reheating limit of its own, in a microwave too: 3-403.11(B), (C).
COMMERCIAL_PACKAGE = "commercial package"


class Verdict(StrEnum):
    """Worst first, which is the order in which they outweigh each other."""

    NOT_MET = "not met"
    NOT_SHOWN = "not shown"
    OPEN = "open"
    MET = "met"
    STOPPED = "stopped"

    @property
    def is_deviation(self) -> bool:
        return self in (Verdict.NOT_MET, Verdict.NOT_SHOWN)


class Reason(StrEnum):
    """Why a verdict is what it is; `words.explain` makes the sentence."""

    IN_TIME = "in time"
    TOO_LATE = "too late"
    STILL_WARM = "still warm when the time was up"
    NO_START = "no start"
    NOT_REACHED_ON_RECORD = "not reached on record"
    CROSSING_UNCERTAIN = "crossing uncertain"
    TIME_LEFT = "time left"
    FOOD_LEFT_THE_STEP = "food left the step"
    IN_LIMITS = "in limits"
    OUT_OF_LIMITS = "out of limits"
    MISSED_CHECK = "missed check"
    REACHED = "reached"
    TOO_COOL = "too cool"
    HOLD_NOT_SHOWN = "hold not shown"
    THERMOMETER_IN_DOUBT = "thermometer in doubt"
    LINES_REJECTED = "lines rejected"
    WRONG_START = "wrong temperature at the start"
    TOO_WARM_IN_TIME = "too warm while time was the control"
    RETURNED = "returned to temperature control"
    NOT_WATCHED = "not watched"
    PAST_ITS_DAY = "past its day"
    LAST_DAY = "last day"
    HEATED_FOR = "heated for"
    OVEN = "oven not on record"
    UNREADABLE = "an entry cannot be read"
    BESIDE = "entries of a branch"
    NOT_HEATED = "no heating on record"
    NOT_READ = "not read"
    OUT_OF_TEMPERATURE = "out of temperature"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measured temperature of one food.

    `held` is for how long the cook watched it stay there. `doubted_since` is the moment of the
    failed check that puts this reading's thermometer in doubt. `ref` names the reading to people.
    `method` is one of its step's (`account.steps.TRAITS`), or empty; `chamber` is what the oven
    showed. `accuracy` is by how much its thermometer may be off [°F], `thermometer` its label.
    """

    at: datetime
    temperature: Temperature
    step: Step
    held: timedelta = timedelta(0)
    doubted_since: datetime | None = None
    ref: str = ""
    method: str = ""
    chamber: Temperature | None = None
    accuracy: Fraction = ACCURACY
    thermometer: str = ""

    def __hash__(self) -> int:
        return hash((self.at, self.ref))  # all of it would cost as much as judging it

    def is_warmer_than(self, other: "Reading") -> bool:
        """Whether it shows a rise: one within the thermometers' accuracy is none."""
        rise = self.temperature.fahrenheit - other.temperature.fahrenheit
        return rise > max(self.accuracy, other.accuracy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """A batch as evidence. Readings come in any order.

    `kind` is the kind of food where a limit has a variant for it. `ended` is when the batch was
    discarded or used up, `gone` that moment as it was said where it was entered too late to be
    relied on, `discarded` whether it was thrown away. `prepared` is the moment of
    preparation of a food made from ingredients at room temperature. `longest_gap` between
    hot-holding checks is the kitchen's interval and its grace; without it no check is missed.
    `received_as` says in what state it was delivered (`RECEIVING_LIMIT`), `by_law` that a law lets
    it arrive warmer. `oven` is the kind of the limit `oven` that a roast's oven is judged by.
    """

    readings: tuple[Reading, ...]
    kind: str = ""
    ended: datetime | None = None
    gone: datetime | None = None
    discarded: bool = False
    prepared: datetime | None = None
    longest_gap: timedelta | None = None
    received_as: str = ""
    by_law: bool = False
    oven: str = ""


@dataclass(frozen=True, slots=True)
class Bounds:
    """Something happened after `earliest` and by `latest`; None where the record does not say."""

    earliest: datetime | None
    latest: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What a check says about a step, with its evidence.

    `shortest` and `longest` bound the duration that the limit is about. `due` is the safe
    deadline: kept, the limit is met in the worst case. `since` is the moment from which a person
    could know of a deviation; what decides it comes after that. `readings` are those that decided;
    `row` is the one that was reached of a limit that is a table. `beside` are the rows of its
    paragraph that whoever reads it has to know: of a roast's oven, all of them. `usual` is the unit
    whose checks it rests on, or the want of them, though none was named for the food. `of` names
    the batch that it was found of, where some of that went into this one before anybody decided.
    """

    step: Step
    limit: Limit
    verdict: Verdict
    reason: Reason
    readings: tuple[Reading, ...]
    start: Bounds | None = None
    crossing: Bounds | None = None
    shortest: timedelta | None = None
    longest: timedelta | None = None
    due: datetime | None = None
    since: datetime | None = None
    rewarmed: tuple[tuple[Reading, Reading], ...] = ()
    row: Row | None = None
    of: str = ""
    beside: tuple[Limit, ...] = ()
    usual: str = ""

    @property
    def gap(self) -> tuple[datetime, datetime] | None:
        """From which check to when a missed check was missed; None for any other finding."""
        if self.reason is not Reason.MISSED_CHECK:
            return None
        assert self.start and self.start.latest and self.longest  # a gap lies between two moments
        return self.start.latest, self.start.latest + self.longest


def overall(findings: Iterable[Finding]) -> Verdict:
    """Combine findings to one verdict: the worst of them; stopped only where nothing else is."""
    verdicts = {finding.verdict for finding in findings}
    return next((verdict for verdict in Verdict if verdict in verdicts), Verdict.OPEN)


def unproved(finding: Finding) -> Finding:
    """Take a finding's proof away: what was met or not met is not shown."""
    if finding.verdict not in (Verdict.MET, Verdict.NOT_MET):
        return finding
    return replace(finding, verdict=Verdict.NOT_SHOWN, longest=None)


def without_doubt(
    all_readings: Finding, trusted_only: Finding, doubted: Sequence[Reading]
) -> Finding:
    """Weigh a finding made from every reading against one made without the doubted ones.

    A reading of a thermometer that failed its check proves nothing, yet may warn: "not met" is what
    the trusted readings alone say; "met" needs both, and so does that there is time left, by the
    earlier deadline, or that the food left the step in time.
    """
    told = (all_readings.verdict, trusted_only.verdict)
    if not doubted or trusted_only.verdict is Verdict.NOT_MET or set(told) == {Verdict.MET}:
        return trusted_only
    if trusted_only.verdict in (Verdict.OPEN, Verdict.STOPPED) and not told[0].is_deviation:
        dues = [one.due for one in (all_readings, trusted_only) if one.due]
        return replace(trusted_only, due=min(dues, default=None))
    return replace(
        trusted_only,
        verdict=Verdict.NOT_SHOWN,
        reason=Reason.THERMOMETER_IN_DOUBT,
        readings=tuple(doubted),
        longest=None,
        since=max(reading.doubted_since for reading in doubted if reading.doubted_since),
    )
