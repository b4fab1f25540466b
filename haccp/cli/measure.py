"""The cook's hourly entry: `prepare`, `cook`, `hold`, `cool`, `reheat`, `time`."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

import click

from haccp.cli.asking import complete
from haccp.cli.session import Session, by_option, confirm, printable
from haccp.cli.terminal import say
from haccp.cli.typing_slips import looks_wrong
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord, refuse_unjudgeable
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.naming import find, open_names
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.reading import read_batch, read_units
from haccp.kitchen.readings_as_evidence import is_step, reading_of
from haccp.kitchen.register import Register
from haccp.kitchen.review import undecided
from haccp.kitchen.units import UnitOnRecord, refuse_other_use, unit_step
from haccp.quantities import LENGTHS, hundredths, parse_length
from haccp.record.entries import BatchOpened, CoolingSetup, Draft, Measured, having
from haccp.rules.account.holding import judge_holding
from haccp.rules.account.steps import TRAITS, Keeps
from haccp.rules.advice import advise
from haccp.rules.evidence import (
    INITIAL,
    MICROWAVE,
    OPENED,
    SIX_HOURS,
    UNSLICED,
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
    overall,
)
from haccp.rules.remedies import options
from haccp.rules.words import explain, goal, target
from haccp.temperature import (
    COLDEST,
    Degree,
    Temperature,
    is_of_an_oven,
    parse_temperature,
)
from haccp.time import day_and_clock, parse_when, spell

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running

_Command = TypeVar("_Command", bound=Callable[..., Any])

_HOLD = re.compile(r"([0-9]{1,5})\s*(s|sec|min|h)?")
_LONGEST_HOLD_S = 86_400
# Warmer air or water cools no food [°F].
_WARMEST_AIR = 110
# Still cooling from its delivery, which a law lets it: not yet held.
_ARRIVED = "cooling-received"
_APART = "Next: set the food apart and tell a manager"
_NO_TCS_FOOD = "It is no TCS food: no limit here binds it."
_NO_LIMIT = "This step has no limit of its own; its time out of cold and hot holding adds up."
_SECONDS = {None: 1, "s": 1, "sec": 1, "min": 60, "h": 3600}


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedReading:
    """One reading as it was typed; `unit` is what a batch stands in."""

    temp: str
    thermometer: str | None
    note: str
    yes: bool
    paper: bool
    held: str = "0"
    unit: str | None = None
    method: str | None = None
    oven: str | None = None

    def measured(self, step: Step, register: Register) -> Measured:
        """Read it into the body of an entry; raises Refused for what cannot be."""
        shown = parse_temperature(self.temp, register.degree)
        chamber = parse_temperature(self.oven, register.degree) if self.oven else None
        if chamber and not is_of_an_oven(chamber):
            raise Refused(f"No oven is at {chamber}: type what it shows, such as 250F.")
        return Measured(
            step=step,
            temp=str(shown.value),
            degree=shown.degree,
            held_s=parse_held(self.held),
            thermometer=which_thermometer(register, self.thermometer),
            note=printable(self.note, "The note") if self.note else "",
            paper=self.paper,
            method=self.method or "",
            chamber=f"{chamber.value}{chamber.degree}" if chamber else "",
        )


def log(
    session: Session,
    name: str,
    when: tuple[str, ...],
    by: str | None,
    step: Step | None,
    **typed: Any,
) -> None:
    """Record one reading of a batch or unit and answer in a few lines."""
    person, register = session.by(by), session.register
    at = parse_when(" ".join(when), session.now, register.zone)
    subject = open_batch(session, name) if step else _batch_or_unit(session, name)
    reading = TypedReading(**typed)
    step = step or _holding_step(session, name, subject, reading, at)
    body = checked_reading(session, reading, step, at, subject)
    stands_in = find(reading.unit, list(register.units), "unit") if reading.unit else None
    if stands_in:
        refuse_other_use(register.units[stands_in], step)
    is_unit = isinstance(subject, UnitOnRecord)
    draft = Draft(
        body=body,
        at=at,
        person=person.initials,
        batch=None if is_unit else subject.name,
        unit=subject.name if is_unit else stands_in,
    )
    before = all_found(subject, session.record, register, session.now)
    (entry,) = having(session.append(draft), Measured)
    subject = replace(subject, entries=(*subject.entries, entry))
    answer(subject, reading_of(entry, register), before, session)


def checked_reading(
    session: Session,
    typed: TypedReading,
    step: Step,
    at: datetime,
    subject: OnRecord | BatchOpened,
) -> Measured:
    """Give the body of one reading, asking where it looks like a slip; raises Refused for a no.

    `subject` is what it is a reading of: on record, or the opening of a batch that is about to be.
    """
    register = session.register
    body = typed.measured(step, register)
    taken = Reading(
        at=at,
        temperature=Temperature(Decimal(body.temp), Degree(body.degree)),
        step=step,
        method=body.method,
        chamber=parse_temperature(body.chamber) if body.chamber else None,
    )
    if isinstance(subject, BatchOpened):
        refuse_unjudgeable(subject, at, taken, register)
    else:
        subject.refuse_unjudgeable(taken, register)
    taken = replace(taken, held=timedelta(seconds=float(body.held_s)))
    question = looks_wrong(subject, taken, session, typed.temp)
    if question:
        body = replace(body, confirmed=confirm(question, yes=typed.yes))
    return body if isinstance(subject, BatchOpened) else complete(body, taken, subject, session)


def answer(
    subject: OnRecord, reading: Reading, before: Sequence[Finding], session: Session
) -> None:
    """Say the verdict, what the food must do next and by when, and when to measure again.

    `before` is what was found before this reading: what it turned into a deviation is told too.
    """
    register, now = session.register, session.now
    clock = partial(day_and_clock, now=now, zone=register.zone)
    after = all_found(subject, session.record, register, max(now, reading.at))
    findings = _about(reading, after, before, subject, register, now)
    verdict = overall(findings)
    decisive = [finding for finding in findings if finding.verdict is verdict]
    why = "" if verdict is Verdict.OPEN else f" {explain(decisive[-1], clock)}"
    told = f"{subject.title} {reading.temperature} at {clock(reading.at)}, {reading.step.words}"
    if findings:
        say(f"{verdict.upper()}: {told}.{why}")
    else:
        free = subject.is_outside_the_limits
        say(f"NOTED: {told}. {_NO_TCS_FOOD if free else _NO_LIMIT}")
    if verdict.is_deviation:
        usual = options(
            decisive[-1],
            last=reading,
            now=now,
            late_reheat=register.kitchen_at(now).late_reheat,
        )
        proposed = f" Usual: {usual[0].words}" if usual else ""
        goes_on = decisive[-1].limit.name == "oven"
        say(f"{'Tell a manager' if goes_on else _APART}.{proposed}")
        say(
            f'Log what is done: haccp action {subject.name} "..." (without words it lists options).'
        )
        if not goes_on:
            return
    others = [one for one in undecided(subject, after, register) if one not in findings]
    if others:
        named = [f"{one.limit.name.replace('-', ' ')} {one.verdict.upper()}" for one in others]
        told = ", ".join(dict.fromkeys(named))
        say(f"Still undecided: {told}. See haccp action {subject.name}")
    newest = max(subject.evidence(register), key=lambda one: one.at)
    every = timedelta(minutes=register.kitchen.check_every_min)
    advice = advise(after, newest, every, subject.next_look(register, now))
    heated = TRAITS[newest.step].heats
    if isinstance(subject, BatchOnRecord) and heated and not advice.goals:
        hot = subject.hot_limit(register, now)
        say(f"Next: hold it at {target(hot, register.degree)}, or cool it.")
    if advice.goals:
        first, *later = advice.goals
        in_time = f" ({spell(first.due - now)} left)" if first.due and first.due > now else ""
        then = "".join(f", then {goal(one, clock)}" for one in later)
        say(f"Next: {goal(first, clock)}{in_time}{then}.")
    running = _estimate(subject, reading, after, session)
    looks = [advice.measure_by, running.measure_at if running else None]
    measure_by = min((moment for moment in looks if moment), default=None)
    if measure_by:
        say("Measure it now." if measure_by <= now else f"Measure again by {clock(measure_by)}.")


def _estimate(
    subject: OnRecord, reading: Reading, findings: Sequence[Finding], session: Session
) -> "Running | None":
    """Say what a cooling is expected to do; ask once what an estimate needs to know."""
    if not isinstance(subject, BatchOnRecord) or reading.step is not Step.COOL:
        return None
    # the forecast's own modules: only a cooling's entry waits for them
    from haccp.kitchen.cooling_estimate import estimate, running, setup_of

    register, now = session.register, session.now
    open_now = any(f.step is Step.COOL and f.verdict is Verdict.OPEN for f in findings)
    found = running(subject, findings, session.record, register, now) if open_now else None
    clock = partial(day_and_clock, now=now, zone=register.zone)
    words = estimate(found, clock) if found else ""
    if words:
        say(words)
    first = sum(is_step(one, Step.COOL) for one in subject.readings) == 1
    if first and not setup_of(subject, register, now).nature:
        say(
            f'For better estimates say how it cools: haccp method {subject.name} "walk-in" '
            f"--nature thick --air 38F"
        )
    return found


def _about(
    reading: Reading,
    after: Sequence[Finding],
    before: Sequence[Finding],
    subject: OnRecord,
    register: Register,
    now: datetime,
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
    judged = any(one.step is reading.step or one.limit.name == _ARRIVED for one in found)
    if TRAITS[reading.step].held_to and not judged:
        # a good check after a bad one: the earlier deviation stands, this reading is fine
        limit = subject.held_to(reading, register, max(now, reading.at))
        found += judge_holding(reading.step, [reading], limit) if limit else ()
    return found


def open_batch(session: Session, name: str) -> BatchOnRecord:
    """Find the open batch meant; raises Refused for none or several."""
    found = find(name, open_names(session.record), "open batch")
    return read_batch(session.record, found)


def _batch_or_unit(session: Session, name: str) -> BatchOnRecord | UnitOnRecord:
    """Find the open batch or the unit meant, as what may be held."""
    register, record = session.register, session.record
    units = register.units_in_use
    among = open_names(record) | {unit: unit for unit in units}
    found = find(name, among, "batch or unit")
    if found in units:
        since, until = session.now - timedelta(days=2), session.now + timedelta(hours=1)
        return read_units(record, register, [found], since, until)[0]
    return read_batch(record, found)


def _holding_step(
    session: Session,
    name: str,
    subject: BatchOnRecord | UnitOnRecord,
    typed: TypedReading,
    at: datetime,
) -> Step:
    """Say whether a batch is held hot or cold: by its unit, or what it went through before."""
    register = session.register
    if isinstance(subject, UnitOnRecord):
        return subject.step
    if typed.unit:
        return unit_step(register.units[find(typed.unit, list(register.units), "unit")])
    shown = parse_temperature(typed.temp, register.degree)
    limits = register.limits_at(at)
    is_hot = limits.get("hot-holding").kept_by(shown)
    taken = [one for one in subject.evidence(register) if one.at <= at]
    for reading in reversed(taken):
        traits = TRAITS[reading.step]
        still_hot = is_hot and limits.get("hot-holding").kept_by(reading.temperature)
        if reading.step is Step.RECEIVE:
            still_hot = subject.batch.received_as == "hot"
        if traits.kept is Keeps.COLD and not still_hot:
            return Step.COLD_HOLD
        if traits.kept or traits.heats:
            return Step.HOT_HOLD
    if taken and (is_hot or limits.get("cold-holding").kept_by(shown)):
        return Step.HOT_HOLD if is_hot else Step.COLD_HOLD
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
            _option("--paper", "It was written on paper first.", is_flag=True),
            _option("--by", "Who records; else HACCP_BY or `haccp by`."),
            _option("--yes", "An unusual value is right.", is_flag=True),
        ],
        help=help_,
    )


def _option(name: str, help_: str, **more: Any) -> click.Option:
    return click.Option([*name.split()], help=help_, **more)


def _method(flag: str, value: str, help_: str) -> click.Option:
    def choose(ctx: click.Context, _: click.Parameter, given: bool) -> None:
        """Take one way only: a second one would silently stand in its place."""
        if given and "method" in ctx.params:
            other = ctx.params["method"]
            raise Refused(f"It cannot be {other} and {value} at once: type one of them.")
        if given:
            ctx.params["method"] = value

    return _option(f"--{flag}", help_, is_flag=True, expose_value=False, callback=choose)


_HELD = _option("--held", "How long it stayed there: 15, 15s, 2min.", default="0")
_OVEN = _option("--oven", "What the oven shows, such as 250F.")
_IN = _option("--in unit", "The unit that it stands in.")

prepare = _command(
    "prepare",
    Step.PREPARE,
    "Log food that is out of temperature control before it is cooked.\n\nhaccp prepare beef 46",
)
cook = _command(
    "cook",
    Step.COOK,
    "Log a cooking temperature.\n\nhaccp cook stew 165 --held 15",
    _HELD,
    _OVEN,
    _method("microwave", MICROWAVE, "In a microwave: covered, stood 2 min (3-401.12)."),
    _method("initial", INITIAL, "Initial heating of a food cooked in two goes (3-401.14)."),
)
hold = _command("hold", None, "Log a hot or cold holding check.\n\nhaccp hold well-1 141", _IN)
cool = _command("cool", Step.COOL, "Log a cooling temperature.\n\nhaccp cool stew 98 14:05", _IN)
reheat = _command(
    "reheat",
    Step.REHEAT,
    "Log a reheating temperature.\n\nhaccp reheat stew 166 --held 15",
    _HELD,
    _OVEN,
    _method("microwave", MICROWAVE, "In a microwave: covered, stood 2 min (3-403.11(B))."),
    _method("unsliced", UNSLICED, "An unsliced portion of a roast (3-403.11(E))."),
)
time = _command(
    "time",
    Step.TIME_CONTROL,
    "Log food that leaves temperature control, with time as the control from then on "
    "(3-501.19), or a look at it later.\n\nhaccp time rice 141",
    _method("six-hours", SIX_HOURS, "Cold, for 6 hours, never above 70 °F."),
    _method("opened", OPENED, "Cut or opened just now, at 70 °F or below, for 4 hours."),
)


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("words", metavar="METHOD")
@click.argument("when", nargs=-1)
@click.option("--nature", type=click.Choice(["open liquid", "stirred", "thick"]))
@click.option("--air", help="The measured temperature of the air or bath around it, such as 38F.")
@click.option("--to", "air_to", help="Where it is only known to be between --air and this.")
@click.option("--container", default="", help="What it is in, such as '2-inch pan'.")
@click.option("--depth", default="", help=f"How deep it is: {LENGTHS}.")
@by_option
@click.pass_obj
def method(
    session: Session,
    name: str,
    words: str,
    when: tuple[str, ...],
    nature: str | None,
    air: str | None,
    air_to: str | None,
    container: str,
    depth: str,
    by: str | None,
) -> None:
    """Say how a batch cools, for estimates; again when that changes (stirred, moved, iced).

    haccp method stew "ice bath, stirred" --nature stirred --air 33F
    """
    from haccp.kitchen.cooling_estimate import setup_of

    person, register = session.by(by), session.register
    subject = open_batch(session, name)
    at = parse_when(" ".join(when), session.now, register.zone)
    if air_to and not air:
        raise Refused("--to is the other end of --air: type both, such as --air 36F --to 40F.")
    known = setup_of(subject, register, at)
    body = CoolingSetup(
        nature=nature or known.nature,
        air=_degrees(air, register) or ("" if known.method else known.air),
        air_to=_degrees(air_to, register),
        method=printable(words, "The method", 80),
        container=printable(container, "The container", 40) if container else known.container,
        depth_in=hundredths(parse_length(depth, register.degree)) if depth else known.depth_in,
        changed=bool(known.method),
    )
    if replace(body, changed=False) == known:
        say(f"{subject.name} cools by {body.method} already: nothing was changed.")
        return
    session.append(Draft(body=body, at=at, person=person.initials, batch=subject.name))
    again = " What was measured before counts no more for estimates." if body.changed else ""
    say(f"{subject.name} cools by: {body.method}.{again}")


def _degrees(text: str | None, register: Register) -> str:
    if not text:
        return ""
    shown = parse_temperature(text, register.degree)
    if not COLDEST <= shown.fahrenheit <= _WARMEST_AIR:
        raise Refused(f"Nothing of {shown} cools food: type what is around it, such as 38F.")
    return f"{shown.value}{shown.degree}"


def paper_option(command: _Command) -> _Command:
    return click.option("--paper", is_flag=True, help="It was written on paper first.")(command)
