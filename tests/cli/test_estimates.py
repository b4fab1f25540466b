"""Estimates in a cook's answer, in status, on paper and as a drawing: they warn and change nothing.

All readings here are invented.
"""

import json
import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from pikepdf import Dictionary, Pdf
from pypdf import PdfReader

from tests.kitchens import Kitchen, log

SLOW = (("13:00", "cool stew 135"), ("13:30", "cool stew 126"), ("14:00", "cool stew 118"))
QUICK = (("13:00", "cool stew 135"), ("13:30", "cool stew 88"), ("14:00", "cool stew 64"))


def estimate(answer: str) -> str:
    return "".join(line for line in answer.splitlines() if line.startswith("Estimate"))


def test_a_cook_is_warned_while_the_food_can_still_be_saved(kitchen: Kitchen) -> None:
    answer = log(kitchen, *SLOW)
    assert answer.startswith("OPEN")
    assert "deadline 15:00: unlikely" in estimate(answer)
    assert "Act now: shallow pans" in answer
    assert "3-501.15" in answer


def test_two_readings_may_warn_and_never_promise(kitchen: Kitchen) -> None:
    warned = log(kitchen, *SLOW[:2])
    assert "deadline 15:00: may not make it" in estimate(warned)
    assert "Measure at 13:40, before it is given up." in warned
    assert "Measure again by 13:40." in warned
    assert "Reheat" not in warned, "two readings are too few to reheat it for"
    assert "unlikely" in estimate(log(kitchen, SLOW[2]))
    log(kitchen, ("15:00", 'discard stew "start over"'), ("15:01", "batch soup --code soup"))
    promised = log(kitchen, ("15:10", "cool soup 135"), ("15:40", "cool soup 71"))
    assert "on course" not in promised


def test_three_readings_over_an_hour_may_promise(kitchen: Kitchen) -> None:
    answer = log(kitchen, ("12:50", 'method stew "ice bath" --nature stirred --air 33F'), *QUICK)
    assert "41 °F expected" in estimate(answer)
    assert estimate(answer).endswith("on course.")
    assert "Act now" not in answer


def test_an_estimate_changes_no_verdict(kitchen: Kitchen) -> None:
    log(kitchen, *QUICK)
    before = kitchen.says("show stew --json")
    log(kitchen, ("14:01", 'method stew "ice bath" --nature stirred --air 33F'))
    after = json.loads(kitchen.says("show stew --json"))
    assert after["verdict"] == json.loads(before)["verdict"] == "open"
    assert after["findings"] == json.loads(before)["findings"]


def test_the_same_readings_give_the_same_words(kitchen: Kitchen) -> None:
    first = log(kitchen, *SLOW)
    shown = [kitchen.says("status") for _ in range(2)]
    assert shown[0] == shown[1]
    assert estimate(first).split(";")[0].removeprefix("Estimate: ") in " ".join(shown[0].split())


def test_a_change_of_method_starts_a_new_fit(kitchen: Kitchen) -> None:
    log(kitchen, ("12:55", 'method stew "walk-in" --nature thick --air 38F'), *SLOW)
    answer = log(
        kitchen,
        ("14:02", 'method stew "ice bath, stirred" --nature stirred --air 33F'),
        ("14:03", "cool stew 117"),
    )
    assert estimate(answer) == "", "one reading since the change tells nothing"
    answer = log(
        kitchen, ("14:15", "cool stew 96"), ("14:35", "cool stew 74"), ("14:45", "cool stew 66")
    )
    assert "on course" not in answer, "less than an hour since the change"
    answer = log(kitchen, ("15:05", "cool stew 53"))
    assert "41 °F expected" in estimate(answer)
    assert "on course" in answer
    assert "Act now" not in answer


