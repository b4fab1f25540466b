"""The kitchen that most of these tests type into."""

from pathlib import Path

import pytest

from tests.cli.kitchens import Kitchen


@pytest.fixture
def kitchen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    monkeypatch.setenv("HACCP_BY", "JM")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    made = Kitchen(tmp_path / "record.sqlite3")
    made.at("2026-10-26T07:00-06:00")
    made.says(
        'setup "Test Kitchen" --zone America/Denver --altitude 1640m --manager AR --manager-name "A. R."'
    )
    made.says('add person JM "J. M." --by AR')
    made.says("add thermometer T1 --by AR")
    made.says("add thermometer T2 --by AR")
    made.says("add unit well-1 hot --by AR")
    made.says("add unit walk-in cold --every 240 --by AR")
    made.at("2026-10-26T12:00-06:00")
    made.says('batch "white-bean stew" --code stew --amount "12 gal"')
    return made
