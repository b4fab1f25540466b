"""`haccp check-file` end to end: what a person types, reads and gets as an exit code.

All readings, batches and local codes here are invented.
"""

import csv
import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from haccp.cli.main import cli
from haccp.errors import Refused
from haccp.logs import csv_log
from haccp.logs.csv_log import read_log
from tests.local_codes import COLD_AT_45

HEADER = "batch,step,taken_at,temp,unit\n"
MET = HEADER + "stew,cool,0,135,F\nstew,cool,60,70,F\nstew,cool,300,41,F\n"
NOT_MET = HEADER + "stew,cool,0,135,F\nstew,cool,121,75,F\n"
SHORT_OF_70 = HEADER + "stew,cool,0,135,F\nstew,cool,60,100,F\n"


def run(content: str | bytes, *options: str) -> Result:
    return CliRunner().invoke(cli, ["check", "-", *options], input=content)


def judged(content: str | bytes, *options: str) -> dict[str, Any]:
    ran = run(content, "--json", *options)
    assert ran.exit_code in (0, 1, 2), ran.output
    answer: dict[str, Any] = json.loads(ran.stdout)
    return answer


def verdicts(content: str | bytes, *options: str) -> dict[str, str]:
    return {one["batch"]: one["verdict"] for one in judged(content, *options)["batches"]}


# Exit codes


def test_all_met_is_0() -> None:
    assert run(MET).exit_code == 0


def test_a_deviation_and_nothing_else_is_1() -> None:
    assert run(NOT_MET).exit_code == 1
    assert run(SHORT_OF_70).exit_code == 1


def test_open_is_0() -> None:
    ran = run(SHORT_OF_70, "--as-of", "60")
    assert ran.exit_code == 0
    assert "OPEN" in ran.stdout


def test_stopped_is_0() -> None:
    reheated = (
        "batch,step,taken_at,temp,unit,held_s\n"
        "stew,cool,0,135,F,\nstew,cool,60,100,F,\n"
        "stew,reheat,70,100,F,\nstew,reheat,90,165,F,15\n"
    )
    assert {f["verdict"] for f in judged(reheated)["batches"][0]["findings"]} == {"stopped", "met"}
    assert run(reheated).exit_code == 0


def test_a_rejected_line_is_2_whatever_else_there_is() -> None:
    assert run(MET + "stew,cool,soon,41,F\n").exit_code == 2
    assert run(NOT_MET + "stew,cool,soon,41,F\n").exit_code == 2


class Interrupting(io.BytesIO):
    def read(self, size: int | None = -1, /) -> bytes:
        if size == 0:  # the test runner asks whether these are bytes
            return b""
        raise KeyboardInterrupt


class Broken(io.BytesIO):
    def read(self, size: int | None = -1, /) -> bytes:
        if size == 0:
            return b""
        raise RuntimeError("invented fault")


def test_interrupted_is_130() -> None:
    ran = CliRunner().invoke(cli, ["check", "-"], input=Interrupting())
    assert ran.exit_code == 130
    assert "Interrupted" in ran.stderr


def test_a_bug_is_70_and_shows_its_trace() -> None:
    ran = CliRunner().invoke(cli, ["check", "-"], input=Broken())
    assert ran.exit_code == 70
    assert "invented fault" in ran.stderr
    assert "Traceback" in ran.stderr


@pytest.mark.parametrize(
    "arguments",
    [
        ["check"],
        ["check", "no-such-file.csv"],
        ["check", "."],
        ["check", "-", "--no-such-option"],
        ["check", "-", "--limits", "no-such-file.toml"],
        ["chek"],
    ],
)
def test_a_slip_on_the_command_line_is_2(arguments: list[str]) -> None:
    ran = CliRunner().invoke(cli, arguments, input=MET)
    assert ran.exit_code == 2
    assert ran.stdout == ""
    assert ran.stderr


def test_help_is_0() -> None:
    for arguments in (["--help"], ["check", "-h"], ["--version"]):
        assert CliRunner().invoke(cli, arguments).exit_code == 0


