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
from itertools import groupby
from math import comb, floor

from haccp.language import message, phrase
from haccp.temperature import Degree, Temperature
from haccp.time import spell

# The levels and least counts below are this project's own choice, no source; benchmarks/unusual.py
# measures on simulated logs what they let through.

# Honest repeats come in stretches (a quiet morning), so this test lists more than its level says:
# at 0.0001 a subject, up to 9 in 1000 weeks of six simulated steady units; at 0.00003 up to 3,
# and still 98 of 100 weeks in which one value was copied for three days.
SAME_VALUE_LEVEL = Fraction(3, 100_000)
# A shift of hourly checks; fewer equal values are "many" to nobody.
SAME_VALUE_FEWEST = 8

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


class Kind(StrEnum):
    SAME_VALUE = "same value"
    AT_ONCE = "entered at once"
    ROUND = "round values"
    EARLY = "noted early"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unusual:
    """Something to look at. `refs` are its entries, by the time that they are about.

    `about` is a subject for the same value, else a person. `count` of `among` is what stands
    out: readings of that value, entries, round values among those that count.
    `chance` is the test's p-value, None where nothing is tested. `value` is the one repeated,
    `lasting` the time that entries made at once are about, or the most that one was early.
    """

    kind: Kind
    refs: tuple[str, ...]
    about: str
    count: int
    among: int
    chance: Fraction | None = None
    value: Temperature | None = None
    lasting: timedelta = timedelta(0)

    @property
    def words(self) -> str:
        """Say in plain words what there is to look at, by what test, and an innocent cause."""
        return _words(self)


def look(
    noted: Sequence[Noted], levels: AbstractSet[Temperature] = frozenset()
) -> tuple[Unusual, ...]:
    """Find what is worth a look among the readings of a week, in any order.

    `levels` are the limits' numbers in the degrees used: cooks note 135 on purpose, so values at
    them are left out where last digits are counted. The same readings give the same answer in
    any order. A value copied all week cannot be told from a steady unit. Of more than a week
    honest logs are listed too often: four weeks of creeping units in 4 cases of 100.
    """
    readings = sorted(noted, key=lambda one: (one.taken_at, one.entered_at, one.ref))
    people = _grouped(readings, lambda one: one.person)
    return (
        *(it for some in _grouped(readings, lambda one: one.subject) for it in _same_value(some)),
        *(it for some in people for it in _at_once(some)),
        *(it for some in people for it in _round(some, levels)),
        *(it for some in people for it in _early(some)),
    )


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


def _grouped(readings: Sequence[Noted], key: Callable[[Noted], Hashable]) -> list[list[Noted]]:
    groups: dict[Hashable, list[Noted]] = defaultdict(list)
    for one in readings:
        groups[key(one)].append(one)
    return list(groups.values())


def _refs(readings: Sequence[Noted]) -> tuple[str, ...]:
    return tuple(one.ref for one in readings)


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


def _words(it: Unusual) -> str:
    p = _number(it.chance) if it.chance is not None else ""
    match it.kind:
        case Kind.SAME_VALUE:
            return phrase(
                "Something to look at: {subject} was noted at {temp} {running} times running, in "
                "all {count} times in {among}; for how its readings repeat, so long a run is "
                "seldom chance (exact test of the longest run, p {p}, level {test_level}). A unit "
                "that was steady for a while does this too.",
                subject=it.about,
                temp=it.value,
                running=len(it.refs),
                count=it.count,
                among=it.among,
                p=p,
                test_level=_number(SAME_VALUE_LEVEL),
            )
        case Kind.AT_ONCE:
            return phrase(
                "Something to look at: {count} readings by {person}, about {duration} of work, "
                "were entered in a row, {fewest} or more of them within {time}. Notes copied from "
                "paper look like this too.",
                count=it.count,
                person=it.about,
                duration=spell(it.lasting),
                fewest=AT_ONCE_FEWEST,
                time=spell(AT_ONCE_WITHIN),
            )
        case Kind.ROUND:
            return phrase(
                "Something to look at: {count} of {among} values by {person} end in 0 or 5, where "
                "chance alone makes about {usual}; each value of a batch or unit counts once a "
                "day, limits and the usual value of a unit not at all (exact one-sided binomial "
                "test, p {p}, level {test_level}). A dial with a mark every 5 degrees does this "
                "too.",
                count=it.count,
                among=it.among,
                person=it.about,
                usual=f"{float(it.among * ROUND_RATE):.0f}",
                p=p,
                test_level=_number(ROUND_LEVEL),
            )
        case Kind.EARLY:
            return _early_words(it)


def _early_words(it: Unusual) -> str:
    by_minutes = message(
        "Something to look at: of {among} readings by {person}, {count} entered up to {duration} "
        "before the time noted. A kitchen clock that is ahead does this too."
    )
    by_seconds = message(
        "Something to look at: of {among} readings by {person}, {count} entered less than a "
        "minute before the time noted. A kitchen clock that is ahead does this too."
    )
    words = by_minutes if it.lasting >= timedelta(minutes=1) else by_seconds
    return phrase(
        words,
        among=it.among,
        person=it.about,
        count=it.count,
        duration=spell(it.lasting),
    )


def _number(chance: Fraction) -> str:
    """Write a p-value, to two digits and no smaller than a millionth: ``0.00002``."""
    if chance < Fraction(1, 1_000_000):
        return phrase("under 0.000001")
    return f"{float(f'{float(chance):.2g}'):.6f}".rstrip("0")
