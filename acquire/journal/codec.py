"""Turns a journal's documents into bytes and back: strict, exact, no NaN, old versions for ever.

A document's shape may change only together with its number in `events.VERSION_OF` and a step in
`UPCASTS` that turns the data of the old version into the new one's. A fixture journal of every
version stays in tests/journals. Their JSON Schema is what `barrelfit schema journal`
prints; a test holds it against the one kept there, so that no shape changes unseen.
"""

import functools
import math
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from inspect import cleandoc
from typing import Any, Final, cast, get_type_hints

import msgspec

from barrelfit.acquire.errors import BarrelfitError
from barrelfit.acquire.journal.events import VERSION_OF, Event, kind_of
from barrelfit.rules.said import WRITTEN

Data = dict[str, Any]


def _from_nobody(data: Data) -> Data:
    """Version 1 did not say who asked for it, nor at which device."""
    return {"who": "", "device": "", **data}


_NOTHING: Final[Data] = {"key": "", "values": {}}


def _as_written(text: Any) -> Data:  # noqa: ANN401  plain JSON
    """A sentence of a version that wrote sentences: it stays as it was written."""
    return {"key": WRITTEN, "values": {"text": text}} if text else _NOTHING


def _sentences(*names: str) -> Callable[[Data], Data]:
    """The step from sentences to what is said: of texts and lists of texts of those names."""

    def lift(data: Data) -> Data:
        lifted = dict(data)
        for name in names:
            old = data.get(name, "")
            is_list = isinstance(old, list)
            lifted[name] = [_as_written(one) for one in old] if is_list else _as_written(old)
        return lifted

    return lift


_JUDGED, _FINDING = _sentences("todo"), _sentences("sentence", "limit_from", "advice")


def _judged(data: Data) -> Data:
    return {**_JUDGED(data), "findings": [_FINDING(one) for one in data["findings"]]}


def _sized(data: Data) -> Data:
    budget = [{**line, "said": _as_written(line["name"])} for line in data.get("budget", ())]
    notes = [_as_written(note) for note in data.get("notes", ())]
    return {**data, "budget": budget, "notes": notes}


UPCASTS: Final[Mapping[tuple[str, int], Callable[[Data], Data]]] = {
    ("not_counted", 1): lambda data: {**data, "why": "still-there"},
    ("asked", 1): lambda data: {**data, "ask": 0},  # asks were not counted
    ("asked", 2): _sentences("sentence"),
    ("asked", 3): lambda data: {**data, "meanwhile": []},
    ("fact_told", 1): lambda data: {**data, "ask": 0},
    ("signed_on", 1): lambda data: {**data, "proven": False},
    ("job_ordered", 1): lambda data: {**data, "steps": []},
    ("service_changed", 1): _sentences("reason"),
    ("fault_seen", 1): _sentences("hint"),
    ("gauge_changed", 1): _sentences("reason"),
    ("refused", 1): _sentences("sentence", "advice"),
    ("judged", 1): _judged,
    ("matched", 1): _sentences("sentences"),
    ("override_refused", 1): _sentences("sentence"),
    ("sized", 1): _sized,
    ("pedal_pressed", 1): _from_nobody,
    ("entry_made", 1): _from_nobody,
    ("temperature_taken", 1): _from_nobody,
}
"""(kind, version) -> the step to the next version; every version below today's has one."""

TYPE_OF: Final[dict[str, type[Event]]] = {kind_of(known): known for known in VERSION_OF}

SUM_CHARS: Final = 8
HASH_CHARS: Final = 64


class CodecError(BarrelfitError):
    """A document can't be written, or bytes are no document of this version or an older one."""


class NewerError(CodecError):
    """A document of a kind or version that this version does not know."""


class Record(
    msgspec.Struct,
    frozen=True,
    gc=False,
    tag_field="kind",
    rename={"version": "v", "t_ns": "t", "event": "data", "crc": "sum"},
    forbid_unknown_fields=True,
):
    """One line of a journal; each kind has its own subclass, whose `event` is of that kind.

    `seq` counts from 1; `because` is the seq of the record that caused this one; `t_ns` is
    monotonic, `utc` RFC 3339 with six decimals and `Z`; `prev` is the SHA-256 of the line before,
    `crc` the CRC-32C of this line up to it, both in lower-case hex.
    """

    seq: int
    version: int
    because: int | None
    t_ns: int
    utc: str
    event: Any
    prev: str
    crc: str


def _record_type(event_type: type[Event]) -> type[Record]:
    """Make the Record subclass of one kind, so that msgspec decodes a whole line in one go."""
    name = f"{event_type.__name__}Record"
    spec = [("event", event_type)]
    tag = kind_of(event_type)
    made = msgspec.defstruct(name, spec, bases=(Record,), tag=tag, frozen=True, gc=False)
    made.__doc__ = event_type.__doc__
    return cast("type[Record]", made)


RECORD_TYPES: Final[dict[type[Event], type[Record]]] = {t: _record_type(t) for t in VERSION_OF}

