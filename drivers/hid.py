"""Gauges that type: key codes to characters by the gauge's own table, whatever the host's layout.

Three forms of the same thing: `reports` (8-byte boot reports of a USB keyboard), `usages` (one
byte a key pressed, as captures list them) and `key-events` (two bytes, an evdev code and its
value 1 down, 0 up, 2 repeat). Codes: HID Usage Tables, keyboard page 0x07; Linux input-event
codes. The tables `de` and `fr` are from memory.
"""

from typing import Final

from barrelfit.drivers.frame import (
    INCOMPLETE,
    LINE_ENDS,
    NS_PER_MS,
    OVERRUN,
    REST,
    WHOLE,
    Frame,
)

REPORT_BYTES: Final = 8

_ENTER: Final = frozenset({0x28, 0x58, 0x2B})  # Enter, keypad Enter, Tab
_SHIFT: Final = frozenset({0xE1, 0xE5})
_MODIFIERS: Final = frozenset(range(0xE0, 0xE8))
_NUM_LOCK: Final = 0x53
"""Some gauges press it around digits of the keypad; those are digits here in any case."""
_ROLLOVER: Final = bytes([1] * 6)
_REPEATED: Final = "a key repeated: send again"
_STRANGER: Final = "\x1a"  # a key the table lacks: no pattern matches it

_LETTERS: Final = {0x04 + n: letter for n, letter in enumerate("abcdefghijklmnopqrstuvwxyz")}
_DIGITS: Final = dict(zip(range(0x1E, 0x28), "1234567890", strict=True))
_KEYPAD: Final = dict(zip(range(0x54, 0x64), "/*-+\r1234567890.", strict=True))

# usage -> (plain, with Shift)
_US: Final = (
    {u: (c, "") for u, c in (_KEYPAD | _DIGITS).items()}
    | {u: (c, c.upper()) for u, c in _LETTERS.items()}
    | {0x2C: (" ", " "), 0x2D: ("-", "_"), 0x2E: ("=", "+"), 0x33: (";", ":")}
    | {0x36: (",", "<"), 0x37: (".", ">")}
)
TABLES: Final = {
    "us": _US,
    "de": _US
    | {0x2D: ("", "?"), 0x2E: ("", ""), 0x30: ("+", "*"), 0x38: ("-", "_"), 0x63: (",", "")}
    | {0x36: (",", ";"), 0x37: (".", ":"), 0x1C: ("z", "Z"), 0x1D: ("y", "Y"), 0x33: ("", "")},
    "fr": _US
    | {u: ("", c) for u, c in _DIGITS.items()}
    | {0x23: ("-", "6"), 0x2D: (")", ""), 0x2E: ("=", "+"), 0x10: (",", "?"), 0x33: ("m", "M")}
    | {0x36: (";", "."), 0x37: (":", "/")},
}

# evdev code -> usage (linux/input-event-codes.h)
_EVDEV_LETTERS: Final = ((16, "qwertyuiop"), (30, "asdfghjkl"), (44, "zxcvbnm"))
_EVDEV: Final = (
    {2 + n: 0x1E + n for n in range(10)}
    | {
        69: _NUM_LOCK,
        12: 0x2D,
        13: 0x2E,
        15: 0x2B,
        28: 0x28,
        39: 0x33,
        42: 0xE1,
        51: 0x36,
        52: 0x37,
        54: 0xE5,
    }
    | {55: 0x55, 57: 0x2C, 96: 0x58, 98: 0x54, 27: 0x30, 53: 0x38}
    | {29: 0xE0, 56: 0xE2, 97: 0xE4, 100: 0xE6, 125: 0xE3, 126: 0xE7}
    | dict(
        zip(
            range(71, 84),
            (0x5F, 0x60, 0x61, 0x56, 0x5C, 0x5D, 0x5E, 0x57, 0x59, 0x5A, 0x5B, 0x62, 0x63),
            strict=True,
        )
    )
    | {
        first + n: 0x04 + ord(letter) - ord("a")
        for first, row in _EVDEV_LETTERS
        for n, letter in enumerate(row)
    }
)