def test_a_file_and_standard_input_are_judged_alike(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(NOT_MET)
    from_file = CliRunner().invoke(cli, ["check", str(path)])
    assert (from_file.exit_code, from_file.stdout) == (1, run(NOT_MET).stdout)


def test_the_installed_command_judges_standard_input() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "haccp", "check", "-", "--json"],
        input=NOT_MET.encode(),
        capture_output=True,
        check=False,
    )
    assert ran.returncode == 1
    assert json.loads(ran.stdout)["batches"][0]["verdict"] == "not met"


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
@pytest.mark.parametrize("options", [[], ["--json"]])
def test_an_output_that_cannot_write_a_letter_still_gets_its_verdict(
    encoding: str, options: list[str]
) -> None:
    """A batch named in another script, printed to a pipe in an older encoding."""
    ran = subprocess.run(
        [sys.executable, "-m", "haccp", "check", "-", *options],
        input=NOT_MET.replace("stew", "粥").encode(),
        capture_output=True,
        check=False,
        env={"PYTHONIOENCODING": encoding, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert ran.returncode == 1, ran.stderr
    assert b"not met" in ran.stdout.lower()


# What people read


def test_the_table_says_the_verdict_the_citation_and_why() -> None:
    out = run(NOT_MET).stdout
    assert "stew: NOT MET" in out
    assert "3-501.14(A)(1)" in out
    assert "75 °F at minute 121" in " ".join(out.split())
    assert "FDA Food Code 2022" in out
    assert "local health code" in out


def test_moments_are_told_in_the_notation_of_the_file() -> None:
    dated = (
        HEADER + "stew,cool,2026-10-31T18:00-06:00,135,F\nstew,cool,2026-10-31T20:01-06:00,75,F\n"
    )
    assert "2026-10-31 20:01 -0600" in " ".join(run(dated).stdout.split())


# Rejected lines


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("stew,chill,0,135,F", "'chill' is no step"),
        ("stew,COOL,0,135,F", "'COOL' is no step"),
        ("stew,,0,135,F", "'' is no step"),
        ("stew,cool,noon,135,F", "'noon' is no moment"),
        ("stew,cool,,135,F", "'' is no moment"),
        ("stew,cool,2026-10-31T14:05,135,F", "no offset from UTC"),
        ("stew,cool,2026-10-31,135,F", "no offset from UTC"),
        ("stew,cool,2026-02-30T14:05Z,135,F", "no moment"),
        ("stew,cool,nan,135,F", "no moment"),
        ("stew,cool,1e3,135,F", "no moment"),
        ("stew,cool,999999999999,135,F", "no moment"),
        ("stew,cool,0001-01-01T00:00+14:00,135,F", "no moment"),
        ("stew,cool,0,warm,F", "'warm' is no temperature"),
        ("stew,cool,0,,F", "'' is no temperature"),
        ("stew,cool,0,1e2,F", "'1e2' is no temperature"),
        ("stew,cool,0,nan,F", "'nan' is no temperature"),
        ("stew,cool,0,135F,F", "'135F' is no temperature"),
        ('stew,cool,0,"1,057",C', "'1,057' is no temperature"),
        ("stew,cool,0,1350,F", "no food is at 1350 °F"),
        ("stew,cool,0,-61,F", "no food is at -61 °F"),
        ("stew,cool,0,260,C", "no food is at 260 °C"),
        ("stew,cool,0,135,K", "'K' is no unit"),
        ("stew,cool,0,135,", "'' is no unit"),
        ("stew,cool,0,135", "4 cells where the header has 5"),
        ("stew,cool,0,135,F,x", "6 cells where the header has 5"),
        (",cool,0,135,F", "names no batch"),
    ],
)
def test_a_line_that_cannot_be_judged_is_named_with_its_number_and_why(line: str, why: str) -> None:
    content = MET + line + "\n"
    ran = run(content)
    assert ran.exit_code == 2
    assert "Line 5 is rejected" in ran.stderr
    assert why in ran.stderr
    (rejected,) = judged(content)["rejected"]
    assert rejected["line"] == 5
    assert why in rejected["why"]


@pytest.mark.parametrize("held", ["a while", "-1", "1e1", "15 s", "0x10"])
def test_a_hold_that_is_no_number_is_rejected(held: str) -> None:
    content = f"batch,step,taken_at,temp,unit,held_s\nstew,reheat,0,170,F,{held}\n"
    assert "is no hold" in judged(content)["rejected"][0]["why"]


