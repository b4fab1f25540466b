"""What people type for a batch or unit, and which batches there are."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from haccp.errors import Refused
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import read_register
from haccp.kitchen.subjects import ENDS
from haccp.record.entries import BatchOpened, Renamed, UsedUp
from haccp.record.store import Record
from haccp.time import clock, short_day

# What begins a batch, and what says that nothing of it is left.
_LIFE = (BatchOpened.kind, *(end.kind for end in ENDS))


def every_code(record: Record) -> list[str]:
    """Give the codes of all batches ever opened, oldest first."""
    corrected = record.corrected()
    opened = record.entries(kinds=(BatchOpened.kind,))
    return [entry.batch for entry in opened if entry.batch and entry.seq not in corrected]


def codes_between(record: Record, begins: datetime, ends: datetime) -> list[str]:
    """Give the codes of the batches of which something was left in [begins, ends), oldest first."""
    corrected = record.corrected()
    entries = record.entries(kinds=_LIFE)
    entries = [entry for entry in entries if entry.seq not in corrected]
    gone = {
        entry.batch
        for entry in entries
        if isinstance(entry.body, ENDS) and max(entry.at, entry.entered_at) < begins
    }
    opened = [e for e in entries if isinstance(e.body, BatchOpened) and e.at < ends]
    return [entry.batch for entry in opened if entry.batch and entry.batch not in gone]


@dataclass(frozen=True, slots=True, eq=False)
class Names(Mapping[str, str]):
    """What each name stands for that is there now; `gone` has those of batches that are not.

    So a name that was right an hour ago is answered with what became of its batch.
    """

    there: Mapping[str, str]
    gone: Mapping[str, str]
    record: Record

    def __getitem__(self, name: str) -> str:
        return self.there[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.there)

    def __len__(self) -> int:
        return len(self.there)

    def __or__(self, more: Mapping[str, str]) -> "Names":
        return Names({**self.there, **more}, self.gone, self.record)

    def became(self, wanted: str, begun: Sequence[str]) -> str | None:
        """Say what became of the batch meant: by its whole name, or its beginning if no other's.

        `begun` are the names of what is there that begin so.
        """
        names = [(name.casefold(), code) for name, code in self.gone.items()]  # newest first
        whole = [code for name, code in names if name == wanted]
        likely = [] if begun else [code for name, code in names if name.startswith(wanted)]
        code = next(iter([*whole, *likely]), None)
        (batch,) = read_batches(self.record, [code]) if code else (None,)
        if batch is None or batch.end is None:
            return None
        zone = read_register(self.record).zone
        day = short_day(batch.end.at.astimezone(zone).date())
        when = f"on {day} at {clock(batch.end.at, zone)}"
        into = batch.end.body.into if isinstance(batch.end.body, UsedUp) else ()
        if into:
            return f"{code} went into {_few(into, ' and ')} {when}, type {_few(into, ' or ')}."
        hint = f"type more of {_few(begun, ' or ')}." if begun else f"see haccp show {code}"
        return f"{code} was {batch.fate} {when}, {hint}"


def open_codes(record: Record) -> list[str]:
    """Give the codes of the batches of which something is left, newest first."""
    return list(dict.fromkeys(open_names(record).values()))


def open_names(record: Record) -> Names:
    """Give what each batch of which something is left is called, and its code; newest first.

    That is its code, and what its container was called last.
    """
    corrected = record.corrected()
    entries = record.entries(kinds=(*_LIFE, Renamed.kind))
    entries = [entry for entry in entries if entry.seq not in corrected]
    ended = {entry.batch for entry in entries if isinstance(entry.body, ENDS)}
    opened = [entry.batch for entry in entries if isinstance(entry.body, BatchOpened)]
    called = {e.batch: e.body.name for e in entries if isinstance(e.body, Renamed)}
    names: dict[str, str] = {}
    gone: dict[str, str] = {}
    for code in filter(None, reversed(opened)):
        among = gone if code in ended else names
        among[code] = code
        among.setdefault(called.get(code, code), code)
    return Names(names, gone, record)


def find(name: str, among: Sequence[str] | Mapping[str, str], what: str) -> str:
    """Find the one meant: a name typed whole, or the beginning of the names of just one.

    Where `among` maps names, gives what the name stands for. Raises Refused, naming the choices,
    where there is none or more than one.
    """
    wanted = name.casefold()
    if not wanted:
        raise Refused(f"The name of the {what} is empty: type its beginning.")
    names = among if isinstance(among, Mapping) else {one: one for one in among}
    exact = [one for one in names if one.casefold() == wanted]
    begun = exact or [one for one in names if one.casefold().startswith(wanted)]
    told = names.became(wanted, begun) if isinstance(names, Names) and not exact else None
    if told:
        raise Refused(f"There is no {what} {name!r} any more: {told}")
    meant = list(dict.fromkeys(names[one] for one in begun))
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise Refused(f"{name!r} could be {_few(begun, ' or ')}: type more of it.")
    known = f": type one of {_few(list(names), ', ')}" if names else ""
    raise Refused(f"There is no {what} {name!r}{known}.")


def find_known(name: str, record: Record, units: Sequence[str]) -> str:
    """Find a batch or unit meant: by its whole code, else an open batch before one that is gone."""
    what = "batch or unit" if units else "batch"
    theirs = {unit: unit for unit in units}
    every = {code: code for code in reversed(every_code(record))}
    whole = next((code for code in every if code.casefold() == name.casefold()), None)
    if whole:  # not the portion of it that is still there
        return whole
    names = open_names(record)
    try:
        return find(name, names | theirs, what)
    except Refused:
        return find(name, {**names.gone, **every, **names.there, **theirs}, what)


def _few(names: Sequence[str], between: str) -> str:
    """List names as a person looks for them: by the alphabet, and pan-2 before pan-10."""
    shown = between.join(sorted(names[:8], key=_by_number))
    return shown if len(names) <= 8 else f"{shown}{between}another of {len(names)}"


def _by_number(name: str) -> list[tuple[int, str]]:
    parts = re.findall(r"[0-9]+|[^0-9]+", name.casefold())
    return [(int(part), "") if part.isdecimal() else (0, part) for part in parts]
