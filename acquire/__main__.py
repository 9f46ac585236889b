"""The `barrelfit` command: turns errors into sentences and exit codes."""

import sys

EXIT_INTERRUPTED = 130

try:
    import signal  # takes a while

    # Ctrl-C ends us at once while we load: an exception may be lost in a callback of the
    # interpreter's own, and the command would go on as if nothing had been said. What a command
    # makes of it is said where it begins (`acquire.cli`).
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
except KeyboardInterrupt:
    sys.exit(EXIT_INTERRUPTED)


def main() -> None:
    """Run the command line; a user's mistake ends in one sentence a line and exit 2."""
    from barrelfit.acquire.loading import load_quickly  # noqa: PLC0415  Ctrl-C has its way by now

    load_quickly()
    from barrelfit.acquire.cli import run_cli  # noqa: PLC0415

    sys.exit(run_cli(sys.argv[1:]))


if __name__ == "__main__":
    main()