def test_a_cell_as_long_as_a_book_is_rejected() -> None:
    content = f"batch,step,taken_at,temp,unit,note\nstew,cool,0,135,F,{'x' * 2001}\n"
    assert "longer than 2000" in judged(content)["rejected"][0]["why"]
    content = f"batch,step,taken_at,temp,unit,note\nstew,cool,0,135,F,{'x' * 200_000}\nstew,cool,5,135,F,\n"
    answer = judged(content)
    assert [one["line"] for one in answer["rejected"]] == [2]
    assert answer["batches"][0]["verdict"] != "met"


def test_a_file_larger_than_any_log_is_refused_before_it_is_read(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(csv_log, "LARGEST_FILE", len(MET))
    assert run(MET).exit_code == 0
    ran = run(MET + "\n" * 1000)
    assert ran.exit_code == 2
    assert "larger than" in ran.stderr
    assert ran.stdout == ""
    file = io.BytesIO(MET.encode() * 1000)
    with pytest.raises(Refused):
        csv_log.read_file(file)
    assert file.tell() == len(MET) + 1


def test_a_file_of_more_rows_than_any_log_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(csv_log, "MOST_ROWS", 3)
    assert run(MET).exit_code == 0
    for more in ("stew,cool,400,40,F\n", "stew,cool,never,40,F\n"):
        ran = run(MET + more)
        assert ran.exit_code == 2
        assert "more than 3 rows" in ran.stderr
        assert ran.stdout == ""


def test_a_batch_that_goes_back_and_forth_as_no_batch_does_is_refused() -> None:
    steps = [f"stew,{('hot_hold', 'cool')[i % 2]},{i},140,F\n" for i in range(1_002)]
    assert run(HEADER + "".join(steps[:-1])).exit_code in (0, 1)
    ran = run(HEADER + "".join(steps))
    assert ran.exit_code == 2
    assert "stew goes from one step to another more than 1,000 times" in ran.stderr


def test_a_batch_with_a_rejected_line_is_never_met_and_says_why() -> None:
    answer = judged(MET + "stew,cool,soon,41,F\n")
    (batch,) = answer["batches"]
    assert batch["verdict"] == "not shown"
    assert all("could not be read" in f["reason"] for f in batch["findings"])


def test_a_batch_whose_lines_were_all_read_is_judged_beside_one_with_a_rejected_line() -> None:
    content = MET + MET.removeprefix(HEADER).replace("stew", "rice") + "stew,cool,soon,41,F\n"
    assert verdicts(content) == {"stew": "not shown", "rice": "met"}


def test_a_line_that_names_no_batch_could_be_any_batchs() -> None:
    content = MET + MET.removeprefix(HEADER).replace("stew", "rice") + ",cool,100,75,F\n"
    assert verdicts(content) == {"stew": "not shown", "rice": "not shown"}


@pytest.mark.parametrize(
    "line",
    [
        "cool,200,80,F",  # the batch's cell was lost
        "stew, beef,cool,200,80,F",  # a comma in the batch's name, not quoted
    ],
)
def test_a_line_with_the_wrong_number_of_cells_could_be_any_batchs(line: str) -> None:
    """Where the cells have shifted, what stands in the batch's column is not the batch."""
    content = MET.replace("stew,", '"stew, beef",') + line + "\n"
    assert verdicts(content) == {"stew, beef": "not shown"}


def test_a_rejected_line_does_not_soften_what_is_not_met() -> None:
    assert verdicts(NOT_MET + "stew,cool,soon,41,F\n") == {"stew": "not met"}


def test_every_row_is_accepted_or_rejected() -> None:
    lines = ["stew,cool,0,135,F", "", ",,,,", "  ", "stew,cool,x,1,F", "a", "rice,cool,5,60,C"]
    log = read_log((HEADER + "\n".join(lines)).encode())
    assert [row.line for row in log.rows] == [2, 8]
    assert [one.line for one in log.rejected] == [6, 7]


# The header


@pytest.mark.parametrize(
    ("header", "why"),
    [
        ("batch,step,taken_at,temp", "no column 'unit'"),
        ("step,taken_at,temp,unit", "no column 'batch'"),
        ("batch;step;taken_at;temp;unit", "no column 'batch'"),
        ("stew,cool,0,135,F", "no column 'batch'"),
        ("batch,step,taken_at,temp,unit,cook", "'cook' that is not known"),
        ("batch,step,taken_at,temp,unit,", "'' that is not known"),
        ("batch,step,taken_at,temp,temp,unit", "a column twice"),
        ('"batch,step,taken_at,temp,unit', "no column 'batch'"),
    ],
)
def test_a_header_that_is_not_one_is_refused_as_a_whole(header: str, why: str) -> None:
    ran = run(f"{header}\nstew,cool,0,135,F\n")
    assert ran.exit_code == 2
    assert ran.stdout == ""
    assert ran.stderr.startswith("Refused: ")
    assert why in ran.stderr


def test_columns_come_in_any_order_and_any_case() -> None:
    content = "Unit, TEMP ,taken_at,step,batch,note\nF,135,0,cool,stew,x\nF,75,121,cool,stew,\n"
    assert verdicts(content) == {"stew": "not met"}


@pytest.mark.parametrize("content", ["", "\n", HEADER, HEADER + "\n\n", "\ufeff" + HEADER])
def test_a_file_without_a_reading_is_refused(content: str) -> None:
    ran = run(content)
    assert ran.exit_code == 2
    assert "Refused" in ran.stderr
    assert "MET" not in ran.stdout
    assert run(content, "--json").exit_code == 2


# Files as they come out of spreadsheets and loggers


def test_a_byte_order_mark_is_not_part_of_the_first_column() -> None:
    assert verdicts(b"\xef\xbb\xbf" + MET.encode()) == {"stew": "met"}


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_line_end_will_do(end: str) -> None:
    content = (MET + "stew,cool,soon,41,F\n").replace("\n", end)
    answer = judged(content.encode())
    assert [one["line"] for one in answer["rejected"]] == [5]
    assert len(answer["batches"]) == 1


def test_mixed_line_ends_are_counted_as_an_editor_counts_them() -> None:
    content = HEADER + "stew,cool,0,135,F\r\nstew,cool,60,70,F\rstew,cool,soon,50,F\nstew,x"
    assert [one["line"] for one in judged(content.encode())["rejected"]] == [4, 5]


def test_a_row_over_several_lines_is_named_by_its_first() -> None:
    content = (
        "batch,step,taken_at,temp,unit,note\n"
        'stew,cool,0,135,F,"two\nlines"\nstew,cool,soon,70,F,"two\nlines"\nstew,cool,x,70,F,\n'
    )
    assert [one["line"] for one in judged(content)["rejected"]] == [4, 6]


def test_an_unclosed_quote_is_named_and_leaves_no_batch_met() -> None:
    """What it swallowed may have been any batch's."""
    content = MET + MET.removeprefix(HEADER).replace("stew", "rice") + 'soup,cool,0,"135,F\nx,y\n'
    answer = judged(content)
    assert [one["line"] for one in answer["rejected"]] == [8]
    assert {one["verdict"] for one in answer["batches"]} == {"not shown"}
    assert run(content).exit_code == 2


def test_a_quote_in_the_middle_of_a_cell_is_named() -> None:
    answer = judged(MET + '"st"ew,cool,0,135,F\n')
    assert [one["line"] for one in answer["rejected"]] == [5]
    assert answer["batches"][0]["verdict"] == "not shown"


def test_nul_bytes_do_not_hide_a_row() -> None:
    log = read_log(MET.encode() + b"st\0ew,cool,0,135,F\nstew,cool,\0,135,F\n")
    assert len(log.rows) + len(log.rejected) == 5
    assert 6 in [one.line for one in log.rejected]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32", "latin-1"])
def test_another_encoding_is_refused_and_named(encoding: str) -> None:
    ran = run((MET + "gruyère,cool,0,135,F\n").encode(encoding))
    assert ran.exit_code == 2
    assert ran.stdout == ""
    assert "UTF-8" in ran.stderr or "no column 'batch'" in ran.stderr


def test_a_file_that_is_not_utf_8_says_on_which_line() -> None:
    assert "line 5" in run(MET.encode() + b"gruy\xe8re,cool,0,135,F\n").stderr


# Moments


DATED = (
    HEADER
    + "stew,cool,2026-10-31T23:30:00-06:00,135,F\n"
    + "stew,cool,2026-11-01T01:20:00-06:00,70,F\n"
    + "stew,cool,2026-11-01T04:29:00-07:00,41,F\n"
)


def test_dates_with_offsets_are_compared_in_real_time() -> None:
    """Through a night in which the clocks are put back: 23:30 to 04:29 is 5 h 59 min."""
    found = judged(DATED)["batches"][0]["findings"]
    assert [f["longest_min"] for f in found] == [110, 359]
    assert [f["verdict"] for f in found] == ["met", "met"]


def test_minutes_may_be_negative_and_have_decimals() -> None:
    content = HEADER + "stew,cool,-60.5,135,F\nstew,cool,59.5,70,F\nstew,cool,299.5,41,F\n"
    found = judged(content)["batches"][0]["findings"]
    assert [f["longest_min"] for f in found] == [120, 360]
    later = judged(content.replace("59.5", "59.75"))["batches"][0]["findings"]
    assert (later[0]["verdict"], later[0]["longest_min"]) == ("not shown", 120.25)


def test_minutes_and_dates_in_one_file_are_rejected_and_never_met() -> None:
    answer = judged(MET + "stew,cool,2026-11-01T01:20:00-06:00,70,F\n")
    assert [one["line"] for one in answer["rejected"]] == [5]
    assert "mixes minutes and dates" in answer["rejected"][0]["why"]
    assert answer["batches"][0]["verdict"] == "not shown"


@pytest.mark.parametrize(
    ("as_of", "verdict"),
    [
        ("2026-11-01T01:00-06:00", "open"),
        ("2026-11-01T07:00Z", "open"),
        ("2026-11-01T01:20-06:00", "open"),
        ("2026-11-01T04:29-07:00", "met"),
    ],
)
def test_as_of_a_date_counts_what_had_been_read_by_then(as_of: str, verdict: str) -> None:
    assert verdicts(DATED, "--as-of", as_of) == {"stew": verdict}


@pytest.mark.parametrize(
    ("as_of", "verdict"), [("0", "open"), ("60", "open"), ("120", "open"), ("120.1", "not shown")]
)
def test_as_of_a_minute(as_of: str, verdict: str) -> None:
    assert verdicts(SHORT_OF_70, "--as-of", as_of) == {"stew": verdict}


def test_as_of_a_negative_minute() -> None:
    content = HEADER + "stew,cool,-100,135,F\nstew,cool,0,60,F\n"
    assert verdicts(content, "--as-of", "-50") == {"stew": "open"}


@pytest.mark.parametrize("as_of", ["2026-11-01T04:29-07:00", "yesterday", "", "\x1b[2J", "nan"])
def test_as_of_in_another_notation_than_the_files_is_refused(as_of: str) -> None:
    ran = run(MET, "--as-of", as_of)
    assert ran.exit_code == 2
    assert ran.stdout == ""
    assert "\x1b" not in ran.stderr


@pytest.mark.parametrize("year", ["9999-12-31T23:30+00:00", "0001-01-01T00:30+00:00"])
def test_a_year_at_the_end_of_the_calendar_is_no_bug(year: str) -> None:
    content = f"{HEADER}stew,cool,{year},150,F\nstew,cool,{year},120,F\n"
    assert run(content).exit_code in (1, 2)


# --json


def test_json_has_the_documented_shape() -> None:
    answer = judged(MET + "rice,cool,0,128,F\nrice,cool,soon,41,F\n")
    assert {"batches", "rejected"} <= set(answer)
    assert [set(one) for one in answer["rejected"]] == [{"line", "why"}]
    for batch in answer["batches"]:
        assert set(batch) == {"batch", "findings", "verdict"}
        for finding in batch["findings"]:
            assert set(finding) == {
                "step", "limit", "citation", "verdict", "shortest_min", "longest_min", "reason",
            }  # fmt: skip
    stew, rice = answer["batches"]
    assert stew["findings"][0] == {
        "step": "cool",
        "limit": "cooling-stage-1",
        "citation": "3-501.14(A)(1)",
        "verdict": "met",
        "shortest_min": 0,
        "longest_min": 60,
        "reason": stew["findings"][0]["reason"],
    }
    assert rice["findings"][0]["longest_min"] is None
    assert answer["limits"]["id"] == "food-code-2022"


def test_json_is_all_that_is_on_standard_output() -> None:
    ran = run(MET + "stew,cool,soon,41,F\n", "--json")
    assert json.loads(ran.stdout)["rejected"]


def test_every_limit_goes_by_its_documented_name() -> None:
    rows = [
        "a,cook,0,165,F,", "a,hot_hold,10,140,F,", "a,cool,20,135,F,", "a,cool,60,70,F,",
        "a,cool,200,41,F,", "a,cold_hold,300,40,F,", "a,reheat,310,41,F,", "a,reheat,330,165,F,15",
    ]  # fmt: skip
    answer = judged("batch,step,taken_at,temp,unit,held_s\n" + "\n".join(rows))
    found = answer["batches"][0]["findings"]
    assert {(f["step"], f["limit"]) for f in found} == {
        ("cook", "cook"),
        ("hot_hold", "hot-holding"),
        ("cool", "cooling-stage-1"),
        ("cool", "cooling-stage-2"),
        ("cold_hold", "cold-holding"),
        ("reheat", "reheat"),
    }
    assert {f["verdict"] for f in found} == {"met"}


# Food made from ingredients at room temperature: 3-501.14(B), to 41 °F within 4 hours.


def by_limit(content: str) -> dict[str, str]:
    (batch,) = judged(content)["batches"]
    return {one["limit"]: one["verdict"] for one in batch["findings"]}


def ambient(*rows: str) -> str:
    return "batch,step,taken_at,temp,unit,prepared_at\n" + "\n".join(rows) + "\n"


def test_a_file_says_when_food_was_made_at_room_temperature() -> None:
    for cold, verdict in (("240", "met"), ("241", "not shown")):
        rows = ("tuna,cool,30,68,F,0", "tuna,cool,200,50,F,", f"tuna,cool,{cold},41,F,")
        found = by_limit(ambient(*rows))
        assert found == {"cooling-ambient": verdict}, cold
    # without the column it is a cooling of cooked food, whose start nobody read
    found = by_limit(HEADER + "tuna,cool,30,68,F\ntuna,cool,240,41,F\n")
    assert found["cooling-stage-1"] == "not shown"


def test_the_earliest_preparation_that_a_batch_s_lines_give_counts() -> None:
    rows = ("tuna,cool,60,68,F,50", "tuna,cool,250,41,F,0")
    assert by_limit(ambient(*rows)) == {"cooling-ambient": "not shown"}


def test_food_that_was_hot_is_not_made_at_room_temperature() -> None:
    rows = (
        "rice,cook,0,200,F,0",
        "rice,cool,10,140,F,",
        "rice,cool,130,70,F,",
        "rice,cool,370,41,F,",
    )
    found = by_limit(ambient(*rows))
    assert (found["cooling-stage-1"], found["cooling-stage-2"]) == ("met", "met")
    assert "cooling-ambient" not in found


def test_food_made_at_room_temperature_that_is_cooked_hours_later_stood_there_until_then() -> None:
    """3-501.14(B): cooked within its four hours it asks nothing, later it was never shown cold."""
    for minute, expected in ((240, None), (241, "not shown")):
        found = by_limit(ambient(f"rice,cook,{minute},200,F,0"))
        assert found.get("cooling-ambient") == expected, minute
        assert found["cook"] == "met"


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("tuna,cool,30,68,F,31", "is after its taken_at"),
        ("tuna,cool,30,68,F,noon", "is no moment"),
        ("tuna,cool,30,68,F,2026-10-26T08:00-06:00", "is not written as its taken_at is"),
    ],
)
def test_a_preparation_that_cannot_be_is_rejected_and_nothing_is_met(row: str, why: str) -> None:
    ran = run(ambient("tuna,cool,20,40,F,0", row), "--json")
    assert ran.exit_code == 2
    answer = json.loads(ran.stdout)
    assert [(one["line"], why in one["why"]) for one in answer["rejected"]] == [(3, True)]
    assert {one["verdict"] for one in answer["batches"][0]["findings"]} == {"not shown"}


