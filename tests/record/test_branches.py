"""A branch that parted from the record is told of wherever a manager and an inspector look.

Nothing of it makes food met, and food that it is about does not pass as clean.
"""

import json
import shutil
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pypdf
import pytest

from haccp.record.places import Server
from haccp.record.store import open_record
from tests.kitchens import Kitchen, flat
from tests.servers import Running

ZONE = "-06:00"


@dataclass
class Forked:
    """A kitchen's file, a copy of it that was typed into by mistake, and the server of both."""

    kept: Kitchen
    copy: Kitchen
    on_server: Kitchen
    url: str

    def at(self, clock: str) -> None:
        for one in (self.kept, self.copy, self.on_server):
            one.at(f"2026-10-26T{clock}{ZONE}")

    def hand_over(self) -> None:
        """Hand over what the copy has, which parts from what the server holds by now."""
        result = self.copy.run(f"hand-over {self.url}")
        assert result.exit_code in (2, 4), result.output
        assert "part from what" in result.stderr

    @property
    def head(self) -> str:
        with closing(open_record(self.copy.path, create=False)) as record:
            return record.head()[1]


@pytest.fixture
def forked(
    opened: Path,
    tmp_path: Path,
    server: Running,
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
) -> Forked:
    """Cool a stew that keeps the limits by the chain; in the copy it was read 90 °F at 14:10."""
    monkeypatch.setenv("HACCP_BY", "AR")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    account = server.kitchen(request.node.name)
    on_server = Kitchen(account)  # type: ignore[arg-type]
    kept = Kitchen(Path(shutil.copy(opened, tmp_path / "record.sqlite3")))
    made = Forked(kept, Kitchen(tmp_path / "copy.sqlite3"), on_server, account.url)
    made.at("12:00")
    kept.says("cool stew 150")
    made.at("12:10")
    kept.says("cool stew 135")
    kept.says(f"hand-over {account.url}")
    shutil.copy(kept.path, made.copy.path)
    made.at("14:00")
    kept.says("cool stew 69")
    made.at("14:10")
    made.copy.says("cool stew 90")
    made.copy.says('batch rice --code rice --kind "plant food"')
    made.copy.says("cook rice 200")
    made.at("16:00")
    kept.says("cool stew 40")
    kept.says(f"hand-over {account.url}")
    return made


def undecided(kitchen: Kitchen) -> list[tuple[str, str]]:
    found = json.loads(kitchen.says("due --json"))
    return [(one["subject"], one["verdict"]) for one in found if one["group"] == "decide"]


def verdict(kitchen: Kitchen, name: str = "stew") -> str:
    return str(json.loads(kitchen.says(f"show {name} --json"))["verdict"])


def pages(kitchen: Kitchen, file: Path, words: str = "report today") -> list[str]:
    kitchen.says(f"{words} --output {file}")
    return [flat(page.extract_text()) for page in pypdf.PdfReader(file).pages]


def with_pin(kitchen: Kitchen) -> None:
    kitchen.says("pin AR --by AR")


def test_the_file_that_parted_says_so_on_every_look_and_on_every_page(
    forked: Forked, tmp_path: Path
) -> None:
    assert verdict(forked.copy) != "not shown"
    forked.hand_over()
    assert ("branch", "not shown") in undecided(forked.copy)
    told = flat(forked.copy.says("due"))
    assert "4 entries of this record after no. " in told
    assert "About: stew, rice." in told
    assert 'haccp hand-over URL --go-on "..."' in told
    assert told == flat(forked.copy.says("status"))
    assert told == flat(forked.copy.says(""))
    review = forked.copy.says("review")
    assert 'haccp hand-over URL --go-on "..."' in review
    assert "a branch beside the record: NOT SHOWN" in review
    for name in ("stew", "rice"):
        assert verdict(forked.copy, name) in ("not shown", "not met")
        assert (name, "not shown") in undecided(forked.copy) or (name, "not met") in undecided(
            forked.copy
        )
    found = pages(forked.copy, tmp_path / "branch.pdf")
    assert len(found) > 1
    forked.at("16:10")
    earlier = pages(forked.copy, tmp_path / "earlier.pdf", 'report today --printed "14:30"')
    for page in (*found, *earlier):
        assert "Kept beside the record: a branch that parted after no." in page
        assert "not part of the chain" in page
    assert "Nobody decided about it." in found[0]


