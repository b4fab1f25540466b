"""What a heating's reading does not say though who took it may know: 3-401.11, 3-403.11."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import takewhile

from haccp.limits.limit import Limit, Row
from haccp.rules.account.heating import Around, reached
from haccp.rules.account.levels import Levels
from haccp.rules.account.life import Facts
from haccp.rules.evidence import COMMERCIAL_PACKAGE, INITIAL, WHOLE_ROAST, Reading, Step

# Who logs has stood beside the food for about so long; a longer hold is shown by two readings:
# common practice, no source.
_WATCHED = timedelta(minutes=1)
# A cold reading so shortly before says as much as when the food was taken out.
_JUST_NOW = timedelta(minutes=15)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heated:
    """A heating's reading with what the record holds of its food: the readings before it, by time,
    the facts that they and its unit's checks leave of it, the limits, when the batch began and the
    latest moment that the record speaks of.
    """

    taken: Reading
    before: Sequence[Reading]
    facts: Facts
    levels: Levels
    since: datetime
    until: datetime

    @property
    def run(self) -> list[Reading]:
        """The readings of this heating up to and with this one."""
        same = takewhile(lambda one: one.step is self.taken.step, reversed(self.before))
        return [*reversed([*same]), self.taken]


def unshown_hold(heated: Heated) -> tuple[Limit, Row] | None:
    """Give the row that the food is hot enough for, where nothing but its short hold is missing.

    That is 165 °F for 15 seconds of a reheat (3-403.11(A)). Of several rows the hottest: its hold
    is the shortest. A whole roast stays on the heat, and its next look shows how long.
    """
    taken = heated.taken
    if taken.held or taken.method == INITIAL:
        return None
    limit = _limit(heated)
    if limit.name == "cook" and limit.kind == WHOLE_ROAST:
        return None
    short = [
        row
        for row in limit.rows
        if row.hold <= _WATCHED and limit.kept_by(taken.temperature, row.level)
    ]
    if limit.stand or not short or _is_reached(heated, limit):
        return None
    held = replace(heated, taken=replace(taken, held=short[-1].hold))
    return (limit, short[-1]) if _is_reached(held, limit) else None


def is_out_since_unknown(heated: Heated) -> bool:
    """Whether a reheat's first reading is above 41 °F and nothing says since when the food was.

    Its two hours are "the time the food is between 41 °F and the temperature" (3-403.11(D)). Food
    that was hot and has not been cold since counts from its last reading.
    """
    taken, facts = heated.taken, heated.facts
    first = taken.step is Step.REHEAT and len(heated.run) == 1
    if not first or heated.levels.cold.kept_by(taken.temperature) or facts.taken:
        return False
    if facts.cold:
        return taken.at - facts.cold > _JUST_NOW
    return not (facts.line and heated.levels.is_hot(facts.line[0].temperature))


def _limit(heated: Heated) -> Limit:
    methods = {one.method for one in heated.run}
    if heated.taken.step is Step.COOK:
        return heated.levels.cooking(methods, "")[0]
    packaged = heated.levels.kind == COMMERCIAL_PACKAGE
    return heated.levels.reheating(methods, packaged=packaged, roasted=False)


def _is_reached(heated: Heated, limit: Limit) -> bool:
    every = (*heated.before, heated.taken)
    around = Around(readings=every, since=heated.since, until=heated.until)
    return reached(heated.run, limit, around) is not None
