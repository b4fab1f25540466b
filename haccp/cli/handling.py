"""What becomes of a batch: divided, put together, renamed, frozen, gone."""

import string
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from itertools import islice

import click

from haccp.cli.deciding import standing_in
from haccp.cli.measure import open_batch
from haccp.cli.opening import (
    amount_of,
    ask_undecided,
    new_code,
    refuse_taken,
    tell_mark,
    to_order_option,
)
from haccp.cli.session import Session, by_option, given
from haccp.cli.setting import parse_code
from haccp.cli.terminal import agrees, is_answered, say
from haccp.errors import Refused
from haccp.kitchen.batches import MOST_WAYS, BatchOnRecord
from haccp.kitchen.datemarks import frozen_times, is_frozen
from haccp.kitchen.lives import NOT_ANIMAL
from haccp.kitchen.naming import find, is_taken
from haccp.record.entries import (
    ENDS,
    LATE,
    Body,
    ContainerOpened,
    DeliveryRejected,
    Discarded,
    Diverted,
    Draft,
    Frozen,
    Moved,
    Renamed,
    TakenOut,
    Thawed,
    UnitEmptied,
    UsedUp,
)
from haccp.time import day_and_clock, parse_when, spell


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("count", type=click.IntRange(1, 26), metavar="COUNT")
@click.argument("when", nargs=-1)
@click.option("--amount", default="", help="How much is in each, such as '2 gal'.")
@click.option("--keep", is_flag=True, help="Something is left of the batch itself.")
@click.option("--yes", is_flag=True, help="Although it deviated, or is still cooling.")
@to_order_option
@by_option
@click.pass_obj
def split(
    session: Session,
    name: str,
    count: int,
    when: tuple[str, ...],
    amount: str,
    keep: bool,
    yes: bool,
    to_order: bool,
    by: str | None,
) -> None:
    """Divide a batch into COUNT portions; what was measured of it counts for each.

    haccp split stew 4 --amount "3 gal"
    """
    person = session.by(by)
    whole = open_batch(session, name)
    at = _after_readings(session, [whole], when)
    ask_undecided(whole, session, yes=yes)
    letters = (f"{whole.name}-{letter}" for letter in string.ascii_lowercase)
    free = (one for one in letters if not is_taken(one, session.record, session.register))
    codes = list(islice(free, count))
    if len(codes) < count:
        raise Refused(f"{whole.name} has been divided too often: split one of its portions.")
    body = replace(
        whole.batch,
        made_from=(),
        portion_of=(whole.name,),
        amount=amount_of(amount),
        to_order=to_order or whole.batch.to_order,
    )
    drafts: list[Draft] = [
        Draft(body=body, at=at, person=person.initials, batch=code) for code in codes
    ]
    if is_frozen(whole, session.register, at):
        drafts += [
            Draft(body=Frozen(), at=at, person=person.initials, batch=code) for code in codes
        ]
    if not keep:
        gone = UsedUp(into=tuple(codes))
        drafts.append(Draft(body=gone, at=at, person=person.initials, batch=whole.name))
    session.append(*drafts, unchanged=[whole.name])
    say(f"{whole.name} is now {', '.join(codes)}{' beside it' if keep else ''}.")


