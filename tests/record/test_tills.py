"""Two tills with a record each, seen as one: what is kept apart, what is told, what is refused."""

import json
import os
import shutil
import signal
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

import pypdf
import pytest

from haccp.errors import Refused
from haccp.kitchen.register import read_register
from haccp.record import view
from haccp.record.entries import FIRST, Entry, digest_of
from haccp.record.store import Record, open_record
from haccp.record.view import caught_up
from tests.kitchens import Kitchen, flat
from tests.servers import Running

_MADE = (
    'setup "{name}" --zone America/Denver --altitude 1640m --manager AR --manager-name "A. R."',
    'add person JM "J. M." --by AR',
    "add thermometer T1 --by AR",
    "add unit well-1 hot --by AR",
    "add unit walk-in cold --every 240 --by AR",
)


class Tills:
    """A kitchen with a till at the cook line and one in the cold kitchen, and the view of both."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.line = Kitchen(folder / "line.sqlite3")
        self.cold = Kitchen(folder / "cold.sqlite3")
        self.both = Kitchen(folder / "both.sqlite3")

    def at(self, moment: str) -> None:
        for one in (self.line, self.cold, self.both):
            one.at(f"2026-10-26T{moment}-06:00")

    def see(self, own: str = "") -> str:
        places = f"line={self.line.path} cold={self.cold.path}"
        return self.line.says(f"record tills {self.both.path} {places} {own and '--own'} {own}")


@pytest.fixture(scope="module")
def set_up(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tills")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HACCP_BY", "JM")
        tills = Tills(folder)
        for till, clock in ((tills.line, "07:00"), (tills.cold, "07:05")):
            tills.at(clock)
            for command in _MADE:
                till.says(command.format(name="Test Kitchen"))
    return folder


@pytest.fixture
def tills(set_up: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Tills:
    monkeypatch.setenv("HACCP_BY", "JM")
    for file in set_up.iterdir():
        shutil.copy(file, tmp_path / file.name)
    made = Tills(tmp_path)
    made.at("12:00")
    return made


def _matters(kitchen: Kitchen) -> list[dict[str, str]]:
    return list(json.loads(kitchen.run("due --json").stdout))


def verdict(kitchen: Kitchen, name: str) -> str:
    return str(json.loads(kitchen.run(f"show {name} --json").stdout)["verdict"])


def _rows(kitchen: Kitchen) -> list[dict[str, object]]:
    with closing(open_record(kitchen.path, create=False)) as record:
        return list(record.rows())


def _due(kitchen: Kitchen) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for one in _matters(kitchen):
        found.setdefault(one["subject"], []).append(one["due"])
    return found


def _broken(kitchen: Kitchen) -> list[str]:
    result = kitchen.run("record verify")
    assert result.exit_code == 3, result.output
    return result.stdout.splitlines()


# ---- one kitchen ----


def test_a_unit_that_was_checked_at_one_till_is_not_due_at_the_other(tills: Tills) -> None:
    tills.line.says("hold walk-in 38")
    assert "2026-10-26T16:00:00-06:00" not in _due(tills.cold)["walk-in"]
    told = tills.see()
    assert "line (" in told
    assert "is shown up to no. " in told
    assert _due(tills.both)["walk-in"] == ["2026-10-26T16:00:00-06:00"]
    tills.at("12:30")
    tills.cold.says("hold walk-in 39")
    assert _due(tills.both)["walk-in"] == ["2026-10-26T16:30:00-06:00"]
    assert "the view holds exactly what was recorded" in tills.both.says("record verify")


def test_food_of_one_code_at_two_tills_is_two_foods(tills: Tills) -> None:
    tills.line.says("batch stew --code stew")
    tills.cold.says("batch stew --code stew")
    for clock, till, command in (
        ("12:10", tills.line, "cool stew 135"),
        ("12:11", tills.cold, "cool stew 135"),
        ("13:30", tills.line, "cool stew 60"),
        ("14:30", tills.cold, "cool stew 71"),
        ("14:40", tills.line, "cool stew 40"),
    ):
        tills.at(clock)
        till.says(f"{command} --yes")
    tills.see()
    assert verdict(tills.both, "stew") == "met"
    assert verdict(tills.both, "stew.cold") == "not met"
    listed = tills.both.says("list batches")
    assert "stew.cold" in listed
    tills.at("14:45")
    tills.cold.says("rename stew pan-1")
    tills.at("14:46")
    tills.line.says("batch rice --code rice")
    tills.line.says("rename rice pan-1")
    tills.cold.says("split stew 2 --yes")
    assert "rice" in tills.both.says("show pan-1.line")
    assert "stew.cold" in tills.both.says("trace stew-a")


def test_units_of_one_name_that_hold_food_otherwise_are_two(tills: Tills) -> None:
    tills.line.says("add unit reach-in cold --by AR")
    tills.cold.says("add unit reach-in hot --by AR")
    tills.line.says("hold reach-in 38")
    tills.cold.says("hold reach-in 150")
    told = tills.see()
    assert "reach-in: line, cold differ in holds" in told
    assert verdict(tills.both, "reach-in") == verdict(tills.both, "reach-in.cold") == "met"
    assert "The tills do not say the same of reach-in" in flat(tills.both.says("due"))


def test_the_stricter_interval_counts_and_the_difference_is_told(tills: Tills) -> None:
    tills.line.says("add unit walk-in cold --every 120 --by AR")
    tills.line.says("hold walk-in 38")
    tills.cold.says("kitchen --check-every 120 --by AR")
    tills.see()
    assert _due(tills.both)["walk-in"] == ["2026-10-26T14:00:00-06:00"]
    told = flat(tills.both.says("record tills"))
    assert "walk-in: line, cold differ in every_min; the stricter counts." in told
    assert "kitchen: line, cold differ in check_every_min; the stricter counts." in told


def test_tills_that_judge_by_different_limits_are_refused_until_they_agree(tills: Tills) -> None:
    tills.cold.says("kitchen --limit-set new-york-14-1 --by AR")
    tills.line.says("batch stew --code stew")
    tills.see()
    result = tills.both.run("due")
    assert result.exit_code == 2
    assert "do not judge by the same limits" in result.stderr
    tills.at("12:10")
    tills.line.says("kitchen --limit-set new-york-14-1 --by AR")
    assert "do not judge" in tills.both.refuses("show stew")
    assert "limits_digest" not in tills.both.says("record tills")


def test_a_signature_at_one_till_settles_nothing_of_the_other(tills: Tills) -> None:
    tills.cold.says("hold walk-in 50")
    tills.at("12:20")
    tills.cold.says("hold walk-in 38")
    tills.see()
    tills.at("12:30")
    tills.line.says('sign-day today --note "all seen" --by AR')
    assert "not met" in {one["verdict"] for one in _matters(tills.both)}
    tills.cold.says('sign-day today --note "door was open" --by AR')
    assert "not met" not in {one["verdict"] for one in _matters(tills.both)}


def test_a_pin_at_one_till_proves_nothing_at_the_other(tills: Tills) -> None:
    tills.see()
    with closing(open_record(tills.both.path, create=False)) as record:
        register = read_register(record)
        first = {till: next(one for one in register.pins if register.history.till_of(one) == till)
                 for till in ("line", "cold")}  # fmt: skip
        set_up_at_cold = next(
            one for one in register.settings if register.history.till_of(one) == "cold"
        )
        assert first["line"].seq < set_up_at_cold.seq < first["cold"].seq
        assert not register.is_proved(set_up_at_cold)


# ---- nothing is typed into it ----


@pytest.mark.parametrize(
    "command",
    [
        "hold walk-in 38",
        "batch stew",
        "sign-day today --by AR",
        "pin AR --by AR",
        'add person LO "L. O." --by AR',
        "kitchen --check-every 30 --by AR",
        "export {folder}/all.json",
        "hand-over postgresql+psycopg://k_0@/nowhere",
        "record seal 2026-09 {folder}/sealed.parquet",
        'amend 3 --withdraw --reason "no"',
    ],
)
def test_whoever_types_into_a_view_is_told_where_to_type(tills: Tills, command: str) -> None:
    tills.see()
    told = tills.both.refuses(command.format(folder=tills.folder))
    assert "only shows what is typed at its tills" in told
    assert f"haccp --db {tills.line.path} (line) or haccp --db {tills.cold.path} (cold)" in told


def test_what_is_no_two_tills_is_refused_and_leaves_nothing(tills: Tills) -> None:
    line, cold, folder = tills.line.path, tills.cold.path, tills.folder
    tills.see()
    copy = shutil.copy(line, folder / "copy.sqlite3")
    (folder / "empty.sqlite3").touch()
    shutil.copy(tills.both.path, folder / "again.sqlite3")
    before = sorted(folder.iterdir())
    new = folder / "new.sqlite3"
    for typed, why in {
        f"{new} line={line}": "One till needs no view",
        f"{new} line={line} line={cold}": "Two tills are called line",
        f"{new} line={line} cold={line}": "are one record, or copies of one",
        f"{new} line={line} cold={copy}": "are one record, or copies of one",
        f"{new} line={line} cold={folder}/no.sqlite3": "There is no record at",
        f"{new} line={line} cold={folder}/empty.sqlite3": "database of something else",
        f"{new} line={line} both={tills.both.path}": "is a view itself",
        f"{new} line={line} cold={new}": "is to be the view",
        f"{new} line={line} cold": "'cold' names no till",
        f"{new} line={line} a.b={cold}": "'a.b=",
        f"{tills.both.path} line={line} cold={cold}": "exists already",
        f"{line}": "is no view of tills",
        f"{new} line={line} far=postgresql+psycopg://k_0:secret@/x": "A view keeps no password",
    }.items():
        told = tills.line.refuses(f"record tills {typed}")
        assert why in told, told
        assert "secret" not in told
        assert sorted(folder.iterdir()) == before, typed


# ---- a till that cannot be read ----


def test_a_till_that_cannot_be_reached_is_told_at_the_top_and_on_each_page(tills: Tills) -> None:
    tills.cold.says("hold walk-in 38")
    tills.see()
    tills.at("13:05")
    tills.both.says("due")
    away = tills.cold.path.rename(tills.folder / "away")
    tills.at("14:00")
    told = tills.both.says("due")
    assert told.startswith("CAUTION: cold: seen until 13:05; what was typed there since is not")
    tills.both.says(f"report today --output {tills.folder}/day.pdf")
    pages = [flat(one.extract_text()) for one in pypdf.PdfReader(tills.folder / "day.pdf").pages]
    assert all("cold until Mon 26 Oct 13:05" in page for page in pages)
    assert "What was typed at cold since then is not on these pages." in pages[0]
    assert any("its own chain was not looked at" in line for line in _broken(tills.both))
    # silence is no good check: the walk-in is missed, as far as is known
    tills.at("18:00")
    assert "not shown" in {one["verdict"] for one in _matters(tills.both)}
    # and what was typed meanwhile is taken up where it belongs
    away.rename(tills.cold.path)
    tills.at("15:30")
    tills.cold.says("hold walk-in 39")
    tills.at("18:00")
    assert "CAUTION" not in tills.both.says("due")
    assert _due(tills.both)["walk-in"] == ["2026-10-26T19:30:00-06:00"]


def test_each_till_stands_on_the_paper_by_its_number_and_digest(tills: Tills) -> None:
    tills.line.says("batch stew --code stew")
    tills.see()
    out = tills.folder / "day.pdf"
    tills.both.says(f"report today --output {out}")
    text = flat(pypdf.PdfReader(out).pages[0].extract_text())
    for till, name in ((tills.line, "line"), (tills.cold, "cold")):
        number, digest = len(_rows(till)), str(_rows(till)[-1]["digest"])
        assert f"{name} up to no. {number} ({digest[:8]} {digest[8:16]})" in text
        told = tills.both.says(f'record verify --against "{number} {digest[:16]}"')
        assert f"{name} still holds the entries" in told
        assert "It still holds" in till.says(f'record verify --against "{number} {digest[:16]}"')
    result = tills.both.run('record verify --against "3 0123456789abcdef"')
    assert result.exit_code == 3
    assert "no till has such an entry" in flat(result.stdout)


def test_a_till_with_an_older_schema_is_read_and_left_as_it_is(tills: Tills) -> None:
    with closing(sqlite3.connect(tills.cold.path)) as plain, plain:
        plain.execute("UPDATE alembic_version SET version_num = '0005'")
    before = tills.cold.path.read_bytes()
    tills.see()
    assert tills.cold.path.read_bytes() == before
    tills.cold.says("hold walk-in 38")  # which upgrades it
    assert _due(tills.both)["walk-in"] == ["2026-10-26T16:00:00-06:00"]
    with closing(sqlite3.connect(tills.cold.path)) as plain, plain:
        plain.execute("UPDATE alembic_version SET version_num = '9999'")
    assert "cold: seen until" in tills.both.says("due")
    assert "newer haccp" in flat(tills.both.says("due"))


def test_a_till_may_be_an_account_on_a_server(
    tills: Tills, server: Running, monkeypatch: pytest.MonkeyPatch
) -> None:
    account = server.kitchen("cold kitchen")
    user, _, password = account.url.partition("//")[2].partition("@")[0].partition(":")
    words = tills.folder / "passwords"
    words.write_text(f"*:*:*:{user}:{password}\n")
    words.chmod(0o600)
    monkeypatch.setenv("PGPASSFILE", str(words))
    place = account.with_name(user)
    tills.cold.says(f"hand-over {place.url}")
    cold = Kitchen(place)  # type: ignore[arg-type]
    cold.now = tills.cold.now
    tills.line.says(f"record tills {tills.both.path} line={tills.line.path} cold={place.url}")
    cold.says("hold walk-in 38")
    assert _due(tills.both)["walk-in"] == ["2026-10-26T16:00:00-06:00"]
    assert "the view holds exactly what was recorded" in tills.both.says("record verify")
    tills.at("12:40")
    words.write_text("")
    told = flat(tills.both.says("due"))
    assert "cold: seen until 12:00" in told
    assert "refuses the name or the password" in told or "cannot be reached" in told
    assert password not in told


def test_an_entry_of_a_newer_haccp_is_told_in_the_view_too(tills: Tills) -> None:
    tills.see()

    def grown(rows: list[dict[str, object]]) -> None:
        rows.append({**rows[-1], "seq": len(rows) + 1, "kind": "drone flight", "body": "{}"})

    _rewrite(tills.cold.path, grown)
    assert "ENTRIES OF THIS RECORD CANNOT BE READ" in tills.both.says("due")


def test_a_view_is_copied_but_no_copy_is_put_in_its_place(tills: Tills) -> None:
    tills.see()
    tills.both.says(f"record backup {tills.folder}/copy.sqlite3")
    before = sorted(tills.folder.iterdir())
    for place in (tills.both, tills.line):
        told = place.refuses(f"record restore {tills.folder}/copy.sqlite3 --by AR")
        assert sorted(tills.folder.iterdir()) == before, told
    tills.line.says(f"export {tills.folder}/line.json")
    assert "only shows" in tills.both.refuses(f"import-record {tills.folder}/line.json")
    told = tills.both.refuses(f"record restore {tills.line.path} --by AR")
    assert "only shows" in told


# ---- what somebody altered ----


def _rewrite(path: Path, change: Callable[[list[dict[str, object]]], object]) -> None:
    """Write a record anew so that it verifies, as whoever has the file may."""
    with closing(open_record(path, create=False)) as record:
        rows = list(record.rows())
    change(rows)
    previous = FIRST
    for row in rows:
        row["previous"] = previous
        row["digest"] = previous = digest_of(row)
    path.unlink()
    with closing(open_record(path, create=True)) as record:
        record.restore(rows)


def test_a_till_that_was_rewritten_or_cut_is_found_and_the_view_made_anew(tills: Tills) -> None:
    tills.cold.says("hold walk-in 38")
    tills.cold.says("hold well-1 150")
    tills.see()
    kept = tills.cold.path.read_bytes()
    for change in (list.pop, lambda rows: rows[-2].update(person="XX")):
        _rewrite(tills.cold.path, change)
        told = tills.both.refuses("due")
        assert "is not the record any more that this view was made of" in told
        assert "is not the record any more" in tills.both.refuses("record verify")
        tills.cold.path.write_bytes(kept)
        tills.both.says("due")
    _rewrite(tills.cold.path, list.pop)
    told = tills.both.says("record tills --anew")
    assert "is kept in" in flat(told)
    assert len(list(tills.folder.glob("both.sqlite3.replaced-*"))) == 1
    assert "the view holds exactly" in tills.both.says("record verify")


def test_an_entry_altered_in_a_till_before_what_was_seen_is_found_by_verify(tills: Tills) -> None:
    tills.cold.says("hold walk-in 38")
    tills.see()
    with closing(sqlite3.connect(tills.cold.path)) as plain, plain:
        plain.execute("DROP TRIGGER entry_is_never_updated")
        plain.execute("UPDATE entry SET person = 'XX' WHERE seq = 3")
    assert any("cold: entry no. 3 is not what was recorded" in one for one in _broken(tills.both))


def test_an_entry_altered_in_a_till_is_not_taken_up(tills: Tills) -> None:
    tills.see()
    tills.cold.says("hold walk-in 38")
    with closing(sqlite3.connect(tills.cold.path)) as plain, plain:
        plain.execute("DROP TRIGGER entry_is_never_updated")
        plain.execute("UPDATE entry SET body = replace(body, '38', '35') WHERE kind = 'reading'")
    told = flat(tills.both.says("due"))
    assert "cold: seen until 12:00" in told
    assert "is not what was recorded" in told
    assert "35" not in tills.both.says("show walk-in")


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE entry SET person = 'XX' WHERE seq = 9",
        "UPDATE entry SET at = '2026-10-26T13:30:00Z' WHERE seq = 9",
        "UPDATE shown SET till = 7 WHERE seq = 9",
        "UPDATE shown SET digest = substr(digest, 2) || '0' WHERE seq = 9",
        "UPDATE shown SET body = '{}' WHERE seq = 9",
        "DELETE FROM said WHERE kind = 'unit'",
        "UPDATE derived_thread SET total = total + 1 WHERE name LIKE 'unit %'",
        "DROP TRIGGER entry_is_never_deleted",
        "DELETE FROM entry WHERE seq = (SELECT max(seq) FROM entry)",
        "INSERT INTO till VALUES (7, 'other', '/nowhere', '', '2026-10-26T18:00:00Z', '', 0)",
    ],
)
def test_a_view_that_somebody_edited_does_not_hold(tills: Tills, damage: str) -> None:
    tills.see()
    guards: tuple[str, ...] = ("entry_is_never_updated", "entry_is_never_deleted")
    with closing(sqlite3.connect(tills.both.path)) as plain, plain:
        made = {
            str(one[0]): str(one[1]) for one in plain.execute("SELECT name, sql FROM sqlite_master")
        }
        for guard in guards:
            plain.execute(f"DROP TRIGGER {guard}")
        if damage.startswith("DROP"):
            guards = guards[:1]
        else:
            plain.execute(damage)
        for name in guards:
            plain.execute(made[name])
    assert _broken(tills.both)


def test_a_view_with_nothing_done_to_it_holds_and_so_do_two_views(tills: Tills) -> None:
    tills.see()
    other = Kitchen(tills.folder / "other.sqlite3")
    other.now = tills.both.now
    tills.line.says(f"record tills {other.path} line={tills.line.path} cold={tills.cold.path}")
    tills.line.says("hold walk-in 38")
    for one in (tills.both, other):
        assert "the view holds exactly what was recorded" in one.says("record verify")
    assert tills.both.says("list entries") == other.says("list entries")


def test_somebody_who_reads_while_another_takes_up_late_entries_is_refused(tills: Tills) -> None:
    """What was read of the earlier order is never mixed with the later one."""
    tills.see()
    away = tills.cold.path.rename(tills.folder / "away")
    tills.at("12:30")
    tills.line.says("hold walk-in 38")
    tills.both.says("due")
    with closing(open_record(tills.both.path, create=False)) as record:
        read = caught_up(record, tills.both.now)
        away.rename(tills.cold.path)
        tills.at("12:10")
        tills.cold.says("hold walk-in 39")
        tills.at("12:40")
        tills.both.says("due")
        with pytest.raises(Refused, match="The view changed meanwhile"):
            read.entries()


# ---- broken off in the middle ----


@pytest.mark.parametrize("dies_in", ["cut_back", "lookup.insert", "_note", "Writer.derive"])
def test_who_is_killed_while_taking_up_entries_leaves_the_view_as_it_was(
    tills: Tills, dies_in: str
) -> None:
    tills.see()
    away = tills.cold.path.rename(tills.folder / "away")
    tills.at("12:30")
    tills.line.says("hold walk-in 38")
    tills.both.says("due")
    before = _rows(tills.both)
    away.rename(tills.cold.path)
    tills.at("12:10")
    tills.cold.says("hold walk-in 39")
    tills.at("12:40")
    child = os.fork()
    if not child:
        owner, _, name = f"view.{dies_in}".rpartition(".")
        target = view if owner == "view" else getattr(view, owner.partition(".")[2])
        setattr(target, name, lambda *_: os.kill(os.getpid(), signal.SIGKILL))
        tills.both.run("due")
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    assert _rows(tills.both) == before
    assert "CAUTION" not in tills.both.says("due")
    assert len(_rows(tills.both)) == len(before) + 1
    assert "the view holds exactly what was recorded" in tills.both.says("record verify")


def test_a_view_of_which_making_was_broken_off_is_not_there(
    tills: Tills, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = sorted(tills.folder.iterdir())
    monkeypatch.setattr(view, "_note", _interrupted)
    typed = f"record tills {tills.both.path} line={tills.line.path} cold={tills.cold.path}"
    assert tills.line.run(typed).exit_code == 130
    assert sorted(tills.folder.iterdir()) == before


def _interrupted(*_: object) -> None:
    raise KeyboardInterrupt


# ---- typed into a till's own view ----


def test_food_opened_at_one_till_is_cooled_at_the_other(tills: Tills) -> None:
    """What is typed is judged by all that is on record, and stands in the own till's chain."""
    tills.line.says("batch stew --code stew")
    tills.at("12:10")
    tills.line.says("cool stew 135")
    tills.see("cold")
    theirs, ours = len(_rows(tills.line)), len(_rows(tills.cold))
    tills.at("13:40")
    assert "stew 80 °F. Must be 70 °F or below by 14:10." in tills.both.says("cool stew 80")
    tills.at("14:00")
    tills.both.says("cool stew 69")
    tills.at("15:30")
    assert "OK stew 41 °F" in tills.both.says("cool stew 41")
    assert (len(_rows(tills.line)), len(_rows(tills.cold))) == (theirs, ours + 3)
    shown = tills.both.says("show stew")
    assert "Typed at line." in shown
    assert "Typed at cold." in shown
    assert [one["batch"] for one in _rows(tills.cold)[ours:]] == ["stew"] * 3
    assert verdict(tills.both, "stew") == "met"
    assert "the view holds exactly what was recorded" in tills.both.says("record verify")
    for one in (tills.line, tills.cold):
        assert "one chain" in one.says("record verify")
    # another view of the same tills says the same; the code is not given away at the till alone
    other = Kitchen(tills.folder / "other.sqlite3")
    other.now = tills.both.now
    tills.line.says(f"record tills {other.path} line={tills.line.path} cold={tills.cold.path}")
    assert verdict(other, "stew") == "met"
    assert "stew exists already" in tills.cold.refuses("batch stew --code stew")


