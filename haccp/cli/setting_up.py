"""`haccp setup`: a kitchen in ten questions at most, each with an answer ready."""

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from haccp import limits
from haccp.cli import terminal
from haccp.cli.session import Session, confirm, default_path, printable
from haccp.cli.setting import known_limit_set, parse_code, parse_initials
from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.quantities import parse_altitude
from haccp.record.bodies import Body, HoldingUnit, KitchenSettings, Person, Thermometer
from haccp.record.bodies_of_record import PinSet
from haccp.record.entries import Draft
from haccp.record.pins import set_pin
from haccp.record.store import Record, open_record
from haccp.temperature import Degree
from haccp.time import zone_named, zone_typed

_TRIES = 3
_NOBODY = message("none")
# As stated for common probes: common practice, no source.
_ACCURACY = "2F"
# Food that is kept cold or frozen is read twice a day: common practice, no source.
_TWICE_A_DAY = 720


@dataclass(frozen=True, slots=True)
class _Question:
    """One question; `ready` is the answer that Enter gives, and what is taken where nobody asks.

    Without one somebody has to answer. `read` raises Refused for what it cannot take.
    """

    asked: str
    read: Callable[[str], Any]
    ready: Callable[[], str | None] = lambda: None


def _degree(text: str) -> str:
    shown = text.strip().upper().lstrip("°")
    if shown not in {*Degree}:
        raise Refused(phrase("'{text}' is no degree: type F or C.", text=text))
    return shown


def _person(text: str) -> tuple[str, str]:
    """Read ``AR Asta Rillwood`` into initials and a name."""
    initials, _, name = text.strip().partition(" ")
    return parse_initials(initials), printable(name, phrase("The name after the initials"))


def _listed(text: str, read: Callable[[str], Any]) -> list[Any]:
    """Read what commas part; nothing where the answer is that there is none."""
    if text.strip().casefold() in ("", "-", _NOBODY, phrase(_NOBODY)):
        return []
    return [read(one.strip()) for one in text.split(",") if one.strip()]


def _people(text: str) -> list[tuple[str, str]]:
    return _listed(text, _person)


def _names(text: str) -> list[str]:
    return _listed(re.sub(r"(?<=\w) (?=\w)", "-", text), parse_code)


def _zone_here() -> str | None:
    """Guess the time zone by the machine's own, where that is a place's."""
    parts = Path("/etc/localtime").resolve().parts
    if "zoneinfo" not in parts:
        return None
    name = "/".join(parts[parts.index("zoneinfo") + 1 :])
    try:
        return zone_named(name).key if "/" in name and parts[-2] != "Etc" else None
    except Refused:
        return None


def _ready(answer: str) -> Callable[[], str]:
    return lambda: answer


_QUESTIONS: Mapping[str, _Question] = {
    "name": _Question(
        message("What is the kitchen called?"),
        lambda text: printable(text, phrase("The kitchen's name")),
    ),
    "zone": _Question(
        message("Its time zone (America/Denver)?"), lambda text: zone_typed(text).key, _zone_here
    ),
    "degree": _Question(message("Degrees: F or C?"), _degree, _ready("F")),
    "altitude": _Question(
        message("How high above the sea (5380ft or 1640m)?"), parse_altitude, _ready("0ft")
    ),
    "manager": _Question(message("The manager, initials first (JM Jo Marsh)?"), _person),
    "people": _Question(
        message("Who else logs, initials first, with commas between?"),
        _people,
        lambda: phrase(_NOBODY),
    ),
    "hot": _Question(message("What keeps food hot?"), _names, _ready("well-1, well-2")),
    "cold": _Question(message("What keeps food cold?"), _names, _ready("walk-in")),
    "frozen": _Question(message("What keeps food frozen?"), _names, _ready("freezer")),
    "thermometers": _Question(message("Which thermometers?"), _names, _ready("T1")),
}
# What is left out where nobody is asked: there is none of it yet.
_LISTS = ("people", "hot", "cold", "frozen", "thermometers")


