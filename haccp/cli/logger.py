"""A logger's file into the record: what was understood of it is shown first, then loaded whole."""

import gc
import hashlib
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timezone, tzinfo
from decimal import Decimal
from itertools import chain
from typing import Any, TypeVar

import click

from haccp.cli import terminal
from haccp.cli.judged_load import tell_batch, tell_unit
from haccp.cli.logger_told import Load, Place, understood
from haccp.cli.session import Session, confirm, printable
from haccp.errors import Refused
from haccp.kitchen.naming import find, find_known
from haccp.kitchen.reading import read_batch
from haccp.kitchen.units import refuse_other_use, unit_step
from haccp.language import counted, phrase
from haccp.logs.apart import Apart
from haccp.logs.cells import offset_typed
from haccp.logs.logged_series import Said, Series, series_of
from haccp.logs.logger_file import Roles, Table, Unsettled, roles_of, table_of
from haccp.logs.sheet import sheet_of
from haccp.phrases import runs_of
from haccp.record.bodies import Logged, Measured
from haccp.record.entries import Draft, having, told_at
from haccp.record.threads import out_of_probe
from haccp.rules.account.steps import TRAITS
from haccp.rules.evidence import Reading, Step
from haccp.temperature import Degree, Temperature
from haccp.time import zone_typed

_T = TypeVar("_T")

_STEPS = {str(step): step for step in Step}
# Names of this length have room in an entry and on paper.
_LONGEST = 100
# Seconds after the first reading of an hour, as they are written.
_AFTER = [f"{second} " for second in range(3600)]
_NOWHERE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What was typed about a file, by the names of the options."""

    probe: tuple[str, ...] = ()
    degree: str = ""
    date_order: str = ""
    zone: str = ""
    repeated_hour: str = ""
    delimiter: str = ""
    sheet: str = ""
    time_column: str = ""
    probe_column: str = ""
    temperature: tuple[str, ...] = ()
    thermometer: str = ""

    def with_answer(self, option: str, answer: str) -> "Options":
        name = option.replace("-", "_")
        several = isinstance(getattr(self, name), tuple)
        given: Any = (*getattr(self, name), answer) if several else answer
        return replace(self, **{name: given})


def logger_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add what settles a logger's file where its values do not."""
    texts = [
        ("--degree", "F|C", "The degree of columns that do not say it."),
        ("--date-order", "dmy|mdy|ymd", "How its days are written."),
        ("--zone", "ZONE", "Which clock the logger keeps: an IANA zone, UTC or -07:00."),
        ("--repeated-hour", "first|second", "Which hour it is that came twice."),
        ("--delimiter", "comma|semicolon|tab|bar", "What stands between the columns."),
        ("--sheet", "NAME", "Which sheet of a workbook."),
        ("--time-column", "NAME", "Which column says when."),
        ("--probe-column", "NAME", "Which column names the probe of its line, or none."),
        ("-t", "LABEL", "The thermometer that it was read by."),
    ]
    for flag, metavar, help_ in reversed(texts):
        flags = ("-t", "--thermometer") if flag == "-t" else (flag,)
        command = click.option(*flags, metavar=metavar, default="", help=help_)(command)
    command = click.option(
        "--temperature", metavar="NAME", multiple=True, help="A column that holds temperatures."
    )(command)
    command = click.option("--yes", is_flag=True, help="Record what was understood at once.")(
        command
    )
    return click.option(
        "--probe",
        metavar="NAME=PLACE",
        multiple=True,
        help="Where a probe is: a unit, or a batch and its step.",
    )(command)


def load_logger(
    session: Session, content: bytes, file: str, options: Options, by: str | None, *, yes: bool
) -> None:
    """Load a logger's file: ask what it leaves open, show what was understood, record it whole."""
    with _without_collecting():
        _load(session, content, file, options, by, yes=yes)


