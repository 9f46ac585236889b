"""Runs in the guest: a JSON line of Python in, a JSON line of what it printed out."""

import contextlib
import io
import json
import sys
import traceback

NAMES: dict[str, object] = {}


def say(**fields):
    sys.stdout.write(json.dumps(fields) + "\n")
    sys.stdout.flush()


say(ready=True)
for line in sys.stdin:
    if line.strip() == "quit":
        break
    printed = io.StringIO()
    try:
        with contextlib.redirect_stdout(printed):
            exec(json.loads(line), NAMES)  # noqa: S102  the test's own words
        say(out=printed.getvalue())
    except BaseException:  # noqa: BLE001  whatever it is, the test wants to see it
        say(out=printed.getvalue(), error=traceback.format_exc())
