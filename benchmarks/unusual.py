"""Measures how often haccp/rules/unusual.py lists honest weeks, and how often invented ones.

    python benchmarks/unusual.py [WEEKS] [SEED]

Every log here is invented: a seeded generator makes weeks of one person's entries, honest as
kitchens of several kinds write them and made up in several ways. "Honest" is what the generator
calls so; the amounts by which its foods drift are guesses (common practice, no source).
"""

import math
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from random import Random

from haccp.rules.unusual import Acted, Kind, Noted, look
from haccp.temperature import Degree, Temperature

MONDAY = datetime(2026, 1, 5, tzinfo=UTC)
LEVELS = frozenset(
    Temperature(Decimal(number), Degree.F) for number in (41, 70, 135, 145, 155, 158, 165)
)
HOT, COLD = (140, 145, 150, 160), (35, 38, 40)
Week = list[Noted]
Log = Week | list[Acted]
Drift = Callable[[Random, float], Iterator[float]]


def noted(
    random: Random,
    subject: str,
    at: datetime,
    shown: float,
    step: str = "1",
    degree: Degree = Degree.F,
) -> Noted:
    """Write down what a probe with this step shows, as a rule within a minute or two."""
    probe = Decimal(step)
    value = (Decimal(shown) / probe).quantize(Decimal(1)) * probe
    late = timedelta(seconds=random.randint(5, 150))
    return Noted(
        ref="",
        subject=subject,
        person="AR",
        taken_at=at,
        entered_at=at + late,
        temperature=Temperature(value, degree),
    )


def drifting(
    random: Random, level: float, swing: float = 2, memory: float = 0.6
) -> Iterator[float]:
    """A well that is stirred and refilled: deviations of `swing` [degrees], dying away slowly."""
    off = random.gauss(0, swing)
    while True:
        yield level + off
        off = memory * off + random.gauss(0, swing * math.sqrt(1 - memory**2))


def steady(random: Random, level: float) -> Iterator[float]:
    return drifting(random, level, 0.4, 0.9)


def creeping(random: Random, level: float) -> Iterator[float]:
    return drifting(random, level, 0.6, 0.97)


def slow(random: Random, level: float) -> Iterator[float]:
    return drifting(random, level, 3, 0.97)


def still(random: Random, level: float) -> Iterator[float]:
    """A display that shows its set point but for an opened door now and then."""
    while True:
        yield level if random.random() < 0.93 else level + random.uniform(-12, 12)


def cycling(random: Random, level: float) -> Iterator[float]:
    while True:
        yield level + 5 * math.sin(random.uniform(0, 2 * math.pi))


def rushed(random: Random, level: float) -> Iterator[float]:
    """Quiet but for the two checks of the lunch rush, of the eight in a day."""
    while True:
        for check in range(8):
            yield level + random.gauss(0, 4 if check in (3, 4) else 0.3)


def same_noon(random: Random, level: float) -> Iterator[float]:
    """A cooler that the same deliveries warm at the same hours each day."""
    while True:
        yield from (level + warm + random.gauss(0, 0.5) for warm in (0, 0, 1, 3, 2, 1, 0, 0))


def by_load(random: Random, level: float) -> Iterator[float]:
    """A box that is loaded anew for each half day and holds that load steadily where it came."""
    while True:
        load = steady(random, level + random.uniform(-8, 25))
        yield from (next(load) for _ in range(4))


def quiet_days(random: Random, level: float) -> Iterator[float]:
    """A unit that nobody opens on the last two of the six days."""
    busy, quiet = drifting(random, level), drifting(random, level, 0.1)
    while True:
        yield from (next(busy) for _ in range(4 * 8))
        yield from (next(quiet) for _ in range(2 * 8))


def held(
    random: Random,
    drift: Drift,
    settings: tuple[int, ...] = HOT + COLD[:2],
    step: str = "1",
    degree: Degree = Degree.F,
    days: int = 6,
) -> Week:
    """Check units eight times on each of the days."""
    week = []
    for number, setting in enumerate(settings):
        values = drift(random, setting)
        for day in range(days):
            for check in range(8):
                at = MONDAY + timedelta(days=day, hours=9 + check, minutes=random.randint(0, 8))
                week.append(noted(random, f"unit {number}", at, next(values), step, degree))
    return week


