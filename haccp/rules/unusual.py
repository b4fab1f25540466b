"""Runs of entries that are worth a manager's look: what chance or honest work seldom makes.

Nothing here is an accusation: every look has innocent causes, and each sentence names one.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from fractions import Fraction
from itertools import groupby, pairwise
from math import comb, factorial, floor, prod
from typing import TypeVar

from haccp.temperature import Degree, Temperature

# The levels and least counts below are this project's own choice, no source; benchmarks/unusual.py
# measures on simulated logs what they let through.

# Honest repeats come in stretches (a quiet morning), so this test lists more than its level says:
# at 0.0001 a subject, up to 9 in 1000 weeks of six simulated steady units; at 0.00003 up to 3,
# and still 98 of 100 weeks in which one value was copied for three days.
SAME_VALUE_LEVEL = Fraction(3, 100_000)
# A shift of hourly checks; fewer equal values are "many" to nobody.
SAME_VALUE_FEWEST = 8

# Units with the same rush each noon, within half a degree: 4 in 1000 simulated weeks are listed.
SAME_DAY_LEVEL = Fraction(1, 100_000)
# What two looks at a unit show alike says nothing of a day.
SAME_DAY_FEWEST = 4

# Entered so long after it, a time is what somebody says, and not the clock.
TYPED_AFTER = timedelta(minutes=15)
# Whoever rounds to the half hour types one minute of two, and either may be the commoner one.
SAME_MINUTE_RATE = Fraction(1, 2)
SAME_MINUTE_LEVEL = Fraction(1, 10_000)
# An alarm has a round begin at one of three minutes; but for the full hour, one in two comes again.
SAME_TIMES_RATE = Fraction(1, 2)
SAME_TIMES_LEVEL = Fraction(1, 1000)

# Five deviations that were answered word for word alike, and hardly one in other words.
SAME_WORDS_FEWEST = 5
SAME_WORDS_SHARE = Fraction(4, 5)

# Nobody measures ten foods and types them within a minute, but a round of many units at one
# hour is one piece of work: only entries about hours of work count.
AT_ONCE_FEWEST = 10
AT_ONCE_WITHIN = timedelta(minutes=1)
AT_ONCE_ABOUT = timedelta(hours=3)

# One honest person in a thousand, for each week.
ROUND_LEVEL = Fraction(1, 1000)
# Two of the ten last digits.
ROUND_RATE = Fraction(1, 5)
# The least that a level of 0.001 can tell is five of five; one more than what is just enough.
ROUND_FEWEST = 6
# One turn of the last digit [degrees]: what moves less shows the unit's digits, not the person's.
ROUND_SPAN = 10

# The record's times are whole seconds of one clock: any time ahead of it was not read from it.
EARLY_BY = timedelta(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """A reading as noted. `ref` is its entry's number, `subject` the batch or unit, by its name.

    `taken_at` is the moment that it is about, in the kitchen's zone (its date tells days apart),
    `entered_at` when it was entered; both aware.
    """

    ref: str
    subject: str
    person: str
    taken_at: datetime
    entered_at: datetime
    temperature: Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class Acted:
    """What somebody wrote that was done about a deviation, at one moment, of whatever it was."""

    ref: str
    person: str
    at: datetime
    text: str


class Kind(StrEnum):
    SAME_VALUE = "same value"
    SAME_DAY = "same day again"
    SAME_MINUTE = "same minute"
    SAME_TIMES = "same times"
    SAME_WORDS = "same words"
    AT_ONCE = "entered at once"
    ROUND = "round values"
    EARLY = "noted early"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unusual:
    """Something to look at. `refs` are its entries, by the time that they are about.

    `about` is a subject for the same value and the same day, else a person. `count` of `among` is
    what stands out: readings of that value, days, rounds, acts, entries, round values among those
    that count. `chance` is the test's p-value, None where nothing is tested. `value` is the one
    repeated, `text` the minute or the words that are, `lasting` the time that entries made at once
    are about, or the most that one was early.
    """

    kind: Kind
    refs: tuple[str, ...]
    about: str
    count: int
    among: int
    chance: Fraction | None = None
    value: Temperature | None = None
    text: str = ""
    lasting: timedelta = timedelta(0)


def look(
    noted: Sequence[Noted],
    levels: AbstractSet[Temperature] = frozenset(),
    acted: Sequence[Acted] = (),
) -> tuple[Unusual, ...]:
    """Find what is worth a look among the readings, and the acts, of a week, in any order.

    `levels` are the limits' numbers in the degrees used: cooks note 135 on purpose, so values at
    them are left out where last digits are counted. The same readings give the same answer in
    any order. A value copied all week cannot be told from a steady unit. Of more than a week
    honest logs are listed too often: four weeks of creeping units in 4 cases of 100.
    """
    readings = sorted(noted, key=lambda one: (one.taken_at, one.entered_at, one.ref))
    people = _grouped(readings, lambda one: one.person)
    subjects = _grouped(readings, lambda one: one.subject)
    acts = sorted(acted, key=lambda one: (one.at, one.ref))
    return (
        *(it for some in subjects for it in _same_value(some)),
        *(it for some in subjects for it in _same_day(some)),
        *(it for some in people for it in _same_minute(some)),
        *(it for some in people for it in _same_times(some)),
        *(it for some in people for it in _at_once(some)),
        *(it for some in people for it in _round(some, levels)),
        *(it for some in people for it in _early(some)),
        *(it for some in _grouped(acts, lambda one: one.person) for it in _same_words(some)),
    )


_Thing = TypeVar("_Thing", Noted, Acted)


def binomial_tail(hits: int, trials: int, rate: Fraction) -> Fraction:
    """Give the chance of `hits` or more in independent trials, exactly: the binomial test's p."""
    yes, of = rate.numerator, rate.denominator
    ways = sum(
        comb(trials, k) * yes**k * (of - yes) ** (trials - k) for k in range(hits, trials + 1)
    )
    return Fraction(ways, of**trials)


