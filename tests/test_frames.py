"""What other programs may build on: the same verdicts as the commands', in frames."""

import json
from datetime import date
from io import StringIO
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from haccp import frames
from haccp.cli.main import cli
from haccp.errors import Refused
from tests.kitchen.typed import type_in
from tests.kitchens import Kitchen

WEEK = Path(__file__).parent.parent / "sample_logs"


@pytest.fixture
def a_day() -> pd.DataFrame:
    """A file of the demo's invented week, as pandas reads it."""
    return pd.read_csv(WEEK / "2026-10-28.csv", dtype=str)


def test_findings_are_those_of_check_file(a_day: pd.DataFrame) -> None:
    found = frames.judged(a_day)
    assert tuple(found.columns) == frames.FINDINGS
    told = json.loads(
        CliRunner().invoke(cli, ["check-file", str(WEEK / "2026-10-28.csv"), "--json"]).stdout
    )
    expected = [
        (batch["batch"], one["limit"], one["verdict"], one["citation"], one["shortest_min"], one["longest_min"])
        for batch in told["batches"]
        for one in batch["findings"]
    ]  # fmt: skip
    columns = ["batch", "limit", "verdict", "citation", "shortest_min", "longest_min"]
    mine = found[columns].astype(object).where(found[columns].notna(), None)
    assert list(mine.itertuples(index=False, name=None)) == expected
    assert len(expected) > 10


def test_numbers_and_timestamps_are_taken_as_text_is(a_day: pd.DataFrame) -> None:
    typed = a_day.assign(
        temp=a_day["temp"].astype(float), taken_at=pd.to_datetime(a_day["taken_at"])
    )
    by_numbers, by_text = (frames.judged(one).drop(columns="why") for one in (typed, a_day))
    pd.testing.assert_frame_equal(by_numbers, by_text)


def test_a_line_that_cannot_be_judged_is_told_and_nothing_is_left_out(a_day: pd.DataFrame) -> None:
    a_day.loc[3, "temp"] = "warm"
    with pytest.raises(Refused, match="Line 5 is rejected: 'warm' is no temperature"):
        frames.judged(a_day)
    with pytest.raises(Refused, match="The file has no column 'step'"):
        frames.judged(a_day.drop(columns="step"))


def test_a_batch_that_did_not_cool_has_no_curve(a_day: pd.DataFrame) -> None:
    with pytest.raises(Refused, match="nobody has no cooling"):
        frames.drawn(a_day, "nobody")


def test_a_record_gives_its_readings_and_findings(kitchen: Kitchen) -> None:
    type_in(
        kitchen,
        "12:10 cook stew 199 --held 30\n12:40 cool stew 136\n13:30 cool stew 98\n14:35 cool stew 69\n"
        "17:50 cool stew 41\n18:00 hold well-1 131 --yes\n18:10",
    )
    before = kitchen.entries()
    readings, findings = frames.on_record(kitchen.path, "2026-10-26")
    assert kitchen.entries() == before
    assert tuple(readings.columns) == frames.ON_RECORD
    listed = [one for one in before if one["kind"] == "reading"]
    assert readings["entry"].tolist() == [str(one["seq"]) for one in listed]
    assert readings["temperature_f"].tolist() == [199, 136, 98, 69, 41, 131]
    verdicts = set(zip(findings["batch"], findings["limit"], findings["verdict"], strict=True))
    assert {("stew", "cooling-stage-1", "met"), ("stew", "cooling-stage-2", "met")} <= verdicts
    assert ("well-1", "hot-holding", "not met") in verdicts


def test_a_loggers_readings_name_their_probe_and_days_may_be_dates(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    file = tmp_path / "cooler.csv"
    rows = "".join(f"2026-10-26 11:{minute}0,38.{minute}\n" for minute in range(6))
    file.write_text(f"When,North wall (°F)\n{rows}", encoding="utf-8")
    kitchen.says(f"load-readings {file} --probe walk-in --yes")
    day = date(2026, 10, 26)
    readings = frames.on_record(kitchen.path, day, day).readings
    assert readings["thermometer"].tolist() == ["North wall"] * 6
    assert readings["entry"].str.fullmatch(r"\d+\.[1-6]").all()
    assert readings["temperature_f"].tolist() == [38.0, 38.1, 38.2, 38.3, 38.4, 38.5]


def test_the_frames_survive_a_file(a_day: pd.DataFrame) -> None:
    found = frames.judged(a_day)
    again = pd.read_csv(StringIO(found.to_csv(index=False)), parse_dates=["due"])
    assert again["verdict"].tolist() == found["verdict"].tolist()
