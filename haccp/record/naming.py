"""What people type for a batch or unit, and which batches there are."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from haccp.errors import Refused
from haccp.record.entries import BatchOpened, Renamed
from haccp.record.store import Record
from haccp.record.subjects import ENDS

# What begins a batch, and what says that nothing of it is left.
_LIFE = (BatchOpened.kind, *(end.kind for end in ENDS))


def every_code(record: Record) -> list[str]:
    """Give the codes of all batches ever opened, oldest first."""
    corrected = record.corrected()
    opened = record.entries(kinds=(BatchOpened.kind,))
    return [entry.batch or "" for entry in opened if entry.seq not in corrected]


def codes_between(record: Record, begins: datetime, ends: datetime) -> list[str]:
    """Give the codes of the batches of which something was left in [begins, ends), oldest first."""
    corrected = record.corrected()
    entries = record.entries(kinds=_LIFE)
    entries = [entry for entry in entries if entry.seq not in corrected]
    gone = {
        entry.batch
        for entry in entries
        if not isinstance(entry.body, BatchOpened) and max(entry.at, entry.entered_at) < begins
    }
    opened = [e for e in entries if isinstance(e.body, BatchOpened) and e.at < ends]
    return [entry.batch for entry in opened if entry.batch and entry.batch not in gone]


def open_codes(record: Record) -> list[str]:
    """Give the codes of the batches of which something is left, newest first."""
    return list(dict.fromkeys(open_names(record).values()))


def open_names(record: Record) -> dict[str, str]:
    """Give what each batch of which something is left is called, and its code; newest first.

    That is its code, and what its container was called last.
    """
    corrected = record.corrected()
    entries = record.entries(kinds=(*_LIFE, Renamed.kind))
    entries = [entry for entry in entries if entry.seq not in corrected]
    gone = {entry.batch for entry in entries if isinstance(entry.body, ENDS)}
    opened = [entry.batch for entry in entries if isinstance(entry.body, BatchOpened)]
    called = {e.batch: e.body.name for e in entries if isinstance(e.body, Renamed)}
    names: dict[str, str] = {}
    for code in reversed(opened):
        if code and code not in gone:
            names[code] = code
            names.setdefault(called.get(code, code), code)
    return names


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
    every = every_code(record)
    whole = next((code for code in every if code.casefold() == name.casefold()), None)
    if whole:  # not the portion of it that is still there
        return whole
    try:
        return find(name, open_names(record) | theirs, what)
    except Refused:
        return find(name, [*every, *units], what)


def _few(names: Sequence[str], between: str) -> str:
    shown = between.join(names[:8])
    return shown if len(names) <= 8 else f"{shown}{between}another of {len(names)}"
