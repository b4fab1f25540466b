"""The tills of a view: where they are, how far each is shown, and what they do not say alike.

A view is a file that shows the entries of several tills of one kitchen in one order. To whoever
reads it, it is a record like any other; `view` brings it up to date, `view_compared` says whether
it holds what its tills hold.
"""

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import lookup
from haccp.record.bodies import (
    DaySigned,
    HoldingUnit,
    KitchenSettings,
    Person,
    PlannedFood,
    Thermometer,
)
from haccp.record.chain import Printed
from haccp.record.driver import Driver
from haccp.record.entries import FIRST, Entry
from haccp.record.merging import AMBIGUOUS, FromTill, Names, Said, Shown, differing, said_of
from haccp.record.places import Place, Server, place_named
from haccp.record.schema import SCHEMA
from haccp.record.sentences import in_sentences
from haccp.record.sqlite import PATIENCE
from haccp.record.store import Record, open_record
from haccp.record.view_tables import only_row
from haccp.time import day_and_clock, from_stored, zone_named

AT_ONCE = 2_000

# Gives some entries of a chain after a number, in order.
Read = Callable[[int], list[dict[str, Any]]]


@dataclass(frozen=True, slots=True)
class Till:
    """A till as a view knows it: `first` is its first entry's digest, which a copy has, too.

    What is typed into the view goes to the one that `is_own`. What it held at `seen_at` is shown,
    up to its entry `number` of `digest`; `why` says why not what came since, and is empty where all
    was read.
    """

    id: int
    name: str
    place: Place
    first: str
    seen_at: datetime
    why: str
    is_own: bool
    number: int
    digest: str
    reached: str


def tills_of(record: Record) -> list[Till]:
    """Give the tills of a view, each as far as this view of it goes; none of a record."""
    if not record.store.is_view:
        return []
    last = record.head()[0]
    with record.transaction() as connection:
        return tills_in(record.store.driver(connection), last)


def tills_in(driver: Driver, last: int = lookup.HIGHEST) -> list[Till]:
    rows = driver.execute("SELECT id, name, place, first, seen_at, why, own FROM till ORDER BY id")
    return [_till(driver, last, *row) for row in rows.fetchall()]


def _till(
    driver: Driver,
    last: int,
    id_: int,
    name: str,
    place: str,
    first: str,
    seen_at: str,
    why: str,
    own: int,
) -> Till:
    newest = (
        "SELECT number, digest, reached FROM shown WHERE till = ? AND seq <= ?"
        " ORDER BY number DESC LIMIT 1"
    )
    number, digest, reached = driver.execute(newest, (id_, last)).fetchone() or (0, FIRST, "")
    seen = from_stored(seen_at)
    return Till(id_, name, place_named(place), first, seen, why, bool(own), number, digest, reached)


@contextmanager
def reading(place: Place) -> Iterator[Read]:
    """Give what reads a till's chain; it neither changes nor upgrades the record of another.

    Raises Refused where it cannot be reached, is no record, or is a view itself.
    """
    if isinstance(place, Server):
        with closing(open_record(place, create=False)) as record:

            def read(after: int) -> list[dict[str, Any]]:
                with record.transaction() as connection:
                    return _following(record.store.driver(connection), after)

            yield read
        return
    if not place.exists():
        raise Refused(phrase("There is no record at {path}: look where it is.", path=place))
    uri = f"{place.absolute().as_uri()}?mode=rw"  # what a killed writer left is rolled back
    with in_sentences(place):
        plain = sqlite3.connect(uri, uri=True, timeout=PATIENCE, isolation_level=None)
    with closing(plain):

        def read_file(after: int) -> list[dict[str, Any]]:
            with in_sentences(place):
                return _following(plain, after)

        with in_sentences(place):
            plain.execute("PRAGMA query_only = ON")
            _refuse_other(plain, place)
        yield read_file


def _following(driver: Driver, after: int) -> list[dict[str, Any]]:
    return lookup.following(driver, after, lookup.HIGHEST, AT_ONCE)