def test_the_air_is_the_units_last_check_where_nothing_else_is_known(kitchen: Kitchen) -> None:
    """In air of 45 °F no food gets to 41 °F."""
    log(kitchen, ("12:40", "hold walk-in 45"))
    answer = log(
        kitchen,
        *((clock, f"{command} --in walk-in") for clock, command in QUICK),
        ("15:00", "cool stew 52 --in walk-in"),
        ("16:00", "cool stew 47 --in walk-in"),
    )
    assert re.search(r"41 °F (not expected|expected from \S+ on, perhaps never)", estimate(answer))


def test_what_an_estimate_needs_to_know_is_asked_once(kitchen: Kitchen) -> None:
    assert "haccp method stew" in log(kitchen, SLOW[0])
    assert "haccp method" not in log(kitchen, SLOW[1])
    kitchen.says('add food "pea soup" --nature thick --by AR')
    kitchen.says('batch "pea soup" --code peas')
    assert "haccp method" not in kitchen.says("cool peas 130")


@pytest.mark.parametrize(
    ("command", "told"),
    [
        ('method stew "ice bath" --air cold', "is not a temperature"),
        ('method stew "ice bath" --to 40F', "--air 36F --to 40F"),
        ('method stew "oven" --air 230F', "cools food"),
        ('method stew "ice bath" --depth deep', "is no depth"),
        ('method stew ""', "The method is empty"),
        ("curve stew", "has no cooling on record"),
        ("curve well-1", "has no cooling on record"),
    ],
)
def test_bad_input_gets_one_sentence(kitchen: Kitchen, command: str, told: str) -> None:
    assert told in kitchen.refuses(command)


def test_a_kitchen_learns_from_its_own_finished_coolings(kitchen: Kitchen) -> None:
    """Ten like coolings before it make the next one's estimate sharper."""

    def width(code: str) -> float:
        answer = json.loads(kitchen.says(f"curve {code} --json"))
        (stage,) = [s for s in answer["estimate"]["stages"] if s["limit"] == "cooling-stage-1"]
        low, _, high = stage["reached_min"]
        return float(high - low)

    def cool(code: str, hour: int, temps: list[int], day: int) -> None:
        kitchen.at(f"2026-10-{day}T{hour:02}:00-06:00")
        kitchen.says(f'batch "pea soup" --code {code}')
        kitchen.says(f'method {code} "2-inch pans, walk-in" --nature thick --air 38F')
        for i, temp in enumerate(temps):
            kitchen.at(f"2026-10-{day}T{hour + i // 2:02}:{i % 2 * 30:02}-06:00")
            kitchen.says(f"cool {code} {temp}")

    begun = [135, 112, 94]
    cool("first", 8, begun, 26)
    alone = width("first")
    kitchen.says('discard first "only begun"')
    whole = [135, 112, 94, 81, 70, 62, 56, 51, 48, 45, 43, 42, 41]
    for day in (27, 28, 29):
        for n, hour in enumerate((0, 8)):
            cool(f"soup-{day}-{n}", hour, whole, day)
            kitchen.says(f"used soup-{day}-{n}")
    cool("last", 8, begun, 30)
    assert width("last") < 0.9 * alone


