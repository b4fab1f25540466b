"""The sentences for people, made in one place from a finding."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import takewhile

from haccp.language import message, phrase
from haccp.limits.limit import Limit, Side
from haccp.rules.evidence import Finding, Reading, Reason, Step
from haccp.temperature import Degree, Level
from haccp.time import spell, spell_hold

ShowMoment = Callable[[datetime], str]


def explain(finding: Finding, clock: ShowMoment) -> str:
    """Say in a sentence or two why a finding's verdict is what it is; `clock` shows a moment."""
    sentence = _SENTENCES[finding.reason](finding, clock)
    for cooler, warmer in finding.rewarmed:
        sentence += (
            f" Rewarmed from {cooler.temperature} at {clock(cooler.at)} "
            f"to {warmer.temperature} at {clock(warmer.at)}."
        )
    if finding.usual:
        sentence += (
            f" No unit was named for it: its place is taken to be {finding.usual}, as usual."
        )
    return f"Of {finding.of}, which went into it: {sentence}" if finding.of else sentence


def in_short(finding: Finding, clock: ShowMoment) -> str:
    """Explain a finding that was told before: without what else a roast's oven may be."""
    return explain(replace(finding, beside=()), clock)


def taken(finding: Finding, clock: ShowMoment) -> str:
    """Say when readings were taken of which else is told only that they are good."""
    if finding.reason is not Reason.IN_LIMITS:
        return ""
    first, last = (clock(finding.readings[i].at) for i in (0, -1))
    return f"Taken {first}." if first == last else f"Taken {first} to {last}."


def target(limit: Limit, degree: Degree, level: Level | None = None) -> str:
    """Name what must be kept or reached: ``70 °F or below``."""
    number = f"{(level or limit.level).number(degree)} °{degree}"
    if limit.side is Side.AT_OR_ABOVE:
        words = message("{level} or above") if limit.inclusive else message("above {level}")
    else:
        words = message("{level} or below") if limit.inclusive else message("below {level}")
    return phrase(words, level=number)


def _degree(finding: Finding) -> Degree:
    return finding.readings[-1].temperature.degree if finding.readings else Degree.F


def _goal(finding: Finding) -> str:
    return f"{finding.limit.level.number(_degree(finding))} °{_degree(finding)}"


def _minutes(duration: timedelta | None) -> str:
    return "an unknown time" if duration is None else spell(duration)


