"""What is judged once of a kitchen is what is judged of all of it; and how long that holds."""

from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from haccp.assets import folder
from haccp.cli.demo import type_week
from haccp.cli.main import cli
from haccp.kitchen.judged import judge, quiet_from
from haccp.kitchen.register import read_register
from haccp.logs.sample_week import sample_week
from haccp.record.district import Cooling, Judged, Results, Undecided
from haccp.record.store import Record, open_record
from haccp.time import from_stored
from tests.kitchens import Kitchen
from tests.simulated import simulated
from tests.years import chained

_EVERY = 24  # entries between two visits


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Record]:
    """The sample week: it is invented."""
    path: Path = tmp_path_factory.mktemp("week") / "record.sqlite3"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CONFIG_HOME", str(path.parent / "config"))
        type_week(cli, path, sample_week(folder("sample_logs")))
    with closing(open_record(path, create=False)) as record:
        yield record


def _visited(record: Record, before: Judged | None, at: datetime) -> Results:
    view = record.as_known_at(at).strict()
    return judge(view, read_register(view), before, "1", at)


def _keys(undecided: tuple[Undecided, ...]) -> set[tuple[str, str, str]]:
    return {(one.subject, one.verdict, one.limit_name) for one in undecided}


def test_what_visits_add_up_to_is_what_one_look_at_everything_finds(week: Record) -> None:
    entered = [one.entered_at for one in week.entries()]
    before: Judged | None = None
    coolings: dict[str, list[Cooling]] = {}
    in_part = 0
    for at in [*entered[60::_EVERY], entered[-1] + timedelta(days=2)]:
        results = _visited(week, before, at)
        in_part += before is not None and results.batches is not None
        for batch in coolings if results.batches is None else results.batches:
            coolings = {code: ones for code, ones in coolings.items() if code != batch}
        for one in results.coolings:
            coolings.setdefault(one.batch, []).append(one)
        whole = _visited(week, None, at)
        assert sorted(one for ones in coolings.values() for one in ones) == sorted(whole.coolings)
        assert results.undecided == whole.undecided
        before = results.judged
    assert in_part >= 5, "everything was judged anew each time: nothing is shown of the parts"
    assert len({one.verdict for ones in coolings.values() for one in ones}) == 3


