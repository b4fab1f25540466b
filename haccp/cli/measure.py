"""The cook's hourly entry: `cook`, `hold`, `cool`, `reheat`."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from typing import Any

import click

from haccp.cli.session import Session, confirm, printable
from haccp.errors import Refused
from haccp.record.entries import Draft, Measured
from haccp.record.register import Register
from haccp.record.subjects import (
    Subject,
    find,
    held_to,
    open_codes,
    read_batches,
    read_units,
    reading_of,
    unit_step,
)
from haccp.rules.advice import advise
from haccp.rules.batch import HOLDING_LIMIT
from haccp.rules.cooling import ACCURACY
from haccp.rules.evidence import Finding, Reading, Reason, Step, Verdict, overall
from haccp.rules.holding import judge_holding
from haccp.rules.words import explain, goal
from haccp.temperature import Temperature, is_plausible, parse_temperature
from haccp.time import day_and_clock, parse_when, spell

# A reading this old is rather a slip of the day than a late entry: common practice, no source.
_LONG_AGO = timedelta(days=2)

_HOLD = re.compile(r"([0-9]{1,5})\s*(s|sec|min|h)?")
_LONGEST_HOLD_S = 86_400
_SECONDS = {None: 1, "s": 1, "sec": 1, "min": 60, "h": 3600}


def log(
    session: Session,
    name: str,
    temp: str,
    when: tuple[str, ...],
    by: str | None,
    thermometer: str | None,
    note: str,
    yes: bool,
    step: Step | None,
    held: str = "0",
    unit: str | None = None,
) -> None:
    """Record one reading of a batch or unit and answer in at most three lines."""
    person = session.by(by)
    register = session.register
    at = parse_when(" ".join(when), session.now, register.zone)
    temperature = parse_temperature(temp, register.degree)
    subject = _subject(session, name, holding=step is None)
    step = step or _holding_step(subject, name, at)
    reading = Measured(
        step=step,
        temp=str(temperature.value),
        degree=temperature.degree,
        held_s=parse_held(held),
        thermometer=which_thermometer(register, thermometer),
        note=printable(note, "The note") if note else "",
    )
    question = _unusual(subject, step, temperature, at, session)
    if question:
        reading = replace(reading, confirmed=confirm(question, yes=yes))
    names = list(register.units)
    draft = Draft(
        body=reading,
        at=at,
        person=person.initials,
        batch=None if subject.unit else subject.name,
        unit=subject.name if subject.unit else find(unit, names, "unit") if unit else None,
    )
    before = subject.judged(register, session.now)
    (entry,) = session.append(draft)
    subject = replace(subject, entries=(*subject.entries, entry))
    answer(subject, reading_of(entry, register), before, session)


def answer(subject: Subject, reading: Reading, before: Sequence[Finding], session: Session) -> None:
    """Say the verdict, what the food must do next and by when, and when to measure again.

    `before` is what was found before this reading: what it turned into a deviation is told too.
    """
    register, now = session.register, session.now
    clock = partial(day_and_clock, now=now, zone=register.zone)
    after = subject.judged(register, max(now, reading.at))
    findings = _about(reading, after, before, subject, register)
    verdict = overall(findings)
    decisive = [finding for finding in findings if finding.verdict is verdict]
    why = "" if verdict is Verdict.OPEN else f" {explain(decisive[-1], clock)}"
    told = f"{subject.title} {reading.temperature} at {clock(reading.at)}, {reading.step.words}"
    click.echo(f"{verdict.upper()}: {told}.{why}")
    if verdict.is_deviation:
        or_discard = "" if subject.unit else f' or haccp discard {subject.name} "..."'
        click.echo(
            f"Next: set the food apart and tell a manager; then log what is done: "
            f'haccp action {subject.name} "..."{or_discard}.'
        )
        return
    advice = advise(after, reading, subject.check_every(register))
    if advice.goals:
        first, *later = advice.goals
        in_time = f" ({spell(first.due - now)} left)" if first.due and first.due > now else ""
        then = "".join(f", then {goal(one, clock)}" for one in later)
        click.echo(f"Next: {goal(first, clock)}{in_time}{then}.")
    if advice.measure_by:
        click.echo(f"Measure again by {clock(advice.measure_by)}.")


def _about(
    reading: Reading,
    after: Sequence[Finding],
    before: Sequence[Finding],
    subject: Subject,
    register: Register,
) -> list[Finding]:
    """Pick what a reading decides about: findings that rest on its moment, new deviations."""

    def same(one: Finding) -> tuple[object, ...]:
        return (one.step, one.limit.name, one.since, one.verdict)

    known = {same(one) for one in before}
    found = [
        finding
        for finding in after
        if any(one.at == reading.at for one in finding.readings)
        or (finding.verdict.is_deviation and same(finding) not in known)
    ]
    found = [finding for finding in found if finding.reason is not Reason.MISSED_CHECK]
    if reading.step in HOLDING_LIMIT and not any(one.step is reading.step for one in found):
        # a good check after a bad one: the earlier deviation stands, this reading is fine
        limit = held_to(subject, reading, register, after)
        found += judge_holding(reading.step, [reading], limit)
    return found


def _subject(session: Session, name: str, *, holding: bool) -> Subject:
    """Find the batch meant, or for a holding also the unit."""
    register, record = session.register, session.record
    codes = open_codes(record)
    units = [unit.name for unit in register.units.values() if unit.active] if holding else []
    found = find(name, [*codes, *units], "batch or unit" if holding else "open batch")
    if found in units:
        since, until = session.now - timedelta(days=2), session.now + timedelta(hours=1)
        return read_units(record, register, [found], since, until)[0]
    return read_batches(record, [found])[0]


def _holding_step(subject: Subject, name: str, at: datetime) -> Step:
    """Say whether a batch is held hot or cold: by what it went through before that moment."""
    if subject.unit:
        return unit_step(subject.unit)
    past = [entry.body for entry in subject.readings if entry.at <= at]
    last = past[-1] if past else None
    if isinstance(last, Measured):
        return Step.COLD_HOLD if last.step in (Step.COOL, Step.COLD_HOLD) else Step.HOT_HOLD
    raise Refused(
        f"{name} has no reading before that, so hot or cold is not known: "
        f"log haccp cook or haccp cool first."
    )


def which_thermometer(register: Register, label: str | None) -> str:
    """Give the thermometer named, or the kitchen's first; raises Refused for an unknown one."""
    active = [one.label for one in register.thermometers.values() if one.active]
    if label:
        return find(label, active, "thermometer")
    return active[0] if active else ""


