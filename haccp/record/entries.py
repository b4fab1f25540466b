"""What the record is made of: entries, each with its body, its place and its digest."""

import hashlib
import json
import json.encoder
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from operator import itemgetter
from typing import TYPE_CHECKING, Any, Generic, TypeGuard, TypeVar

from haccp.errors import Refused
from haccp.language import message, phrase
from haccp.record.bodies import KINDS, Body, LeftOut, Logged, Measured, Unreadable, Written
from haccp.record.domains import legible, misfit, misplaced, numbered
from haccp.time import from_stored, moment_or_none, stored

K = TypeVar("K", bound=Body)
if TYPE_CHECKING:  # a default comes with typing from Python 3.13
    from typing_extensions import TypeVar as TypeVarWithDefault

    B_co = TypeVarWithDefault("B_co", bound=Body, default=Body, covariant=True)
else:
    B_co = TypeVar("B_co", covariant=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft(Generic[B_co]):
    """An entry as a person makes it, before the record gives it its place."""

    body: B_co
    at: datetime
    person: str
    batch: str | None = None
    unit: str | None = None
    corrects: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Generic[B_co]):
    """An entry in its place. `at` is the moment it is about, `entered_at` when it was made (UTC).

    An `Entry[Measured]` is one that holds a reading; an `Entry` may hold anything.
    `digest` is the SHA-256 over the entry and the digest before it: see `digest_of`.
    `corrected_by` is the number of the entry that replaced it or took it back, by now. A reading
    out of a `run` of logged ones has its `place` in it, from 1 on: the run is the entry that the
    record holds, and its readings may be left out without the others.
    """

    seq: int
    body: B_co
    at: datetime
    entered_at: datetime
    person: str
    batch: str | None
    unit: str | None
    corrects: int | None
    previous: str
    digest: str
    corrected_by: int | None = None
    place: int = 0
    run: Logged | None = None

    @property
    def ref(self) -> str:
        """What a reading is known by among the findings: ``352``, in a run of them ``352.17``."""
        return f"{self.seq}.{self.place}" if self.place else str(self.seq)


# What a run of logged readings spans at most.
LONGEST_RUN = timedelta(hours=1)


def number_in(ref: str) -> int:
    """Give the number of the entry that holds the reading of a reference."""
    return int(ref.partition(".")[0])


def each_reading(entry: Entry) -> Iterator[Entry]:
    """Give an entry as it is; of a run of logged readings each, as if it were measured alone."""
    if holds(entry, Logged):
        yield from _each_of_run(entry)
    else:
        yield entry


# A run stands in several threads, which are read again once something was entered: those of a week
# of three units are made once.
@lru_cache(maxsize=512)
def _each_of_run(entry: Entry[Logged]) -> tuple[Entry[Measured], ...]:
    run = entry.body
    parted = (text.partition(" ") for text in run.readings)
    return tuple(
        Entry(
            seq=entry.seq,
            body=_as_measured(run.step, temp, run.degree, run.thermometer),
            at=entry.at + timedelta(seconds=int(seconds)),
            entered_at=entry.entered_at,
            person=entry.person,
            batch=entry.batch,
            unit=entry.unit,
            corrects=entry.corrects,
            previous=entry.previous,
            digest=entry.digest,
            corrected_by=entry.corrected_by,
            place=place,
            run=run,
        )
        for place, (seconds, _, temp) in enumerate(parted, start=1)
    )


@lru_cache(maxsize=4096)  # a logger reads few different temperatures
def _as_measured(step: str, temp: str, degree: str, thermometer: str) -> Measured:
    return Measured(step=step, temp=temp, degree=degree, thermometer=thermometer)


class Corrections:
    """Which entries replace others, take them back, or leave readings of a run out."""

    def __init__(self, entries: Iterable[Entry] = ()) -> None:
        self._by: dict[int, int] = {}
        self._left_out: dict[int, list[Entry[LeftOut]]] = {}
        for entry in entries:
            self.add(entry)

    def add(self, entry: Entry) -> None:
        if entry.corrects is not None:
            self._by[entry.corrects] = entry.seq
        if holds(entry, LeftOut):
            self._left_out.setdefault(entry.body.of, []).append(entry)

    def of(self, entry: Entry) -> int | None:
        """Give the number of the one by which an entry or a reading is no evidence any more."""
        replaced = self._by.get(entry.seq)
        if replaced is None and entry.seq in self._left_out:
            mine = (one for one in self._left_out[entry.seq] if leaves_out(one, entry))
            return next((one.seq for one in mine if one.seq not in self._by), None)
        return replaced


def leaves_out(entry: Entry[LeftOut], reading: Entry) -> bool:
    """Whether an entry leaves a reading out: one of the run that it names, and of its own place."""
    named = reading.place and reading.seq == entry.body.of and reading.seq < entry.seq
    same = (reading.unit, reading.batch) == (entry.unit, entry.batch)
    return bool(named) and same and from_stored(entry.body.first) <= reading.at <= entry.at


def by_entry(entries: Iterable[Entry]) -> Iterator[Entry]:
    """Pick of each entry the first reading, which for a run stands for all of it."""
    return (entry for entry in entries if entry.place <= 1)


def holds(entry: Entry, kind: type[K]) -> TypeGuard[Entry[K]]:
    return isinstance(entry.body, kind)