def test_nothing_comes_to_be_undecided_before_it_no_longer_holds(week: Record) -> None:
    entered = [one.entered_at for one in week.entries()]
    ended = 0
    for n in range(60, len(entered) - 1, _EVERY // 2):
        if entered[n + 1] - entered[n] < timedelta(minutes=10):
            continue
        found = _visited(week, None, entered[n])
        holds_until = from_stored(found.judged.holds_until)
        until = min(holds_until, entered[n + 1] - timedelta(seconds=1))
        for share in (0.5, 1):
            at = (entered[n] + (until - entered[n]) * share).replace(microsecond=0)
            again = _visited(week, None, at)
            assert _keys(again.undecided) == _keys(found.undecided), (entered[n], at)
            assert again.coolings == found.coolings
        ended += holds_until < entered[n + 1]
    assert ended, "nothing fell due: nothing is shown"


def test_another_version_or_another_set_of_limits_judges_everything_anew(week: Record) -> None:
    at = week.entries()[-1].entered_at
    judged = _visited(week, None, at).judged
    view = week.as_known_at(at).strict()
    register = read_register(view)
    assert judge(view, register, judged, "1", at).batches is not None
    assert judge(view, register, judged, "2", at).batches is None
    assert judge(view, register, judged._replace(limits="another.1"), "1", at).batches is None


@pytest.mark.parametrize(
    ("hours", "last", "quiet"),
    [
        # no hours: something is entered every day
        ("", "2026-10-26T15:00-06:00", "2026-10-27T15:00-06:00"),
        # the first opening after it has passed
        ("mon-fri 06:00-20:00", "2026-10-26T15:00-06:00", "2026-10-27T20:00-06:00"),
        ("mon-fri 06:00-20:00", "2026-10-26T22:00-06:00", "2026-10-27T20:00-06:00"),
        # over the weekend, and the clock change of 1 November
        ("mon-fri 06:00-20:00", "2026-10-30T19:00-06:00", "2026-11-02T20:00-07:00"),
        # an opening of days is over after one
        ("mon-fri 00:00-24:00", "2026-10-31T08:00-06:00", "2026-11-03T00:00-07:00"),
        ("mon-fri 00:00-24:00", "2026-10-26T15:00-06:00", "2026-10-27T15:00-06:00"),
    ],
)
def test_a_kitchen_is_quiet_once_an_opening_of_its_own_has_passed(
    kitchen: Kitchen, hours: str, last: str, quiet: str
) -> None:
    if hours:
        kitchen.says(f"kitchen --open '{hours}' --by AR")
    with closing(open_record(kitchen.path, create=False)) as record:
        found = quiet_from(read_register(record), datetime.fromisoformat(last).astimezone(UTC))
    assert found == datetime.fromisoformat(quiet)


@pytest.mark.parametrize(
    ("late", "is_of_all"),
    [
        # about one batch that has ended: that batch, and what was made of it
        ("correct {reading} 90 --reason 'read wrongly' --by AR", False),
        # a thermometer's readings are in many batches
        ("ice T1 36", True),
        ("kitchen --check-every 120 --by AR", True),
    ],
)
def test_a_late_entry_judges_anew_what_it_may_have_changed(
    kitchen: Kitchen, late: str, is_of_all: bool
) -> None:
    for clock, command in (
        ("12:00", "cool stew 150 --thermometer T1"),
        ("12:20", "cool stew 135 --thermometer T1"),
        ("14:00", "cool stew 69 --thermometer T1"),
        ("16:00", "split stew 2"),
        ("17:30", "cool stew-a 40 --thermometer T1"),
        ("17:30", "cool stew-b 40 --thermometer T1"),
        ("17:40", "used-up stew-a"),
        ("17:45", "used-up stew-b"),
        ("17:50", "batch rice --code rice"),
    ):
        kitchen.at(f"2026-10-26T{clock}-06:00")
        kitchen.says(command)
    (number,) = [
        one["seq"] for one in kitchen.entries() if '"temp": "69"' in str(one).replace("'", '"')
    ]
    with closing(open_record(kitchen.path, create=False)) as record:
        before = _visited(record, None, kitchen.now)
    assert {(one.batch, one.verdict) for one in before.coolings} == {
        ("stew-a", "met"),
        ("stew-b", "met"),
    }
    kitchen.at("2026-10-26T18:30-06:00")
    kitchen.says(late.format(reading=number))
    with closing(open_record(kitchen.path, create=False)) as record:
        found = _visited(record, before.judged, kitchen.now)
        whole = _visited(record, None, kitchen.now)
    assert (found.batches is None) == is_of_all
    judged_again = {one.batch for one in before.coolings} if is_of_all else set(found.batches or ())
    kept = [one for one in before.coolings if one.batch not in judged_again]
    assert sorted([*kept, *found.coolings]) == sorted(whole.coolings)
    assert found.undecided == whole.undecided


def test_whenever_it_is_judged_what_falls_due_ends_it(kitchen: Kitchen) -> None:
    """Looked at every five minutes over a day on which nobody enters anything more."""
    kitchen.says("hold well-1 150")
    kitchen.says("hold walk-in 38")
    kitchen.says("cool stew 150")
    kitchen.at("2026-10-26T12:20-06:00")
    kitchen.says("cool stew 135")
    kitchen.says("batch rice --code rice")
    changes = 0
    with closing(open_record(kitchen.path, create=False)) as record:
        before = _visited(record, None, kitchen.now)
        for minutes in range(5, 20 * 60, 5):
            at = kitchen.now + timedelta(minutes=minutes)
            found = _visited(record, None, at)
            if _keys(found.undecided) != _keys(before.undecided):
                changes += 1
                assert from_stored(before.judged.holds_until) < at, at
            before = found
    assert changes >= 4


def test_what_is_judged_of_many_coolings_is_what_their_readings_bound(tmp_path: Path) -> None:
    """The oracle knows no rule of haccp's: two times of a cooling, compared with two limits."""
    now = datetime(2026, 10, 26, 19, tzinfo=UTC)
    drafts, facts = simulated(7, 45, now)
    with closing(open_record(tmp_path / "record.sqlite3", create=True)) as record:
        record.restore(chained(drafts, now))
        found = judge(record, read_register(record), None, "1", now).coolings
    judged = Counter((one.month, one.food, one.method, one.verdict) for one in found)
    by_hand = Counter((one.month, one.food, one.method, one.by_hand()) for one in facts)
    assert judged == by_hand
    assert {verdict for *_, verdict in judged} == {"met", "not met", "not shown"}
