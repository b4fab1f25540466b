"""What was found in a sentence for a narrow column: readings, bounds and what was allowed.

Its times have no article: where a language asks for one they stand in brackets, as a column has it.
"""

from collections.abc import Callable, Mapping
from datetime import timedelta

from haccp.language import counted, message, phrase
from haccp.limits.limit import Side
from haccp.printing.report_context import Sheet
from haccp.rules.asked import target
from haccp.rules.evidence import Finding, Reason, Step
from haccp.rules.words import in_short
from haccp.time import spell

_HOUR = timedelta(hours=1)


def in_brief(finding: Finding, sheet: Sheet) -> str:
    """Tell a finding briefly; one for which there are no shorter words in its whole sentence."""
    brief = _BRIEF.get(finding.reason)
    told = brief(finding, sheet) if brief and _is_plain(finding) else ""
    return told or in_short(finding, sheet.on)


def short(span: timedelta) -> str:
    """Spell a time for a narrow column: ``3 h 55``, ``2 h``."""
    return spell(span).removesuffix(" min") if span >= _HOUR else spell(span)


def at_most(span: timedelta) -> str:
    """Spell an upper bound: a begun minute counts, so that it never looks shorter than it is."""
    return short(timedelta(minutes=-(-span // timedelta(minutes=1))))


def _is_plain(finding: Finding) -> bool:
    """Whether nothing is to be told beside its own sentence."""
    return not (finding.rewarmed or finding.usual or finding.of) and bool(finding.readings)


def _uncertain(finding: Finding, sheet: Sheet) -> str:
    crossing, shortest, longest = finding.crossing, finding.shortest, finding.longest
    within = finding.limit.within
    known = crossing and crossing.earliest and crossing.latest
    if not known or shortest is None or longest is None or within is None:
        return ""
    assert crossing and crossing.earliest and crossing.latest  # what is known of it
    return phrase(
        "{level} was reached after {least} to {most}, allowed {allowed}: not read from {begin} to "
        "{end}.",
        level=_level(finding),
        least=short(shortest),
        most=at_most(longest),
        allowed=short(within),
        begin=sheet.on(crossing.earliest),
        end=sheet.on(crossing.latest),
    )


def _still_warm(finding: Finding, sheet: Sheet) -> str:
    crossing, shortest, within = finding.crossing, finding.shortest, finding.limit.within
    if finding.step is not Step.COOL or not crossing or shortest is None or within is None:
        return ""
    warm = [one for one in finding.readings if one.at == crossing.earliest]
    if not warm:
        return ""
    return phrase(
        "Still {temp} at {time}, {least} after the start, not {level} in {allowed}.",
        temp=warm[-1].temperature,
        time=sheet.on(warm[-1].at),
        least=short(shortest),
        level=_level(finding),
        allowed=short(within),
    )


def _level(finding: Finding) -> str:
    degree = finding.readings[-1].temperature.degree
    return f"{finding.limit.level.number(degree)} °{degree}"


def _missed(finding: Finding, sheet: Sheet) -> str:
    assert finding.gap and finding.due  # only missed checks are told so
    begins, ends = finding.gap
    return phrase(
        "Not checked from {begin} to {end} ({lasted}); a check was due by {due}.",
        begin=sheet.on(begins),
        end=sheet.on(ends),
        lasted=short(ends - begins),
        due=sheet.on(finding.due),
    )


def _out_of_limits(finding: Finding, sheet: Sheet) -> str:
    """Tell the worst reading of a run, when it began, and how long it lasted at least and most."""
    if finding.limit.name == "oven" or finding.step is Step.RECEIVE:
        return ""
    pick = min if finding.limit.side is Side.AT_OR_ABOVE else max
    worst = pick(finding.readings, key=lambda one: one.temperature.fahrenheit)
    first = finding.readings[0]
    told = {
        "first": first.temperature,
        "time": sheet.on(first.at),
        "worst": worst.temperature,
        "later_time": sheet.on(worst.at),
        "limit": target(finding.limit, worst.temperature.degree),
        "least": short(finding.shortest or timedelta(0)),
        "most": at_most(finding.longest) if finding.longest is not None else "",
    }
    words = _RUNS[worst is first, finding.longest is not None]
    return phrase(words, **told)


# By whether the first reading is the worst, and whether it is known how long it lasted at most.
_RUNS = {
    (False, True): message(
        "{first} at {time}, at worst {worst} at {later_time}, not {limit}; for {least} to {most}."
    ),
    (False, False): message(
        "{first} at {time}, at worst {worst} at {later_time}, not {limit}; for {least} or longer."
    ),
    (True, True): message("{first} at {time}, not {limit}; for {least} to {most}."),
    (True, False): message("{first} at {time}, not {limit}; for {least} or longer."),
}


def _in_doubt(finding: Finding, sheet: Sheet) -> str:
    if finding.since is None:
        return ""
    return counted(
        "{count} reading is by a thermometer that failed its check on {time}.",
        "{count} readings are by a thermometer that failed its check on {time}.",
        len(finding.readings),
        time=sheet.on(finding.since),
    )


_BRIEF: Mapping[Reason, Callable[[Finding, Sheet], str]] = {
    Reason.CROSSING_UNCERTAIN: _uncertain,
    Reason.STILL_WARM: _still_warm,
    Reason.TOO_LATE: _still_warm,
    Reason.MISSED_CHECK: _missed,
    Reason.OUT_OF_LIMITS: _out_of_limits,
    Reason.THERMOMETER_IN_DOUBT: _in_doubt,
}