class KeyFramer:
    """Lines of typed characters that end with Enter, keypad Enter or Tab.

    Releases and empty lines travel with the next line's `raw`. A key that goes down twice without
    coming up, a repeat, a rollover or two keys at once make the line suspect: an instrument never
    holds a key.
    """

    def __init__(self, kind: str, table: str, max_keys: int, silence_ms: int) -> None:
        self._kind = kind
        self._table = TABLES[table]
        self._unit = {"reports": REPORT_BYTES, "usages": 1, "key-events": 2}[kind]
        self._max_raw = 4 * max_keys * self._unit  # down and up, for the key and for a modifier
        self._silence_ns = silence_ms * NS_PER_MS
        self._part = b""
        self._raw = bytearray()
        self._text: list[str] = []
        self._held: frozenset[int] = frozenset()
        self._last_report = b""
        self._suspect = ""
        self._over = False
        self._last_ns = 0

    @property
    def fresh(self) -> bool:
        """Whether the next byte begins a new line."""
        return not (self._raw or self._part or self._over)

    def feed(self, data: bytes, t_ns: int) -> list[Frame]:
        """Take reports or codes that arrived at `t_ns` and give the lines they complete."""
        frames = self.idle(t_ns)
        self._last_ns = t_ns
        data = self._part + data
        whole = len(data) - len(data) % self._unit
        self._part = data[whole:]
        for at in range(0, whole, self._unit):
            code = data[at : at + self._unit]
            self._raw += code
            ended = self._press(code)
            if (ended and (self._text or self._over)) or len(self._raw) >= self._max_raw:
                frames.append(self._cut(ended=ended))
        return frames

    def idle(self, t_ns: int) -> list[Frame]:
        """Drop a line that has waited for its end longer than the silence allowed."""
        if self._text and t_ns - self._last_ns > self._silence_ns:
            self._over = False
            return [self._frame(INCOMPLETE)]
        return []

    def close(self) -> list[Frame]:
        """Give up what is left: the gauge is gone or the stream has ended."""
        cut_code = bool(self._part)
        self._raw += self._part
        self._part = b""
        self._over = False
        self._held = frozenset()
        self._last_report = b""
        if not self._raw:
            return []
        return [self._frame(INCOMPLETE if self._text or cut_code else LINE_ENDS)]

    def _cut(self, *, ended: bool) -> Frame:
        if self._over:
            self._over = not ended
            return self._frame(REST)
        if not self._text:
            return self._frame(LINE_ENDS)
        self._over = not ended
        return self._frame(WHOLE if ended else OVERRUN)

    def _frame(self, state: str) -> Frame:
        payload = "".join(self._text).encode("ascii")
        frame = Frame(state, bytes(self._raw), payload, self._last_ns, self._suspect)
        self._raw.clear()
        self._text.clear()
        self._suspect = ""
        return frame

    def _press(self, code: bytes) -> bool:
        """Take one report or code; True when it ended the line."""
        if self._kind == "usages":
            return self._type(code[0], frozenset())
        if self._kind == "key-events":
            return self._event(code[0], code[1])
        return self._report(code)

    def _report(self, report: bytes) -> bool:
        if report[2:] == _ROLLOVER:
            self._suspect = "too many keys at once"
            return False
        if report == self._last_report and set(report[2:]) - _ENTER - {0, _NUM_LOCK}:
            self._suspect = _REPEATED  # a lost release, or a key that was held
        self._last_report = report
        modifiers = frozenset(0xE0 + bit for bit in range(8) if report[0] >> bit & 1)
        down = [usage for usage in report[2:] if usage not in {0, _NUM_LOCK}]
        fresh = [usage for usage in down if usage not in self._held]
        self._held = frozenset(down) | modifiers
        if len(fresh) > 1:  # their order in the report means nothing (HID 1.11)
            self._suspect = "two keys went down at once, their order is not known: send again"
        if report[1]:
            self._text.append(_STRANGER)
        ended = False
        for usage in fresh:
            ended = self._type(usage, modifiers) or ended
        return ended

    def _event(self, code: int, value: int) -> bool:
        usage = _EVDEV.get(code, 0)
        if usage == _NUM_LOCK:
            return False
        if value == 0:
            if usage not in self._held and usage not in _ENTER:
                self._suspect = "a key came up that never went down: send again"
            self._held -= {usage}
            return False
        if value != 1 or usage in self._held:
            self._suspect = _REPEATED
        if value != 1:
            return False
        modifiers = self._held & _MODIFIERS
        self._held |= {usage}
        return self._type(usage, modifiers)

    def _type(self, usage: int, modifiers: frozenset[int]) -> bool:
        if usage in _MODIFIERS or usage == _NUM_LOCK:
            return False
        if usage in _ENTER and not modifiers:
            return True
        plain, shifted = self._table.get(usage, ("", ""))
        shift = bool(modifiers & _SHIFT)
        character = shifted if shift and usage not in _KEYPAD else plain
        strange = modifiers - _SHIFT
        self._text.append(_STRANGER if strange or not character else character)
        return False
