"""What a heating's reading does not say though who took it may know: 3-401.11, 3-403.11."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import takewhile

from haccp.limits.limit import Limit, Row
from haccp.rules.account.heating import Around, reached
from haccp.rules.account.levels import Levels
from haccp.rules.evidence import COMMERCIAL_PACKAGE, INITIAL, Reading, Step

# Who logs has stood beside the food for about so long; a longer hold is shown by two readings:
# common practice, no source.
_WATCHED = timedelta(minutes=1)
# A cold reading so shortly before says as much as when the food was taken out.
_JUST_NOW = timedelta(minutes=15)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heated:
    """A heating's reading with what the record holds of its food: the readings before it, by time,
    the limits, when the batch began and the latest moment that the record speaks of.
    """

    taken: Reading
    before: Sequence[Reading]
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
    is the shortest.
    """
    taken = heated.taken
    if taken.held or taken.method == INITIAL:
        return None
    limit = _limit(heated)
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
    taken = heated.taken
    if taken.step is not Step.REHEAT or len(heated.run) > 1:
        return False
    if heated.levels.cold.kept_by(taken.temperature):
        return False
    for one in reversed(heated.before):
        if heated.levels.cold.kept_by(one.temperature):
            return taken.at - one.at > _JUST_NOW
        if heated.levels.is_hot(one.temperature):
            return False
    return True


def _limit(heated: Heated) -> Limit:
    if heated.taken.step is Step.COOK:
        return heated.levels.cooking(heated.run, "")[0]
    packaged = heated.levels.kind == COMMERCIAL_PACKAGE
    return heated.levels.reheating(heated.run, packaged=packaged, roasted=False)


def _is_reached(heated: Heated, limit: Limit) -> bool:
    every = (*heated.before, heated.taken)
    around = Around(readings=every, since=heated.since, until=heated.until)
    return reached(heated.run, limit, around) is not None
