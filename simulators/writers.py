"""Writers of frames: text, packed nibbles, and binary counts, after a profile's own examples."""

import re
from dataclasses import dataclass
from typing import Any

from barrelfit.simulators.errors import SimulatorError

WORTH = {
    "mm": 1_000_000,
    "in": 25_400_000,
    "um": 1_000,
    "g": 10**15,
    "kg": 10**18,
    "oz": 28_349_523_125_000_000,
}
"""What a unit is worth: of lengths in nm, of a scale's masses in fg."""
_OTHER = {"in": "mm", "mm": "in", "um": "in", "g": "kg", "kg": "g", "oz": "g"}
_TERMINATORS = b"\r\n"
_PLAIN_SIGNS = {"+": "+", "-": "-", " ": "+", "": "+"}

Tables = dict[str, Any]


def readings_of(profile: Tables) -> list[tuple[bytes, list[Tables]]]:
    """The profile's examples that are a reading: their bytes and their outcomes."""
    found = []
    for example in profile.get("example", []):
        text = str(example.get("text", "")).encode("ascii")
        raw = bytes.fromhex(example["hex"]) if "hex" in example else text
        outcomes = example.get("outcome") or [example]
        if outcomes[0].keys() & {"length_nm", "mass_fg"}:
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
    """Writes text frames, and frames of packed nibbles, after the examples of a reading.

    The first example is the gauge as it is; the first one in the other unit, where there is one,
    is the gauge after its unit button was pressed.
    """

    def __init__(self, profile: Tables) -> None:
        self._id = str(profile.get("id"))
        self._templates: dict[str, _Template] = {}
        signs_seen: set[str] = set()
        for raw, outcomes in readings_of(profile):
            unit = str(outcomes[0].get("unit") or profile["layout"].get("unit"))
            template = _Template(profile, raw, unit)
            signs_seen.add(template.sign)
            self._templates.setdefault(unit, template)
        for template in self._templates.values():
            template.prefer(signs_seen)
        self._unit = next(iter(self._templates))

    def write(self, amount: int) -> bytes:
        """One frame; raises SimulatorError when the gauge can't show that exactly."""
        template = self._templates[self._unit]
        count, rest = divmod(abs(amount) * 10**template.decimals, WORTH[self._unit])
        if rest:
            message = f"profile {self._id} can't show {amount} exactly"
            raise SimulatorError([message])
        return template.fill(count, amount)

    def switched(self, amount: int) -> bytes:
        """One frame in the other unit, rounded; the same look where the wire has no unit."""
        other = _OTHER[self._unit]
        template = self._templates.get(other, self._templates[self._unit])
        count = round(abs(amount) * 10**template.decimals / WORTH[other])
        return template.fill(count, amount)


class _Template:
    """One example of a reading with places for sign and digits."""

    def __init__(self, profile: Tables, raw: bytes, unit: str) -> None:
        layout = profile["layout"]
        self._id = str(profile.get("id"))
        self._order = str(profile["frame"].get("nibbles", ""))
        payload = raw if self._order else raw.rstrip(_TERMINATORS)
        self._end = raw[len(payload) :]
        text = unpack(payload, self._order) if self._order else payload.decode("ascii")
        split = str(layout.get("split", ""))
        self._text, mark, rest = text.partition(split) if split else (text, "", "")
        self._tail = mark + rest
        self._pattern = re.compile(layout["pattern"])
        self._places = self._find_places()
        self._mark = next(
            (m for m in layout.get("marks", ".") if m in self._places["number"].text), ""
        )
        self.decimals = self._decimals_shown(layout)
        self._signs = self._signs_for(layout, unit)

    @property
    def sign(self) -> str:
        """How the example writes its sign."""
        return self._places["sign"].text if "sign" in self._places else ""

    def prefer(self, signs: set[str]) -> None:
        """Write signs as some example does, where there is a choice."""
        for texts in self._signs.values():
            texts.sort(key=lambda text: text not in signs)

    def fill(self, count: int, amount: int) -> bytes:
        """The frame whose digits are `count` of the last decimal, with the sign of `amount`."""
        numbers = self._numbers(count)
        signs = self._signs["-" if amount < 0 else "+"] if "sign" in self._places else []
        changes = [{"number": number, "sign": sign} for sign in signs for number in numbers]
        if "sign" not in self._places and amount >= 0:
            changes = [{"number": number} for number in numbers]
        for change in changes:
            text = self._put(change)
            if self._pattern.fullmatch(text):
                whole = text + self._tail
                frame = pack(whole, self._order) if self._order else whole.encode("ascii")
                return frame + self._end
        message = f"profile {self._id} can't show {amount}"
        raise SimulatorError([message])

    def _find_places(self) -> dict[str, _Place]:
        match = self._pattern.fullmatch(self._text)
        if match is None:
            message = f"profile {self._id}: its example '{self._text}' is not as its pattern says"
            raise SimulatorError([message])
        names = [name for name in self._pattern.groupindex if match[name] is not None]
        return {name: _Place(*match.span(name), match[name]) for name in names}

    def _decimals_shown(self, layout: Tables) -> int:
        if self._mark:
            return len(self._places["number"].text.rpartition(self._mark)[2])
        if "decimals" in self._places:
            return int(self._places["decimals"].text)
        return int(layout.get("places", 0))

    def _signs_for(self, layout: Tables, unit: str) -> dict[str, list[str]]:
        """Texts that mean plus and minus, the example's own first.

        Where sign and unit are one character, only those that mean this unit.
        """
        means, place, own = layout.get("signs") or _PLAIN_SIGNS, self._places.get("sign"), self.sign
        texts = sorted(means, key=lambda text: (text != own, len(text) != len(own)))
        unit_place = self._places.get("unit")
        if place and unit_place and (place.start, place.end) == (unit_place.start, unit_place.end):
            texts = [text for text in texts if layout["units"].get(text) == unit]
        return {sign: [text for text in texts if means[text] == sign] for sign in "+-"}

    def _numbers(self, count: int) -> list[str]:
        """Digits as wide as the example's; padded ones grow by their blank when they must."""
        place = self._places["number"]
        digits = str(count).rjust(self.decimals + 1, "0")
        whole = len(digits) - self.decimals
        number = f"{digits[:whole]}{self._mark}{digits[whole:]}"
        width = place.end - place.start
        if place.text.startswith(" "):
            return [number.rjust(width), f" {number}"]
        return [number.rjust(width, "0")]

    def _put(self, changed: dict[str, str]) -> str:
        text = self._text
        for name in sorted(changed, key=lambda n: self._places[n].start, reverse=True):
            place = self._places[name]
            text = text[: place.start] + changed[name] + text[place.end :]
        return text


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
        return self._frame(word, length_nm)

    def switched(self, length_nm: int) -> bytes:
        """One frame in inches, with the inch bit where there is one."""
        digit_nm = int(self._count.get("inch_digit_nm", 0))
        if not digit_nm:
            return self.write(length_nm)
        word = round(abs(length_nm) / digit_nm) << int(self._count["value_bit"])
        if self._count.get("inch_bit", -1) >= 0:
            word |= 1 << int(self._count["inch_bit"])
        return self._frame(word, length_nm)

    def _frame(self, word: int, length_nm: int) -> bytes:
        if length_nm < 0:
            word |= 1 << int(self._count["sign_bit"])
        if self._count.get("one_bit", -1) >= 0:
            word |= 1 << int(self._count["one_bit"])
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
