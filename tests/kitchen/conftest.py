"""The kitchen that whole days are typed into."""

from pathlib import Path

import pytest

from tests.kitchen.typed import copy_of, set_up
from tests.kitchens import Kitchen


@pytest.fixture(scope="session")
def set_up_once(tmp_path_factory: pytest.TempPathFactory) -> Kitchen:
    folder = tmp_path_factory.mktemp("well-and-walk-in")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HACCP_BY", "JM")
        patch.setenv("XDG_CONFIG_HOME", str(folder / "config"))
        return set_up(folder / "record.sqlite3")


@pytest.fixture
def line(set_up_once: Kitchen, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """A kitchen with well-1 hot, walk-in cold and a freezer, on Monday morning."""
    monkeypatch.setenv("HACCP_BY", "JM")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return copy_of(set_up_once, tmp_path / "record.sqlite3")