def having(entries: Iterable[Entry], kind: type[K]) -> Iterator[Entry[K]]:
    """Pick the entries with a body of one kind."""
    return (entry for entry in entries if holds(entry, kind))


FIRST = "0" * 64


@lru_cache(maxsize=4096)  # readings are alike: most bodies of a long record stand in it many times
def body_from(kind: str, text: str) -> Written:
    """Read a body back; raises Refused where it is not one that this version could have written."""
    if kind not in KINDS:
        unknown = message("no kind {kind} is known to this version")
        raise Refused(phrase(unknown, kind=repr(kind[:40])))
    try:
        loaded: dict[str, Any] = json.loads(text)
        content = {k: tuple(v) if isinstance(v, list) else v for k, v in loaded.items()}
    except (ValueError, AttributeError, RecursionError):
        raise Refused(phrase("its body is no JSON object")) from None
    wrong = misfit(kind, content)
    if wrong:
        raise Refused(wrong)
    made: Callable[..., Written] = KINDS[kind]
    try:
        return made(**content)
    except TypeError:
        raise Refused(phrase("a field of it is missing")) from None


_ENCODER = json.JSONEncoder(sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def canonical(value: Any) -> str:
    """Write JSON in its one canonical form: keys sorted, no spaces, text as UTF-8."""
    return _ENCODER.encode(value)


# The columns of an entry that its digest covers, in their order in its line.
CHAINED = (
    "previous", "seq", "kind", "entered_at", "at", "person", "batch", "unit", "corrects", "body",
)  # fmt: skip


def line_of(row: Mapping[str, Any]) -> str:
    """Write an entry's columns as one line: the canonical JSON list of `CHAINED`."""
    columns = _CHAINED(row)
    previous, seq, kind, entered_at, at, person, batch, unit, corrects, body = columns
    text = json.encoder.encode_basestring  # as the encoder writes it, at half of the cost
    if type(seq) is not int or not (corrects is None or type(corrects) is int):
        return canonical(list(columns))
    try:
        return (
            f"[{text(previous)},{seq},{text(kind)},{text(entered_at)},{text(at)},{text(person)},"
            f"{'null' if batch is None else text(batch)},"
            f"{'null' if unit is None else text(unit)},"
            f"{'null' if corrects is None else corrects},{text(body)}]"
        )
    except TypeError:  # no text: a damaged file may hold anything
        return canonical(list(columns))


_CHAINED = itemgetter(*CHAINED)


def digest_of(row: Mapping[str, Any]) -> str:
    """Chain an entry to the one before it: SHA-256 of its line as UTF-8, 64 hex digits."""
    return hashlib.sha256(line_of(row).encode()).hexdigest()


def plain(body: Body) -> dict[str, Any]:
    """Give the fields of a body; they are plain already, so that nothing is copied."""
    return {each.name: getattr(body, each.name) for each in fields(body)}


def as_row(draft: Draft, *, seq: int, entered_at: datetime, previous: str) -> dict[str, Any]:
    """Give an entry's columns, chained; raises Refused for what could not be read again."""
    row: dict[str, Any] = {
        "seq": seq,
        "kind": draft.body.kind,
        "at": stored(draft.at),
        "entered_at": stored(entered_at),
        "person": draft.person,
        "batch": draft.batch,
        "unit": draft.unit,
        "corrects": draft.corrects,
        "body": canonical(plain(draft.body)),
        "previous": previous,
    }
    try:
        wrong = misplaced(row) or _unheld(draft)
        if wrong:
            raise Refused(wrong)
        body_from(row["kind"], row["body"])
    except Refused as error:
        words = message("Such a {kind} cannot be recorded: {wrong}.")
        raise Refused(phrase(words, kind=draft.body.kind, wrong=error)) from None
    return {**row, "digest": digest_of(row)}


def _unheld(draft: Draft) -> str | None:
    """Say where a text holds a character that not every database can; None where none does."""
    texts = [draft.person, draft.batch, draft.unit]
    for value in plain(draft.body).values():
        texts += value if isinstance(value, tuple) else [value]
    if any(isinstance(one, str) and "\0" in one for one in texts):
        return phrase("a text holds the character NUL, which no text may")
    return None


# An entry this long after its moment is a late one: common practice, no source.
LATE = timedelta(minutes=15)


def told_at(entry: Entry) -> datetime:
    """Give the moment from which an entry counts that may take a deviation back."""
    return entry.entered_at if entry.entered_at - entry.at > LATE else entry.at


def entry_from(row: Mapping[str, Any]) -> Entry:
    """Read an entry back, what cannot be read as `Unreadable`; raises Refused for no number."""
    numbered(row["seq"])
    entered_at, at = moment_or_none(row["entered_at"]), moment_or_none(row["at"])
    known = at or entered_at or datetime.fromtimestamp(0, UTC)
    body: Body
    columns = row
    try:
        why = misplaced(row) if at and entered_at else phrase("its moment is none")
        if why:
            raise Refused(why)
        body = body_from(row["kind"], row["body"])
    except Refused as error:
        columns = legible(row)
        body = Unreadable(kind=columns["kind"], text=columns["body"], why=str(error))
    return Entry(
        seq=row["seq"],
        body=body,
        at=at or known,
        entered_at=entered_at or known,
        person=columns["person"],
        batch=columns["batch"],
        unit=columns["unit"],
        corrects=columns["corrects"],
        previous=row["previous"],
        digest=row["digest"],
    )
