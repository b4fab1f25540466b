"""What of the machine must not decide a test: how busy it is, and how its user uses haccp."""

import os
from collections.abc import Iterator
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, settings

# no property measures time: an example may take as long as it likes
settings.register_profile("haccp", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("haccp")

for name in ("HACCP_BY", "HACCP_DB", "HACCP_THERMOMETER", "COLUMNS", "LINES", "NO_COLOR"):
    os.environ.pop(name, None)


@pytest.fixture(scope="session", autouse=True)
def nobody_remembered() -> Iterator[None]:
    """Whose initials `haccp by` remembers for the user is neither read nor overwritten."""
    with TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CONFIG_HOME", folder)
        yield
