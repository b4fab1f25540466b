"""Where batches come from and where they go: the recall view."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from haccp.kitchen.reading import read_batches
from haccp.kitchen.subjects import Subject
from haccp.record.entries import BatchOpened
from haccp.record.store import Record


def lineage(record: Record, code: str) -> dict[str, Subject]:
    """Read a batch and, through any depth, those that it was made from or taken from."""
    known: dict[str, Subject] = {}
    wanted = [code]
    while wanted:
        found = read_batches(record, wanted)
        known.update({batch.name: batch for batch in found})
        wanted = [part for batch in found for part in batch.comes_from if part not in known]
    return known


@dataclass(frozen=True, slots=True)
class Relation:
    """A batch at some distance from the one asked about: how far, and how it is related."""

    depth: int
    batch: Subject
    how: str


def came_from(record: Record, code: str) -> list[Relation]:
    """Follow a batch back to everything that is in it, through any depth; each is told of once."""
    known = lineage(record, code)
    told: set[str] = set()

    def back(name: str, depth: int) -> Iterator[Relation]:
        for part in parts_of(known[name], known):
            if part in told:
                continue
            told.add(part)
            portion, made = "taken from", "made from"
            yield Relation(depth, known[part], _how(part, known[name].batch, portion, made))
            yield from back(part, depth + 1)

    return list(back(code, 1))


def parts_of(batch: Subject, known: Mapping[str, Subject]) -> list[str]:
    """Give the codes of what a batch comes from; nothing comes from itself or what came later."""
    earlier = batch.opened.seq
    return [one for one in batch.comes_from if one in known and known[one].opened.seq < earlier]


def went_into(record: Record, code: str) -> list[Relation]:
    """Follow a batch forward to everything that holds some of it, each once: the recall view."""
    corrected = record.corrected()
    entries = record.entries(kinds=(BatchOpened.kind,))
    opened = [(e, e.body) for e in entries if isinstance(e.body, BatchOpened)]
    opened = [(entry, body) for entry, body in opened if entry.seq not in corrected]
    found: list[Relation] = []
    told: set[str] = set()

    def forward(name: str, since: int, depth: int) -> None:
        for entry, body in opened:
            holds = name in body.portion_of or name in body.made_from
            if entry.batch and entry.seq > since and holds and entry.batch not in told:
                told.add(entry.batch)
                (batch,) = read_batches(record, [entry.batch])
                how = _how(name, body, "a portion", "went into")
                found.append(Relation(depth, batch, how))
                forward(entry.batch, entry.seq, depth + 1)

    forward(code, 0, 1)
    return found


def _how(part: str, whole: BatchOpened, portion: str, made: str) -> str:
    """Say how a batch is in another: put together with others, or in one of the words given."""
    others = [one for one in whole.portion_of if one != part]
    if part not in whole.portion_of:
        return made
    return f"put together with {', '.join(others)}" if others else portion