@pytest.mark.parametrize("form", ["png", "svg", "pdf"])
def test_a_curve_is_drawn_in_each_form_and_the_same_each_time(
    kitchen: Kitchen, tmp_path: Path, form: str
) -> None:
    log(kitchen, *QUICK)
    drawn = []
    for name in ("one", "two"):
        path = tmp_path / f"{name}.{form}"
        kitchen.says(f"curve stew {path}")
        drawn.append(path.read_bytes())
    assert drawn[0] == drawn[1]
    assert drawn[0].startswith({"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[form])


def twice_cooled(kitchen: Kitchen) -> None:
    log(
        kitchen,
        ("13:00", "cool stew 135"),
        ("14:00", "cool stew 118"),
        ("14:30", "reheat stew 120"),
        ("15:00", "reheat stew 167 --held 15s"),
        ("15:05", "cool stew 150"),
        ("15:20", "cool stew 135"),
        ("16:30", "cool stew 69"),
        ("18:30", "cool stew 41"),
    )


def test_every_cooling_of_a_batch_can_be_drawn(kitchen: Kitchen, tmp_path: Path) -> None:
    twice_cooled(kitchen)
    both, first = tmp_path / "both.svg", tmp_path / "first.svg"
    assert "shows 2 coolings of white-bean stew" in kitchen.says(f"curve stew {both}")
    assert "shows 1 cooling of white-bean stew" in kitchen.says(f"curve stew {first} --cooling 1")
    drawn, alone = both.read_text(), first.read_text()
    for words in ("Stopped in time: 70 °F", "Met: 70 °F within 2 h, 41 °F within 6 h"):
        assert words in drawn
    assert "Stopped in time: 70 °F" in alone and "41 °F passed" not in alone
    assert "has 2 coolings" in kitchen.refuses(f"curve stew {first} --cooling 3")


def test_a_drawing_names_kitchen_batch_year_and_record(kitchen: Kitchen, tmp_path: Path) -> None:
    twice_cooled(kitchen)
    kitchen.says(f"curve stew {tmp_path / 'a.svg'}")
    kitchen.says(f"curve stew {tmp_path / 'a.pdf'}")
    svg = (tmp_path / "a.svg").read_text()
    page = " ".join(PdfReader(tmp_path / "a.pdf").pages[0].extract_text().split())
    name = json.loads(kitchen.says("kitchen --json"))["name"]
    for words in (name, "white-bean stew (stew), 12 gal, Mon 26 Oct 2026", "Record up to no. "):
        assert words in svg and words in page
    assert 'role="img"' in svg and "<desc>Cooling on Mon 26 Oct 2026: " in svg


def test_a_drawing_as_pdf_is_tagged_and_tells_in_words_what_it_shows(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    twice_cooled(kitchen)
    kitchen.says(f"curve stew {tmp_path / 'a.pdf'}")
    with Pdf.open(tmp_path / "a.pdf") as pdf:
        assert bool(pdf.Root.MarkInfo.Marked)
        told = [
            str(one.Alt) for one in pdf.objects if isinstance(one, Dictionary) and "/Alt" in one
        ]
    assert any("70 °F within 2 h: met." in one for one in told)
    assert any("breaks a limit" in one for one in told)


def test_an_open_cooling_is_drawn_with_what_to_expect_and_a_plan_behind_it(
    kitchen: Kitchen, tmp_path: Path
) -> None:
    def grey_bands(path: Path) -> int:
        fills = ET.parse(path).getroot().iter()
        return sum(
            "fill: #dbdbdb" in (one.get("style") or "")
            or "fill: #ededed" in (one.get("style") or "")
            for one in fills
        )

    log(kitchen, *QUICK)
    kitchen.says(f"curve stew {tmp_path / 'open.svg'}")
    assert grey_bands(tmp_path / "open.svg") == 1
    kitchen.says('predict "bean stew" "12 gal" --depth 2in --method walk-in --batch stew')
    kitchen.says(f"curve stew {tmp_path / 'planned.svg'}")
    assert grey_bands(tmp_path / "planned.svg") == 2
    log(kitchen, ("17:00", "cool stew 41"))
    kitchen.says(f"curve stew {tmp_path / 'done.svg'}")
    assert grey_bands(tmp_path / "done.svg") == 1


def test_behind_a_deviation_stands_what_a_model_says_of_growth(kitchen: Kitchen) -> None:
    log(kitchen, *QUICK, ("17:00", "cool stew 41"))
    assert "perfringens" not in kitchen.says("show stew"), "a cooling that is met needs no risk"
    log(
        kitchen,
        ("17:01", "batch soup --code soup"),
        ("17:10", "cool soup 135"),
        ("20:00", "cool soup 90"),
    )
    told = " ".join(kitchen.says("show soup").split())
    assert "Growth of Clostridium perfringens that a model implies" in told
    assert "not a measurement" in told
    assert "releases no food, excuses no deviation" in told
    assert told.startswith("soup (soup): NOT MET")