def longest_run_chance(steps: int, repeats: int, run: int) -> Fraction:
    """Give the chance that `repeats` in random places among `steps` have `run` or more in a row.

    The others, m of them, leave m + 1 gaps for the repeats. All ways to fill them are counted and
    those with every gap below `run` taken away, by inclusion and exclusion; exact.
    Source: A. M. Mood, The distribution theory of runs, Ann. Math. Statist. 11 (1940) 367-392,
    for runs given the number of each kind.
    """
    others = steps - repeats
    every = comb(steps, repeats)
    short = sum(
        (-1) ** long * comb(others + 1, long) * comb(steps - long * run, others)
        for long in range(repeats // run + 1)
    )
    return Fraction(every - short, every)


def _grouped(things: Sequence[_Thing], key: Callable[[_Thing], Hashable]) -> list[list[_Thing]]:
    groups: dict[Hashable, list[_Thing]] = defaultdict(list)
    for one in things:
        groups[key(one)].append(one)
    return list(groups.values())


def _refs(things: Sequence[Noted] | Sequence[Acted]) -> tuple[str, ...]:
    return tuple(one.ref for one in things)


def _same_value(readings: Sequence[Noted]) -> Iterator[Unusual]:
    """Look at one subject for one value noted longer in a row than its own readings explain.

    A well stands at 141 for hours and a probe shows whole degrees, so how likely a repeat is, is
    not known beforehand. Given what the other readings are, each order is equally likely by
    chance, whatever that likelihood: nothing has to be estimated, and what never changes is never
    listed. Two orders are tried and the larger chance counts: that of repeats and changes from
    one reading to the next, which a slow drift explains, and that of this value among the
    others, which an opened door now and then explains.
    """
    runs = [tuple(run) for _, run in groupby(readings, key=lambda one: one.temperature)]
    times = Counter(one.temperature for one in readings)
    steps, repeats = len(readings) - 1, len(readings) - len(runs)
    for run in runs:
        if len(run) < SAME_VALUE_FEWEST:
            continue
        value = run[0].temperature
        chance = max(
            longest_run_chance(steps, repeats, len(run) - 1),
            longest_run_chance(len(readings), times[value], len(run)),
        )
        if chance <= SAME_VALUE_LEVEL:
            yield Unusual(
                kind=Kind.SAME_VALUE,
                refs=_refs(run),
                about=run[0].subject,
                count=times[value],
                among=len(readings),
                chance=chance,
                value=value,
            )


def same_order_chance(values: Sequence[Hashable], days: int, among: int) -> Fraction:
    """Bound the chance that so many `among` days have the values of one in its very order.

    Given which values a day has, each order of them is equally likely by chance; so all but the
    first of those days hit it by one in as many orders as there are, for each choice of the days.
    A day that never changes has one order.
    """
    orders = factorial(len(values)) // prod(factorial(n) for n in Counter(values).values())
    return min(Fraction(1), Fraction(comb(among, days), orders ** (days - 1)))


def _same_day(readings: Sequence[Noted]) -> Iterator[Unusual]:
    """Look at one subject for days with the same readings in the same order.

    A unit that warms up each noon has days that are alike too, but seldom to the degree.
    """
    days = _grouped(readings, lambda one: one.taken_at.date())
    alike = _grouped_days(days)
    for some in alike:
        values = [one.temperature for one in some[0]]
        if len(values) < SAME_DAY_FEWEST:
            continue
        chance = same_order_chance(values, len(some), len(days))
        if chance <= SAME_DAY_LEVEL:
            yield Unusual(
                kind=Kind.SAME_DAY,
                refs=tuple(one.ref for day in some for one in day),
                about=readings[0].subject,
                count=len(some),
                among=len(days),
                chance=chance,
                text=", ".join(str(one.temperature.value) for one in some[0]),
            )


def _grouped_days(days: Sequence[list[Noted]]) -> list[list[list[Noted]]]:
    alike: dict[tuple[Temperature, ...], list[list[Noted]]] = defaultdict(list)
    for day in days:
        alike[tuple(one.temperature for one in day)].append(day)
    return list(alike.values())


def _typed_times(readings: Sequence[Noted]) -> dict[datetime, list[Noted]]:
    """Give by their minute the readings whose time somebody typed: a round has one minute."""
    found: dict[datetime, list[Noted]] = defaultdict(list)
    for one in readings:
        if abs(one.entered_at - one.taken_at) > TYPED_AFTER:
            found[one.taken_at.replace(second=0, microsecond=0)].append(one)
    return found


def _same_minute(readings: Sequence[Noted]) -> Iterator[Unusual]:
    """Look at the times that one person typed for one minute of the hour, such as every :00.

    Exact one-sided binomial test, of hours in which a time was typed: as many as of one minute are
    expected of who rounds to the half hour; either of the two minutes may be the commoner one.
    """
    typed = _typed_times(readings)
    hours: dict[datetime, set[int]] = defaultdict(set)
    for moment in typed:
        hours[moment.replace(minute=0)].add(moment.minute)
    alone = Counter(minute for minutes in hours.values() if len(minutes) == 1 for minute in minutes)
    if not alone:
        return
    minute, count = max(alone.items(), key=lambda item: (item[1], -item[0]))
    chance = min(Fraction(1), 2 * binomial_tail(count, len(hours), SAME_MINUTE_RATE))
    if chance <= SAME_MINUTE_LEVEL:
        mine = [it for moment, some in typed.items() if moment.minute == minute for it in some]
        yield Unusual(
            kind=Kind.SAME_MINUTE,
            refs=_refs(mine),
            about=readings[0].person,
            count=count,
            among=len(hours),
            chance=chance,
            text=f":{minute:02}",
        )


def _same_times(readings: Sequence[Noted]) -> Iterator[Unusual]:
    """Look at the times that one person entered later for the minutes of the day before.

    Whole five minutes are rounded, and come again; of the other hours no more than half are
    expected to, as of somebody whom an alarm calls. An hour comes again if all subjects that were
    noted in it on both days have their minutes of the day before. Exact one-sided binomial test.
    """
    again: list[Noted] = []
    count = among = 0
    days = _grouped(
        [
            one
            for some in _typed_times(readings).values()
            for one in some
            if one.taken_at.minute % 5
        ],
        lambda one: one.taken_at.date(),
    )
    for before, day in pairwise(days):
        seen = {(one.subject, one.taken_at.hour): one.taken_at.minute for one in before}
        both = [one for one in day if (one.subject, one.taken_at.hour) in seen]
        for hour in _grouped(both, lambda one: one.taken_at.hour):
            among += 1
            if all(seen[one.subject, one.taken_at.hour] == one.taken_at.minute for one in hour):
                count += 1
                again += hour
    chance = binomial_tail(count, among, SAME_TIMES_RATE)
    if chance <= SAME_TIMES_LEVEL:
        yield Unusual(
            kind=Kind.SAME_TIMES,
            refs=_refs(again),
            about=readings[0].person,
            count=count,
            among=among,
            chance=chance,
        )


def _same_words(acts: Sequence[Acted]) -> Iterator[Unusual]:
    """Look at what one person wrote of deviations for the same words again and again.

    What was written of several foods at one moment is one act. Words follow no law of chance: this
    is a count, and no test.
    """
    apart = list({(one.at, _folded(one.text)): one for one in reversed(acts)}.values())[::-1]
    for some in _grouped(apart, lambda one: _folded(one.text)):
        if len(some) >= SAME_WORDS_FEWEST and len(some) >= SAME_WORDS_SHARE * len(apart):
            yield Unusual(
                kind=Kind.SAME_WORDS,
                refs=_refs(some),
                about=some[0].person,
                count=len(some),
                among=len(apart),
                text=some[0].text,
            )


def _folded(text: str) -> str:
    """Give words as whoever reads them takes them for the same: no capitals, stops or spaces."""
    return " ".join("".join(c if c.isalnum() else " " for c in text.casefold()).split())


def _at_once(readings: Sequence[Noted]) -> Iterator[Unusual]:
    """Look at one person's entries for many made within a minute about hours of work."""
    entered = sorted(readings, key=lambda one: one.entered_at)
    spans: list[tuple[int, int]] = []
    end = 0
    for start, first in enumerate(entered):
        before = end
        while end < len(entered) and entered[end].entered_at - first.entered_at <= AT_ONCE_WITHIN:
            end += 1
        if end == before or not _hours_of_work(entered[start:end]):
            continue
        overlaps = spans and start < spans[-1][1]
        spans.append((spans.pop()[0] if overlaps else start, end))
    for start, end in spans:
        some = sorted(entered[start:end], key=lambda one: one.taken_at)
        yield Unusual(
            kind=Kind.AT_ONCE,
            refs=_refs(some),
            about=some[0].person,
            count=len(some),
            among=len(readings),
            lasting=some[-1].taken_at - some[0].taken_at,
        )


def _hours_of_work(readings: Sequence[Noted]) -> bool:
    taken = [one.taken_at for one in readings]
    return len(taken) >= AT_ONCE_FEWEST and max(taken) - min(taken) >= AT_ONCE_ABOUT


def _round(readings: Sequence[Noted], levels: AbstractSet[Temperature]) -> Iterator[Unusual]:
    """Look at one person's values for more that end in 0 or 5 than two digits in ten make.

    Exact one-sided binomial test. Its trials should be independent, which readings are not: see
    `_telling` for those that count.
    """
    known = {(_whole(level), level.degree) for level in levels}
    sheets = _grouped(
        readings, lambda one: (one.subject, one.taken_at.date(), one.temperature.degree)
    )
    telling = [one for sheet in sheets for one in _telling(sheet, known)]
    ending = [one for one in telling if _ends_in_0_or_5(_whole(one.temperature))]
    if len(telling) < ROUND_FEWEST:
        return
    chance = binomial_tail(len(ending), len(telling), ROUND_RATE)
    if chance <= ROUND_LEVEL:
        yield Unusual(
            kind=Kind.ROUND,
            refs=_refs(sorted(ending, key=lambda one: one.taken_at)),
            about=readings[0].person,
            count=len(ending),
            among=len(telling),
            chance=chance,
        )


def _telling(sheet: Sequence[Noted], known: AbstractSet[tuple[int, Degree]]) -> list[Noted]:
    """Pick the readings whose last digit tells something, of one subject and day in one degree.

    A steady well shows one digit all day: each value counts once, and none of what moves less
    than `ROUND_SPAN`. Some numbers are meant: the limits' are left out, and so is the commonest
    of the others, of equally common ones a round one, as the unit's set point or the temperature
    that the cook went for. Of tenths the whole degrees count: their last digit has the same rate,
    and a probe that shows half degrees is no preference.
    """
    values = [_whole(one.temperature) for one in sheet]
    if max(values) - min(values) < ROUND_SPAN:
        return []
    free = {
        value: one
        for value, one in reversed(list(zip(values, sheet, strict=True)))
        if (value, one.temperature.degree) not in known
    }
    times = Counter(values)
    usual = max(free, key=lambda value: (times[value], _ends_in_0_or_5(value), value), default=None)
    return [one for value, one in free.items() if value != usual]


def _whole(temperature: Temperature) -> int:
    return floor(temperature.value)


def _ends_in_0_or_5(value: int) -> bool:
    return value % 5 == 0


def _early(readings: Sequence[Noted]) -> Iterator[Unusual]:
    """Look at one person's readings for those entered before the time that they are about."""
    early = [one for one in readings if one.taken_at - one.entered_at > EARLY_BY]
    if early:
        yield Unusual(
            kind=Kind.EARLY,
            refs=_refs(early),
            about=early[0].person,
            count=len(early),
            among=len(readings),
            lasting=max(one.taken_at - one.entered_at for one in early),
        )