def test_a_check_typed_at_one_till_is_not_asked_for_at_the_other(tills: Tills) -> None:
    tills.see("cold")
    tills.line.says("hold walk-in 38")
    asked = tills.both.run("round")
    assert "walk-in" not in asked.stdout.partition("well-1")[0]
    assert _due(tills.both)["walk-in"] == ["2026-10-26T16:00:00-06:00"]


def test_an_own_mistake_is_put_right_here_and_anothers_at_its_till(tills: Tills) -> None:
    tills.see("cold")
    tills.both.says("hold walk-in 83 --yes")
    tills.at("12:01")
    tills.both.says("oops 38")
    (*_, wrong, right) = _rows(tills.cold)
    assert right["corrects"] == wrong["seq"]
    assert "CAUTION" not in tills.both.says("due")
    tills.line.says("hold well-1 150")
    tills.at("12:03")
    told = tills.both.refuses('amend well-1 151 --reason "misread"')
    assert f"was typed at line: put it right there, haccp --db {tills.line.path}" in told
    assert "the view holds exactly what was recorded" in tills.both.says("record verify")


def test_what_has_another_meaning_at_the_own_till_is_typed_at_the_other(tills: Tills) -> None:
    tills.line.says("batch stew --code stew")
    tills.at("12:01")
    tills.cold.says("batch stew --code stew")
    tills.see("cold")
    told = tills.both.refuses("cool stew 120 --yes")
    assert "could be stew or stew.cold" in told or "cold has something else of that name" in told
    tills.both.says("cool stew.cold 134 --yes")
    assert _rows(tills.cold)[-1]["batch"] == "stew"
    tills.both.says("split stew.cold 2 --yes")
    assert json.loads(str(_rows(tills.cold)[-1]["body"]))["into"] == ["stew.cold-a", "stew.cold-b"]
    assert "the view holds exactly what was recorded" in tills.both.says("record verify")


