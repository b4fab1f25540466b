"""A kitchen's own limits: named where they decide, from now on, and refused with a slip in them."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from haccp import limits
from haccp.kitchen import register
from haccp.kitchen.register import read_register
from haccp.printing.report_words import gather
from haccp.record.store import open_record
from tests.kitchens import Kitchen, findings, log
from tests.local_codes import COLD_AT_38


def test_local_limits_are_named_wherever_they_decide(kitchen: Kitchen, tmp_path: Path) -> None:
    local = tmp_path / "local.toml"
    local.write_text(
        '[[limit]]\nname = "cold-holding"\nside = "at or below"\ninclusive = true\nf = 38\nc = 3\n'
        'citation = "County 12"\nsource = "an invented county code"\nbasis = "verified"\ntext = "Colder."\n'
    )
    log(kitchen, ("12:10", "hold walk-in 40"))
    assert "an invented county code" in kitchen.says(f"kitchen --limits {local} --by AR")
    kitchen.at("2026-10-28T12:00-06:00")
    assert kitchen.says("hold walk-in 40").startswith("TOO WARM")


def test_changing_the_limits_does_not_judge_earlier_food_anew(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    log(kitchen, ("14:00", "cool stew 135"), ("15:50", "cool stew 70"), ("19:30", "cool stew 41"))
    kitchen.at("2026-10-27T12:00-06:00")
    kitchen.says("kitchen --guard 2F --by AR")
    found = findings(kitchen, "stew")
    assert (found["cooling-stage-1"], found["cooling-stage-2"]) == ("met", "met")
    kitchen.says("batch rice --code rice")
    kitchen.at("2026-10-27T12:10-06:00")
    kitchen.says("cool rice 135")
    kitchen.at("2026-10-27T13:10-06:00")
    assert "68 °F or below" in kitchen.says("cool rice 69")


def test_limits_that_changed_under_their_name_judge_no_earlier_food(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    log(kitchen, ("14:00", "cool stew 135"))
    real = limits.shipped()
    changed = replace(real, digest="0" * 64)
    monkeypatch.setattr(limits, "shipped", lambda *_: changed)
    register.limits_of.cache_clear()
    try:
        assert "not those that the record was judged by" in kitchen.refuses("show stew")
    finally:
        register.limits_of.cache_clear()


def test_an_empty_file_does_not_take_local_limits_off(kitchen: Kitchen, tmp_path: Path) -> None:
    (tmp_path / "empty.toml").write_text("")
    assert "no [[limit]]" in kitchen.refuses(f"kitchen --limits {tmp_path}/empty.toml --by AR")
    kitchen.says("kitchen --no-local-limits --by AR")
    kitchen.says("kitchen --guard 0F --by AR")


def test_a_page_prints_every_limit_that_judged_something_on_it(kitchen: Kitchen) -> None:
    """A batch goes on to be judged by the set of its beginning, and that set is printed."""
    log(kitchen, ("14:00", "cook stew 165"), ("18:00", "cool stew 38"))
    kitchen.at("2026-10-27T08:00-06:00")
    kitchen.says("kitchen --limit-set new-york-14-1 --by AR")
    kitchen.says('batch "pea soup" --code peas')
    kitchen.at("2026-10-28T08:00-06:00")
    kitchen.says("hold stew 39")
    kitchen.says("add unit larder cold --by AR")
    kitchen.says("hold larder 44")
    kitchen.says('batch "split peas" --code split')
    record = open_record(kitchen.path, create=False)
    printed = gather(
        record, read_register(record), date(2026, 10, 28), date(2026, 10, 28), kitchen.now
    )
    told = printed.words["limits"]
    assert told["name"].startswith("New York State")
    assert [row[2].split(";")[0] for row in told["changes"]] == [
        "FDA Food Code 2022, revision 1",
        told["name"],
    ]
    cold = {row["limit"]: row["text"] for row in told["rows"] if "Cold holding" in row["limit"]}
    assert len(cold) == 2
    assert any("41 °F" in text for text in cold.values())
    assert any("45 °F" in text for text in cold.values())
    basis = {row["limit"]: row["basis"] for row in told["rows"]}
    assert basis["Date mark"] == "not read for this jurisdiction; the Food Code's number stands in"
    assert not basis["Cold holding"], "of what was read in print nothing is to be said"
    record.close()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("c = 3", "c = 13", "38 °F and 13 °C are not the same"),
        ("c = 3", "c = 5", "38 °F and 5 °C are not the same"),
        ("f = 38", "f = -400", "nothing in a kitchen is at -400 °F (3 °C)"),
        ("c = 3", "c = 300", "nothing in a kitchen is at 38 °F (300 °C)"),
        ("f = 38", 'f = "38"', "f cannot be '38': type it without quotes, f = 38."),
        ("inclusive = true", 'inclusive = "yes"', "inclusive cannot be 'yes': type true or false."),
    ],
)
def test_a_local_code_that_holds_a_slip_is_refused_wherever_it_is_handed_in(
    kitchen: Kitchen, tmp_path: Path, old: str, new: str, said: str
) -> None:
    local, log = tmp_path / "local.toml", tmp_path / "log.csv"
    log.write_text("batch,step,taken_at,temp,unit\npot,cold_hold,0,37,F\n")
    local.write_text(COLD_AT_38, encoding="utf-8")
    kitchen.says(f"limits validate {local}")
    local.write_text(COLD_AT_38.replace(old, new), encoding="utf-8")
    for command in ("limits validate", "kitchen --limits", f"check {log} --limits"):
        sentence = kitchen.refuses(f"{command} {local}")
        assert "local.toml, line 1: " in sentence
        assert said in sentence
