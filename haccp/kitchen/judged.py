"""What an officer sees of a kitchen: judged once, by the same rules, and how long that holds.

Nothing here is a verdict of its own. What is judged stands for the record up to its head, and only
for that; of what was judged before, only what the entries since then may change is judged anew.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta

from haccp.kitchen.hours import closed_times
from haccp.kitchen.learned import finished
from haccp.kitchen.naming import open_codes
from haccp.kitchen.register import Register
from haccp.kitchen.review import Matter, matters
from haccp.kitchen.watch import graces
from haccp.record.bodies import BatchOpened
from haccp.record.district import Cooling, Judged, Results, Undecided
from haccp.record.entries import having
from haccp.record.store import Record
from haccp.record.threads import batch_of, is_of_batches, opened_from, openings_from
from haccp.rules.evidence import Verdict
from haccp.time import day_starts, stored

_EVER = datetime.min.replace(tzinfo=UTC)
_DAY = timedelta(days=1)
# No kitchen is closed for longer without saying so by an entry. Common practice, no source.
_LONGEST_QUIET = timedelta(days=31)


def judge(
    record: Record,
    register: Register,
    before: Judged | None,
    version: str,
    now: datetime,
    branches: int = 0,
) -> Results:
    """Judge a record as it stands, as of now; what was judged `before` is not judged again.

    Of the coolings of batches that are not named in the results what was judged before still
    holds. The record is one that refuses what does not hold together (`Record.strict`); so many
    `branches` were kept beside it before it was read.
    """
    seq, digest = record.head()
    limits = register.limits_at(now)
    by = f"{limits.id}.{limits.revision} {limits.digest[:12]}"
    goes_on = before is not None and (before.limits, before.version) == (by, version)
    touched = _touched(record, before.seq) if goes_on and before else None
    codes = touched if touched is not None else {one.code for one in record.every_batch()}
    there = matters(record, register, now)
    last = record.numbered((seq,))[-1]
    return Results(
        judged=Judged(
            seq=seq,
            digest=digest,
            limits=by,
            version=version,
            judged_at=stored(now),
            holds_until=stored(_holds_until(there, register, now)),
            quiet_from=stored(quiet_from(register, last.entered_at)),
            branches=branches,
        ),
        undecided=tuple(_undecided(there)),
        batches=None if touched is None else tuple(sorted(touched)),
        coolings=tuple(_coolings(record, register, sorted(codes), now)),
    )


def _touched(record: Record, after: int) -> set[str] | None:
    """Name the batches whose coolings may be otherwise by now; None where any batch's may be.

    Those are what was left then and what was entered about since, and all that was made of it.
    What was left then and is not now has ended since, by an entry about it.
    """
    found = set(open_codes(record))
    for names, reaches_back in record.threads_after(after):
        about = {code for name in names for code in (batch_of(name), opened_from(name)) if code}
        if reaches_back and not (about and all(map(is_of_batches, names))):
            return None
        found |= about
    new = found
    while new:
        made = having(record.about(*map(openings_from, new)), BatchOpened)
        new = {one.batch for one in made if one.batch} - found
        found |= new
    return found


def _undecided(there: Iterable[Matter]) -> Iterator[Undecided]:
    """Pick what is a deviation that nobody decided, or cannot be read, or was taken back."""
    for one in there:
        if one.finding and one.finding.verdict.is_deviation:
            limit = one.finding.limit
            since = stored(one.finding.since) if one.finding.since else None
            yield Undecided(one.name, str(one.finding.verdict), limit.name, limit.citation, since)
        elif one.branch:
            name = f"branch {one.name}"
            yield Undecided(name, str(one.verdict), "", "", stored(one.branch.since))
        elif one.verdict:
            since = stored(one.due) if one.due else None
            yield Undecided(one.name, str(one.verdict), "", "", since)


def _holds_until(there: Iterable[Matter], register: Register, now: datetime) -> datetime:
    """Give the last moment before something may come to be undecided though nothing is entered.

    That is where the first of what is open, or of the next checks, is due or its grace is over:
    what is done at that very moment is in time. And it is where the kitchen's day ends, with which
    date marks run out and what is long past is told no more.
    """
    tomorrow: date = now.astimezone(register.zone).date() + _DAY
    late = {timedelta(0), *graces(register)}
    moments = [one.due + grace for one in there if one.due for grace in late]
    ends = day_starts(tomorrow, register.zone) - timedelta(seconds=1)
    return min(m for m in (max(ends, now), *moments) if m >= now)


def quiet_from(register: Register, last: datetime) -> datetime:
    """Say when nothing was entered after a moment for longer than the kitchen's hours allow.

    That is where an opening that begins after it has ended with nothing entered; one that lasts
    for more than a day, as of a kitchen that states no hours, is over after a day.
    """
    until = last + _LONGEST_QUIET
    opens = last
    for begins, ends in (*closed_times(register, last, until), (until, until)):
        if begins - opens >= _DAY:
            return opens + _DAY
        if last < opens < begins:
            return begins
        opens = max(opens, ends)
    return until


def _coolings(
    record: Record, register: Register, codes: list[str], now: datetime
) -> Iterator[Cooling]:
    """Give the coolings of batches that are over, but for those that were broken off."""
    number: dict[str, int] = {}
    for one in finished(record, register, codes, _EVER, now, lambda _: None):
        if one.verdict is Verdict.STOPPED:
            continue
        number[one.batch] = number.get(one.batch, 0) + 1
        month = f"{one.began.astimezone(register.zone):%Y-%m}"
        food, method = one.manner.food.casefold(), one.manner.method
        yield Cooling(one.batch, number[one.batch], month, food, method, str(one.verdict))