@pytest.mark.parametrize(
    "command",
    [
        'add person LO "L. O." --by AR',
        "kitchen --check-every 30 --by AR",
        'closed 2026-10-27 "holiday" --by AR',
    ],
)
def test_settings_are_typed_at_the_till(tills: Tills, command: str) -> None:
    tills.line.says("batch stew --code stew")
    tills.see("cold")
    told = tills.both.refuses(command)
    assert f"type it there, haccp --db {tills.line.path} (line) or " in told
    for chain in ("export all.json", "record seal 2026-09 sealed.parquet", "pin AR --by AR"):
        assert "only shows what is typed at its tills" in tills.both.refuses(chain)


def test_what_somebody_enters_meanwhile_is_looked_at_first(tills: Tills) -> None:
    """An end is typed on what was seen; if the other till measured the food since, it is refused."""
    tills.line.says("batch stew --code stew")
    tills.see("cold")
    real = view.catch_up

    def later(record: Record, now: datetime) -> list[str]:
        calls.append(1)
        if len(calls) == 2:  # the first is where the view is opened
            tills.line.says("cool stew 120 --yes")
        return real(record, now)

    calls: list[int] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(view, "catch_up", later)
        before = len(_rows(tills.cold))
        result = tills.both.run("used-up stew --yes")
    assert result.exit_code == 2
    assert "Somebody recorded something meanwhile" in result.stderr
    assert len(_rows(tills.cold)) == before


