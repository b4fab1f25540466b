"""What is known about a batch beside its readings, in words for the terminal and for paper."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import date_mark, frozen_times, is_frozen
from haccp.kitchen.register import Register, accepted_words
from haccp.record.entries import Assessed, CoolingSetup, having
from haccp.record.store import Record
from haccp.rules.account_in_words import line
from haccp.rules.asked import ShowMoment
from haccp.rules.datemark import EXEMPT
from haccp.rules.evidence import WHOLE_ROAST, Reading, Step
from haccp.rules.exposure import time_between
from haccp.rules.lethality import come_up, lethality
from haccp.time import day_starts, short_day, spell

# What is judged by the air around it: 3-202.11(C), 3-501.16(B).
EGGS = "raw shell eggs, by the air around them"
# In what state something was delivered, where that is not a word of its own.
_DELIVERED = {"egg": f"as {EGGS}"}


def about(
    subject: BatchOnRecord, record: Record, register: Register, now: datetime, when: ShowMoment
) -> Iterator[tuple[str, str]]:
    """Tell a batch's facts as of a moment, each under its name; `when` shows a moment."""
    yield from _said(subject, register, when)
    lines = (line(told, when, register.zone) for told in subject.ways_told(register, now))
    yield from (("Account", words) for words in dict.fromkeys(lines))
    yield from _dated(subject, record, register, now)
    for frozen, thawed in frozen_times(subject, register, now):
        if thawed:
            yield "Frozen", f"from {when(frozen)} until {when(thawed)}"
        else:
            yield "Frozen", f"since {when(frozen)}{_left(subject, record, register, now)}"
    assessed = [one.body for one in having(subject.in_force, Assessed)]
    if assessed:
        yield "TCS food", _assessed(assessed[-1])
    # of what was put together from several batches, each is told of by itself
    heats = [_heat(subject, line, register) for line in subject.lines_of_evidence(register)]
    yield from dict.fromkeys(fact for heat in heats for fact in heat)


def _dated(
    subject: BatchOnRecord, record: Record, register: Register, now: datetime
) -> Iterator[tuple[str, str]]:
    """Tell the last day of a batch, unless it stands still; a maker's date never does."""
    mark = date_mark(record, register, subject.name, now)
    stands_still = is_frozen(subject, register, now) and not subject.batch.use_by
    if mark and subject.timed_since is None and not stands_still:
        limit = register.limits_at(subject.opened.at).get("date-mark")
        yield "Date mark", f"use by {short_day(mark)} ({limit.citation})"


def left_once_thawed(
    subject: BatchOnRecord, record: Record, register: Register, now: datetime
) -> str:
    """Say for how many days frozen food may be used once it is thawed: 3-501.17, 3-501.18.

    Counted from tomorrow, which may be any later day: on the day of freezing itself one is spent.
    Empty where no days are counted.
    """
    if subject.timed_since or subject.batch.use_by:
        return ""
    thawed = now.astimezone(register.zone).date() + timedelta(days=1)
    mark = date_mark(record, register, subject.name, day_starts(thawed, register.zone))
    if mark is None:
        return ""
    left = max((mark - thawed).days + 1, 0)
    return f"{left or 'no'} day{'s' * (left != 1)} left once thawed"


def _left(subject: BatchOnRecord, record: Record, register: Register, now: datetime) -> str:
    left = left_once_thawed(subject, record, register, now)
    if not left:
        return ""
    counted = "" if left.startswith("no ") else ", the day of thawing being the first"
    citation = register.limits_at(subject.opened.at).get("date-mark").citation
    return f"; {left}{counted} ({citation})"


