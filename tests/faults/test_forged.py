"""Somebody forges the body of an entry and chains the record anew: told of, and nothing stops."""

import json
import shutil
from collections.abc import Sequence
from dataclasses import fields
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from haccp.errors import Refused
from haccp.record.bodies import KINDS
from haccp.record.derived import rebuild
from haccp.record.domains import DOMAINS
from haccp.record.exports import to_json
from tests.faults.making import (
    INSERT,
    an_attacker,
    digest_by_hand,
    make_kitchen,
    noon,
    opened,
    reading,
    rows_by_hand,
    type_in,
)

FORGED: tuple[Any, ...] = (
    None, True, False, 0, -1, 7, 10**9, 10**400, 1.5, float("nan"), float("inf"), "", " ", "x",
    "NaN", "Infinity", "-1e400", "1e400", "1e-400", "9" * 400, "-999", "99999", "98", "98F", "0",
    "2026-02-30", "0000-00-00", "9999-12-31", "9999-12-31T23:59:59Z", "hot", "F", "cook", "none",
    "still dry", "receive", "stew", "well-1", "AR", "\0", "\u202e", "\ud800", "é" * 3, "n" * 70_000,
    [], [""], ["stew"], ["rice", "rice"], ["0 nan 1 2"], ["1 2"], [None], [[]], {}, {"a": 1},
    ["0 1 2 3"] * 6_000,
)  # fmt: skip
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("hold", "well-1", "141"),
    ("cool", "stew", "77"),
    ("status",),
    ("status", "--json"),
    ("show", "stew"),
    ("show", "rice"),
    ("show", "well-1"),
    ("list", "batches"),
    ("list", "entries"),
    ("sign", "2026-10-26", "--note", "seen"),
    ("action", "stew"),
    ("kitchen",),
    ("record", "unusual", "2026-10-26"),
)


@cache
def untouched() -> tuple[Path, list[dict[str, Any]]]:
    path = Path(mkdtemp()) / "record.sqlite3"
    return path, make_kitchen(path, readings=3)


def forged_rows(number: int, **columns: object) -> list[dict[str, Any]]:
    """The record's rows with one altered, and every digest from there on computed anew."""
    rows = [dict(row) for row in untouched()[1]]
    rows[number - 1].update(columns)
    for before, row in zip([None, *rows], rows, strict=False):
        row["previous"] = before["digest"] if before else "0" * 64
        row["digest"] = digest_by_hand_of(row)
    return rows


def digest_by_hand_of(row: dict[str, Any]) -> str:
    try:
        return digest_by_hand(row)
    except (UnicodeEncodeError, TypeError):  # half a character: no digest can be made of it
        return "f" * 64


def write_past_the_guards(path: Path, rows: Sequence[dict[str, Any]]) -> None:
    """Put rows in place of a record's own, without its triggers and checks."""
    shutil.copy(untouched()[0], path)
    with an_attacker(path) as connection:
        connection.execute("DELETE FROM entry")
        connection.executemany(INSERT, rows)
        rebuild(connection)


def number_of(kind: str) -> int:
    return next(int(row["seq"]) for row in untouched()[1] if row["kind"] == kind)


def body_of(kind: str, **fields_: object) -> str:
    """The first body of a kind with some fields forged, as a forger writes it."""
    row = untouched()[1][number_of(kind) - 1]
    return json.dumps({**json.loads(row["body"]), **fields_}, sort_keys=True)


def assert_answered(path: Path, *commands: tuple[str, ...]) -> None:
    """Hold that commands answer or refuse in a sentence, whatever the record holds."""
    for words in commands:
        result = type_in(path, *words)
        assert result.exit_code in (0, 1, 2, 3), f"{words}: {result.output}"
        assert "Traceback" not in result.output, result.output


EVERY_FIELD = [
    (kind, field.name) for kind, made in KINDS.items() for field in fields(made)
]  # the same that DOMAINS has


def test_every_field_of_every_kind_has_a_domain() -> None:
    assert {(kind, name) for kind, known in DOMAINS.items() for name in known} == set(EVERY_FIELD)


def forging(kind_and_field: tuple[str, str], value: object, tmp: Path) -> None:
    kind, name = kind_and_field
    number = number_of(kind)
    rows = forged_rows(number, body=body_of(kind, **{name: value}))
    path = tmp / "forged.sqlite3"
    write_past_the_guards(path, rows)
    readable = type_in(path, "list", "entries", "--json")
    page = ("report", "2026-10-26", "--output", str(tmp / "page.pdf"))
    assert_answered(path, *COMMANDS, page)
    imported = tmp / "imported.sqlite3"
    imported.unlink(missing_ok=True)
    (tmp / "export.json").write_bytes(to_json(rows).encode("utf-8", "surrogatepass"))
    done = type_in(imported, "import", str(tmp / "export.json"))
    assert done.exit_code in (0, 2), done.output
    if done.exit_code == 0:
        assert readable.exit_code in (0, 2), readable.output
        assert_answered(imported, *COMMANDS[:8], page)
        return
    assert done.stderr.startswith("Refused: ")
    assert f"{number}" in done.stderr, done.stderr
    if kind != "kitchen":
        told = type_in(path, "list", "entries")
        assert told.exit_code == 0, told.output
        assert "cannot be read" in told.stdout


