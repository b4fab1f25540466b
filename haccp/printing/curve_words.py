"""The words of a drawing of a cooling, and the words that stand in its stead."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from haccp.language import counted, message, phrase
from haccp.limits.limit import CountsFrom, Limit
from haccp.phrases import at, with_article
from haccp.printing.drawn_cooling import HOUR, DrawnCurve, TimeAxis
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Bounds, Finding, Verdict, overall
from haccp.rules.words import explain
from haccp.temperature import Degree, Level, Temperature
from haccp.time import clock, dated, day_and_clock, spell, weekday

_TITLES = {
    Verdict.MET: message("Met: {about}"),
    Verdict.NOT_MET: message("Not met: {about}"),
    Verdict.NOT_SHOWN: message("Not shown: {about}"),
    Verdict.OPEN: message("Open: {about}"),
    Verdict.STOPPED: message("Stopped in time: {about}"),
}


def headed(verdict: Verdict, about: str) -> str:
    """Put a verdict before what it is about."""
    return phrase(_TITLES[verdict], about=about)


def title(cooling: DrawnCurve) -> str:
    """Name the verdict, then the stages that it is about."""
    if not cooling.findings:
        return phrase("Not judged")
    verdict = overall(cooling.findings)
    stages = ", ".join(
        goal(one.limit, cooling.degree) for one in cooling.findings if one.verdict is verdict
    )
    return headed(verdict, stages)


def day(cooling: DrawnCurve) -> str:
    """Show the day on which it began, with the year."""
    return dated(cooling.begin.astimezone(cooling.zone).date())


def degrees(level: Level, degree: Degree) -> str:
    return f"{level.number(degree)} °{degree}"


def goal(limit: Limit, degree: Degree) -> str:
    """Name a stage: ``70 °F within 2 h``."""
    if limit.within is None:
        return degrees(limit.level, degree)
    return phrase(
        "{level} within {time}", level=degrees(limit.level, degree), time=spell(limit.within)
    )


def hours_since(cooling: DrawnCurve) -> str:
    """Name the row of hours at its nought."""
    start = cooling.findings[0].start
    level = cooling.findings[0].limit.start
    if level is None:
        return phrase("0 h since it was made")
    if start and start.earliest == start.latest:
        return phrase("0 h since {level}", level=degrees(level, cooling.degree))
    return phrase("0 h since {level} or above", level=degrees(level, cooling.degree))


def wall_words(due: datetime, finding: Finding, cooling: DrawnCurve) -> str:
    level, time = degrees(finding.limit.level, cooling.degree), clock(due, cooling.zone)
    allowed = spell(finding.limit.within or due - due)
    if finding.limit.clock is CountsFrom.PREVIOUS_STAGE:
        return phrase(
            "{level} by {time} ({allowed} from the stage before)",
            level=level,
            time=time,
            allowed=allowed,
        )
    return phrase("{level} by {time} ({allowed})", level=level, time=time, allowed=allowed)


def brief(duration: timedelta) -> str:
    """Spell a duration in as little room as it takes: ``35 min``, ``1 h 05``."""
    return spell(duration).removesuffix(" min") if duration >= HOUR else spell(duration)


def bar_words(finding: Finding, cooling: DrawnCurve) -> list[str]:
    """Say in which bounds a level was passed and what was allowed; nothing while that is open."""
    limit, crossing = finding.limit, finding.crossing
    level = degrees(limit.level, cooling.degree)
    allowed = brief(limit.within or timedelta(0))
    if crossing is None or crossing.latest is None:
        if finding.verdict is Verdict.NOT_MET and finding.shortest is not None:
            least = brief(finding.shortest)
            still = message("still above {level} after {least}; allowed {allowed}")
            return [phrase(still, level=level, least=least, allowed=allowed)]
        if finding.verdict is Verdict.NOT_SHOWN:
            return [
                phrase("no reading shows {level}; allowed {allowed}", level=level, allowed=allowed)
            ]
        return []
    if finding.start is None or finding.start.earliest is None or crossing.earliest is None:
        by = clock(crossing.latest, cooling.zone)
        return [phrase("{level} by {by}; the start is not shown", level=level, by=by)]
    least = brief(
        max(crossing.earliest - (finding.start.latest or crossing.earliest), timedelta(0))
    )
    # a begun minute counts: an upper bound must not look shorter than it is
    most = -(-(crossing.latest - finding.start.earliest) // timedelta(minutes=1))
    after = message("{level} passed after {least} to {most}; allowed {allowed}")
    if limit.clock is CountsFrom.PREVIOUS_STAGE:
        after = message(
            "{level} passed {least} to {most} after the stage before; allowed {allowed}"
        )
    upto = brief(most * timedelta(minutes=1))
    told = [phrase(after, level=level, least=least, most=upto, allowed=allowed)]
    if finding.verdict is Verdict.NOT_SHOWN:
        gap = brief(crossing.latest - crossing.earliest)
        told.append(phrase("no reading for {gap}", gap=gap))
    return told


def number(temperature: Temperature, degree: Degree) -> str:
    """Show a reading as it was typed; its degree only where it is not the plot's."""
    return f"{temperature.value}" if temperature.degree is degree else str(temperature)


