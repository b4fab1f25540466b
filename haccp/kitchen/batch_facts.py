"""What is known about a batch beside its readings, in words for the terminal and for paper."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import date_mark, frozen_times, is_frozen
from haccp.kitchen.register import Register, accepted_words
from haccp.language import counted, message, phrase
from haccp.phrases import ranging, with_article
from haccp.record.bodies import Assessed, BatchOpened, CoolingSetup, OvenAccepted
from haccp.record.entries import Entry, having
from haccp.record.store import Record
from haccp.rules.account_in_words import line
from haccp.rules.asked import ShowMoment
from haccp.rules.datemark import EXEMPT
from haccp.rules.evidence import WHOLE_ROAST, Reading, Step
from haccp.rules.exposure import time_between
from haccp.rules.lethality import come_up, lethality
from haccp.rules.tcs import Result
from haccp.time import day_starts, short_day, spell

# What is judged by the air around it: 3-202.11(C), 3-501.16(B).
EGGS = message("raw shell eggs, by the air around them")
# In what state something was delivered.
_DELIVERED = {
    "egg": message("as raw shell eggs, by the air around them"),
    "hot": message("hot"),
    "cold": message("cold"),
    "frozen": message("frozen"),
}


def about(
    subject: BatchOnRecord, record: Record, register: Register, now: datetime, when: ShowMoment
) -> Iterator[tuple[str, str]]:
    """Tell a batch's facts as of a moment, each under its name; `when` shows a moment."""
    yield from _said(subject, register, when)
    lines = (line(told, when, register.zone) for told in subject.ways_told(register, now))
    yield from ((phrase("Account"), words) for words in dict.fromkeys(lines))
    yield from _dated(subject, record, register, now)
    for frozen, thawed in frozen_times(subject, register, now):
        since = with_article(when(frozen))
        if thawed:
            until = with_article(when(thawed))
            told = phrase("from {since} until {until}", since=since, until=until)
        else:
            told = phrase("since {since}", since=since)
            left = _left(subject, record, register, now)
            told = "; ".join(filter(None, (told, left)))
        yield phrase("Frozen"), told
    assessed = [one.body for one in having(subject.in_force, Assessed)]
    if assessed:
        yield phrase("TCS food"), _assessed(assessed[-1])
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
        use_by = message("use by {day} ({citation})")
        yield phrase("Date mark"), phrase(use_by, day=short_day(mark), citation=limit.citation)


def _days_once_thawed(
    subject: BatchOnRecord, record: Record, register: Register, now: datetime
) -> int | None:
    """Count the days for which frozen food may be used once it is thawed: 3-501.17, 3-501.18.

    Counted from tomorrow, which may be any later day: on the day of freezing itself one is spent.
    None where no days are counted.
    """
    if subject.timed_since or subject.batch.use_by:
        return None
    thawed = now.astimezone(register.zone).date() + timedelta(days=1)
    mark = date_mark(record, register, subject.name, day_starts(thawed, register.zone))
    if mark is None:
        return None
    return max((mark - thawed).days + 1, 0)


def left_once_thawed(
    subject: BatchOnRecord, record: Record, register: Register, now: datetime
) -> str:
    """Say for how many days frozen food may be used once it is thawed; empty where none count."""
    left = _days_once_thawed(subject, record, register, now)
    if left is None:
        return ""
    if left == 0:
        return phrase("no days left once thawed")
    return counted("{count} day left once thawed", "{count} days left once thawed", left)


def _left(subject: BatchOnRecord, record: Record, register: Register, now: datetime) -> str:
    left = _days_once_thawed(subject, record, register, now)
    if left is None:
        return ""
    citation = register.limits_at(subject.opened.at).get("date-mark").citation
    if left == 0:
        return phrase("no days left once thawed ({citation})", citation=citation)
    return counted(
        "{count} day left once thawed, the day of thawing being the first ({citation})",
        "{count} days left once thawed, the day of thawing being the first ({citation})",
        left,
        citation=citation,
    )


def _said(
    subject: BatchOnRecord, register: Register, when: ShowMoment
) -> Iterator[tuple[str, str]]:
    """Tell what was said of a batch when it was opened."""
    batch, opened = subject.batch, subject.opened
    said = phrase("{moment} by {person}", moment=when(opened.at), person=opened.person)
    exempt = EXEMPT.get(batch.date_mark_exempt)
    facts = {
        phrase("Received") if batch.received_as else phrase("Opened"): said,
        phrase("Delivered"): _delivered(batch),
        phrase("Exempt"): exempt
        and phrase("from a date mark as {food}; what is made of it is marked", food=exempt),
        phrase("Amount"): batch.amount,
        phrase("Kind"): batch.food_kind,
        phrase("Oven"): _oven(batch, register.accepted(batch.oven, opened.at)),
        phrase("Prepared"): batch.ambient and phrase("from ingredients at room temperature"),
        phrase("Served"): ", ".join(_served(batch)),
        _portion(batch.portion_of): ", ".join(batch.portion_of),
        phrase("Made from"): ", ".join(batch.made_from),
    }
    yield from ((name, words) for name, words in facts.items() if words)