def test_who_is_killed_between_the_till_and_the_view_loses_nothing(tills: Tills) -> None:
    tills.see("cold")
    child = os.fork()
    if not child:
        append = Record.append

        def last(self: Record, *drafts: Any, **how: Any) -> list[Entry]:
            append(self, *drafts, **how)
            os.kill(os.getpid(), signal.SIGKILL)
            return []

        Record.append = last  # type: ignore[method-assign]
        tills.both.run("hold walk-in 38")
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    assert _due(tills.both)["walk-in"] == ["2026-10-26T16:00:00-06:00"]
    assert "the view holds exactly what was recorded" in tills.both.says("record verify")


def test_what_was_recorded_is_told_where_the_view_cannot_take_it_up(tills: Tills) -> None:
    tills.see("cold")
    real = view.catch_up
    calls: list[int] = []

    def fails(record: Record, now: datetime) -> list[str]:
        calls.append(1)
        if len(calls) == 3:  # before it was recorded it was brought up to date twice
            raise Refused("The disk is full.")
        return real(record, now)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(view, "catch_up", fails)
        result = tills.both.run("hold walk-in 38")
    assert result.exit_code == 4
    assert "Recorded as no." in result.stderr
    assert _due(tills.both)["walk-in"] == ["2026-10-26T16:00:00-06:00"]


