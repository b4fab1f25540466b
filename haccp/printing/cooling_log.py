"""The cooling log: a row for each cooling, with what was read at its two control points."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from haccp.kitchen.batch_facts import told_setup
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.cooling_conditions import setup_of
from haccp.kitchen.cooling_estimate import coolings, is_by_the_way, touches
from haccp.language import counted, message, phrase
from haccp.limits.limit import Limit
from haccp.phrases import ranging
from haccp.printing.in_brief import at_most, short
from haccp.printing.report_context import Sheet
from haccp.record.bodies import (
    CoolingSetup,
    DeliveryRejected,
    Discarded,
    Diverted,
    Measured,
    Released,
)
from haccp.record.entries import Entry, having
from haccp.rules.evidence import Finding, Reading, Step, Verdict, overall
from haccp.temperature import Degree
from haccp.time import clock

# So many small curves stand in one figure, four abreast.
PER_FIGURE = 12


@dataclass(frozen=True, slots=True)
class Cooling:
    """One cooling on these pages: which of its batch it is, and its stages."""

    batch: BatchOnRecord
    which: int
    stages: tuple[Finding, ...]

    @property
    def began(self) -> datetime:
        start = self.stages[0].start
        known = start.latest if start else None
        return known or self.stages[0].readings[0].at

    @property
    def verdict(self) -> Verdict:
        return overall(self.stages)

    def day(self, sheet: Sheet) -> date:
        return self.began.astimezone(sheet.register.zone).date()


def coolings_of(sheet: Sheet) -> list[Cooling]:
    """List the coolings that touch these days, in the order in which they began.

    Of food that was asked for by name all of them: it is shown from its beginning to its end.
    """
    found = [
        Cooling(batch, which, stages)
        for batch in sheet.review.batches
        for which, stages in enumerate(coolings(sheet.found(batch)))
        if not is_by_the_way(stages)
        if sheet.only.names(batch) or touches(stages, sheet.begins, sheet.ends)
    ]
    return sorted(found, key=lambda one: (one.began, one.batch.opened.seq, one.which))


def heads(found: Sequence[Cooling], sheet: Sheet) -> list[str]:
    """Name the two control points by the limits that most of these coolings are judged by."""
    degree = sheet.register.degree
    two = [one for one in found if len(one.stages) > 1]
    if not two:
        return [phrase("First stage"), _head(found[0].stages[-1].limit, degree)] if found else []
    return [_head(stage.limit, degree) for stage in two[0].stages[-2:]]


def _head(limit: Limit, degree: Degree) -> str:
    level = f"{limit.level.number(degree)} °{degree}"
    if limit.within is None:
        return phrase("{level}: read; time", level=level)
    return phrase("{level}: read; time of {allowed}", level=level, allowed=short(limit.within))


def row(one: Cooling, number: int, anchor: str, sheet: Sheet) -> dict[str, Any]:
    """Give one cooling's row; `anchor` names where it is printed in full, if it is."""
    stages = one.stages
    code = one.batch.name
    if one.which > 0:
        code = phrase("{code} (cooling {number})", code=code, number=one.which + 1)
    first = stages[0] if len(stages) > 1 else None
    return {
        "n": str(number),
        "food": one.batch.batch.food,
        "code": code,
        "way": "; ".join(filter(None, [one.batch.batch.amount, _way(one, sheet)])),
        "start": _start(stages[0], sheet),
        "first": _control(first, sheet) if first else [phrase("one stage:"), _allowed(stages[-1])],
        "last": _control(stages[-1], sheet),
        "verdict": one.verdict,
        "action": _action(one, sheet),
        "undecided": any(
            each.is_undecided for each in sheet.review.of(one.batch) if each.finding in stages
        ),
        "by": " ".join(_who(one)),
        "verified": _verified(one, sheet),
        "anchor": anchor,
    }


def _start(stage: Finding, sheet: Sheet) -> str:
    """Say when the time began: at one moment, or between two, or that nothing shows it."""
    bounds = stage.start
    if bounds is None or bounds.latest is None:
        return phrase("not on record")
    if bounds.earliest is None:
        return phrase("not shown; by {time}", time=sheet.on(bounds.latest))
    if bounds.earliest == bounds.latest:
        return sheet.on(bounds.latest)
    zone = sheet.register.zone
    one_day = len({one.astimezone(zone).date() for one in (bounds.earliest, bounds.latest)}) == 1
    latest = clock(bounds.latest, zone) if one_day else sheet.on(bounds.latest)
    return ranging(sheet.on(bounds.earliest), latest)


