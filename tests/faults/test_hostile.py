"""Whatever comes from outside is read or refused in a sentence: no trace of a bug, nothing half."""

import os
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from haccp.cli.main import cli
from haccp.errors import Refused
from haccp.logs.csv_log import read_log
from haccp.record.exports import from_export
from tests.faults.making import chained, kitchen_drafts, make_kitchen, rows_by_hand, type_in
from tests.faults.parsing import (
    LIMITS,
    LOG,
    NASTIES,
    PROPERTIES,
    exports,
    good_enough,
    imports_a_chain,
)

# benchmarks/fuzz.py puts a hundred times as many in
EXAMPLES = min(int(os.environ.get("HACCP_EXAMPLES", "500")), 2_000)
SLOW = {
    "check",
    "check --json",
    "check --limits",
    "an import",
    "a command",
    "a limits file",
    "local limits",
}


@st.composite
def spoiled(draw: st.DrawFn, name: str) -> bytes:
    """A good input of some kind with a few things done to it that people and machines do."""
    content = draw(st.sampled_from(PROPERTIES[name][1]()))
    for _ in range(draw(st.integers(0, 4))):
        where = draw(st.integers(0, len(content)))
        cut = draw(st.sampled_from([0, 0, 1, 2, 7, 40]))
        piece = draw(
            st.sampled_from(NASTIES)
            | st.binary(max_size=6)
            | st.text(max_size=6).map(lambda text: text.encode("utf-8", "surrogatepass"))
        )
        content = content[:where] + piece + content[where + cut :]
    return content