def _delivered(batch: BatchOpened) -> str:
    """Say in what state it was delivered, from whom, and by what law warmer than else."""
    if not batch.received_as:
        return ""
    state = phrase(_DELIVERED[batch.received_as])
    if batch.supplier:
        state = phrase("{state}, from {supplier}", state=state, supplier=batch.supplier)
    if batch.by_law:
        return phrase("{state}; may arrive warmer by {law}", state=state, law=batch.by_law)
    return state


def _oven(batch: BatchOpened, letter: Entry[OvenAccepted] | None) -> str:
    oven = batch.oven
    if oven and batch.weight_lb:
        weight = batch.weight_lb
        oven = phrase("{oven}, roast of {weight} lb", oven=oven, weight=weight)
    return "; ".join([oven, accepted_words(letter.body)]) if letter else oven


def _served(batch: BatchOpened) -> Iterator[str]:
    if batch.undercooked:
        yield phrase("raw or undercooked, with the advisory (3-603.11)")
    if batch.to_order:
        yield phrase("at once, to an individual order (3-403.10)")


def _portion(parts: Sequence[str]) -> str:
    return phrase("Put together from") if len(parts) > 1 else phrase("Taken from")


def told_setup(body: CoolingSetup) -> str:
    """Say how a batch cools, as it was entered."""
    depth = phrase("{depth} in deep", depth=body.depth_in) if body.depth_in else ""
    nature = "" if body.nature in body.method else body.nature
    told = (body.method, nature, body.container, depth, _air(body))
    return ", ".join(one for one in told if one)


def _air(body: CoolingSetup) -> str:
    if not body.air:
        return ""
    return phrase("around it {air}", air=ranging(body.air, body.air_to or body.air))


def _assessed(body: Assessed) -> str:
    measured = []
    if body.ph:
        measured.append(phrase("pH {ph}", ph=body.ph))
    if body.water_activity:
        measured.append(
            phrase("water activity {water_activity}", water_activity=body.water_activity)
        )
    table = "A" if body.heat_treated and body.packaged else "B"
    is_free = body.result == Result.NON_TCS
    words = (
        message("non-TCS by 1-201.10 Table {table} ({measured})")
        if is_free
        else message("product assessment by 1-201.10 Table {table} ({measured})")
    )
    return phrase(words, table=table, measured=", ".join(measured))


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
        name = phrase(
            "Between {cold} and {hot}",
            cold=cold.number(register.degree),
            hot=f"{hot.number(register.degree)} °{register.degree}",
        )
        lasted = _bounds(between.shortest, between.longest)
        yield name, phrase("{duration} (information)", duration=lasted)
    if subject.batch.food_kind != WHOLE_ROAST:
        return
    cooked = [one for one in readings if one.step is Step.COOK]
    heat = lethality(cooked) if cooked else None
    if heat and heat.minutes:
        yield phrase("Heat"), heat.words.rstrip(".")
    rise = come_up(cooked) if cooked else None
    if rise and rise.longest != timedelta(0) and (rise.shortest or rise.longest):
        took = _bounds(rise.shortest, rise.longest)
        yield phrase("From 50 to 130 °F"), phrase(_GUIDANCE[rise.keeps_guidance], duration=took)


# Whether a roast's rise keeps the guidance.
_GUIDANCE = {
    True: message(
        "{duration}, within the 6 h of federal guidance for inspected plants "
        "(from memory; no limit here)"
    ),
    False: message(
        "{duration}, more than the 6 h of federal guidance for inspected plants "
        "(from memory; no limit here)"
    ),
    None: message(
        "{duration}, not shown to be within the 6 h of federal guidance for inspected plants "
        "(from memory; no limit here)"
    ),
}


def _bounds(shortest: timedelta, longest: timedelta | None) -> str:
    if longest is None:
        return phrase("at least {shortest}", shortest=spell(shortest))
    least, most = spell(shortest), spell(longest)
    if least == most:
        return most
    if shortest:
        return phrase("{shortest} to {longest}", shortest=least, longest=most)
    return phrase("at most {longest}", longest=most)
