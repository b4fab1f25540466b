"""Kitchen time: what people type and read, against the UTC that is stored."""

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from datetime import time as clock_time
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.phrases import Shown, any_of, ranging

# A terminal's clock may be a little behind the one that was read: common practice, no source.
CLOCK_TOLERANCE = timedelta(minutes=2)

# So far from now a day and its month may be taken for another year's.
_A_YEAR_OFF = timedelta(days=300)

# Far enough from the ends of the calendar that any deadline can be added to a moment.
MIN_YEAR, MAX_YEAR = 1900, 2200

_CLOCK = re.compile(
    r"(?:at |a las? )?(?:(?P<day>today|hoy|yesterday|ayer|[0-9]{4}-[0-9]{2}-[0-9]{2})[ t]+)?"
    r"(?:at |a las? )?(?:(?P<word>noon|midnight|mediod[ií]a|medianoche)|"
    r"(?P<hour>[0-9]{2}(?=[0-9]{2}\b)|[0-9]{1,2})"
    r"(?: ?(?P<between>[:.h]|(?<=[0-9]{2})(?=[0-9]{2}\b)) ?(?P<minute>[0-9]{2}))?"
    r"(?::(?P<second>[0-9]{2}))?(?: ?(?P<half>[ap])\.? ?m\b\.?)?)"
    r"(?: (?P<zone>[a-z]{3,5}|[+-][0-9]{2}(?:[0-9]{2})?))?"
)
_NOON, _MIDNIGHT = ("noon", "mediodía", "mediodia"), ("midnight", "medianoche")
_DIGITS_ALONE = re.compile(r"[0-9]{1,2}[/.-][0-9]{1,2}(?:[/.-][0-9]{2,4})?(?: .*)?")
_STORED = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z")
_OFFSET = re.compile(r"[0-9].*T.*(?:Z|[+-][0-9]{2}:?[0-9]{2})", re.IGNORECASE)


def _is_no_time(text: str) -> Refused:
    return Refused(
        phrase(
            "{text} is not a time: type a time such as 14:05, 2:05pm, yesterday 23:40 or "
            "2026-10-31 23:40.",
            text=repr(text),
        )
    )


# Names of days and months from the catalog, never from a locale: that is the process's.
WEEKDAYS = (
    message("Mon"), message("Tue"), message("Wed"), message("Thu"), message("Fri"), message("Sat"),
    message("Sun"),
)  # fmt: skip
_MONTHS = (
    message("Jan"), message("Feb"), message("Mar"), message("Apr"), message("May"), message("Jun"),
    message("Jul"), message("Aug"), message("Sep"), message("Oct"), message("Nov"), message("Dec"),
)  # fmt: skip


