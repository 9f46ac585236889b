"""`barrelfit decode`: a gauge's bytes from standard input, one JSON object a frame."""

import json
import os
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from barrelfit.acquire.commands.completing import profiles
from barrelfit.acquire.errors import UserError
from barrelfit.rules.said import said

if TYPE_CHECKING:
    from barrelfit.drivers.outcome import Outcome

_CHUNK_BYTES = 65_536


def decode(
    profile: Annotated[
        str,
        typer.Option(
            metavar="PROFILE",
            autocompletion=profiles,
            help="A profile's id (see `barrelfit profiles`) or a .toml file.",
        ),
    ],
    hexadecimal: Annotated[  # noqa: FBT002  an option
        bool, typer.Option("--hex", help="Standard input is hexadecimal text; blanks are ignored.")
    ] = False,
) -> int:
    """Decode a gauge's bytes: one JSON object a frame.

    Reads standard input to its end and prints a reading, a mass, a fault or a note for every frame:

    {"kind":"reading","value":"12.345","unit":"mm","length_nm":12345000,"raw_hex":"2b30…0d"}

    {"kind":"mass","value":"512.4","unit":"g","mass_fg":512400000000000000,"raw_hex":"…"}

    {"kind":"fault","fault":"unreadable","hint":"…","raw_hex":"…"}

    Further keys only where they say something: channel, judgement, unit_assumed, suspect. The
    stream has no times: nothing in it is "before the session", and a bounce can't be told. Frames
    of a fixed length without a start mark are told by silence alone: give them as --hex, one line
    a frame.

    Example:
      barrelfit decode --profile signed-decimal-cr < gauge.bin

    Exit code: 0 when every frame was a reading or a note, 1 when any was a fault, 2 for a wrong
    option or bad hexadecimal text.
    """
    from barrelfit.acquire.inputs.gauge_profiles import load_profile
    from barrelfit.drivers.decode import FILLING, Wire
    from barrelfit.drivers.outcome import Note, WireFault

    if sys.stdin is None:
        raise UserError([said("input_closed_bytes")])
    wire = Wire(load_profile(profile), min_repeat_ms=0)
    faults = 0

    def show(outcomes: "list[Outcome]") -> int:
        shown = [o for o in outcomes if not (isinstance(o, Note) and o.note == FILLING)]
        for outcome in shown:
            print(json.dumps(_fields(outcome), ensure_ascii=False, separators=(",", ":")))
        sys.stdout.flush()
        return sum(isinstance(o, WireFault) for o in shown)

    shape = wire.profile.frame
    apart = shape.kind == "fixed" and not shape.start
    for data in _hex_bytes(apart=apart) if hexadecimal else _plain_bytes():
        faults += show(wire.feed(data, 0))
        if apart and hexadecimal:
            faults += show(wire.closed(0))
    faults += show(wire.closed(0))
    return 1 if faults else 0


def _plain_bytes() -> Iterator[bytes]:
    while data := os.read(sys.stdin.fileno(), _CHUNK_BYTES):
        yield data


def _hex_bytes(*, apart: bool) -> Iterator[bytes]:
    text = sys.stdin.buffer.read().decode("ascii", "replace")
    for piece in text.splitlines() if apart else [text]:
        yield _of_hex(piece)


def _of_hex(text: str) -> bytes:
    digits = "".join(text.split())
    strange = next((c for c in digits if c not in "0123456789abcdefABCDEF"), None)
    if strange is not None:
        raise UserError([said("no_hex_digit", text=strange)])
    if len(digits) % 2:
        raise UserError([said("odd_hex_digits")])
    return bytes.fromhex(digits)


def _fields(outcome: "Outcome") -> dict[str, object]:
    """The keys of one outcome in the order they are printed; raw bytes last, as hexadecimal."""
    from barrelfit.acquire.coded import said_of
    from barrelfit.drivers.outcome import Note, WireFault, WireMass, WireReading
    from barrelfit.rules.manner import told

    fields: dict[str, object] = {}
    further: tuple[str, ...] = ()
    raw = b""
    match outcome:
        case WireReading():
            fields = {
                "kind": "reading",
                "value": outcome.value,
                "unit": outcome.unit,
                "length_nm": outcome.length_nm,
            }
            further = ("channel", "judgement", "unit_assumed", "suspect")
            raw = outcome.raw
        case WireMass():
            fields = {
                "kind": "mass",
                "value": outcome.value,
                "unit": outcome.unit,
                "mass_fg": outcome.mass_fg,
            }
            further = ("channel", "judgement", "unit_assumed", "suspect")
            raw = outcome.raw
        case WireFault():
            fields = {"kind": "fault", "fault": outcome.fault, "hint": told(said_of(outcome.hint))}
            further = ("channel",)
            raw = outcome.raw
        case Note():
            fields = {"kind": "note", "note": outcome.note}
            raw = outcome.raw
    fields |= {key: getattr(outcome, key) for key in further if getattr(outcome, key)}
    return fields | {"raw_hex": raw.hex()}
