"""What a manager declares: `closed`, `oven`."""

from datetime import timedelta

import click

from haccp.cli.session import Session, by_option, printable
from haccp.cli.terminal import say
from haccp.errors import Refused
from haccp.kitchen.hours import closed_times, longest_closed
from haccp.kitchen.register import accepted_words, read_register
from haccp.language import message, phrase
from haccp.record.bodies import DayClosed, OvenAccepted
from haccp.record.entries import Draft
from haccp.time import day_starts, parse_day


@click.command()
@click.argument("day")
@click.argument("reason")
@click.option("--to", "last", metavar="DAY", help="The last day of several.")
@by_option
@click.pass_obj
def closed(session: Session, day: str, reason: str, last: str | None, by: str | None) -> None:
    """Declare the kitchen closed on DAY, ahead or afterwards (a manager).

    haccp closed 2026-12-24 "holiday" --to 2026-12-25
    """
    register, now = session.register, session.now
    first = parse_day(day, now, register.zone)
    end = parse_day(last or day, now, register.zone)
    if end < first:
        told = message("{last} is before {first}: type the last day with --to.")
        raise Refused(phrase(told, last=end, first=first))
    why = printable(reason, phrase("The reason"))
    body = DayClosed(first=first.isoformat(), last=end.isoformat(), reason=why)
    manager = session.manager(by)
    session.append(Draft(body=body, at=now, person=manager.initials), as_seen=True)
    if end == first:
        say(phrase("Closed {day}: no check of cold food is due.", day=first))
    else:
        told = message("Closed {first} to {last}: no check of cold food is due.")
        say(phrase(told, first=first, last=end))
    if day_starts(first, register.zone) < now:
        say(
            phrase(
                "Declared afterwards: it is listed for the inspector, with who declared it and "
                "when."
            )
        )
    around = day_starts(first, register.zone), day_starts(end + timedelta(days=1), register.zone)
    closures = closed_times(read_register(session.record), *around)
    allowed = longest_closed(register.kitchen)
    if any(closes - opens > allowed for opens, closes in closures):
        say(
            phrase(
                "With the hours around it that is more than {count} d: cold food is checked all "
                "the same, unless haccp kitchen --longest-closure says otherwise.",
                count=allowed.days,
            )
        )


@click.command()
@click.argument("oven", type=click.Choice(["still dry", "convection", "high humidity"]))
@click.option("--accepted-by", required=True, metavar="WHO", help="The authority that wrote.")
@click.option("--letter", required=True, metavar="DAY", help="The date of its letter.")
@by_option
@click.pass_obj
def oven(session: Session, oven: str, accepted_by: str, letter: str, by: str | None) -> None:
    """Record that the local authority accepts an oven for whole roasts in writing (a manager).

    haccp oven "still dry" --accepted-by "County Environmental Health" --letter 2026-09-14
    """
    now, zone = session.now, session.register.zone
    written = parse_day(letter, now, zone)
    if day_starts(written, zone) > now:
        told = message("{day} has not come: type the date that the letter bears.")
        raise Refused(phrase(told, day=written))
    body = OvenAccepted(
        oven=oven,
        authority=printable(accepted_by, phrase("Who accepted it"), 80),
        letter=written.isoformat(),
    )
    manager = session.manager(by)
    session.append(Draft(body=body, at=now, person=manager.initials), as_seen=True)
    say(phrase("Oven, {oven}: {accepted}.", oven=oven, accepted=accepted_words(body)))
    say(
        phrase(
            "Of a roast opened from now on with this oven, its core decides; keep the letter at "
            "hand."
        )
    )
