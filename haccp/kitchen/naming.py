"""What people type for a batch or unit, and which batches there are."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from haccp.errors import Refused
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import Register, read_register
from haccp.record.entries import UsedUp
from haccp.record.lookup import Known
from haccp.record.store import Record
from haccp.time import clock, short_day


def every_code(record: Record) -> list[str]:
    """Give the codes of all batches ever opened, oldest first; those withdrawn too."""
    return [known.code for known in record.every_batch()]


def is_taken(name: str, record: Record, register: Register) -> str | None:
    """Say what is called so already, whatever its capitals: a batch, its container, or a unit.

    A container's name is free again once nothing is left of what was in it.
    """
    folded = name.casefold()
    batches = [
        known.called if known.code.casefold() != folded else known.code
        for known in record.batches_named(name)
        if known.code.casefold() == folded or known.ended is None
    ]
    units = [unit for unit in register.units if unit.casefold() == folded]
    return next(iter((*batches, *units)), None)


@dataclass(frozen=True, slots=True, eq=False)
class Names(Mapping[str, str]):
    """What each name stands for that is there now.

    A name that was right an hour ago is answered with what became of its batch.
    """

    there: Mapping[str, str]
    record: Record

    def __getitem__(self, name: str) -> str:
        return self.there[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.there)

    def __len__(self) -> int:
        return len(self.there)

    def __or__(self, more: Mapping[str, str]) -> "Names":
        return Names({**self.there, **more}, self.record)

    def became(self, wanted: str, begun: Sequence[str]) -> str | None:
        """Say what became of the batch meant: by its whole name, or its beginning if no other's.

        `begun` are the names of what is there that begin so.
        """
        gone = [one for one in self.record.batches_called(wanted) if one.ended]
        names = [(name.casefold(), one.code) for one in gone for name in (one.code, one.called)]
        whole = [code for name, code in names if name == wanted]
        likely = [] if begun else [code for name, code in names if name.startswith(wanted)]
        code = next(iter([*whole, *likely]), None)
        batch = next(iter(read_batches(self.record, [code])), None) if code else None
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
    return [known.code for known in _open(record)]


def open_names(record: Record) -> Names:
    """Give what each batch of which something is left is called, and its code; newest first.

    That is its code, and what its container was called last.
    """
    names: dict[str, str] = {}
    for known in _open(record):
        names[known.code] = known.code
        names.setdefault(known.called or known.code, known.code)
    return Names(names, record)


def _ever_opened(record: Record, listed: Sequence[Known]) -> list[Known]:
    """Leave out those whose opening was withdrawn: they never were."""
    ended = [one.code for one in listed if one.ended]
    were = {batch.name for batch in read_batches(record, ended)}
    return [one for one in listed if one.code in were or not one.ended]


def _open(record: Record) -> list[Known]:
    """List what is open; in a view of an earlier moment, what was open then."""
    listed = record.open_batches()
    ended_later = [one.code for one in listed if one.ended]
    ended_then = {one.name for one in read_batches(record, ended_later) if one.end}
    return [one for one in listed if one.code not in ended_then]


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
    folded = name.casefold()
    named = _ever_opened(record, record.batches_named(name))
    whole = [one.code for one in named if one.code.casefold() == folded]
    if whole:  # not the portion of it that is still there
        return whole[0]
    names = open_names(record)
    try:
        return find(name, names | theirs, what)
    except Refused:
        begun = _ever_opened(record, record.batches_called(name)) if name else []
        gone = {alias: one.code for one in begun for alias in (one.called, one.code) if alias}
        return find(name, {**gone, **names.there, **theirs}, what)


def _few(names: Sequence[str], between: str) -> str:
    """List names as a person looks for them: by the alphabet, and pan-2 before pan-10."""
    shown = between.join(sorted(names[:8], key=_by_number))
    return shown if len(names) <= 8 else f"{shown}{between}another of {len(names)}"


def _by_number(name: str) -> list[tuple[int, str]]:
    parts = re.findall(r"[0-9]+|[^0-9]+", name.casefold())
    return [(int(part), "") if part.isdecimal() else (0, part) for part in parts]