# --limits


AT_44 = HEADER + "milk,cold_hold,0,44,F\n"


def local(tmp_path: Path, text: str | bytes) -> str:
    path = tmp_path / "local.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return str(path)


def test_a_local_limit_decides_and_is_named(tmp_path: Path) -> None:
    assert run(AT_44).exit_code == 1
    ran = run(AT_44, "--limits", local(tmp_path, COLD_AT_45))
    assert ran.exit_code == 0
    assert "cold-holding by an invented local code, 9.9" in ran.stdout
    answer = judged(AT_44, "--limits", local(tmp_path, COLD_AT_45))
    assert answer["batches"][0]["findings"][0]["citation"] == "9.9"
    assert [one["source"] for one in answer["limits"]["overrides"]] == ["an invented local code"]
    assert answer["limits"]["digest"] != judged(AT_44)["limits"]["digest"]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no [[limit]]"),
        (COLD_AT_45.replace("cold-holding", "cold-keeping"), "line 1"),
        (COLD_AT_45.replace('citation = "9.9"\n', ""), "needs citation"),
        (b"\xff\xfe", "not UTF-8"),
        ("[[limit]\n", "line 1"),
        ("\n" + COLD_AT_45.replace("f = 45", "f = true"), "line 2"),
    ],
)
def test_a_local_file_that_is_malformed_is_refused_before_anything_is_judged(
    tmp_path: Path, text: str | bytes, why: str
) -> None:
    ran = run(AT_44, "--limits", local(tmp_path, text))
    assert ran.exit_code == 2
    assert ran.stdout == ""
    assert "local.toml" in ran.stderr
    assert why in ran.stderr