_TOLD = {
    Verdict.MET: message("{goal}: met."),
    Verdict.NOT_MET: message("{goal}: not met."),
    Verdict.NOT_SHOWN: message("{goal}: not shown."),
    Verdict.OPEN: message("{goal}: open."),
    Verdict.STOPPED: message("{goal}: stopped."),
}


def describe(cooling: DrawnCurve) -> str:
    """Tell in plain words what the drawing shows: readings, levels, deadlines and verdicts."""
    first, last = cooling.readings[0], cooling.readings[-1]

    def when(moment: datetime) -> str:
        return day_and_clock(moment, first.at, cooling.zone)

    told = [
        counted(
            "Cooling on {day}: {count} reading, {first} at {begin}.",
            "Cooling on {day}: {count} readings, {first} at {begin} to {last} at {end}.",
            len(cooling.readings),
            day=day(cooling),
            first=first.temperature,
            begin=when(first.at),
            last=last.temperature,
            end=when(last.at),
        )
    ]
    told += [
        _started(finding.limit.start, finding.start, cooling.degree, when)
        for finding in cooling.findings[:1]
        if finding.limit.start and finding.start
    ]
    for finding in cooling.findings:
        told.append(phrase(_TOLD[finding.verdict], goal=goal(finding.limit, cooling.degree)))
        told.append(explain(finding, when))
        if finding.due:
            told.append(phrase("The safe deadline is {due}.", due=when(finding.due)))
    if cooling.planned:
        told.append(phrase("The dotted curve is what was planned before cooking, an estimate."))
    if cooling.expected:
        told.append(phrase("The dashed curve is what the readings let expect, an estimate."))
    return " ".join(told)


def _started(level: Level, bounds: Bounds, degree: Degree, when: ShowMoment) -> str:
    """Say when the time started, as far as the record shows it."""
    hot, earliest, latest = degrees(level, degree), bounds.earliest, bounds.latest
    if earliest and latest and earliest != latest:
        return phrase(
            "{level}, where the time starts, was passed between {begin} and {end}.",
            level=hot,
            begin=with_article(when(earliest)),
            end=with_article(when(latest)),
        )
    if earliest and latest:
        return phrase(
            "{level}, where the time starts, was passed {at}.", level=hot, at=at(when(latest))
        )
    if latest:
        return phrase(
            "{level}, where the time starts, was passed before {time}, not shown when.",
            level=hot,
            time=when(latest),
        )
    if earliest:
        return phrase(
            "{level}, where the time starts, was passed after {time}.",
            level=hot,
            time=when(earliest),
        )
    return phrase("{level}, where the time starts, was passed at a time not on record.", level=hot)


def clock_labels(hours: Sequence[datetime], axis: TimeAxis, zone: ZoneInfo) -> list[str]:
    """Give the clock, the weekday where a day begins, the zone's name before and after a change."""
    labels: list[str] = []
    before = axis.begin.astimezone(zone)
    changes = before.utcoffset() != axis.end.astimezone(zone).utcoffset()
    for local in (hour.astimezone(zone) for hour in hours):
        is_first = not labels
        is_changed = changes and (is_first or local.utcoffset() != before.utcoffset())
        parts = [f"{local:%H:%M}"]
        parts += [f"{local:%Z}"] if is_changed else []
        parts += [weekday(local.date())] if is_first or local.date() != before.date() else []
        labels.append(" ".join(parts))
        before = local
    return labels
