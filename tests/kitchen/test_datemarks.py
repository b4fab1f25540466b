"""Date marks, through freezing and any depth: 3-501.17, 3-501.18. The foods are invented."""

import json
import random
from datetime import date, timedelta
from pathlib import Path

import pytest
from pypdf import PdfReader

from haccp.rules.datemark import EXEMPT
from tests.kitchens import Kitchen, flat, log, matters, on, verdict


def _of_the_mark(kitchen: Kitchen, name: str) -> list[str]:
    """Give what is open or undecided of a date mark: that nobody looked for days stands beside."""
    found = json.loads(kitchen.says("status --json"))
    mine = [one for one in found if one["subject"] == name and one["limit"] == "date-mark"]
    return [one["verdict"] for one in mine]


def test_a_mark_goes_through_any_depth_and_stands_still_in_the_freezer(kitchen: Kitchen) -> None:
    """Made 26 Oct, so until 1 Nov; frozen from 28 Oct to 2 Nov, four whole days: until 5 Nov."""
    kitchen.says("batch meat --code meat")
    on(kitchen, "10-27", "12:00", "batch sauce --from meat --code sauce --yes")  # nobody read it
    on(kitchen, "10-28", "12:00", "split sauce 2 --amount '2 gal' --yes")
    kitchen.says("freeze sauce-a")
    assert "USE BY SUN 1 NOV" in kitchen.says("label sauce-b")
    assert "use by Thu 5 Nov" in on(kitchen, "11-02", "12:00", "thaw sauce-a")
    assert "use by Thu 5 Nov" in on(
        kitchen, "11-03", "12:00", "batch pie --from sauce-a --code pie --yes"
    )
    assert "2 gal" in kitchen.says("label sauce-a")


@pytest.mark.parametrize("seed", range(4))
def test_a_mark_is_what_counting_days_on_a_calendar_gives(kitchen: Kitchen, seed: int) -> None:
    """The oracle walks day by day: each day not wholly in the freezer uses up one of seven."""
    chance = random.Random(seed)
    kitchen.at("2026-10-28T12:00-06:00")
    kitchen.says("batch food --code food")
    day, used, is_frozen = date(2026, 10, 28), 1, False
    for _ in range(12):
        day += timedelta(days=1)
        froze_over_night, touched = is_frozen, chance.random() < 0.4
        if touched:
            command = "thaw food" if is_frozen else "freeze food"
            on(kitchen, f"{day:%m-%d}", "23:30", command)
            is_frozen = not is_frozen
        used += 0 if froze_over_night and not touched else 1
        if used == 7:
            break
    while used < 7:
        day, used = day + timedelta(days=1), used + 1
    last = day
    if is_frozen:
        on(kitchen, f"{day:%m-%d}", "23:59", "thaw food")
    kitchen.at(f"2026-{day:%m-%d}T23:59-07:00")
    assert f"USE BY {last:%a} {last.day} {last:%b}".upper() in kitchen.says("label food")


def test_the_last_day_is_in_status_and_from_midnight_on_it_is_over(kitchen: Kitchen) -> None:
    """1 November has 25 hours."""
    kitchen.at("2026-11-01T00:30-06:00")
    found = json.loads(kitchen.says("status --json"))
    (last,) = [one for one in found if one["verdict"] == "open"]
    assert last["left_min"] == 24 * 60 + 30
    kitchen.at("2026-11-02T00:00-07:00")
    assert _of_the_mark(kitchen, "stew") == ["open"]
    kitchen.at("2026-11-02T00:01-07:00")
    assert _of_the_mark(kitchen, "stew") == ["not met"]
    assert "3-501.18" in kitchen.says("action stew")
    kitchen.says('discard stew "past its day"')
    assert matters(kitchen, "stew") == []


@pytest.mark.parametrize("later", ["freeze stew", "time stew 41", "hold stew 40 --yes"])
def test_food_past_its_day_stays_so_whatever_is_done_with_it(kitchen: Kitchen, later: str) -> None:
    log(kitchen, ("13:00", "cool stew 135"), ("14:00", "cool stew 70"), ("17:00", "cool stew 41"))
    on(kitchen, "11-12", "12:00", later)
    assert "not met" in matters(kitchen, "stew")


def test_a_freezing_entered_after_the_fact_takes_no_days_back(kitchen: Kitchen) -> None:
    kitchen.at("2026-11-03T12:00-07:00")
    assert _of_the_mark(kitchen, "stew") == ["not met"]
    kitchen.says("freeze stew '2026-10-27 12:00'")
    assert _of_the_mark(kitchen, "stew") == ["not met"]