# ---- signed over all ----


def _undecided(kitchen: Kitchen) -> set[str]:
    return {one["subject"] for one in _matters(kitchen) if one["verdict"] == "not met"}


def test_a_manager_signs_over_all_tills_with_the_pin_of_the_own(tills: Tills) -> None:
    tills.line.says("hold walk-in 50")
    tills.at("12:20")
    tills.line.says("hold walk-in 38")
    tills.see("cold")
    assert _undecided(tills.both) == {"walk-in"}
    tills.at("12:30")
    tills.both.pin = "9999"
    assert "That is not the PIN" in tills.both.refuses('sign-day today --note "seen" --by AR')
    tills.both.pin = tills.cold.pin
    tills.both.says('sign-day today --note "door was open" --by AR')
    assert _undecided(tills.both) == set()
    signed = json.loads(str(_rows(tills.cold)[-1]["body"]))
    assert [one.split()[:3] for one in signed["heads"]] == [
        ["line", str(len(_rows(tills.line))), _rows(tills.line)[-1]["digest"]],
        ["cold", str(len(_rows(tills.cold)) - 1), _rows(tills.cold)[-2]["digest"]],
    ]
    tills.both.says(f"report today --output {tills.folder}/day.pdf")
    text = flat(
        " ".join(one.extract_text() for one in pypdf.PdfReader(tills.folder / "day.pdf").pages)
    )
    assert "AR, by PIN at cold" in text
    assert f"Signed over all of line {len(_rows(tills.line))} " in text
    for one in (tills.both, tills.cold, tills.line):
        assert one.run("record verify").exit_code == 0
    # another view of the same tills believes it, by their first entries, whatever they are called
    other = Kitchen(tills.folder / "other.sqlite3")
    other.now = tills.both.now
    tills.line.says(f"record tills {other.path} a={tills.line.path} b={tills.cold.path}")
    assert _undecided(other) == set()


