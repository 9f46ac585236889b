"""Writes readings as bytes, in the format a gauge's profile describes.

Only the profile's data is shared with the decoder (`drivers/profiles/*.toml`), never its code: a
reading is written by putting new sign and digits into the places that the profile's pattern finds
in its first example of a reading. The examples are the judge between the two.
"""

import re
import tomllib
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Protocol

from simulators.errors import SimulatorError

UNIT_NM = {"mm": 1_000_000, "in": 25_400_000, "um": 1_000}
_TERMINATORS = b"\r\n"
_PLAIN_SIGNS = {"+": "+", "-": "-", " ": "+", "": "+"}

Tables = dict[str, Any]


class Writer(Protocol):
    """Writes one reading as a whole frame."""

    def write(self, length_nm: int) -> bytes:
        """The frame's bytes; raises SimulatorError when this gauge can't show that length."""
        ...


class Encoder:
    """A gauge's way of speaking: frames for readings, and whether it waits to be asked."""

    def __init__(self, profile: Tables) -> None:
        self.profile_id = str(profile.get("id", "?"))
        self._request = str(profile.get("ask", {}).get("request", "")).encode("ascii")
        self._heard = b""
        kind = profile.get("frame", {}).get("kind")
        if kind not in {"line", "fixed"}:
            message = f"profile {self.profile_id} is typed on a keyboard, it has no line"
            raise SimulatorError([message])
        is_count = "count" in profile
        self._writer: Writer = CountWriter(profile) if is_count else TextWriter(profile)

    @classmethod
    def for_profile(cls, profile_id: str) -> "Encoder":
        """Encoder for a shipped profile; raises SimulatorError when there is none."""
        return cls(profile_tables(profile_id))

    @property
    def polled(self) -> bool:
        """Whether the gauge sends only when asked."""
        return bool(self._request)

    def asks(self, data: bytes) -> bool:
        """Whether these bytes complete a request."""
        self._heard = (self._heard + data)[-256:]
        if self._request and self._request in self._heard:
            self._heard = b""
            return True
        return False

    def encode(self, length_nm: int) -> bytes:
        """One frame for a reading of `length_nm`."""
        return self._writer.write(length_nm)


def profile_ids() -> tuple[str, ...]:
    """Ids of the shipped profiles."""
    names = (entry.name for entry in files("drivers").joinpath("profiles").iterdir())
    return tuple(sorted(n.removesuffix(".toml") for n in names if n.endswith(".toml")))


def profile_tables(profile_id: str) -> Tables:
    """The parsed file of a shipped profile, or of a `.toml` file; raises SimulatorError."""
    if profile_id.endswith(".toml"):
        return tomllib.loads(Path(profile_id).read_text(encoding="utf-8"))
    if profile_id not in profile_ids():
        message = f"no profile is called '{profile_id}'; there are: {', '.join(profile_ids())}"
        raise SimulatorError([message])
    path = files("drivers").joinpath("profiles", f"{profile_id}.toml")
    return tomllib.loads(path.read_text(encoding="utf-8"))


def readings_of(profile: Tables) -> list[tuple[bytes, list[Tables]]]:
    """The profile's examples that are a reading: their bytes and their outcomes."""
    found = []
    for example in profile.get("example", []):
        text = str(example.get("text", "")).encode("ascii")
        raw = bytes.fromhex(example["hex"]) if "hex" in example else text
        outcomes = example.get("outcome") or [example]
        if all("length_nm" in outcome for outcome in outcomes):
            found.append((raw, outcomes))
    if not found:
        message = f"profile {profile.get('id')} has no example of a reading to write like"
        raise SimulatorError([message])
    return found


@dataclass(frozen=True, slots=True)
class _Place:
    """Where one named group of the pattern stands in the example's text."""

    start: int
    end: int
    text: str


