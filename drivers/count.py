"""Decodes frames that are one binary number of counts, first bit received = bit 0."""

from barrelfit.drivers.coded import said
from barrelfit.drivers.outcome import WireFault, WireReading
from barrelfit.drivers.quantity import UNIT_NM, normal_text
from barrelfit.drivers.shapes import CountLayout


def decode_count(payload: bytes, layout: CountLayout) -> WireReading | WireFault:
    """Turn one fixed frame into a reading or a fault, without bytes and time.

    Args:
        payload: the frame; bit 0 of its first byte was received first.
        layout: which bits mean what.

    Returns:
        A reading or fault whose `raw` is empty and whose `t_ns` is 0.
    """
    word = int.from_bytes(payload, "little")
    count = word >> layout.value_bit & (1 << layout.value_bits) - 1
    minus = _is_set(word, layout.sign_bit)
    inch = _is_set(word, layout.inch_bit)
    known = ((1 << layout.value_bits) - 1) << layout.value_bit
    for bit in (layout.sign_bit, layout.inch_bit, layout.one_bit):
        known |= 1 << bit if bit >= 0 else 0
    if word & ~known:
        return WireFault(b"", 0, "unreadable", said("strange_bits"))
    if layout.one_bit >= 0 and not _is_set(word, layout.one_bit):
        return WireFault(b"", 0, "unreadable", said("start_bit_0"))
    if count > layout.count_max:
        return WireFault(b"", 0, "unreadable", said("too_many_counts"))
    digit_nm, decimals, unit = layout.digit_nm, layout.decimals, layout.unit
    if inch:
        digit_nm, decimals, unit = layout.inch_digit_nm, layout.inch_decimals, "in"
    shown = count * digit_nm * 10**decimals // UNIT_NM[unit]
    return WireReading(
        b"",
        0,
        value=normal_text(minus, str(shown), decimals),
        unit=unit,
        length_nm=-count * digit_nm if minus else count * digit_nm,
        unit_assumed=layout.unit_assumed,
    )


def _is_set(word: int, bit: int) -> bool:
    return bit >= 0 and bool(word >> bit & 1)
