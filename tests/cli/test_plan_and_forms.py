"""`haccp add food`, `haccp plan` and `haccp forms`, as a manager uses them. The kitchen is invented."""

import io
import re
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from haccp.kitchen.register import read_register
from haccp.printing.forms import gather
from haccp.record.store import open_record
from tests.kitchens import Kitchen


class Press(Kitchen):
    """A kitchen that prints, too."""

    def count(self) -> int:
        return len(self.entries())

    def printed(self, command: str) -> tuple[bytes, str]:
        output = self.path.with_name("out.pdf")
        self.says(f"{command} --output {output}")
        content = output.read_bytes()
        pages = PdfReader(io.BytesIO(content)).pages
        text = " ".join(" ".join(page.extract_text() for page in pages).split())
        return content, text.replace("\u200b", "")


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Press:
    monkeypatch.setenv("HACCP_BY", "AR")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.chdir(tmp_path)
    made = Press(tmp_path / "record.sqlite3")
    made.at("2026-11-02T08:00-07:00")
    made.says('setup "Test Kitchen" --zone America/Denver --manager AR --manager-name "A. R."')
    made.says('add person JM "J. M."')
    made.says("add thermometer T1")
    made.says("add unit well-1 hot")
    return made


STEW = 'add food "bean stew" --kind "plant food" --steps receive,cook,cool,cold_hold'


# ---- foods ----


def test_a_food_is_added_and_changed_by_adding_it_again(kitchen: Press) -> None:
    assert kitchen.says(f'{STEW} --nature thick --container "hotel pan" --depth 2.5') == (
        "bean stew (plant food): receive, cook, cool, cold hold: recorded.\n"
    )
    # what is not named stays, and the food is known by its name in any case of letters
    kitchen.says('add food "Bean Stew" --steps cook,hot_hold')
    kitchen.says('add food "bean stew" --retired')
    record = open_record(kitchen.path, create=False)
    (food,) = read_register(record).foods.values()
    record.close()
    assert (food.name, food.food_kind, food.steps) == (
        "bean stew",
        "plant food",
        ("cook", "hot_hold"),
    )
    assert (food.nature, food.container, food.depth_in) == ("thick", "hotel pan", "2.5")
    assert not food.active


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ("--steps cook,fry", "'fry' is no step: type some of receive,prepare,cook"),
        ("--steps cook,cook", "'cook' stands there twice in a row"),
        ("--steps ''", "'' is no step"),
        ("--kind dragon", "'dragon' is no kind of food here: type one of"),
        ("--depth 0", "'0' is no depth: type inches such as 2 or 2.5"),
        ("--depth deep", "'deep' is no depth"),
        ("--container ' '", "The container is empty"),
        ("--by JM", "J. M. is no manager"),
    ],
)
def test_a_food_that_cannot_be_is_refused_in_one_sentence(
    kitchen: Press, options: str, sentence: str
) -> None:
    assert sentence in kitchen.refuses(f"add food stew {options}")


def test_steps_may_be_typed_as_people_say_them(kitchen: Press) -> None:
    assert "cook, hot hold, time control" in kitchen.says(
        'add food rice --steps "cook, hot hold, Time Control"'
    )


# ---- the plan ----


def test_the_plan_is_printed_from_the_settings(kitchen: Press) -> None:
    kitchen.says(STEW)
    assert kitchen.says("plan") == (
        "haccp-plan.pdf is printed: a draft, until the person in charge has approved it.\n"
        "2 things are to be settled first: they stand on its first page.\n"
    )
    assert Path("haccp-plan.pdf").stat().st_size > 10_000
    _, text = kitchen.printed("plan")
    for words in ("HACCP plan", "Test Kitchen", "bean stew", "CCP 2: Cook", "135 °F or above"):
        assert words in text, words


def test_what_the_plan_says_prints_it_again_does(kitchen: Press) -> None:
    kitchen.says(STEW)
    first, text = kitchen.printed("plan --paper a4")
    (command,) = re.findall("haccp (plan --again [^ ]+ --paper a4)", text)
    kitchen.now = datetime(2026, 11, 5, 15, 0, tzinfo=UTC)
    kitchen.says("batch soup")
    again, _ = kitchen.printed(f"{command} --force")
    assert again == first
    assert kitchen.refuses("plan --again 2026-11-02T08:00-07:00 --printed 2026-11-02T08:00-07:00")


