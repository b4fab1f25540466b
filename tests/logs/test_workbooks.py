"""Workbooks: midnights, days and clocks apart, several sheets, and what only looks like one."""

import io
import zipfile
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import openpyxl  # type: ignore[import-untyped]
import pytest

from haccp.errors import Refused
from haccp.logs.sheet import sheet_of
from tests.logs.test_logger_file import read


def workbook(*sheets: tuple[str, list[list[Any]]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets:
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_moments_that_are_midnight_are_read_as_such() -> None:
    begins = datetime(2026, 10, 20)  # noqa: DTZ001
    rows = [[begins + timedelta(minutes=20 * k), 38.1 + k / 10] for k in range(80)]
    found = read(workbook(("Log", [["When", "Probe 1 (°F)"], *rows])))["Probe 1"]
    assert len(found) == 80
    assert found[0][0] == datetime(2026, 10, 20, 6, 0, tzinfo=UTC)
    assert [str(temp) for _, temp in found[:3]] == ["38.1", "38.2", "38.3"]


def test_days_and_clocks_in_two_columns() -> None:
    rows = [[date(2026, 10, 20), time(9, 5 * k), 38.5] for k in range(4)]
    found = read(workbook(("Log", [["Day", "Clock", "Probe 1 (°F)"], *rows])))["Probe 1"]
    assert [at.minute for at, _ in found] == [0, 5, 10, 15]


def test_which_of_several_sheets_is_asked() -> None:
    rows: list[list[Any]] = [["When", "Probe 1 (°F)"], [datetime(2026, 10, 20, 9), 38.5]]  # noqa: DTZ001
    content = workbook(("One", rows), ("Two", rows))
    with pytest.raises(Refused, match="One, Two: say which one, with --sheet"):
        sheet_of(content)
    assert sheet_of(content, "Two").how == "Two"
    with pytest.raises(Refused, match="no sheet 'Three'"):
        sheet_of(content, "Three")


def test_a_workbook_that_unpacks_to_more_than_a_log_can_be_is_refused_unread() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts:
        for number in range(6):
            with parts.open(f"xl/worksheets/sheet{number}.xml", "w", force_zip64=True) as part:
                for _ in range(100):
                    part.write(b" " * 1_000_000)
    assert len(out.getvalue()) < 1_000_000
    with pytest.raises(Refused, match="unpacks to more than 500 MB"):
        sheet_of(out.getvalue())
