"""The `barrelfit` command: turns errors into sentences and exit codes."""

import signal
import sys


def main() -> None:
    """Run the command line; a user's mistake ends in one sentence a line and exit 2."""
    usual = signal.signal(signal.SIGINT, signal.SIG_DFL)  # Ctrl-C while loading is no error of ours
    from barrelfit.acquire.cli import run_cli  # noqa: PLC0415  keeps `import barrelfit.acquire.__main__` free

    signal.signal(signal.SIGINT, usual)
    sys.exit(run_cli(sys.argv[1:]))


if __name__ == "__main__":
    main()