def test_a_food_made_without_a_flow_stands_on_the_next_plan(kitchen: Press) -> None:
    kitchen.says(STEW)
    kitchen.now = datetime(2026, 11, 2, 17, 0, tzinfo=UTC)
    kitchen.says("batch ham --code ham-1")
    kitchen.says("cook ham-1 170")
    assert "ham: 1 batch on record (Cook), and no flow." in kitchen.printed("plan")[1]


def test_a_kitchen_without_foods_is_told_how_to_add_them(kitchen: Press) -> None:
    assert "haccp add food" in kitchen.says("plan")
    assert "No food is entered yet" in kitchen.printed("plan")[1]


@pytest.mark.parametrize("command", ["plan", "forms"])
def test_the_same_settings_paper_and_moments_give_the_same_bytes(
    kitchen: Press, command: str
) -> None:
    kitchen.says(STEW)
    moment = "--printed 2026-11-02T08:00-07:00"
    kitchen.now = datetime(2026, 11, 3, 15, 0, tzinfo=UTC)
    first, _ = kitchen.printed(f"{command} {moment}")
    kitchen.says("add person ZZ 'Zoe Zorn'")  # later: not known at that moment
    assert kitchen.printed(f"{command} {moment}")[0] == first
    assert kitchen.printed(command)[0] != first


@pytest.mark.parametrize("command", ["plan", "forms"])
@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_either_paper(kitchen: Press, command: str, paper: str, size: tuple[int, int]) -> None:
    content, _ = kitchen.printed(f"{command} --paper {paper}")
    box = PdfReader(io.BytesIO(content)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_a_later_change_of_a_setting_is_in_the_next_plan(kitchen: Press) -> None:
    kitchen.says(STEW)
    kitchen.says("kitchen --check-every 45 --thermometer-days 7 --degree C")
    _, text = kitchen.printed("plan")
    assert "every 45 min unless noted" in text
    assert "every 7 d" in text
    assert "57 °C or above" in text


def test_a_moment_before_the_kitchen_was_set_up_is_refused(kitchen: Press) -> None:
    for command in ("plan", "forms"):
        assert "holds no kitchen yet" in kitchen.refuses(f"{command} --printed 2026-11-01T08:00Z")


# ---- the log sheets ----


def test_blank_sheets_are_printed(kitchen: Press) -> None:
    assert kitchen.says("forms") == "haccp-forms.pdf is printed: 13 blank sheets.\n"
    assert "well-1" in kitchen.printed("forms")[1]


TYPED = {
    "FOOD": "stew", "KIND": "poultry", "BATCH": "stew-1", "SECONDS": "15", "OVEN": "250F",
    "UNIT": "well-1", "THERMOMETER": "T1", "BATCH_OR_UNIT": "stew-1",
}  # fmt: skip


def test_what_a_sheet_says_to_type_later_can_be_typed(kitchen: Press) -> None:
    """Each sheet's command, with a cook's words in the places that stand in capitals."""
    record = open_record(kitchen.path, create=False)
    sheets = gather(read_register(record), kitchen.now)["sheets"]
    record.close()
    kitchen.now = datetime(2026, 11, 3, 15, 0, tzinfo=UTC)
    kitchen.says('batch stew "2026-11-02 06:00" --code stew-1')
    assert [sheet["title"] for sheet in sheets if not sheet["entered"]] == ["Sheets given out"]
    for number, sheet in enumerate(sheets[1:]):
        command = sheet["entered"].removeprefix("haccp ").split(", ")[0]
        for place, word in (TYPED | {"CODE": f"new-{number}", "TEMP": f"140.{number}F"}).items():
            command = re.sub(rf"\b{place}\b", word, command)
        if " --from " in command:
            command += " --yes"  # by then nobody has read stew-1 for a day, which is asked about
        before = kitchen.count()
        result = kitchen.run(command)
        assert result.exit_code == 0, f"{command}: {result.output}"
        assert kitchen.count() > before
        # it counts from the day on the sheet, the one before it is typed in
        moments = [datetime.fromisoformat(str(one["at"])) for one in kitchen.entries()[before:]]
        days = {f"{moment.astimezone(ZoneInfo('America/Denver')):%d}" for moment in moments}
        assert days == {"02"}, command
