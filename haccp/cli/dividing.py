"""One batch becomes several, or several one: `split`, `merge`."""

import string
from dataclasses import replace
from itertools import islice

import click

from haccp.cli.handling import after_readings
from haccp.cli.measure import open_batch
from haccp.cli.opening import (
    amount_of,
    ask_undecided,
    new_code,
    tell_mark,
    to_order_option,
)
from haccp.cli.session import Session, by_option
from haccp.cli.terminal import say
from haccp.errors import Refused
from haccp.kitchen.batches import MOST_WAYS
from haccp.kitchen.datemarks import is_frozen
from haccp.kitchen.naming import is_taken
from haccp.language import message, phrase
from haccp.record.bodies import (
    Frozen,
    UsedUp,
)
from haccp.record.entries import Draft


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
    moment = after_readings(session, [whole], when)
    ask_undecided(whole, session, yes=yes)
    letters = (f"{whole.name}-{letter}" for letter in string.ascii_lowercase)
    free = (one for one in letters if not is_taken(one, session.record, session.register))
    codes = list(islice(free, count))
    if len(codes) < count:
        told = message("{batch} has been divided too often: split one of its portions.")
        raise Refused(phrase(told, batch=whole.name))
    body = replace(
        whole.batch,
        made_from=(),
        portion_of=(whole.name,),
        amount=amount_of(amount),
        to_order=to_order or whole.batch.to_order,
    )
    drafts: list[Draft] = [
        Draft(body=body, at=moment, person=person.initials, batch=code) for code in codes
    ]
    if is_frozen(whole, session.register, moment):
        drafts += [
            Draft(body=Frozen(), at=moment, person=person.initials, batch=code) for code in codes
        ]
    if not keep:
        gone = UsedUp(into=tuple(codes))
        drafts.append(Draft(body=gone, at=moment, person=person.initials, batch=whole.name))
    session.append(*drafts, unchanged=[whole.name])
    words = (
        message("{batch} is now {codes} beside it.") if keep else message("{batch} is now {codes}.")
    )
    say(phrase(words, batch=whole.name, codes=", ".join(codes)))


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
        told = message("Name at least two different batches: haccp merge stew-1102-a stew-1102-b.")
        raise Refused(phrase(told))
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
            phrase(
                "These are different foods, came differently or are served differently: open a "
                "new batch of them, haccp batch NAME --from ..."
            )
        )
    if sum(len(one.histories) for one in parts) > MOST_WAYS:
        raise Refused(
            phrase(
                "These were divided and put together too often to be followed further: keep them "
                "apart, or open a new batch of them, haccp batch NAME --from ..."
            )
        )
    moment = after_readings(session, parts, ())
    for one in parts:
        ask_undecided(one, session, yes=yes)
    named = new_code(session, code, parts[0].batch.food, moment)
    body = replace(
        parts[0].batch,
        made_from=(),
        portion_of=tuple(one.name for one in parts),
        amount=amount_of(amount),
    )
    gone = UsedUp(into=(named,))
    session.append(
        Draft(body=body, at=moment, person=person.initials, batch=named),
        *(Draft(body=gone, at=moment, person=person.initials, batch=one.name) for one in parts),
        unchanged=[one.name for one in parts],
    )
    told = message("{codes} are together {batch}.")
    say(phrase(told, codes=", ".join(one.name for one in parts), batch=named))
    tell_mark(session, named)
