"""Names of the bus topics and the payloads on them: the bus is a copy, the journal the record.

barrelfit/<bench>/journal    QoS 1  batches of journal records, in order, each once or more
barrelfit/<bench>/snapshot   QoS 1, retained  all a late board needs, as of a seq
barrelfit/<bench>/state      QoS 1, retained  online or offline: birth, goodbye and will alike
barrelfit/<bench>/heartbeat  QoS 0  every half second; silence means unknown
barrelfit/<bench>/results    nobody's: findings come through a pipe; here they are refused
barrelfit/<bench>/command    QoS 1  a request to the daemon; `answer` carries its reply
"""

import re
from typing import Final

ROOT: Final = "barrelfit"
BENCH_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")

JOURNAL: Final = "journal"
SNAPSHOT: Final = "snapshot"
STATE: Final = "state"
HEARTBEAT: Final = "heartbeat"
RESULTS: Final = "results"
COMMAND: Final = "command"
ANSWER: Final = "answer"

LEAVES: Final = (JOURNAL, SNAPSHOT, STATE, HEARTBEAT, RESULTS, COMMAND, ANSWER)


def topic(bench: str, leaf: str) -> str:
    """Build the topic of one bench; the bench's name has been checked by the configuration."""
    return f"{ROOT}/{bench}/{leaf}"


def parse_topic(name: str) -> tuple[str, str] | None:
    """Split a topic into bench and leaf; None when it is not one of ours."""
    parts = name.split("/")
    if len(parts) != 3 or parts[0] != ROOT or parts[2] not in LEAVES:  # noqa: PLR2004
        return None
    return (parts[1], parts[2]) if BENCH_NAME.fullmatch(parts[1]) else None
