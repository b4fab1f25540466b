"""What a manager sees first: what can still be saved, what waits for a decision, what is due.

A batch and the unit that it stands in are one row, a thermometer that failed is one row with the
foods to be measured again.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.register import Register
from haccp.kitchen.review import Matter
from haccp.rules.evidence import Finding, Reason, Verdict
from haccp.rules.remedies import SAVED_WITHIN


class Group(StrEnum):
    """In the order in which they are told."""

    SAVE = "save now"
    DECIDE = "decide"
    DUE = "due"


@dataclass(frozen=True, slots=True)
class Row:
    """One row: a food, a unit, both together, or a thermometer. `matters` has the worst first.

    `due` is by when something can still be done, or since when something waits to be decided.
    `inside` are the other batches or units that it is about.
    """

    group: Group
    due: datetime | None
    matters: tuple[Matter, ...]
    inside: tuple[str, ...] = ()
    thermometer: str = ""

    @property
    def subject(self) -> OnRecord | None:
        return self.matters[0].subject

    @property
    def is_set_apart(self) -> bool:
        subject = self.subject
        return isinstance(subject, BatchOnRecord) and subject.set_apart is not None


def board(
    found: Sequence[Matter],
    batches: Iterable[BatchOnRecord],
    register: Register,
    now: datetime,
) -> list[Row]:
    """Put what is open or undecided into rows: least time left first, then what waits longest.

    `batches` are those of which something is left.
    """
    standing: dict[str, list[str]] = {}
    for batch in batches:
        for unit in batch.places(register, now):
            standing.setdefault(unit, []).append(batch.title)
    in_doubt = [one for one in found if _is_doubt(one)]
    rest = [one for one in found if not _is_doubt(one)]
    rows = [*_thermometers(in_doubt), *_subjects(rest, standing, register, now)]
    order = list(Group)
    return sorted(
        rows,
        key=lambda row: (
            order.index(row.group),
            row.is_set_apart,
            row.due or _FAR_BACK,
            row.matters[0].name,
        ),
    )


_FAR_BACK = datetime.min.replace(tzinfo=UTC)


def group_of(one: Matter, now: datetime) -> Group:
    """Say what a matter asks for: to act in time, to decide, or to look."""
    finding = one.finding
    if finding is None:
        return Group.DECIDE if one.verdict else Group.DUE
    if finding.verdict is Verdict.OPEN and finding.due is None:
        return Group.DUE  # on the heat, where no paragraph sets a time
    if finding.verdict is Verdict.OPEN or _can_be_saved(finding, now):
        return Group.SAVE
    return Group.DECIDE


def saved_until(finding: Finding) -> datetime | None:
    """Say until when held food that is out of limits may be brought back; None for other things."""
    if finding.reason is not Reason.OUT_OF_LIMITS or finding.of or finding.longest is not None:
        return None
    began = finding.start.earliest if finding.start else None
    return began + SAVED_WITHIN if began else None


def _can_be_saved(finding: Finding, now: datetime) -> bool:
    until = saved_until(finding)
    return until is not None and now < until


def _is_doubt(one: Matter) -> bool:
    return one.finding is not None and one.finding.reason is Reason.THERMOMETER_IN_DOUBT


def _thermometers(found: Iterable[Matter]) -> Iterator[Row]:
    """Give each thermometer that failed one row, with the foods and units that rest on it."""
    of_label: dict[str, list[Matter]] = {}
    for one in found:
        assert one.finding is not None  # doubt is found
        labels = {reading.thermometer for reading in one.finding.readings}
        for label in sorted(labels):
            of_label.setdefault(label, []).append(one)
    for label, mine in of_label.items():
        since = min((one.due for one in mine if one.due), default=None)
        inside = tuple(dict.fromkeys(one.title for one in mine))
        yield Row(Group.DECIDE, since, tuple(mine), inside, label)


def _subjects(
    found: Iterable[Matter], standing: Mapping[str, list[str]], register: Register, now: datetime
) -> Iterator[Row]:
    """Give each batch and unit one row; a batch whose unit has a row of its own goes into that.

    A unit names the batches in it, a batch its unit.
    """
    of_name: dict[str, list[Matter]] = {}
    for one in found:
        of_name.setdefault(one.name, []).append(one)
    places = {name: _places(mine, register, now) for name, mine in of_name.items()}
    rows = {name: _row(mine, now) for name, mine in of_name.items()}
    taken = {
        name: unit
        for name, units in places.items()
        for unit in units
        if unit in rows and rows[unit].group is rows[name].group and _same(rows[unit], rows[name])
    }
    for name, row in rows.items():
        if name not in taken:
            yield Row(row.group, row.due, row.matters, tuple(standing.get(name) or places[name]))


def _same(unit: Row, batch: Row) -> bool:
    """Whether a batch's row says no more than its unit's: out of limits, or not looked at."""
    theirs = {one.finding.reason for one in unit.matters if one.finding}
    mine = {one.finding.reason for one in batch.matters if one.finding}
    return bool(mine) and mine <= theirs


def _places(matters: Sequence[Matter], register: Register, now: datetime) -> Sequence[str]:
    subject = matters[0].subject
    return subject.places(register, now) if isinstance(subject, BatchOnRecord) else ()


def _row(matters: Sequence[Matter], now: datetime) -> Row:
    """Make one row of all that there is about a subject: by what can be saved, else the oldest."""
    groups = [group_of(one, now) for one in matters]
    group = min(groups, key=list(Group).index)
    if Group.DECIDE in groups and not any(_is_saving(one, now) for one in matters):
        group = Group.DECIDE  # an open clock is of no more use to food that is lost
    mine = [one for one, its in zip(matters, groups, strict=True) if its is group]
    dues = [_due(one, group) for one in mine]
    due = min((moment for moment in dues if moment), default=None)
    worst = sorted(mine, key=lambda one: (_worst(one), one.due or _FAR_BACK))
    others = [one for one in matters if one not in worst]
    return Row(group, due, (*worst, *others))


def _is_saving(one: Matter, now: datetime) -> bool:
    return one.finding is not None and _can_be_saved(one.finding, now)


def _due(one: Matter, group: Group) -> datetime | None:
    if group is Group.SAVE and one.finding and one.finding.verdict.is_deviation:
        return saved_until(one.finding)
    return one.due


def _worst(one: Matter) -> int:
    return list(Verdict).index(one.finding.verdict) if one.finding else len(Verdict)
