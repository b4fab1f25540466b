"""What is typed at two tills and seen as one is what one record says: the kitchen is invented."""

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from haccp import limits
from haccp.kitchen.board import board
from haccp.kitchen.naming import every_code, open_codes
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import read_register
from haccp.kitchen.review import matters, review
from haccp.record import own_till
from haccp.record.bodies import (
    BatchOpened,
    Body,
    CorrectiveAction,
    DaySigned,
    Discarded,
    HoldingUnit,
    KitchenSettings,
    Measured,
    Moved,
    Person,
    PlannedFood,
    Renamed,
    TakenOut,
    Thermometer,
    ThermometerCheck,
    UnitEmptied,
    UsedUp,
    Withdrawn,
)
from haccp.record.entries import Draft
from haccp.record.store import Record, open_record
from haccp.record.view import caught_up, make
from haccp.record.view_compared import compare

_BEGINS = datetime(2026, 10, 26, 12, 0, tzinfo=UTC)
_TILLS = ("line", "cold")
_STEPS = ("cook", "hot_hold", "cool", "cold_hold", "reheat", "prepare")
_TEMPS = ("36", "39", "45", "69", "71", "100", "130", "134.9", "135", "150", "166", "199")
_UNITS = {"well-1": "hot", "walk-in": "cold", "reach-in": "cold"}
_CODES = ("stew", "rice", "soup", "beef")


def _settings(nonce: str) -> KitchenSettings:
    return KitchenSettings(
        name="Grown Kitchen", zone="America/Denver", degree="F", altitude_m=0,
        limit_set="food-code-2022", limits_digest=limits.shipped("food-code-2022").digest,
        open_hours="mon-sun 05:00-22:00", nonce=nonce * 32,
    )  # fmt: skip


def _set_up(nonce: str, at: datetime) -> list[Draft]:
    bodies: list[Body] = [
        _settings(nonce),
        Person(initials="AR", name="A. R.", role="manager"),
        Thermometer(label="T1", accuracy="2F"),
        Thermometer(label="T2", accuracy="2F"),
        *(HoldingUnit(name=name, holds=holds, every_min=60 if holds == "hot" else 240, usual=name == "walk-in")
          for name, holds in _UNITS.items()),
        PlannedFood(name="rice", food_kind="plant food", unit="reach-in"),
    ]  # fmt: skip
    return [Draft(body=body, at=at, person="AR") for body in bodies]


@dataclass(frozen=True)
class Typed:
    """What somebody types `after` so many minutes, at a till, about an earlier moment perhaps.

    `about` says which of what was typed before is corrected or meant, counted from its end.
    """

    what: str
    after: int
    till: int
    late: int
    batch: str
    unit: str
    step: str
    temp: str
    thermometer: str
    about: int


_typed = st.builds(
    Typed,
    what=st.sampled_from(
        ["batch", "read", "read", "read", "read", "check", "check", "ice", "used", "discard", "action", "unit action",
         "moved", "out", "emptied", "correct", "withdraw", "portion", "made", "renamed", "signed"]
    ),
    after=st.sampled_from([1, 5, 20, 30, 45, 60, 61, 130, 250]),
    till=st.sampled_from([0, 1]),
    late=st.sampled_from([0, 0, 0, 0, 5, 40]),
    batch=st.sampled_from(_CODES),
    unit=st.sampled_from(sorted(_UNITS)),
    step=st.sampled_from(_STEPS),
    temp=st.sampled_from(_TEMPS),
    thermometer=st.sampled_from(["", "T1", "T2"]),
    about=st.integers(0, 30),
)  # fmt: skip


@dataclass(frozen=True)
class Entered:
    """An entry of the one record, its number there, when it was entered, and at which till."""

    draft: Draft
    at: datetime
    till: int
    number: int


def _entered(typed: Sequence[Typed]) -> Iterator[Entered]:
    """Turn what is typed into entries of one kitchen: a code is opened once, and read afterwards."""
    now, made = _BEGINS + timedelta(minutes=10), len(_set_up("a", _BEGINS))
    opened: dict[str, int] = {}
    done: list[Entered] = []
    corrected: set[int] = set()
    for one in typed:
        now += timedelta(minutes=one.after)
        for draft, till in _drafts(one, now, opened, done, corrected):
            made += 1
            if isinstance(draft.body, BatchOpened) and draft.batch:
                opened[draft.batch] = made
            entry = Entered(draft, now, till, made)
            done.append(entry)
            yield entry
            now += timedelta(seconds=1)


