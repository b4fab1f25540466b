"""Many kitchens at once: what was judged of each, whether that still holds, who stopped logging.

They may be on several servers: what those tell is put together, and what they do not is told too.
Nothing is judged here. What is not judged up to a kitchen's last entry is not shown, never clean.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from haccp.kitchen.share import interval
from haccp.record.district import Counted, Facts, Seen, Trouble, Undecided
from haccp.time import CLOCK_TOLERANCE, moment_or_none

# For how long a kitchen may enter nothing where its hours are not known: a weekend and its two
# nights. Common practice, no source.
_USUAL_QUIET = timedelta(days=3)


class State(StrEnum):
    """How far what was judged of a kitchen reaches; only the first is shown."""

    SHOWN = "shown"
    ENTERED_SINCE = "entered since"
    DUE_SINCE = "due since"
    NOT_JUDGED = "not judged"
    ANOTHER_CHAIN = "another chain"
    NO_ENTRY = "no entry"
    UNREADABLE = "unreadable"
    REFUSED = "could not be judged"
    PARTED = "parted since"
    NOT_REACHED = "server not reached"
    NOT_THERE = "not there"


class Quiet(StrEnum):
    """Why a kitchen's last entry is worth a call."""

    STOPPED = "stopped logging"
    AHEAD = "clock ahead"


@dataclass(frozen=True, slots=True)
class Kitchen:
    """A kitchen as its officer sees it; moments are None where there is none, or none is read.

    `seen` is None of one that no server told of. `troubles` are what is wrong with its record.
    """

    name: str
    server: str
    state: State
    seen: Seen | None = None
    quiet: Quiet | None = None
    last_entered_at: datetime | None = None
    judged_at: datetime | None = None
    holds_until: datetime | None = None
    troubles: tuple[Trouble, ...] = ()


@dataclass(frozen=True, slots=True)
class Share:
    """Coolings of one kitchen, food or method, or of all: how many kept the limits.

    `low` and `high` bound the share that is not met in the long run (`share.interval`).
    """

    name: str
    met: int
    not_met: int
    not_shown: int
    low: float
    high: float

    @property
    def count(self) -> int:
        return self.met + self.not_met + self.not_shown


@dataclass(frozen=True, slots=True)
class Shares:
    """Coolings counted in every way, the worst first."""

    all: Share
    kitchen: tuple[Share, ...]
    food: tuple[Share, ...]
    method: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """A server that was asked: what it told, or why it told nothing."""

    server: str
    facts: Facts | None = None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Overview:
    """A district as of a moment. `undecided` is of kitchens whose judging is in their chain.

    `elsewhere` names kitchens on a server that the directory does not have there, with that server:
    nothing of them is counted.
    """

    name: str
    kitchens: tuple[Kitchen, ...]
    undecided: tuple[tuple[Kitchen, Undecided], ...]
    coolings: Shares
    not_reached: tuple[Asked, ...]
    elsewhere: tuple[tuple[str, str], ...]


def overview(
    asked: Sequence[Asked],
    now: datetime,
    silent: timedelta | None = None,
    directory: Mapping[str, str] | None = None,
) -> Overview:
    """Look at a district that some servers told of; a directory says which kitchen is on which.

    A kitchen has stopped logging where nothing was entered for longer than its own hours allow,
    or for longer than `silent`.
    """
    directory = directory or {}
    told = [_Told(one.server, one.facts, directory) for one in asked if one.facts]
    often = Counter(seen.name for one in told for seen in one.seen)
    kitchens: list[Kitchen] = []
    undecided: list[tuple[Kitchen, Undecided]] = []
    counted: list[Counted] = []
    for one in told:
        # two servers may have a kitchen of one name, where no directory says which it is
        called = {
            seen.name: f"{seen.name} ({one.server})" if often[seen.name] > 1 else seen.name
            for seen in one.seen
        }
        named = {
            seen.name: _kitchen(called[seen.name], one, seen, now, silent) for seen in one.seen
        }
        kitchens += named.values()
        undecided += [(named[name], each) for name, each in one.facts.undecided if name in named]
        counted += [
            each._replace(name=called[each.name]) if each.by == "kitchen" else each
            for each in one.facts.cooled
        ]
    kitchens += _not_told(directory, asked, {one.name for one in kitchens})
    return Overview(
        name=", ".join(sorted({one.facts.district for one in told})),
        kitchens=tuple(sorted(kitchens, key=lambda one: (one.name, one.server))),
        undecided=tuple(sorted(undecided, key=lambda one: (one[1].since or "", one[0].name))),
        coolings=_shares(counted),
        not_reached=tuple(one for one in asked if one.facts is None),
        elsewhere=tuple((name, one.server) for one in told for name in one.elsewhere),
    )


