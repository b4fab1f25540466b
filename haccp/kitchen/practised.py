"""What a kitchen does by its record: the foods it makes, by which steps they went, its ovens.

A plan is held against it: what no plan has is told.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import chain

from haccp.kitchen.lives import oven_kind
from haccp.kitchen.readings_as_evidence import is_step
from haccp.kitchen.register import Register
from haccp.record.bodies import BatchOpened, DeliveryRejected, Measured
from haccp.record.entries import Entry, having
from haccp.record.store import Record
from haccp.record.threads import about_batch, of_kind
from haccp.rules.evidence import COMMERCIAL_PACKAGE, INITIAL, MICROWAVE, OPENED, SIX_HOURS, Step

# Of so many of a food's newest batches all is read: enough to see how it is made today.
LOOKED_AT = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class FoodMade:
    """A food that was delivered or made: how often, how much, and by which steps it really went.

    `steps` says in how many of its newest batches, `looked_at` of them, there is a reading of a
    step; `amounts`, `kinds` and `rejected` are of these too. `into` are the foods that it was made
    into. Portions are counted with the batch that they are taken from.
    """

    name: str
    batches: int
    first: datetime
    last: datetime
    looked_at: int
    steps: Mapping[Step, int]
    amounts: tuple[str, ...]
    kinds: frozenset[str]
    rejected: int
    into: frozenset[str]

    @property
    def is_ingredient(self) -> bool:
        """Whether it was only received, or turned away, and went into other foods."""
        at_the_door = set(self.steps) <= {Step.RECEIVE}
        return at_the_door and (bool(self.into) or self.rejected == self.looked_at)


@dataclass(frozen=True, slots=True)
class Practised:
    """All that is on record of how a kitchen works.

    `ovens` are the kinds of oven, by the limits' names, in which whole roasts were cooked; `limits`
    names those limits for special ways that something on record went.
    """

    foods: tuple[FoodMade, ...]
    ovens: frozenset[str]
    limits: frozenset[str]


def practised(record: Record, register: Register) -> Practised:
    """Read what the kitchen does, from the record as it stands in this view."""
    openings = [
        entry
        for entry in having(record.about(of_kind(BatchOpened.kind)), BatchOpened)
        if entry.batch and not entry.corrected_by
    ]
    roots = _roots(openings)
    whole = [entry for entry in openings if roots[entry.batch or ""] == entry.batch]
    by_food: dict[str, list[Entry[BatchOpened]]] = {}
    for entry in whole:
        by_food.setdefault(entry.body.food.casefold(), []).append(entry)
    into: dict[str, set[str]] = {}
    for entry in openings:
        for part in entry.body.made_from:
            into.setdefault(roots.get(part, part), set()).add(entry.body.food)
    newest = {one.batch for made in by_food.values() for one in made[-LOOKED_AT:]}
    codes = [code for code, root in roots.items() if root in newest]
    about: dict[str, list[Entry]] = {}
    for said in record.about(*map(about_batch, codes)):
        if said.batch in roots and not said.corrected_by:
            about.setdefault(roots[said.batch], []).append(said)
    foods = [_food(made, about, into) for made in by_food.values()]
    return Practised(
        foods=tuple(sorted(foods, key=lambda food: food.name.casefold())),
        ovens=frozenset(
            kind for e in openings if e.body.oven and (kind := oven_kind(e.body, register, e.at))
        ),
        limits=frozenset(_special(openings, chain.from_iterable(about.values()))),
    )


def _roots(openings: Sequence[Entry[BatchOpened]]) -> dict[str, str]:
    """Say of each batch's code which batch it is a portion of, through any depth; else its own."""
    roots: dict[str, str] = {}
    for entry in openings:  # a portion is opened after what it is taken from
        code, taken_from = entry.batch or "", entry.body.portion_of
        roots[code] = roots.get(taken_from[0], code) if taken_from else code
    return roots


def _food(
    made: Sequence[Entry[BatchOpened]],
    about: Mapping[str, Sequence[Entry]],
    into: Mapping[str, set[str]],
) -> FoodMade:
    newest = made[-LOOKED_AT:]
    entries = [about.get(one.batch or "", ()) for one in newest]
    steps = Counter(
        step for some in entries for step in Step if any(is_step(entry, step) for entry in some)
    )
    return FoodMade(
        name=made[-1].body.food,
        batches=len(made),
        first=min(one.at for one in made),
        last=max(one.at for one in made),
        looked_at=len(newest),
        steps={step: steps[step] for step in Step if step in steps},
        amounts=tuple(dict.fromkeys(one.body.amount for one in newest if one.body.amount)),
        kinds=frozenset(one.body.food_kind for one in newest),
        rejected=sum(any(having(some, DeliveryRejected)) for some in entries),
        into=frozenset(food for one in made for food in into.get(one.batch or "", ())),
    )


# Limits for special ways, each by what an opening says of its batch.
_OPENED: Mapping[str, Callable[[BatchOpened], bool]] = {
    "receiving-hot": lambda batch: batch.received_as == "hot",
    "receiving-frozen": lambda batch: batch.received_as == "frozen",
    "frozen-holding": lambda batch: batch.received_as == "frozen",
    "receiving-egg-air": lambda batch: batch.received_as == "egg",
    "egg-holding": lambda batch: batch.received_as == "egg",
    "cooling-received": lambda batch: bool(batch.by_law),
    "cooling-ambient": lambda batch: batch.ambient,
    "reheat-for-order": lambda batch: batch.to_order,
    "cook-by-instructions": lambda batch: batch.food_kind == COMMERCIAL_PACKAGE,
}
_METHODS = {
    (str(Step.COOK), MICROWAVE): "cook-microwave",
    (str(Step.COOK), INITIAL): "initial-heating",
    (str(Step.REHEAT), MICROWAVE): "reheat-microwave",
    (str(Step.TIME_CONTROL), SIX_HOURS): "time-control-6h",
    (str(Step.TIME_CONTROL), OPENED): "time-control-opened",
}


def _special(openings: Sequence[Entry[BatchOpened]], entries: Iterable[Entry]) -> Iterator[str]:
    """Name the limits for special ways that something on record was received, heated or held."""
    for name, is_so in _OPENED.items():
        if any(is_so(entry.body) for entry in openings):
            yield name
    for entry in having(entries, Measured):
        if (entry.body.step, entry.body.method) in _METHODS:
            yield _METHODS[entry.body.step, entry.body.method]
