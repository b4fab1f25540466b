"""`haccp server`: for whoever runs a PostgreSQL server that holds the records of kitchens."""

import shlex
from contextlib import closing
from typing import TYPE_CHECKING

import click

from haccp.cli import terminal
from haccp.cli.boundary import BROKEN
from haccp.cli.session import Session, printable
from haccp.errors import Refused
from haccp.language import counted, message, phrase
from haccp.record.places import SCHEME, Server

# the client's library is imported when a command runs
if TYPE_CHECKING:
    from haccp.record.server import Account


class ServerUrl(click.ParamType[Server]):
    name = "url"

    def convert(
        self, value: str | Server, _param: click.Parameter | None, _ctx: click.Context | None
    ) -> Server:
        terminal.take_warnings()
        if isinstance(value, Server):
            return value
        if not value.startswith(SCHEME):
            raise Refused(
                phrase(
                    "{text} is no URL of a server: type postgresql+psycopg://NAME@HOST/DATABASE",
                    text=repr(value),
                )
            )
        return Server(value)


url_argument = click.argument("url", type=ServerUrl(), metavar="URL")


@click.group()
def server() -> None:
    """Hold the records of many kitchens on a PostgreSQL server.

    URL is postgresql+psycopg://NAME@HOST/DATABASE, with the name of the server's superuser; its
    password stands in PGPASSWORD, or in the file that PGPASSFILE names, rather than in the URL.
    """


@server.command()
@url_argument
def prepare(url: Server) -> None:
    """Make in an empty database what kitchens need, or upgrade it.

    Upgrade it while no kitchen enters anything, and keep a copy of the database before.
    """
    from haccp.record import server as administration

    if administration.prepare(url):
        terminal.say(phrase("{path} is ready: haccp server add-kitchen URL NAME", path=url))
    else:
        terminal.say(phrase("{path} was ready already: nothing was changed.", path=url))


@server.command("add-kitchen")
@url_argument
@click.argument("name")
def add_kitchen(url: Server, name: str) -> None:
    """Give a kitchen an account of its own, and print its password once.

    The kitchen then types: haccp --db URL setup, with the URL that is printed.
    """
    from haccp.record import server as administration

    name = printable(name, phrase("The kitchen's name"), 80)
    _tell(url, administration.add_kitchen(url, name))


@server.command("new-password")
@url_argument
@click.argument("name")
def new_password(url: Server, name: str) -> None:
    """Give a kitchen's or an officer's account another password, and print it once.

    A kitchen that was retired may log in again with it.
    """
    from haccp.record import server as administration

    _tell(url, administration.new_password(url, name), then="due")


@server.command("district")
@url_argument
@click.argument("district")
@click.argument("kitchens", nargs=-1, required=True, metavar="KITCHEN...")
def district_(url: Server, district: str, kitchens: tuple[str, ...]) -> None:
    """Put kitchens into a district, whose officer sees what is judged of them.

    A kitchen is in one district at most: from another one it is moved.
    """
    from haccp.record import server as administration

    district = printable(district, phrase("The district's name"), 80)
    administration.put_into_district(url, district, kitchens)
    terminal.say(
        counted(
            "{count} kitchen is in {district} now; haccp server judge URL judges it.",
            "{count} kitchens are in {district} now; haccp server judge URL judges them.",
            len(kitchens),
            district=repr(district),
        )
    )


@server.command("add-officer")
@url_argument
@click.argument("name")
@click.argument("district")
def add_officer(url: Server, name: str, district: str) -> None:
    """Give a district's officer an account that reads and writes nothing, its password once.

    The officer then types: haccp --db URL district, with the URL that is printed.
    """
    from haccp.record import server as administration

    name = printable(name, phrase("The officer's name"), 80)
    _tell(url, administration.add_officer(url, name, district))


@server.command("remove-officer")
@url_argument
@click.argument("name")
def remove_officer(url: Server, name: str) -> None:
    """Take an officer's account away for good; what is open under it ends at once."""
    from haccp.record import server as administration

    district = administration.remove_officer(url, name)
    terminal.say(
        phrase(
            "{name} has no account any more, and sees nothing of {district}. What was judged, and "
            "the district's other officers, stay.",
            name=name,
            district=repr(district),
        )
    )


@server.command()
@url_argument
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
def officers(url: Server, json_: bool) -> None:
    """List the officers of districts, and their accounts."""
    from haccp.record import server as administration

    found = administration.officers(url)
    if json_:
        terminal.as_json([one._asdict() for one in found])
        return
    for one in found:
        words = message("{name}: {role}, of {district}.")
        terminal.say(phrase(words, name=one.name, role=one.role, district=repr(one.district)))
    if not found:
        terminal.say(phrase("No officer yet: haccp server add-officer URL NAME DISTRICT"))


@server.command("retire-kitchen")
@url_argument
@click.argument("name")
def retire_kitchen(url: Server, name: str) -> None:
    """Let a kitchen's account log in no more; its record stays, and its officer sees it.

    What is open under it ends at once. haccp server new-password lets it in again.
    """
    from haccp.record import server as administration

    terminal.say(
        counted(
            "Nobody logs in as {name} any more. Its {count} entry stays, is judged and checked "
            "as before; haccp server new-password lets it in again.",
            "Nobody logs in as {name} any more. Its {count} entries stay, are judged and checked "
            "as before; haccp server new-password lets it in again.",
            administration.retire_kitchen(url, name),
            name=name,
        )
    )