def test_what_came_late_was_not_seen_by_who_signed(tills: Tills) -> None:
    """Handed over late, it stands before the signature, and is not settled by it."""
    tills.see("cold")
    late = shutil.copy(tills.line.path, tills.folder / "late.sqlite3")
    at_the_line = Kitchen(Path(late))
    at_the_line.at("2026-10-26T12:05-06:00")
    at_the_line.says("hold walk-in 50")
    at_the_line.at("2026-10-26T12:10-06:00")
    at_the_line.says("hold walk-in 38")
    tills.at("12:30")
    tills.both.says("sign-day today --by AR")
    shutil.copy(late, tills.line.path)
    tills.at("12:40")
    assert _undecided(tills.both) == {"walk-in"}
    tills.both.says('sign-day today --note "now seen" --by AR')
    assert _undecided(tills.both) == set()


def test_nobody_signs_over_a_till_that_cannot_be_read(tills: Tills) -> None:
    tills.see("cold")
    away = tills.line.path.rename(tills.folder / "away")
    result = tills.both.run('sign-day today --note "seen" --by AR')
    assert result.exit_code == 2
    assert "line cannot be read, and what is typed there is not seen" in flat(result.stderr)
    away.rename(tills.line.path)


def test_a_head_that_is_in_no_chain_vouches_for_nothing(tills: Tills) -> None:
    tills.line.says("hold walk-in 50")
    tills.at("12:20")
    tills.line.says("hold walk-in 38")
    tills.see("cold")
    tills.at("12:30")
    tills.both.says('sign-day today --note "seen" --by AR')
    assert _undecided(tills.both) == set()

    def forged(rows: list[dict[str, object]]) -> None:
        body = json.loads(str(rows[-1]["body"]))
        name, number, _, first = body["heads"][0].split()
        body["heads"][0] = f"{name} {number} {'0' * 64} {first}"
        rows[-1]["body"] = json.dumps(body, sort_keys=True, separators=(",", ":"))

    _rewrite(tills.cold.path, forged)
    tills.both.says("record tills --anew")
    assert _undecided(tills.both) == {"walk-in"}