def test_a_record_on_a_server_says_what_is_kept_beside_it(forked: Forked, tmp_path: Path) -> None:
    assert verdict(forked.on_server) == "met"
    forked.hand_over()
    name = forked.head[:12]
    assert (name, "not shown") in undecided(forked.on_server)
    assert verdict(forked.on_server) == "not shown", "a cooling that a branch contradicts is met"
    assert ("stew", "not shown") in undecided(forked.on_server)
    found = json.loads(forked.on_server.says("show stew --json"))["findings"]
    assert "met" not in {one["verdict"] for one in found}
    told = flat(forked.on_server.says("due"))
    assert f"are kept beside the record as {name}, no part of its chain. About: stew, rice" in told
    decide = json.loads(forked.on_server.says("review --json"))["decide"]
    assert f'haccp go-on {name} "..."' in [one["command"] for one in decide]
    (first, *rest) = pages(forked.on_server, tmp_path / "there.pdf")
    assert f"kept beside the record as {name}" in first
    assert "Nobody decided about it." in first
    assert "Every limit that was checked was kept" not in first
    assert "● met" not in first.replace("Marks: ● met", "")
    # it is the record itself: nothing says that it is a branch
    assert not any("a branch that parted after" in page for page in (first, *rest))
    (food,) = json.loads(forked.on_server.says("trends --by food --json"))["food"]
    assert (food["count"], food["not_shown"]) == (1, 1)


def test_who_measures_it_is_told_and_a_manager_decides_in_the_walk(forked: Forked) -> None:
    forked.hand_over()
    forked.at("16:20")
    told = forked.on_server.says("hold stew 40")
    assert "Entries about it stand in a branch beside the record." in told
    assert not told.startswith("OK")
    with_pin(forked.on_server)
    forked.on_server.asks("review", "", "go-on a copy, typed into by mistake", "q")
    assert [subject for subject, _ in undecided(forked.on_server)] == ["stew"]
    assert "a copy, typed into by mistake" in forked.on_server.says("record branches")


def test_the_kitchens_own_file_learns_of_it_and_a_manager_decides(
    forked: Forked, tmp_path: Path, server: Running
) -> None:
    forked.hand_over()
    assert undecided(forked.kept) == [], "nothing told it yet"
    assert verdict(forked.kept) == "met"
    told = flat(forked.kept.says(f"hand-over {forked.url}"))
    name = forked.head[:12]
    assert f"kept beside the record as {name}" in told
    assert f'haccp go-on {name} "..."' in told
    assert (name, "not shown") in undecided(forked.kept)
    assert verdict(forked.kept) == "not shown"
    again = forked.kept.says(f"hand-over {forked.url}")
    assert "handed over to" not in again
    assert "Deviations: " in forked.kept.says('sign-day today --note "seen"')
    assert "is no manager" in forked.kept.refuses(f'go-on {name} "typed by mistake" --by JM')
    assert "Why?" in forked.kept.refuses(f"go-on {name}")
    assert "type one of" in forked.kept.refuses('go-on ffffff "typed by mistake"')
    forked.at("16:30")
    told = flat(forked.kept.says(f'go-on {name} "typed into a copy by mistake"'))
    assert "Not in this record: rice." in told
    assert name not in [subject for subject, _ in undecided(forked.kept)]
    assert "decided about" in forked.kept.refuses(f'go-on {name} "again"')
    # the food is decided by itself
    assert ("stew", "not shown") in undecided(forked.kept)
    forked.kept.says('release-food stew "read again with T2, 40"')
    assert "stew" not in [subject for subject, _ in undecided(forked.kept)]
    text = " ".join(pages(forked.kept, tmp_path / "after.pdf"))
    assert "Nobody decided about it." not in text
    assert "typed into a copy by mistake" in text
    assert f"kept beside the record as {name}" in text
    assert "read again with T2, 40" in text
    forked.kept.says(f"hand-over {forked.url}")
    assert name not in [subject for subject, _ in undecided(forked.on_server)]
    assert _waiting(server, forked) == 0
    assert flat(forked.on_server.says("record branches")) == flat(
        forked.kept.says("record branches")
    )
    assert "AR went on without it" in forked.kept.says("record branches")


def test_a_manager_decides_on_the_server_itself(forked: Forked, server: Running) -> None:
    forked.hand_over()
    name = forked.head[:12]
    with_pin(forked.on_server)
    forked.at("16:30")
    forked.on_server.says(f'go-on {name} "a copy, typed into by mistake"')
    assert _waiting(server, forked) == 0
    with closing(open_record(Server(forked.url), create=False)) as there:
        kinds = [row["kind"] for row in there.rows()][-2:]
    assert kinds == ["fork kept", "fork decided"]
    assert name not in [subject for subject, _ in undecided(forked.on_server)]
    assert ("stew", "not shown") in undecided(forked.on_server)
    # the copy that goes on is another branch, and waits for a decision again
    forked.copy.says("hold stew 60")
    forked.hand_over()
    assert _waiting(server, forked) == 1
    assert (forked.head[:12], "not shown") in undecided(forked.on_server)


