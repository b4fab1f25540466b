"""A batch's last day, through freezing and any depth of what it was made from."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.lives import NOT_ANIMAL
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.places import keeps
from haccp.kitchen.reading import parts_of, read_with_parts
from haccp.kitchen.readings_as_evidence import reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.taken_back import taken_back
from haccp.kitchen.unreadable import as_far_as_shown, not_shown_for
from haccp.record.bodies import ContainerOpened, Frozen, Measured, Moved, TakenOut, Thawed
from haccp.record.entries import Entry, having, holds, told_at
from haccp.record.store import Record
from haccp.rules.account.steps import TRAITS, Keeps
from haccp.rules.datemark import last_day
from haccp.rules.evidence import Finding, Reason, Step, Verdict
from haccp.time import day_starts


def date_mark(record: Record, register: Register, code: str, now: datetime) -> date | None:
    """Give a batch's last day as of now, kept through any depth of what it was made from.

    None for food that was delivered, was neither prepared nor opened here and has no date of its
    maker's: the mark is for TCS food that is ready to eat.
    Source: Food Code 2022 3-501.17, 3-501.18.
    """
    batches = read_with_parts(record, [code])
    if batches[code].is_outside_the_limits:
        return None
    parts: dict[str, list[date]] = record.kept.setdefault(date_mark, {})
    for batch in _oldest_first(code, batches) if code not in parts else ():
        if batch.name not in parts:
            # what went into a batch had the mark that it had when that was made
            marks = [
                _mark(batches[part], parts[part], register, batch.opened.at)
                for part in parts_of(batch, batches)
            ]
            parts[batch.name] = [mark for mark in marks if mark]
    return _mark(batches[code], parts[code], register, now)


def _oldest_first(code: str, batches: Mapping[str, BatchOnRecord]) -> list[BatchOnRecord]:
    """Give a batch and, through any depth, what it comes from, in the order of their openings."""
    found: dict[str, None] = {code: None}
    wanted = [code]
    while wanted:
        every = [part for name in wanted for part in parts_of(batches[name], batches)]
        wanted = [part for part in dict.fromkeys(every) if part not in found]
        found |= dict.fromkeys(wanted)
    return sorted((batches[name] for name in found), key=lambda batch: batch.opened.seq)


def _mark(
    batch: BatchOnRecord, parts: Sequence[date], register: Register, now: datetime
) -> date | None:
    """Give the last day of a batch as of now, from the marks of what went into it."""
    body = batch.batch

    def local(moment: datetime) -> date:
        return moment.astimezone(register.zone).date()

    maker = [date.fromisoformat(body.use_by)] if body.use_by else []
    # a portion's own days begin after its batch's did: they decide where that was not touched yet
    made = day_one(batch, now)
    if made is None and not parts:
        return min(maker, default=None)
    limit = register.limits_at(batch.opened.at).get("date-mark")
    frozen = [(local(a), local(b) if b else None) for a, b in frozen_times(batch, register, now)]
    first = local(made) if made else None
    return min([last_day(first, parts, limit, frozen=frozen, today=local(now)), *maker])


def day_one(batch: BatchOnRecord, now: datetime) -> datetime | None:
    """Say when the first of its days began, as of now: 3-501.17(A), (B).

    Of food made here that is the earliest of its opening and its first reading, and so of what came
    hot; of another delivery when it was first cooked or prepared here, or its container opened.
    None for what was delivered and not touched since.
    """
    body = batch.batch
    read = [one for one in batch.readings if one.at <= now]
    if body.received_as in ("", "hot"):
        return min([batch.opened.at, *(one.at for one in read)])
    raw = body.food_kind not in NOT_ANIMAL
    touched = [one.at for one in read if _makes_ready(Step(one.body.step), raw=raw)]
    return min(filter(None, [*touched, _opened(batch, now)]), default=None)


def _opened(batch: BatchOnRecord, now: datetime) -> datetime | None:
    """Say when "the original container is opened", as of now: 3-501.17(B); None for exempt food.

    A commercial package that is divided, or that something is made of, is open, said or not.
    """
    body = batch.batch
    if body.date_mark_exempt:
        return None
    times = [said_open(batch, now)]
    if body.food_kind == "commercial package":
        times += [batch.opened.at] if body.portion_of else []
        times += [batch.went_on] if batch.went_on and batch.went_on <= now else []
    return min(filter(None, times), default=None)


def said_open(batch: BatchOnRecord, now: datetime) -> datetime | None:
    """Give the first moment at which its container was said to be opened, however late that was.

    Earlier is stricter, so what was said late counts for the moment that was said.
    """
    said = (entry.at for entry in having(batch.in_force, ContainerOpened))
    return min((at for at in said if at <= now), default=None)


def _makes_ready(step: Step, *, raw: bool) -> bool:
    """Whether a step leaves delivered food ready to eat; raw animal food is not before its cook."""
    traits = TRAITS[step]
    return traits.heats or traits.serves or (step is Step.PREPARE and not raw)


def frozen_times(
    batch: BatchOnRecord, register: Register, now: datetime
) -> list[tuple[datetime, datetime | None]]:
    """Give when a batch was frozen and thawed up to now; None for one that is still frozen.

    A freezing that was entered long after its moment counts from its entry, as an end does. What
    is read above the freezer's limit, is taken out or is moved into another kind of unit is thawed,
    whether anybody said so or not.
    """
    if not any(having(batch.in_force, Frozen)):
        return []
    told = {
        entry: told_at(entry) if isinstance(entry.body, Frozen) else entry.at
        for entry in batch.in_force
        if isinstance(entry.body, Frozen) or _thaws(entry, register)
    }
    times: list[tuple[datetime, datetime | None]] = []
    for entry, at in sorted(told.items(), key=lambda pair: pair[1]):
        still = bool(times) and times[-1][1] is None
        if at > now:
            break
        if isinstance(entry.body, Frozen) and not still:
            times.append((at, None))
        elif not isinstance(entry.body, Frozen) and still:
            times[-1] = (times[-1][0], at)
    return times


def _thaws(entry: Entry, register: Register) -> bool:
    if holds(entry, Measured):
        frozen = register.limits_at(entry.at).get("frozen-holding")
        return not frozen.kept_by(reading_of(entry, register).temperature)
    if isinstance(entry.body, Moved):
        name = entry.unit or ""
        known = name in register.units
        return not known or keeps(register.unit_at(name, entry.at)) is not Keeps.FROZEN
    return isinstance(entry.body, Thawed | TakenOut)


def is_frozen(batch: BatchOnRecord, register: Register, now: datetime) -> bool:
    times = frozen_times(batch, register, now)
    return bool(times) and times[-1][1] is None


def all_found(
    subject: OnRecord, record: Record, register: Register, as_of: datetime
) -> tuple[Finding, ...]:
    """Judge a batch or unit by its readings, and a batch by its days too.

    What a late correction would take back is there until a manager says otherwise.
    """
    stays = [one for one in taken_back([subject], register, as_of) if one.stays(register)]
    found = (
        *as_far_as_shown(subject, register, subject.judged(register, as_of)),
        *(one.finding for one in stays),
        *not_shown_for(subject, register),
    )
    if not isinstance(subject, BatchOnRecord):
        return found
    dated = past_its_day(record, register, subject, as_of)
    return (*found, dated) if dated else found


def past_its_day(
    record: Record, register: Register, batch: BatchOnRecord, as_of: datetime
) -> Finding | None:
    """Find that a batch is on its last day, or that something is left of it after that.

    Its days end as it is frozen or comes under time as a control; what was past them by then
    stays so. Source: Food Code 2022 3-501.18.
    """
    mark = date_mark(record, register, batch.name, as_of)
    if mark is None:
        return None
    frozen = [froze for froze, thawed in frozen_times(batch, register, as_of) if thawed is None]
    timed = batch.timed_since if batch.timed_since and batch.timed_since <= as_of else None
    stopped = [*frozen, *(moment for moment in (timed, batch.ended) if moment)]
    due = day_starts(mark + timedelta(days=1), register.zone)
    if min(stopped, default=as_of) > due:
        verdict, reason = Verdict.NOT_MET, Reason.PAST_ITS_DAY
    elif not stopped and as_of >= day_starts(mark, register.zone):
        verdict, reason = Verdict.OPEN, Reason.LAST_DAY
    else:
        return None
    return Finding(
        step=Step.COLD_HOLD,
        limit=register.limits_at(batch.opened.at).get("date-mark"),
        verdict=verdict,
        reason=reason,
        readings=(),
        due=due,
        longest=min([as_of, *stopped]) - due if verdict.is_deviation else None,
        since=due if verdict.is_deviation else None,
    )
