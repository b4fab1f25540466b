"""What becomes of a batch: renamed, frozen, moved, opened, gone."""

from collections.abc import Sequence
from datetime import datetime
from typing import NoReturn

import click

from haccp.cli.deciding import standing_in
from haccp.cli.measure import open_batch
from haccp.cli.opening import (
    ask_undecided,
    refuse_taken,
    tell_mark,
)
from haccp.cli.session import Session, by_option, given
from haccp.cli.setting import parse_code
from haccp.cli.terminal import agrees, is_answered, say
from haccp.errors import Refused
from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.datemarks import frozen_times, is_frozen
from haccp.kitchen.lives import NOT_ANIMAL
from haccp.kitchen.naming import find, several
from haccp.language import message, phrase
from haccp.phrases import at, with_article
from haccp.record.bodies import (
    ENDS,
    Body,
    ContainerOpened,
    DeliveryRejected,
    Discarded,
    Diverted,
    Frozen,
    Moved,
    Renamed,
    TakenOut,
    Thawed,
    UnitEmptied,
    UsedUp,
)
from haccp.record.entries import LATE, Draft
from haccp.time import day_and_clock, parse_when, spell

_USED_UP = message("{batch} is used up.")
_OPENED = message("{batch} was opened {at}: type a later time.")


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("new", metavar="NAME")
@by_option
@click.pass_obj
def rename(session: Session, name: str, new: str, by: str | None) -> None:
    """Call a batch's container otherwise; its code, and all that was recorded, stay.

    haccp rename stew-1102-a pan-3
    """
    found = open_batch(session, name)
    called = parse_code(new)
    refuse_taken(called, session, message("{name} exists already: type another name."))
    _append(session, Renamed(name=called), (), by, (found.name, None))
    say(phrase("{batch} is also called {name} from now on.", batch=found.name, name=called))


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def freeze(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a batch went into the freezer: its date mark stands still."""
    found = open_batch(session, name)
    if is_frozen(found, session.register, session.now):
        told = message("{batch} is frozen already: haccp thaw {batch} ends it.")
        raise Refused(phrase(told, batch=found.name))
    _after_freezer(session, found, when)
    _append(session, Frozen(), when, by, (found.name, None))
    told = message("{batch} is frozen: its days stand still until haccp thaw {batch}.")
    say(phrase(told, batch=found.name))


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def thaw(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a batch came out of the freezer: its date mark goes on."""
    found = open_batch(session, name)
    thawed = any(isinstance(entry.body, Thawed) for entry in found.in_force)
    came_frozen = found.batch.received_as == "frozen" and not thawed
    if not (is_frozen(found, session.register, session.now) or came_frozen):
        told = message("{batch} is not frozen: haccp freeze {batch} records that it is.")
        raise Refused(phrase(told, batch=found.name))
    _after_freezer(session, found, when)
    _append(session, Thawed(), when, by, (found.name, None))
    say(phrase("{batch} is out of the freezer.", batch=found.name))
    tell_mark(session, found.name)


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def out(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a batch was taken out of the unit that it stood in.

    haccp out rice 14:05
    """
    found = open_batch(session, name)
    moment = _since_it_was_opened(session, found, when)
    _append(session, TakenOut(), when, by, (found.name, None))
    since = with_article(day_and_clock(moment, session.now, session.register.zone))
    say(phrase("{batch} is out since {since}.", batch=found.name, since=since))
    if session.now - moment > LATE:
        say(
            phrase(
                "Entered more than {time} later, that moment proves nothing: its time counts from "
                "the last check that it was cold or hot.",
                time=spell(LATE),
            )
        )


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("unit")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def move(session: Session, name: str, unit: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a batch was put into UNIT: from now on the unit's checks stand for its own.

    haccp move rice walk-in
    """
    found = open_batch(session, name)
    into = find(unit, session.register.units_in_use, "unit")
    moment = _since_it_was_opened(session, found, when)
    _append(session, Moved(), when, by, (found.name, into))
    say(phrase("{batch} stands in {unit}.", batch=found.name, unit=into))
    if session.now - moment > LATE:
        say(phrase("Entered more than {time} later, it counts from now on.", time=spell(LATE)))


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def opened(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a delivery's container was opened: its date mark begins (3-501.17(B)).

    haccp opened ham
    """
    found = open_batch(session, name)
    _refuse_no_container(found)
    zone = session.register.zone
    moment = parse_when(" ".join(when), session.now, zone)
    if moment < found.began:  # a portion's container may have been opened before it was divided
        told = message("{batch} was delivered {at}: type a later time.")
        _refuse_earlier(told, found.name, found.began, session)
    _append(session, ContainerOpened(), when, by, (found.name, None))
    since = with_article(day_and_clock(moment, session.now, zone))
    told = message("The container of {batch} is open since {since}.")
    say(phrase(told, batch=found.name, since=since))
    tell_mark(session, found.name)
    if found.batch.received_as == "frozen" and not found.batch.date_mark_exempt:
        told = message("Its days run on, in the freezer too, until haccp freeze {batch}.")
        say(phrase(told, batch=found.name))


def _refuse_no_container(batch: BatchOnRecord) -> None:
    """Refuse to open what has its date mark already, or will have it when it is cooked."""
    body = batch.batch
    if body.received_as in ("", "hot"):
        told = (
            message("{batch} came hot: its days began then, and nothing is to be opened.")
            if body.received_as
            else message("{batch} was made here: its days began then, and nothing is to be opened.")
        )
        raise Refused(phrase(told, batch=batch.name))
    if body.received_as == "egg" or body.food_kind not in NOT_ANIMAL:
        raise Refused(
            phrase(
                "{batch} ({kind}) is not ready to eat before it is cooked: its days begin then. "
                "What may be eaten as it is, is taken with --kind 'commercial package'.",
                batch=batch.name,
                kind=body.food_kind,
            )
        )


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("when", nargs=-1)
@click.option("--yes", is_flag=True, help="Although it deviated.")
@by_option
@click.pass_obj
def used(session: Session, name: str, when: tuple[str, ...], yes: bool, by: str | None) -> None:
    """Close a batch of which nothing is left; several with commas.

    haccp used-up stew,rice
    """
    for one in several(name):
        ask_undecided(open_batch(session, one), session, yes=yes)
    _end(session, name, UsedUp(), when, by, _USED_UP)


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("reason", required=False)
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def discard(
    session: Session, name: str, reason: str | None, when: tuple[str, ...], by: str | None
) -> None:
    """Record that a batch was thrown away, and why; several with commas.

    haccp discard stew "41 °F not reached"
    """
    names = ",".join(open_batch(session, one).name for one in several(name))
    why = given(reason, phrase('haccp discard {name} "41 °F not reached"', name=names))
    body = Discarded(reason=why)
    _end(session, names, body, when, by, message("{batch} is discarded."))


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("to", metavar="USE", required=False)
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def divert(session: Session, name: str, to: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that food that is not to be served went to another use (a manager).

    haccp divert stew "to the compost"
    """
    found = open_batch(session, name)
    body = Diverted(to=given(to, phrase('haccp divert {name} "to the compost"', name=found.name)))
    moment = after_readings(session, [found], when)
    manager = session.manager(by)
    draft = Draft(body=body, at=moment, person=manager.initials, batch=found.name)
    session.append(draft, as_seen=True)
    say(phrase("{batch} went to another use: {use}.", batch=found.name, use=body.to))


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("reason", required=False)
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def reject(
    session: Session, name: str, reason: str | None, when: tuple[str, ...], by: str | None
) -> None:
    """Record that a delivery was sent back, and why.

    haccp reject beef "44 °F at the door"
    """
    found = open_batch(session, name)
    if not found.batch.received_as:
        told = message("{batch} was made here: haccp discard {batch} throws it away.")
        raise Refused(phrase(told, batch=name))
    why = given(reason, phrase('haccp reject {name} "44 °F at the door"', name=found.name))
    body = DeliveryRejected(reason=why)
    _end(session, name, body, when, by, message("{batch} is rejected."))


@click.command()
@click.argument("name", metavar="UNIT")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def empty(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a unit holds no food now, so that no check of it is missed; several with commas.

    haccp empty-unit well-1,well-2
    """
    units = list(session.register.units)
    found = list(dict.fromkeys(find(one, units, "unit") for one in several(name)))
    inside = {one.name: one for unit in found for one in standing_in(unit, session)}
    _append(session, UnitEmptied(), when, by, *((None, unit) for unit in found))
    for unit in found:
        say(phrase("{unit} is empty: no check is due until its next reading.", unit=unit))
    for batch in inside.values():
        _ask_what_became(batch, session, by)


def _ask_what_became(batch: BatchOnRecord, session: Session, by: str | None) -> None:
    """Ask what became of food that stood in a unit which is empty now; say how to tell it."""
    if is_answered() and agrees(phrase("Is nothing left of {title}?", title=batch.title)):
        ask_undecided(batch, session, yes=False)
        _append(session, UsedUp(), (), by, (batch.name, None))
        say(phrase(_USED_UP, batch=batch.name))
        return
    say(
        phrase(
            "{title} stood in it: say where it is, or it has to be measured by itself: haccp move "
            "{batch} UNIT, haccp used-up {batch}, or haccp cool {batch} TEMP",
            title=batch.title,
            batch=batch.name,
        )
    )


def after_readings(
    session: Session, batches: Sequence[BatchOnRecord], when: tuple[str, ...]
) -> datetime:
    """Read a moment that is not before the last thing measured of any of the batches."""
    moment = parse_when(" ".join(when), session.now, session.register.zone)
    for one in batches:
        last = max((entry.at for entry in one.readings), default=one.opened.at)
        if moment < last:
            told = message("{batch} was measured after that, {at}: type a later time.")
            _refuse_earlier(told, one.name, last, session)
    return moment


def _after_freezer(session: Session, batch: BatchOnRecord, when: tuple[str, ...]) -> None:
    """Refuse a moment that is before the batch was there, or last frozen or thawed."""
    times = frozen_times(batch, session.register, session.now)
    last = max((end for pair in times for end in pair if end), default=batch.opened.at)
    if parse_when(" ".join(when), session.now, session.register.zone) < last:
        frozen = message("{batch} was last frozen or thawed {at}: type a later time.")
        _refuse_earlier(frozen if times else _OPENED, batch.name, last, session)


def _since_it_was_opened(session: Session, batch: BatchOnRecord, when: tuple[str, ...]) -> datetime:
    moment = parse_when(" ".join(when), session.now, session.register.zone)
    if moment < batch.opened.at:
        _refuse_earlier(_OPENED, batch.name, batch.opened.at, session)
    return moment


def _refuse_earlier(told: str, batch: str, moment: datetime, session: Session) -> NoReturn:
    """Refuse a time by what happened after it, which `told` says."""
    shown = at(day_and_clock(moment, session.now, session.register.zone))
    raise Refused(phrase(told, batch=batch, at=shown))


def _end(
    session: Session, name: str, body: Body, when: tuple[str, ...], by: str | None, told: str
) -> None:
    every = {one.name: one for one in (open_batch(session, one) for one in several(name))}
    after_readings(session, list(every.values()), when)
    _append(session, body, when, by, *((batch, None) for batch in every))
    for batch in every:
        say(phrase(told, batch=batch))


def _append(
    session: Session,
    body: Body,
    when: tuple[str, ...],
    by: str | None,
    *about: tuple[str | None, str | None],
) -> None:
    """Record the same of batches, of units, or of batches in units: all of it or none."""
    person = session.by(by)
    moment = parse_when(" ".join(when), session.now, session.register.zone)
    drafts = [
        Draft(body=body, at=moment, person=person.initials, batch=batch, unit=unit)
        for batch, unit in about
    ]
    ended = [batch for batch, _ in about if batch] if isinstance(body, ENDS) else ()
    session.append(*drafts, unchanged=ended)
