"""What people type for a batch or unit, and which batches there are."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from haccp.errors import Refused
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import Register, read_register
from haccp.language import message, phrase
from haccp.phrases import all_of, any_of, at
from haccp.record.bodies import BatchOpened, UsedUp
from haccp.record.entries import having
from haccp.record.lookup import Known
from haccp.record.store import Record
from haccp.record.threads import about_batch
from haccp.signs import clusters, folded
from haccp.time import clock, short_day

# What parts the words of a name: it may be left out.
_BETWEEN = " -._"
# How like a name has to be to be suggested, by difflib's ratio, and how far behind the best one a
# second may be: chosen by hand.
_ALIKE, _NEARLY = 0.75, 0.1


# What whoever asks for a name is looking for.
_SOUGHT = {
    "batch": message("batch"),
    "open batch": message("open batch"),
    "unit": message("unit"),
    "batch or unit": message("batch or unit"),
    "thermometer": message("thermometer"),
    "food": message("food"),
    "food in the table": message("food in the table"),
}


def every_code(record: Record) -> list[str]:
    """Give the codes of all batches ever opened, oldest first; those withdrawn too."""
    return [known.code for known in record.every_batch()]


def several(names: str) -> list[str]:
    """Take one name or several with commas between, each once."""
    return list(dict.fromkeys(filter(None, (name.strip() for name in names.split(","))))) or [names]


def is_taken(name: str, record: Record, register: Register) -> str | None:
    """Say what is called so already, whatever its capitals: a batch, its container, or a unit.

    Of what is there now, what differs by its hyphens alone is called so too. A container's name is
    free again once nothing is left of what was in it.
    """
    wanted = folded(name)
    batches = [
        known.called if folded(known.code) != wanted else known.code
        for known in record.batches_named(name)
        if folded(known.code) == wanted or known.ended is None
    ]
    alike = [one for one in (*open_names(record), *register.units) if is_alike(one, name)]
    # what is on record of another till's batch must not come to be about one opened here
    theirs = [name] if record.newest(about_batch(name), 1) else []
    return next(iter((*batches, *alike, *theirs)), None)


@dataclass(frozen=True, eq=False)
class Names(Mapping[str, str]):
    """What each name stands for that is there now.

    A name that was right an hour ago is answered with what became of its batch. `openings` are the
    numbers of the entries that say what food is in each; `numbers` stand for what they count.
    """

    there: Mapping[str, str]
    record: Record
    openings: Mapping[str, int]
    numbers: Mapping[str, str] = field(default_factory=dict)

    def __getitem__(self, name: str) -> str:
        return self.there[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.there)

    def __len__(self) -> int:
        return len(self.there)

    def with_units(self, units: Sequence[str], numbers: Mapping[str, str]) -> "Names":
        """Add units, each by its name and, of those in `numbers`, by its number."""
        there = {**self.there, **{unit: unit for unit in units}}
        return Names(there, self.record, self.openings, numbers)

    @cached_property
    def foods(self) -> dict[str, BatchOpened]:
        """Read what food each batch is: of what is there alone, and only where it is asked for."""
        codes = {number: code for code, number in self.openings.items()}
        opened = having(self.record.numbered(list(codes)), BatchOpened)
        return {codes[entry.seq]: entry.body for entry in opened}

    def became(self, wanted: str, begun: Sequence[str]) -> str | None:
        """Say what became of the batch meant: by its whole name, or its beginning if no other's.

        `begun` are the names of what is there that begin so.
        """
        gone = [one for one in self.record.batches_called(wanted) if one.ended]
        names = [(folded(name), one.code) for one in gone for name in (one.code, one.called)]
        whole = [code for name, code in names if name == wanted]
        likely = [] if begun else [code for name, code in names if name.startswith(wanted)]
        code = next(iter([*whole, *likely]), None)
        batch = next(iter(read_batches(self.record, [code])), None) if code else None
        if batch is None or batch.end is None:
            return None
        into = batch.end.body.into if isinstance(batch.end.body, UsedUp) else ()
        places = {"batch": code, "fate": batch.fate, "on_day": self._on_day(batch.end.at)}
        if into:
            return phrase(
                "{batch} went into {wholes} {on_day}, type {choices}.",
                wholes=all_of(_few(into)),
                choices=any_of(_few(into)),
                **places,
            )
        if begun:
            more = message("{batch} was {fate} {on_day}, type more of {choices}.")
            return phrase(more, choices=any_of(_few(begun)), **places)
        return phrase("{batch} was {fate} {on_day}, see haccp show {batch}", **places)

    def _on_day(self, moment: datetime) -> str:
        zone = read_register(self.record).zone
        day = short_day(moment.astimezone(zone).date())
        return phrase("on {day} {at}", day=day, at=at(clock(moment, zone)))


def open_codes(record: Record) -> list[str]:
    """Give the codes of the batches of which something is left, newest first."""
    return [known.code for known in _open(record)]


def open_names(record: Record) -> Names:
    """Give what each batch of which something is left is called, and its code; newest first.

    That is its code, and what its container was called last.
    """
    names: dict[str, str] = {}
    found = _open(record)
    for known in found:
        names[known.code] = known.code
        names.setdefault(known.called or known.code, known.code)
    return Names(names, record, {known.code: known.opened for known in found})


def unit_numbers(register: Register) -> dict[str, str]:
    """Number the units in use: in the order in which they were added, so that none ever changes.

    A batch has no number: those that are open change within a shift.
    """
    numbered = enumerate(register.units.values(), start=1)
    return {str(number): unit.name for number, unit in numbered if unit.active}


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


class Ambiguous(Refused):
    """What was typed may mean more than one; `choices` are their names, each for what it means."""

    def __init__(self, typed: str, choices: Mapping[str, str]) -> None:
        super().__init__(
            phrase(
                "{typed} could be {names}: type more of it.",
                typed=repr(typed),
                names=any_of(_few(list(choices))),
            )
        )
        self.choices = choices


def find(name: str, among: Sequence[str] | Mapping[str, str], what: str) -> str:
    """Find the one meant, by its name or as people say it; see `meant`.

    Where `among` maps names, gives what the name stands for. Raises Refused, naming the choices,
    where there is none, and Ambiguous where there is more than one.
    """
    wanted, sought = folded(name).strip(), phrase(_SOUGHT[what])
    if not wanted:
        raise Refused(phrase("The name of the {what} is empty: type its beginning.", what=sought))
    names = among if isinstance(among, Mapping) else {one: one for one in among}
    whole, hits = meant(name, names)
    told = names.became(wanted, hits) if isinstance(names, Names) and not whole else None
    if told:
        gone = message("There is no {what} {name} any more: {became}")
        raise Refused(phrase(gone, what=sought, name=repr(name), became=told))
    choices: dict[str, str] = {}
    for hit in hits:
        target = names.numbers[hit] if isinstance(names, Names) and hit not in names else names[hit]
        if target not in choices.values():
            choices[hit] = target
    if len(choices) == 1:
        return next(iter(choices.values()))
    if choices:
        raise Ambiguous(name, choices)
    near = like(name, names)
    if near:
        raise Refused(
            phrase(
                "There is no {what} {name}: did you mean {near}?",
                what=sought,
                name=repr(name),
                near=any_of(near),
            )
        )
    if not names:
        raise Refused(phrase("There is no {what} {name}.", what=sought, name=repr(name)))
    known = message("There is no {what} {name}: type one of {names}.")
    there = ", ".join(_few(list(names)))
    raise Refused(phrase(known, what=sought, name=repr(name), names=there))


def meant(name: str, names: Mapping[str, str]) -> tuple[bool, list[str]]:
    """Give the names that somebody may mean, and whether what was typed is one typed whole.

    A whole name comes first, with or without its hyphens and capitals, or a food's whole name. Else
    whatever begins so, and whatever food has every word typed in its name, code or portion.
    """
    wanted = folded(name).strip()
    exact = [one for one in names if folded(one) == wanted]
    if exact:
        return True, exact
    foods = names.foods if isinstance(names, Names) else {}
    plain = "" if wanted[-1:] in _BETWEEN else _plain(wanted)
    if plain:
        whole = [one for one in names if _plain(one) == plain]
        whole += [code for code, body in foods.items() if _plain(body.food) == plain]
        if whole:
            return True, list(dict.fromkeys(whole))
    begun = [
        one
        for one in names
        if folded(one).startswith(wanted) or (plain and _plain(one).startswith(plain))
    ]
    numbered = [wanted] if isinstance(names, Names) and wanted in names.numbers else []
    said = [code for code, body in foods.items() if _is_said(wanted, code, body)]
    return False, list(dict.fromkeys([*numbered, *begun, *said]))


def _is_said(wanted: str, code: str, body: BatchOpened) -> bool:
    """Whether each word typed is one of a food's name or code; a portion's letter alone will do."""
    words = _words(wanted)
    letter = _words(code)[-1]
    if body.portion_of and words == [letter] and letter.isalpha():
        return True
    food = _words(body.food)
    once = len({*words}) == len(words)  # a word said twice is rather two names
    return once and {*words} <= {*food, *_words(code)} and not {*words}.isdisjoint(food)


def like(name: str, names: Iterable[str]) -> list[str]:
    """Give the two names at most that one is most like, or the beginning of which."""
    from difflib import SequenceMatcher

    wanted = _plain(name)
    scored = []
    for one in names:
        plain = _plain(one)
        parts = {plain, plain[: len(wanted)]}
        score = max(SequenceMatcher(None, wanted, part).ratio() for part in parts)
        scored.append((score, one))
    best = sorted((-score, one) for score, one in scored if score >= _ALIKE)[:2]
    return [one for score, one in best if -score >= -best[0][0] - _NEARLY]


def is_alike(name: str, other: str) -> bool:
    """Whether two names are one to somebody who leaves out hyphens and capitals."""
    return _plain(name) == _plain(other)


def _plain(name: str) -> str:
    return "".join(letter for letter in folded(name) if letter not in _BETWEEN)


def _words(name: str) -> list[str]:
    # a letter's marks belong to it: to `re` they are no part of a word
    signs = (sign if sign[0].isalnum() else " " for sign in clusters(folded(name)))
    return "".join(signs).split() or [""]


def find_known(name: str, record: Record, units: Sequence[str]) -> str:
    """Find a batch or unit meant: by its whole code, else an open batch before one that is gone."""
    what = "batch or unit" if units else "batch"
    theirs = {unit: unit for unit in units}
    wanted = folded(name)
    named = _ever_opened(record, record.batches_named(name))
    whole = [one.code for one in named if folded(one.code) == wanted]
    if whole:  # not the portion of it that is still there
        return whole[0]
    names = open_names(record)
    try:
        return find(name, names.with_units(units, {}), what)
    except Ambiguous:
        raise
    except Refused:
        begun = _ever_opened(record, record.batches_called(name)) if name else []
        gone = {alias: one.code for one in begun for alias in (one.called, one.code) if alias}
        return find(name, {**gone, **names.there, **theirs}, what)


def listed(names: Mapping[str, str]) -> str:
    """List what may be typed, one name for each that it means."""
    numbers = names.numbers if isinstance(names, Names) else {}
    number_of = {unit: number for number, unit in numbers.items()}
    shown = {
        target: f"{name} ({number_of[target]})" if target in number_of else name
        for name, target in names.items()
    }
    return ", ".join(_few(list(shown.values())))


def _few(names: Sequence[str]) -> list[str]:
    """Order names as a person looks for them: by the alphabet, and pan-2 before pan-10."""
    shown = sorted(names[:8], key=_by_number)
    return shown if len(names) <= 8 else [*shown, phrase("another of {count}", count=len(names))]


def _by_number(name: str) -> list[tuple[int, str]]:
    parts = re.findall(r"[0-9]+|[^0-9]+", name.casefold())
    return [(int(part), "") if part.isdecimal() else (0, part) for part in parts]
