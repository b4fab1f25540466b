"""What of the machine must not decide a test, and the kitchens that most tests type into."""

import os
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, settings

from tests import catalog, servers
from tests.kitchens import Kitchen
from tests.servers import Running

# no property measures time: an example may take as long as it likes
settings.register_profile("haccp", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("haccp")

catalog.compile_stale()

# a developer may read any language; a test says which
for name in ("LC_ALL", "LC_MESSAGES", "LANG", "LANGUAGE"):
    os.environ.pop(name, None)

for name in ("HACCP_BY", "HACCP_DB", "HACCP_THERMOMETER", "COLUMNS", "LINES", "NO_COLOR"):
    os.environ.pop(name, None)

# whatever starts the tests in the background has them ignore Ctrl-C, and their commands with them
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session", autouse=True)
def nobody_remembered() -> Iterator[None]:
    """Whose initials `haccp initials` remembers for the user is neither read nor overwritten."""
    with TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CONFIG_HOME", folder)
        yield


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


@pytest.fixture
def first_day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """A kitchen on its first day, typed into by its manager."""
    monkeypatch.setenv("HACCP_BY", "AR")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    made = Kitchen(tmp_path / "record.sqlite3")
    made.at("2026-11-02T07:00-07:00")
    made.says(
        'setup "Test Kitchen" --zone America/Denver --manager AR --manager-name "A. R." --altitude 5380ft'
    )
    made.says("add unit freezer frozen")
    made.at("2026-11-02T08:00-07:00")
    for code in ("k1", "k2"):
        made.says(f'batch "bean stew" --code {code}')
    made.at("2026-11-02T08:05-07:00")
    return made


@pytest.fixture(scope="session")
def server() -> Iterator[Running]:
    """A real server, prepared for kitchens; skipped where none is installed."""
    running = servers.made()
    yield running
    servers.ended(running)
