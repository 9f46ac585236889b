"""For how long a gauge has stood still: a gauge in a bore that rests is not rocked any more."""

STILL_NM = 4_000  # a gauge that rocks moves more than this within a second
STILL_DIGITS = 2


class Stillness:
    """Watches a gauge's readings; one reading alone that jumps is a bounce, not a movement."""

    def __init__(self, digit_nm: int) -> None:
        """Begin to watch a gauge whose last digit is `digit_nm` (nm)."""
        self._within_nm = max(STILL_NM, STILL_DIGITS * digit_nm)
        self._anchor_nm: int | None = None
        self._since_ns = 0
        self._moved = False

    def for_ns(self, t_ns: int, length_nm: int) -> int:
        """Take one reading; for how long the gauge has stood where it stands, in ns."""
        if self._anchor_nm is None:
            self._anchor_nm, self._since_ns = length_nm, t_ns
        moved = abs(length_nm - self._anchor_nm) > self._within_nm
        if moved and self._moved:
            self._anchor_nm, self._since_ns, moved = length_nm, t_ns, False
        self._moved = moved
        return t_ns - self._since_ns
