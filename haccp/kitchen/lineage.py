"""Where batches come from and where they go: the recall view."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from haccp.kitchen.batches import BatchOnRecord
from haccp.kitchen.reading import parts_of, read_batches, read_with_parts
from haccp.language import phrase
from haccp.record.bodies import BatchOpened
from haccp.record.entries import having
from haccp.record.store import Record
from haccp.record.threads import openings_from


@dataclass(frozen=True, slots=True)
class Relation:
    """A batch at some distance from the one asked about: how far, and how it is related."""

    depth: int
    batch: BatchOnRecord
    how: str


def came_from(record: Record, code: str) -> list[Relation]:
    """Follow a batch back to everything that is in it, through any depth; each is told of once."""
    known = read_with_parts(record, [code])

    def parts(name: str) -> Iterator[tuple[str, str]]:
        for part in parts_of(known[name], known):
            yield part, _how(part, known[name].batch, phrase("taken from"), phrase("made from"))

    return [Relation(depth, known[part], how) for depth, part, how in _each_once(code, parts)]


def went_into(record: Record, code: str) -> list[Relation]:
    """Follow a batch forward to everything that holds some of it, each once: the recall view."""
    found: dict[str, BatchOpened] = {}

    def wholes(name: str) -> Iterator[tuple[str, str]]:
        for entry in having(record.about(openings_from(name)), BatchOpened):
            if entry.batch and not entry.corrected_by:
                found[entry.batch] = entry.body
                yield entry.batch, _how(name, entry.body, phrase("a portion"), phrase("went into"))

    followed = list(_each_once(code, wholes))
    batches = {batch.name: batch for batch in read_batches(record, found)}
    return [Relation(depth, batches[name], how) for depth, name, how in followed if name in batches]


def _each_once(
    begin: str, following: Callable[[str], Iterator[tuple[str, str]]]
) -> Iterator[tuple[int, str, str]]:
    """Follow from one batch on, into the depth first, without recursion; each is given once.

    Gives how far it is, its code and how it is related to the one before it.
    """
    told = {begin}
    ways = [following(begin)]
    while ways:
        name, how = next(ways[-1], (None, ""))
        if name is None:
            ways.pop()
        elif name not in told:
            told.add(name)
            yield len(ways), name, how
            ways.append(following(name))


def _how(part: str, whole: BatchOpened, portion: str, made: str) -> str:
    """Say how a batch is in another: put together with others, or in one of the words given."""
    others = [one for one in whole.portion_of if one != part]
    if part not in whole.portion_of:
        return made
    if not others:
        return portion
    return phrase("put together with {batches}", batches=", ".join(others))