@dataclass(frozen=True, slots=True)
class _Told:
    """What a server told, and which of it counts by the directory."""

    server: str
    facts: Facts
    directory: Mapping[str, str]

    @property
    def seen(self) -> list[Seen]:
        return [one for one in self.facts.kitchens if self._is_here(one.name)]

    @property
    def elsewhere(self) -> list[str]:
        return [one.name for one in self.facts.kitchens if not self._is_here(one.name)]

    def _is_here(self, kitchen: str) -> bool:
        return self.directory.get(kitchen, self.server) == self.server


def _not_told(
    directory: Mapping[str, str], asked: Iterable[Asked], told: Iterable[str]
) -> Iterator[Kitchen]:
    """Give the kitchens of the directory that no server told of: their state is not shown."""
    not_reached = {one.server for one in asked if one.facts is None}
    for name in directory.keys() - set(told):
        server = directory[name]
        state = State.NOT_REACHED if server in not_reached else State.NOT_THERE
        yield Kitchen(name, server, state)


def _kitchen(
    name: str, told: _Told, seen: Seen, now: datetime, silent: timedelta | None
) -> Kitchen:
    troubles = tuple(one for one in told.facts.troubles if one.kitchen == seen.name)
    last, judged_at, holds_until, quiet_from = map(
        moment_or_none, (seen.last_entered_at, seen.judged_at, seen.holds_until, seen.quiet_from)
    )
    is_refused = any(one.kind == "refused" for one in troubles)
    state = State.REFUSED if is_refused else _state(seen, last, holds_until, now)
    if silent is None and quiet_from and seen.is_in_chain and seen.judged == seen.entries:
        is_quiet = now >= quiet_from
    else:
        is_quiet = last is not None and now - last > (silent or _USUAL_QUIET)
    quiet = Quiet.STOPPED if is_quiet and not seen.retired_at else None
    if last and last - now > CLOCK_TOLERANCE:
        quiet = Quiet.AHEAD
    return Kitchen(name, told.server, state, seen, quiet, last, judged_at, holds_until, troubles)


def _state(seen: Seen, last: datetime | None, holds_until: datetime | None, now: datetime) -> State:
    still_holds = holds_until is not None and holds_until >= now
    not_shown = (
        (not seen.entries, State.NO_ENTRY),
        (last is None, State.UNREADABLE),
        (seen.judged is None, State.NOT_JUDGED),
        (not seen.is_in_chain, State.ANOTHER_CHAIN),
        (seen.parted, State.PARTED),
        (seen.judged != seen.entries, State.ENTERED_SINCE),
        (not still_holds, State.DUE_SINCE),
    )
    return next((state for is_so, state in not_shown if is_so), State.SHOWN)


def _shares(counted: Iterable[Counted]) -> Shares:
    """Add up what several servers counted of one kitchen, food or method."""
    sums: dict[str, dict[str, tuple[int, int, int]]] = {"kitchen": {}, "food": {}, "method": {}}
    for one in counted:
        met, not_met, not_shown = sums[one.by].get(one.name, (0, 0, 0))
        sums[one.by][one.name] = (
            met + one.met,
            not_met + one.not_met,
            not_shown + one.not_shown,
        )
    every = sums["kitchen"].values()
    whole = (sum(n[0] for n in every), sum(n[1] for n in every), sum(n[2] for n in every))
    return Shares(
        all=_share(Counted("", "", *whole)),
        **{
            by: tuple(sorted((_share(Counted(by, *one)) for one in _flat(ones)), key=_worst_first))
            for by, ones in sums.items()
        },
    )


def _flat(ones: Mapping[str, tuple[int, int, int]]) -> Iterator[tuple[str, int, int, int]]:
    yield from ((name, *counts) for name, counts in ones.items())


def _share(one: Counted) -> Share:
    low, high = interval(one.not_met, one.met + one.not_met + one.not_shown)
    return Share(one.name, one.met, one.not_met, one.not_shown, low, high)


def _worst_first(one: Share) -> tuple[float, int, int, str]:
    return -one.low, -one.not_met, -one.not_shown, one.name
