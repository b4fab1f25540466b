"""What waits for a decision, a food or a unit at a time: food that is still there comes first."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime

from haccp.cli.deciding import acts_on
from haccp.cli.session import Session
from haccp.cli.status import headline, why
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.board import Group, Row, board
from haccp.kitchen.naming import open_codes
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import Register
from haccp.kitchen.review import Matter, matters
from haccp.language import counted, phrase
from haccp.rules.evidence import Verdict

_EARLY = datetime.min.replace(tzinfo=UTC)
_MOST_NAMES = 6
# Which take several names with commas.
_OF_SEVERAL = ("corrective", "discard", "release-food", "reject")


@dataclass(frozen=True, slots=True)
class ToDecide:
    """One thing to decide: rows that are told as one, of which the first stands for all."""

    rows: tuple[Row, ...]
    register: Register = field(repr=False)

    @property
    def first(self) -> Row:
        return self.rows[0]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(row.thermometer or row.matters[0].name for row in self.rows)

    @property
    def is_there(self) -> bool:
        """Whether it is food of which something is left."""
        return self.first.subject is not None and self.first.subject.is_left

    @property
    def acts(self) -> tuple[str, ...]:
        """The commands that decide it, the usual one first; none where only a signature does."""
        row = self.first
        if row.thermometer:
            return ("trust-thermometer",)
        if branch := row.matters[0].branch:
            return () if branch.is_own else ("go-on",)
        found = [one for m in row.matters if (one := m.finding)]
        acts = acts_on(row.subject, found, self.register)
        if not any(m.finding for m in row.matters):
            return ()  # taken back, or not to be read
        return acts if len(self.rows) == 1 else tuple(one for one in acts if one in _OF_SEVERAL)

    def command(self, session: Session) -> str:
        """Give the line to type."""
        if self.acts:
            return f'haccp {self.acts[0]} {",".join(self.names)} "..."'
        first = self.first.matters[0]
        if first.branch:
            return 'haccp hand-over URL --go-on "..."'
        if first.subject is None or first.due is None:
            return "haccp record verify"
        day = first.due.astimezone(session.register.zone).date()
        return f'haccp sign-day {day} --note "..."'

    def words(self, session: Session) -> str:
        """Say what it is and why, and of which others the same is told."""
        told = f"{headline(self.first, session)}. {why(self.first, session)}".strip()
        others = self.names[1:]
        if not others:
            return told
        shown = [*others[:_MOST_NAMES]]
        if more := len(others) - len(shown):
            shown.append(counted("{count} more", "{count} more", more))
        return f"{told} {phrase('The same of: {names}.', names=', '.join(shown))}"


def to_decide(session: Session) -> tuple[list[ToDecide], int]:
    """List what waits for a decision, and count what can still be saved without one."""
    register, now = session.register, session.now
    batches = read_batches(session.record, open_codes(session.record))
    found = matters(session.record, register, now)
    of_name: dict[str, list[Matter]] = {}
    for one in found:
        of_name.setdefault(one.name, []).append(one)
    # each by itself: on the board a food is told with its unit, but it is decided about alone
    alone = [row for mine in of_name.values() for row in board(mine, batches, register, now)]
    rows = [row for row in alone if row.group is Group.DECIDE and not row.thermometer]
    rows += [row for row in board(found, batches, register, now) if row.thermometer]
    alike: dict[Hashable, list[Row]] = {}
    for row in rows:
        alike.setdefault(_likeness(row, register), []).append(row)
    items = [ToDecide(tuple(some), register) for some in alike.values()]
    order = list(Verdict)

    def rank(item: ToDecide) -> tuple[bool, bool, int, datetime, tuple[str, ...]]:
        subject, finding = item.first.subject, item.first.matters[0].finding
        is_gone = isinstance(subject, BatchOnRecord) and not item.is_there
        worst = order.index(finding.verdict) if finding else len(order)
        return (not item.is_there, is_gone, worst, item.first.due or _EARLY, item.names)

    saved = sum(row.group is Group.SAVE and bool(_deviates(row)) for row in alone)
    return sorted(items, key=rank), saved


def _deviates(row: Row) -> Sequence[Matter]:
    return [one for one in row.matters if one.finding and one.finding.verdict.is_deviation]


def _likeness(row: Row, register: Register) -> Hashable:
    """Say what foods have in common that are told as one: one cause, and the same acts."""
    subject = row.subject
    found = [one.finding for one in row.matters if one.finding]
    if row.thermometer or not isinstance(subject, BatchOnRecord) or not found:
        return row.thermometer or row.matters[0].name
    causes = tuple((one.limit.name, one.verdict, one.reason, one.since, one.gap) for one in found)
    return subject.is_left, row.inside, acts_on(subject, found, register), causes