def zone_named(name: str) -> ZoneInfo:
    """Find an IANA time zone; raises Refused if there is none of that name."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Refused(
            phrase(
                "{name} is not a time zone: type an IANA name such as America/Denver.",
                name=repr(name),
            )
        ) from None


def zone_typed(name: str) -> ZoneInfo:
    """Take a zone that somebody types: by its whole IANA name, never by letters or a city alone.

    EST and MST are IANA names too, of a clock that no summer moves: hardly what was meant.
    """
    zones = _ZONES_CALLED.get(name.strip().upper(), ())
    try:
        if not zones:
            return zone_named(name)
    except Refused:
        zones = _zones_of(name)
        if not zones:
            raise
    raise Refused(
        phrase(
            "{name} is not the IANA name of a time zone: if that one was meant, type {zones}.",
            name=repr(name),
            zones=" / ".join(zones),
        )
    )


# What the zones of the United States are called, and the IANA names that hold most of each: the
# tz database's northamerica file (data version 2025b) from memory.
_ZONES_CALLED: dict[str, tuple[str, ...]] = {
    letters: zones
    for names, zones in (
        ("ET EST EDT EASTERN", ("America/New_York",)),
        ("CT CST CDT CENTRAL", ("America/Chicago",)),
        ("MT MST MDT MOUNTAIN", ("America/Denver", "America/Phoenix")),
        ("PT PST PDT PACIFIC", ("America/Los_Angeles",)),
        ("AKST AKDT ALASKA", ("America/Anchorage",)),
        ("HST HAWAII", ("Pacific/Honolulu",)),
    )
    for letters in names.split()
}


def _zones_of(city: str) -> tuple[str, ...]:
    """Give the zones named after a city: ``Chicago`` is ``America/Chicago``."""
    from zoneinfo import available_timezones

    wanted = "_".join(city.casefold().split())
    found = (one for one in available_timezones() if one.casefold().split("/")[-1] == wanted)
    return tuple(sorted(one for one in found if "/" in one))


class MovedZone(ZoneInfo):
    """The time of a kitchen whose zone was changed: before that moment the old one goes on.

    So earlier days keep their midnights and their clock. `fold` chooses where the clock showed a
    time in both, as it does where clocks are put back.
    """

    earlier: ZoneInfo
    later: ZoneInfo
    since: datetime

    @classmethod
    def after(cls, before: ZoneInfo, after: ZoneInfo, since: datetime) -> "MovedZone":
        zone = cls.no_cache(after.key)
        zone.earlier, zone.later, zone.since = before, after, since
        return zone

    def _in_force(self, local: datetime | None) -> ZoneInfo:
        if local is None:
            return self.later
        was, now = (
            local.replace(tzinfo=zone).astimezone(UTC) for zone in (self.earlier, self.later)
        )
        if local.fold and now >= self.since:
            return self.later
        return self.earlier if was < self.since else self.later

    def utcoffset(self, local: datetime | None, /) -> timedelta | None:
        zone = self._in_force(local)
        return zone.utcoffset(local and local.replace(tzinfo=zone))

    def dst(self, local: datetime | None, /) -> timedelta | None:
        zone = self._in_force(local)
        return zone.dst(local and local.replace(tzinfo=zone))

    def tzname(self, local: datetime | None, /) -> str | None:
        zone = self._in_force(local)
        return zone.tzname(local and local.replace(tzinfo=zone))

    def fromutc(self, moment: datetime, /) -> datetime:
        is_before = moment.replace(tzinfo=UTC) < self.since
        zone = self.earlier if is_before else self.later
        local = zone.fromutc(moment.replace(tzinfo=zone)).replace(tzinfo=self)
        twice = not local.fold and self._in_force(local) is not zone
        return local.replace(fold=1) if twice else local


def stored(moment: datetime) -> str:
    """Write a moment as it is stored: UTC, whole seconds, sorting as text."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@lru_cache(maxsize=16_384)  # what is entered together is about few moments
def from_stored(text: str) -> datetime:
    """Read a moment back; raises ValueError for what `stored` never writes."""
    if not _STORED.fullmatch(text) or not str(MIN_YEAR) <= text[:4] <= str(MAX_YEAR):
        raise ValueError(text)
    return datetime.fromisoformat(text)


def moment_or_none(text: Any) -> datetime | None:
    """Read a moment back; None for whatever else a file may hold in its place."""
    try:
        return from_stored(text)
    except (ValueError, TypeError):
        return None


def parse_when(text: str, now: datetime, zone: ZoneInfo) -> datetime:
    """Turn what a person typed into a moment in UTC; nothing typed means now.

    Raises Refused for a text that is no time, for a moment in the future, for a time that the
    clocks skipped, and for one that they showed twice while both are past.
    """
    text = text.strip()
    if not text:
        return now
    if _OFFSET.fullmatch(text):
        return _not_future([_offset_moment(text)], text, now, zone)
    match = _CLOCK.fullmatch(_plain(text))
    if match is None:
        raise _why_no_time(text)
    day = _day(match["day"], now, zone)
    wall = datetime.combine(day, _clock(match, text))
    return _not_future(_moments(wall, match["zone"], zone, text), text, now, zone)


def parse_next(text: str, after: datetime, zone: ZoneInfo) -> datetime:
    """Turn a clock time such as ``06:00`` into the next such moment after another one.

    Of a time that the clocks show twice that is the earlier one. Raises Refused for a text that
    is no time of day, and for one that the clocks skip.
    """
    match = _CLOCK.fullmatch(_plain(text))
    if match is None or match["day"]:
        raise Refused(phrase("{text} is no time of day: type one such as 06:00.", text=repr(text)))
    today = after.astimezone(zone).date()
    for day in (today, today + timedelta(days=1)):
        wall = datetime.combine(day, _clock(match, text))
        ahead = [one for one in _moments(wall, match["zone"], zone, text) if one > after]
        if ahead:
            return min(ahead)
    raise _is_no_time(text)


