"""What a cook is told of a finding: a word or two in capitals, and one short sentence.

Bounds, citations and sources are told by `words.explain`, where a record is looked at.
"""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta

from haccp import phrases
from haccp.language import message, phrase
from haccp.limits.limit import Limit, Side
from haccp.phrases import at, with_article
from haccp.rules.asked import ShowMoment, target
from haccp.rules.evidence import Finding, Reason, Step, Verdict
from haccp.temperature import Degree
from haccp.time import spell, spell_hold

OK = message("OK")
DO_NOT_SERVE = message("DO NOT SERVE")
# Of a unit: its reading is good, of the food in it something is undecided.
CHECK_THE_FOOD = message("CHECK THE FOOD")
NOT_PROVEN = message("NOT PROVEN")
NOTED = message("NOTED")
TOO_SLOW, MAY_BE_TOO_SLOW = message("TOO SLOW"), message("MAY BE TOO SLOW")
_COOLING_OK, _NOT_YET = message("COOLING OK"), message("NOT YET")
_TOO_COLD, _TOO_WARM = message("TOO COLD"), message("TOO WARM")
# What is disproved where nothing better is said of its reason.
_NOT_OK = message("NOT OK")

_WHILE_OPEN: Mapping[Step, str] = {
    Step.COOL: _COOLING_OK,
    Step.COOK: _NOT_YET,
    Step.REHEAT: _NOT_YET,
    Step.TIME_CONTROL: message("TIME RUNS"),
    Step.PREPARE: message("OUT"),
}
_DISPROVED: Mapping[Reason, str] = {
    Reason.TOO_COOL: _TOO_COLD,
    Reason.HOLD_NOT_SHOWN: _TOO_COLD,
    Reason.TOO_WARM_IN_TIME: _TOO_WARM,
    Reason.NOT_HEATED: message("NOT HEATED"),
    Reason.WRONG_START: message("NOT ALLOWED"),
    Reason.RETURNED: message("NOT ALLOWED"),
    Reason.PAST_ITS_DAY: message("TOO OLD"),
    Reason.HEATED_FOR: message("TOO LONG"),
    Reason.OUT_OF_TEMPERATURE: message("TOO LONG OUT"),
}
# Told of what is met; of what is not shown, that doubt of a thermometer took its proof away.
_GOOD = (Reason.IN_TIME, Reason.IN_LIMITS, Reason.REACHED)
# As long as food may be out of control at all: 3-501.13(B)(4), as it is commonly read.
_OUT_AT_MOST = timedelta(hours=4)
_TOO_LATE = (Reason.TOO_LATE, Reason.STILL_WARM, Reason.NOT_REACHED_ON_RECORD)


def word(finding: Finding) -> str:
    """Give the word or two that a finding is told by; OK for nothing but what is met."""
    match finding.verdict:
        case Verdict.MET:
            return phrase(OK)
        case Verdict.NOT_MET:
            word = _disproved(finding)
            return phrase(word)
        case Verdict.NOT_SHOWN:
            return phrase(NOT_PROVEN)
        case Verdict.OPEN:
            word = _WHILE_OPEN.get(finding.step, _NOT_YET)
            return phrase(word)
        case Verdict.STOPPED:
            return phrase(NOTED)


def _disproved(finding: Finding) -> str:
    if finding.limit.name == "oven":
        return message("OVEN TOO COLD")
    if finding.reason is Reason.OUT_OF_LIMITS:
        return _TOO_COLD if finding.limit.side is Side.AT_OR_ABOVE else _TOO_WARM
    if finding.reason in _TOO_LATE:
        return message("TOO LATE") if finding.step is Step.TIME_CONTROL else TOO_SLOW
    return _DISPROVED.get(finding.reason, _NOT_OK)


def forbids_serving(finding: Finding) -> bool:
    """Whether food may not be served while this stands undecided.

    A check that was missed is the kitchen's own interval, with good looks around it; but hot food
    that nobody looked at for longer than food may be out of control at all is not known to be safe.
    Of a roast's oven a manager decides while the core says whether it is done.
    """
    if finding.reason is Reason.MISSED_CHECK:
        is_hot = finding.limit.side is Side.AT_OR_ABOVE
        unwatched = finding.longest is None or finding.longest > _OUT_AT_MOST
        return finding.verdict.is_deviation and is_hot and unwatched
    return finding.verdict.is_deviation and finding.limit.name != "oven"