@server.command()
@url_argument
@click.option("--anew", is_flag=True, help="Judge all again, whatever was judged before.")
@click.pass_obj
def judge(session: Session, url: Server, anew: bool) -> None:
    """Judge what is new in the kitchens of all districts, for their officers.

    Let the machine do it every few minutes: a kitchen of which nothing was entered, and nothing
    has fallen due, is left as it is. haccp district tells what is not judged yet.
    """
    from haccp import __version__
    from haccp.kitchen.judged import judge as judge_kitchen
    from haccp.kitchen.register import read_register
    from haccp.record import judging

    waiting = judging.to_judge(url, __version__, session.now, anew=anew)
    refused = 0
    bug: Exception | None = None
    for one in waiting:
        try:
            with closing(judging.record_as(url, one.role)) as opened:
                record = opened.as_it_stands().strict()
                found = judge_kitchen(
                    record,
                    read_register(record),
                    one.before,
                    __version__,
                    session.clock(),
                    one.branches,
                )
        # of one kitchen: the others are judged all the same
        except Exception as why:  # noqa: BLE001 - a bug is told after them, with its trace
            refused += 1
            judging.note_refused(url, one, session.now)
            terminal.say(phrase("{kitchen}: {why}", kitchen=one.name, why=why), err=True)
            if not isinstance(why, Refused):
                bug = why
        else:
            judging.keep(url, one, found)
    judged = len(waiting) - refused
    terminal.say(counted("{count} kitchen judged.", "{count} kitchens judged.", judged))
    if bug:
        raise bug
    if refused:
        raise Refused(
            counted(
                "{count} kitchen could not be judged: to its officer it is not shown.",
                "{count} kitchens could not be judged: to their officers they are not shown.",
                refused,
            )
        )


@server.command()
@url_argument
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
def kitchens(url: Server, json_: bool) -> None:
    """List the kitchens of a server: their accounts, and where their records end."""
    from haccp.record import server as administration

    found = administration.kitchens(url)
    if json_:
        terminal.as_json([one._asdict() for one in found])
        return
    for one in found:
        terminal.say(
            counted(
                "{name}: {role}, {count} entry, the last one of {at}.",
                "{name}: {role}, {count} entries, the last one of {at}.",
                one.entries,
                name=one.name,
                role=one.role,
                at=one.last_entered_at,
            )
            if one.last_entered_at
            else phrase("{name}: {role}, no entry yet.", name=one.name, role=one.role)
        )
        if one.retired_at:
            terminal.say(
                phrase("{name}: retired {at}, nobody logs in.", name=one.name, at=one.retired_at)
            )
        if one.undecided_forks:
            terminal.say(
                counted(
                    "{name}: {count} branch beside its chain waits for its manager's decision.",
                    "{name}: {count} branches beside its chain wait for its manager's decision.",
                    one.undecided_forks,
                    name=one.name,
                )
            )
    if not found:
        terminal.say(phrase("No kitchen yet: haccp server add-kitchen URL NAME"))


@server.command()
@url_argument
@click.pass_context
def check(ctx: click.Context, url: Server) -> None:
    """Walk the chain of every kitchen, and compare it with the receipts that were signed for it.

    Also says which guards of the entries are not as haccp made them.
    """
    from haccp.record import server as administration

    opened = administration.opened_guards(url)
    for problem in opened:
        terminal.say(phrase("DOES NOT HOLD: {problem}", problem=problem))
    found = administration.check(url)
    for one in found:
        words = (
            message("DOES NOT HOLD: {name} was rewritten after its receipt up to no. {seq}.")
            if one.is_receipt
            else message("DOES NOT HOLD: {name}, entry no. {seq} is not what was recorded.")
        )
        terminal.say(phrase(words, name=one.name, seq=one.seq))
    for names in administration.held_twice(url):
        words = message("CAUTION: one record was handed over to several kitchens: {names}.")
        terminal.say(phrase(words, names=", ".join(names)))
    if found or opened:
        ctx.exit(BROKEN)
    terminal.say(phrase("Every chain holds, and is what its receipts were signed for."))


def _tell(url: Server, account: "Account", then: str = "setup") -> None:
    terminal.say(phrase("Password: {password}", password=account.password))
    its_url = url.with_name(account.role).url
    if account.is_officer:
        terminal.say(
            phrase(
                "It is shown this once and nowhere kept: put it into the officer's PGPASSWORD, or "
                "into the file that the officer's PGPASSFILE names."
            )
        )
        terminal.say(
            phrase("The officer types: haccp --db {url} district", url=shlex.quote(its_url))
        )
        return
    terminal.say(
        phrase(
            "It is shown this once and nowhere kept: put it into the kitchen's PGPASSWORD, or "
            "into the file that its PGPASSFILE names."
        )
    )
    words = message("The kitchen types: haccp --db {url} {command}")
    terminal.say(phrase(words, url=shlex.quote(its_url), command=then))