def cooled(random: Random, step: str = "1") -> Week:
    """Cool two batches a day, noted at 135 when the clock starts and then every 40 min or so."""
    week = []
    for number in range(12):
        at = MONDAY + timedelta(days=number // 2, hours=10 + 4 * (number % 2))
        room, rate = 34.0, random.uniform(0.5, 0.9)
        hours = 0.0
        shown = 135.0
        while shown > 41 and hours < 6:
            shown = room + (135 - room) * math.exp(-rate * hours)
            moment = at + timedelta(hours=hours)
            week.append(noted(random, f"batch {number}", moment, shown, step))
            hours += random.uniform(0.4, 0.9)
        cooked = at - timedelta(minutes=random.randint(20, 60))
        week.append(
            noted(
                random,
                f"batch {number}",
                cooked,
                random.choice((165, 190, random.uniform(166, 206))),
                step,
            )
        )
    return week


def kitchen(random: Random, drift: Drift = drifting, step: str = "1") -> Week:
    return held(random, drift, step=step) + cooled(random, step)


def caught_up(random: Random) -> Week:
    """Notes of a rush that are typed three or four at a time."""
    week = sorted(kitchen(random), key=lambda one: one.taken_at)
    for first in range(0, len(week), 12):
        some = range(first, min(first + 4, len(week)))
        end = max(week[i].entered_at for i in some)
        for i in some:
            week[i] = replace(week[i], entered_at=end + timedelta(seconds=8 * (i - first)))
    return week


def entered_later(random: Random, week: Week, step: int = 1) -> Week:
    """Enter each round twenty minutes to four hours later, its time rounded to the step [min]."""
    ends: dict[datetime, datetime] = {}
    for one in week:
        hour = one.taken_at.replace(minute=0)
        ends.setdefault(hour, hour + timedelta(minutes=random.uniform(80, 240)))
    return [
        replace(
            one,
            taken_at=rounded_to(one.taken_at, step),
            entered_at=ends[one.taken_at.replace(minute=0)]
            + timedelta(seconds=random.randint(70, 600)),
        )
        for one in week
    ]


def rounded_to(moment: datetime, step: int) -> datetime:
    minutes = step * round(moment.minute / step)
    return moment.replace(minute=0) + timedelta(minutes=minutes)


def at_any_minute(random: Random, week: Week) -> Week:
    """Rounds that begin when there is time, each at a minute of its own."""
    begins: dict[datetime, int] = {}
    for one in week:
        begins.setdefault(one.taken_at.replace(minute=0), random.randint(0, 50))
    return [
        replace(
            one,
            taken_at=one.taken_at + timedelta(minutes=begins[one.taken_at.replace(minute=0)]),
        )
        for one in week
    ]


def by_alarm(random: Random, week: Week) -> Week:
    """Rounds that an alarm calls: all of a round at one minute, at most two after the hour."""
    late: dict[datetime, int] = {}
    for one in week:
        late.setdefault(one.taken_at.replace(minute=0), random.randint(0, 2))
    return [
        replace(one, taken_at=one.taken_at.replace(minute=late[one.taken_at.replace(minute=0)]))
        for one in week
    ]


# What somebody writes of a deviation: guesses, no source; the commonest come more often.
PHRASES = (
    "turned up, stirred",
    "element turned up, 141 after",
    "reheated to 167",
    "discarded, over 2 h",
    "lid put back, 138 after",
    "moved to well-3",
    "door closed, 40 after",
    "called the service",
)


def acted(random: Random, most: int = 9) -> list[Acted]:
    """Honest words: of a few that are at hand, and every other time with what was measured."""
    acts = []
    for n in range(random.randint(0, most)):
        text = random.choices(PHRASES, [1 / (k + 1) for k in range(len(PHRASES))])[0]
        if random.random() < 0.5:
            text = f"{text}, {random.randint(136, 150)}"
        at = MONDAY + timedelta(days=random.randint(0, 5), hours=random.randint(9, 17))
        acts.append(Acted(ref=f"a{n}", person="AR", at=at, text=text))
    return acts


def alike(random: Random, text: str, fewest: int = 5) -> list[Acted]:
    return [replace(one, text=text) for one in numbered_acts(random, random.randint(fewest, 12))]


def numbered_acts(random: Random, count: int) -> list[Acted]:
    return [
        Acted(
            ref=f"a{n}",
            person="AR",
            at=MONDAY + timedelta(hours=9 + 12 * n, minutes=random.randint(0, 59)),
            text="",
        )
        for n in range(count)
    ]


HONEST: dict[str, Callable[[Random], Log]] = {
    "whole degrees, drifting units, coolings": kitchen,
    "tenths, drifting units, coolings": lambda r: kitchen(r, step="0.1"),
    "half degrees, drifting units, coolings": lambda r: kitchen(r, step="0.5"),
    "whole degrees, steady units": lambda r: held(r, steady),
    "tenths, steady units": lambda r: held(r, steady, step="0.1"),
    "displays still at round set points": lambda r: held(r, still, (140, 145, 150, 160, 35, 40, 0)),
    "whole degrees, creeping steady units": lambda r: held(r, creeping),
    "slowly drifting units": lambda r: held(r, slow),
    "cycling thermostats": lambda r: held(r, cycling),
    "quiet units, a rush at noon": lambda r: held(r, rushed),
    "the same noon each day": lambda r: held(r, same_noon),
    "a new load each half day": lambda r: held(r, by_load, (140, 140, 140)),
    "20 refrigerators, whole degrees": lambda r: held(r, drifting, (37,) * 20),
    "whole °C": lambda r: held(r, drifting, (60, 63, 65, 70, 3, 4), degree=Degree.C),
    "coolings alone": cooled,
    "entries caught up after a rush": caught_up,
    "entered later, minutes as they were": lambda r: entered_later(r, kitchen(r)),
    "entered later, rounds at any minute": lambda r: entered_later(r, at_any_minute(r, kitchen(r))),
    "entered later, to five minutes": lambda r: entered_later(r, at_any_minute(r, kitchen(r)), 5),
    "entered later, to a quarter hour": lambda r: entered_later(
        r, at_any_minute(r, kitchen(r)), 15
    ),
    "entered later, to half an hour": lambda r: entered_later(r, at_any_minute(r, kitchen(r)), 30),
    "entered later, rounds by an alarm": lambda r: entered_later(r, by_alarm(r, kitchen(r))),
    "what was done, in few words": acted,
}

# What a finding does not prove: most of these write what the looks are for, and over four weeks
# stretches of honest repeats grow too long for a test that is made for one.
STILL_LISTED: dict[str, Callable[[Random], Log]] = {
    "a sheet with a line for each hour, typed later": lambda r: entered_later(r, kitchen(r), 60),
    "a heater that fails again and again": lambda r: alike(r, "turned up, stirred"),
    "a unit left shut for two days": lambda r: held(r, quiet_days, (140,)),
    "a dial marked in fives": lambda r: rounded(r, kitchen(r), 1),
    "a day's paper typed in the evening": lambda r: typed_at_once(kitchen(r)),
    "four weeks at once, creeping steady units": lambda r: held(r, creeping, days=24),
}


def rounded(random: Random, week: Week, share: float) -> Week:
    """Round to the next five what was measured, in this share of the readings."""
    return [
        replace(
            one, temperature=Temperature(round(one.temperature.value / 5) * Decimal(5), Degree.F)
        )
        if random.random() < share
        else one
        for one in week
    ]


def copied(random: Random, week: Week, days: int) -> Week:
    """One unit's value written again for whole days, the rest of its week honest."""
    first = MONDAY + timedelta(days=random.randint(0, 6 - days))
    value = random.choice([one.temperature for one in week if one.subject == "unit 0"])
    return [
        replace(one, temperature=value)
        if one.subject == "unit 0" and first <= one.taken_at < first + timedelta(days=days)
        else one
        for one in week
    ]


def typed_at_once(week: Week) -> Week:
    """The last day's checks typed when it is over, four seconds each."""
    last = max(one.taken_at for one in week).date()
    end = datetime.combine(last, datetime.min.time(), UTC) + timedelta(hours=20)
    day = [i for i, one in enumerate(week) if one.taken_at.date() == last]
    for place, i in enumerate(day):
        week[i] = replace(week[i], entered_at=end + timedelta(seconds=4 * place))
    return week


def ahead(week: Week) -> Week:
    """The last reading of the week noted an hour before its time."""
    last = max(week, key=lambda one: one.taken_at)
    week.remove(last)
    return [*week, replace(last, entered_at=last.taken_at - timedelta(hours=1))]


def from_the_head(random: Random, _: float) -> Iterator[float]:
    while True:
        yield random.choice((140, 145, 150))


def sheet_again(week: Week, days: int) -> Week:
    """The first day's checks of every unit written again on the next days."""
    first = {
        (one.subject, one.taken_at.hour): one.temperature
        for one in week
        if one.taken_at.date() == MONDAY.date()
    }
    until = MONDAY + timedelta(days=days)
    return [
        replace(one, temperature=first.get((one.subject, one.taken_at.hour), one.temperature))
        if one.taken_at < until
        else one
        for one in week
    ]


def minutes_again(random: Random, week: Week, days: int = 6) -> Week:
    """The first day's minutes written again on the next days, typed later."""
    minutes = {hour: random.randint(1, 57) for hour in range(24)}
    until = MONDAY + timedelta(days=days)
    later = entered_later(random, week)
    return [
        replace(one, taken_at=one.taken_at.replace(minute=minutes[one.taken_at.hour]))
        if one.taken_at < until
        else one
        for one in later
    ]


INVENTED: dict[str, tuple[Kind, Callable[[Random], Log]]] = {
    "all rounded to fives": (Kind.ROUND, lambda r: rounded(r, kitchen(r), 1)),
    "70 % rounded to fives": (Kind.ROUND, lambda r: rounded(r, kitchen(r), 0.7)),
    "40 % rounded to fives": (Kind.ROUND, lambda r: rounded(r, kitchen(r), 0.4)),
    "one unit from the head: 140, 145, 150": (Kind.ROUND, lambda r: held(r, from_the_head, (0,))),
    "two units from the head: 140, 145, 150": (
        Kind.ROUND,
        lambda r: held(r, from_the_head, (0, 0)),
    ),
    "one value copied 3 days, whole degrees": (Kind.SAME_VALUE, lambda r: copied(r, kitchen(r), 3)),
    "one value copied 2 days, whole degrees": (Kind.SAME_VALUE, lambda r: copied(r, kitchen(r), 2)),
    "one value copied 2 days of four weeks": (
        Kind.SAME_VALUE,
        lambda r: copied(r, held(r, drifting, (140,), days=24), 2),
    ),
    "one value copied 2 days, tenths": (
        Kind.SAME_VALUE,
        lambda r: copied(r, kitchen(r, step="0.1"), 2),
    ),
    "one value copied 1 day, tenths": (
        Kind.SAME_VALUE,
        lambda r: copied(r, kitchen(r, step="0.1"), 1),
    ),
    "one value copied all week (cannot be told)": (
        Kind.SAME_VALUE,
        lambda r: copied(r, kitchen(r), 6),
    ),
    "a day typed at its end": (Kind.AT_ONCE, lambda r: typed_at_once(kitchen(r))),
    "one reading an hour ahead": (Kind.EARLY, lambda r: ahead(kitchen(r))),
    "Monday's sheet for all six days": (Kind.SAME_DAY, lambda r: sheet_again(kitchen(r), 6)),
    "Monday's sheet for three days": (Kind.SAME_DAY, lambda r: sheet_again(kitchen(r), 3)),
    "Monday's sheet for two days": (Kind.SAME_DAY, lambda r: sheet_again(kitchen(r), 2)),
    "Monday's sheet, steady units": (
        Kind.SAME_DAY,
        lambda r: sheet_again(held(r, steady), 6),
    ),
    "every check at :00, typed later": (
        Kind.SAME_MINUTE,
        lambda r: entered_later(r, held(r, drifting), 60),
    ),
    "Monday's minutes for all six days": (
        Kind.SAME_TIMES,
        lambda r: minutes_again(r, held(r, drifting)),
    ),
    "Monday's minutes for four days": (
        Kind.SAME_TIMES,
        lambda r: minutes_again(r, held(r, drifting), 4),
    ),
    '"discarded" each time, of five or more': (Kind.SAME_WORDS, lambda r: alike(r, "discarded")),
    "the same words in eight acts of ten": (
        Kind.SAME_WORDS,
        lambda r: alike(r, "discarded", 10)[:8] + alike(r, "reheated to 167", 2)[:2],
    ),
}


def tail(hits: int, trials: int, rate: float) -> float:
    """Give the chance of `hits` or more in `trials`, by the binomial's own terms."""
    whole = math.lgamma(trials + 1)
    return math.fsum(
        math.exp(
            whole
            - math.lgamma(k + 1)
            - math.lgamma(trials - k + 1)
            + k * math.log(rate)
            + (trials - k) * math.log1p(-rate)
        )
        for k in range(hits, trials + 1)
    )


def bounds(hits: int, trials: int, level: float = 0.05) -> tuple[float, float]:
    """Bound a rate exactly, both sides together at `level`.

    Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
    """

    def rate_at(hits: int, chance: float) -> float:
        low, high = 0.0, 1.0
        for _ in range(50):
            middle = (low + high) / 2
            low, high = (middle, high) if tail(hits, trials, middle) < chance else (low, middle)
        return low

    lower = rate_at(hits, level / 2) if hits else 0.0
    upper = rate_at(hits + 1, 1 - level / 2) if hits < trials else 1.0
    return lower, upper


def kinds_found(make: Callable[[Random], Log], random: Random) -> set[Kind]:
    log = make(random)
    readings = [replace(one, ref=str(i)) for i, one in enumerate(log, 1) if isinstance(one, Noted)]
    acts = [one for one in log if isinstance(one, Acted)]
    return {found.kind for found in look(readings, LEVELS, acts)}


def row(name: str, hits: int, weeks: int, detail: str) -> None:
    lower, upper = bounds(hits, weeks)
    rate = f"{hits:5d} of {weeks}  {hits / weeks:8.3%}  [{lower:.3%}, {upper:.3%}]"
    print(f"  {name:44s} {rate:44s} {detail}")


def main(weeks: int, seed: int) -> None:
    print(f"{weeks} simulated person-weeks a row, seed {seed}; exact 95 % bounds; all invented")
    print("\nHonest weeks with any finding")
    every: Counter[Kind] = Counter()
    listed = 0
    for name, make in HONEST.items():
        random = Random(f"{seed} {name}")
        found = [kinds_found(make, random) for _ in range(weeks)]
        counts = Counter(kind for kinds in found for kind in kinds)
        any_found = sum(bool(kinds) for kinds in found)
        row(name, any_found, weeks, ", ".join(f"{k}: {n}" for k, n in counts.items()))
        every += counts
        listed += any_found
    row("all", listed, weeks * len(HONEST), "")
    for kind in Kind:
        row(f"all, {kind}", every[kind], weeks * len(HONEST), "")
    print(
        "\nHonest logs that are listed all the same, not counted above: the sentences name these causes"
    )
    for name, make in STILL_LISTED.items():
        random = Random(f"{seed} {name}")
        row(name, sum(bool(kinds_found(make, random)) for _ in range(weeks)), weeks, "")
    print("\nInvented weeks found by the look meant for them")
    for name, (kind, make) in INVENTED.items():
        random = Random(f"{seed} {name}")
        hits = sum(kind in kinds_found(make, random) for _ in range(weeks))
        row(name, hits, weeks, kind)


if __name__ == "__main__":
    given = [int(argument) for argument in sys.argv[1:]]
    main(*given, *(2000, 20260105)[len(given) :])