@settings(max_examples=30, suppress_health_check=[*HealthCheck])
@given(where=st.sampled_from(EVERY_FIELD), value=st.sampled_from(FORGED))
def test_a_forged_field_stops_nothing(
    where: tuple[str, str], value: object, tmp_path: Path
) -> None:
    forging(where, value, tmp_path)


COLUMNS = {
    "kind": ("reading of the future", "", "n" * 5_000, 7),
    "at": ("", "soon", "9999-12-31T23:59:59Z", "2026-W44-1T18:00:00Z", "2026-10-26 18:00:00", 3.5),
    "entered_at": ("", "soon", "0001-01-01T00:00:00Z", "2026-10-26T18:00:00+14:00", 0),
    "person": ("", "n" * 5_000, 1.5, b"\xff"),
    "batch": ("", "n" * 5_000, "\x1b[31m", 5),
    "unit": ("", "n" * 5_000, 5),
    "body": ("[]", "7", '""', "{" * 3, "[" * 5_000, '{"a": 1}', "{}"),
}


@settings(max_examples=20, suppress_health_check=[*HealthCheck])
@given(number=st.integers(2, 35), forged=st.sampled_from([*COLUMNS]), data=st.data())
def test_a_forged_column_of_any_entry_stops_nothing(
    number: int, forged: str, data: st.DataObject, tmp_path: Path
) -> None:
    path = tmp_path / "forged.sqlite3"
    value = data.draw(st.sampled_from(COLUMNS[forged]))
    write_past_the_guards(path, forged_rows(number, **{forged: value}))
    page = ("report", "2026-10-26", "--output", str(tmp_path / "page.pdf"))
    assert_answered(path, *COMMANDS, ("record", "verify"), page)
    assert type_in(path, "list", "entries").exit_code == 0


def forged_reading(tmp_path: Path) -> tuple[Path, int]:
    """The record with a temperature of stew that is a word, and its number."""
    number = untouched()[1][-1]["seq"]
    path = tmp_path / "forged.sqlite3"
    write_past_the_guards(path, forged_rows(number, body=body_of("reading", temp="warm")))
    return path, number


def test_an_entry_that_cannot_be_read_is_told_of_wherever_it_is_missed(tmp_path: Path) -> None:
    path, number = forged_reading(tmp_path)
    why = f"Entry no. {number} (reading about stew) cannot be read: its 'temp' is not a number"
    status = type_in(path, "status").stdout
    assert status.startswith("ENTRIES OF THIS RECORD CANNOT BE READ")
    assert f"Entry no. {number}" in " ".join(status.split())
    shown = json.loads(type_in(path, "show", "stew", "--json").stdout)
    assert shown["verdict"] in ("not shown", "not met")
    assert any(one["reason"].startswith(why) for one in shown["findings"])
    listed = json.loads(type_in(path, "list", "entries", "--json").stdout)
    assert listed[number - 1]["body"]["cannot be read"].startswith("its 'temp' is not")
    verified = type_in(path, "record", "verify")
    assert verified.exit_code == 3
    assert f"DOES NOT HOLD: {why}" in verified.stdout
    assert "settle it" in type_in(path, "sign", "2026-10-26").stderr
    page = tmp_path / "page.pdf"
    assert type_in(path, "report", "2026-10-26", "--output", str(page)).exit_code == 0
    text = " ".join(part.extract_text() for part in PdfReader(page).pages)
    assert why in " ".join(text.split())


def test_what_is_a_portion_of_it_is_not_shown_either(tmp_path: Path) -> None:
    path, _ = forged_reading(tmp_path)
    split = type_in(path, "split", "stew", "2", "--yes")
    assert split.exit_code == 0, split.output
    codes = [one["code"] for one in json.loads(type_in(path, "list", "batches", "--json").stdout)]
    portions = [code for code in codes if code.startswith("stew") and code != "stew"]
    assert portions
    for code in portions:
        shown = json.loads(type_in(path, "show", code, "--json").stdout)
        assert any("cannot be read" in one["reason"] for one in shown["findings"]), code


def test_a_batch_whose_opening_cannot_be_read_is_named_and_its_code_stays_taken(
    tmp_path: Path,
) -> None:
    path = tmp_path / "forged.sqlite3"
    number = number_of("batch")
    write_past_the_guards(path, forged_rows(number, body=body_of("batch", oven="wood")))
    told = type_in(path, "show", "stew")
    assert told.exit_code == 2
    assert f"How stew was opened is not known. Entry no. {number} (batch about stew)" in told.stderr
    again = type_in(path, "batch", "stew", "--code", "stew")
    assert again.exit_code == 2


def test_a_kitchen_whose_only_settings_cannot_be_read_says_which_entry(tmp_path: Path) -> None:
    path = tmp_path / "forged.sqlite3"
    write_past_the_guards(path, forged_rows(1, body=body_of("kitchen", zone="Mars/Olympus")))
    told = type_in(path, "status")
    assert told.exit_code == 2
    assert "(entry no. 1) cannot be read" in told.stderr


def test_nothing_that_could_not_be_read_again_is_recorded(tmp_path: Path) -> None:
    path = Path(shutil.copy(untouched()[0], tmp_path / "record.sqlite3"))
    before = rows_by_hand(path)
    with opened(path) as record:
        for temp in ("warm", "NaN", "1e400", ""):
            with pytest.raises(Refused, match="Such a reading cannot be recorded: its 'temp'"):
                record.append([reading(temp)], noon)
    assert rows_by_hand(path) == before