_ALL_RECORDS: Final = functools.reduce(lambda a, b: a | b, RECORD_TYPES.values())  # type: ignore[arg-type,return-value]
LINES: Final[msgspec.json.Decoder[Record]] = msgspec.json.Decoder(_ALL_RECORDS)
"""Decodes lines whose kinds are all of today's versions."""


class Envelope(
    msgspec.Struct,
    frozen=True,
    rename={"version": "v", "t_ns": "t", "event": "data", "crc": "sum"},
    forbid_unknown_fields=True,
):
    """A line whose document has not been looked into: any kind, any version."""

    seq: int
    kind: str
    version: int
    because: int | None
    t_ns: int
    utc: str
    event: msgspec.Raw
    prev: str
    crc: str


ENVELOPES: Final = msgspec.json.Decoder(Envelope)
_ENCODER: Final = msgspec.json.Encoder()


def encode(event: Event) -> bytes:
    """Write a document as JSON.

    Raises:
        CodecError: it holds NaN, an infinity, or text that is not Unicode.
    """
    if type(event) in _WITH_FLOATS and not _finite(event):
        message = f"a {kind_of(type(event))} holds a number that is NaN or infinite"
        raise CodecError(message)
    try:
        return _ENCODER.encode(event)
    except (UnicodeEncodeError, OverflowError) as error:
        message = f"a {kind_of(type(event))} can't be written as JSON: {error}"
        raise CodecError(message) from None


def decode(kind: str, version: int, data: bytes) -> Event:
    """Read a document of any version up to today's.

    Raises:
        NewerError: unknown kind, or a version that is not known.
        CodecError: data that is not of that kind.
    """
    known = TYPE_OF.get(kind)
    if known is None:
        message = f"kind '{kind}' is not known: written by a newer barrelfit?"
        raise NewerError(message)
    today = VERSION_OF[known]
    if not 1 <= version <= today:
        message = f"{kind} version {version} is not known (up to {today}): a newer barrelfit?"
        raise NewerError(message)
    try:
        if version == today:
            return msgspec.json.decode(data, type=known)
        plain = msgspec.json.decode(data, type=Data)
        for step in range(version, today):
            plain = UPCASTS[kind, step](plain)
        return msgspec.convert(plain, type=known)
    except (msgspec.MsgspecError, UnicodeDecodeError) as error:
        message = f"data is no {kind} version {version}: {error}"
        raise CodecError(message) from None


def record_of(envelope: Envelope) -> Record:
    """Read an envelope's document and give the record as of today's version.

    Raises:
        CodecError: as `decode`.
    """
    event = decode(envelope.kind, envelope.version, bytes(envelope.event))
    return RECORD_TYPES[type(event)](
        seq=envelope.seq,
        version=VERSION_OF[type(event)],
        because=envelope.because,
        t_ns=envelope.t_ns,
        utc=envelope.utc,
        event=event,
        prev=envelope.prev,
        crc=envelope.crc,
    )


def schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of one line of a journal, one entry per kind."""
    names = [made.__name__ for made in RECORD_TYPES.values()]
    (whole,), components = msgspec.json.schema_components(
        [_ALL_RECORDS], ref_template="#/$defs/{name}"
    )
    missing = [name for name in names if name not in components]
    if missing:
        message = f"kinds without a schema: {missing}"
        raise CodecError(message)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "One line of a barrelfit journal",
        **whole,
        "$defs": {name: _cleaned(components[name]) for name in sorted(components)},
    }


def _cleaned(schema: Any) -> Any:  # noqa: ANN401  plain JSON
    """The same with docstrings as they read: how they are indented depends on msgspec's version."""
    if isinstance(schema, dict):
        return {
            key: cleandoc(value)
            if key == "description" and isinstance(value, str)
            else _cleaned(value)
            for key, value in schema.items()
        }
    return [_cleaned(item) for item in schema] if isinstance(schema, list) else schema


def _names_in(hint: Any, above: frozenset[Any]) -> set[str]:  # noqa: ANN401  any type form
    """Names of all plain types a type hint is made of."""
    if hint in above:
        return set()
    inner: list[Any] = list(getattr(hint, "__args__", ()))
    if is_dataclass(hint) or (isinstance(hint, type) and issubclass(hint, msgspec.Struct)):
        inner += get_type_hints(hint).values()
    names = {getattr(hint, "__name__", "")}
    return names.union(*(_names_in(part, above | {hint}) for part in inner))


def _finite(value: object) -> bool:
    """Tell whether every float in a document is an ordinary number."""
    if isinstance(value, float):
        return math.isfinite(value)
    if isinstance(value, list | tuple):
        return all(map(_finite, value))
    if isinstance(value, dict):
        return all(map(_finite, value.values()))
    if isinstance(value, msgspec.Struct):
        return all(_finite(getattr(value, name)) for name in value.__struct_fields__)
    if is_dataclass(value) and not isinstance(value, type):
        return all(_finite(getattr(value, f.name)) for f in fields(value))
    return True


_WITH_FLOATS: Final = frozenset(t for t in VERSION_OF if "float" in _names_in(t, frozenset()))
"""Only these have to be searched for NaN before they are written."""
