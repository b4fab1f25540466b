"""Options and numbers as they are typed, and what is said of a wrong one. The kitchen is invented."""

from pathlib import Path

import pytest

from tests.kitchens import Kitchen


@pytest.fixture
def kitchen(first_day: Kitchen) -> Kitchen:
    return first_day


def test_a_method_said_again_changes_nothing(kitchen: Kitchen) -> None:
    words = 'method k1 "walk-in" --nature thick --air 38F --depth 2'
    kitchen.says(words)
    before = kitchen.entries()
    assert "already: nothing was changed" in kitchen.says(words)
    assert kitchen.entries() == before
    assert "counts no more" in kitchen.says('method k1 "ice bath" --nature stirred --air 33F')


@pytest.mark.parametrize(
    "command",
    ["cool k1 98 --air 38F", "cool k1 98 08:01 --air=38F", "cool --air 38F", "hold freezer -4F --air 3",
     "receive peas -4F --as frozen --air 3", "boil T1 202F --air 3", "amend 5 98 --air 3"],
)  # fmt: skip
def test_a_wrong_option_is_called_one(kitchen: Kitchen, command: str) -> None:
    name = command.split(maxsplit=1)[0]
    said = kitchen.refuses(command)
    assert said == f"Refused: There is no option --air here. See haccp {name} --help\n"


def test_a_slip_in_an_option_is_answered_with_the_option(kitchen: Kitchen) -> None:
    for command in ("cool k1 98 --nots x", "status --jsn"):
        assert "(did you mean --" in kitchen.refuses(command)


def test_a_temperature_below_zero_is_no_option(kitchen: Kitchen) -> None:
    assert kitchen.says("hold freezer -4F").startswith("OK")


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("split k1 two", "for 'COUNT': type a whole number from 1 to 26."),
        ("split k1 99", "for 'COUNT': type a whole number from 1 to 26."),
        ("kitchen --check-every 2", "for '--check-every': type a whole number from 5 to 1440."),
        ("method k1 walk-in --depth deep", "'deep' is no depth: type inches such as 2 or 2.5"),
        ("add food rice --depth 2cmm", "'2cmm' is no depth: type inches such as 2 or 2.5"),
    ],
)
def test_a_number_is_asked_for_in_words(kitchen: Kitchen, command: str, said: str) -> None:
    assert said in kitchen.refuses(command)


@pytest.mark.parametrize("degree", ["F", "C"])
def test_a_depth_is_typed_one_way_everywhere(kitchen: Kitchen, degree: str) -> None:
    kitchen.says(f"kitchen --degree {degree}")
    for command in (
        "method k1 walk-in --depth",
        'add food "bean stew" --depth',
        'predict "bean stew" --depth',
    ):
        for typed in ("2in", "5cm", *(["2"] if degree == "F" else [])):
            kitchen.says(f"{command} {typed}")
        if degree == "C":
            assert "'5' has no unit: type 5cm or 5in." in kitchen.refuses(f"{command} 5")


def test_a_depth_in_centimetres_is_kept_as_its_inches(kitchen: Kitchen) -> None:
    kitchen.says("method k1 walk-in --depth 5cm")
    (body,) = [e["body"] for e in kitchen.entries() if e["kind"] == "cooling setup"]
    assert isinstance(body, dict)
    assert body["depth_in"] == "1.97"


def test_an_altitude_has_its_unit(tmp_path: Path) -> None:
    new = Kitchen(tmp_path / "new.sqlite3")
    said = new.refuses("setup X --zone UTC --manager AR --manager-name A --altitude 1640")
    assert "such as 1640m or 5380ft" in said
    assert not new.path.exists()
