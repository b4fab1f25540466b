"""What a reading is answered with: the verdict, what else stands against the food, and what now."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING

from haccp.cli.session import Session
from haccp.cli.terminal import say
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.on_record import OnRecord
from haccp.kitchen.readings_as_evidence import is_step
from haccp.kitchen.register import Register
from haccp.kitchen.review import undecided
from haccp.kitchen.units import UnitOnRecord
from haccp.language import phrase
from haccp.rules.account.holding import judge_holding
from haccp.rules.account.steps import TRAITS
from haccp.rules.advice import Advice, advise
from haccp.rules.evidence import (
    Finding,
    Reading,
    Reason,
    Step,
    Verdict,
    overall,
)
from haccp.rules.remedies import options
from haccp.rules.words import explain, goal, in_short, target
from haccp.time import day_and_clock, spell

if TYPE_CHECKING:
    from haccp.kitchen.cooling_estimate import Running

# Still cooling from its delivery, which a law lets it: not yet held.
_ARRIVED = "cooling-received"
_NO_TCS_FOOD = "It is no TCS food: no limit here binds it."
_HOT_STILL = "It was done before, and is hot still."
_NO_LIMIT = "This step has no limit of its own; its time out of cold and hot holding adds up."


def answer(
    subject: OnRecord, reading: Reading, before: Sequence[Finding], session: Session
) -> None:
    """Say the verdict, what the food must do next and by when, and when to measure again.

    `before` is what was found before this reading: what it turned into a deviation is told too.
    The worst that nobody decided about it comes next, whatever this reading is.
    """
    register, now = session.register, session.now
    after = all_found(subject, session.record, register, max(now, reading.at))
    findings = _about(reading, after, before, subject, register, now)
    decisive = _tell_verdict(subject, reading, findings, session)
    _tell_undecided(subject, findings, after, session)
    if decisive and decisive.verdict.is_deviation:
        _tell_usual(subject, decisive, reading, session)
        if decisive.limit.name != "oven":
            return
    newest = max(subject.evidence(register), key=lambda one: one.at)
    every = timedelta(minutes=register.kitchen.check_every_min)
    look = subject.next_look(register, now)
    advice = advise(after, newest, every, look.at if look else None)
    _tell_next(subject, newest, advice, session)
    running = _estimate(subject, reading, after, session)
    looks = [advice.measure_by, running.measure_at if running else None]
    measure_by = min((moment for moment in looks if moment), default=None)
    if measure_by:
        clock = partial(day_and_clock, now=now, zone=register.zone)
        if look and look.unit and look.at == measure_by:
            say(f"It stands in {look.unit}: check that by {clock(measure_by)}.")
        else:
            say(_measure(measure_by, running, clock, now))


def _measure(
    by: datetime, running: "Running | None", clock: Callable[[datetime], str], now: datetime
) -> str:
    """Say when to measure again, and what that will tell where it was chosen for it."""
    if by <= now:
        return phrase("Measure it now.")
    if running and running.below and by == running.measure_at:
        return phrase(
            "Measure again by {at}: by then it is below {temp} if it will make it.",
            at=clock(by),
            temp=running.below,
        )
    return phrase("Measure again by {at}.", at=clock(by))


def _tell_verdict(
    subject: OnRecord, reading: Reading, findings: Sequence[Finding], session: Session
) -> Finding | None:
    """Say what this reading is; give the finding that decides it."""
    clock = partial(day_and_clock, now=session.now, zone=session.register.zone)
    told = f"{subject.title} {reading.temperature} at {clock(reading.at)}, {reading.step.words}"
    if not findings:
        say(f"NOTED: {told}. {_without_limit(subject, reading, session)}")
        return None
    verdict = overall(findings)
    decisive = [finding for finding in findings if finding.verdict is verdict][-1]
    why = "" if verdict is Verdict.OPEN else f" {explain(decisive, clock)}"
    say(f"{verdict.upper()}: {told}.{why}")
    return decisive


def _without_limit(subject: OnRecord, reading: Reading, session: Session) -> str:
    """Say why nothing is asked of a reading."""
    if subject.is_outside_the_limits:
        return _NO_TCS_FOOD
    hot = isinstance(subject, BatchOnRecord) and subject.hot_limit(session.register, session.now)
    return _HOT_STILL if hot and hot.kept_by(reading.temperature) else _NO_LIMIT


def _tell_undecided(
    subject: OnRecord, told: Sequence[Finding], found: Sequence[Finding], session: Session
) -> None:
    """Say the worst that nobody decided about a food or unit, and of what stands in the unit."""
    register, now = session.register, session.now
    clock = partial(day_and_clock, now=now, zone=register.zone)
    others = [
        one
        for one in undecided(subject, found, register)
        if one not in told and not (isinstance(subject, UnitOnRecord) and one.gap)
    ]
    if others:
        worst = others[0]
        more = f" {len(others) - 1} more: haccp show {subject.name}." if others[1:] else ""
        say(
            f"STILL UNDECIDED, {worst.verdict} ({worst.limit.citation}): "
            f"{in_short(worst, clock)}{more} {how_to_decide(subject, others)}"
        )
    if isinstance(subject, UnitOnRecord) and any(one.verdict.is_deviation for one in told):
        inside = [batch.title for batch in standing_in(subject.name, session)]
        if inside:
            say(f"In it: {', '.join(inside)}. It counts for each of them: measure the food.")


def standing_in(unit: str, session: Session) -> list[BatchOnRecord]:
    """Give the batches of which something is left that stand in a unit now."""
    from haccp.kitchen.naming import open_codes
    from haccp.kitchen.reading import read_batches

    register, now = session.register, session.now
    batches = read_batches(session.record, open_codes(session.record))
    return [one for one in batches if unit in one.places(register, now)]


def how_to_decide(subject: OnRecord, found: Sequence[Finding]) -> str:
    """Say which command decides what stands undecided: of food, by what becomes of it."""
    name = subject.name
    if all(one.limit.name == "oven" for one in found):
        return "A manager decides as the day is signed; haccp oven records the authority's letter."
    if isinstance(subject, UnitOnRecord):
        return f'Log what is done: haccp action {name} "..."'
    if any(one.verdict is Verdict.NOT_MET for one in found):
        return f'It is decided by what becomes of it: haccp discard {name} "..."'
    return (
        f'It is decided by what becomes of it: haccp discard {name} "...", '
        f'or a manager: haccp release {name} "..."'
    )


def _tell_usual(subject: OnRecord, decisive: Finding, reading: Reading, session: Session) -> None:
    register, now = session.register, session.now
    usual = options(
        decisive, last=reading, now=now, late_reheat=register.kitchen_at(now).late_reheat
    )
    proposed = f" Usual: {usual[0].words}" if usual else ""
    goes_on = decisive.limit.name == "oven" or isinstance(subject, UnitOnRecord)
    apart = f"Next: set it apart (haccp set-apart {subject.name}) and tell a manager"
    say(f"{'Tell a manager' if goes_on else apart}.{proposed}")
    say(f"{how_to_decide(subject, [decisive])} (haccp action {subject.name} lists options).")


def _tell_next(subject: OnRecord, newest: Reading, advice: Advice, session: Session) -> None:
    register, now = session.register, session.now
    clock = partial(day_and_clock, now=now, zone=register.zone)
    heated = TRAITS[newest.step].heats
    if isinstance(subject, BatchOnRecord) and heated and not advice.goals:
        hot = subject.hot_limit(register, now)
        say(f"Next: hold it at {target(hot, register.degree)}, or cool it.")
    if advice.goals:
        first, *later = advice.goals
        in_time = f" ({spell(first.due - now)} left)" if first.due and first.due > now else ""
        then = "".join(f", then {goal(one, clock)}" for one in later)
        say(f"Next: {goal(first, clock)}{in_time}{then}.")


def _estimate(
    subject: OnRecord, reading: Reading, findings: Sequence[Finding], session: Session
) -> "Running | None":
    """Say what a cooling is expected to do; ask once what an estimate needs to know."""
    if not isinstance(subject, BatchOnRecord) or reading.step is not Step.COOL:
        return None
    # the forecast's own modules: only a cooling's entry waits for them
    from haccp.kitchen.cooling_conditions import setup_of
    from haccp.kitchen.cooling_estimate import estimate, running

    register, now = session.register, session.now
    open_now = any(f.step is Step.COOL and f.verdict is Verdict.OPEN for f in findings)
    found = running(subject, findings, session.record, register, now) if open_now else None
    clock = partial(day_and_clock, now=now, zone=register.zone)
    words = estimate(found, clock) if found else ""
    if words:
        say(words)
    if found and found.is_at_risk:
        from haccp.kitchen.rescue import open_stages

        if open_stages(subject, findings):
            say(f"Which act may still save it: haccp rescue {subject.name}")
    first = sum(is_step(one, Step.COOL) for one in subject.readings) == 1
    if first and not setup_of(subject, register, now).nature:
        say(
            f'For better estimates say how it cools: haccp method {subject.name} "walk-in" '
            f"--nature thick --air 38F --from-start"
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
    # a roast's oven is told at its first look, and stands undecided from then on
    found = [one for one in found if one.limit.name != "oven" or same(one) not in known]
    judged = any(one.step is reading.step or one.limit.name == _ARRIVED for one in found)
    if TRAITS[reading.step].held_to and not judged:
        # a good check after a bad one: the earlier deviation stands, this reading is fine
        limit = subject.held_to(reading, register, max(now, reading.at))
        found += judge_holding(reading.step, [reading], limit) if limit else ()
    return found
