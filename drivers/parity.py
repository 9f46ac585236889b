"""Seven-bit gauges over an eight-bit way: the parity bit arrives in bit 7 and can be checked.

A real port set to seven bits removes it, and drivers don't report its errors. A pseudo terminal
or a device server may hand it on. So a byte above 0x7F has its bit 7 taken away when it fits the
parity, and a frame in which any was taken away must fit in every byte.
"""

from barrelfit.drivers.frame import ASCII_END
from barrelfit.drivers.profile import PortSettings


class ParityBits:
    """Takes fitting parity bits away and remembers the wire's own bytes."""

    def __init__(self, port: PortSettings) -> None:
        self._weight = {"even": 0, "odd": 1}.get(port.parity)
        self._wire = bytearray()

    def strip(self, data: bytes) -> bytes:
        """The bytes without fitting parity bits, one for one."""
        self._wire += data
        return bytes(b & 0x7F if b >= ASCII_END and self._fits(b) else b for b in data)

    def original(self, count: int) -> tuple[bytes, bool]:
        """The wire's next `count` bytes, and whether their parity is right or was not sent."""
        raw = bytes(self._wire[:count])
        del self._wire[:count]
        sent = any(b >= ASCII_END and self._fits(b) for b in raw)
        return raw, not sent or all(self._fits(b) for b in raw)

    def _fits(self, byte: int) -> bool:
        return self._weight is not None and byte.bit_count() % 2 == self._weight