def _drafts(
    one: Typed, now: datetime, opened: dict[str, int], done: list[Entered], corrected: set[int]
) -> list[tuple[Draft, int]]:
    """Give what is entered, each at its till; nothing where there is nothing to say it of."""
    at = max(now - timedelta(minutes=one.late), _BEGINS + timedelta(minutes=10))
    code = one.batch if one.batch in opened else next(iter(opened), "")
    if one.what == "batch":
        plain = Draft(body=BatchOpened(food=one.batch), at=at, person="AR", batch=one.batch)
        return [] if one.batch in opened else [(plain, one.till)]
    if one.what == "signed":
        day = now.astimezone(ZoneInfo("America/Denver")).date().isoformat()
        signed = Draft(body=DaySigned(day=day, undecided=0), at=now, person="AR")
        return [(signed, 0), (replace(signed, at=now + timedelta(seconds=1)), 1)]
    if one.what in ("correct", "withdraw"):
        return _corrections(one, done, corrected)
    of_units = _of_units(one)
    if one.what in of_units:
        unit = None if one.what == "ice" else one.unit
        return [(Draft(body=of_units[one.what], at=at, person="AR", unit=unit), one.till)]
    if not code or one.what in ("portion", "made"):
        return _made_of(code, f"{code}-{len(done)}", one, now) if code else []
    unit = one.unit if one.what == "moved" else None
    return [
        (
            Draft(body=_of_batches(one)[one.what], at=at, person="AR", batch=code, unit=unit),
            one.till,
        )
    ]


def _of_units(one: Typed) -> dict[str, Body]:
    step = "hot_hold" if _UNITS[one.unit] == "hot" else "cold_hold"
    shows = one.temp if one.temp == "36" else "32"
    return {
        "check": Measured(step=step, temp=one.temp, degree="F", thermometer=one.thermometer),
        "ice": ThermometerCheck(
            thermometer=one.thermometer or "T1", temp=shows, degree="F", passed=shows == "32", expected="32"
        ),
        "emptied": UnitEmptied(),
        "unit action": CorrectiveAction(text="door shut"),
    }  # fmt: skip


def _of_batches(one: Typed) -> dict[str, Body]:
    return {
        "read": Measured(step=one.step, temp=one.temp, degree="F", held_s="15", thermometer=one.thermometer),
        "used": UsedUp(), "discard": Discarded(reason="spoilt"), "out": TakenOut(), "moved": Moved(),
        "action": CorrectiveAction(text="stirred"), "renamed": Renamed(name=f"pan-{one.about}-{one.after}"),
    }  # fmt: skip


def _made_of(code: str, fresh: str, one: Typed, now: datetime) -> list[tuple[Draft, int]]:
    if one.what == "made":
        body = BatchOpened(food=one.batch, made_from=(code,))
        return [(Draft(body=body, at=now, person="AR", batch=fresh), one.till)]
    body = BatchOpened(food=one.batch, portion_of=(code,))
    return [
        (Draft(body=body, at=now, person="AR", batch=fresh), one.till),
        (Draft(body=UsedUp(into=(fresh,)), at=now, person="AR", batch=code), one.till),
    ]


def _corrections(one: Typed, done: list[Entered], corrected: set[int]) -> list[tuple[Draft, int]]:
    likely = [e for e in done if isinstance(e.draft.body, Measured) and e.number not in corrected]
    if not likely:
        return []
    old = likely[-1 - one.about % len(likely)]
    corrected.add(old.number)
    fixed: Body = Withdrawn(reason="not ours")
    if one.what == "correct" and isinstance(old.draft.body, Measured):
        fixed = replace(old.draft.body, temp=one.temp, reason="misread")
    return [(replace(old.draft, body=fixed, corrects=old.number), old.till)]


def _append(record: Record, drafts: Sequence[Draft], at: datetime) -> list[int]:
    return [one.seq for one in record.append(drafts, lambda: at)]


@dataclass
class Tills:
    """Two tills' records and the view of both, made when they are set up."""

    folder: Path
    records: tuple[Record, Record]
    numbers: dict[int, int]

    def append(self, one: Entered) -> None:
        corrects = one.draft.corrects and self.numbers[one.draft.corrects]
        (self.numbers[one.number],) = _append(
            self.records[one.till], [replace(one.draft, corrects=corrects)], one.at
        )

    def view(self, name: str, at: datetime, own: str = "") -> Record:
        path = self.folder / name
        if not path.exists():
            make(path, {till: self.folder / till for till in _TILLS}, at, own)
        return caught_up(open_record(path, create=False), at)


def _tills(folder: Path, opened: ExitStack) -> Tills:
    records = []
    for till, nonce, minute in zip(_TILLS, "ab", (0, 3), strict=True):
        record = opened.enter_context(closing(open_record(folder / till, create=True)))
        at = _BEGINS + timedelta(minutes=minute)
        _append(record, _set_up(nonce, at), at)
        records.append(record)
    return Tills(folder, (records[0], records[1]), {})