def by(moment: datetime, clock: ShowMoment) -> str:
    """Say up to when, as a whole phrase: in other languages it is more than one word."""
    return phrases.by(clock(moment))


def why(finding: Finding, clock: ShowMoment) -> str:
    """Say in one sentence what a finding asks for, or what is missing or was not kept."""
    if finding.verdict is Verdict.NOT_SHOWN and finding.reason in _GOOD:
        return phrase("It rests on a thermometer that failed its check.")
    return _WHY[finding.reason](finding, clock)


def asked(finding: Finding) -> str:
    """Name the temperature that is asked for, and for how long: ``165 °F or above for 15 s``."""
    limit, degree = finding.limit, degree_of(finding)
    if not limit.rows:
        return limit.text
    row = limit.rows[0]
    last = finding.readings[-1].temperature if finding.readings else None
    kept = [one for one in limit.rows if last and limit.kept_by(last, one.level)]
    row = kept[-1] if kept else row
    wanted = target(limit, degree, row.level)
    if not row.hold:
        return wanted
    return phrase("{target} for {time}", target=wanted, time=spell_hold(row.hold))


def degree_of(finding: Finding) -> Degree:
    return finding.readings[-1].temperature.degree if finding.readings else Degree.F


def _must_be(finding: Finding, clock: ShowMoment) -> str:
    """Say what food must become, and by when where that is known."""
    if finding.step is Step.TIME_CONTROL:
        return _end_of_time(finding, clock)
    if not finding.limit.rows:
        return _for_how_long(finding, clock)
    if not finding.due:
        return phrase("Must be {target}.", target=asked(finding))
    return phrase("Must be {target} {by}.", target=asked(finding), by=by(finding.due, clock))


def _end_of_time(finding: Finding, clock: ShowMoment) -> str:
    if not finding.due:
        return phrase("Serve, use or discard it in time.")
    until = by(finding.due, clock)
    if not finding.limit.start:
        return phrase("Serve, use or discard it {by}.", by=until)
    return phrase(
        "Serve, use or discard it {by}; until then it must be {target}.",
        by=until,
        target=_row_or_text(finding.limit, degree_of(finding)),
    )


def _row_or_text(limit: Limit, degree: Degree) -> str:
    return target(limit, degree) if limit.rows else limit.text


def _had_to_be(finding: Finding, clock: ShowMoment) -> str:
    if finding.step is Step.TIME_CONTROL:
        if not finding.due:
            return phrase("Its time is over.")
        return phrase("Its time ended {at}.", at=at(clock(finding.due)))
    if not finding.due:
        return phrase("Was not {target} in time.", target=asked(finding))
    return phrase("Was not {target} {by}.", target=asked(finding), by=by(finding.due, clock))


def _not_seen(finding: Finding, clock: ShowMoment) -> str:
    if finding.step is Step.TIME_CONTROL:
        return _had_to_be(finding, clock)
    if not finding.due:
        return phrase("No reading shows {target} in time.", target=asked(finding))
    return phrase(
        "No reading shows {target} {by}.", target=asked(finding), by=by(finding.due, clock)
    )


def _no_start(finding: Finding, _: ShowMoment) -> str:
    if finding.step is Step.REHEAT:
        return phrase("Nothing shows when the reheat began.")
    return phrase("Nothing shows when it began to cool.")


def _in_time(finding: Finding, _: ShowMoment) -> str:
    if finding.step is Step.TIME_CONTROL:
        return phrase("Gone in time.")
    return phrase("Reached {target} in time.", target=asked(finding))


def _limit_of(finding: Finding, _: ShowMoment) -> str:
    oven = finding.readings[-1].chamber if finding.readings else None
    if finding.limit.name == "oven" and oven:
        return phrase("The oven showed {temp}, must be {target}.", temp=oven, target=asked(finding))
    return phrase("Must be {target}.", target=asked(finding))


def _in_doubt(finding: Finding, _: ShowMoment) -> str:
    labels = ", ".join(sorted({one.thermometer for one in finding.readings if one.thermometer}))
    if not labels:
        return phrase("A thermometer that failed its check measured it.")
    return phrase("Thermometer {labels} failed its check.", labels=labels)