@pytest.mark.parametrize("name", PROPERTIES)
def test_any_input_is_read_or_refused_in_a_sentence(name: str) -> None:
    @settings(
        max_examples=EXAMPLES // 10 if name in SLOW else EXAMPLES,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(content=spoiled(name) | st.binary(max_size=60))
    @example(content=b"")
    def holds(content: bytes) -> None:
        good_enough(name, content)

    holds()


@pytest.mark.parametrize("name", PROPERTIES)
def test_every_nasty_thing_alone_and_before_and_after_a_good_input(name: str) -> None:
    good = PROPERTIES[name][1]()[0]
    for nasty in NASTIES:
        for content in {nasty, nasty + good, good + nasty}:
            good_enough(name, content)


@pytest.mark.parametrize("name", PROPERTIES)
def test_a_good_input_is_read(name: str) -> None:
    """So that no property above holds only because everything is refused."""
    assert good_enough(name, PROPERTIES[name][1]()[0])


ENCODINGS = ["utf-16", "utf-16-le", "utf-32", "latin-1", "cp1252", "utf-7", "cp037", "shift_jis"]


@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize("name", ["a log", "local limits", "an export", "check"])
def test_a_file_in_another_encoding_is_refused_or_read_as_it_is(name: str, encoding: str) -> None:
    text = PROPERTIES[name][1]()[0].decode() + "# café\n"
    good_enough(name, text.encode(encoding, "replace"))


@pytest.mark.parametrize("ends", ["\r", "\r\n", "\n\r", "\n\n", "\x0b\n", "\u2028"])
def test_line_ends_of_every_kind_lose_no_row(ends: str) -> None:
    content = LOG.replace(b"\n", ends.encode())
    try:
        log = read_log(content)
    except Refused:
        return
    assert len(log.rows) + len(log.rejected) == 7


def test_a_cell_of_many_megabytes_costs_one_line_and_not_the_file() -> None:
    header, *rows = LOG.splitlines(keepends=True)
    for size in (2_001, 131_073, 5_000_000):
        content = header + b"stew,cool,60,98,F,,,," + b"n" * size + b"\n" + b"".join(rows)
        log = read_log(content)
        assert log.rejected[0].line == 2
        assert len(log.rows) + len(log.rejected) == 1 + len(rows)


def test_a_quote_that_is_never_closed_is_named_and_no_reading_after_it_is_lost_unsaid() -> None:
    header = LOG.splitlines(keepends=True)[0]
    content = header + b'stew,cool,60,98,F,,,"open\nstew,cool,90,97,F,,,\n'
    log = read_log(content)
    assert not log.rows
    assert [one.line for one in log.rejected] == [2]


FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0", "\t=1"]


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_note_that_a_spreadsheet_would_run_is_kept_as_text(formula: str, tmp_path: Path) -> None:
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    entered = type_in(path, "action", "stew", "--", formula)
    assert entered.exit_code in (0, 2)
    for form in ("csv", "json"):
        file = tmp_path / f"export.{form}"
        assert type_in(path, "export", str(file)).exit_code == 0
        assert from_export(file.read_bytes()) == rows_by_hand(path)


HOSTILE_IMPORTS = {
    "a number that no database holds": b"\x10\x06\x06",
    "a number below any that a database holds": b"\x10\x06\x07",
    "a correction of no entry": b"\x10\x06\x01",
    "a correction of an entry to come": b"\x10\x06\x14",
    "a body that is a list": b"\x0f\x07\x04",
    "a body of another kind": b"\x0f\x07\x09",
    "a body nested without end": b"\x0f\x07\x18",
    "a time that is none": b"\x0f\x02\x00",
    "an empty moment of entry": b"\x0f\x01\x00",
    "a temperature that is a word": b"\x0d\x07\x36",
    "a step that is none": b"\x0d\x07\x3b",
    "a degree that is none": b"\x0d\x07\x40",
    "a hold that is a word": b"\x0d\x07\x4a",
    "a day that is none": b"\x14\x07\x45",
    "a unit that is neither hot nor cold": b"\x05\x07\x54",
    "a batch made from itself": b"\x08\x07\x59",
    "a temperature that is no number": b"\x0d\x07\x5e",
    "a zone that is none": b"\x00\x07\x72",
    "a text of half a character": b"\x0f\x03\x01\x80",
    "a name with a carriage return": b"\x0f\x03\x01\r",
    "a name with a NUL": b"\x0f\x03\x01\0",
    "a batch of no name": b"\x0f\x04\x00",
}


@pytest.mark.parametrize("what", HOSTILE_IMPORTS)
def test_an_export_whose_chain_was_computed_anew_is_imported_whole_or_not(what: str) -> None:
    """Nobody needs a secret to chain entries, so what is in them is anybody's."""
    try:
        imports_a_chain(HOSTILE_IMPORTS[what])
    except Refused:
        return


ZEROS = "0" * 64
COLUMNS = "previous,seq,kind,entered_at,at,person,batch,unit,corrects,body,digest"
MOMENT = "2026-10-26T18:00:00Z"


def json_of(*, person: str = "JM", body: str = "{}", head: str = f'"{ZEROS}"') -> str:
    entry = f'["{ZEROS}",1,"used up","{MOMENT}","{MOMENT}","{person}",null,null,null,"{body}"]'
    return f'{{"format":"haccp record","version":1,"head":{head},"entries":[{entry}]}}'


def csv_of(*, body: str = "{}") -> str:
    return f"{COLUMNS}\n{ZEROS},1,used up,{MOMENT},{MOMENT},JM,,,,{body},{ZEROS}\n"


HOSTILE_EXPORTS = {
    "half a character": json_of(person="\\ud800"),
    "half a character in a body": json_of(body="{}\\udfff"),
    "a body nested without end": json_of(body="[" * 100_000),
    "a body that is a number": json_of(body="5"),
    "a file nested without end": '{"format":' + "[" * 100_000,
    "a number without end": '{"format":"haccp record","version":' + "9" * 5_000 + "}",
    "a head that is a number": json_of(head="1"),
    "a head that is a list": json_of(head="[]"),
    "entries that are texts": '{"format":"haccp record","version":1,"head":"","entries":["abcdefghij"]}',
    "entries that are a text": '{"format":"haccp record","version":1,"head":"","entries":"abc"}',
    "a format that is a list": '{"format":["haccp record"],"version":1}',
    "too few columns": "previous,seq\n1,2\n",
    "a row too long": f"{COLUMNS}\n" + "1," * 40,
    "a body nested without end in CSV": csv_of(body="[" * 100_000),
    "a body that is a list in CSV": csv_of(body="[]"),
}


@pytest.mark.parametrize("what", HOSTILE_EXPORTS)
def test_a_hostile_export_is_refused_in_a_sentence(what: str) -> None:
    with pytest.raises(Refused):
        from_export(HOSTILE_EXPORTS[what].encode())


HOSTILE_LIMITS = {
    "nested without end": b"x = " + b"[" * 5_000,
    "tables nested without end": b"x = " + b"{a=" * 5_000,
    "a number without end": LIMITS.replace(b"f = 38", b"f = " + b"9" * 5_000),
    "an exponent without end": LIMITS.replace(b"f = 38", b"f = 1e" + b"9" * 40),
    "a number too large to reckon with": LIMITS.replace(b"f = 38", b"f = 1e9999999"),
    "a fraction without end": LIMITS.replace(b"f = 38", b"f = 1e-" + b"9" * 40),
    "no number": LIMITS.replace(b"f = 38", b"f = nan"),
    "an infinite number": LIMITS.replace(b"f = 38", b"f = -inf"),
    "a limit that is a number": b"limit = [1]",
    "limits that are a table": b"[limit]\nname = 1",
    "a date": LIMITS.replace(b"f = 38", b"f = 2026-10-26"),
    "a date that is none": LIMITS.replace(b"f = 38", b"f = 2026-99-26"),
    "a key of no letters": LIMITS + b'\n"\\u202e" = 1\n',
    "rows of texts": LIMITS.replace(b"f = 38\nc = 3", b'rows = [["a", "b", "c"]]'),
    "rows of nothing": LIMITS.replace(b"f = 38\nc = 3", b"rows = [[]]"),
}


@pytest.mark.parametrize("what", HOSTILE_LIMITS)
def test_a_hostile_limits_file_is_refused_in_a_sentence(what: str, tmp_path: Path) -> None:
    file, log = tmp_path / "local.toml", tmp_path / "log.csv"
    file.write_bytes(HOSTILE_LIMITS[what])
    log.write_bytes(LOG)
    result = type_in(tmp_path / "none", "check", str(log), "--limits", str(file))
    assert result.exit_code == 2, result.output
    assert len(result.stderr.splitlines()) == 1
    assert result.stderr.startswith("Refused: ")


def test_a_hostile_reading_file_is_loaded_whole_or_not_at_all(tmp_path: Path) -> None:
    path, file = tmp_path / "record.sqlite3", tmp_path / "log.csv"
    rows = make_kitchen(path)
    header = b"batch,step,taken_at,temp,unit,note\n"
    good = b"stew,cool,2026-10-26T12:30-06:00,98,F,fine\n"
    for nasty in NASTIES:
        if nasty in (b"", b"F"):
            continue
        for bad in (
            b"stew,cool,2026-10-26T12:30-06:00," + nasty + b",F,\n",
            b"stew,cool," + nasty + b",98,F,\n",
            nasty + b",cool,2026-10-26T12:30-06:00,98,F,\n",
        ):
            file.write_bytes(header + good + bad)
            result = type_in(path, "load", str(file))
            assert result.exit_code in (0, 2), (nasty, result.output)
            there = rows_by_hand(path)
            assert len(there) == len(rows) + (2 if result.exit_code == 0 else 0), nasty
            rows = there


def test_what_is_remembered_of_who_records_may_be_anything(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file belongs to whoever uses the terminal."""
    path = tmp_path / "record.sqlite3"
    make_kitchen(path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    (tmp_path / "haccp").mkdir()
    for content in (
        b"\xff\xfe",
        b"",
        b"\0",
        b"XX",
        "\u202e".encode(),
        b"JM\nAR",
        b"9" * 100_000,
        b"[]",
        b"[" * 9_999,
    ):
        (tmp_path / "haccp" / "by").write_bytes(content)
        result = CliRunner(env={"HACCP_BY": None}).invoke(
            cli, ["--db", str(path), "action", "stew", "stirred"]
        )
        assert result.exit_code in (0, 2), (content, result.output)


def test_the_good_chain_is_one_that_this_program_makes() -> None:
    assert from_export(exports()[1]) == chained(kitchen_drafts())[:12]