def test_frozen_food_past_no_day_asks_nothing(kitchen: Kitchen) -> None:
    on(kitchen, "10-30", "12:00", "freeze stew")
    kitchen.at("2026-11-20T12:00-07:00")
    assert _of_the_mark(kitchen, "stew") == []
    assert "2 days left once thawed" in flat(kitchen.says("show stew"))


def test_a_thaw_before_the_freezing_is_refused(kitchen: Kitchen) -> None:
    log(kitchen, ("13:00", "freeze stew"))
    assert "frozen or thawed at 13:00" in kitchen.refuses("thaw stew 12:30")
    assert "frozen already" in kitchen.refuses("freeze stew")
    log(kitchen, ("14:00", "thaw stew"))
    assert "later time" in kitchen.refuses("freeze stew 13:30")
    assert "not frozen" in kitchen.refuses("thaw stew")


def test_raw_food_has_no_mark_but_its_makers(kitchen: Kitchen) -> None:
    kitchen.says("receive beef 38 --code beef")
    assert "USE BY" not in kitchen.says("label beef")
    kitchen.says("receive milk 38 --code milk --use-by 2026-10-28")
    assert "USE BY WED 28 OCT" in kitchen.says("label milk")
    assert "use by Wed 28 Oct" in kitchen.says("batch pudding --from milk --from beef --code p")
    for clock in ("14:00", "18:00", "22:00"):
        log(kitchen, (clock, "hold walk-in 38"))
    for day in (27, 28):
        for hour in range(2, 24, 4):
            on(kitchen, f"10-{day}", f"{hour:02}:00", "hold walk-in 38")
    kitchen.at("2026-10-29T00:01-06:00")
    assert matters(kitchen, "milk") == ["not met"]
    assert matters(kitchen, "beef") == []


def test_the_day_after_the_last_one_is_not_signed_without_a_word_about_it(kitchen: Kitchen) -> None:
    kitchen.at("2026-11-02T08:00-07:00")
    assert "1 undecided or open (stew)" in kitchen.refuses("sign today --by AR")