def test_a_branch_that_grows_is_told_and_decided_once(forked: Forked, server: Running) -> None:
    forked.hand_over()
    forked.kept.says(f"hand-over {forked.url}")
    short = forked.head[:12]
    forked.copy.says("cool stew 80")
    forked.hand_over()
    longer = forked.head[:12]
    names = [subject for subject, _ in undecided(forked.on_server)]
    assert longer in names
    assert short not in names
    forked.kept.says(f"hand-over {forked.url}")
    assert short not in [subject for subject, _ in undecided(forked.kept)]
    forked.copy.at(f"2026-10-26T16:10{ZONE}")
    forked.kept.at(f"2026-10-26T16:20{ZONE}")
    told = forked.kept.says(f'go-on {longer} "seen"')
    assert longer in told
    forked.kept.says(f"hand-over {forked.url}")
    assert _waiting(server, forked) == 0
    assert not {short, longer} & {subject for subject, _ in undecided(forked.kept)}


def test_what_parted_can_be_read_whole(forked: Forked, tmp_path: Path) -> None:
    forked.hand_over()
    name, file = forked.head[:12], tmp_path / "branch.sqlite3"
    (listed,) = json.loads(forked.on_server.says("record branches --json"))
    assert (listed["head"], listed["entries"], listed["decided"]) == (forked.head, 4, None)
    told = forked.on_server.says(f"record branches {name} --output {file}")
    assert "a record of its own" in told
    with closing(open_record(file, create=False)) as one:
        rows = list(one.rows())
    with closing(open_record(forked.copy.path, create=False)) as two:
        assert rows == list(two.rows())
    branch = Kitchen(file)
    branch.now = forked.copy.now
    assert "one chain" in branch.says("record verify")
    assert "rice" in branch.says("list batches")
    assert "90 °F" in branch.says("show stew")
    found = pages(branch, tmp_path / "branch.pdf")
    for page in found:
        assert "Kept beside the record: a branch that parted after no." in page
    assert "90 °F" in " ".join(found)
    assert "is a database, perhaps a record" in forked.on_server.refuses(
        f"record branches {name} --output {file}"
    )
    assert "is no branch" in forked.on_server.refuses("record branches 000000")
    # a file knows of it, and does not hold it
    forked.kept.says(f"hand-over {forked.url}")
    refused = forked.kept.refuses(f"record branches {name} --output {tmp_path / 'no.sqlite3'}")
    assert "type it with --db" in refused
    assert not (tmp_path / "no.sqlite3").exists()


def test_a_server_that_takes_the_whole_record_after_all_ends_the_branch(
    forked: Forked, server: Running
) -> None:
    forked.hand_over()
    other = server.kitchen(f"another account of {forked.url[-40:-20]}")
    forked.copy.says(f"hand-over {other.url}")
    assert "branch" not in [subject for subject, _ in undecided(forked.copy)]


def test_a_paper_of_before_is_printed_again_byte_for_byte(
    forked: Forked, tmp_path: Path, server: Running
) -> None:
    before, after = tmp_path / "before.pdf", tmp_path / "after.pdf"
    forked.on_server.says(f"report today --output {before}")
    forked.at("16:20")
    forked.hand_over()
    with closing(server.connect()) as superuser, superuser.transaction():
        superuser.execute("ALTER TABLE fork DISABLE TRIGGER USER")
        superuser.execute(
            "UPDATE fork SET kept_at = %s WHERE head = %s", (forked.copy.now, forked.head)
        )
        for name in ("fork_is_whole", "fork_is_never_changed", "fork_is_never_emptied"):
            superuser.execute(f"ALTER TABLE fork ENABLE ALWAYS TRIGGER {name}".encode())
    forked.at("16:40")
    with_pin(forked.on_server)
    forked.on_server.says(f'report today --again "16:00" --output {after}')
    assert after.read_bytes() == before.read_bytes()
    assert verdict(forked.on_server) == "not shown"


def _waiting(server: Running, forked: Forked) -> int:
    kitchen = Kitchen(server.as_superuser)  # type: ignore[arg-type]
    kitchen.now = datetime(2026, 10, 26, tzinfo=UTC)
    listed: list[dict[str, Any]] = json.loads(
        kitchen.says(f"server kitchens {server.url()} --json")
    )
    role = Server(forked.url).url.partition("//")[2].partition(":")[0]
    (waiting,) = [one["undecided_forks"] for one in listed if one["role"] == role]
    return int(waiting)
