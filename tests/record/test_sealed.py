"""A month as a file: all that was entered in it, in a chain that is walked without the record."""

import json
import random
import shlex
from contextlib import closing
from pathlib import Path

import pyarrow as pa
import pytest
from click.testing import CliRunner, Result
from pyarrow import parquet

from haccp.cli.boundary import BROKEN
from haccp.cli.main import cli
from haccp.cli.session import Session
from haccp.record import sealed
from haccp.record.exports import COLUMNS
from haccp.record.store import open_record
from tests.kitchens import Kitchen


@pytest.fixture
def months(kitchen: Kitchen) -> Kitchen:
    """Entries of October, to the last minute of the kitchen's own month, and of November."""
    kitchen.says("cool stew 150")
    kitchen.at("2026-10-31T23:59-06:00")
    kitchen.says("hold walk-in 38")
    kitchen.at("2026-11-01T00:00-06:00")
    kitchen.says("hold walk-in 39")
    kitchen.at("2026-12-02T09:00-07:00")
    kitchen.says("hold walk-in 37")
    return kitchen


def test_the_months_together_are_the_record_and_each_follows_the_last(
    months: Kitchen, tmp_path: Path
) -> None:
    rows, end = [], "0" * 64
    for month in ("2026-10", "2026-11"):
        file = tmp_path / f"{month}.parquet"
        months.says(f"record seal {month} {file}")
        told, read = sealed.read(file)
        assert told.previous == end
        rows += list(read)
        end = told.head
    with closing(open_record(months.path, create=False)) as record:
        made = list(record.rows())
    temps = [json.loads(row["body"]).get("temp") for row in rows]
    assert temps[-2:] == ["38", "39"]
    # what was noticed of the clock, and the check itself, are December's
    assert [{name: row[name] for name in COLUMNS} for row in rows] == made[: len(rows)]
    assert {row["entered_at"][:7] for row in made[len(rows) :]} == {"2026-12"}


def _checked(file: Path) -> Result:
    session = Session(file.with_name("no record"))
    return CliRunner().invoke(cli, ["record", "sealed", str(file)], obj=session)


def test_the_chain_is_walked_from_the_file_alone_and_any_change_is_found(
    months: Kitchen, tmp_path: Path
) -> None:
    file = tmp_path / "october.parquet"
    months.says(f"record seal 2026-10 {file}")
    whole = _checked(file)
    assert whole.exit_code == 0
    assert "They follow no. 0 00000000" in whole.output
    table = parquet.read_table(file)
    count = table.num_rows

    def kept(changed: pa.Table) -> Result:
        parquet.write_table(changed.replace_schema_metadata(table.schema.metadata), file)
        return _checked(file)

    def with_value(column: str, at: int, value: object) -> pa.Table:
        values = table[column].to_pylist()
        values[at] = value
        index = table.schema.get_field_index(column)
        return table.set_column(
            index, table.schema.field(index), pa.array(values, table[column].type)
        )

    rng = random.Random(7)
    for column, value in (
        ("person", "XX"),
        ("body", "{}"),
        ("digest", b"\0" * 32),
        ("seq", 99),
        ("unit", "other"),
    ):
        assert kept(with_value(column, rng.randrange(count), value)).exit_code == BROKEN, column
    for changed in (
        table.slice(1),
        table.slice(0, count - 1),
        pa.concat_tables([table.slice(0, 2), table.slice(3)]),
    ):
        result = kept(changed)
        assert result.exit_code == BROKEN
        assert "DOES NOT HOLD" in result.output
    assert kept(table).exit_code == 0


def test_what_is_no_month_is_refused_in_a_sentence(months: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "x.parquet"
    assert "is not over yet" in months.refuses(f"record seal 2026-12 {file}")
    assert "Nothing was entered in 2026-09" in months.refuses(f"record seal 2026-09 {file}")
    assert "is no month: type it such as 2026-10" in months.refuses(f"record seal 2026-1 {file}")
    assert not file.exists()
    months.says(f"record seal 2026-10 {file}")
    content = file.read_bytes()
    for broken in (b"", b"PAR1", b"text", content[:-20], content[: len(content) // 2]):
        file.write_bytes(broken)
        result = _checked(file)
        assert result.exit_code == 2, broken[:9]
        assert result.stderr.count("\n") == 1
    parquet.write_table(pa.table({"a": [1]}), file)
    assert "is no month of a record" in _checked(file).stderr
    # a file of another kind is not replaced; one of this record's is
    file.write_text("mine")
    assert "exists and is not the same kind" in months.refuses(f"record seal 2026-10 {file}")
    file.write_bytes(content)
    months.says(f"record seal 2026-10 {file}")


def test_flipped_bytes_never_pass_as_another_month(months: Kitchen, tmp_path: Path) -> None:
    file = tmp_path / "october.parquet"
    months.says(f"record seal 2026-10 {file}")
    content = file.read_bytes()
    made = [{name: row[name] for name in COLUMNS} for row in sealed.read(file)[1]]
    rng = random.Random(3)
    for _ in range(150):
        at = rng.randrange(len(content))
        file.write_bytes(
            content[:at] + bytes([content[at] ^ 1 << rng.randrange(8)]) + content[at + 1 :]
        )
        result = _checked(file)
        assert result.exit_code in (0, 2, BROKEN), shlex.quote(result.output)
        if result.exit_code == 0:  # a byte of what nobody reads: statistics, a name of the library
            read = [{name: row[name] for name in COLUMNS} for row in sealed.read(file)[1]]
            assert read == made
