"""All of a kind that is on record: `list`."""

from collections.abc import Callable, Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any

import click

from haccp.cli import terminal
from haccp.cli.session import Session
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.naming import every_code
from haccp.kitchen.reading import read_batches
from haccp.language import message, phrase
from haccp.phrases import ranging
from haccp.record.bodies import KINDS, Unreadable
from haccp.record.entries import Entry, by_entry
from haccp.rules.evidence import overall
from haccp.time import day_and_clock, from_stored, stored


@click.command("list")
@click.argument(
    "what",
    type=click.Choice(["people", "thermometers", "units", "foods", "batches", "entries"]),
)
@click.option("--json", "json_", is_flag=True, help="Print JSON.")
@click.pass_obj
def list_(session: Session, what: str, json_: bool) -> None:
    """List people, thermometers, units, foods, batches, or every entry of the record."""
    rows = _LISTS[what](session)
    if json_:
        terminal.as_json(rows)
        return
    session.tell_troubles()
    if rows:
        header = list(rows[0])
        shown = [_in_kitchen_time(row, session) for row in rows]
        cells = [[_cell(row[column], column) for column in header] for row in shown]
        terminal.table([phrase(column) for column in header], cells)
    else:
        terminal.lines(phrase(_NONE[what]))


def plain(entry: Entry) -> dict[str, Any]:
    """Give an entry as plain values, for JSON and tables."""
    body = entry.run or entry.body
    return {
        "seq": entry.seq,
        "kind": body.kind,
        "at": stored(entry.at),
        "entered_at": stored(entry.entered_at),
        "person": entry.person,
        "batch": entry.batch,
        "unit": entry.unit,
        "corrects": entry.corrects,
        "body": {"cannot be read": body.why, "text": body.text}
        if isinstance(body, Unreadable)
        else asdict(body),
    }


def _in_kitchen_time(row: dict[str, Any], session: Session) -> dict[str, Any]:
    moments = {name: from_stored(row[name]) for name in ("at", "entered_at") if name in row}
    zone = session.register.zone
    return row | {name: day_and_clock(at, session.now, zone) for name, at in moments.items()}


def _cell(value: Any, column: str = "") -> str:
    if isinstance(value, bool):
        return phrase("yes") if value else phrase("no")
    if isinstance(value, dict):
        told = {key: _hour(one) if key == "readings" else _cell(one) for key, one in value.items()}
        return ", ".join(f"{key}: {one}" for key, one in told.items() if one)
    if column in _IN_WORDS and value in _CELLS:
        return phrase(value)
    return ", ".join(value) if isinstance(value, list | tuple) else str(value or "")


def _hour(readings: Sequence[str]) -> str:
    """Give a logger's hour in short: how many readings, the lowest and the highest."""
    temperatures = sorted((one.partition(" ")[2] for one in readings), key=Decimal)
    return f"{len(readings)} ({ranging(temperatures[0], temperatures[-1])})"


def _batches(session: Session) -> list[dict[str, Any]]:
    record, register = session.record, session.register
    codes = every_code(record)
    return [
        {
            "code": batch.name,
            "opened": day_and_clock(batch.opened.at, session.now, register.zone),
            "verdict": overall(all_found(batch, record, register, session.now)),
            "left": "no" if batch.ended else "yes",
            "made from": batch.batch.made_from,
            "food": batch.batch.food,
        }
        for batch in read_batches(record, codes)
    ]


def _foods(session: Session) -> list[dict[str, Any]]:
    foods = [asdict(one) for one in session.register.foods.values()]
    steps = [one.pop("steps") for one in foods]
    # what is longest stands last, where it is wrapped
    return [{**one, "steps": told} for one, told in zip(foods, steps, strict=True)]


# The columns of the lists, and what stands in some, are in English the names that JSON has.
_COLUMNS = (
    *(message("initials"), message("name"), message("role"), message("active")),
    *(message("language"), message("label"), message("accuracy"), message("holds")),
    *(message("every_min"), message("usual"), message("food_kind"), message("nature")),
    *(message("container"), message("depth_in"), message("unit"), message("steps")),
    *(message("code"), message("opened"), message("verdict"), message("left")),
    *(message("made from"), message("food"), message("seq"), message("kind"), message("at")),
    *(message("entered_at"), message("person"), message("batch"), message("corrects")),
    message("body"),
)
_IN_WORDS = ("left", "verdict", "kind")
_CELLS = frozenset(
    (
        *(message("yes"), message("no"), message("not met"), message("not shown")),
        *(message("open"), message("met"), message("stopped"), *KINDS),
    )
)
_NONE = {
    "people": message("There are no people yet."),
    "thermometers": message("There are no thermometers yet."),
    "units": message("There are no units yet."),
    "foods": message("There are no foods yet."),
    "batches": message("There are no batches yet."),
    "entries": message("There are no entries yet."),
}
_LISTS: dict[str, Callable[[Session], list[dict[str, Any]]]] = {
    "people": lambda session: [asdict(one) for one in session.register.people.values()],
    "thermometers": lambda session: [asdict(one) for one in session.register.thermometers.values()],
    "units": lambda session: [asdict(one) for one in session.register.units.values()],
    "foods": _foods,
    "batches": _batches,
    "entries": lambda session: [plain(one) for one in by_entry(session.record.entries())],
}
