"""What is typed into a till's own view: judged by all, and entered into that till's chain alone.

What it says by the view's names is said by the till's; where the till would mean something else by
one, it is refused.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import datetime

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record import lookup
from haccp.record import view as views
from haccp.record.bodies import (
    Assessed,
    BatchOpened,
    Body,
    ContainerOpened,
    CoolingPlanned,
    CoolingSetup,
    CorrectiveAction,
    DaySigned,
    DeliveryRejected,
    Discarded,
    Diverted,
    DoubtSettled,
    Frozen,
    HoldingUnit,
    Logged,
    Measured,
    Moved,
    NotMeasured,
    Released,
    Renamed,
    SetApart,
    TakenOut,
    Thawed,
    ThermometerCheck,
    UnitEmptied,
    UsedUp,
    Withdrawn,
)
from haccp.record.driver import Driver
from haccp.record.entering import MEANWHILE
from haccp.record.entries import Draft, Entry
from haccp.record.merging import Names, batch_meant, unit_meant
from haccp.record.sqlite import FileStore
from haccp.record.store import Record, open_record
from haccp.record.threads import about_batch
from haccp.record.tills import Till, heads_of, names_in, number_of_entry, tills_in
from haccp.record.view_tables import not_for_all, only_row, only_shows

# Whatever is of food and of the day; settings are typed at the till itself.
_TYPED = (
    Assessed, BatchOpened, ContainerOpened, CoolingPlanned, CoolingSetup, CorrectiveAction,
    DaySigned, DeliveryRejected, Discarded, Diverted, DoubtSettled, Frozen, Logged, Measured, Moved,
    NotMeasured, Released, Renamed, SetApart, TakenOut, Thawed, ThermometerCheck, UnitEmptied,
    UsedUp, Withdrawn,
)  # fmt: skip


@contextmanager
def record_of(view: Record) -> Iterator[Record]:
    """Open the record of the till whose view it is; raises Refused where it is nobody's."""
    with view.transaction() as connection:
        driver = view.store.driver(connection)
        own = next((one for one in tills_in(driver) if one.is_own), None)
        if own is None:
            raise only_shows(view.file, driver)
    with closing(open_record(own.place, create=False)) as record:
        yield record


def append(
    view: Record,
    drafts: Iterable[Draft],
    now: Callable[[], datetime],
    *,
    as_seen: bool = False,
    unchanged: Sequence[str] = (),
    committed: Callable[[list[int]], object],
) -> list[Entry]:
    """Append entries to the chain of a view's own till, as `Record.append` does, and take them up.

    Gives them as the view holds them. Where that fails after they were recorded, `committed` is
    told their numbers at the till.
    """
    store = view.store
    with record_of(view) as record:
        _refuse_changed(view, now(), as_seen=as_seen, unchanged=unchanged)
        with view.transaction() as connection:
            driver = store.driver(connection)
            till = next(one for one in tills_in(driver) if one.is_own)
            said = _Said(driver, till)
            own = [said.draft(one) for one in drafts]
            threads = [
                about_batch(said.batch(name.removeprefix(about_batch("")))) for name in unchanged
            ]
        entered = Record(record.store, till.number).append(
            own, now, as_seen=as_seen, unchanged=threads
        )
        numbers = [one.seq for one in entered]
        try:
            views.catch_up(view, entered[-1].entered_at)
            view.see_all()
            with view.transaction() as connection:
                driver = store.driver(connection)
                shown = [number_of_entry(driver, till.id, number) for number in numbers]
            return view.numbered(shown)
        except BaseException:
            committed(numbers)
            raise


def _refuse_changed(
    view: Record, now: datetime, *, as_seen: bool, unchanged: Sequence[str]
) -> None:
    """Take up what the tills hold by now; raise Refused where it is not what was looked at."""
    store = view.store
    assert isinstance(store, FileStore)  # nothing else is a view
    seen, cuts = view.head(), store.cuts
    views.catch_up(view, now)
    with view.transaction() as connection:
        driver = store.driver(connection)
        head = lookup.last_entry(driver)[:2]
        moved = unchanged and lookup.goes_on(driver, unchanged, seen[0])
    if store.cuts != cuts or moved or (as_seen and head != seen):
        raise Refused(phrase(MEANWHILE))


class _Said:
    """How a till calls what the view does; what the view would take otherwise is refused."""

    def __init__(self, driver: Driver, till: Till) -> None:
        self._driver = driver
        self._till = till
        self._names: Names = names_in(driver)

    def draft(self, one: Draft) -> Draft:
        if not isinstance(one.body, _TYPED):
            raise not_for_all(self._driver)
        return replace(
            one,
            body=self._body(one.body),
            batch=one.batch and self.batch(one.batch),
            unit=one.unit and self._unit(one.unit),
            corrects=one.corrects and self._corrected(one.corrects),
        )

    def _body(self, body: Body) -> Body:
        match body:
            case BatchOpened():
                made_from, portion_of = map(self._batches, (body.made_from, body.portion_of))
                return replace(body, made_from=made_from, portion_of=portion_of)
            case UsedUp():
                return replace(body, into=self._batches(body.into))
            case DaySigned():
                return replace(body, heads=heads_of(tills_in(self._driver)))
            case _:
                return body

    def _batches(self, codes: Iterable[str]) -> tuple[str, ...]:
        return tuple(map(self.batch, codes))

    def batch(self, code: str) -> str:
        known = [one for one in self._names.shown_as(code) if one.kind == BatchOpened.kind]
        name = next((one.name for one in known if one.shown == code), code)
        if known and batch_meant(name, self._till.id, self._names) != code:
            raise self._meant_otherwise(code, known[0].till)
        return name

    def _unit(self, unit: str) -> str:
        known = [one for one in self._names.shown_as(unit) if one.kind == HoldingUnit.kind]
        name = next((one.name for one in known if one.shown == unit), unit)
        if unit_meant(name, self._till.id, self._names) != unit:
            raise self._meant_otherwise(unit, known[0].till)
        return name

    def _meant_otherwise(self, name: str, till: int) -> Refused:
        place = next(one.place for one in tills_in(self._driver) if one.id == till)
        words = message(
            "{till} has something else of that name: type it of {name} where that is, haccp --db "
            "{place}"
        )
        return Refused(phrase(words, till=self._till.name, name=name, place=place))

    def _corrected(self, number: int) -> int:
        chosen = "SELECT till, number FROM shown WHERE seq = ?"
        till, own = only_row(self._driver, chosen, number)
        if till != self._till.id:
            other = next(one for one in tills_in(self._driver) if one.id == till)
            words = message(
                "No. {number} was typed at {till}: put it right there, haccp --db {place}"
            )
            raise Refused(phrase(words, number=number, till=other.name, place=other.place))
        return int(own)
