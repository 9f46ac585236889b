"""How a wire is cut into frames, and the one frame that each sample is."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from barrelfit.drivers.coded import said
from barrelfit.drivers.teaching.samples import Sample, TeachError

_ENDS: Final = b"\x00\x03\x04\x17\x1e;#$!|&@*?"
"""Bytes other than line ends that are taken for the end of a frame."""

_FIXED_MAX: Final = 256
_LINE_MIN: Final = 32


@dataclass(frozen=True, slots=True)
class Cut:
    """A way to cut: `kind`, `end` and `start` as in a profile; the frames' payloads, in order."""

    kind: str
    name: str
    payloads: tuple[bytes, ...]
    end: bytes = b""
    start: bytes = b""

    @property
    def table(self) -> dict[str, object]:
        """The profile's `[frame]`, times apart."""
        longest = max(map(len, self.payloads))
        size = longest if self.kind == "fixed" else max(2 * longest, _LINE_MIN)
        table: dict[str, object] = {"kind": self.kind, "max_bytes": size}
        if self.end:
            table["end"] = self.end.hex()
        if self.start:
            table["start"] = self.start.hex()
        return table


def cuts(samples: Sequence[Sample], raws: Sequence[Sequence[bytes]]) -> Iterator[Cut]:
    """The ways in which the samples can be cut, the likeliest first.

    Args:
        samples: what was sent.
        raws: each sample's bytes, cut at silences and freed of parity bits.

    Raises:
        TeachError: a sample holds frames that differ.
    """
    whole = [b"".join(bursts) for bursts in raws]
    ended = False
    if all(raw[-1] in b"\r\n" for raw in whole):
        lines = [_single(raw.replace(b"\r", b"\n").split(b"\n")) for raw in whole]
        if all(lines):
            yield Cut("line", _line_end(whole), tuple(line or b"" for line in lines))
        ended = ended or all(lines)
    last = {raw[-1:] for raw in whole}
    if len(last) == 1 and (end := last.pop()) in _ENDS:
        frames = [_single(raw.split(end)) for raw in whole]
        if all(frames):
            name = {b"\x03": "etx", b";": "semicolon"}.get(end, f"end-{end.hex()}")
            yield Cut("ended", name, tuple(frame or b"" for frame in frames), end=end)
            ended = True
    frames = [_single(bursts) for bursts in raws]
    if not all(frames) or (not ended and all(raw[-1] in b"\r\n" for raw in whole)):
        raise TeachError([said("several_frames")])
    payloads = tuple(frame or b"" for frame in frames)
    if len(set(map(len, payloads))) == 1 and len(payloads[0]) <= _FIXED_MAX:
        yield Cut("fixed", "silence", payloads, start=_start(payloads))
        return
    if not ended:
        raise TeachError([said("cut_unseen")])


def _single(frames: Sequence[bytes]) -> bytes | None:
    """The one frame that was sent, once or again and again; None where they differ."""
    distinct = set(frames) - {b""}
    return distinct.pop() if len(distinct) == 1 else None


def _line_end(whole: Sequence[bytes]) -> str:
    ends = {raw[-2:] == b"\r\n" for raw in whole}
    if ends == {True}:
        return "crlf"
    return "cr" if whole[0][-1:] == b"\r" else "lf"


def _start(payloads: Sequence[bytes]) -> bytes:
    """A first byte that every frame has, and nowhere else; it may be no digit or letter."""
    first = payloads[0][:1]
    alone = all(p[:1] == first and p.count(first) == 1 for p in payloads)
    return first if alone and not first.isalnum() and first not in b" +-." else b""


def bursts_freed(samples: Sequence[Sample], parity: str) -> list[tuple[bytes, ...]]:
    """Each sample's bytes, cut at silences, without parity bits."""
    mask = 0xFF if parity == "none" else 0x7F
    return [tuple(bytes(b & mask for b in burst) for burst in one.bursts) for one in samples]


def streams(samples: Sequence[Sample], press_ns: int) -> bool:
    """Whether a gauge sent again and again while one reading was typed."""
    for one in samples:
        times = [t_ns for t_ns, _ in one.chunks]
        gaps = [later - t_ns for t_ns, later in pairwise(times)]
        if len(one.bursts) > 2 and max(gaps) < press_ns:  # noqa: PLR2004  a button may bounce
            return True
    return False