def parse_held(text: str) -> str:
    """Read a hold such as ``15``, ``15s`` or ``2min`` into seconds; raises Refused otherwise."""
    match = _HOLD.fullmatch(text.strip().lower())
    if match is None:
        raise Refused(f"{text!r} is no time held: type seconds such as 15, or 2min.")
    seconds = int(match[1]) * _SECONDS[match[2]]
    if seconds > _LONGEST_HOLD_S:
        raise Refused(f"{text!r} is longer than a day: type seconds such as 15, or 2min.")
    return str(seconds)


def _unusual(
    subject: Subject, step: Step, temperature: Temperature, at: datetime, session: Session
) -> str | None:
    """Put into a question what a slip of the finger would look like."""
    if not is_plausible(temperature):
        return f"{temperature} is no temperature of food."
    when = day_and_clock(at, session.now, session.register.zone)
    if not subject.unit and at < subject.opened.at:
        return f"{when} is before {subject.name} was opened."
    if session.now - at > _LONG_AGO:
        return f"{when} is {spell(session.now - at)} ago."
    if step is not Step.COOL:
        return None
    earlier = [reading_of(e, session.register) for e in subject.readings if e.at < at]
    if earlier and earlier[-1].step is Step.COOL:
        last = earlier[-1].temperature
        if temperature.fahrenheit - last.fahrenheit > ACCURACY:
            return f"{temperature} is warmer than the {last} before it, and it is cooling."
    return None


def _command(name: str, step: Step | None, help_: str, *more: click.Parameter) -> click.Command:
    return click.Command(
        name,
        # so that a freezer's -4F is a temperature and no option
        context_settings={"ignore_unknown_options": True},
        callback=click.pass_obj(partial(log, step=step)),
        params=[
            click.Argument(["name"], metavar="BATCH" if step else "BATCH_OR_UNIT"),
            click.Argument(["temp"]),
            click.Argument(["when"], nargs=-1),
            *more,
            _option("--thermometer", "If not the kitchen's first.", envvar="HACCP_THERMOMETER"),
            _option("--note", "A few words to print beside the reading.", default=""),
            _option("--by", "Who records; else HACCP_BY or `haccp by`."),
            click.Option(["--yes"], is_flag=True, help="An unusual value is right."),
        ],
        help=help_,
    )


def _option(name: str, help_: str, **more: Any) -> click.Option:
    return click.Option([*name.split()], help=help_, **more)


_HELD = _option("--held", "How long it stayed there: 15, 15s, 2min.", default="0")
_IN = _option("--in unit", "The unit that it stands in.")

COMMANDS = (
    _command(
        "cook", Step.COOK, "Log a cooking temperature.\n\nhaccp cook stew 165 --held 15", _HELD
    ),
    _command("hold", None, "Log a hot or cold holding check.\n\nhaccp hold well-1 141", _IN),
    _command("cool", Step.COOL, "Log a cooling temperature.\n\nhaccp cool stew 98 14:05", _IN),
    _command(
        "reheat",
        Step.REHEAT,
        "Log a reheating temperature.\n\nhaccp reheat stew 166 --held 15",
        _HELD,
    ),
)