@click.command()
@click.argument("name", required=False)
@click.option("--zone", help="Its time zone, such as America/Denver.")
@click.option("--manager", metavar="INITIALS", help="The first manager's initials.")
@click.option("--manager-name", metavar="NAME")
@click.option("--degree", help="F or C; default: F.")
@click.option("--altitude", help="Above the sea: 1640m or 5380ft; default: 0m.")
@click.option("--people", help="Who else logs: 'TP Tavi Pellmarsh, LO Lio Oakmarrow'.")
@click.option("--hot", help="Units that keep food hot: 'well-1, well-2'.")
@click.option("--cold", help="Units that keep food cold: 'walk-in'.")
@click.option("--frozen", help="Units that keep food frozen: 'freezer'.")
@click.option("--thermometers", help="Such as 'T1, T2'.")
@click.option(
    "--limit-set",
    default="food-code-2022",
    show_default=True,
    metavar="SET",
    help="What it is judged by; haccp limits list names them.",
)
@click.option("--yes", is_flag=True, help="Make the folder of the record, if there is none.")
@click.pass_obj
def setup(
    session: Session,
    /,
    manager: str | None,
    manager_name: str | None,
    limit_set: str,
    yes: bool,
    **typed: str | None,
) -> None:
    """Make the record of a new kitchen, with its first manager.

    Type haccp setup alone: it asks ten questions, each with an answer ready. What is typed on
    the line is not asked.
    """
    known_limit_set(limit_set)
    folder = session.path.parent if isinstance(session.path, Path) else None
    if folder and not folder.is_dir() and session.path != default_path():
        confirm(phrase("There is no folder {folder}: it would be made.", folder=folder), yes=yes)
    if session.has_record:
        with closing(open_record(session.path, create=False)) as there:
            _refuse_kitchen(there)
    if manager and manager_name:
        typed["manager"] = f"{manager} {manager_name}"
    needed = [name for name in ("name", "zone", "manager") if not typed.get(name)]
    asks = bool(needed) and terminal.is_answered()
    if needed and not asks:
        raise Refused(
            phrase(
                'Nobody is there to be asked; type it whole: haccp setup "My kitchen" '
                '--zone America/Denver --manager JM --manager-name "Jo Marsh"'
            )
        )
    told = {name: _answer(name, typed.get(name), asks=asks) for name in _QUESTIONS}
    initials, manager_called = told["manager"]
    kitchen = KitchenSettings(
        name=told["name"],
        zone=told["zone"],
        degree=told["degree"],
        altitude_m=told["altitude"],
        limit_set=limit_set,
        limits_digest=limits.shipped(limit_set).digest,
        nonce=session.nonce(),
    )
    person = Person(initials=initials, name=manager_called, role="manager")
    more = list(_others(told, initials, every=kitchen.check_every_min))
    pin = session.new_pin(initials)
    with closing(open_record(session.path, create=True).as_it_stands()) as record:
        # somebody else may have set it up while the PIN was typed
        _refuse_kitchen(record)
        bodies = (kitchen, person, PinSet(initials=initials, proved=False), *more)
        drafts = [Draft(body=body, at=session.now, person=initials) for body in bodies]
        session.append_to(record, *drafts, as_seen=True)
        set_pin(record, initials, pin, session.now)
    terminal.say(
        phrase(
            "{kitchen} is set up in {path}, managed by {name} ({initials}).",
            kitchen=kitchen.name,
            path=session.path,
            name=person.name,
            initials=initials,
        )
    )
    _tell_next(told, session, asks=asks)


def _answer(name: str, typed: str | None, *, asks: bool) -> Any:
    """Give what was typed; else what is answered; else what is ready, or none of it."""
    question = _QUESTIONS[name]
    if typed is not None:
        return question.read(typed)
    if not asks:
        return question.read("" if name in _LISTS else question.ready() or "")
    ready = question.ready()
    shown = f" [{ready}]" if ready else ""
    for left in reversed(range(_TRIES)):
        answer = terminal.answer_to(f"{phrase(question.asked)}{shown}") or ready or ""
        try:
            return question.read(answer)
        except Refused as slip:
            if not left:
                raise
            terminal.say(str(slip), err=True)
    return None


def _others(told: Mapping[str, Any], manager: str, every: int) -> Iterator[Body]:
    """Give the other people, the units and the thermometers, each once."""
    everybody = [manager, *(initials for initials, _ in told["people"])]
    units = [*told["hot"], *told["cold"], *told["frozen"]]
    for names in (everybody, units, told["thermometers"]):
        folded = [name.casefold() for name in names]
        twice = next((name for name in names if folded.count(name.casefold()) > 1), None)
        if twice:
            raise Refused(phrase("{name} stands there twice: each needs its own.", name=twice))
    for initials, name in told["people"]:
        yield Person(initials=initials, name=name, role="cook")
    for holds in ("hot", "cold", "frozen"):
        for name in told[holds]:
            often = every if holds == "hot" else _TWICE_A_DAY
            yield HoldingUnit(name=name, holds=holds, every_min=often)
    for label in told["thermometers"]:
        yield Thermometer(label=label, accuracy=_ACCURACY)


def _tell_next(told: Mapping[str, Any], session: Session, *, asks: bool) -> None:
    units = [*told["hot"], *told["cold"], *told["frozen"]]
    if asks:
        session.remember(told["manager"][0])
    if not units:
        terminal.say(
            phrase(
                "Next: haccp add person, haccp add thermometer, haccp add unit; "
                'then haccp batch "bean stew".'
            )
        )
        return
    terminal.say(phrase("The first round: {units}.", units=", ".join(units)))
    terminal.say(phrase('Type haccp round. A food begins with: haccp batch "bean stew".'))


def _refuse_kitchen(record: Record) -> None:
    if record.head()[0]:
        told = message("{path} holds a kitchen already: change it with haccp kitchen")
        raise Refused(phrase(told, path=record.place))