def told(record: Record, now: datetime) -> dict[str, Any]:
    """Give all that is said of a record: what is found, what is due, and the rows of `due`."""
    register = read_register(record)
    days = [one.at.astimezone(register.zone).date() for one in record.entries()]
    found = review(record, register, min(days), max(days), now)
    due = matters(record, register, now)
    rows = board(due, read_batches(record, open_codes(record)), register, now)
    return {
        "batches": sorted(every_code(record)),
        "found": sorted(
            (one.subject.name, str(one.finding.step), one.finding.limit.name, str(one.finding.verdict),
             str(one.finding.reason), str(one.finding.shortest), str(one.finding.longest), str(one.finding.due),
             str(one.finding.since), one.is_undecided, len(one.answers))
            for one in found.found
        ),
        "due": [(one.name, one.title, one.due, str(one.verdict), one.finding and one.finding.limit.name) for one in due],
        "rows": [(row.group, row.due, [one.name for one in row.matters], row.inside, row.thermometer) for row in rows],
        "troubles": record.troubles,
    }  # fmt: skip


@settings(max_examples=30)
@given(st.lists(_typed, min_size=5, max_size=40), st.integers(0, 400))
def test_two_tills_and_their_view_say_what_one_record_says(typed: list[Typed], wait: int) -> None:
    with TemporaryDirectory() as name, ExitStack() as opened:
        folder = Path(name)
        one = opened.enter_context(closing(open_record(folder / "one", create=True)))
        _append(one, _set_up("a", _BEGINS), _BEGINS)
        tills = _tills(folder, opened)
        now = _BEGINS + timedelta(minutes=10)
        for entry in _entered(typed):
            now = entry.at
            assert _append(one, [entry.draft], now) == [entry.number]
            tills.append(entry)
        now += timedelta(minutes=wait)
        view = opened.enter_context(closing(tills.view("both", now)))
        assert told(view, now) == told(one.as_it_stands(), now)
        assert compare(view) == view.problems() == view.differences() == []


@settings(max_examples=10)
@given(st.lists(_typed, min_size=5, max_size=15), st.integers(0, 400))
def test_what_is_typed_into_the_tills_own_views_is_what_one_record_says(
    typed: list[Typed], wait: int
) -> None:
    """Each till types into a view of its own, by the names and numbers that stand there."""
    with TemporaryDirectory() as name, ExitStack() as opened:
        folder = Path(name)
        one = opened.enter_context(closing(open_record(folder / "one", create=True)))
        _append(one, _set_up("a", _BEGINS), _BEGINS)
        tills = _tills(folder, opened)
        now = _BEGINS + timedelta(minutes=10)
        views = [
            opened.enter_context(closing(tills.view(f"of-{till}", now, till))) for till in _TILLS
        ]
        others = len(_set_up("b", _BEGINS))  # a view holds what both were set up with
        for entry in _entered(typed):
            now, draft = entry.at, entry.draft
            assert _append(one, [draft], now) == [entry.number]
            if isinstance(draft.body, DaySigned):  # with a PIN, at the till itself
                _append(tills.records[entry.till], [draft], now)
                continue
            here = replace(draft, corrects=draft.corrects and draft.corrects + others)
            made = own_till.append(
                views[entry.till], [here], partial(_same, now), committed=_no_number
            )
            assert [made_one.seq for made_one in made] == [entry.number + others]
        now += timedelta(minutes=wait)
        for view in (*views, opened.enter_context(closing(tills.view("both", now)))):
            seen = caught_up(view, now)
            assert told(seen, now) == told(one.as_it_stands(), now)
            assert compare(seen) == []


def _same(moment: datetime) -> datetime:
    return moment


def _no_number(numbers: list[int]) -> None:
    raise AssertionError(numbers)


@settings(max_examples=20)
@given(st.data(), st.lists(_typed, min_size=5, max_size=30))
def test_a_view_is_the_same_however_often_it_was_brought_up_to_date(
    data: st.DataObject, typed: list[Typed]
) -> None:
    """Entries reach the tills in any order between them, as where one is handed over late.

    The tills' clocks may be wrong, and put back.
    """
    with TemporaryDirectory() as name, ExitStack() as opened:
        tills = _tills(Path(name), opened)
        at = _BEGINS + timedelta(minutes=10)
        opened.enter_context(closing(tills.view("often", at)))
        left = [[one for one in _entered(typed) if one.till == till] for till in (0, 1)]
        while any(left):
            queue = left[data.draw(st.sampled_from([n for n in (0, 1) if left[n]]))]
            one = queue.pop(0)
            wrong = data.draw(st.sampled_from([0, 0, 0, 1, -1, -90, 45]))
            at = max(at, one.at)
            tills.append(replace(one, at=one.at + timedelta(minutes=wrong)))
            if data.draw(st.booleans()):
                opened.enter_context(closing(tills.view("often", at)))
        often, once = tills.view("often", at), tills.view("once", at)
        with closing(often), closing(once):
            assert list(often.rows()) == list(once.rows())
            assert _beside(often) == _beside(once)
            assert compare(often) == often.problems() == often.differences() == []


def _beside(record: Record) -> list[list[tuple[Any, ...]]]:
    tables = ("shown", "said", "derived_thread", "derived_link", "derived_batch", "derived_head")
    with record.transaction() as connection:
        return [
            sorted(map(tuple, connection.exec_driver_sql(f"SELECT * FROM {one}"))) for one in tables
        ]
