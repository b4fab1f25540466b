"""Holding units: what their checks are judged by, and what the rules say of them."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import groupby

from haccp.errors import Refused
from haccp.kitchen.readings_as_evidence import is_step, reading_of
from haccp.kitchen.register import Register
from haccp.limits import Limit
from haccp.record.entries import Entry, HoldingUnit, Measured, UnitEmptied
from haccp.rules.evidence import Finding, Step
from haccp.rules.holding import judge_holding, missed_checks
from haccp.rules.judge import HOLDING_LIMIT

# What a unit's checks are judged by where it is not simply hot or cold: 3-501.16(B), 3-501.11.
_UNIT_LIMIT = {"egg": "egg-holding", "frozen": "frozen-holding"}


def unit_step(unit: HoldingUnit) -> Step:
    return Step.HOT_HOLD if unit.holds == "hot" else Step.COLD_HOLD


def refuse_other_use(unit: HoldingUnit, step: Step) -> None:
    """Raise Refused where food cannot be held in a unit as it is said to be."""
    if step in HOLDING_LIMIT and step is not unit_step(unit):
        raise Refused(f"{unit.name} is not a unit for {step.words}: type another, or leave it out.")


def unit_limit(unit: HoldingUnit, step: Step) -> str:
    return _UNIT_LIMIT.get(unit.holds, HOLDING_LIMIT[step])


def judge_unit(
    name: str, entries: Sequence[Entry], register: Register, as_of: datetime
) -> Iterator[Finding]:
    """Judge a unit's checks, each by the limits and the unit's settings of its own moment."""
    of_batches = {str(entry.seq) for entry in entries if entry.batch}
    for readings, until in _sessions(name, entries, register, as_of):
        judged = [(reading_of(entry, register), _limit_at(entry, register)) for entry in readings]
        runs = [list(run) for _, run in groupby(judged, key=lambda pair: pair[1])]
        for i, run in enumerate(runs):
            limit = run[0][1]
            evidence = [reading for reading, _ in run]
            # a batch's reading in it is judged with the batch; it is a check of the unit too
            own = [one for one in evidence if one.ref not in of_batches]
            before = runs[i - 1][-1:] if i else []
            after = runs[i + 1][:1] if i + 1 < len(runs) else []
            neighbours = [reading for reading, _ in (*before, *after)]
            step = evidence[0].step
            following = after[0][0].at if after else until
            if own:
                yield from judge_holding(step, own, limit, neighbours)
            for reading, end in zip(
                evidence, [*(r.at for r in evidence[1:]), following], strict=True
            ):
                gap = _longest_gap(name, reading.at, register)
                yield from missed_checks(step, [reading], limit, gap, end)


def _limit_at(entry: Entry, register: Register) -> Limit:
    body = entry.body
    assert isinstance(body, Measured)  # sessions hold nothing else
    unit = register.unit_at(entry.unit or "", entry.at)
    return register.limits_at(entry.at).get(unit_limit(unit, Step(body.step)))


def _longest_gap(name: str, at: datetime, register: Register) -> timedelta:
    grace = register.kitchen_at(at).grace_min
    return timedelta(minutes=register.unit_at(name, at).every_min + grace)


def _sessions(
    name: str, entries: Sequence[Entry], register: Register, as_of: datetime
) -> Iterator[tuple[list[Entry], datetime]]:
    """Cut a unit's checks where it was emptied or retired, or held the other way."""
    retired = register.retired_at(name)
    session: list[Entry] = []
    for entry in sorted(entries, key=lambda entry: entry.at):
        if entry.at > as_of:
            break
        body = entry.body
        if isinstance(body, UnitEmptied) and session:
            yield session, entry.at
            session = []
        elif isinstance(body, Measured) and body.step in HOLDING_LIMIT:
            if session and not is_step(session[-1], Step(body.step)):
                yield session, entry.at
                session = []
            session.append(entry)
    if session:
        yield session, as_of if retired is None else min(as_of, max(retired, session[-1].at))
