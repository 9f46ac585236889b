"""Made-up wires that no shipped profile reads: how each writes a reading, and how it may spoil one.

A wire is a function from (counts of the last digit, unit, how many were sent before, chance) to a
frame's bytes, None where its gauge can't show that. The display is written by `shown`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random


@dataclass(frozen=True)
class Made:
    name: str
    frame: Callable[[int, str, int, Random], bytes | None]
    decimals: int = 3
    inch_decimals: int = 4
    inch: bool = False  # whether its frames tell mm from inch
    most: int = 99_999  # counts
    anchored: bool = True  # whether a frame that lost its beginning can be told
    step: int = 1  # what the last digit moves in
    faults: tuple[bytes, ...] = ()

    def shown(self, count, unit):
        digits = self.decimals if unit == "mm" else self.inch_decimals
        text = f"{abs(count):0{digits + 1}d}"
        return f"{'-' if count < 0 else ''}{text[:-digits]}.{text[-digits:]} {unit}"


def text(count, digits=3, mark="."):
    written = f"{abs(count):0{digits + 1}d}"
    return f"{written[:-digits]}{mark}{written[-digits:]}"


def sign(count, plus="+"):
    return "-" if count < 0 else plus


def xor(data):
    value = 0
    for byte in data:
        value ^= byte
    return value


def bcd(digits):
    return bytes.fromhex(digits)


def signed_etx(c, u, n, r):
    return f"\x02{sign(c)}{text(c):>07}\x03".encode()


def semicolon(c, u, n, r):
    return f"X{sign(c)}{text(c).zfill(7)};".encode()


def comma_lf(c, u, n, r):
    return f"{sign(c)}{text(c, mark=',').zfill(8)} {u}\n".encode()


def counter_head(c, u, n, r):
    return f"{n % 1000:03d}>{sign(c)}{text(c).zfill(7)}\r\n".encode()


def free_counter(c, u, n, r):
    return f"#{n} {sign(c)}{text(c)} {u}\r\n".encode()


def letter_sign(c, u, n, r):
    return f"{'N' if c < 0 else 'P'}{abs(c):06d}Q\r".encode()


def digit_sign_unit(c, u, n, r):
    return f"ID7{int(u == 'in')}{int(c < 0)}{abs(c):07d}E\r\n".encode()


def trailing_sign(c, u, n, r):
    return f"{text(c).zfill(7)}{sign(c, ' ')}mm\r".encode()


def blank_padded(c, u, n, r):
    return f"{sign(c, '') + text(c):>12} MM\r\n".encode()


def backwards(c, u, n, r):
    return f"<{text(c).zfill(7)[::-1]}{sign(c)}>\r".encode()


def bcd_high(c, u, n, r):
    return b"\xa5" + bytes([0x80 if c < 0 else 0]) + bcd(f"{abs(c):06d}") + b"\x5a"


def bcd_low(c, u, n, r):
    return b"\xf1" + bcd(f"{abs(c):06d}")[::-1] + bytes([0x0D if c < 0 else 0x0C])


def big_endian(c, u, n, r):
    return b"\xab\xcd" + c.to_bytes(4, "big", signed=True)


def little_endian(c, u, n, r):
    return b"\x7e" + (c // 5).to_bytes(3, "little", signed=True) + b"\x00"


def magnitude(c, u, n, r):
    return bytes([0x10, int(c < 0)]) + abs(c).to_bytes(3, "big") + b"\x99"


def hex_text(c, u, n, r):
    return f"V={c & 0xFFFFFF:06X}\r\n".encode()


def two_values(c, u, n, r):
    other = r.randrange(-9_999, 9_999)
    return f"A{sign(c)}{text(c).zfill(7)}|B{text(other).zfill(6)}\r".encode()


def twice(c, u, n, r):
    return f"{sign(c)}{text(c).zfill(7)}/{sign(c)}{text(c).zfill(7)}\r\n".encode()


def summed(c, u, n, r):
    body = f"{sign(c)}{text(c).zfill(7)},{u},"
    return f"{body}{sum(body.encode()) % 256:02X}\r\n".encode()


def xored_stx(c, u, n, r):
    body = b"\x02" + f"{sign(c)}{text(c).zfill(7)}".encode() + b"\x03"
    return body + bytes([xor(body[1:])])


def crc_binary(c, u, n, r):
    body = b"\x55" + c.to_bytes(3, "big", signed=True)
    value = 0xFFFF
    for byte in body:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ 0xA001 if value & 1 else value >> 1
    return body + value.to_bytes(2, "little")


def strange_sum(c, u, n, r):
    body = f"{sign(c)}{text(c).zfill(7)}"
    return f"{body} {(sum(body.encode()) * 7 + 3) % 997:03d}\r".encode()


def channels(c, u, n, r):
    return f"{r.choice('12')}:{sign(c)}{text(c).zfill(7)}\r\n".encode()


def free_width(c, u, n, r):
    return f"{sign(c, '')}{text(c)}\r\n".encode()


def no_leading_zero(c, u, n, r):
    whole = text(c).lstrip("0") if abs(c) < 1000 else text(c)
    return f"={sign(c)}{whole}\r".encode()


def silent(c, u, n, r):
    return f"D{sign(c)}{text(c).zfill(7)}mm".encode()


def inch_only(c, u, n, r):
    return f'{sign(c)}{text(c, 4).zfill(7)}"\r'.encode()


def seven_even(c, u, n, r):
    plain = f"M{sign(c)}{text(c).zfill(7)}\r\n".encode()
    return bytes(b | (b.bit_count() % 2) << 7 for b in plain)


def packet(c, u, n, r):
    return f"{sign(c)}{text(c)}\r".encode().ljust(16, b"\0")


def status_bits(c, u, n, r):
    return f"{64 + 8 * (n % 3 == 1):02X}{sign(c)}{text(c).zfill(7)}\r".encode()


WIRES = (
    Made("signed, between STX and ETX", signed_etx, faults=(b"\x02-ERR-\x03",)),
    Made("ends in a semicolon", semicolon, faults=(b"XE2;",)),
    Made("comma, unit, LF", comma_lf, inch=True, inch_decimals=3, faults=(b"--------,--- mm\n",)),
    Made("counter of three digits in front", counter_head),
    Made("free counter, free width", free_counter),
    Made("letters for signs, implied decimals", letter_sign, faults=(b"E0000XXQ\r",)),
    Made("sign and unit digits", digit_sign_unit, inch=True),
    Made("sign behind", trailing_sign, faults=(b"-------OVmm\r",)),
    Made("padded with blanks", blank_padded, faults=(b"       -OFL- MM\r\n",)),
    Made("digits backwards", backwards),
    Made("BCD, high digit first", bcd_high),
    Made("BCD, low byte first", bcd_low),
    Made("big-endian counts", big_endian),
    Made("little-endian counts of five", little_endian, step=5),
    Made("magnitude and sign byte", magnitude),
    Made("hexadecimal text", hex_text, faults=(b"V=ERROR0\r\n",)),
    Made("two values", two_values),
    Made("the value twice", twice),
    Made("sum in hexadecimal", summed, inch=True, inch_decimals=3),
    Made("XOR behind ETX, no line end", xored_stx),
    Made("binary with a cyclic checksum", crc_binary),
    Made("a checksum nobody knows", strange_sum),
    Made("two channels", channels),
    Made("free width", free_width, anchored=False),
    Made("no zero before the mark", no_leading_zero),
    Made("no end at all", silent),
    Made("inch alone", inch_only, decimals=4, faults=(b"E\r",)),
    Made("seven bits, even parity", seven_even),
    Made("packets filled with NUL", packet, anchored=False),
    Made("a status that changes", status_bits),
)

SUMMED = frozenset({summed, xored_stx, crc_binary})
"""Wires whose checksum tells a changed byte."""
