"""Batches of which it is certain, before the rules are asked, what they find by each limit.

Whatever is unusual about a batch on record, or of its food, is for the rules.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta

from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.register import Register
from haccp.limits import LimitSet
from haccp.record.bodies import (
    BatchOpened,
    CoolingPlanned,
    CoolingSetup,
    CorrectiveAction,
    Discarded,
    Measured,
    Moved,
    Renamed,
    UsedUp,
)
from haccp.record.entries import Entry
from haccp.rules.account.plain import Found, PlainFood
from haccp.rules.evidence import Finding

# What the life of a plain batch is told by; the others may say of it what its life does not.
_PLAIN = (
    BatchOpened, Measured, Moved, UsedUp, Discarded,
    CoolingSetup, CoolingPlanned, CorrectiveAction, Renamed,
)  # fmt: skip
# The days of a date mark are a kitchen's, of which the first and the last may be short or long.
_SPARE = timedelta(days=2)


class PlainBatches:
    """The screen for batches as judged at a moment."""

    def __init__(self, register: Register, now: datetime) -> None:
        self._register = register
        self._now = now
        self._by: dict[tuple[str, str], PlainFood] = {}

    def finds(self, batch: BatchOnRecord) -> Found | None:
        """Say what is found of a batch; None where it may be other, or its limits are unknown."""
        ended = batch.ended
        if batch.parts or ended is None or ended > self._now or not _is_plain(batch.entries):
            return None
        try:
            limits = self._register.limits_at(batch.began)
            days = limits.get("date-mark").within
        except Refused:
            return None
        first = min([batch.opened.at, *(one.at for one in batch.readings)])
        if batch.batch.use_by or days is None or ended - first > days - _SPARE:
            return None
        return self._food(limits, batch).finds(batch.life(self._register, ended), self._now)

    def judge_cooling(self, batch: BatchOnRecord, found: Found) -> tuple[Finding, ...]:
        """Ask the rules what they find of its cooling."""
        food = self._food(self._register.limits_at(batch.began), batch)
        return food.judge_cooling(found, self._now)

    def _food(self, limits: LimitSet, batch: BatchOnRecord) -> PlainFood:
        key = limits.digest, batch.batch.food_kind
        if key not in self._by:
            self._by[key] = PlainFood(limits, batch.batch.food_kind)
        return self._by[key]


def _is_plain(entries: Iterable[Entry]) -> bool:
    """Whether nothing was corrected, and all that was said is what plain batches are told by."""
    opened = 0
    for one in entries:
        if one.corrects is not None or one.corrected_by is not None:
            return False
        if not isinstance(one.body, _PLAIN):
            return False
        opened += isinstance(one.body, BatchOpened)
    return opened == 1