@contextmanager
def _without_collecting() -> Iterator[None]:
    """Leave the search for circles off: there are none, and it takes a third of the time."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def _load(
    session: Session, content: bytes, file: str, options: Options, by: str | None, *, yes: bool
) -> None:
    person = session.by(by)
    source = printable(file, phrase("The file's name"))
    label = options.thermometer
    thermometer = find(label, list(session.register.thermometers), "thermometer") if label else ""
    options, table = _settled(options, lambda said: _table(content, said))
    options, roles = _settled(
        options, lambda said: roles_of(table, said.temperature, said.probe_column)
    )
    options, (found, apart) = _settled(options, lambda said: _series(session, table, roles, said))
    if not found:
        raise Refused(phrase("No line of the file holds a reading."))
    options, places = _settled(options, lambda said: _places(session, found, said))
    loads = [
        _against_record(session, _of_what_was_there(one, place, apart), place)
        for one in found
        if (place := places.get(one.probe))
    ]
    for words in understood(session, table, roles, loads, apart):
        terminal.say(words, err=True)
    count = sum(len(one.series.moments) for one in loads)
    if not count:
        if any(one.changed for one in loads):
            raise Refused(
                phrase("Nothing was recorded: what is not on record already differs from it.")
            )
        terminal.say(phrase("Every reading of the file is on record already."))
        return
    asks = counted(
        "{count} reading is to be recorded.", "{count} readings are to be recorded.", count
    )
    confirm(asks, yes=yes)
    digest = hashlib.sha256(content).hexdigest()
    with terminal.progress(phrase("Readings"), count, 20_000) as done:
        drafts = _drafts(session, loads, source, digest, thermometer, person.initials, done)
        made = session.append(*drafts, as_seen=True)
    terminal.say(
        counted(
            "{count} reading recorded, as no. {numbers}.",
            "{count} readings recorded, as no. {numbers}.",
            count,
            numbers=runs_of([one.seq for one in made]),
        )
    )
    for place in dict.fromkeys(one.place for one in loads if one.series.moments):
        if place.batch:
            tell_batch(session, place.batch)
        else:
            mine = [one.series.moments for one in loads if one.place == place]
            tell_unit(session, str(place.unit), sorted(chain.from_iterable(mine)))


def _settled(options: Options, read: Callable[[Options], _T]) -> tuple[Options, _T]:
    """Read with what is known; ask what is left open of who sits at a terminal, and read again."""
    while True:
        try:
            return options, read(options)
        except Unsettled as question:
            if not terminal.is_answered():
                raise
            options = options.with_answer(question.option, _answered(question))


def _answered(question: Unsettled) -> str:
    choices = ", ".join(question.choices)
    answer = terminal.answer_to(f"{question.asks} ({choices})")
    if not answer:
        raise Refused(phrase("Nothing was recorded."))
    folded = {one.casefold(): one for one in question.choices}
    known = folded.get(answer.casefold(), answer)
    if question.option == "probe":
        probe = question.choices[0].partition("=")[0]
        return known if known.startswith(f"{probe}=") else f"{probe}={known}"
    return known


def _table(content: bytes, said: Options) -> Table:
    known = ("comma", "semicolon", "tab", "bar")
    _one_of(said.delimiter, known, "delimiter")
    return table_of(sheet_of(content, said.sheet), said.delimiter, said.time_column)


def _one_of(value: str, known: Sequence[str], option: str) -> None:
    if value and value not in known:
        raise Refused(
            phrase(
                "{value} is no answer to --{option}: type one of {known}.",
                value=repr(value),
                option=option,
                known=", ".join(known),
            )
        )


def _series(
    session: Session, table: Table, roles: Roles, said: Options
) -> tuple[list[Series], Apart]:
    _one_of(said.date_order, ("dmy", "mdy", "ymd"), "date-order")
    _one_of(said.degree, tuple(Degree), "degree")
    _one_of(said.repeated_hour, ("first", "second"), "repeated-hour")
    apart = Apart({why: [*lines] for why, lines in table.apart.lines.items()})
    known = Said(said.date_order, said.degree, _zone(said.zone), said.repeated_hour)
    return series_of(table, roles, known, session.register.zone, session.now, apart), apart


def _zone(typed: str) -> tzinfo | None:
    if not typed:
        return None
    offset = offset_typed(typed)
    return zone_typed(typed) if offset is None else timezone(offset)


def _places(session: Session, found: Sequence[Series], said: Options) -> dict[str, Place]:
    """Say where each probe is: as typed, else in the unit where it was last, or of its name."""
    typed = _typed_places(found, said.probe)
    units = {unit.casefold(): unit for unit in session.register.units}
    places: dict[str, Place] = {}
    for one in found:
        if typed.get(one.probe) == _NOWHERE:
            continue
        where = (
            typed.get(one.probe)
            or _where_it_was(session, one.probe)
            or units.get(one.probe.casefold())
        )
        if where is None:
            asks = phrase("What is probe {probe} in, a unit or a batch?", probe=repr(one.probe))
            there = [f"{one.probe}={unit}" for unit in session.register.units]
            raise Unsettled(asks, "probe", [*there, f"{one.probe}=BATCH {Step.COOL}"])
        places[one.probe] = _place(session, one, where)
    if not places:
        raise Refused(phrase("No probe of the file is in a unit or a batch: nothing to record."))
    return places


def _typed_places(found: Sequence[Series], typed: Sequence[str]) -> dict[str, str]:
    names = {one.probe.casefold(): one.probe for one in found}
    told: dict[str, str] = {}
    for each in typed:
        name, is_named, where = each.rpartition("=")
        if not is_named and len(names) == 1:
            name = next(iter(names))
        if name.casefold() not in names:
            raise Refused(
                phrase(
                    "The file has no probe {name}: it has {names}.",
                    name=repr(name),
                    names=", ".join(names.values()),
                )
            )
        told[names[name.casefold()]] = where.strip()
    return told


def _where_it_was(session: Session, probe: str) -> str | None:
    """Give the unit in which a probe was when its readings were last loaded; a batch is over."""
    newest = session.record.newest(out_of_probe(probe), 1)
    unit = newest[0].unit if newest and not newest[0].batch else None
    known = session.register.units.get(unit or "")
    return unit if known and known.active else None


def _place(session: Session, one: Series, where: str) -> Place:
    register = session.register
    name, _, step = where.rpartition(" ")
    if step not in _STEPS:
        name, step = where, ""
    found = find_known(name, session.record, list(register.units))
    if found in register.units:
        unit = register.units[found]
        place = Place(step=_STEPS[step] if step else unit_step(unit), unit=found)
        if not TRAITS[place.step].held_to:
            raise Refused(
                phrase("{unit} is not a unit for {words}", unit=found, words=place.step.words)
            )
        refuse_other_use(unit, place.step)
        return place
    if not step:
        asks = phrase("What was done with {batch} as it was read?", batch=found)
        raise Unsettled(asks, "probe", [f"{one.probe}={found} {each}" for each in Step])
    batch = read_batch(session.record, found)
    place = Place(
        step=_STEPS[step],
        batch=found,
        opened=batch.opened.at,
        gone=told_at(batch.end) if batch.end else None,
    )
    first = Reading(
        at=datetime.fromtimestamp(one.moments[0], UTC),
        temperature=Temperature(Decimal(one.temperatures[0]), one.degree),
        step=place.step,
    )
    batch.refuse_unjudgeable(first, register)
    return place


def _of_what_was_there(one: Series, place: Place, apart: Apart) -> Series:
    """Leave out what was read after nothing was left of a batch."""
    if place.gone is None:
        return one
    there = bisect_right(one.moments, int(place.gone.timestamp()))
    why = phrase("{probe}: nothing was left of {batch} then", probe=one.probe, batch=place.batch)
    for line in one.lines[there:]:
        apart.add(why, line)
    return replace(
        one,
        moments=one.moments[:there],
        temperatures=one.temperatures[:there],
        lines=one.lines[:there],
    )


def _against_record(session: Session, one: Series, place: Place) -> Load:
    """Leave out what is on record of a probe; a value that differs there is told of."""
    if len(one.probe) > _LONGEST:
        raise Refused(phrase("The name of probe {probe} is too long.", probe=repr(one.probe[:40])))
    if not one.moments:
        return Load(one, place)
    since = datetime.fromtimestamp(one.moments[0], UTC)
    entries = having(session.record.about(out_of_probe(one.probe), since=since), Measured)
    known = {
        int(entry.at.timestamp()): (entry.body.temp, entry.body.degree, entry.seq)
        for entry in entries
        if not entry.corrected_by
    }
    if not known:
        return Load(one, place)
    fresh: list[tuple[int, str, int]] = []
    changed: list[str] = []
    for moment, temp, line in zip(one.moments, one.temperatures, one.lines, strict=True):
        there = known.get(moment)
        if there is None:
            fresh.append((moment, temp, line))
        elif Decimal(there[0]) != Decimal(temp) or there[1] != one.degree:
            changed.append(
                phrase(
                    "Line {line}: {probe} is on record for that moment with {temp}, as no. "
                    "{number}; {other} is left out.",
                    line=line,
                    probe=one.probe,
                    temp=f"{there[0]} °{there[1]}",
                    number=there[2],
                    other=f"{temp} °{one.degree}",
                )
            )
    columns = [list(each) for each in zip(*fresh, strict=True)] or [[], [], []]
    rest = Series(one.probe, one.degree, *columns)
    return Load(rest, place, len(one.moments) - len(fresh) - len(changed), changed)


def _drafts(
    session: Session,
    loads: Iterable[Load],
    source: str,
    digest: str,
    thermometer: str,
    person: str,
    done: Callable[[int], None],
) -> Iterator[Draft[Logged]]:
    """Cut each probe's readings by the kitchen's hours: an entry for each."""
    zone = session.register.zone
    for one in loads:
        series, place = one.series, one.place
        moments, temperatures = series.moments, series.temperatures
        begin = 0
        while begin < len(moments):
            first = moments[begin]
            at = datetime.fromtimestamp(first, UTC)
            end = bisect_left(moments, _hour_ends(first, at, zone), begin)
            hour = zip(moments[begin:end], temperatures[begin:end], strict=True)
            readings = tuple([_AFTER[moment - first] + temp for moment, temp in hour])
            body = Logged(
                step=place.step,
                degree=series.degree,
                readings=readings,
                probe=series.probe,
                source=source,
                source_digest=digest,
                thermometer=thermometer,
            )
            yield Draft(body=body, at=at, person=person, batch=place.batch, unit=place.unit)
            done(end - begin)
            begin = end


def _hour_ends(moment: int, at: datetime, zone: tzinfo) -> int:
    """Give when the kitchen's hour of a moment is over, so that no run reaches into another day."""
    offset = at.astimezone(zone).utcoffset()
    assert offset is not None
    return moment + 3600 - (moment + int(offset.total_seconds())) % 3600


def as_options(typed: Mapping[str, Any]) -> Options:
    """Take what was typed on the command line."""
    return Options(**{name: typed[name] for name in Options.__dataclass_fields__})
