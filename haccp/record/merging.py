"""The entries of several tills in one order, with names kept apart: what a view is made by.

It knows no file and no database: what was said before is asked of `Names`, so that the same entries
give the same view however often it is brought up to date.
"""

import heapq
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, NamedTuple, TypeVar

from haccp.errors import Refused
from haccp.record.bodies import (
    BatchOpened,
    HoldingUnit,
    KitchenSettings,
    Person,
    PlannedFood,
    Renamed,
    Thermometer,
    UsedUp,
    Written,
)
from haccp.record.entries import FIRST, body_from, canonical, digest_of, plain
from haccp.signs import folded
from haccp.temperature import parse_temperature
from haccp.time import moment_or_none

_Kind = TypeVar("_Kind", bound=Written)

# Kept of each till's entries about a batch that more than one other till opened.
AMBIGUOUS = "ambiguous"

# What one name stands for once: a batch, what its container is called, a unit.
_LABELS = (BatchOpened.kind, Renamed.kind, HoldingUnit.kind, AMBIGUOUS)

# Stands where a set of limits has its digest, while tills judge by different ones.
NOT_AGREED = FIRST


class Said(NamedTuple):
    """What a till says of something by a name, and how the view calls it.

    `seq` is the view's entry that says so, `body` the till's own words of a setting.
    """

    seq: int
    till: int
    kind: str
    name: str
    shown: str
    folded: str
    body: str = ""


class FromTill(NamedTuple):
    """An entry as its till holds it; `reached` is the latest moment of entry up to it."""

    till: int
    reached: str
    row: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Shown:
    """An entry as the view holds it, where it is from, and what of it is called otherwise there."""

    row: dict[str, Any]
    source: FromTill

    @property
    def changed(self) -> dict[str, str | None]:
        """Give the till's own batch, unit and body, where the view has others; None elsewhere."""
        own = self.source.row
        columns = ("batch", "unit", "body")
        return {one: own[one] if own[one] != self.row[one] else None for one in columns}


class Names:
    """What the tills have said by each name so far; what it does not know it asks, once.

    `ask` gives all that was said with a value in a column: ``name`` or ``folded``.
    """

    def __init__(
        self, tills: Sequence[str], ask: Callable[[str, str], Iterable[Said]] = lambda *_: ()
    ) -> None:
        self.tills = tills
        self.new: list[Said] = []
        self._ask = ask
        self._known: dict[str, dict[str, list[Said]]] = {"name": {}, "folded": {}}

    def called(self, kind: str, name: str) -> list[Said]:
        """Give what was said of this kind by a till's own name, in order."""
        return [one for one in self._all("name", name) if one.kind == kind]

    def latest(self, kind: str, name: str) -> dict[int, Said]:
        """Give what each till said last of this kind by its own name."""
        return {one.till: one for one in self.called(kind, name)}

    def shown_as(self, name: str) -> list[Said]:
        """Give what the view calls so, whatever its capitals."""
        return self._all("folded", folded(name))

    def say(self, seq: int, till: int, kind: str, name: str, shown: str, body: str = "") -> None:
        said = Said(seq, till, kind, name, shown, folded(shown), body)
        self._all("name", name).append(said)
        self._all("folded", said.folded).append(said)
        self.new.append(said)

    def free(self, wanted: str, till: int, kind: str) -> str:
        """Give a name that no other thing has in the view: the till's own, or with its till's."""
        name = wanted
        while any(_takes(one, till, kind) for one in self.shown_as(name)):
            name = f"{name}.{self.tills[till]}"
        return name

    def _all(self, column: str, value: str) -> list[Said]:
        known = self._known[column]
        if value not in known:
            known[value] = list(self._ask(column, value))
        return known[value]


def _takes(one: Said, till: int, kind: str) -> bool:
    """Whether a till's new thing cannot have the name that something has; one till knows its own.

    A name that was made here is nobody's own, and a batch's code is used once.
    """
    is_made_here = one.shown != one.name
    is_code = kind == BatchOpened.kind and one.kind in (BatchOpened.kind, AMBIGUOUS)
    return one.kind in _LABELS and (one.till != till or is_made_here or is_code)


def of_till(till: int, rows: Iterable[Mapping[str, Any]], reached: str = "") -> Iterator[FromTill]:
    """Give a till's entries with how far its clock had come: where it went back, it stays there."""
    for row in rows:
        if moment_or_none(row["entered_at"]):
            reached = max(reached, row["entered_at"])
        yield FromTill(till, reached, row)