def _control(stage: Finding, sheet: Sheet) -> list[str]:
    """Give the reading that decided a stage, and the time that it took by its bounds."""
    kept = [one for one in stage.readings if stage.limit.kept_by(one.temperature)]
    since = stage.crossing.earliest if stage.crossing else None
    after = [one for one in kept if since is None or one.at > since]
    cooled = [one for one in stage.readings if one.step is Step.COOL] or stage.readings
    reading = after[0] if after else cooled[-1]
    return [_read(reading, stage.readings[0].at, sheet), _used(stage)]


def _read(reading: Reading, began: datetime, sheet: Sheet) -> str:
    """Give a reading in the kitchen's degree, with the day only where it is another."""
    same = reading.temperature.degree is sheet.register.degree
    temp = reading.temperature.value if same else reading.temperature
    zone = sheet.register.zone
    one_day = reading.at.astimezone(zone).date() == began.astimezone(zone).date()
    at = clock(reading.at, zone) if one_day else sheet.on(reading.at)
    return phrase("{temp} at {time}", temp=temp, time=at)


def _used(stage: Finding) -> str:
    """Say how long a stage took: the sign tells which bound counts."""
    shortest, longest = stage.shortest, stage.longest
    match stage.verdict:
        case Verdict.MET if longest is not None:
            return f"≤ {at_most(longest)}"
        case Verdict.NOT_MET if shortest is not None:
            return f"≥ {short(shortest)}"
        case Verdict.NOT_SHOWN if shortest is not None and longest is not None:
            return phrase("{least} to {most}", least=short(shortest), most=at_most(longest))
        case Verdict.OPEN:
            return phrase("time left")
        case Verdict.STOPPED:
            return "–"
        case _:
            return phrase("not known")


def _allowed(stage: Finding) -> str:
    return short(stage.limit.within) if stage.limit.within else "–"


def _way(one: Cooling, sheet: Sheet) -> str:
    """Say in what and how it cooled: as was entered, else noted, else as its food is planned."""
    readings = one.stages[0].readings
    said = any(having(one.batch.in_force, CoolingSetup))
    setup = told_setup(setup_of(one.batch, sheet.register, readings[-1].at))
    notes = [entry.body.note for entry in _entries(one) if entry.body.note and entry.at < one.began]
    return setup if said or not notes else "; ".join(dict.fromkeys(notes[:2]))


def _entries(one: Cooling) -> list[Entry[Measured]]:
    """Give the readings of a cooling as they were entered, from when it was set to cool."""
    refs = {reading.ref for reading in one.stages[0].readings}
    last = one.stages[0].readings[-1].at
    mine = [entry for entry in one.batch.measured if entry.at <= last]
    begun = [i for i, entry in enumerate(mine) if entry.ref in refs]
    first = min(begun, default=len(mine))
    while first and mine[first - 1].body.step == Step.COOL:
        first -= 1
    return [entry for entry in mine[first:] if entry.body.step == Step.COOL]


def _who(one: Cooling) -> list[str]:
    return sorted({entry.person for entry in _entries(one)})


def _action(one: Cooling, sheet: Sheet) -> str:
    """Say what became of a cooling that was not met, shown or finished."""
    if one.verdict is Verdict.STOPPED:
        return phrase("ended in time")
    looked = [each for each in sheet.review.of(one.batch) if each.finding in one.stages]
    found = [each for each in looked if each.finding.verdict.is_deviation]
    if not found:
        return ""
    acts = [entry for each in found for entry in each.decided_by]
    if not acts:
        return phrase("none: undecided")
    last = acts[-1]
    words = _ACTS.get(type(last.body), message("put right, {who} {time}"))
    return phrase(words, who=last.person, time=sheet.on(last.at))


_ACTS: dict[type, str] = {
    Discarded: message("discarded, {who} {time}"),
    DeliveryRejected: message("sent back, {who} {time}"),
    Diverted: message("other use, {who} {time}"),
    Released: message("released, {who} {time}"),
}


def _verified(one: Cooling, sheet: Sheet) -> str:
    """Say who signed the day of a cooling's last reading after it; empty where nobody did."""
    last = one.stages[0].readings[-1].at
    signature = sheet.register.signed(last.astimezone(sheet.register.zone).date())
    return signature.person if signature and signature.entered_at >= last else ""


def title(found: Sequence[Cooling]) -> str:
    return counted("Cooling log: {count} cooling", "Cooling log: {count} coolings", len(found))
