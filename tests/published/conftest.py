"""What these tests share is imported as `tests.published`, however pytest was started."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))
