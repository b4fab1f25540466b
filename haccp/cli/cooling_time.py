"""How hot food is when a plan begins, and how much time is left of each stage."""

from dataclasses import dataclass
from datetime import timedelta

from haccp.cli.cooling_places import parse_minutes
from haccp.cli.cooling_words import celsius_of, shown
from haccp.cli.measure import open_batch
from haccp.cli.session import Session
from haccp.errors import Refused
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.rescue import minutes_left, open_stages, standing
from haccp.language import phrase
from haccp.limits import CountsFrom, Limit
from haccp.physics.cooling_setup import Stage
from haccp.temperature import Degree, Temperature, parse_temperature


@dataclass(frozen=True, slots=True)
class Clock:
    """Where a plan begins [°C] and its stages; `is_now` where they count from now."""

    start: float
    stages: tuple[Stage, ...]
    is_now: bool
    taken: tuple[str, ...] = ()


def clock(
    session: Session,
    typed: tuple[str | None, str | None, str | None],
    limits: tuple[Limit, ...],
    degree: Degree,
) -> Clock:
    """Read --start, --left and --from-now."""
    start, left, batch = typed
    if left and batch:
        raise Refused(phrase("--from-now takes the time left from the record: leave out --left."))
    if batch:
        return _of_batch(session, batch, start, degree)
    if left:
        return _left(left, start, limits, degree)
    first = limits[0].start
    assert first is not None  # the loader asks a start of a first stage
    begins = Temperature(first.number(degree), degree)
    if start is None:
        return Clock(celsius_of(begins), _stages(limits, degree, celsius_of(begins)), is_now=False)
    given = parse_temperature(start, degree)
    if given.over(first) < 0:
        raise Refused(
            phrase(
                "A cooling counts from {begins}, and {given} is below it: type how much of its "
                "time is left, such as --left 60min,5h, or --from-now BATCH.",
                begins=first,
                given=given,
            )
        )
    celsius = celsius_of(given)
    return Clock(celsius, _stages(limits, degree, celsius), is_now=False)


def _of_batch(session: Session, batch: str, start: str | None, degree: Degree) -> Clock:
    """Take the time left from the record, and where none is typed how warm it was last."""
    subject = open_batch(session, batch)
    findings = all_found(subject, session.record, session.register, session.now)
    found_open = open_stages(findings)
    if not found_open:
        raise Refused(
            phrase(
                "No time to cool {batch} is running that can be kept: look at it with haccp show "
                "{batch}",
                batch=subject.name,
            )
        )
    last, stages = standing(found_open)
    warm = celsius_of(parse_temperature(start, degree) if start else last.temperature)
    ahead = tuple(
        Stage(celsius_of(Temperature(limit.level.number(degree), degree)), minutes)
        for limit, minutes in minutes_left(stages, session.now)
    )
    ahead = tuple(one for one in ahead if one.celsius < warm)
    if not ahead or any(one.minutes <= 0 for one in ahead):
        raise Refused(phrase("{batch} has no time left that can be kept.", batch=subject.name))
    told = phrase("{temp} now, as last measured (else --start)", temp=shown(warm, degree))
    taken = () if start else (told,)
    return Clock(warm, ahead, is_now=True, taken=taken)


def _left(left: str, start: str | None, limits: tuple[Limit, ...], degree: Degree) -> Clock:
    if start is None:
        raise Refused(phrase("How warm is it now? Add --start, such as --start 106F."))
    warm = celsius_of(parse_temperature(start, degree))
    levels = [celsius_of(Temperature(one.level.number(degree), degree)) for one in limits]
    ahead = [level for level in levels if level < warm]
    times = [parse_minutes(one, "--left") for one in left.split(",")]
    if len(ahead) != len(times) or times != sorted(set(times)):
        raise Refused(
            phrase(
                "From {start} food has still to reach {levels}: type in --left the time to each, "
                "such as {example}.",
                start=shown(warm, degree),
                levels=", ".join(shown(level, degree) for level in ahead) or "-",
                example=",".join(["60min", "5h"][-len(ahead) or 2 :]),
            )
        )
    stages = (Stage(level, time) for level, time in zip(ahead, times, strict=True))
    return Clock(warm, tuple(stages), is_now=True)


def _stages(limits: tuple[Limit, ...], degree: Degree, start: float) -> tuple[Stage, ...]:
    """Turn the limits into the planner's stages, each counted from where its limit says."""
    found: list[Stage] = []
    for stage in limits:
        assert stage.within is not None  # the loader asks a time of every cooling stage
        if stage.clock is CountsFrom.PREVIOUS_STAGE:
            since: float | None = found[-1].celsius
        else:
            first = limits[0].start
            assert first is not None
            begins = celsius_of(Temperature(first.number(degree), degree))
            since = begins if start > begins else None
        level = celsius_of(Temperature(stage.level.number(degree), degree))
        found.append(Stage(level, stage.within / timedelta(minutes=1), since))
    return tuple(found)
