"""The sentences for people, made in one place from a finding."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from haccp.language import counted, message, phrase
from haccp.limits.limit import Side
from haccp.phrases import already, at, by, with_article
from haccp.rules.asked import (
    ShowMoment,
    ceiling,
    degree_of,
    goal,
    held,
    in_due_time,
    level_of,
    target,
)
from haccp.rules.evidence import Finding, Reading, Reason, Step, Verdict
from haccp.rules.oven_in_words import about_ovens, is_oven, no_oven
from haccp.time import spell


def explain(finding: Finding, clock: ShowMoment) -> str:
    """Say in a sentence or two why a finding's verdict is what it is; `clock` shows a moment."""
    told = [_SENTENCES[finding.reason](finding, clock)]
    told += (
        phrase(
            "Rewarmed from {cooler} {at} to {warmer} {later_at}.",
            cooler=cooler.temperature,
            at=at(clock(cooler.at)),
            warmer=warmer.temperature,
            later_at=at(clock(warmer.at)),
        )
        for cooler, warmer in finding.rewarmed
    )
    if finding.usual:
        told.append(
            phrase(
                "No unit was named for it: its place is taken to be {unit}, as usual.",
                unit=finding.usual,
            )
        )
    sentences = " ".join(told)
    if not finding.of:
        return sentences
    return phrase("Of {part}, which went into it: {told}", part=finding.of, told=sentences)


def in_short(finding: Finding, clock: ShowMoment) -> str:
    """Explain a finding that was told before: without what else a roast's oven may be."""
    return explain(replace(finding, beside=()), clock)


def taken(finding: Finding, clock: ShowMoment) -> str:
    """Say when readings were taken of which else is told only that they are good."""
    if finding.reason is not Reason.IN_LIMITS:
        return ""
    first, last = (clock(finding.readings[i].at) for i in (0, -1))
    if first == last:
        return phrase("Taken {time}.", time=first)
    return phrase("Taken {first} to {last}.", first=first, last=last)


# A verdict as it is called out; JSON and the record have `Verdict` itself, in every language.
_CALLED = {
    Verdict.NOT_MET: message("NOT MET"),
    Verdict.NOT_SHOWN: message("NOT SHOWN"),
    Verdict.OPEN: message("OPEN"),
    Verdict.MET: message("MET"),
    Verdict.STOPPED: message("STOPPED"),
}


def called(verdict: Verdict) -> str:
    """Call a verdict out: ``NOT MET``."""
    return phrase(_CALLED[verdict])


def _minutes(duration: timedelta | None) -> str:
    return phrase("an unknown time") if duration is None else spell(duration)