def _at_most(duration: timedelta | None) -> str:
    """Spell an upper bound: a begun minute counts, so that it never looks shorter than it is."""
    if duration is None:
        return "an unknown time"
    return spell(timedelta(minutes=-(-duration // timedelta(minutes=1))))


def _reading_at(finding: Finding, moment: datetime | None) -> Reading:
    return next((r for r in reversed(finding.readings) if r.at == moment), finding.readings[-1])


def _in_time(finding: Finding, clock: ShowMoment) -> str:
    if finding.step is Step.TIME_CONTROL:
        return (
            f"Nothing was left by {clock(_latest(finding))}, {_at_most(finding.longest)} after it "
            f"left temperature control; {_allowed(finding)}."
        )
    return (
        f"{_goal(finding)} was reached by {clock(_latest(finding))}, at most "
        f"{_at_most(finding.longest)} after the start; {_allowed(finding)}."
    )


def _too_late(finding: Finding, clock: ShowMoment) -> str:
    assert finding.crossing  # a late crossing has been bounded
    if finding.step is Step.TIME_CONTROL:
        assert finding.crossing.earliest
        return (
            f"Still there at {clock(finding.crossing.earliest)}, {_minutes(finding.shortest)} "
            f"after it left temperature control; {_allowed(finding)}."
        )
    if finding.crossing.earliest is None:  # it was hot at its first reading
        assert finding.crossing.latest
        return (
            f"Reached by {clock(finding.crossing.latest)}, at least {_minutes(finding.shortest)} "
            f"after the start; {_allowed(finding)}."
        )
    warm = _reading_at(finding, finding.crossing.earliest)
    still = "still" if finding.limit.side is Side.AT_OR_BELOW else "only"
    return (
        f"{still.capitalize()} {warm.temperature} at {clock(warm.at)}, at least "
        f"{_minutes(finding.shortest)} after the start; {_allowed(finding)}."
    )


def _no_start(finding: Finding, clock: ShowMoment) -> str:
    if finding.step is Step.REHEAT:
        return (
            f"No reading shows when the reheat began, so its time is not known; "
            f"{_allowed(finding)}. Log a reading when it starts."
        )
    if finding.limit.start is None:
        return "Its time counts from the stage before it, of which the record shows no moment."
    hot = finding.limit.start.number(_degree(finding))
    first = finding.readings[0]
    return (
        f"No reading at or above {hot} °{_degree(finding)} comes before {first.temperature} at "
        f"{clock(first.at)}, so the start is not known. Log the last hot reading."
    )


def _not_reached(finding: Finding, clock: ShowMoment) -> str:
    due = f" by {clock(finding.due)}" if finding.due else ""
    if finding.step is Step.TIME_CONTROL:
        return f"Nothing on record shows that it was served, used or discarded{due}."
    if not finding.readings:
        return f"No reading shows {_goal(finding)}{due}; it was never measured."
    last = finding.readings[-1]
    seen = f"{last.temperature} at {clock(last.at)}"
    return f"No reading shows {_goal(finding)}{due}; the last is {seen}."


def _uncertain(finding: Finding, clock: ShowMoment) -> str:
    return (
        f"{_goal(finding)} was reached by {clock(_latest(finding))}, between "
        f"{_minutes(finding.shortest)} and {_at_most(finding.longest)} after the start; "
        f"{_allowed(finding)}, and no reading between shows which."
    )


# What is asked for where no one temperature is.
_NO_TEMPERATURE = {
    Reason.HEATED_FOR: "initial heating over",
    Reason.NOT_READ: "measured",
    Reason.OUT_OF_TEMPERATURE: "cold or hot again, or on the heat",
}


def goal(finding: Finding, clock: ShowMoment) -> str:
    """Say what an open finding asks for: ``70 °F or below by 14:05``."""
    by = f" by {clock(finding.due)}" if finding.due else ""
    if finding.step is Step.TIME_CONTROL:
        ceiling = f", {_ceiling(finding)} until then" if finding.limit.start else ""
        return f"served, used or discarded{by}{ceiling}"
    if finding.reason is Reason.LAST_DAY:
        return "used or discarded today"
    if finding.reason in _NO_TEMPERATURE:
        return f"{_NO_TEMPERATURE[finding.reason]}{by}"
    if len(finding.limit.rows) > 1:
        return f"{_any_row(finding, clock)}{by}"
    hold = finding.limit.rows[0].hold
    held = f" for {spell_hold(hold)}" if hold else ""
    stand = finding.limit.stand
    stood = f", then stood covered for {spell_hold(stand)}" if stand else ""
    return f"{target(finding.limit, _degree(finding))}{held}{by}{stood}"


def _any_row(finding: Finding, clock: ShowMoment) -> str:
    """Say what a table asks of food at its last temperature: a hotter row asks a shorter time."""
    limit, last = finding.limit, finding.readings[-1]
    kept = [row for row in limit.rows if limit.kept_by(last.temperature, row.level)]
    row = kept[-1] if kept else limit.rows[0]
    asked = f"{target(limit, _degree(finding), row.level)} for {spell_hold(row.hold)}"
    hot = takewhile(lambda r: limit.kept_by(r.temperature, row.level), reversed(finding.readings))
    since = min((reading.at for reading in hot), default=None)
    until = f", until {clock(since + row.hold)}" if since else ""
    return f"{asked}{until}, or hotter for a shorter time"


def _time_left(finding: Finding, clock: ShowMoment) -> str:
    if finding.step is Step.TIME_CONTROL:
        return f"To be {goal(finding, clock)}."
    return f"To reach: {goal(finding, clock)}."


def _left(finding: Finding, clock: ShowMoment) -> str:
    due = f" before {clock(finding.due)}" if finding.due else ""
    return f"The food was reheated, discarded or used up{due}, while there was time left."


def _in_limits(finding: Finding, _: ShowMoment) -> str:
    count = len(finding.readings)
    readings = "The one reading is" if count == 1 else f"All {count} readings are"
    asked = target(finding.limit, _degree(finding))
    return f"The oven showed {asked}." if _is_oven(finding) else f"{readings} {asked}."


def _out_of_limits(finding: Finding, clock: ShowMoment) -> str:
    first, last = finding.readings[0], finding.readings[-1]
    readings = f"{first.temperature} at {clock(first.at)}"
    if last is not first:
        readings += f" to {last.temperature} at {clock(last.at)}"
    limit = target(finding.limit, _degree(finding))
    bounds = []
    if finding.shortest and finding.shortest >= timedelta(minutes=1):
        bounds.append(f"at least {spell(finding.shortest)}")
    if finding.longest is not None:
        bounds.append(f"at most {_at_most(finding.longest)}")
    lasted = f"it lasted {', '.join(bounds)}" if bounds else "how long is not on record"
    if _is_oven(finding):
        return f"The oven showed {readings}; it must be {limit}. {_about_ovens(finding)}".strip()
    return f"{readings}, not {limit}; {lasted}."


def _is_oven(finding: Finding) -> bool:
    return finding.limit.name == "oven"


def _missed(finding: Finding, clock: ShowMoment) -> str:
    assert finding.gap and finding.due  # only missed checks are told so
    begins, ends = map(clock, finding.gap)
    return (
        f"No check between {begins} and {ends} ({_minutes(finding.longest)}); "
        f"one was due by {clock(finding.due)}."
    )


def _reached(finding: Finding, clock: ShowMoment) -> str:
    reading = _reading_at(finding, _latest(finding))
    within = (
        f", at most {_at_most(finding.longest)} after the start"
        if finding.longest is not None
        else ""
    )
    return f"Reached by {reading.temperature} at {clock(reading.at)}{_row(finding)}{within}."


def _row(finding: Finding) -> str:
    """Name the row of a table that was kept, as the table has it."""
    if finding.row is None:
        return ""
    asked = target(finding.limit, _degree(finding), finding.row.level)
    kept = f" for {spell_hold(finding.row.hold)}" if finding.row.hold else ""
    return f" ({asked}{kept}, as a row of the table asks)"


def _too_cool(finding: Finding, clock: ShowMoment) -> str:
    hottest = max(finding.readings, key=lambda r: r.temperature.fahrenheit)
    return (
        f"The hottest reading is {hottest.temperature} at {clock(hottest.at)}, not "
        f"{target(finding.limit, hottest.temperature.degree)}."
    )


def _hold_not_shown(finding: Finding, clock: ShowMoment) -> str:
    last = finding.readings[-1]
    return (
        f"Nothing shows that the food was {target(finding.limit, _degree(finding))} for the time "
        f"asked: {finding.limit.text} The last reading is {last.temperature} at {clock(last.at)}."
    )


def _in_doubt(finding: Finding, clock: ShowMoment) -> str:
    since = clock(finding.since) if finding.since else "some time"
    count = len(finding.readings)
    readings = "a reading" if count == 1 else f"{count} readings"
    return f"It rests on {readings} of a thermometer that failed its check at {since}."


def _rejected(_: Finding, __: ShowMoment) -> str:
    return "Lines of this batch could not be read, so the record is not whole."


def _unreadable(finding: Finding, _: ShowMoment) -> str:
    return f"{finding.limit.text} What it said is not known."


def _ceiling(finding: Finding) -> str:
    return target(finding.limit, _degree(finding))


def _wrong_start(finding: Finding, clock: ShowMoment) -> str:
    first = finding.readings[0]
    asked = target(finding.limit, first.temperature.degree, finding.limit.start)
    return (
        f"It left temperature control with {first.temperature} at {clock(first.at)}, "
        f"not {asked}: time alone does not keep it safe."
    )


def _too_warm_in_time(finding: Finding, clock: ShowMoment) -> str:
    warm = finding.readings[0]
    return (
        f"{warm.temperature} at {clock(warm.at)}; while time is the control it stays "
        f"{target(finding.limit, warm.temperature.degree)}."
    )


def _returned(finding: Finding, clock: ShowMoment) -> str:
    back = finding.readings[0]
    assert finding.start and finding.start.latest  # the removal is on record
    return (
        f"Time was its control from {clock(finding.start.latest)}, yet at {clock(back.at)} it was "
        f"read under {back.step.words} ({back.temperature}): it may not go back."
    )


def _not_watched(finding: Finding, clock: ShowMoment) -> str:
    last = finding.readings[-1]
    return (
        f"No reading shows that it stayed {_ceiling(finding)} until {clock(_latest(finding))}; the "
        f"last is {last.temperature} at {clock(last.at)}. Take one when nothing is left."
    )


def _past_its_day(finding: Finding, clock: ShowMoment) -> str:
    assert finding.limit.within and finding.due  # a date mark is nothing but a time
    return (
        f"Its last day ended at {clock(finding.due)} and something of it was left; the limit is "
        f"{finding.limit.within.days} days, the day of preparation being day 1."
    )


def _last_day(_: Finding, __: ShowMoment) -> str:
    return "Today is its last day: to be used or discarded before midnight."


def _heated_for(finding: Finding, clock: ShowMoment) -> str:
    first = finding.readings[0]
    at_most = f", at most {_at_most(finding.longest)}" if finding.longest is not None else ""
    return (
        f"The initial heating from {clock(first.at)} on took at least {_minutes(finding.shortest)}"
        f"{at_most}; {_allowed(finding) if finding.limit.within else 'none is allowed'}."
    )


def _oven(finding: Finding, clock: ShowMoment) -> str:
    since = f" from {clock(finding.readings[0].at)} on" if finding.readings else ""
    return (
        f"No reading{since} says what the oven showed; it must be "
        f"{target(finding.limit, _degree(finding))}. Log the oven with the roast. "
        f"{_about_ovens(finding)}"
    ).strip()


def _about_ovens(finding: Finding) -> str:
    """Say what a roast's oven is asked, and what may be done where a smoker's is cooler."""
    if not finding.beside:
        return ""
    limit, degree = finding.limit, _degree(finding)
    method, by_weight, _ = limit.kind.partition(", ")
    rows = {one.kind: target(one, degree) for one in finding.beside}
    dry = [
        f"{kind.removeprefix(f'{method}, ')} {asked}"
        for kind, asked in rows.items()
        if ", " in kind and (kind.startswith(f"{method}, ") or not by_weight)
    ]
    humid = [
        f"{kind[0].upper()}{kind[1:]} is another row, {asked}"
        for kind, asked in rows.items()
        if kind not in ("", limit.kind) and ", " not in kind
    ]
    asks = (
        f"{limit.citation} asks of dry heat by the roast's weight: {'; '.join(dry)}" if dry else ""
    )
    told = ". ".join(filter(None, [asks, *humid]))
    told = f"{told}. " if told else ""
    return (
        f"{told}Where the local authority accepts this oven in writing, a manager records the "
        f"letter (haccp oven), and of roasts opened from then on the core alone decides."
    )


def _not_heated(finding: Finding, clock: ShowMoment) -> str:
    asked = target(finding.limit, _degree(finding))
    seen = ""
    if finding.readings:
        last = finding.readings[-1]
        seen = f"; it was read {last.temperature} at {clock(last.at)}"
    what = "cooled food was reheated" if finding.step is Step.REHEAT else "raw food was cooked"
    return f"Nothing on record shows that the {what} to {asked}{seen}."


def _not_read(finding: Finding, clock: ShowMoment) -> str:
    assert finding.start and finding.start.latest and finding.due  # it counts from its opening
    since = clock(finding.start.latest)
    if finding.readings:
        first = finding.readings[0]
        return (
            f"Nobody read it from {since} until {clock(first.at)} ({first.temperature}); a reading "
            f"was due by {clock(finding.due)}."
        )
    return f"Nobody has read it since {since}; a reading is due by {clock(finding.due)}."


def _out_of_temperature(finding: Finding, clock: ShowMoment) -> str:
    assert finding.start  # a spell has bounds
    since = finding.start.earliest or finding.start.latest
    began = f"since {clock(since)}" if since else "for a time that is not on record"
    least, most = _minutes(finding.shortest), _at_most(finding.longest)
    lasted = f"at least {least}" + ("" if finding.longest is None else f", at most {most}")
    return (
        f"Neither cold nor hot nor being cooled or heated {began}: {lasted}; {_allowed(finding)}."
    )


def _allowed(finding: Finding) -> str:
    return f"the limit is {_minutes(finding.limit.within)}"


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
    Reason.OVEN: _oven,
    Reason.UNREADABLE: _unreadable,
    Reason.NOT_HEATED: _not_heated,
    Reason.NOT_READ: _not_read,
    Reason.OUT_OF_TEMPERATURE: _out_of_temperature,
}