def is_time(text: str) -> bool:
    """Whether a text is written as a time is, be it one that there was or not."""
    match = _CLOCK.fullmatch(_plain(text))
    whole = match and (match["word"] or match["minute"] or match["half"])
    return bool(whole or _OFFSET.fullmatch(text.strip()))


def is_about_time(word: str) -> bool:
    """Whether a word alone is one of those that times are typed with."""
    known = {"at", "a", "la", "las", "today", "hoy", "yesterday", "ayer", "am", "pm"}
    return is_time(word) or _plain(word) in known


def _plain(text: str) -> str:
    """Write it small, with one space of one kind between words."""
    return " ".join(text.casefold().split())


def _why_no_time(text: str) -> Refused:
    if _DIGITS_ALONE.fullmatch(_plain(text)):
        return Refused(
            phrase(
                "{text} does not say which number is the month: a day is typed year-month-day, "
                "such as 2026-10-31 23:40, or yesterday 23:40.",
                text=repr(text),
            )
        )
    return _is_no_time(text)


def _offset_moment(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text.upper())
    except ValueError:
        raise _is_no_time(text) from None
    if not MIN_YEAR <= moment.year <= MAX_YEAR:
        raise Refused(
            phrase(
                "{text} is in no year of a kitchen's log: type a time such as 14:05, 2:05pm, "
                "yesterday 23:40 or 2026-10-31 23:40.",
                text=repr(text),
            )
        )
    return moment.astimezone(UTC)


def _day(word: str | None, now: datetime, zone: ZoneInfo) -> date:
    return parse_day(word or "today", now, zone)


def _clock(match: re.Match[str], text: str) -> clock_time:
    if match["word"] in _NOON:
        return clock_time(12)
    if match["word"] in _MIDNIGHT:
        if match["day"] not in (None, "today", "hoy"):
            raise Refused(
                phrase(
                    "{text} could be where that day begins or where it ends: type the date and "
                    "00:00, such as 2026-10-31 00:00.",
                    text=repr(text),
                )
            )
        return clock_time()
    hour, minute, second = (int(match[part] or 0) for part in ("hour", "minute", "second"))
    half = match["half"]
    if match["minute"] is None and not half:
        raise _is_no_time(text)
    if half and not 1 <= hour <= 12:
        raise Refused(
            phrase("{text} is not a time: am and pm go with hours from 1 to 12.", text=repr(text))
        )
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    try:
        return clock_time(hour, minute, second)
    except ValueError:
        raise _is_no_time(text) from None


def _moments(wall: datetime, named: str | None, zone: ZoneInfo, text: str) -> list[datetime]:
    """Give the moments at which the kitchen's clock shows this: two in the repeated hour."""
    both = [wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1)]
    shown = [m for m in both if m.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == wall]
    if not shown:
        raise Refused(
            phrase(
                "{text} did not happen: the clocks were put forward past it that night.",
                text=repr(text),
            )
        )
    if named is not None:
        shown = [moment for moment in shown if moment.tzname() == named.upper()]
    if not shown:
        raise Refused(
            phrase(
                "{text} names another zone than the kitchen's ({zone}): leave it out, or give "
                "an ISO time with offset.",
                text=repr(text),
                zone=zone.key,
            )
        )
    return sorted({moment.astimezone(UTC) for moment in shown})


def _not_future(moments: list[datetime], text: str, now: datetime, zone: ZoneInfo) -> datetime:
    past = [moment for moment in moments if moment <= now + CLOCK_TOLERANCE]
    if not past:
        raise Refused(
            phrase(
                "{text} is later than now ({now}): for the day before type 'yesterday 23:40', or "
                "the date.",
                text=repr(text),
                now=clock(now, zone),
            )
        )
    if len(past) > 1:
        names = any_of([f"'{text} {moment.astimezone(zone).tzname()}'" for moment in past])
        raise Refused(
            phrase(
                "{text} happened twice, the clocks were put back that night: type {names}.",
                text=repr(text),
                names=names,
            )
        )
    return past[0]


def parse_day(text: str, now: datetime, zone: ZoneInfo) -> date:
    """Read ``today``, ``yesterday`` or ``2026-10-31``; raises Refused for anything else."""
    today = now.astimezone(zone).date()
    match text.strip().lower():
        case "today" | "hoy":
            return today
        case "yesterday" | "ayer":
            return today - timedelta(days=1)
        case iso:
            return _date(iso, text)


