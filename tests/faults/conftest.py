"""What the fault tests share is imported as `tests.faults`, however pytest was started."""

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2]))


@pytest.fixture
def quick() -> Iterator[Path]:
    """A folder in memory where there is one: for what does not depend on the disk."""
    memory = Path("/dev/shm")
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as name:
        yield Path(name)