def test_paper_says_when_to_discard_and_that_a_day_is_over(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    kitchen.says("batch rice --code rice")
    log(kitchen, ("12:10", "time rice 141"))

    def printed() -> str:
        kitchen.says(f"report today --output {tmp_path}/day.pdf")
        pages = PdfReader(tmp_path / "day.pdf").pages
        return flat(" ".join(page.extract_text() for page in pages))

    assert "discarded by 16:10" in printed()
    kitchen.at("2026-11-02T08:00-07:00")
    assert "Its last day ended" in printed()


def test_a_stew_keeps_the_date_mark_of_its_oldest_meat(kitchen: Kitchen) -> None:
    """Source: Food Code 3-501.17, combined foods keep the earliest date; day 1 is preparation."""
    kitchen.at("2026-10-22T12:00-06:00")
    kitchen.says("batch shoulder --code shoulder")
    kitchen.at("2026-10-24T12:00-06:00")
    kitchen.says("batch dice --code dice --from shoulder --yes")  # nobody read it
    kitchen.at("2026-10-26T12:00-06:00")
    assert "use by Wed 28 Oct" in kitchen.says("batch pie --code pie --from dice --yes")
    assert "use by Sun 1 Nov" in kitchen.says("batch soup --code soup")


def test_the_label_of_frozen_food_names_no_day_but_how_many_are_left(kitchen: Kitchen) -> None:
    """3-501.17, 3-501.18: opened on the 26th, frozen on the 27th: two days of seven are spent."""
    kitchen.at("2026-10-27T12:00-06:00")
    kitchen.says("freeze stew")
    label = kitchen.says("label stew")
    assert "FROZEN TUE 27 OCT, 5 DAYS LEFT ONCE THAWED" in label and "USE BY" not in label


def test_food_past_its_day_is_not_met_wherever_it_is_read(kitchen: Kitchen) -> None:
    """3-501.18(A): opened on 26 October, its last day is 1 November."""
    log(kitchen, ("12:10", "cool stew 135"), ("13:50", "cool stew 69"), ("17:50", "cool stew 40"))
    assert verdict(kitchen, "stew") == "met"
    kitchen.at("2026-11-05T10:00-07:00")
    assert "UNDECIDED: TOO OLD." in kitchen.says("reheat stew 40")
    assert verdict(kitchen, "stew") == "not met"
    assert "not met" in kitchen.says("list batches")
    kitchen.at("2026-11-05T11:00-07:00")
    kitchen.says("reheat stew 168 --held 15")
    kitchen.at("2026-11-05T11:20-07:00")
    kitchen.says("used stew --yes")
    said = kitchen.refuses("sign today --by AR")
    assert "2 undecided or open (stew)" in said, "it was served today, and nobody looked for days"


def test_portions_of_frozen_food_are_frozen(kitchen: Kitchen) -> None:
    log(kitchen, ("12:30", "freeze stew"), ("13:00", "split stew 2"))
    kitchen.at("2026-11-05T10:00-07:00")
    assert _of_the_mark(kitchen, "stew-a") == []
    assert "out of the freezer" in kitchen.says("thaw stew-a")


def _show(kitchen: Kitchen, name: str) -> str:
    return flat(kitchen.says(f"show {name}"))


@pytest.mark.parametrize(
    ("taken", "code"),
    [
        ("receive milk 38", "milk"),
        ("receive salad 38 --kind 'plant food'", "salad"),
        ("receive ham 38 --kind 'commercial package'", "ham"),
        ("receive peas 10 --as frozen", "peas"),
    ],
)
def test_a_delivery_is_marked_from_the_day_its_container_is_opened(
    kitchen: Kitchen, taken: str, code: str
) -> None:
    """3-501.17(B): the day the original container is opened is day 1; unopened it has none."""
    kitchen.says(f"{taken} --code {code}")
    assert "USE BY" not in kitchen.says(f"label {code}")
    assert "Date mark" not in _show(kitchen, code)
    assert "Date mark: use by Tue 3 Nov" in on(kitchen, "10-28", "12:00", f"opened {code}")
    label = kitchen.says(f"label {code}")
    assert "opened Wed 28 Oct" in label and "USE BY TUE 3 NOV" in label
    assert "container opened" in _show(kitchen, code)
    assert "Date mark: use by Tue 3 Nov" in _show(kitchen, code)
    kitchen.at("2026-11-04T00:01-07:00")
    assert _of_the_mark(kitchen, code) == ["not met"]


def test_an_opening_said_late_counts_for_the_moment_that_was_said(kitchen: Kitchen) -> None:
    kitchen.says("receive ham 38 --code ham")
    said = on(kitchen, "10-30", "12:00", "opened ham '2026-10-27 09:00'")
    assert "use by Mon 2 Nov" in said
    on(kitchen, "11-03", "12:00", "receive tofu 38 --code tofu")
    said = on(kitchen, "11-12", "12:00", "opened tofu '2026-11-04 09:00'")
    assert "was Tue 10 Nov: its days are over, discard it (3-501.18)" in said


def test_no_opening_is_later_than_what_was_done_with_the_package(kitchen: Kitchen) -> None:
    kitchen.says("receive ham 38 --code ham --kind 'commercial package'")
    on(kitchen, "10-27", "12:00", "batch salad --code salad --from ham --yes")
    assert "use by Mon 2 Nov" in on(kitchen, "10-29", "12:00", "opened ham")
    assert "use by Sun 1 Nov" in kitchen.says("opened ham '2026-10-26 13:00'")
    assert "use by Sun 1 Nov" in kitchen.says("opened ham"), "an earlier one stands"


def test_a_portion_keeps_the_opening_of_its_package(kitchen: Kitchen) -> None:
    """It may be said of the portion, too, that its container was opened before it was divided."""
    kitchen.says("receive milk 38 --code milk")
    kitchen.says("receive cream 38 --code cream")
    log(kitchen, ("13:00", "opened milk"))
    on(kitchen, "10-28", "12:00", "split milk 2 --yes")
    kitchen.says("split cream 2 --yes")
    assert "USE BY SUN 1 NOV" in kitchen.says("label milk-b")
    assert "USE BY" not in kitchen.says("label cream-a")
    assert "use by Mon 2 Nov" in kitchen.says("opened cream-a '2026-10-27 12:00'")
    assert "use by Sun 1 Nov" in kitchen.says("opened milk-a"), "no later one than its package's"
    assert "delivered at" in kitchen.refuses("opened cream-a '2026-10-25 12:00'")


def test_what_has_its_days_already_or_is_raw_is_not_opened(kitchen: Kitchen) -> None:
    kitchen.says("receive chicken 38 --kind poultry --code chicken")
    kitchen.says("receive soup 140 --as hot --code soup")
    assert "not ready to eat" in kitchen.refuses("opened chicken")
    assert "came hot" in kitchen.refuses("opened soup")
    assert "made here" in kitchen.refuses("opened stew")
    assert "well-1" in kitchen.refuses("opened well-1")


def test_an_opening_is_withdrawn_at_once_by_a_cook_and_later_by_a_manager(
    kitchen: Kitchen,
) -> None:
    kitchen.says("receive ham 38 --code ham")
    last = 'correct {} --withdraw --reason "another package"'
    log(kitchen, ("12:10", "opened ham"))
    kitchen.says(last.format(kitchen.entries()[-1]["seq"]))
    assert "USE BY" not in kitchen.says("label ham")
    kitchen.says("opened ham")
    number = kitchen.entries()[-1]["seq"]
    kitchen.at("2026-11-12T12:00-07:00")
    assert "manager" in kitchen.refuses(last.format(number))
    assert _of_the_mark(kitchen, "ham") == ["not met"]
    kitchen.says(f"{last.format(number)} --by AR")
    assert _of_the_mark(kitchen, "ham") == []


@pytest.mark.parametrize("kind", EXEMPT)
def test_an_exempt_kind_has_no_date_mark_and_says_by_what(kitchen: Kitchen, kind: str) -> None:
    """3-501.17(F), (G)."""
    said = kitchen.says(f"receive food 38 --code food --date-mark-exempt '{kind}'")
    citation = EXEMPT[kind].citation
    assert "No date mark" in said and citation in said
    kitchen.says("opened food")
    kitchen.says("split food 1 --keep")
    for name in ("food", "food-a"):
        label = kitchen.says(f"label {name}")
        assert f"NO DATE MARK {citation}" in label and "USE BY" not in label
        assert f"Exempt: from a date mark as {EXEMPT[kind]}" in _show(kitchen, name)
        assert "Date mark:" not in _show(kitchen, name)
    kitchen.at("2026-11-12T12:00-07:00")
    assert _of_the_mark(kitchen, "food") == _of_the_mark(kitchen, "food-a") == []


def test_an_exemption_goes_no_further_than_the_food_that_has_it(kitchen: Kitchen) -> None:
    kitchen.says("receive cheddar 38 --code cheddar --date-mark-exempt 'Hard cheese'")
    kitchen.says("receive cheddar 38 --code other")
    assert "different foods" in kitchen.refuses("merge cheddar other")
    said = kitchen.says("batch gratin --from cheddar --code gratin")
    assert "use by Sun 1 Nov" in said
    assert "Exempt" not in _show(kitchen, "gratin")
    kitchen.says("prepare cheddar 50")
    assert "USE BY SUN 1 NOV" in kitchen.says("label cheddar"), "3-501.17(A) goes on to bind it"


def test_what_3_501_17_does_not_exempt_is_refused(kitchen: Kitchen) -> None:
    def taken(options: str) -> str:
        return kitchen.refuses(f"receive food 38 --code food {options}")

    said = taken("--date-mark-exempt ham")
    assert all(kind in said for kind in EXEMPT)
    assert "raw until" in taken("--kind poultry --date-mark-exempt 'deli salad'")
    kitchen.says("receive oysters 38 --kind fish --code oysters --date-mark-exempt shellstock")
    hot = "receive food 140 --as hot --date-mark-exempt 'dry sausage'"
    assert "comes as hot is not exempt" in kitchen.refuses(hot)
    kitchen.says("kitchen --limit-set minnesota-4626 --by AR")
    assert "nobody has read" in taken("--date-mark-exempt 'hard cheese'")


def test_paper_shows_the_opening_and_the_exemption(kitchen: Kitchen, tmp_path: Path) -> None:
    kitchen.says("receive ham 38 --code ham")
    kitchen.says("receive cheddar 38 --code cheddar --date-mark-exempt 'hard cheese'")
    log(kitchen, ("12:40", "opened ham 12:10"))
    kitchen.says(f"report today --output {tmp_path}/day.pdf")
    pages = PdfReader(tmp_path / "day.pdf").pages
    printed = flat(" ".join(page.extract_text() for page in pages))
    assert "container opened 12:10 (JM): entered 30 min later" in printed
    assert "Exempt from a date mark as hard cheese of at most 39 % moisture" in printed
