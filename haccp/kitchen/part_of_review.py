"""A part of a review: what was asked for of it, with the evidence that it rests on."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cases import told_by_units
from haccp.kitchen.cooling_estimate import coolings, is_by_the_way, touches
from haccp.kitchen.register import Register
from haccp.kitchen.review import Review
from haccp.kitchen.selection import Selection
from haccp.kitchen.units import UnitOnRecord
from haccp.language import message, phrase
from haccp.rules.account.life import Stay
from haccp.rules.evidence import Step


class NothingOnRecord(Refused):
    """Nothing of what was asked for is on record: told again to who asked, in their language."""

    def __init__(self, words: str, **places: str) -> None:
        super().__init__(phrase(words, **places))
        self.words, self.places = words, places


_NOTHING = message("Nothing is on record of {name} on these days: type others.")


def part_of(review: Review, only: Selection, register: Register, as_of: datetime) -> Review:
    """Narrow a review to what was asked for.

    The checks of the units that a food stood in are evidence about it, and come with it; with a
    unit comes what was found, by its checks, of the foods in it. Raises NothingOnRecord where these
    days have nothing of a batch, food or unit that was asked for.
    """
    if only.is_whole:
        return review
    batches = [one for one in review.batches if only.takes(one)]
    units = [one for one in review.units if only.takes(one)]
    _refuse_missing(only, batches, units)
    if only.cooling_log:
        batches = [one for one in batches if _cooled(one, only, review, register, as_of)]
        _refuse_uncooled(only, batches)
    names = {one.name for one in (*batches, *units)}
    found = [
        one
        for one in review.found
        if one.subject.name in only.units
        or (one.subject.name in names and _is_shown(one.finding.step, only))
    ]
    for unit in units:
        is_read = any(review.begins <= entry.at < review.ends for entry in unit.entries)
        if not is_read and not any(one.subject is unit for one in found):
            raise NothingOnRecord(_NOTHING, name=unit.name)
    beside = () if only.cooling_log else _stood_in(batches, review, only, register, as_of)
    return replace(
        review,
        batches=tuple(batches),
        units=(*units, *beside),
        found=(*found, *told_by_units(review, only.units)),
    )


def _is_shown(step: Step, only: Selection) -> bool:
    return step is Step.COOL or not only.cooling_log


def _refuse_missing(
    only: Selection, batches: Sequence[BatchOnRecord], units: Sequence[UnitOnRecord]
) -> None:
    """Raise NothingOnRecord where these days have nothing of something that was named."""
    codes = {one.name for one in batches}
    for name in only.batches:
        if name not in codes:
            words = message("Nothing was entered about {batch} on these days: leave the days out.")
            raise NothingOnRecord(words, batch=name)
    there = {one.batch.food.casefold() for one in batches} | {one.name.casefold() for one in units}
    for name in (*only.foods, *only.units):
        if name.casefold() not in there:
            raise NothingOnRecord(_NOTHING, name=name)


def _refuse_uncooled(only: Selection, cooled: Sequence[BatchOnRecord]) -> None:
    """Raise NothingOnRecord where nothing cooled, or nothing of a batch or food that was named."""
    there = {one.name for one in cooled} | {one.batch.food.casefold() for one in cooled}
    for name in (*only.batches, *(food.casefold() for food in only.foods)):
        if name not in there:
            words = message("No cooling of {name} is on record: leave it out.")
            raise NothingOnRecord(words, name=name)
    if not cooled:
        raise NothingOnRecord(message("No cooling is on record of these days: type others."))


def _cooled(
    batch: BatchOnRecord, only: Selection, review: Review, register: Register, until: datetime
) -> bool:
    """Whether a batch has a cooling that is shown: of these days, or any where it was named."""
    return any(
        only.names(batch) or touches(stages, review.begins, review.ends)
        for stages in coolings(batch.judged(register, until))
        if not is_by_the_way(stages)
    )


def _stood_in(
    batches: Sequence[BatchOnRecord],
    review: Review,
    only: Selection,
    register: Register,
    as_of: datetime,
) -> Iterator[UnitOnRecord]:
    """Give the units that some batches stood in, each with what was entered about it meanwhile."""
    stays: dict[str, list[Stay]] = defaultdict(list)
    for batch in batches:
        for way in batch.account(register, as_of).ways:
            for stay in way.stays:
                stays[stay.unit].append(stay)
    for unit in review.units:
        mine = stays[unit.name] if unit.name not in only.units else []
        entries = [one for one in unit.entries if any(_covers(stay, one.at) for stay in mine)]
        if entries:
            yield replace(unit, entries=tuple(entries))


def _covers(stay: Stay, moment: datetime) -> bool:
    return stay.began <= moment and (stay.ended is None or moment <= stay.ended)
