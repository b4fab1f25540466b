"""What an entry is about, as names of threads: the record is read along them, in its own order.

A thread is all entries about one thing. An entry that corrects another is in its threads too, so
that whoever reads about the one learns of the other.
"""

from haccp.record.bodies import (
    BatchOpened,
    DaySigned,
    HoldingUnit,
    Logged,
    Measured,
    ThermometerCheck,
    Unreadable,
)
from haccp.record.entries import LATE, Entry

UNREADABLE = "unreadable"


def about_batch(code: str) -> str:
    return f"batch {code}"


def batch_of(thread: str) -> str:
    """Give the code of the batch whose thread this is; empty for another thread."""
    return thread.removeprefix(about_batch("")) if thread.startswith(about_batch("")) else ""


def about_unit(name: str) -> str:
    """Name the thread of what was entered about a holding unit, its settings included."""
    return f"unit {name}"


def acts_on_unit(name: str) -> str:
    """Name the thread of what was entered about a holding unit beside its readings in time.

    What was done about it, what was entered late, and what corrects an earlier entry: with it a
    stretch of the unit's thread tells all of its time.
    """
    return f"acts on {name}"


def of_kind(kind: str) -> str:
    return f"kind {kind}"


def about_thermometer(label: str) -> str:
    return f"thermometer {label}"


def out_of_probe(name: str) -> str:
    """Name the thread of what was loaded of a logger's probe, by what its files call it."""
    return f"probe {name}"


def is_standing(thread: str) -> bool:
    """Whether a thread is one of a few that go on for years: a kind, unit, thermometer, probe."""
    years = (of_kind(""), about_unit(""), about_thermometer(""), out_of_probe(""))
    return thread.startswith(years)


def is_of_batches(thread: str) -> bool:
    """Whether what is entered in a thread is about batches alone, or a list of its kind."""
    return thread.startswith((about_batch(""), openings_of(""), openings_from(""), of_kind("")))


def openings_of(food: str) -> str:
    """Name the thread of the batches that were opened of a food."""
    return f"food {food.casefold()}"


def openings_from(code: str) -> str:
    """Name the thread of the batches that were made from a batch, or are portions of it."""
    return f"out of {code}"


def opened_from(thread: str) -> str:
    """Give the code of the batch that a thread names the openings from; empty for another one."""
    return thread.removeprefix(openings_from("")) if thread.startswith(openings_from("")) else ""


def under_day(day: str) -> str:
    """Name the thread of the signatures under a day [YYYY-MM-DD]."""
    return f"day {day}"


def _is_in_time(entry: Entry) -> bool:
    late = entry.entered_at - entry.at > LATE
    return isinstance(entry.body, Measured | Logged) and not entry.corrects and not late


def belongs_to(entry: Entry, thread: str) -> bool:
    """Whether an entry is in a thread by what it says itself."""
    is_of_its_batch = entry.batch is not None and thread == about_batch(entry.batch)
    return is_of_its_batch or thread in threads_of(entry)


def threads_of(entry: Entry) -> set[str]:
    """Name the threads that an entry is in by what it says itself.

    Readings are in no thread of their kind: they are most of the record, and nobody asks for them
    all.
    """
    body = entry.body
    found = {about_batch(entry.batch)} if entry.batch else set()
    found |= {about_unit(entry.unit)} if entry.unit else set()
    found |= {acts_on_unit(entry.unit)} if entry.unit and not _is_in_time(entry) else set()
    if isinstance(body, Unreadable):
        found.add(of_kind(UNREADABLE))
    elif not isinstance(body, Measured | Logged):
        found.add(of_kind(body.kind))
    if isinstance(body, HoldingUnit):
        found.add(about_unit(body.name))
    elif isinstance(body, ThermometerCheck):
        found.add(about_thermometer(body.thermometer))
    elif isinstance(body, Logged):
        found.add(out_of_probe(body.probe))
    elif isinstance(body, DaySigned):
        found.add(under_day(body.day))
    elif isinstance(body, BatchOpened):
        found.add(openings_of(body.food))
        found |= {openings_from(part) for part in (*body.made_from, *body.portion_of)}
    return found