COOLING_BY_LOCAL_CODE = """\
[[limit]]
name = "cooling-stage-1"
side = "at or below"
inclusive = true
f = 70
c = 21
start_f = 135
start_c = 57
within_min = 120
clock = "start"
citation = "9.9"
source = "an invented local code"
basis = "verified"
text = "Cool."
"""


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("", ""),
        ("start_f = 135\nstart_c = 57\n", ""),
        ('within_min = 120\nclock = "start"\n', ""),
        ('clock = "start"', 'clock = "preparation"'),
        ('clock = "start"', 'clock = "reheating"'),
        ('clock = "start"', 'clock = "previous stage"'),
        ("f = 70\n", "f = nan\n"),
        ("f = 70\n", "f = -inf\n"),
        ("start_f = 135", "start_f = nan"),
        ("within_min = 120", "within_min = 100000000000000000"),
        ("within_min = 120", "within_min = 4000000000"),
        ('side = "at or below"', 'side = "at or above"'),
    ],
)
def test_no_local_file_makes_the_check_fail_as_a_bug(tmp_path: Path, old: str, new: str) -> None:
    text = COOLING_BY_LOCAL_CODE.replace(old, new)
    for content in (MET, NOT_MET, SHORT_OF_70, HEADER + "stew,cool,0,100,F\n"):
        ran = run(content, "--limits", local(tmp_path, text))
        assert ran.exit_code in (0, 1, 2), ran.stderr