def in_order(chains: Iterable[Iterable[FromTill]]) -> Iterator[FromTill]:
    """Put entries into one order: by when they were entered, those of each chain in its own."""
    return heapq.merge(*chains, key=place_of)


def place_of(one: FromTill) -> tuple[str, int]:
    return one.reached, one.till


def shown(
    chains: Iterable[Iterable[FromTill]],
    names: Names,
    number_of: Callable[[int, int], int],
    seq: int = 0,
    previous: str = FIRST,
) -> Iterator[Shown]:
    """Give the entries of chains as the view holds them after its entry `seq`.

    `number_of` gives the view's number of a till's entry.
    """
    for one in in_order(chains):
        seq += 1
        row = {**one.row, "seq": seq, "previous": previous, **_renamed(one, seq, names)}
        if row["corrects"] is not None:
            row["corrects"] = number_of(one.till, row["corrects"])
        row["digest"] = previous = digest_of(row)
        yield Shown(row, one)


def _renamed(one: FromTill, seq: int, names: Names) -> dict[str, Any]:
    """Give an entry's batch, unit and body as the view calls them."""
    row, till = one.row, one.till
    body = _read(row)
    found: dict[str, Any] = {}
    if row["kind"] == BatchOpened.kind and row["batch"]:
        found["batch"] = names.free(row["batch"], till, BatchOpened.kind)
        names.say(seq, till, BatchOpened.kind, row["batch"], found["batch"])
    elif row["batch"]:
        found["batch"] = _batch(row["batch"], seq, till, names)
    if row["unit"]:
        found["unit"] = unit_meant(row["unit"], till, names)
    if body is not None:
        changed = _body(body, row["body"], seq, till, names)
        if changed != body:
            found["body"] = canonical(plain(changed))
    return found


def _read(row: Mapping[str, Any]) -> Written | None:
    """Read a body of a kind that names something; None for another, or one that cannot be read."""
    if row["kind"] not in _NAMING:
        return None
    try:
        return body_from(row["kind"], row["body"])
    except Refused:
        return None  # it stands in the view as it does at its till: unreadable


_NAMING = {
    kind.kind
    for kind in (
        BatchOpened, UsedUp, Renamed, HoldingUnit, KitchenSettings, PlannedFood, Thermometer,
        Person,
    )
}  # fmt: skip


def batch_meant(code: str, till: int, names: Names) -> str | None:
    """Say which batch a till means: its own, else the only one that another till opened.

    Where there are several it is none of them.
    """
    opened = names.latest(BatchOpened.kind, code)
    if till in opened:
        return opened[till].shown
    if not opened:
        return code  # as in a record of one till: nobody opened it
    (first, *others) = opened.values()
    return None if others else first.shown


def _batch(code: str, seq: int, till: int, names: Names) -> str:
    """Give the batch that is meant; what may be of several is kept as evidence of none."""
    batch = batch_meant(code, till, names)
    if batch is not None:
        return batch
    known = names.latest(AMBIGUOUS, code).get(till)
    name = known.shown if known else names.free(f"{code}.{names.tills[till]}", till, AMBIGUOUS)
    names.say(seq, till, AMBIGUOUS, code, name)
    return name


def unit_meant(name: str, till: int, names: Names) -> str:
    """Say which unit a till means: its own, else the one of that name at the others."""
    said = names.latest(HoldingUnit.kind, name)
    if till in said:
        return said[till].shown
    others = {one.shown for one in said.values()}
    return others.pop() if len(others) == 1 else name


def _body(body: Written, text: str, seq: int, till: int, names: Names) -> Written:
    """Give a body by the view's names; of a setting, what all tills together say."""

    def batches(codes: Iterable[str]) -> tuple[str, ...]:
        return tuple(_batch(code, seq, till, names) for code in codes)

    found: Written = body
    match body:
        case BatchOpened():
            made_from, portion_of = batches(body.made_from), batches(body.portion_of)
            found = replace(body, made_from=made_from, portion_of=portion_of)
        case UsedUp():
            found = replace(body, into=batches(body.into))
        case Renamed():
            found = replace(body, name=_container(body.name, seq, till, names))
        case HoldingUnit():
            found = _holding_unit(body, text, seq, till, names)
        case KitchenSettings():
            names.say(seq, till, body.kind, "", "", text)
            found = agreed(said_of(KitchenSettings, names.called(body.kind, "")))
        case Thermometer():
            names.say(seq, till, body.kind, body.label, body.label, text)
            found = _thermometer(body, names)
        case PlannedFood():
            names.say(seq, till, body.kind, folded(body.name), body.name, text)
            found = replace(body, unit=body.unit and unit_meant(body.unit, till, names))
        case Person():
            names.say(seq, till, body.kind, body.initials, body.initials, text)
    return found


