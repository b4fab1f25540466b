"""What was typed leaves open, asked of who sits at the terminal: which one, and of a heating more.

Without a terminal nothing is asked: it is refused, or the answer says what is still to be shown.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from haccp.cli.session import Session
from haccp.cli.terminal import agrees, answer_to, is_answered, say
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.naming import Ambiguous, find
from haccp.kitchen.on_record import OnRecord
from haccp.language import message, phrase
from haccp.record.bodies import Measured
from haccp.rules.account.levels import Levels
from haccp.rules.account.steps import TRAITS
from haccp.rules.asked import target
from haccp.rules.evidence import Reading
from haccp.rules.unsaid import Heated, is_out_since_unknown, unshown_hold
from haccp.time import parse_when, spell_hold

_TRIES = 3


def the_one(name: str, among: Mapping[str, str], what: str) -> str:
    """Find the one meant; where several may be, by the number that is pressed for it."""
    try:
        return find(name, among, what)
    except Ambiguous as several:
        if not is_answered():
            raise
        numbered = {str(n): one for n, one in enumerate(several.choices, start=1)}
        for number, choice in numbered.items():
            say(f"{number}  {choice}", err=True)
        pressed = answer_to(phrase("Which one is {name}? Type its number", name=repr(name)))
        if pressed not in numbered:
            raise
        return several.choices[numbered[pressed]]


def complete(
    body: Measured, taken: Reading, subject: OnRecord, session: Session
) -> tuple[Measured, datetime | None]:
    """Ask what a heating's reading does not say, where somebody can answer.

    Gives its body, and when the food was taken out of the cold where that was asked and told.
    """
    if not (isinstance(subject, BatchOnRecord) and TRAITS[taken.step].heats and is_answered()):
        return body, None
    if subject.is_outside_the_limits:
        return body, None
    heated = _heated(taken, subject, session)
    hold = unshown_hold(heated)
    if hold:
        limit, row = hold
        wanted = target(limit, taken.temperature.degree, row.level)
        asked = message("Was it at {target} for {time}?")
        if agrees(phrase(asked, target=wanted, time=spell_hold(row.hold))):
            body = replace(body, held_s=str(int(row.hold / timedelta(seconds=1))))
    # to make something of food is to take it out, and a portion to order has no two hours
    at_once = subject.batch.made_from or subject.batch.to_order
    asks = not at_once and is_out_since_unknown(heated)
    return body, _asked_when_taken_out(heated, session) if asks else None


def hold_to_show(
    subject: OnRecord, taken: Reading, session: Session
) -> tuple[str, timedelta] | None:
    """Give what a heating's reading is hot enough for where its short hold alone is missing:
    the temperature, and for how long.
    """
    if not (isinstance(subject, BatchOnRecord) and TRAITS[taken.step].heats):
        return None
    if subject.is_outside_the_limits:
        return None
    found = unshown_hold(_heated(taken, subject, session))
    if found is None:
        return None
    limit, row = found
    return target(limit, taken.temperature.degree, row.level), row.hold


def _heated(taken: Reading, subject: BatchOnRecord, session: Session) -> Heated:
    register = session.register
    before = (one for one in subject.evidence(register) if one.at <= taken.at)
    return Heated(
        taken=taken,
        before=sorted((one for one in before if one != taken), key=lambda one: one.at),
        facts=subject.account(register, taken.at).ways[0].handed.every,
        levels=Levels(register.limits_at(taken.at), subject.batch.food_kind),
        since=subject.opened.at,
        until=session.now,
    )


def _asked_when_taken_out(heated: Heated, session: Session) -> datetime | None:
    """Ask when food left the cold; None where nobody knows. What cannot be is asked again."""
    begun = heated.taken.at
    for _ in range(_TRIES):
        asked = message("When was it taken out of the cold? (13:40; nothing if nobody knows)")
        typed = answer_to(phrase(asked))
        if not typed:
            return None
        try:
            moment = parse_when(typed, session.now, session.register.zone)
            cold = [one.at for one in heated.before]
            if not max([heated.since, *cold]) <= moment <= begun:
                told = message("It was taken out after its last reading and before this one.")
                raise Refused(phrase(told))
        except Refused as slip:
            say(str(slip), err=True)
            continue
        return moment
    return None
