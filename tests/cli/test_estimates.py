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

from tests.kitchens import Kitchen, flat, log

SLOW = (("13:00", "cool stew 135"), ("13:30", "cool stew 126"), ("14:00", "cool stew 118"))
QUICK = (("13:00", "cool stew 135"), ("13:30", "cool stew 88"), ("14:00", "cool stew 64"))


def estimate(answer: str) -> str:
    return "".join(line for line in answer.splitlines() if line.startswith("Estimate"))


def test_a_cook_is_warned_while_the_food_can_still_be_saved(kitchen: Kitchen) -> None:
    answer = log(kitchen, *SLOW)
    assert answer.startswith("TOO SLOW stew 118 °F. Must be 70 °F or below by 15:00.")
    assert estimate(answer).endswith(": unlikely.")
    assert "Now: Cool it faster: shallow pans" in answer
    shown = flat(kitchen.says("show stew"))
    assert "deadline 15:00: unlikely" in shown
    assert "Act now: shallow pans" in shown and "3-501.15" in shown


def test_two_readings_may_warn_and_never_promise(kitchen: Kitchen) -> None:
    warned = log(kitchen, *SLOW[:2])
    assert warned.startswith("MAY BE TOO SLOW")
    assert estimate(warned).endswith(": may not make it.")
    assert "Measure it by 13:40." in warned
    assert "Measure at 13:40, before it is given up." in flat(kitchen.says("show stew"))
    assert "eheat" not in warned, "two readings are too few to reheat it for"
    assert "unlikely" in estimate(log(kitchen, SLOW[2]))
    log(kitchen, ("15:00", 'discard stew "start over"'), ("15:01", "batch soup --code soup"))
    promised = log(kitchen, ("15:10", "cool soup 135"), ("15:40", "cool soup 71"))
    assert "on course" not in promised


def test_three_readings_over_an_hour_may_promise(kitchen: Kitchen) -> None:
    answer = log(kitchen, ("12:50", 'method stew "ice bath" --nature stirred --air 33F'), *QUICK)
    assert "41 °F between" in estimate(answer)
    assert estimate(answer).endswith("on course.")
    assert "Cool it faster" not in answer


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
    (moment,) = re.findall(r"\d\d:\d\d", estimate(first))
    assert f"70 °F expected from {moment} on" in flat(shown[0])


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
    assert "41 °F between" in estimate(answer)
    assert "on course" in answer
    assert "Cool it faster" not in answer


def test_the_air_is_the_units_last_check_where_nothing_else_is_known(kitchen: Kitchen) -> None:
    """In air of 45 °F no food gets to 41 °F."""
    log(kitchen, ("12:40", "hold walk-in 45"))
    answer = log(
        kitchen,
        *((clock, f"{command} --in walk-in") for clock, command in QUICK),
        ("15:00", "cool stew 52 --in walk-in"),
        ("16:00", "cool stew 47 --in walk-in"),
    )
    assert re.search(r"41 °F (is not expected|from \S+ on, perhaps never)", estimate(answer))


def test_what_an_estimate_needs_to_know_is_asked_once(kitchen: Kitchen) -> None:
    assert "haccp cooling-method stew" in log(kitchen, SLOW[0])
    assert "haccp cooling-method" not in log(kitchen, SLOW[1])
    kitchen.says('add food "pea soup" --nature thick --by AR')
    kitchen.says('batch "pea soup" --code peas')
    assert "haccp cooling-method" not in kitchen.says("cool peas 130")


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


# When to measure next, and why.

WALK_IN = ("12:55", 'method stew "walk-in" --nature thick --air 38F --depth 2in')


def next_measured(answer: str) -> str:
    (sentence,) = re.findall(r"Measure it by [^.]*\.", " ".join(answer.split()))
    return str(sentence)


def test_the_next_reading_is_asked_for_when_it_tells_most_and_why(kitchen: Kitchen) -> None:
    line = next_measured(
        log(kitchen, WALK_IN, ("13:00", "cool stew 135"), ("13:30", "cool stew 111"))
    )
    told = re.fullmatch(
        r"Measure it by 1([34]):(\d\d): by then it is below (\d+) °F if it will make it\.", line
    )
    assert told, line
    hour, minute, below = map(int, told.groups())
    assert 40 <= (hour - 3) * 60 + minute <= 90, "ten minutes from now, the kitchen's hour at most"
    assert 72 <= below <= 108


def test_in_celsius_it_says_so_in_celsius(kitchen: Kitchen) -> None:
    log(kitchen, ("12:40", "kitchen --degree C --by AR"))
    line = next_measured(
        log(kitchen, WALK_IN, ("13:00", "cool stew 57C"), ("13:30", "cool stew 43.9C"))
    )
    assert re.search(r"by then it is below \d\d °C if it will make it\.$", line)


def test_what_is_sure_is_not_walked_to_for_nothing(kitchen: Kitchen) -> None:
    answer = log(kitchen, ("12:50", 'method stew "ice bath" --nature stirred --air 33F'), *QUICK)
    assert next_measured(answer) == "Measure it by 15:00."


def test_after_a_rise_it_is_measured_again_in_ten_minutes(kitchen: Kitchen) -> None:
    log(kitchen, WALK_IN, *QUICK[:2])
    answer = log(kitchen, ("14:00", "cool stew 92 --yes"))
    assert next_measured(answer) == "Measure it by 14:10."


@pytest.mark.parametrize("place", ["", "--in walk-in"])
def test_where_no_air_is_known_nothing_is_said_of_it(kitchen: Kitchen, place: str) -> None:
    """Nobody typed an air, and the unit was not checked: what is usual is no air on record."""
    shown = [("13:00", 135), ("14:00", 96), ("15:00", 76), ("15:55", 66), ("16:50", 60)]
    told = []
    for clock, temp in shown:
        told.append(log(kitchen, (clock, f"cool stew {temp} {place}")))
        told.append(flat(kitchen.says("show stew")))
    assert all("in this air" not in one for one in told)
    assert any("not within two days" in one for one in told)


def test_a_depth_on_record_sharpens_what_is_expected_of_thick_food(kitchen: Kitchen) -> None:
    def width(code: str, depth: str) -> float:
        kitchen.at("2026-10-26T12:50-06:00")
        kitchen.says(f"batch stew --code {code}")
        kitchen.says(f'method {code} "walk-in" --nature thick --air 36F {depth}')
        log(kitchen, ("13:00", f"cool {code} 135"), ("13:30", f"cool {code} 126"))
        stages = json.loads(kitchen.says(f"curve {code} --json"))["estimate"]["stages"]
        (low, _, high) = stages[0]["reached_min"]
        return float(high - low)

    assert width("told", "--depth 2in") < 0.9 * width("untold", "")


def test_a_portion_goes_on_as_what_it_was_taken_from(kitchen: Kitchen) -> None:
    """Its method and nature are known; how deep it stands now is not."""
    log(kitchen, ("12:50", 'method stew "ice bath" --nature stirred --air 33F'), *QUICK)
    kitchen.says("split stew 2")
    assert "on course" in kitchen.says("show stew-a")
    said = log(kitchen, ("14:10", 'method stew-a "ice bath" --nature stirred --air 33F'))
    assert "already" in said
