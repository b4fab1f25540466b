"""A batch's account in words: a line of phases with their times for each way back of its food."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from haccp.rules.account.judge import Judged
from haccp.rules.account.life import Phase, Stay
from haccp.rules.account.table import State
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Bounds, Finding, Step
from haccp.time import clock

WORDS: Mapping[State, str] = {
    State.NEW: "not yet measured",
    State.FROZEN: "frozen",
    State.RAW: "raw, cold",
    State.SEARED: "heated once, to be cooked later",
    State.HEATING: "cooking",
    State.HOT: "hot",
    State.RESTING: "set to cool",
    State.ASIDE: "in preparation, no longer hot",
    State.COOLING: "cooling",
    State.COLD: "cold",
    State.REHEATING: "reheating",
    State.OUT: "out of temperature",
    State.TIMED: "under time control",
    State.OUTSIDE: "no TCS food",
    State.GONE: "nothing left",
}
# In which states food is while what a step's findings tell of goes on, the likeliest first.
ABOUT: Mapping[Step, tuple[State, ...]] = {
    Step.RECEIVE: (State.RAW, State.COLD, State.FROZEN, State.HOT, State.OUT),
    Step.PREPARE: (State.OUT, State.ASIDE, State.NEW),
    Step.COOK: (State.HEATING, State.SEARED),
    Step.HOT_HOLD: (State.HOT,),
    Step.COOL: (State.COOLING, State.RESTING),
    Step.COLD_HOLD: (State.COLD, State.RAW, State.FROZEN),
    Step.REHEAT: (State.REHEATING,),
    Step.TIME_CONTROL: (State.TIMED,),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A phase as it is told: the units that the food stood in, whether a deviation is in it, and
    in which batches it began, where that was before this one.
    """

    phase: Phase
    stays: tuple[Stay, ...]
    deviates: bool
    began_in: tuple[str, ...] = ()


def tell(judged: Judged, parts: Sequence[Sequence[str]], opened: datetime) -> list[list[Told]]:
    """Pick what is told of each way back; `parts` names the batches that each one comes from.

    Unless it holds a deviation, a phase that lasted no time is left out, and so is the time until
    the first reading, which the bounds of the next phase tell.
    """
    marked = [
        phase
        for finding in judged.findings
        if finding.verdict.is_deviation
        for phase in _phases_of(finding, [one for way in judged.phases for one in way])
    ]
    return [
        [
            Told(
                phase=phase,
                stays=tuple(one for one in way.stays if _is_in(one, phase)),
                deviates=phase in marked,
                began_in=tuple(names) if phase is way.phases[0] and _before(phase, opened) else (),
            )
            for phase in way.phases
            if phase in marked or not _goes_without_saying(phase)
        ]
        for way, names in zip(judged.ways, parts, strict=True)
    ]


def _phases_of(finding: Finding, phases: Sequence[Phase]) -> Sequence[Phase]:
    """Find the phases that a finding is about: by its readings and its step, else by its time.

    Each finding is about one: where nothing fits, about the last.
    """
    readings = finding.readings
    since = finding.start.latest if finding.start else None
    moment = since or finding.since
    shown = [
        one for one in phases if any(ev.reading and ev.reading in readings for ev in one.evidence)
    ]
    lasted = [one for one in phases if moment and _holds(one, moment)]
    for some in (shown, lasted):
        for state in ABOUT[finding.step]:
            if named := [one for one in some if one.state is state]:
                return named
    return shown[-1:] or lasted[-1:] or phases[-1:]


def _holds(phase: Phase, moment: datetime) -> bool:
    """Whether a moment may lie in a phase."""
    begins, ends = phase.began.earliest, phase.ended.latest if phase.ended else None
    return (begins is None or begins <= moment) and (ends is None or moment <= ends)


def _is_in(stay: Stay, phase: Phase) -> bool:
    ends = phase.ended.latest if phase.ended else None
    begins = phase.began.latest
    return (ends is None or stay.began < ends) and (
        begins is None or stay.ended is None or stay.ended > begins
    )


def _before(phase: Phase, opened: datetime) -> bool:
    return phase.began.earliest is None or phase.began.earliest < opened


def _goes_without_saying(phase: Phase) -> bool:
    if phase.ended is None:
        return False
    lasted_no_time = phase.began.earliest == phase.ended.latest is not None
    return lasted_no_time or phase.state is State.NEW


def line(told: Sequence[Told], when: ShowMoment, zone: ZoneInfo) -> str:
    """Write one way back as a line: ``cold from 06:02, in walk-in as usual; cooking since 08:10``.

    The times are kitchen time, with the day (`when`) where that is another than before. Of what
    began between two pieces of evidence both are named.
    """
    show = _one_after_the_other(when, zone)
    words = "; ".join(_phase(one, show, last=one is told[-1]) for one in told)
    return f"{words} (! marks a deviation)" if any(one.deviates for one in told) else words


def _phase(told: Told, show: ShowMoment, *, last: bool) -> str:
    phase, sign = told.phase, "!" if told.deviates else ""
    # what was said to be over has a moment of its own
    over = phase.state is State.GONE
    began = Bounds(phase.began.latest, phase.began.latest) if over else phase.began
    since = "since" if last else "from"
    words = f"{sign}{WORDS[phase.state]} {since} {_moment(began, show)}"
    if told.began_in:
        words += f" (began in {' or '.join(told.began_in)})"
    return words + "".join(_places(told, show))


def _moment(bounds: Bounds, show: ShowMoment) -> str:
    if bounds.latest is None:
        return "a time that is not on record"
    if bounds.earliest is None:
        return f"{show(bounds.latest)} or before"
    if bounds.earliest == bounds.latest:
        return show(bounds.latest)
    return f"between {show(bounds.earliest)} and {show(bounds.latest)}"


def _places(told: Told, show: ShowMoment) -> Iterator[str]:
    """Name the units of a phase: since when, where it began elsewhere."""
    for one in told.stays:
        begins, unit = told.phase.began.latest, in_unit(one)
        yield f", {unit}" if begins and one.began <= begins else f", {unit} from {show(one.began)}"


def in_unit(stay: Stay) -> str:
    return f"in {stay.unit} as usual" if stay.usual else f"in {stay.unit}"


def from_to(stay: Stay, when: ShowMoment, zone: ZoneInfo) -> str:
    """Say for how long food stood in a unit: ``10:08 to 13:20``."""
    show = _one_after_the_other(when, zone)
    usual = ", as usual" if stay.usual else ""
    if stay.ended is None:
        return f"since {show(stay.began)}{usual}"
    return f"{show(stay.began)} to {show(stay.ended)}{usual}"


def _one_after_the_other(when: ShowMoment, zone: ZoneInfo) -> Callable[[datetime], str]:
    """Show moments that follow each other: the day where it is another than that of the last."""
    day: date | None = None

    def show(moment: datetime) -> str:
        nonlocal day
        before, day = day, moment.astimezone(zone).date()
        return clock(moment, zone) if day == before else when(moment)

    return show
