"""The embedded broker's process: `python -m barrelfit.acquire.bus.iotcore_child CONFIG.toml`.

Ends when its parent does: the parent's end of our standard input closes.
"""

import logging
import os
import sys
import threading

from iotcore import IotCoreBroker


def main() -> None:
    """Serve until told to end."""
    # Each packet is an error in this library's own log; a real error ends the process.
    logging.getLogger("rumqttd").setLevel(logging.CRITICAL)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    IotCoreBroker(config_path=sys.argv[1]).run_forever()


def _end_with_parent() -> None:
    while os.read(0, 1024):
        pass
    os._exit(0)


if __name__ == "__main__":
    main()