def parse_days(
    first: str | None, last: str | None, now: datetime, zone: ZoneInfo, *, usual: int = 1
) -> tuple[date, date]:
    """Read the first and the last of some days as `parse_day` does.

    Without a last one the first alone; without either the `usual` number of days up to today.
    Raises Refused where the last comes before the first.
    """
    if not first:
        ends = parse_day(last or "today", now, zone)
        return ends - timedelta(days=usual - 1), ends
    begins = parse_day(first, now, zone)
    ends = parse_day(last, now, zone) if last else begins
    if ends < begins:
        raise Refused(
            phrase("{last} comes before {first}: type the first day first.", last=last, first=first)
        )
    return begins, ends


def _date(iso: str, text: str) -> date:
    try:
        day = date.fromisoformat(iso)
    except ValueError:
        day = date.min
    if not MIN_YEAR <= day.year <= MAX_YEAR:
        if _DIGITS_ALONE.fullmatch(_plain(text)):
            raise _why_no_time(text)
        raise Refused(
            phrase(
                "{text} is not a day: type today, yesterday or a date such as 2026-10-31.",
                text=repr(text),
            )
        )
    return day


def day_starts(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, clock_time(), tzinfo=zone).astimezone(UTC)


def clock(moment: datetime, zone: ZoneInfo) -> Shown:
    """Show the kitchen's clock, ``14:05``; with the zone's name in the hour that comes twice."""
    local = moment.astimezone(zone)
    return Shown(_on_the_clock(local), local.hour)


def day_and_clock(moment: datetime, now: datetime, zone: ZoneInfo) -> Shown:
    """Show ``14:05``, with the date before it if that is not today; where a date without its year
    may be taken for another one, with that.
    """
    local = moment.astimezone(zone)
    if local.date() == now.astimezone(zone).date():
        return clock(moment, zone)
    if abs(moment - now) < _A_YEAR_OFF:
        return on_its_day(moment, zone)
    return Shown(_on_the_clock(local), local.hour, dated(local.date()))


def on_its_day(moment: datetime, zone: ZoneInfo) -> Shown:
    """Show ``Sun 1 Nov 14:05``."""
    local = moment.astimezone(zone)
    return Shown(_on_the_clock(local), local.hour, short_day(local.date()))


def on_its_weekday(moment: datetime, zone: ZoneInfo) -> Shown:
    """Show ``Sun 14:05``."""
    local = moment.astimezone(zone)
    return Shown(_on_the_clock(local), local.hour, phrase(WEEKDAYS[local.weekday()]))


def _on_the_clock(local: datetime) -> str:
    twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    return f"{local:%H:%M} {local.tzname()}" if twice else f"{local:%H:%M}"


def weekday(day: date) -> str:
    """Show ``Sun``."""
    return phrase(WEEKDAYS[day.weekday()])


def short_day(day: date) -> str:
    """Show ``Sun 1 Nov``."""
    month = phrase(_MONTHS[day.month - 1])
    return phrase("{weekday} {day} {month}", weekday=weekday(day), day=day.day, month=month)


def runs_of_days(days: Sequence[date]) -> str:
    """Name days, those that follow each other as one: ``Mon 26 Oct to Wed 28 Oct, Sun 1 Nov``."""
    runs: list[list[date]] = []
    for day in days:
        if runs and day - runs[-1][-1] == timedelta(days=1):
            runs[-1].append(day)
        else:
            runs.append([day])
    return ", ".join(ranging(short_day(run[0]), short_day(run[-1])) for run in runs)


def dated(day: date) -> str:
    """Show ``Sun 1 Nov 2026``."""
    return phrase("{day} {year}", day=short_day(day), year=day.year)


# The symbols of hours, minutes and seconds are the same in every language.


def spell_hold(hold: timedelta) -> str:
    """Spell for how long food is kept at a temperature, as the Code does: ``15 s``, ``112 min``."""
    seconds = hold / timedelta(seconds=1)
    return f"{seconds / 60:g} min" if seconds and not seconds % 60 else f"{seconds:g} s"


def spell(duration: timedelta) -> str:
    """Spell a duration: ``35 min``, ``2 h``, ``1 h 05 min``; seconds are dropped,"""
    minutes = int(duration.total_seconds()) // 60
    hours, minutes = divmod(minutes, 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"