def test_food_of_the_other_till_is_released_here_by_pin(tills: Tills) -> None:
    tills.line.says("batch stew --code stew")
    tills.line.says("cool stew 100 --yes")
    tills.see("cold")
    tills.at("12:10")
    tills.both.says('release-food stew "tasted and boiled" --by AR')
    assert _rows(tills.cold)[-1]["batch"] == "stew"
    assert "stew" not in {
        one["subject"] for one in _matters(tills.both) if one["verdict"] == "not shown"
    }


def test_at_a_terminal_a_view_is_reviewed_and_nobodys_asks_nothing(tills: Tills) -> None:
    tills.line.says("batch stew --code stew")
    tills.line.says("cool stew 100 --yes")
    tills.see()
    before = len(_rows(tills.line)) + len(_rows(tills.cold))
    told = tills.both.asks("review --by AR", "", "", "").output
    assert "stew" in told
    assert "only shows" not in told
    tills.both.path.unlink()
    tills.see("cold")
    told = tills.both.asks("review --by AR", *[""] * 9).output
    assert "stew" in told
    assert len(_rows(tills.line)) + len(_rows(tills.cold)) == before


def test_a_view_with_a_hole_is_refused_in_a_sentence(tills: Tills) -> None:
    tills.see()
    with closing(sqlite3.connect(tills.both.path)) as plain, plain:
        plain.execute("DELETE FROM shown WHERE seq < 12")
    tills.line.says("hold walk-in 38")
    assert "The view is not as haccp made it" in tills.both.refuses("due")
    tills.both.says("record tills --anew")
    tills.both.says("due")
