"""A place that is quick to write to, for the fault tests."""

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture
def quick() -> Iterator[Path]:
    """A folder in memory where there is one: for what does not depend on the disk."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as name:
        yield Path(name)