def _said(
    subject: BatchOnRecord, register: Register, when: ShowMoment
) -> Iterator[tuple[str, str]]:
    """Tell what was said of a batch when it was opened."""
    batch, opened = subject.batch, subject.opened
    delivered = _DELIVERED.get(batch.received_as, batch.received_as)
    supplier = f", from {batch.supplier}" if batch.supplier else ""
    law = f"; may arrive warmer by {batch.by_law}" if batch.by_law else ""
    weight = f", roast of {batch.weight_lb} lb" if batch.weight_lb else ""
    letter = register.accepted(batch.oven, opened.at)
    exempt = EXEMPT.get(batch.date_mark_exempt)
    accepted = f"; {accepted_words(letter.body)}" if letter else ""
    facts = {
        "Received" if batch.received_as else "Opened": f"{when(opened.at)} by {opened.person}",
        "Delivered": f"{delivered}{supplier}{law}" if batch.received_as else "",
        "Exempt": f"from a date mark as {exempt}; what is made of it is marked" if exempt else "",
        "Amount": batch.amount,
        "Kind": batch.food_kind,
        "Oven": f"{batch.oven}{weight}{accepted}" if batch.oven else "",
        "Prepared": "from ingredients at room temperature" if batch.ambient else "",
        "Served": ", ".join(
            words
            for words, said in (
                ("raw or undercooked, with the advisory (3-603.11)", batch.undercooked),
                ("at once, to an individual order (3-403.10)", batch.to_order),
            )
            if said
        ),
        _portion(batch.portion_of): ", ".join(batch.portion_of),
        "Made from": ", ".join(batch.made_from),
    }
    yield from ((name, words) for name, words in facts.items() if words)


def _portion(parts: Sequence[str]) -> str:
    return "Put together from" if len(parts) > 1 else "Taken from"


def told_setup(body: CoolingSetup) -> str:
    """Say how a batch cools, as it was entered."""
    air = f"around it {body.air}{f' to {body.air_to}' if body.air_to else ''}" if body.air else ""
    depth = f"{body.depth_in} in deep" if body.depth_in else ""
    told = (body.method, body.nature, body.container, depth, air)
    return ", ".join(one for one in told if one)


def _assessed(body: Assessed) -> str:
    known = [("pH", body.ph), ("water activity", body.water_activity)]
    measured = ", ".join(f"{name} {value}" for name, value in known if value)
    table = "A" if body.heat_treated and body.packaged else "B"
    return f"{body.result} by 1-201.10 Table {table} ({measured})"


def _heat(
    subject: BatchOnRecord, readings: tuple[Reading, ...], register: Register
) -> Iterator[tuple[str, str]]:
    """Tell how long it was neither cold nor hot, and what the heat of a roast amounts to."""
    if not readings:
        return
    limits = register.limits_at(readings[0].at)
    cold, hot = limits.get("cold-holding").level, limits.get("hot-holding").level
    between = time_between(sorted(readings, key=lambda one: one.at), cold, hot)
    if between and between.longest:
        span = (
            f"{cold.number(register.degree)} and {hot.number(register.degree)} °{register.degree}"
        )
        yield f"Between {span}", _bounds(between.shortest, between.longest) + " (information)"
    if subject.batch.food_kind != WHOLE_ROAST:
        return
    cooked = [one for one in readings if one.step is Step.COOK]
    heat = lethality(cooked) if cooked else None
    if heat and heat.minutes:
        yield "Heat", heat.words.rstrip(".")
    rise = come_up(cooked) if cooked else None
    if rise and rise.longest != timedelta(0) and (rise.shortest or rise.longest):
        guidance = {
            True: "within the 6 h",
            False: "more than the 6 h",
            None: "not shown to be within the 6 h",
        }[rise.keeps_guidance]
        took = f"{_bounds(rise.shortest, rise.longest)}, {guidance} of federal guidance for"
        yield "From 50 to 130 °F", f"{took} inspected plants (from memory; no limit here)"


def _bounds(shortest: timedelta, longest: timedelta | None) -> str:
    if longest is None:
        return f"at least {spell(shortest)}"
    least, most = spell(shortest), spell(longest)
    if least == most:
        return most
    return f"{least} to {most}" if shortest else f"at most {most}"
