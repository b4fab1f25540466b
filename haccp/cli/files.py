"""Files in and out: `load`, `export`, `import`."""

import hashlib
from collections.abc import Callable, Sequence
from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO

import click

from haccp.cli import terminal
from haccp.cli.boundary import REFUSED
from haccp.cli.logger import as_options, load_logger, logger_options
from haccp.cli.measure import paper_option, which_thermometer
from haccp.cli.outputs import PRIVATE, force_option, write_whole
from haccp.cli.session import Session, by_option, printable
from haccp.errors import Refused
from haccp.kitchen.datemarks import all_found
from haccp.kitchen.naming import every_code, find
from haccp.kitchen.reading import read_batches
from haccp.kitchen.register import Register
from haccp.kitchen.units import refuse_other_use, unit_step
from haccp.language import counted, phrase
from haccp.logs.csv_log import LogLine, is_own, read_file
from haccp.logs.sheet import LARGEST_FILE
from haccp.record.bodies import Measured
from haccp.record.bodies_of_record import PinSet
from haccp.record.entries import Draft, Entry, entry_from, having
from haccp.record.exports import COLUMNS, csv_pieces, from_export, json_pieces
from haccp.record.pins import await_pins
from haccp.record.store import open_record
from haccp.rules.evidence import overall
from haccp.rules.words import called
from haccp.time import CLOCK_TOLERANCE

_A_SECOND = timedelta(seconds=1)


@click.command()
@click.argument("file", type=click.File("rb"))
@logger_options
@paper_option
@by_option
@click.pass_context
def load(
    ctx: click.Context, /, file: BinaryIO, paper: bool, by: str | None, yes: bool, **typed: Any
) -> None:
    """Record the readings of a file, all or none: typed in from paper, or a logger's.

    A logger's is any CSV or XLSX with moments and temperatures; what it leaves open is asked.

    haccp load-readings cooler.csv --probe "Channel 1=walk-in" --probe "Channel 2=stew-1102 cool"

    Typed in from paper, as CSV: batch,step,taken_at,temp,unit and, optional, held_s,note,
    holding_unit,by,thermometer,method,chamber.

    They are recorded as entered now, so older ones print as late.
    """
    session: Session = ctx.obj
    content = file.read(LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        raise Refused(
            phrase("The file is larger than {size} MB: split it.", size=LARGEST_FILE // 1_000_000)
        )
    if is_own(content):
        load_own(ctx, session, content, paper=paper, by=by)
    else:
        load_logger(session, content, Path(str(file.name)).name, as_options(typed), by, yes=yes)


def load_own(
    ctx: click.Context, session: Session, content: bytes, *, paper: bool, by: str | None
) -> None:
    """Load what was typed in by our own columns."""
    log = read_file(BytesIO(content))
    if log.in_minutes:
        raise Refused(phrase("A record needs moments: write taken_at as ISO 8601 with offset."))
    codes = every_code(session.record)
    named = sorted({row.batch for row in log.rows} & set(codes))
    batches = {batch.name: batch for batch in read_batches(session.record, named)}
    known = _on_record(session, log.rows)
    refused = {one.line: one.why for one in log.rejected}
    drafts: list[Draft] = []
    for row in log.rows:
        try:
            person = session.by(row.cells.get("by") or by)
            draft = draft_of(row, session.register, codes, person.initials, paper=paper)
            if _what(draft) in known:
                raise Refused(known[_what(draft)])
            known[_what(draft)] = phrase("it is on record already, as line {line}", line=row.line)
            drafts.append(draft)
            if row.batch in batches:
                batches[row.batch].refuse_unjudgeable(row.reading, session.register)
            if row.reading.at > session.now + CLOCK_TOLERANCE:
                raise Refused(phrase("it was taken in the future"))
        except Refused as error:
            refused[row.line] = str(error).rstrip(".")
    for line, why in sorted(refused.items()):
        terminal.say(phrase("Line {line} is rejected: {why}.", line=line, why=why), err=True)
    if refused or not drafts:
        told = phrase("Refused: nothing was recorded; mend the file and load it again.")
        terminal.say(told, err=True)
        ctx.exit(REFUSED)
    session.append(*drafts)
    terminal.say(counted("{count} reading recorded.", "{count} readings recorded.", len(drafts)))
    for batch in read_batches(session.record, named):
        verdict = overall(all_found(batch, session.record, session.register, session.now))
        terminal.say(phrase("{verdict}: {batch}", verdict=called(verdict), batch=batch.title))


def _on_record(session: Session, rows: Sequence[LogLine]) -> dict[object, str]:
    """Give what is on record of the time that some rows are about, and say as which entry."""
    if not rows:
        return {}
    first, last = (pick(row.reading.at for row in rows) for pick in (min, max))
    found = session.record.during(first - _A_SECOND, last + _A_SECOND)
    return {
        _what(entry): phrase("it is on record already, as no. {number}", number=entry.seq)
        for entry in having(found, Measured)
        if not entry.corrected_by
    }


def _what(one: Draft[Measured] | Entry[Measured]) -> object:
    """Give what makes two readings the same one."""
    body = one.body
    return one.batch, one.unit, body.step, one.at, Decimal(body.temp), body.degree


def draft_of(
    row: LogLine, register: Register, codes: list[str], by: str, *, paper: bool = False
) -> Draft[Measured]:
    """Turn a row into an entry; raises Refused for names that the record does not know."""
    cells, reading = row.cells, row.reading
    unit = cells.get("holding_unit") or None
    batch = cells["batch"] or None
    if batch and batch not in codes:
        raise Refused(phrase("there is no batch {batch}: open it first", batch=repr(batch)))
    if unit:
        unit = find(unit, list(register.units), "unit")
        if not batch and reading.step is not unit_step(register.units[unit]):
            raise Refused(
                phrase("{unit} is not a unit for {words}", unit=unit, words=reading.step.words)
            )
        refuse_other_use(register.units[unit], reading.step)
    if row.prepared:
        raise Refused(
            phrase("prepared_at is for haccp check-file: open its batch with --ambient instead")
        )
    note = cells.get("note", "")
    body = Measured(
        step=reading.step,
        temp=str(reading.temperature.value),
        degree=reading.temperature.degree,
        held_s=cells.get("held_s") or "0",
        thermometer=which_thermometer(register, cells.get("thermometer"), reading.at),
        note=printable(note, phrase("its note")) if note else "",
        paper=paper,
        method=reading.method,
        chamber=f"{reading.chamber.value}{reading.chamber.degree}" if reading.chamber else "",
    )
    return Draft(body=body, at=reading.at.replace(microsecond=0), person=by, batch=batch, unit=unit)


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, allow_dash=True))
@click.option(
    "--format", "form", type=click.Choice(["csv", "json"]), help="Default: by the file's name."
)
@force_option
@click.pass_obj
def export(session: Session, file: str, form: str | None, force: bool) -> None:
    """Write every entry to FILE (.csv or .json; - is standard output).

    haccp export record.json
    """
    form = form or Path(file).suffix.lstrip(".").lower()
    if form not in ("csv", "json"):
        raise Refused(
            phrase(
                "{file} is neither .csv nor .json: name one, or add --format csv.", file=repr(file)
            )
        )
    session.refuse_view()
    count, head = session.record.head()
    rows = session.record.rows()
    pieces = csv_pieces(rows) if form == "csv" else json_pieces(rows, head)
    if file == "-":
        for piece in pieces:
            terminal.pass_on(piece)
        return
    write_whole(
        Path(file),
        (piece.encode() for piece in pieces),
        records=[session.path],
        is_own=is_export(session.identity),
        mode=PRIVATE,
        force=force,
    )
    terminal.say(
        counted(
            "{count} entry written to {file}.",
            "{count} entries written to {file}.",
            count,
            file=file,
        )
    )