def _refuse_other(plain: sqlite3.Connection, place: Place) -> None:
    """Raise Refused for what is no record of one till that this version can read."""
    tables = {name for (name,) in plain.execute("SELECT name FROM sqlite_master")}
    if not {"entry", "alembic_version"} <= tables:
        no_record = message(
            "{path} is a database of something else: name a haccp record with --db."
        )
        raise Refused(phrase(no_record, path=place))
    if plain.execute("PRAGMA user_version").fetchone()[0]:
        raise Refused(phrase("{path} is a view itself: name the tills that it shows.", path=place))
    (version,) = plain.execute("SELECT version_num FROM alembic_version").fetchone()
    if version > SCHEMA:  # numbered in order; an older one has the same entries
        newer = message(
            "{path} was made by a newer haccp (schema {version}): install that version to open it."
        )
        raise Refused(phrase(newer, path=place, version=version))


def refuse_copies(firsts: Iterable[tuple[str, str]]) -> None:
    """Raise Refused where two tills have the same first entry: one is a copy of the other."""
    seen: dict[str, str] = {}
    for name, first in firsts:
        if first and first in seen:
            raise Refused(
                phrase(
                    "{name} and {other} are one record, or copies of one: name each till once.",
                    name=seen[first],
                    other=name,
                )
            )
        seen[first] = name


# An entry of a view as its till holds it.
OWN = (
    "s.till, s.reached, s.number AS seq, e.kind, e.entered_at, e.at, e.person,"
    " coalesce(s.batch, e.batch) AS batch, coalesce(s.unit, e.unit) AS unit,"
    " (SELECT c.number FROM shown c WHERE c.seq = e.corrects) AS corrects,"
    " coalesce(s.body, e.body) AS body, coalesce((SELECT p.digest FROM shown p"
    f" WHERE p.till = s.till AND p.number = s.number - 1), '{FIRST}') AS previous, s.digest"
    " FROM shown s JOIN entry e ON e.seq = s.seq"
)


def kept(driver: Driver, till: int, chosen: str) -> Iterator[FromTill]:
    """Give what a view holds of a till, in order, as the till has it."""
    after = 0
    while rows := lookup.rows_of(
        driver, f"{chosen} AND e.seq > ? ORDER BY e.seq LIMIT {AT_ONCE}", (till, after),
        "e.reached, ",
    ):  # fmt: skip
        for row in rows:
            yield FromTill(till, row.pop("reached"), row)
        after = rows[-1]["seq"]


def entry_of_paper(record: Record, printed: Printed) -> tuple[str, int] | None:
    """Find the till's entry that a paper names by its digest; None where there is no such one."""
    chosen = (
        "SELECT t.name, s.number FROM shown s JOIN till t ON t.id = s.till"
        " WHERE substr(s.digest, 1, ?) = ? LIMIT 2"
    )
    with record.transaction() as connection:
        driver = record.store.driver(connection)
        found = driver.execute(chosen, (len(printed.digest), printed.digest)).fetchall()
    if len(found) != 1 or printed.seq not in (None, found[0][1]):
        return None
    return found[0][0], found[0][1]


def number_of_entry(driver: Driver, till: int, number: int) -> int:
    """Give the view's number of a till's entry."""
    chosen = "SELECT seq FROM shown WHERE till = ? AND number = ?"
    return int(only_row(driver, chosen, till, number)[0])


def heads_of(tills: Iterable[Till]) -> tuple[str, ...]:
    """Name each till's last entry that a view shows, for who vouches for having seen it.

    Raises Refused where one could not be read.
    """
    tills = list(tills)
    for one in tills:
        if one.why:
            raise Refused(
                phrase(
                    "{till} cannot be read, and what is typed there is not seen: sign when it can "
                    "be, or at each till. {why}",
                    till=one.name,
                    why=one.why,
                )
            )
    return tuple(f"{one.name} {one.number} {one.digest} {one.first}" for one in tills)


def seen_up_to(record: Record, signature: Entry[DaySigned]) -> dict[str, int]:
    """Say of each till up to which entry of a view somebody had seen it who signed a day.

    Who signed at one till alone had seen that one. Of a head that is not in its chain nothing is
    believed, and what came late was not seen, wherever it stands.
    """
    found = {record.till_of(signature.seq): signature.seq}
    with record.transaction() as connection:
        driver = record.store.driver(connection)
        tills = {one.first: one for one in tills_in(driver)}
        for head in signature.body.heads:
            _, number, digest, first = head.split()
            if first in tills:
                till = tills[first]
                is_there = "SELECT 1 FROM shown WHERE till = ? AND number = ? AND digest = ?"
                follows = "SELECT min(seq) FROM shown WHERE till = ? AND number > ?"
                (later,) = driver.execute(follows, (till.id, int(number))).fetchone()
                if driver.execute(is_there, (till.id, int(number), digest)).fetchone():
                    seen = min(signature.seq, later - 1 if later else signature.seq)
                    found[till.name] = max(seen, found.get(till.name, 0))
    return found


