"""What a limit asks for, in words: a temperature and its side, for how long, by when."""

from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import takewhile

from haccp.language import message, phrase
from haccp.limits.limit import Limit, Side
from haccp.phrases import by, with_article
from haccp.rules.evidence import Finding, Reason, Step
from haccp.temperature import Degree, Level
from haccp.time import spell_hold

ShowMoment = Callable[[datetime], str]

# By the side of a limit, and whether its number keeps it.
_SIDES = {
    (Side.AT_OR_ABOVE, True): message("{number} or above"),
    (Side.AT_OR_ABOVE, False): message("above {number}"),
    (Side.AT_OR_BELOW, True): message("{number} or below"),
    (Side.AT_OR_BELOW, False): message("below {number}"),
}


def target(limit: Limit, degree: Degree, level: Level | None = None) -> str:
    """Name what must be kept or reached: ``70 °F or below``."""
    number = f"{(level or limit.level).number(degree)} °{degree}"
    return phrase(_SIDES[limit.side, limit.inclusive], number=number)


def degree_of(finding: Finding) -> Degree:
    return finding.readings[-1].temperature.degree if finding.readings else Degree.F


def level_of(finding: Finding) -> str:
    return f"{finding.limit.level.number(degree_of(finding))} °{degree_of(finding)}"


# What is asked for where no one temperature is.
_NO_TEMPERATURE = {
    Reason.HEATED_FOR: message("initial heating over"),
    Reason.NOT_READ: message("measured"),
    Reason.OUT_OF_TEMPERATURE: message("cold or hot again, or on the heat"),
}


def goal(finding: Finding, clock: ShowMoment) -> str:
    """Say what an open finding asks for: ``70 °F or below by 14:05``."""
    if finding.step is Step.TIME_CONTROL:
        used = in_due_time(phrase("served, used or discarded"), finding, clock)
        if not finding.limit.start:
            return used
        return phrase("{used}, {ceiling} until then", used=used, ceiling=ceiling(finding))
    if finding.reason is Reason.LAST_DAY:
        return phrase("used or discarded today")
    if finding.reason in _NO_TEMPERATURE:
        return in_due_time(phrase(_NO_TEMPERATURE[finding.reason]), finding, clock)
    return _temperature_asked(finding, clock)


def _temperature_asked(finding: Finding, clock: ShowMoment) -> str:
    if len(finding.limit.rows) > 1:
        return in_due_time(_any_row(finding, clock), finding, clock)
    asked = target(finding.limit, degree_of(finding))
    if hold := finding.limit.rows[0].hold:
        asked = held(asked, hold)
    asked = in_due_time(asked, finding, clock)
    if stand := finding.limit.stand:
        return phrase("{asked}, then stood covered for {time}", asked=asked, time=spell_hold(stand))
    return asked


def in_due_time(asked: str, finding: Finding, clock: ShowMoment) -> str:
    if not finding.due:
        return asked
    return phrase("{asked} {by_deadline}", asked=asked, by_deadline=by(clock(finding.due)))


def held(asked: str, hold: timedelta) -> str:
    return phrase("{asked} for {time}", asked=asked, time=spell_hold(hold))


def _any_row(finding: Finding, clock: ShowMoment) -> str:
    """Say what a table asks of food at its last temperature: a hotter row asks a shorter time."""
    limit, last = finding.limit, finding.readings[-1]
    kept = [row for row in limit.rows if limit.kept_by(last.temperature, row.level)]
    row = kept[-1] if kept else limit.rows[0]
    asked = held(target(limit, degree_of(finding), row.level), row.hold)
    hot = takewhile(lambda r: limit.kept_by(r.temperature, row.level), reversed(finding.readings))
    since = min((reading.at for reading in hot), default=None)
    if since is None:
        return phrase("{asked}, or hotter for a shorter time", asked=asked)
    until = with_article(clock(since + row.hold))
    return phrase("{asked}, until {until}, or hotter for a shorter time", asked=asked, until=until)


def ceiling(finding: Finding) -> str:
    return target(finding.limit, degree_of(finding))
