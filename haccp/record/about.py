"""What is known about a batch beside its readings, in words for the terminal and for paper."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from haccp.record.datemarks import date_mark, frozen_times
from haccp.record.entries import Assessed, CoolingSetup
from haccp.record.register import Register
from haccp.record.store import Record
from haccp.record.subjects import Subject
from haccp.rules.evidence import Reading, Step
from haccp.rules.exposure import time_between
from haccp.rules.lethality import come_up, lethality
from haccp.rules.words import Clock
from haccp.time import short_day, spell


def about(
    subject: Subject, record: Record, register: Register, now: datetime, when: Clock
) -> Iterator[tuple[str, str]]:
    """Tell a batch's facts as of a moment, each under its name; `when` shows a moment."""
    yield from _said(subject, when)
    mark = date_mark(record, register, subject.name, now)
    if mark and subject.timed_since is None:
        limit = register.limits_at(subject.opened.at).get("date-mark")
        yield "Date mark", f"use by {short_day(mark)} ({limit.citation})"
    for frozen, thawed in frozen_times(subject, now):
        until = f"until {when(thawed)}" if thawed else "and still"
        yield "Frozen", f"from {when(frozen)} {until}"
    assessed = [one.body for one in subject.in_force if isinstance(one.body, Assessed)]
    if assessed:
        yield "TCS food", _assessed(assessed[-1])
    # of what was put together from several batches, each is told of by itself
    heats = [_heat(line, register) for line in subject.lines_of_evidence(register)]
    yield from dict.fromkeys(fact for heat in heats for fact in heat)


def _said(subject: Subject, when: Clock) -> Iterator[tuple[str, str]]:
    """Tell what was said of a batch when it was opened."""
    batch, opened = subject.batch, subject.opened
    supplier = f" from {batch.supplier}" if batch.supplier else ""
    law = f"; may arrive warmer by {batch.by_law}" if batch.by_law else ""
    weight = f", roast of {batch.weight_lb} lb" if batch.weight_lb else ""
    facts = {
        "Received" if batch.received_as else "Opened": f"{when(opened.at)} by {opened.person}",
        "Delivered": f"{batch.received_as}{supplier}{law}" if batch.received_as else "",
        "Amount": batch.amount,
        "Kind": batch.food_kind,
        "Oven": f"{batch.oven}{weight}" if batch.oven else "",
        "Prepared": "from ingredients at room temperature" if batch.ambient else "",
        "Taken from": ", ".join(batch.portion_of),
        "Made from": ", ".join(batch.made_from),
    }
    yield from ((name, words) for name, words in facts.items() if words)


def told_setup(body: CoolingSetup) -> str:
    """Say how a batch cools, as it was entered."""
    air = f"around it {body.air}{f' to {body.air_to}' if body.air_to else ''}" if body.air else ""
    depth = f"{body.depth_in} in deep" if body.depth_in else ""
    told = (body.method, body.nature, body.container, depth, air)
    return ", ".join(one for one in told if one)


def _assessed(body: Assessed) -> str:
    known = [("pH", body.ph), ("water activity", body.water_activity)]
    measured = ", ".join(f"{name} {value}" for name, value in known if value)
    table = "A" if body.heat_treated and body.packaged else "B"
    return f"{body.result} by 1-201.10 Table {table} ({measured})"


def _heat(readings: tuple[Reading, ...], register: Register) -> Iterator[tuple[str, str]]:
    """Tell how long it was neither cold nor hot, and what the heat of a roast amounts to."""
    if not readings:
        return
    limits = register.limits_at(readings[0].at)
    cold, hot = limits.get("cold-holding").level, limits.get("hot-holding").level
    between = time_between(sorted(readings, key=lambda one: one.at), cold, hot)
    if between and between.longest:
        span = (
            f"{cold.number(register.degree)} and {hot.number(register.degree)} °{register.degree}"
        )
        yield f"Between {span}", _bounds(between.shortest, between.longest) + " (information)"
    cooked = [one for one in readings if one.step is Step.COOK]
    heat = lethality(cooked) if cooked else None
    if heat and heat.minutes:
        yield "Heat", heat.words.rstrip(".")
    rise = come_up(cooked) if cooked else None
    if rise and rise.longest != timedelta(0) and (rise.shortest or rise.longest):
        guidance = {
            True: "within the 6 h",
            False: "more than the 6 h",
            None: "not shown to be within the 6 h",
        }[rise.keeps_guidance]
        took = f"{_bounds(rise.shortest, rise.longest)}, {guidance} of federal guidance for"
        yield "From 50 to 130 °F", f"{took} inspected plants (from memory; no limit here)"


def _bounds(shortest: timedelta, longest: timedelta | None) -> str:
    if longest is None:
        return f"at least {spell(shortest)}"
    least, most = spell(shortest), spell(longest)
    if least == most:
        return most
    return f"{least} to {most}" if shortest else f"at most {most}"