def names_in(driver: Driver) -> Names:
    """Give what the tills said by which names, as far as a view has taken it up."""
    tills = driver.execute("SELECT name FROM till ORDER BY id").fetchall()
    return Names([name for (name,) in tills], partial(_asked, driver))


def _asked(driver: Driver, column: str, value: str) -> Iterator[Said]:
    found = driver.execute(f"SELECT * FROM said WHERE {column} = ? ORDER BY seq, rowid", (value,))
    return map(Said._make, found.fetchall())


def source_of(one: Shown) -> tuple[Any, ...]:
    """Give what a view keeps of whose an entry is, and what it holds otherwise."""
    till, reached, own = one.source
    return (one.row["seq"], till, own["seq"], own["digest"], reached, *one.changed.values())


def told(driver: Driver, now: datetime) -> Iterator[str]:
    """Say what is not in a view, and what its tills do not say alike."""
    settings = [one for _, one in said_of(KitchenSettings, _said(driver, KitchenSettings.kind))]
    zone = zone_named(settings[-1].zone) if settings else zone_named("UTC")
    for till in tills_in(driver):
        if till.why:
            yield phrase(
                "{till}: seen until {time}; what was typed there since is not in this. {why}",
                till=till.name,
                time=day_and_clock(till.seen_at, now, zone),
                why=till.why,
            )
    differing = [one.name for one in disagreements(driver)]
    if differing:
        yield phrase(
            "The tills do not say the same of {names}: haccp record tills tells what counts.",
            names=", ".join(differing),
        )
    meant = driver.execute(
        "SELECT s.seq FROM said s LEFT JOIN entry c ON c.corrects = s.seq"
        " WHERE s.kind = ? AND c.seq IS NULL ORDER BY s.seq DESC LIMIT 5", (AMBIGUOUS,)
    ).fetchall()  # fmt: skip
    if meant:
        yield phrase(
            "Entries {numbers} name a batch that more than one other till opened, and count for "
            "none: withdraw them, and type them at the batch's till.",
            numbers=", ".join(str(seq) for (seq,) in sorted(meant)),
        )


def _said(driver: Driver, kind: str) -> list[Said]:
    found = driver.execute("SELECT * FROM said WHERE kind = ? ORDER BY seq, rowid", (kind,))
    return [Said._make(row) for row in found.fetchall()]


@dataclass(frozen=True, slots=True)
class Disagreement:
    """What tills say differently: of what, in which fields, and which tills.

    What is judged by counts as the stricter says it, anything else as it was said last.
    """

    name: str
    fields: tuple[str, ...]
    tills: tuple[str, ...]
    is_judged_by: bool

    @property
    def words(self) -> str:
        told = message("{name}: {tills} differ in {fields}; what was said last counts.")
        if self.is_judged_by:
            told = message("{name}: {tills} differ in {fields}; the stricter counts.")
        tills, fields = ", ".join(self.tills), ", ".join(self.fields)
        return phrase(told, name=self.name, tills=tills, fields=fields)


def tells_apart(record: Record) -> bool:
    """Whether a name stands for something else at another till, and is told with its till's."""
    with record.transaction() as connection:
        chosen = "SELECT 1 FROM said WHERE shown <> name AND kind <> ? LIMIT 1"
        found = record.store.driver(connection).execute(chosen, (PlannedFood.kind,)).fetchone()
    return found is not None


def disagreements_of(record: Record) -> list[Disagreement]:
    with record.transaction() as connection:
        return disagreements(record.store.driver(connection))


def disagreements(driver: Driver) -> list[Disagreement]:
    """List the settings that are in force at tills and are not the same at all that know them."""
    names = {till.id: till.name for till in tills_in(driver)}
    found = []
    for kind in (KitchenSettings, Person, Thermometer, HoldingUnit, PlannedFood):
        latest: dict[str, dict[int, Said]] = {}
        for one in _said(driver, kind.kind):
            latest.setdefault(one.name, {})[one.till] = one
        for name, by_till in latest.items():
            fields = differing([body for _, body in said_of(kind, by_till.values())])
            if fields:
                strict = kind not in (Person, PlannedFood)
                told_by = tuple(names[till] for till in by_till)
                found.append(Disagreement(name or kind.kind, tuple(fields), told_by, strict))
    return found
