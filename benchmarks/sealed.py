"""What a sealed month costs: bytes of an entry as Parquet, beside the record's file and its JSON.

    python -m benchmarks.sealed [DAYS]          (default: 31)

The record is synthetic (tests/years: some 770 entries a day). Where DuckDB is installed, it reads the
file too, and counts what is in it beside what the record says.
"""

import sys
import time
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from zoneinfo import ZoneInfo

from haccp.record import sealed
from haccp.record.exports import json_pieces
from haccp.record.store import open_record
from tests.years import make_years

OCTOBER_ENDS = datetime(2026, 11, 1, 6, tzinfo=UTC)


def main(days: int) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "record.sqlite3"
        make_years(path, days, OCTOBER_ENDS)
        with closing(open_record(path, create=False)) as record:
            identity = record.numbered((1,))[0].digest
            begun = time.process_time()
            told, content = sealed.seal(record, identity, "2026-10", ZoneInfo("UTC"), OCTOBER_ENDS)
            took = time.process_time() - begun
            rows = list(record.rows(told.first))[: told.entries]
        file = Path(folder) / "2026-10.parquet"
        file.write_bytes(content)
        begun = time.process_time()
        assert sealed.misfit_of(*sealed.read(file)) is None
        walked = time.process_time() - begun
        as_json = sum(len(piece.encode()) for piece in json_pieces(rows, told.head))
        in_file = path.stat().st_size * told.entries / (told.first - 1 + told.entries)
        count = told.entries
        print(f"{count:,} entries; sealed in {took:.2f} s of CPU, walked in {walked:.2f} s")
        print(
            f"bytes an entry: Parquet {len(content) / count:.1f}, JSON {as_json / count:.0f}, the record's file "
            f"with all that is derived {in_file / count:.0f}"
        )
        in_duckdb(file, count)


def in_duckdb(file: Path, count: int) -> None:
    try:
        import duckdb
    except ImportError:
        print("DuckDB is not installed: not read by it")
        return
    begun = time.process_time()
    asked = f"""
        SELECT unit, count(*), min(CAST(body->>'temp' AS DECIMAL(6, 1))), max("at")
        FROM '{file}' WHERE kind = 'reading' AND unit IS NOT NULL GROUP BY unit ORDER BY unit
    """
    rows = duckdb.sql(asked).fetchall()
    ((every,),) = duckdb.sql(f"SELECT count(*) FROM '{file}'").fetchall()
    assert every == count
    print(
        f"DuckDB {duckdb.__version__}: {len(rows)} units counted in {time.process_time() - begun:.2f} s of CPU; {rows[0]}"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 31)
