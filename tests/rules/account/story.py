"""Stories of invented food, a line for each piece of evidence: what happened, when, how warm.

``cook 0 180; check hot 30 140 in well-1; taken out 60; used 90``: a step or event, the minute, the
temperature, a hold in seconds and a unit where there are any.
"""

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

from haccp import limits
from haccp.rules.account.judge import Judged, judge
from haccp.rules.account.life import Evidence, Life, Unit, Watch
from haccp.rules.account.steps import Event, Keeps, What
from haccp.rules.evidence import Finding, Reading, Step
from haccp.temperature import parse_temperature

ZERO = datetime(2026, 1, 5, tzinfo=UTC)
LIMITS = limits.shipped()
HOUR = timedelta(hours=1)

# A kitchen that looks at hot food every hour, at cold every four, at frozen twice a day.
KITCHEN = Watch(
    units={
        "well-1": Unit(Keeps.HOT, timedelta(minutes=75)),
        "walk-in": Unit(Keeps.COLD, timedelta(minutes=300)),
        "freezer": Unit(Keeps.FROZEN, timedelta(minutes=780)),
    },
    usual={Keeps.HOT: "well-1", Keeps.COLD: "walk-in", Keeps.FROZEN: "freezer"},
    longest_gap={
        Keeps.HOT: timedelta(minutes=75),
        Keeps.COLD: timedelta(minutes=300),
        Keeps.FROZEN: timedelta(minutes=780),
    },
)
NOBODY_LOOKS = Watch()

_WORDS: Mapping[str, What] = {
    **{step.words: step for step in Step},
    **{event.value: event for event in Event if event is not Event.SEAR},
}
_LINE = re.compile(
    r"(?P<what>[a-zA-Z ]+?) (?P<minute>-?[0-9.]+)(?: (?P<temp>-?[0-9.]+[CF]?))?"
    r"(?: for (?P<held>[0-9]+))?(?: by (?P<method>[a-z0-9 ]+?))?(?: in (?P<unit>[a-z0-9-]+))?"
    r"(?P<doubt> \?)?(?: said (?P<said>-?[0-9.]+))?"
)


def at(minute: float) -> datetime:
    return ZERO + timedelta(minutes=minute)


def evidence(line: str) -> Evidence:
    match = _LINE.fullmatch(line.strip())
    assert match, line
    what = _WORDS[match["what"]]
    moment = at(float(match["minute"]))
    reading = None
    if match["temp"]:
        temp = match["temp"]
        steps = {Event.CHECK_HOT: Step.HOT_HOLD, Event.RECEIVE_BY_LAW: Step.RECEIVE}
        reading = Reading(
            at=moment,
            temperature=parse_temperature(temp if temp[-1] in "FC" else f"{temp}F"),
            step=what if isinstance(what, Step) else steps.get(what, Step.COLD_HOLD),
            held=timedelta(seconds=int(match["held"] or 0)),
            method=match["method"] or "",
            doubted_since=at(5000) if match["doubt"] else None,
            ref=line.strip(),
        )
    said = at(float(match["said"])) if match["said"] else None
    return Evidence(moment, what, reading, match["unit"] or "", said)


def life(story: str, **more: Any) -> Life:
    """Read a story; `opened` is a minute, as `prepared` is."""
    for name in ("opened", "prepared"):
        if name in more:
            more[name] = at(more[name])
    lines = [line for line in story.split(";") if line.strip()]
    return Life(evidence=tuple(map(evidence, lines)), **more)


def told(story: str, as_of: float | None = None, **more: Any) -> Judged:
    limit_set = more.pop("limits", LIMITS)
    return judge(life(story, **more), limit_set, None if as_of is None else at(as_of))


def minutes(duration: timedelta | None) -> float | None:
    return None if duration is None else duration / timedelta(minutes=1)


def verdicts(judged: Judged) -> list[str]:
    return [f"{one.limit.name} {one.verdict.value}" for one in judged.findings]


def deviations(judged: Judged) -> list[str]:
    bad = [one for one in judged.findings if one.verdict.is_deviation]
    return [f"{one.limit.name} {one.verdict.value}" for one in bad]


def states(judged: Judged) -> str:
    return " > ".join(phase.state.value for phase in judged.phases[0])


def only(judged: Judged, limit: str) -> Finding:
    (found,) = [one for one in judged.findings if one.limit.name == limit]
    return found


def bounds(finding: Finding) -> tuple[float | None, float | None]:
    return minutes(finding.shortest), minutes(finding.longest)
