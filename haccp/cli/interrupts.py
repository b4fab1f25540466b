"""An interrupt (Ctrl-C) that has to wait: a commit and the knowledge of it belong together."""

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def held() -> Iterator[Callable[[], bool]]:
    """Let an interrupt wait until this is left; gives what tells whether one is waiting."""
    came: list[int] = []

    def note(number: int, _: FrameType | None) -> None:
        came.append(number)

    if threading.current_thread() is not threading.main_thread():
        yield lambda: False  # interrupts come to the main thread alone
        return
    before = signal.signal(signal.SIGINT, note)
    try:
        yield lambda: bool(came)
    finally:
        signal.signal(signal.SIGINT, before)
        if came:
            signal.raise_signal(signal.SIGINT)
