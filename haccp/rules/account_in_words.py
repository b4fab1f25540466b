"""A batch's account in words: a line of phases with their times for each way back of its food."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from haccp.language import message, phrase
from haccp.phrases import any_of, at, with_article
from haccp.rules.account.judge import Judged
from haccp.rules.account.life import Phase, Stay
from haccp.rules.account.table import State
from haccp.rules.asked import ShowMoment
from haccp.rules.evidence import Bounds, Finding, Step
from haccp.time import clock

WORDS: Mapping[State, str] = {
    State.NEW: message("not yet measured"),
    State.FROZEN: message("frozen"),
    State.RAW: message("raw, cold"),
    State.SEARED: message("heated once, to be cooked later"),
    State.HEATING: message("cooking"),
    State.HOT: message("hot"),
    State.RESTING: message("set to cool"),
    State.ASIDE: message("in preparation, no longer hot"),
    State.COOLING: message("cooling"),
    State.COLD: message("cold"),
    State.REHEATING: message("reheating"),
    State.OUT: message("out of temperature"),
    State.TIMED: message("under time control"),
    State.OUTSIDE: message("no TCS food"),
    State.GONE: message("nothing left"),
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
    if not any(one.deviates for one in told):
        return words
    return phrase("{account} (! marks a deviation)", account=words)


def _phase(told: Told, show: Callable[[datetime], str], *, last: bool) -> str:
    phase, sign = told.phase, "!" if told.deviates else ""
    # what was said to be over has a moment of its own
    over = phase.state is State.GONE
    began = Bounds(phase.began.latest, phase.began.latest) if over else phase.began
    words = sign + _began(phrase(WORDS[phase.state]), began, show, last=last)
    if told.began_in:
        words = phrase("{phase} (began in {batches})", phase=words, batches=any_of(told.began_in))
    return ", ".join([words, *_places(told, show)])


def _began(state: str, bounds: Bounds, show: Callable[[datetime], str], *, last: bool) -> str:
    """Say since when the last state goes on, and from when another was."""
    if bounds.latest is None:
        since = message("{state} since a time that is not on record")
        from_ = message("{state} from a time that is not on record")
        words = since if last else from_
        return phrase(words, state=state)
    if bounds.earliest is None:
        since = message("{state} since {latest} or before")
        from_ = message("{state} from {latest} or before")
        words = since if last else from_
        return phrase(words, state=state, latest=_shown(bounds.latest, show))
    if bounds.earliest == bounds.latest:
        since, from_ = message("{state} since {moment}"), message("{state} from {moment}")
        words = since if last else from_
        return phrase(words, state=state, moment=_shown(bounds.latest, show))
    since = message("{state} since between {earliest} and {latest}")
    from_ = message("{state} from between {earliest} and {latest}")
    words = since if last else from_
    return phrase(
        words,
        state=state,
        earliest=_shown(bounds.earliest, show),
        latest=_shown(bounds.latest, show),
    )


def _shown(moment: datetime, show: Callable[[datetime], str]) -> str:
    return with_article(show(moment))


def _places(told: Told, show: Callable[[datetime], str]) -> Iterator[str]:
    """Name the units of a phase: since when, where it began elsewhere."""
    begins = told.phase.began.latest
    for one in told.stays:
        if begins and one.began <= begins:
            there = message("in {unit} as usual") if one.usual else message("in {unit}")
            yield phrase(there, unit=one.unit)
        else:
            usual = message("in {unit} as usual from {since}")
            there = usual if one.usual else message("in {unit} from {since}")
            yield phrase(there, unit=one.unit, since=_shown(one.began, show))


def from_to(stay: Stay, when: ShowMoment, zone: ZoneInfo) -> str:
    """Say for how long food stood in a unit: ``10:08 to 13:20``."""
    show = _one_after_the_other(when, zone)
    began = _shown(stay.began, show)
    if stay.ended is None:
        words = message("since {began}, as usual") if stay.usual else message("since {began}")
        return phrase(words, began=began)
    if stay.ended - stay.began < timedelta(minutes=1):
        told = at(when(stay.began))
        return phrase("{at}, as usual", at=told) if stay.usual else told
    there = message("{began} to {ended}")
    words = message("{began} to {ended}, as usual") if stay.usual else there
    return phrase(words, began=began, ended=_shown(stay.ended, show))


def _one_after_the_other(when: ShowMoment, zone: ZoneInfo) -> Callable[[datetime], str]:
    """Show moments that follow each other: the day where it is another than that of the last."""
    day: date | None = None

    def show(moment: datetime) -> str:
        nonlocal day
        before, day = day, moment.astimezone(zone).date()
        return clock(moment, zone) if day == before else when(moment)

    return show