# Hostile text


HOSTILE = [
    "\x1b[2J\x1b]0;x\x07",
    "\u202edesrever",
    "\u2066x\u2069",
    "\x9b31m",
    "\x7f\x08\x08",
    "a\u200bb",
]
MISCHIEF = {chr(n) for n in (*range(10), *range(11, 32), *range(0x7F, 0xA0))} | set(
    "\u200b\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)


def quoted(*cells: str) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL).writerow(cells)
    return out.getvalue()


@pytest.mark.parametrize("name", HOSTILE)
@pytest.mark.parametrize("options", [[], ["--json"]])
def test_a_hostile_name_does_not_reach_the_terminal(name: str, options: list[str]) -> None:
    content = (
        HEADER
        + quoted(name, "cool", "0", "135", "F")
        + quoted(name, name, "0", "135", "F")
        + quoted("b", "cool", name, "135", "F")
        + quoted("b", "cool", "0", name, "F")
        + quoted("b", "cool", "0", "135", name)
    )
    ran = run(content, *options)
    assert ran.exit_code == 2
    assert not MISCHIEF & set(ran.stdout + ran.stderr)
    if options:
        assert name in [one["batch"] for one in json.loads(ran.stdout)["batches"]]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_column_or_limits_file_does_not_reach_the_terminal(
    tmp_path: Path, name: str
) -> None:
    ran = run(quoted(*COLUMNS[:5], name) + "stew,cool,0,135,F,\n")
    assert ran.exit_code == 2
    assert not MISCHIEF & set(ran.stdout + ran.stderr)
    escaped = "".join(f"\\U{ord(letter):08x}" for letter in name)
    for old in ("an invented local code", "cold-holding", '9.9"', "verified"):
        text = COLD_AT_45.replace(old, escaped + old)
        ran = run(AT_44, "--limits", local(tmp_path, text))
        assert not MISCHIEF & set(ran.stdout + ran.stderr), old
    text = COLD_AT_45.replace('name = "cold-holding"', f'name = "cold-holding"\nkind = "{escaped}"')
    ran = run(AT_44, "--limits", local(tmp_path, text))
    assert not MISCHIEF & set(ran.stdout + ran.stderr)


