import gc
import os
import signal
from types import FrameType


def main() -> None:
    """Run the command line; its exit codes are in the README."""
    # looked through for circles this often, a big week's pages cost a tenth more
    gc.set_threshold(50_000, 20, 20)
    try:
        interrupted = signal.getsignal(signal.SIGINT)
        if interrupted is signal.default_int_handler:
            signal.signal(signal.SIGINT, _leave)
        from haccp.cli.main import cli

        signal.signal(signal.SIGINT, interrupted)
    except KeyboardInterrupt:  # between two of these lines
        _leave(signal.SIGINT, None)
    try:
        cli(prog_name="haccp")
    finally:
        # all is done and said: only the exit code is left
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        # all that was made ends with the process: to look through it for circles once more,
        # as Python does at its end, costs a cook 30 to 50 ms of 300
        gc.freeze()


def _leave(_: int, __: FrameType | None) -> None:
    """Say so and end, while what says everything else is still imported: nothing is recorded yet.

    At once: raised within an import, an interrupt could come out as another error.
    """
    try:
        # not by the reader's language: that is not there yet either
        os.write(2, b"\nInterrupted. Nothing was recorded.\n")
    finally:
        os._exit(130)


if __name__ == "__main__":
    main()
