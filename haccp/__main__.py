import gc
import signal


def main() -> None:
    """Run the command line; its exit codes are in the README."""
    interrupted = signal.getsignal(signal.SIGINT)
    if interrupted is signal.default_int_handler:
        # nothing can have been recorded yet, and nobody is there yet who could say so
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from haccp.cli.main import cli

    signal.signal(signal.SIGINT, interrupted)
    try:
        cli(prog_name="haccp")
    finally:
        # all is done and said: only the exit code is left
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        # all that was made ends with the process: to look through it for circles once more,
        # as Python does at its end, costs a cook 30 to 50 ms of 300
        gc.freeze()


if __name__ == "__main__":
    main()
