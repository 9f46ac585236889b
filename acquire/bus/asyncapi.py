"""The bus described as AsyncAPI 3.0, made from the payloads' own types. Pure."""

from importlib.metadata import version
from typing import Any, Final

import msgspec

from barrelfit.acquire import topics
from barrelfit.acquire.bus.payloads import Answer, Heartbeat, JournalBatch, StateTold
from barrelfit.acquire.bus.snapshot import Snapshot
from barrelfit.acquire.journal.codec import schema as journal_schema

REF: Final = "#/components/schemas/{name}"

# leaf -> (payload's name, retained, what it says)
CHANNELS: Final = {
    topics.JOURNAL: ("JournalBatch", False, "records of the session, in order, at least once"),
    topics.SNAPSHOT: ("Snapshot", True, "all a late viewer needs, as of a seq"),
    topics.STATE: ("StateTold", True, "online or offline: birth, goodbye and will alike"),
    topics.HEARTBEAT: ("Heartbeat", False, "every half second; silence means unknown"),
    topics.RESULTS: ("Nothing", False, "nobody's: what is sent here is refused and counted"),
    topics.COMMAND: ("Command", False, "a request to the daemon, with an id"),
    topics.ANSWER: ("Answer", False, "the daemon's answer, with the request's id"),
}

_OPEN: Final[dict[str, dict[str, Any]]] = {
    "Nothing": {"description": "findings come through no bus"},
    "Command": {
        "type": "object",
        "required": ["kind", "id"],
        "description": "see acquire.bench.command_desk and acquire.bench.override_desk",
    },
}


def asyncapi() -> dict[str, Any]:
    """The document; `data` of a journal record is described by the journal's own schema."""
    types = (JournalBatch, Snapshot, StateTold, Heartbeat, Answer)
    _, schemas = msgspec.json.schema_components(types, ref_template=REF)
    channels = {
        leaf: {
            "address": f"{topics.ROOT}/{{bench}}/{leaf}",
            "description": says,
            "parameters": {"bench": {"description": "the bench's name"}},
            "messages": {name: {"payload": {"$ref": REF.format(name=name)}}},
            "bindings": {"mqtt": {"qos": 0 if leaf == topics.HEARTBEAT else 1, "retain": retained}},
        }
        for leaf, (name, retained, says) in CHANNELS.items()
    }
    return {
        "asyncapi": "3.0.0",
        "info": {
            "title": "barrelfit bus",
            "version": version("barrelfit"),
            "description": (
                "MQTT 3.1.1. The bus is a copy; the journal is the record. Every message of a "
                "bench ends with `n` and `mac`, its proof: see acquire.bus.proof."
            ),
        },
        "channels": channels,
        "components": {"schemas": {**schemas, **_OPEN, "Record": journal_schema()}},
    }