def is_export(identity: str) -> Callable[[bytes], bool]:
    """Give what recognises an export of the record whose first entry has this digest."""

    def recognise(content: bytes) -> bool:
        top, _, rest = content.partition(b"\n")
        first = rest.partition(b"\n")[0].rstrip(b"\r")
        if top.startswith(b'{"format": "haccp record"'):
            return hashlib.sha256(first.removesuffix(b",")).hexdigest() == identity
        is_csv = top.rstrip(b"\r") == ",".join(COLUMNS).encode()
        return is_csv and first.endswith(f",{identity}".encode())

    return recognise


@click.command("import")
@click.argument("file", type=click.File("rb"))
@click.pass_obj
def import_(session: Session, file: BinaryIO) -> None:
    """Read an export back into a new record.

    haccp --db new.sqlite3 import record.json
    """
    rows = from_export(file.read())
    if not rows:
        raise Refused(phrase("The export holds no entries."))
    if session.has_record:
        session.refuse_view()
    record = open_record(session.path, create=True)
    numbers = [row["seq"] for row in rows]
    set_for = [entry_from(row).body for row in rows if row["kind"] == PinSet.kind]
    # before the entries, so that no moment shows a PIN that should be there and is not
    await_pins(record, [one.initials for one in set_for if isinstance(one, PinSet)], session.now)
    try:
        record.restore(rows)
        session.recorded = numbers
    except KeyboardInterrupt:
        # it may have come when all was there already
        if record.head() == (numbers[-1], rows[-1]["digest"]):
            session.recorded = numbers
        raise
    finally:
        record.close()
    terminal.say(
        counted(
            "{count} entry read into {file}; the chain of digests holds.",
            "{count} entries read into {file}; the chain of digests holds.",
            len(rows),
            file=session.path,
        )
    )