@click.command()
@click.argument("names", nargs=-1, required=True, metavar="BATCH BATCH...")
@click.option("--code", help="What to call it; default: the food and the date.")
@click.option("--amount", default="", help="How much it is together.")
@click.option("--yes", is_flag=True, help="Although one deviated.")
@by_option
@click.pass_obj
def merge(
    session: Session,
    names: tuple[str, ...],
    code: str | None,
    amount: str,
    yes: bool,
    by: str | None,
) -> None:
    """Put batches of one food together; what was measured of each counts for the whole.

    haccp merge stew-1102-a stew-1102-b
    """
    person = session.by(by)
    parts = list(
        {batch.name: batch for name in names if (batch := open_batch(session, name))}.values()
    )
    if len(parts) < 2:
        raise Refused("Name at least two different batches: haccp merge stew-1102-a stew-1102-b.")
    kinds = {
        (
            one.batch.food.casefold(),
            one.batch.food_kind,
            one.batch.ambient,
            one.batch.received_as,
            one.batch.by_law,
            one.batch.undercooked,
            one.batch.to_order,
            one.batch.date_mark_exempt,
        )
        for one in parts
    }
    if len(kinds) > 1:
        raise Refused(
            "These are different foods, came differently or are served differently: open a new "
            "batch of them, haccp batch NAME --from ..."
        )
    if sum(len(one.histories) for one in parts) > MOST_WAYS:
        raise Refused(
            "These were divided and put together too often to be followed further: keep them "
            "apart, or open a new batch of them, haccp batch NAME --from ..."
        )
    at = _after_readings(session, parts, ())
    for one in parts:
        ask_undecided(one, session, yes=yes)
    named = new_code(session, code, parts[0].batch.food, at)
    body = replace(
        parts[0].batch,
        made_from=(),
        portion_of=tuple(one.name for one in parts),
        amount=amount_of(amount),
    )
    gone = UsedUp(into=(named,))
    session.append(
        Draft(body=body, at=at, person=person.initials, batch=named),
        *(Draft(body=gone, at=at, person=person.initials, batch=one.name) for one in parts),
        unchanged=[one.name for one in parts],
    )
    say(f"{', '.join(one.name for one in parts)} are together {named}.")
    tell_mark(session, named)


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
    called = parse_code(new, "name")
    refuse_taken(called, session, "type another name")
    _append(session, Renamed(name=called), (), by, batch=found.name)
    say(f"{found.name} is also called {called} from now on.")


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def freeze(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a batch went into the freezer: its date mark stands still."""
    found = open_batch(session, name)
    if is_frozen(found, session.register, session.now):
        raise Refused(f"{found.name} is frozen already: haccp thaw {found.name} ends it.")
    _after_freezer(session, found, when)
    _append(session, Frozen(), when, by, batch=found.name)
    say(f"{found.name} is frozen: its days stand still until haccp thaw {found.name}.")


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
        raise Refused(f"{found.name} is not frozen: haccp freeze {found.name} records that it is.")
    _after_freezer(session, found, when)
    _append(session, Thawed(), when, by, batch=found.name)
    say(f"{found.name} is out of the freezer.")
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
    at = _since_it_was_opened(session, found, when)
    _append(session, TakenOut(), when, by, batch=found.name)
    say(f"{found.name} is out since {day_and_clock(at, session.now, session.register.zone)}.")
    if session.now - at > LATE:
        say(
            f"Entered more than {spell(LATE)} later, that moment proves nothing: its time counts"
            f" from the last check that it was cold or hot."
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
    at = _since_it_was_opened(session, found, when)
    _append(session, Moved(), when, by, batch=found.name, unit=into)
    say(f"{found.name} stands in {into}.")
    if session.now - at > LATE:
        say(f"Entered more than {spell(LATE)} later, it counts from now on.")


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
    at = parse_when(" ".join(when), session.now, zone)
    if at < found.began:  # a portion's container may have been opened before it was divided
        shown = day_and_clock(found.began, session.now, zone)
        raise Refused(f"{found.name} was delivered at {shown}: type a later time.")
    _append(session, ContainerOpened(), when, by, batch=found.name)
    say(f"The container of {found.name} is open since {day_and_clock(at, session.now, zone)}.")
    tell_mark(session, found.name)
    if found.batch.received_as == "frozen" and not found.batch.date_mark_exempt:
        say(f"Its days run on, in the freezer too, until haccp freeze {found.name}.")


def _refuse_no_container(batch: BatchOnRecord) -> None:
    """Refuse to open what has its date mark already, or will have it when it is cooked."""
    body = batch.batch
    if body.received_as in ("", "hot"):
        here = "came hot" if body.received_as else "was made here"
        raise Refused(f"{batch.name} {here}: its days began then, and nothing is to be opened.")
    if body.received_as == "egg" or body.food_kind not in NOT_ANIMAL:
        raise Refused(
            f"{batch.name} ({body.food_kind}) is not ready to eat before it is cooked: its days"
            f" begin then. What may be eaten as it is, is taken with --kind 'commercial package'."
        )


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("when", nargs=-1)
@click.option("--yes", is_flag=True, help="Although it deviated.")
@by_option
@click.pass_obj
def used(session: Session, name: str, when: tuple[str, ...], yes: bool, by: str | None) -> None:
    """Close a batch of which nothing is left.

    haccp used-up stew
    """
    ask_undecided(open_batch(session, name), session, yes=yes)
    _end(session, name, UsedUp(), when, by, "is used up")


@click.command()
@click.argument("name", metavar="BATCH")
@click.argument("reason", required=False)
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def discard(
    session: Session, name: str, reason: str | None, when: tuple[str, ...], by: str | None
) -> None:
    """Record that a batch was thrown away, and why.

    haccp discard stew "41 °F not reached"
    """
    found = open_batch(session, name).name
    why = given(reason, f'haccp discard {found} "41 °F not reached"')
    body = Discarded(reason=why)
    _end(session, name, body, when, by, "is discarded")


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
    body = Diverted(to=given(to, f'haccp divert {found.name} "to the compost"'))
    at = _after_readings(session, [found], when)
    manager = session.manager(by)
    draft = Draft(body=body, at=at, person=manager.initials, batch=found.name)
    session.append(draft, as_seen=True)
    say(f"{found.name} went to another use: {body.to}.")


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
        raise Refused(f"{name} was made here: haccp discard {name} throws it away.")
    why = given(reason, f'haccp reject {found.name} "44 °F at the door"')
    body = DeliveryRejected(reason=why)
    _end(session, name, body, when, by, "is rejected")


@click.command()
@click.argument("name", metavar="UNIT")
@click.argument("when", nargs=-1)
@by_option
@click.pass_obj
def empty(session: Session, name: str, when: tuple[str, ...], by: str | None) -> None:
    """Record that a unit holds no food now, so that no check of it is missed."""
    found = find(name, list(session.register.units), "unit")
    inside = standing_in(found, session)
    _append(session, UnitEmptied(), when, by, unit=found)
    say(f"{found} is empty: no check is due until its next reading.")
    for batch in inside:
        _ask_what_became(batch, session, by)


def _ask_what_became(batch: BatchOnRecord, session: Session, by: str | None) -> None:
    """Ask what became of food that stood in a unit which is empty now; say how to tell it."""
    if is_answered() and agrees(f"Is nothing left of {batch.title}?"):
        ask_undecided(batch, session, yes=False)
        _append(session, UsedUp(), (), by, batch=batch.name)
        say(f"{batch.name} is used up.")
        return
    name = batch.name
    say(
        f"{batch.title} stood in it: say where it is, or it has to be measured by itself: "
        f"haccp move {name} UNIT, haccp used-up {name}, or haccp cool {name} TEMP"
    )


def _after_readings(
    session: Session, batches: Sequence[BatchOnRecord], when: tuple[str, ...]
) -> datetime:
    """Read a moment that is not before the last thing measured of any of the batches."""
    zone = session.register.zone
    at = parse_when(" ".join(when), session.now, zone)
    for one in batches:
        last = max((entry.at for entry in one.readings), default=one.opened.at)
        if at < last:
            shown = day_and_clock(last, session.now, zone)
            raise Refused(f"{one.name} was measured after that, at {shown}: type a later time.")
    return at


def _after_freezer(session: Session, batch: BatchOnRecord, when: tuple[str, ...]) -> None:
    """Refuse a moment that is before the batch was there, or last frozen or thawed."""
    zone = session.register.zone
    times = frozen_times(batch, session.register, session.now)
    last = max((at for pair in times for at in pair if at), default=batch.opened.at)
    if parse_when(" ".join(when), session.now, zone) < last:
        what = "last frozen or thawed" if times else "opened"
        shown = day_and_clock(last, session.now, zone)
        raise Refused(f"{batch.name} was {what} at {shown}: type a later time.")


def _since_it_was_opened(session: Session, batch: BatchOnRecord, when: tuple[str, ...]) -> datetime:
    zone = session.register.zone
    at = parse_when(" ".join(when), session.now, zone)
    if at < batch.opened.at:
        shown = day_and_clock(batch.opened.at, session.now, zone)
        raise Refused(f"{batch.name} was opened at {shown}: type a later time.")
    return at


def _end(
    session: Session, name: str, body: Body, when: tuple[str, ...], by: str | None, words: str
) -> None:
    found = open_batch(session, name)
    _after_readings(session, [found], when)
    _append(session, body, when, by, batch=found.name)
    say(f"{found.name} {words}.")


def _append(
    session: Session,
    body: Body,
    when: tuple[str, ...],
    by: str | None,
    *,
    batch: str | None = None,
    unit: str | None = None,
) -> None:
    person = session.by(by)
    at = parse_when(" ".join(when), session.now, session.register.zone)
    draft = Draft(body=body, at=at, person=person.initials, batch=batch, unit=unit)
    session.append(draft, unchanged=[batch] if batch and isinstance(body, ENDS) else ())
