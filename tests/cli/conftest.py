"""The kitchen that most of these tests type into."""

import shutil
from pathlib import Path

import pytest

from tests.cli.kitchens import Kitchen


@pytest.fixture(scope="session")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the kitchen once: setting it up costs more than most tests do."""
    folder = tmp_path_factory.mktemp("opened")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HACCP_BY", "JM")
        patch.setenv("XDG_CONFIG_HOME", str(folder / "config"))
        made = Kitchen(folder / "record.sqlite3")
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
    return made.path


@pytest.fixture
def kitchen(opened: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """Give a kitchen of its own to each test, as it was opened."""
    monkeypatch.setenv("HACCP_BY", "JM")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    own = Kitchen(Path(shutil.copy(opened, tmp_path / "record.sqlite3")))
    own.at("2026-10-26T12:00-06:00")
    return own
