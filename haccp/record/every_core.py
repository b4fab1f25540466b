"""Long work, shared out among processes: one for each core."""

import os
import signal
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context


def every_core(pieces: int) -> ProcessPoolExecutor:
    """Give processes for so many pieces of work; whoever asks shuts them down.

    They are started anew: an open database must not be carried into another process. An interrupt
    is for the first process alone, which ends them.
    """
    processes = max(1, min(os.cpu_count() or 1, pieces))
    return ProcessPoolExecutor(processes, get_context("spawn"), _leave_interrupts_to_the_first)


def _leave_interrupts_to_the_first() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
