"""Many kitchens at once: what was judged of each, whether that still holds, who stopped logging.

Nothing is judged here. What is not judged up to a kitchen's last entry is not shown, never clean.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from haccp.kitchen.share import interval
from haccp.record.district import Counted, District, Seen, Undecided
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


class Quiet(StrEnum):
    """Why a kitchen's last entry is worth a call."""

    STOPPED = "stopped logging"
    AHEAD = "clock ahead"


@dataclass(frozen=True, slots=True)
class Kitchen:
    """A kitchen as its officer sees it; moments are None where there is none, or none is read."""

    name: str
    seen: Seen
    state: State
    quiet: Quiet | None
    last_entered_at: datetime | None
    judged_at: datetime | None
    holds_until: datetime | None


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
class Overview:
    """A district as of a moment. `undecided` is of kitchens whose judging is in their chain."""

    name: str
    kitchens: tuple[Kitchen, ...]
    undecided: tuple[tuple[Kitchen, Undecided], ...]
    coolings: Shares


def overview(
    district: District, months: tuple[str, str], now: datetime, silent: timedelta | None = None
) -> Overview:
    """Look at a district; coolings are those that began in months [YYYY-MM], both included.

    A kitchen has stopped logging where nothing was entered for longer than its own hours allow,
    or for longer than `silent`.
    """
    kitchens = tuple(_kitchen(seen, now, silent) for seen in district.kitchens())
    named = {one.name: one for one in kitchens}
    return Overview(
        name=district.name,
        kitchens=kitchens,
        undecided=tuple((named[name], one) for name, one in district.undecided()),
        coolings=_shares(district.cooled(months)),
    )


def _kitchen(seen: Seen, now: datetime, silent: timedelta | None) -> Kitchen:
    last, judged_at, holds_until, quiet_from = map(
        moment_or_none, (seen.last_entered_at, seen.judged_at, seen.holds_until, seen.quiet_from)
    )
    state = _state(seen, last, holds_until, now)
    if silent is None and quiet_from and seen.is_in_chain and seen.judged == seen.entries:
        is_quiet = now >= quiet_from
    else:
        is_quiet = last is not None and now - last > (silent or _USUAL_QUIET)
    quiet = Quiet.STOPPED if is_quiet else None
    if last and last - now > CLOCK_TOLERANCE:
        quiet = Quiet.AHEAD
    return Kitchen(seen.name, seen, state, quiet, last, judged_at, holds_until)


def _state(seen: Seen, last: datetime | None, holds_until: datetime | None, now: datetime) -> State:
    still_holds = holds_until is not None and holds_until >= now
    not_shown = (
        (not seen.entries, State.NO_ENTRY),
        (last is None, State.UNREADABLE),
        (seen.judged is None, State.NOT_JUDGED),
        (not seen.is_in_chain, State.ANOTHER_CHAIN),
        (seen.judged != seen.entries, State.ENTERED_SINCE),
        (not still_holds, State.DUE_SINCE),
    )
    return next((state for is_so, state in not_shown if is_so), State.SHOWN)


def _shares(counted: Sequence[Counted]) -> Shares:
    of = {by: [one for one in counted if one.by == by] for by in ("kitchen", "food", "method")}
    every = of["kitchen"]
    counts = (sum(one.met for one in every), sum(one.not_met for one in every))
    return Shares(
        all=_share(Counted("", "", *counts, sum(one.not_shown for one in every))),
        **{by: tuple(sorted(map(_share, ones), key=_worst_first)) for by, ones in of.items()},
    )


def _share(one: Counted) -> Share:
    low, high = interval(one.not_met, one.met + one.not_met + one.not_shown)
    return Share(one.name, one.met, one.not_met, one.not_shown, low, high)


def _worst_first(one: Share) -> tuple[float, int, int, str]:
    return -one.low, -one.not_met, -one.not_shown, one.name