# Anything at all


anything = settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@anything
@given(st.binary(max_size=300), st.booleans())
@example(b"\x00", False)
@example(b'"', True)
@example(b"\xef\xbb\xbf", True)
def test_no_bytes_crash_it(content: bytes, after_a_header: bool) -> None:
    ran = run((MET.encode() if after_a_header else b"") + content)
    assert ran.exit_code in (0, 1, 2), ran.stderr
    if ran.exit_code == 0:
        assert b"stew" in MET.encode() + content
        assert "stew: MET" in ran.stdout


nasty = st.one_of(
    st.text(st.characters(codec="utf-8"), max_size=12),
    st.sampled_from(
        ["", "0", "-1", "1e9", "nan", "inf", "F", "C", "cool", "135", "٧٠", "70°", "1_0", "+5", "'",
         '"', "\n", "\r\n", "\0", "=1+1", "2026-10-31T14:05-06:00", "9999-12-31T23:59+00:00"]
    ),
)  # fmt: skip
COLUMNS = ("batch", "step", "taken_at", "temp", "unit", "held_s", "food", "note")
GOOD = {
    "step": ["cook", "hot_hold", "cool", "cold_hold", "reheat"],
    "taken_at": ["0", "60", "119", "120", "121", "300"],
    "temp": ["135", "134.9", "70", "41", "165", "36"],
    "unit": ["F", "C"],
    "held_s": ["", "15"],
    "food": ["", "poultry", "whole roast"],
    "note": ["", "stirred"],
}


