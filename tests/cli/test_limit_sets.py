"""`haccp limits`, and a kitchen that takes up another set: what was judged stays judged."""

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from haccp import limits
from haccp.cli.main import cli
from haccp.kitchen.register import limits_of, read_register
from haccp.record.store import open_record
from tests import kitchens
from tests.local_codes import COLD_AT_38


class Kitchen:
    """A kitchen into which each command is typed at a moment of its own."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._typed = kitchens.Kitchen(path)

    def run(self, moment: str, command: str) -> Result:
        self._typed.at(moment)
        return self._typed.run(command)

    def says(self, moment: str, command: str) -> str:
        result = self.run(moment, command)
        assert result.exit_code == 0, f"{command}: {result.output}"
        return result.output

    def verdicts(self, moment: str, batch: str) -> dict[str, str]:
        shown = json.loads(self.says(moment, f"show {batch} --json"))
        return {one["limit"]: one["verdict"] for one in shown["findings"]}

    def judged_by(self, moment: str) -> limits.LimitSet:
        with_record = open_record(self.path, create=False)
        try:
            at = datetime.fromisoformat(moment).astimezone(UTC)
            return read_register(with_record).limits_at(at)
        finally:
            with_record.close()


SETUP = "setup Test --zone UTC --manager AR --manager-name A"


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "AR")
    return Kitchen(tmp_path / "record.sqlite3")


def ask(*words: str, width: int = 100) -> str:
    result = CliRunner().invoke(cli, ["limits", *words], env={"COLUMNS": str(width)})
    assert result.exit_code == 0, result.output
    return result.output


# What ships


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize(
    "words",
    [
        ("list",),
        *(("show", name) for name in limits.revisions()),
        *(("compare", "food-code-2022", name) for name in limits.revisions()),
        ("compare", "minnesota-4626", "new-york-14-1"),
    ],
    ids=" ".join,
)
def test_tables_fit_the_terminal(words: tuple[str, ...], width: int) -> None:
    lines = ask(*words, width=width).splitlines()
    assert max(map(len, lines)) <= width
    assert not [line for line in lines if line != line.rstrip()]


def test_list_names_every_set_with_its_revision_and_digest() -> None:
    printed, plain = ask("list"), json.loads(ask("list", "--json"))
    shipped = [f"{name}.{n}" for name, known in limits.revisions().items() for n in known]
    assert [f"{one['id']}.{one['revision']}" for one in plain] == shipped
    for one in plain:
        assert one["digest"][:12] in printed
        assert one["digest"] == limits.shipped(f"{one['id']}.{one['revision']}").digest
    assert {one["base"] for one in plain if one["id"] == "australia-3-2-2"} == {"food-code-2022.1"}


def line_of(printed: str, start: str) -> str:
    (line,) = (line for line in printed.splitlines() if line.startswith(start))
    return " ".join(line.split())


def test_show_gives_number_time_citation_and_basis() -> None:
    printed = ask("show", "food-code-2022", width=120)
    assert printed.startswith("FDA Food Code 2022, revision 1 (digest ")
    assert line_of(printed, "cold-holding") == "cold-holding ≤ 41 °F (5 °C) 3-501.16(A)(2) verified"
    assert line_of(printed, "frozen-holding").endswith("3-501.11 common practice")
    assert line_of(printed, "  plant food") == (
        "plant food ≥ 135 °F (57 °C) for an instant 3-401.13 verified"
    )
    # what has no temperature of its own
    assert line_of(printed, "initial-heating") == (
        "initial-heating within 1 h of the heating 3-401.14(A) verified"
    )
    assert line_of(printed, "cook-by-instructions") == (
        "cook-by-instructions no number 3-401.15 verified"
    )
    assert "time-out-longest" in printed
    assert "then stood covered for 2 min" in printed
    # and where it was read
    assert (
        "3-401.15: law.lis.virginia.gov/admincode/title2/agency5/chapter585/section726" in printed
    )
    assert "≥ 130 °F (54.4 °C)  for 112 min" in " ".join(
        line.strip() for line in printed.splitlines() if "112 min" in line
    ).replace("   ", "  ")
    assert "equivalent" not in printed


def test_show_says_which_numbers_are_no_printed_ones() -> None:
    printed = ask("show", "australia-3-2-2", width=120)
    assert line_of(printed, "hot-holding") == (
        "hot-holding ≥ 60 °C (= 140 °F) Standard 3.2.2 verified"
    )
    assert "an equivalent that the source does not print" in printed


STANDS_IN = "not read for this jurisdiction; the Food Code's number stands in"


def test_show_says_of_each_row_whether_it_is_the_jurisdiction_s_own() -> None:
    printed = ask("show", "new-york-14-1", width=250)
    own, stand_ins = printed.split(
        f"In New York State, 10 NYCRR 14-1, {STANDS_IN} (food-code-2022.1):\n"
    )
    assert line_of(own, "cold-holding").endswith("10 NYCRR 14-1.40(a) verified")
    assert line_of(stand_ins, "date-mark").endswith("3-501.17(A) not read")
    assert line_of(stand_ins, "frozen-holding").endswith("3-501.11 not read")
    assert "verified" not in stand_ins
    assert "not read" not in own
    for whole in ("food-code-2022", "food-code-2013"):
        assert "not read" not in ask("show", whole, width=250)
    plain = json.loads(ask("show", "new-york-14-1", "--json"))
    basis = {(one["name"], one["kind"]): one["basis"] for one in plain["limits"]}
    assert basis["date-mark", ""] == "not read"
    assert basis["cold-holding", ""] == "verified"


def test_show_as_json_has_every_row_and_source() -> None:
    plain = json.loads(ask("show", "food-code-2022.1", "--json"))
    assert (plain["id"], plain["revision"], len(plain["limits"])) == ("food-code-2022", 1, 49)
    (roast,) = (
        one for one in plain["limits"] if one["kind"] == "whole roast" and one["name"] == "cook"
    )
    assert len(roast["rows"]) == 17
    assert all(one["source"] and one["basis"] for one in plain["limits"])


def test_compare_says_what_differs_with_both_numbers_and_citations() -> None:
    printed = ask("compare", "food-code-2022", "new-york-14-1", width=250)
    assert printed.startswith(
        "New York State, 10 NYCRR 14-1, revision 1, against FDA Food Code 2022"
    )
    assert line_of(printed, "cold-holding") == (
        "cold-holding weaker ≤ 45 °F (7.2 °C), not ≤ 41 °F (5 °C) "
        "10 NYCRR 14-1.40(a), not 3-501.16(A)(2)"
    )
    assert line_of(printed, "cooling-stage-2").startswith("cooling-stage-2 partly weaker ≤ 45 °F")
    assert "within 4 h of the previous stage, not within 6 h of the start" in printed
    assert "15 limits judge alike." in printed
    (stand_in,) = (line for line in printed.splitlines() if STANDS_IN in line)
    assert stand_in.startswith(f"In New York State, 10 NYCRR 14-1, revision 1, {STANDS_IN}: ")
    assert "date-mark" in stand_in
    assert "cold-holding" not in stand_in
    same = ask("compare", "food-code-2022", "food-code-2022.1")
    assert same.endswith("49 limits judge alike.\n")


def test_compare_says_beside_a_number_that_it_only_stands_in() -> None:
    printed = ask("compare", "new-york-14-1", "minnesota-4626", width=400)
    told = line_of(printed, "hot-holding ")
    assert told.endswith(f"3-501.16(A)(1) ({STANDS_IN}), not 10 NYCRR 14-1.40(a)")
    for title in ("In New York State, 10 NYCRR 14-1", "In Minnesota, Rules 4626"):
        assert title in printed


def test_compare_as_json() -> None:
    plain = json.loads(ask("compare", "food-code-2022", "maryland-10-15-03", "--json"))
    (only,) = (one for one in plain["differences"] if one["limit"] == "cooling-stage-2")
    assert (only["limit"], only["b_is"]) == ("cooling-stage-2", "stricter")
    assert (only["a"]["within_min"], only["b"]["within_min"]) == (360, 240)
    assert (plain["a"]["id"], plain["b"]["id"]) == ("food-code-2022", "maryland-10-15-03")


# A file of one's own


def validate(tmp_path: Path, text: str, *options: str) -> Result:
    file = tmp_path / "local.toml"
    file.write_text(text, encoding="utf-8")
    return CliRunner().invoke(
        cli, ["limits", "validate", str(file), *options], env={"COLUMNS": "200"}
    )


def test_a_stricter_file_is_told_and_not_warned_of(tmp_path: Path) -> None:
    told = validate(tmp_path, COLD_AT_38)
    assert told.exit_code == 0
    assert "laid over FDA Food Code 2022, revision 1" in told.output
    assert line_of(told.output, "cold-holding") == (
        "cold-holding stricter ≤ 38 °F (3 °C), not ≤ 41 °F (5 °C) section 12, not 3-501.16(A)(2)"
    )
    assert "WARNING" not in told.output


def test_a_weaker_one_is_warned_of(tmp_path: Path) -> None:
    told = validate(tmp_path, COLD_AT_38.replace("f = 38\nc = 3", "f = 45\nc = 7"))
    assert told.exit_code == 0
    assert "WARNING: cold-holding is weaker than what it replaces." in told.output
    # the same number is stricter than New York's, in °F and in °C
    told = validate(
        tmp_path, COLD_AT_38.replace("f = 38\nc = 3", "f = 45\nc = 7"), "--over", "new-york-14-1"
    )
    assert "WARNING" not in told.output


def test_one_that_is_weaker_in_one_degree_alone_is_warned_of(tmp_path: Path) -> None:
    told = validate(tmp_path, COLD_AT_38.replace("f = 38\nc = 3", "f = 41\nc = 5.1"))
    assert "WARNING: cold-holding" in told.output


def test_a_limit_that_is_new_is_told_as_new(tmp_path: Path) -> None:
    sausage = COLD_AT_38.replace('"cold-holding"', '"cook"\nkind = "sausage"\nnew = true')
    sausage = sausage.replace("at or below", "at or above").replace(
        "f = 38\nc = 3", "f = 160\nc = 71"
    )
    told = validate(tmp_path, sausage)
    assert told.exit_code == 0
    assert line_of(told.output, "cook, sausage") == (
        "cook, sausage new ≥ 160 °F (71 °C) for an instant section 12"
    )


def test_kinds_of_food_that_keep_their_own_limit_are_named(tmp_path: Path) -> None:
    hot = COLD_AT_38.replace("cold-holding", "hot-holding").replace("at or below", "at or above")
    hot = hot.replace("f = 38\nc = 3", "f = 140\nc = 60")
    assert "hot-holding for whole roast stays as it was." in validate(tmp_path, hot).output
    roast = hot.replace('"hot-holding"', '"hot-holding"\nkind = "whole roast"')
    assert "stays as it was" not in validate(tmp_path, f"{hot}\n{roast}").output


@pytest.mark.parametrize(
    ("text", "line", "why"),
    [
        (COLD_AT_38.replace("c = 3\n", ""), 1, "both degrees"),
        (
            f"{COLD_AT_38}\n{COLD_AT_38.replace('cold-holding', 'cold-holdings')}",
            12,
            "no limit 'cold-holdings'",
        ),
        (COLD_AT_38.replace("at or below", "at or above"), 1, "keeps its side"),
        (f"{COLD_AT_38}\n{COLD_AT_38}", 12, "a second time"),
    ],
)
def test_a_file_with_an_error_is_refused_with_its_line(
    tmp_path: Path, text: str, line: int, why: str
) -> None:
    told = validate(tmp_path, text)
    assert told.exit_code == 2
    assert told.stdout == ""
    assert f"local.toml, line {line}:" in told.stderr
    assert why in told.stderr
    assert len(told.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    "command",
    [
        "limits show no-such-set",
        "limits compare food-code-2022 no-such-set",
        "limits validate {file} --over no-such-set",
        "check {file} --set no-such-set",
        f"{SETUP} --limit-set no-such-set",
        # a kitchen has the newest revision
        f"{SETUP} --limit-set food-code-2022.1",
    ],
)
def test_an_unknown_set_is_refused_with_those_there_are(
    kitchen: Kitchen, tmp_path: Path, command: str
) -> None:
    file = tmp_path / "file"
    file.write_text(COLD_AT_38, encoding="utf-8")
    result = kitchen.run("2026-10-26T07:00Z", command.format(file=file))
    assert result.exit_code == 2
    assert f"type one of {', '.join(limits.revisions())}." in result.stderr
    assert not kitchen.path.exists()


def test_check_says_where_its_numbers_are_equivalents(tmp_path: Path) -> None:
    for unit, temp, said in (("F", "140", True), ("C", "60", False)):
        log = f"batch,step,taken_at,temp,unit\nb,hot_hold,0,{temp},{unit}\n"
        ran = CliRunner().invoke(cli, ["check", "-", "--set", "australia-3-2-2"], input=log)
        assert ran.exit_code == 0, ran.output
        assert ("are equivalents" in ran.output) is said


# A change of set never changes what an earlier day was judged by


def logged(kitchen: Kitchen, day: int, batch: str, *readings: tuple[str, str]) -> None:
    date = f"2026-10-{day}T"
    kitchen.says(f"{date}{readings[0][0]}Z", f'batch "bean stew" --code {batch}')
    for clock, temp in readings:
        kitchen.says(f"{date}{clock}Z", f"cool {batch} {temp} --yes")


NEW_YORKS = (("12:00", "120"), ("13:59", "71"), ("14:00", "70"), ("17:59", "45"))


def test_another_set_judges_from_its_moment_on_and_nothing_before(kitchen: Kitchen) -> None:
    kitchen.says("2026-10-26T07:00Z", f"{SETUP} --limit-set new-york-14-1")
    logged(kitchen, 26, "old", *NEW_YORKS)
    before = kitchen.judged_by("2026-10-26T08:00Z")
    assert before == limits.shipped("new-york-14-1")
    met = {"cooling-stage-1": "met", "cooling-stage-2": "met"}
    assert kitchen.verdicts("2026-10-26T18:00Z", "old") == met
    answer = kitchen.says("2026-10-27T07:00Z", "kitchen --limit-set food-code-2022")
    assert "Judged by FDA Food Code 2022, revision 1" in answer
    assert "what began earlier stays as judged" in answer
    logged(kitchen, 27, "new", *NEW_YORKS)
    # that nobody read it overnight is told beside
    assert met.items() <= kitchen.verdicts("2026-10-27T20:00Z", "old").items()
    assert kitchen.judged_by("2026-10-26T08:00Z") == before
    new = kitchen.verdicts("2026-10-27T20:00Z", "new")
    assert new == {"cooling-stage-1": "not shown", "cooling-stage-2": "not shown"}


@pytest.fixture
def newer(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], limits.LimitSet]]:
    """Ship an invented second revision of the Food Code from the moment of the call on."""
    before, shipped = limits.revisions(), limits.shipped

    def ship() -> limits.LimitSet:
        first = shipped("food-code-2022.1")
        second = replace(first, revision=2, digest="2" * 64)
        monkeypatch.setattr(limits, "revisions", lambda: {**before, "food-code-2022": (2, 1)})
        monkeypatch.setattr(
            limits,
            "shipped",
            lambda name="food-code-2022": (
                second if name in ("food-code-2022", "food-code-2022.2") else shipped(name)
            ),
        )
        limits_of.cache_clear()
        return second

    yield ship
    limits_of.cache_clear()


def test_a_kitchen_of_an_older_revision_goes_on_being_judged_by_it(
    kitchen: Kitchen, newer: Callable[[], limits.LimitSet], tmp_path: Path
) -> None:
    older = limits.shipped("food-code-2022.1")
    local = tmp_path / "local.toml"
    local.write_text(COLD_AT_38, encoding="utf-8")
    kitchen.says("2026-10-26T07:00Z", SETUP)
    newest = newer()
    cooled = (("12:00", "135"), ("13:59", "70"), ("17:00", "41"))
    logged(kitchen, 26, "old", *cooled)
    assert kitchen.judged_by("2026-10-26T08:00Z") == older
    told = f"revision 1 (digest {older.digest[:12]})"
    assert told in kitchen.says("2026-10-26T18:00Z", "kitchen")
    assert "Food Code 2022, revision 1" in kitchen.says("2026-10-26T18:00Z", "limits show")
    met = kitchen.verdicts("2026-10-26T18:00Z", "old")
    assert set(met.values()) == {"met"}

    # the same set again takes up its newest revision, and local limits are laid over that
    kitchen.says("2026-10-27T07:00Z", "kitchen --limit-set food-code-2022")
    kitchen.says("2026-10-27T08:00Z", f"kitchen --limits {local}")
    assert kitchen.judged_by("2026-10-26T08:00Z") == older
    assert kitchen.judged_by("2026-10-27T07:30Z") == newest
    assert kitchen.judged_by("2026-10-27T09:00Z").get("cold-holding").level.f == 38
    assert met.items() <= kitchen.verdicts("2026-10-27T18:00Z", "old").items()
    # received by the set's 41 °F, and above the county's 38 °F since
    assert kitchen.says("2026-10-27T18:00Z", "receive beef 40 --code beef").startswith("OUT beef")
    assert kitchen.verdicts("2026-10-27T18:00Z", "beef")["receiving-cold"] == "met"


def test_local_limits_over_an_older_revision_are_found_again(
    kitchen: Kitchen, newer: Callable[[], limits.LimitSet], tmp_path: Path
) -> None:
    local = tmp_path / "local.toml"
    local.write_text(COLD_AT_38, encoding="utf-8")
    kitchen.says("2026-10-26T07:00Z", SETUP)
    kitchen.says("2026-10-26T07:01Z", f"kitchen --limits {local} --guard 1F")
    newer()
    found = kitchen.judged_by("2026-10-26T08:00Z")
    assert (found.revision, str(found.guard)) == (1, "1 °F")
    assert found.get("cold-holding").level.f == 37


def test_the_same_setting_again_records_nothing(kitchen: Kitchen) -> None:
    kitchen.says("2026-10-26T07:00Z", SETUP)
    before = json.loads(kitchen.says("2026-10-26T08:00Z", "list entries --json"))
    kitchen.says("2026-10-26T08:01Z", "kitchen --limit-set food-code-2022")
    assert json.loads(kitchen.says("2026-10-26T08:02Z", "list entries --json")) == before


def test_local_limits_are_laid_over_the_set_that_is_taken_up_with_them(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    kitchen.says("2026-10-26T07:00Z", SETUP)
    local = tmp_path / "local.toml"
    local.write_text(COLD_AT_38, encoding="utf-8")
    kitchen.says("2026-10-26T08:00Z", f"kitchen --limit-set australia-3-2-2 --limits {local}")
    now = kitchen.judged_by("2026-10-26T09:00Z")
    assert now.id == "australia-3-2-2"
    assert now.get("cold-holding").level.f == 38
    assert now.get("hot-holding").level.c == 60
    shown: dict[str, Any] = json.loads(kitchen.says("2026-10-26T09:00Z", "limits show --json"))
    assert [one["citation"] for one in shown["overrides"]] == ["section 12"]


def test_only_a_manager_takes_up_another_set(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    kitchen.says("2026-10-26T07:00Z", SETUP)
    kitchen.says("2026-10-26T07:00Z", "add person JM J")
    monkeypatch.setenv("HACCP_BY", "JM")
    refused = kitchen.run("2026-10-26T08:00Z", "kitchen --limit-set new-york-14-1")
    assert refused.exit_code == 2
    assert "no manager" in refused.stderr
    assert kitchen.judged_by("2026-10-26T09:00Z").id == "food-code-2022"