def _at_most(duration: timedelta | None) -> str:
    """Spell an upper bound: a begun minute counts, so that it never looks shorter than it is."""
    if duration is None:
        return phrase("an unknown time")
    return spell(timedelta(minutes=-(-duration // timedelta(minutes=1))))


def _times(finding: Finding) -> dict[str, str]:
    """Give the durations that a sentence may have a place for."""
    return {
        "shortest": _minutes(finding.shortest),
        "longest": _at_most(finding.longest),
        "limit": _minutes(finding.limit.within),
    }


def _read(reading: Reading, clock: ShowMoment) -> dict[str, object]:
    """Give a reading as a sentence has places for it: ``{temp} {at}``."""
    return {"temp": reading.temperature, "at": at(clock(reading.at))}


def _reading_at(finding: Finding, moment: datetime | None) -> Reading:
    return next((r for r in reversed(finding.readings) if r.at == moment), finding.readings[-1])


def _in_time(finding: Finding, clock: ShowMoment) -> str:
    known = already(clock(_latest(finding)))
    if finding.step is Step.TIME_CONTROL:
        return phrase(
            "Nothing was left {by}, {longest} after it left temperature control; "
            "the limit is {limit}.",
            by=known,
            **_times(finding),
        )
    return phrase(
        "{level} was reached {by}, at most {longest} after the start; the limit is {limit}.",
        level=level_of(finding),
        by=known,
        **_times(finding),
    )


def _too_late(finding: Finding, clock: ShowMoment) -> str:
    assert finding.crossing  # a late crossing has been bounded
    if finding.step is Step.TIME_CONTROL:
        assert finding.crossing.earliest
        return phrase(
            "Still there {at}, {shortest} after it left temperature control; the limit is {limit}.",
            at=at(clock(finding.crossing.earliest)),
            **_times(finding),
        )
    if finding.crossing.earliest is None:  # it was hot at its first reading
        assert finding.crossing.latest
        return phrase(
            "Reached {by}, at least {shortest} after the start; the limit is {limit}.",
            by=already(clock(finding.crossing.latest)),
            **_times(finding),
        )
    warm = _read(_reading_at(finding, finding.crossing.earliest), clock)
    if finding.limit.side is Side.AT_OR_BELOW:
        return phrase(
            "Still {temp} {at}, at least {shortest} after the start; the limit is {limit}.",
            **warm,
            **_times(finding),
        )
    return phrase(
        "Only {temp} {at}, at least {shortest} after the start; the limit is {limit}.",
        **warm,
        **_times(finding),
    )


def _no_start(finding: Finding, clock: ShowMoment) -> str:
    if finding.step is Step.REHEAT:
        return phrase(
            "No reading shows when the reheat began, so its time is not known; "
            "the limit is {limit}. Log a reading when it starts.",
            **_times(finding),
        )
    if finding.limit.start is None:
        return phrase(
            "Its time counts from the stage before it, of which the record shows no moment."
        )
    return phrase(
        "No reading at or above {hot} comes before {temp} {at}, so the start is not known. "
        "Log the last hot reading.",
        hot=f"{finding.limit.start.number(degree_of(finding))} °{degree_of(finding)}",
        **_read(finding.readings[0], clock),
    )


def _not_reached(finding: Finding, clock: ShowMoment) -> str:
    if finding.step is Step.TIME_CONTROL:
        used = in_due_time(phrase("served, used or discarded"), finding, clock)
        return phrase("Nothing on record shows that it was {used}.", used=used)
    asked = in_due_time(level_of(finding), finding, clock)
    if not finding.readings:
        return phrase("No reading shows {goal}; it was never measured.", goal=asked)
    last = _read(finding.readings[-1], clock)
    return phrase("No reading shows {goal}; the last is {temp} {at}.", goal=asked, **last)


def _uncertain(finding: Finding, clock: ShowMoment) -> str:
    return phrase(
        "{level} was reached {by}, between {shortest} and {longest} after the start; "
        "the limit is {limit}, and no reading between shows which.",
        level=level_of(finding),
        by=already(clock(_latest(finding))),
        **_times(finding),
    )


def _time_left(finding: Finding, clock: ShowMoment) -> str:
    if finding.step is Step.TIME_CONTROL:
        return phrase("To be {goal}.", goal=goal(finding, clock))
    return phrase("To reach: {goal}.", goal=goal(finding, clock))


def _left(finding: Finding, clock: ShowMoment) -> str:
    if finding.due:
        return phrase(
            "The food was reheated, discarded or used up before {due}, while there was time left.",
            due=clock(finding.due),
        )
    return phrase("The food was reheated, discarded or used up, while there was time left.")


def _in_limits(finding: Finding, _: ShowMoment) -> str:
    asked = target(finding.limit, degree_of(finding))
    if is_oven(finding):
        return phrase("The oven showed {target}.", target=asked)
    return counted(
        "The one reading is {target}.",
        "All {count} readings are {target}.",
        len(finding.readings),
        target=asked,
    )


def _out_of_limits(finding: Finding, clock: ShowMoment) -> str:
    first, last = finding.readings[0], finding.readings[-1]
    readings = phrase("{temp} {at}", **_read(first, clock))
    if _read(last, clock) != _read(first, clock):
        readings = phrase("{readings} to {temp} {at}", readings=readings, **_read(last, clock))
    limit = target(finding.limit, degree_of(finding))
    if is_oven(finding):
        showed = phrase(
            "The oven showed {readings}; it must be {limit}.", readings=readings, limit=limit
        )
        return f"{showed} {about_ovens(finding)}".strip()
    return phrase(
        "{readings}, not {limit}; {it_lasted}.",
        readings=readings,
        limit=limit,
        it_lasted=_it_lasted(finding),
    )


def _it_lasted(finding: Finding) -> str:
    is_long = finding.shortest and finding.shortest >= timedelta(minutes=1)
    if is_long and finding.longest is not None:
        return phrase("it lasted at least {shortest}, at most {longest}", **_times(finding))
    if is_long:
        return phrase("it lasted at least {shortest}", **_times(finding))
    if finding.longest is not None:
        return phrase("it lasted at most {longest}", **_times(finding))
    return phrase("how long is not on record")


def _lasted(finding: Finding) -> str:
    if finding.longest is None:
        return phrase("at least {shortest}", **_times(finding))
    return phrase("at least {shortest}, at most {longest}", **_times(finding))


def _missed(finding: Finding, clock: ShowMoment) -> str:
    assert finding.gap and finding.due  # only missed checks are told so
    begin, end = (with_article(clock(moment)) for moment in finding.gap)
    return phrase(
        "No check between {begin} and {end} ({duration}); one was due {by}.",
        begin=begin,
        end=end,
        duration=_minutes(finding.longest),
        by=by(clock(finding.due)),
    )


def _reached(finding: Finding, clock: ShowMoment) -> str:
    reading = _read(_reading_at(finding, _latest(finding)), clock)
    reached = phrase("Reached by {temp} {at}", **reading)
    if finding.row is not None:
        # the row of a table that was kept, as the table has it
        row = target(finding.limit, degree_of(finding), finding.row.level)
        if finding.row.hold:
            row = held(row, finding.row.hold)
        reached = phrase("{reached} ({row}, as a row of the table asks)", reached=reached, row=row)
    if finding.longest is None:
        return phrase("{reached}.", reached=reached)
    return phrase(
        "{reached}, at most {longest} after the start.", reached=reached, **_times(finding)
    )


def _too_cool(finding: Finding, clock: ShowMoment) -> str:
    hottest = max(finding.readings, key=lambda r: r.temperature.fahrenheit)
    return phrase(
        "The hottest reading is {temp} {at}, not {target}.",
        target=target(finding.limit, hottest.temperature.degree),
        **_read(hottest, clock),
    )


def _hold_not_shown(finding: Finding, clock: ShowMoment) -> str:
    return phrase(
        "Nothing shows that the food was {target} for the time asked: {text} "
        "The last reading is {temp} {at}.",
        target=target(finding.limit, degree_of(finding)),
        text=finding.limit.text,
        **_read(finding.readings[-1], clock),
    )


def _in_doubt(finding: Finding, clock: ShowMoment) -> str:
    return counted(
        "It rests on a reading of a thermometer that failed its check {at}.",
        "It rests on {count} readings of a thermometer that failed its check {at}.",
        len(finding.readings),
        at=at(clock(finding.since)) if finding.since else phrase("at some time"),
    )


def _rejected(_: Finding, __: ShowMoment) -> str:
    return phrase("Lines of this batch could not be read, so the record is not whole.")


def _unreadable(finding: Finding, _: ShowMoment) -> str:
    return phrase("{text} What it said is not known.", text=finding.limit.text)


def _beside(*_: object) -> str:
    return phrase(
        "Entries about it stand in a branch that parted from the record's chain: nothing may rest "
        "on it (haccp record branches)."
    )


def _wrong_start(finding: Finding, clock: ShowMoment) -> str:
    first = finding.readings[0]
    return phrase(
        "It left temperature control with {temp} {at}, not {target}: "
        "time alone does not keep it safe.",
        target=target(finding.limit, first.temperature.degree, finding.limit.start),
        **_read(first, clock),
    )


def _too_warm_in_time(finding: Finding, clock: ShowMoment) -> str:
    warm = finding.readings[0]
    return phrase(
        "{temp} {at}; while time is the control it stays {target}.",
        target=target(finding.limit, warm.temperature.degree),
        **_read(warm, clock),
    )


def _returned(finding: Finding, clock: ShowMoment) -> str:
    back = finding.readings[0]
    assert finding.start and finding.start.latest  # the removal is on record
    return phrase(
        "Time was its control from {since}, yet {at} it was read under {step} ({temp}): "
        "it may not go back.",
        since=with_article(clock(finding.start.latest)),
        step=back.step.words,
        **_read(back, clock),
    )


def _not_watched(finding: Finding, clock: ShowMoment) -> str:
    return phrase(
        "No reading shows that it stayed {target} until {until}; the last is {temp} {at}. "
        "Take one when nothing is left.",
        target=ceiling(finding),
        until=with_article(clock(_latest(finding))),
        **_read(finding.readings[-1], clock),
    )


def _past_its_day(finding: Finding, clock: ShowMoment) -> str:
    assert finding.limit.within and finding.due  # a date mark is nothing but a time
    return counted(
        "Its last day ended {at} and something of it was left; the limit is {count} day, "
        "the day of preparation being day 1.",
        "Its last day ended {at} and something of it was left; the limit is {count} days, "
        "the day of preparation being day 1.",
        finding.limit.within.days,
        at=at(clock(finding.due)),
    )


def _last_day(_: Finding, __: ShowMoment) -> str:
    return phrase("Today is its last day: to be used or discarded before midnight.")


def _heated_for(finding: Finding, clock: ShowMoment) -> str:
    since, lasted = with_article(clock(finding.readings[0].at)), _lasted(finding)
    if not finding.limit.within:
        return phrase(
            "The initial heating from {since} on took {lasted}; none is allowed.",
            since=since,
            lasted=lasted,
        )
    return phrase(
        "The initial heating from {since} on took {lasted}; the limit is {limit}.",
        since=since,
        lasted=lasted,
        **_times(finding),
    )


def _not_heated(finding: Finding, clock: ShowMoment) -> str:
    asked = target(finding.limit, degree_of(finding))
    if finding.step is Step.REHEAT:
        missing = phrase(
            "Nothing on record shows that the cooled food was reheated to {target}", target=asked
        )
    else:
        missing = phrase(
            "Nothing on record shows that the raw food was cooked to {target}", target=asked
        )
    if not finding.readings:
        return phrase("{missing}.", missing=missing)
    last = _read(finding.readings[-1], clock)
    return phrase("{missing}; it was read {temp} {at}.", missing=missing, **last)


def _not_read(finding: Finding, clock: ShowMoment) -> str:
    assert finding.start and finding.start.latest and finding.due  # it counts from its opening
    since, due = with_article(clock(finding.start.latest)), by(clock(finding.due))
    if not finding.readings:
        return phrase(
            "Nobody has read it since {since}; a reading is due {by}.", since=since, by=due
        )
    first = finding.readings[0]
    return phrase(
        "Nobody read it from {since} until {until} ({temp}); a reading was due {by}.",
        since=since,
        until=with_article(clock(first.at)),
        temp=first.temperature,
        by=due,
    )


def _out_of_temperature(finding: Finding, clock: ShowMoment) -> str:
    assert finding.start  # a spell has bounds
    lasted = _lasted(finding)
    since = finding.start.earliest or finding.start.latest
    if since is None:
        return phrase(
            "Neither cold nor hot nor being cooled or heated for a time that is not on record: "
            "{lasted}; the limit is {limit}.",
            lasted=lasted,
            **_times(finding),
        )
    return phrase(
        "Neither cold nor hot nor being cooled or heated since {since}: {lasted}; "
        "the limit is {limit}.",
        since=with_article(clock(since)),
        lasted=lasted,
        **_times(finding),
    )


def _latest(finding: Finding) -> datetime:
    assert finding.crossing and finding.crossing.latest  # only a recorded crossing is told
    return finding.crossing.latest


_SENTENCES: dict[Reason, Callable[[Finding, ShowMoment], str]] = {
    Reason.IN_TIME: _in_time,
    Reason.TOO_LATE: _too_late,
    Reason.STILL_WARM: _too_late,
    Reason.NO_START: _no_start,
    Reason.NOT_REACHED_ON_RECORD: _not_reached,
    Reason.CROSSING_UNCERTAIN: _uncertain,
    Reason.TIME_LEFT: _time_left,
    Reason.FOOD_LEFT_THE_STEP: _left,
    Reason.IN_LIMITS: _in_limits,
    Reason.OUT_OF_LIMITS: _out_of_limits,
    Reason.MISSED_CHECK: _missed,
    Reason.REACHED: _reached,
    Reason.TOO_COOL: _too_cool,
    Reason.HOLD_NOT_SHOWN: _hold_not_shown,
    Reason.THERMOMETER_IN_DOUBT: _in_doubt,
    Reason.LINES_REJECTED: _rejected,
    Reason.WRONG_START: _wrong_start,
    Reason.TOO_WARM_IN_TIME: _too_warm_in_time,
    Reason.RETURNED: _returned,
    Reason.NOT_WATCHED: _not_watched,
    Reason.PAST_ITS_DAY: _past_its_day,
    Reason.LAST_DAY: _last_day,
    Reason.HEATED_FOR: _heated_for,
    Reason.OVEN: no_oven,
    Reason.UNREADABLE: _unreadable,
    Reason.BESIDE: _beside,
    Reason.NOT_HEATED: _not_heated,
    Reason.NOT_READ: _not_read,
    Reason.OUT_OF_TEMPERATURE: _out_of_temperature,
}