@st.composite
def files(draw: st.DrawFn) -> list[list[str]]:
    """Rows of two batches; in some, a cell that is not the batch's holds anything at all."""
    rows = []
    for _ in range(draw(st.integers(1, 6))):
        row = [draw(st.sampled_from(["a", "b"]))]
        row += [draw(st.sampled_from(GOOD[column])) for column in COLUMNS[1:]]
        if draw(st.booleans()):
            row[draw(st.integers(1, len(COLUMNS) - 1))] = draw(nasty)
        rows.append(row)
    return rows


@anything
@given(files())
def test_no_cell_crashes_it_or_leaves_a_batch_with_a_rejected_line_met(
    rows: list[list[str]],
) -> None:
    content, first_lines = quoted(*COLUMNS), {}
    for row in rows:
        # lines as an editor counts them: every CR LF, CR and LF ends one
        first_lines[len(content.replace("\r\n", "\n").replace("\r", "\n").split("\n"))] = row[0]
        content += quoted(*row)
    ran = run(content.encode(), "--json")
    assert ran.exit_code in (0, 1, 2), ran.stderr
    answer = json.loads(ran.stdout)
    log = read_log(content.encode())
    assert len(log.rows) + len(log.rejected) == len(rows)
    assert {row.line for row in log.rows} | {one.line for one in log.rejected} == set(first_lines)
    rejected = {first_lines[one["line"]] for one in answer["rejected"]}
    for batch in answer["batches"]:
        if batch["batch"] in rejected:
            assert batch["verdict"] != "met"
            assert all(f["verdict"] != "met" for f in batch["findings"])
    assert (ran.exit_code == 2) is bool(rejected)