class TextWriter:
    """Writes text frames, and frames of packed nibbles, after the first example."""

    def __init__(self, profile: Tables) -> None:
        layout = profile["layout"]
        self._id = str(profile.get("id"))
        self._nibbles = str(profile["frame"].get("nibbles", ""))
        raw, outcomes = readings_of(profile)[0]
        payload = raw if self._nibbles else raw.rstrip(_TERMINATORS)
        self._end = raw[len(payload) :]
        text = unpack(payload, self._nibbles) if self._nibbles else payload.decode("ascii")
        split = str(layout.get("split", ""))
        first, mark, rest = text.partition(split) if split else (text, "", "")
        self._pattern = re.compile(layout["pattern"])
        match = self._pattern.fullmatch(first)
        if match is None:
            message = f"profile {self._id}: its first reading does not fit its own pattern"
            raise SimulatorError([message])
        self._text, self._tail = first, mark + rest
        self._places = {
            name: _Place(*match.span(name), match[name])
            for name in self._pattern.groupindex
            if match[name] is not None
        }
        signs = layout.get("signs") or _PLAIN_SIGNS
        self._signs = {s: [t for t, means in signs.items() if means == s] for s in "+-"}
        self._unit = str(outcomes[0].get("unit") or layout.get("unit"))
        self._marks = str(layout.get("marks", "."))
        self._implied = layout.get("places")

    def write(self, length_nm: int) -> bytes:
        """One frame; raises SimulatorError when the gauge has too few digits for the length."""
        changed = {"number": self._number(length_nm)}
        if "sign" in self._places:
            for sign in self._sign_texts(length_nm):
                text = self._put({**changed, "sign": sign})
                if len(text) == len(self._text) and self._pattern.fullmatch(text):
                    return self._bytes(text)
        elif length_nm >= 0:
            text = self._put(changed)
            if self._pattern.fullmatch(text):
                return self._bytes(text)
        message = f"profile {self._id} can't show {length_nm} nm"
        raise SimulatorError([message])

    def _sign_texts(self, length_nm: int) -> list[str]:
        """Texts that mean the sign, the example's own first."""
        texts = self._signs["-" if length_nm < 0 else "+"]
        own = self._places["sign"].text
        return sorted(texts, key=lambda text: (text != own, len(text) != len(own)))

    def _number(self, length_nm: int) -> str:
        place = self._places["number"]
        mark = next((m for m in self._marks if m in place.text), "")
        if mark:
            decimals = len(place.text.rpartition(mark)[2])
        elif "decimals" in self._places:
            decimals = int(self._places["decimals"].text)
        else:
            decimals = int(self._implied or 0)
        count, rest = divmod(abs(length_nm) * 10**decimals, UNIT_NM[self._unit])
        digits = str(count).rjust(decimals + 1, "0")
        whole = digits[: len(digits) - decimals]
        number = f"{whole}{mark}{digits[len(digits) - decimals :]}"
        width = place.end - place.start
        if rest or len(number) > width:
            message = f"profile {self._id} can't show {length_nm} nm in its {decimals} decimals"
            raise SimulatorError([message])
        return number.rjust(width, " " if place.text.startswith(" ") else "0")

    def _put(self, changed: dict[str, str]) -> str:
        text = self._text
        for name in sorted(changed, key=lambda n: self._places[n].start, reverse=True):
            place = self._places[name]
            text = text[: place.start] + changed[name] + text[place.end :]
        return text

    def _bytes(self, text: str) -> bytes:
        whole = text + self._tail
        return (pack(whole, self._nibbles) if self._nibbles else whole.encode("ascii")) + self._end


class CountWriter:
    """Writes fixed frames that hold one binary number, first bit sent = bit 0."""

    def __init__(self, profile: Tables) -> None:
        self._id = str(profile.get("id"))
        self._count = profile["count"]
        self._size = len(readings_of(profile)[0][0])

    def write(self, length_nm: int) -> bytes:
        """One frame; raises SimulatorError when the length is no whole count of the digit."""
        layout = self._count
        count, rest = divmod(abs(length_nm), int(layout["digit_nm"]))
        if rest or count > int(layout["count_max"]):
            message = f"profile {self._id} can't show {length_nm} nm"
            raise SimulatorError([message])
        word = count << int(layout["value_bit"])
        if length_nm < 0:
            word |= 1 << int(layout["sign_bit"])
        if layout.get("one_bit", -1) >= 0:
            word |= 1 << int(layout["one_bit"])
        return word.to_bytes(self._size, "little")


def unpack(payload: bytes, order: str) -> str:
    """Packed nibbles as hexadecimal digits in the order sent; each nibble's low bit goes first."""
    bits = "".join(f"{b:08b}"[::-1] if order == "lsb" else f"{b:08b}" for b in payload)
    return "".join(f"{int(bits[i : i + 4][::-1], 2):X}" for i in range(0, len(bits), 4))


def pack(digits: str, order: str) -> bytes:
    """Hexadecimal digits, in the order sent, packed into bytes (see `unpack`)."""
    bits = "".join(f"{int(d, 16):04b}"[::-1] for d in digits)
    octets = [bits[i : i + 8] for i in range(0, len(bits), 8)]
    return bytes(int(o[::-1] if order == "lsb" else o, 2) for o in octets)
