"""What a shell completes: the names on record that a command or an option takes.

A Tab waits for this: no command is imported for a name, and nothing of the database's library.
"""

from collections.abc import Sequence
from pathlib import Path

from click.shell_completion import CompletionItem

from haccp.cli.session import default_path
from haccp.record.known_names import Named, known_names
from haccp.record.places import place_named
from haccp.signs import folded

_READ = (Named.BATCH, Named.UNIT)
_BATCHES = (Named.BATCH,)
_FOODS = (Named.FOOD,)
_UNITS = (Named.UNIT,)
_INSTRUMENTS = (Named.THERMOMETER,)
_PEOPLE = (Named.PERSON,)

# What a command's words name; a command that is not here completes by itself, or not at all.
WORDS = {
    "hold": _READ,
    "cook": _BATCHES,
    "cool": _BATCHES,
    "reheat": _BATCHES,
    "prepare": _BATCHES,
    "time-control": _BATCHES,
    "show": _READ,
    "receive": _FOODS,
    "batch": _FOODS,
    "opened": _BATCHES,
    "cooling-method": _BATCHES,
    "move": _READ,
    "out": _BATCHES,
    "split": _BATCHES,
    "merge": _BATCHES,
    "rename": _BATCHES,
    "label": _BATCHES,
    "freeze": _BATCHES,
    "thaw": _BATCHES,
    "used-up": _BATCHES,
    "empty-unit": _UNITS,
    "amend": _READ,
    "leave-out": _READ,
    "corrective": _READ,
    "set-apart": _BATCHES,
    "rescue": _BATCHES,
    "discard": _BATCHES,
    "reject": _BATCHES,
    "trace": _BATCHES,
    "ice": _INSTRUMENTS,
    "boil": _INSTRUMENTS,
    "release-food": _BATCHES,
    "divert": _BATCHES,
    "trust-thermometer": _INSTRUMENTS,
    "tcs": _BATCHES,
    "pin": _PEOPLE,
    "curve": _BATCHES,
    "report": (),
    "plan-cooling": _FOODS,
    "initials": _PEOPLE,
}
_AFTER = {
    "--by": _PEOPLE,
    "--in": _UNITS,
    "--unit": _UNITS,
    "--batch": _BATCHES,
    "--food": _FOODS,
    "--thermometer": _INSTRUMENTS,
}


def completed(
    command: str, before: Sequence[str], incomplete: str, db: str | None
) -> list[CompletionItem]:
    """Give the names that begin with what was typed, as `command` or the option before takes."""
    last = before[-1] if before else ""
    kinds = _AFTER.get(last, () if last.startswith("--") else WORDS[command])
    place = place_named(db) if db is not None else default_path()
    # a Tab does not wait for a server
    names = known_names(place, kinds) if isinstance(place, Path) else []
    typed = folded(incomplete)
    found = [name for name in dict.fromkeys(names) if folded(name).startswith(typed)]
    return [CompletionItem(name) for name in found]