def _missed(finding: Finding, clock: ShowMoment) -> str:
    assert finding.gap  # only missed checks are told so
    since, until = (with_article(clock(moment)) for moment in finding.gap)
    return phrase("No check from {since} to {until}.", since=since, until=until)


def _not_read(finding: Finding, clock: ShowMoment) -> str:
    assert finding.start and finding.start.latest  # it counts from its opening
    since = with_article(clock(finding.start.latest))
    return phrase("Nobody measured it from {since} on.", since=since)


def _wrong_start(finding: Finding, _: ShowMoment) -> str:
    wanted = target(finding.limit, degree_of(finding), finding.limit.start)
    return phrase(
        "Time alone keeps no food that was not {target} when it was taken out.", target=wanted
    )


def _out(finding: Finding, clock: ShowMoment) -> str:
    assert finding.start  # a spell has bounds
    since, last = finding.start.earliest or finding.start.latest, finding.readings[-1:]
    if since is None or not last:
        return phrase("Since when it is out is not known.")
    since_then = with_article(clock(since))
    so_far = spell(max(last[0].at - since, finding.shortest or timedelta(0)))
    if not finding.due or finding.verdict.is_deviation:
        return phrase("Out since {since}, {time}.", since=since_then, time=so_far)
    return phrase(
        "Out {time} so far, since {since}; back in the cold or on the heat {by}.",
        time=so_far,
        since=since_then,
        by=by(finding.due, clock),
    )


def _for_how_long(finding: Finding, clock: ShowMoment) -> str:
    if finding.verdict is not Verdict.OPEN or not finding.due:
        within = finding.limit.within
        if within is None:
            return phrase("No initial heating is allowed.")
        return phrase("The initial heating may take {time}.", time=spell(within))
    return phrase("The initial heating must be over {by}.", by=by(finding.due, clock))


def _past_its_day(finding: Finding, clock: ShowMoment) -> str:
    assert finding.due  # a date mark is nothing but a time
    return phrase("Its days were over {at}.", at=at(clock(finding.due)))


_WHY: Mapping[Reason, Callable[[Finding, ShowMoment], str]] = {
    Reason.IN_TIME: _in_time,
    Reason.TOO_LATE: _had_to_be,
    Reason.STILL_WARM: _had_to_be,
    Reason.NO_START: _no_start,
    Reason.NOT_REACHED_ON_RECORD: _not_seen,
    Reason.CROSSING_UNCERTAIN: _not_seen,
    Reason.TIME_LEFT: _must_be,
    Reason.FOOD_LEFT_THE_STEP: lambda *_: phrase("Ended while there was time left."),
    Reason.IN_LIMITS: lambda *_: "",
    Reason.OUT_OF_LIMITS: _limit_of,
    Reason.MISSED_CHECK: _missed,
    Reason.REACHED: lambda *_: phrase("Hot enough."),
    Reason.TOO_COOL: _limit_of,
    Reason.HOLD_NOT_SHOWN: _limit_of,
    Reason.THERMOMETER_IN_DOUBT: _in_doubt,
    Reason.LINES_REJECTED: lambda *_: phrase("Part of its record cannot be read."),
    Reason.WRONG_START: _wrong_start,
    Reason.TOO_WARM_IN_TIME: _limit_of,
    Reason.RETURNED: lambda *_: phrase("Time was its control: it may not go back to holding."),
    Reason.NOT_WATCHED: _not_seen,
    Reason.PAST_ITS_DAY: _past_its_day,
    Reason.LAST_DAY: lambda *_: phrase("Last day: use or discard it today."),
    Reason.HEATED_FOR: _for_how_long,
    Reason.OVEN: lambda *_: phrase("What the oven shows is missing."),
    Reason.UNREADABLE: lambda *_: phrase("Part of its record cannot be read."),
    Reason.BESIDE: lambda *_: phrase("Entries about it stand in a branch beside the record."),
    Reason.NOT_HEATED: lambda finding, _: phrase(
        "Nothing shows that it was heated to {target}.", target=asked(finding)
    ),
    Reason.NOT_READ: _not_read,
    Reason.OUT_OF_TEMPERATURE: _out,
}