def _thermometer(body: Thermometer, names: Names) -> Thermometer:
    """Take thermometers of one label for one, as inaccurate as any till says."""
    every = _bodies(Thermometer, names.latest(body.kind, body.label).values())
    worst = max(every, key=lambda one: parse_temperature(one.accuracy).difference)
    return replace(body, accuracy=worst.accuracy, active=any(one.active for one in every))


def _container(name: str, seq: int, till: int, names: Names) -> str:
    known = names.latest(Renamed.kind, name).get(till)
    if known:
        return known.shown
    shown = names.free(name, till, Renamed.kind)
    names.say(seq, till, Renamed.kind, name, shown)
    return shown


def _holding_unit(body: HoldingUnit, text: str, seq: int, till: int, names: Names) -> HoldingUnit:
    """Take units of one name for one, unless they are said to hold food otherwise."""
    said = names.latest(body.kind, body.name)
    own = said.pop(till, None)
    alike = [
        one
        for one in said.values()
        if all(known.holds == body.holds for known in _bodies(HoldingUnit, [one]))
    ]
    differing = {one.shown for one in said.values() if one not in alike}
    if own and own.shown not in differing:
        shown = own.shown
    elif not own and alike:
        shown = alike[0].shown
    else:
        shown = names.free(body.name, till, body.kind)
    names.say(seq, till, body.kind, body.name, shown, text)
    together = names.latest(body.kind, body.name).values()
    every = _bodies(HoldingUnit, [one for one in together if one.shown == shown])
    used = [one for one in every if one.active] or every
    return replace(
        body,
        name=shown,
        every_min=min(one.every_min for one in used),
        usual=any(one.usual for one in used),
        active=any(one.active for one in every),
    )


def _bodies(kind: type[_Kind], said: Iterable[Said]) -> list[_Kind]:
    return [body for _, body in said_of(kind, said)]


def said_of(kind: type[_Kind], said: Iterable[Said]) -> list[tuple[int, _Kind]]:
    """Give which till said what of a kind, in order."""
    bodies = ((one.till, body_from(kind.kind, one.body)) for one in said)
    return [(till, body) for till, body in bodies if isinstance(body, kind)]


# What food is judged by: where tills differ in it, nothing is judged.
JUDGED_BY = ("zone", "limit_set", "overrides", "limits_digest", "guard")


def agreed(said: Sequence[tuple[int, KitchenSettings]]) -> KitchenSettings:
    """Give the settings that tills agree on, of what each said, in order.

    What was changed last counts, a till that is set up later changes nothing; of what a check is
    held to the stricter counts. Where they are to judge by different limits there are none.
    """
    now: dict[str, Any] = plain(said[0][1])
    last: dict[int, KitchenSettings] = {}
    for till, body in said:
        before = plain(last.get(till, body))
        now |= {name: value for name, value in plain(body).items() if value != before[name]}
        last[till] = body
    every = list(last.values())
    intervals = [one.thermometer_days for one in every if one.thermometer_days]
    now |= {
        "check_every_min": min(one.check_every_min for one in every),
        "grace_min": min(one.grace_min for one in every),
        "longest_closure": min(one.longest_closure for one in every),
        "thermometer_days": min(intervals, default=0),
        "open_hours": _common([one.open_hours for one in every]),
        "late_reheat": _common([one.late_reheat for one in every]),
    }
    if differing(every, JUDGED_BY):
        now["limits_digest"] = NOT_AGREED
    else:
        now |= {name: getattr(every[0], name) for name in JUDGED_BY}
    return KitchenSettings(**now)


def _common(values: Sequence[str]) -> str:
    """Give what all say; else nothing: never closed, and no reheating that is late."""
    return values[0] if len(set(values)) == 1 else ""


def differing(bodies: Sequence[Written], names: Iterable[str] = ()) -> list[str]:
    """Name the fields in which bodies of one kind differ; of all but what is each one's own."""
    wanted = names or [one.name for one in fields(bodies[0]) if one.name not in _OWN]
    return [name for name in wanted if len({getattr(one, name) for one in bodies}) > 1]


_OWN = ("nonce", "daily_copies", "typeface", "language")
