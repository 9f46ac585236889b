r"""One gauge's wire: bytes and times in, readings, faults and notes out. Pure and repeatable.

    wire = Wire(profile)
    wire.opened(t_ns)               # when the port was opened; see drivers.arming
    wire.feed(b"+012.345\r", t_ns)  # [Reading(value="12.345", unit="mm", length_nm=12345000, …)]

All times are monotonic ns. A replay that feeds every outcome's `raw` at its `t_ns`, with the same
`opened`, `sent` and `closed` calls between, gets the same outcomes again.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from barrelfit.drivers.arming import Arming
from barrelfit.drivers.bounce import BounceWatch
from barrelfit.drivers.channels import Channels
from barrelfit.drivers.coded import NOTHING, Coded, said, written
from barrelfit.drivers.echo import Echo
from barrelfit.drivers.frame import (
    ASCII_END,
    INCOMPLETE,
    LINE_ENDS,
    OUT_OF_STEP,
    OVERRUN,
    REST,
    WHOLE,
    EndedFramer,
    FixedFramer,
    Frame,
    LineFramer,
)
from barrelfit.drivers.hid import KeyFramer
from barrelfit.drivers.hint import WRONG_PARITY, hint_for, seven_bit_lines
from barrelfit.drivers.history import History
from barrelfit.drivers.identity import IDENTIFICATION, OTHER_GAUGE, GaugeIdentity, named
from barrelfit.drivers.layout import UNREADABLE, Decoder
from barrelfit.drivers.outcome import Note, Outcome, Shown, WireFault, WireMass, WireReading
from barrelfit.drivers.parity import ParityBits
from barrelfit.drivers.profile import PortSettings, Profile
from barrelfit.drivers.shapes import FrameShape, Layout

KNOWN_MAX: Final = 1024
BAD_RUN: Final = 3
BEFORE: Final = "before session, not dated"
WAITED: Final = "waited while barrelfit stood still, not dated"
FOREIGN: Final = "foreign traffic"
AT_OPENING: Final = "at opening, perhaps not pressed"
UNPRESSED_NS: Final = 500_000_000
"""A gauge can answer the control lines that opening its port raises; nobody presses so soon."""

FILLING: Final = "line ends"  # a note on bytes that belong to no frame: releases, line ends

REST_OF_LINE: Final = "rest of an over-long line"

_NOTES: Final = {REST: REST_OF_LINE, LINE_ENDS: FILLING}
_FAULT_HINTS: Final = {
    INCOMPLETE: said("silence_before_end"),
    OVERRUN: said("no_line_end"),
    OUT_OF_STEP: said("outside_frames"),
}
_NOISE: Final = bytes([0, *range(0x80, 0x100)])  # what a line driver makes while it powers up


class Wire:
    """Decodes what one gauge sends.

    Args:
        profile: the gauge's profile.
        port: the port's settings where seven-bit parity bits may arrive in bit 7 (a pseudo
            terminal, a device server); without them a byte above 0x7F is never part of a line.
        unit: the unit the gauge is set to, where its wire does not tell; empty for the profile's.
        min_repeat_ms: overrides the profile's bounce time; 0 where times mean nothing.
        channel: the one of the wire's channels that is read; empty for the only one there is, None
            for all of them.
        behind: where several are read, the gauges by their channels (`drivers.channels.of_gauges`).
    """

    def __init__(
        self,
        profile: Profile,
        *,
        port: PortSettings | None = None,
        unit: str = "",
        min_repeat_ms: int | None = None,
        channel: str | None = None,
        behind: Mapping[str, str] | None = None,
    ) -> None:
        self.behind = behind or {}
        self.profile = profile.in_unit(unit) if unit else profile
        self._decoder = Decoder(self.profile)
        self._framer = _framer(profile.frame)
        seven_bit = port is not None and port.is_seven_bit
        self._arming = Arming(profile, seven_bit=seven_bit)
        least_ms = profile.min_repeat_ms if min_repeat_ms is None else min_repeat_ms
        self._bounces = defaultdict[str, BounceWatch](lambda: BounceWatch(least_ms))
        self._echo = Echo(profile.ask.request if profile.ask else b"")
        self._parity = ParityBits(port) if port and seven_bit else None
        self.identity = GaugeIdentity()
        named = {*self.behind, *([channel] if channel else [])}
        self._channels = Channels(named) if named or channel is not None else None
        self._history = History(self._decoder, shown=_shows_decimals(self.profile))
        self._known: dict[bytes, tuple[bytes, tuple[Outcome, ...]]] = {}
        self._first = True
        self._opened = False
        self._good = False
        self._bad_run = 0
        self._plain = False
        self._pressed_from_ns = 0
        self._old = BEFORE

    def opened(self, t_ns: int) -> list[Outcome]:
        """The port was opened: what waits in it belongs to before the session."""
        outcomes = self.closed(t_ns)
        self._arming.opened(t_ns)
        by_hand = self.profile.sends == "button" and not self.profile.is_keyboard
        self._pressed_from_ns = t_ns + UNPRESSED_NS if by_hand else t_ns
        self._echo.forget()
        self.identity.opened()
        if self._channels is not None:
            self._channels.opened()
        self._history.whole()
        self._first = True
        self._opened = True
        self._plain = False
        self._old = BEFORE
        return outcomes

    def stalled(self, t_ns: int) -> list[Outcome]:
        """Nobody read the port for a while: what waits in it has no time, and some may be lost.

        So a line that began before may go on with the end of another, and is given up as well.
        """
        outcomes = self.opened(t_ns)
        self._old = WAITED
        return outcomes

    def sent(self, data: bytes, t_ns: int) -> None:
        """We sent these bytes: an exact copy that comes back once is an echo, not an answer."""
        self._echo.sent(data)
        self._plain = False

    def feed(self, data: bytes, t_ns: int) -> list[Outcome]:
        """Take bytes that arrived at `t_ns`; give what they complete, in the wire's order."""
        if self._plain:  # the common case: all of it is live, and mostly one frame, seen before
            known = self._known.get(data) if self._framer.fresh else None
            if known is not None:
                return self._stamp(data, known[0], known[1], t_ns, "")
            return self._live(data, t_ns)
        before, live = self._arming.split(data, t_ns)
        outcomes: list[Outcome] = [self._before(before, t_ns)] if before else []
        if live:
            outcomes += self._live(live, t_ns)
        self._plain = self._arming.armed and not (self._first or self._echo.waits)
        return outcomes

    def idle(self, t_ns: int) -> list[Outcome]:
        """Call now and then: drops a frame that has waited for its rest too long."""
        frames = self._framer.idle(t_ns)
        return self._outcomes(frames) if frames else []

    def closed(self, t_ns: int) -> list[Outcome]:
        """The port is gone, or the stream has ended: what is left comes out as a fault or note."""
        return self._outcomes(self._framer.close())

    def _before(self, data: bytes, t_ns: int) -> Note | WireFault:
        """Bytes of before the session are no readings; but a gauge may name itself in them."""
        outcome: Note | WireFault = Note(data, t_ns, self._old)
        if self.profile.frame.kind != "line":
            return outcome
        plain = self._arming.plain(data)
        for line in self.identity.line_in(plain, self.profile.frame.max_bytes):
            name = line.lstrip(_NOISE)
            if self._decoder.names(name):
                other = self.identity.heard(name)
                note = Note(data, t_ns, named(self._old, name))
                outcome = WireFault(data, t_ns, OTHER_GAUGE, other) if other else note
        return outcome

    def _live(self, data: bytes, t_ns: int) -> list[Outcome]:
        if self._parity:
            data = self._parity.strip(data)
        outcomes = self._outcomes(self._framer.feed(data, t_ns))
        if isinstance(self._framer, FixedFramer):
            while frame := self._framer.take():
                outcomes += self._outcomes([frame])
                if isinstance(outcomes[-1], WireFault):
                    self._framer.lose_step()
        return outcomes

    def _outcomes(self, frames: list[Frame]) -> list[Outcome]:
        outcomes: list[Outcome] = []
        for frame in frames:
            if self._parity:
                true_raw, fits = self._parity.original(len(frame.raw))
                if not fits:
                    outcomes.append(self._bad(true_raw, frame.t_ns, UNREADABLE, WRONG_PARITY))
                    continue
                frame = frame._replace(raw=true_raw)  # noqa: PLW2901  the same frame, as sent
            outcomes += self._frame(frame)
        return outcomes

    def _frame(self, frame: Frame) -> list[Outcome]:
        state, raw, payload, t_ns, suspect = frame
        if state in _NOTES:
            return [Note(raw, t_ns, _NOTES[state])]
        if self._echo.waits and (head := self._echo.take(raw, payload)):
            note: list[Outcome] = [Note(raw[:head], t_ns, self._echo.name)]
            rest = raw[head:]
            if not rest.strip(b"\r\n"):
                return [Note(raw, t_ns, self._echo.name)]
            return note + self._frame(Frame(state, rest, rest.strip(b"\r\n"), t_ns))
        if state != WHOLE:
            return self._damaged(raw, payload, t_ns, state)
        if self._first and self.profile.frame.kind == "line":
            return self._first_line(raw, payload, t_ns)
        self._first = False
        known = self._known.get(raw)
        if known is None:
            known = (payload, self._decoder.decode(payload))
            self._remember(raw, known)
        return self._stamp(raw, payload, known[1], t_ns, suspect)

    def _remember(self, raw: bytes, known: tuple[bytes, tuple[Outcome, ...]]) -> None:
        """Keep a frame's reading for `feed`'s short way; nothing else may take that way.

        A fault changes what the next bytes are, and typed codes can mean another text next time.
        """
        if self.profile.is_keyboard or not isinstance(known[1][0], Shown):
            return
        if len(self._known) >= KNOWN_MAX:
            self._known.clear()
        self._known[raw] = known

    def _damaged(self, raw: bytes, payload: bytes, t_ns: int, state: str) -> list[Outcome]:
        """A frame without its end; lines whose end was hidden by a parity bit are each a fault."""
        self._history.damaged(payload)
        known = self._decoder.known_fault(raw) if state == OUT_OF_STEP else None
        if known is not None:
            return [self._bad(raw, t_ns, known.fault, known.hint)]
        hint = self._hint(raw, state)
        if self.profile.frame.kind == "line":
            parity, lines = seven_bit_lines(raw, self._decoder.fits)
            if parity:
                return [self._bad(line, t_ns, UNREADABLE, hint) for line in lines]
        return [self._bad(raw, t_ns, state, hint)]

    def _first_line(self, raw: bytes, payload: bytes, t_ns: int) -> list[Outcome]:
        """Noise in front of the first line is set aside, and the line is then no reading."""
        self._first = False
        noise = len(raw) - len(raw.lstrip(_NOISE))
        rest = raw[noise:].strip(b"\r\n")
        if not noise or not rest or not self._decoder.fits(rest):
            return self._stamp(raw, payload, self._decoder.decode(payload), t_ns, "")
        outcomes: list[Outcome] = [Note(raw[:noise], t_ns, "noise before the first line")]
        drafts = self._decoder.decode(rest)
        if any(isinstance(draft, Shown) for draft in drafts):
            hint = said("noise_in_front")
            return [*outcomes, self._bad(raw[noise:], t_ns, UNREADABLE, hint)]
        return outcomes + self._stamp(raw[noise:], rest, drafts, t_ns, "")

    def _stamp(
        self, raw: bytes, payload: bytes, drafts: tuple[Outcome, ...], t_ns: int, suspect: str
    ) -> list[Outcome]:
        """Give drafts their bytes and time; the first of several carries the bytes."""
        draft = drafts[0]
        if self._channels is not None:
            self._channels.heard([d.channel for d in drafts if isinstance(d, Shown)])
        doubt = suspect or self.identity.doubt
        doubt = doubt or (AT_OPENING if t_ns < self._pressed_from_ns else "")
        if len(drafts) == 1 and isinstance(draft, Shown):
            self._good, self._bad_run = True, 0
            history = self._history.doubt(payload, draft)
            doubt = doubt or self._of_channel(draft) or history
            doubt = doubt or self._bounces[draft.channel].judge(payload, t_ns)
            return [_shown_at(draft, raw, t_ns, doubt)]
        if len(drafts) == 1:
            return [self._stamp_other(raw, payload, draft, t_ns, suspect)]
        self._history.whole()
        doubt = doubt or self._bounces[""].judge(payload, t_ns)
        return [
            _placed(d, raw if n == 0 else b"", t_ns, n, doubt or self._of_channel(d))
            for n, d in enumerate(drafts)
        ]

    def _of_channel(self, draft: Outcome) -> str:
        if self._channels is None or not isinstance(draft, Shown):
            return ""
        return self._channels.doubt(draft.channel)

    def _stamp_other(
        self, raw: bytes, payload: bytes, draft: Outcome, t_ns: int, suspect: str
    ) -> Outcome:
        if isinstance(draft, WireFault) and draft.fault == UNREADABLE:
            self._history.damaged(payload)
            if self._echo.is_request(raw):
                return Note(raw, t_ns, "a request that is not ours")
            return self._bad(raw, t_ns, UNREADABLE, written(suspect) or self._hint(raw, UNREADABLE))
        self._history.whole()
        if isinstance(draft, Note):
            other = self.identity.heard(payload) if draft.note == IDENTIFICATION else NOTHING
            return (
                WireFault(raw, t_ns, OTHER_GAUGE, other)
                if other
                else replace(draft, raw=raw, t_ns=t_ns)
            )
        nobody_asked = self.profile.ask and self._opened and not self._echo.ever_sent
        if nobody_asked and isinstance(draft, WireFault):
            return Note(raw, t_ns, f"{FOREIGN}: {draft.fault}, but nothing was asked")
        return replace(draft, raw=raw, t_ns=t_ns)

    def _hint(self, raw: bytes, state: str) -> Coded:
        if state in _FAULT_HINTS and max(raw) < ASCII_END:
            return _FAULT_HINTS[state]
        return hint_for(raw, self.profile, self._decoder.fits)

    def _bad(self, raw: bytes, t_ns: int, fault: str, hint: Coded) -> WireFault:
        self._bad_run += 1
        if self._good and self._bad_run >= BAD_RUN:
            hint = said("other_reader", what=hint)
        return WireFault(raw, t_ns, fault, hint)


def _shows_decimals(profile: Profile) -> bool:
    """Whether a frame's decimals are the gauge's digit: as shown, not implied or said apart."""
    layout = profile.layout
    if not isinstance(layout, Layout) or layout.places is not None:
        return False
    return "decimals" not in layout.pattern.groupindex


def _shown_at(draft: Shown, raw: bytes, t_ns: int, suspect: str) -> Shown:
    if isinstance(draft, WireMass):
        return replace(draft, raw=raw, t_ns=t_ns, suspect=suspect)
    # Nearly all that comes: made at once, which takes a third of the time.
    length = (draft.value, draft.unit, draft.length_nm)
    marks = (draft.channel, draft.judgement, draft.unit_assumed)
    return WireReading(raw, t_ns, *length, *marks, suspect)


def _placed(draft: Outcome, raw: bytes, t_ns: int, index: int, suspect: str) -> Outcome:
    if isinstance(draft, Shown):
        return replace(draft, raw=raw, t_ns=t_ns, index=index, suspect=suspect)
    if isinstance(draft, WireFault):
        return replace(draft, raw=raw, t_ns=t_ns, index=index)
    return replace(draft, raw=raw, t_ns=t_ns)


def _framer(shape: FrameShape) -> LineFramer | EndedFramer | FixedFramer | KeyFramer:
    if shape.kind == "line":
        return LineFramer(shape.max_bytes, shape.silence_ms)
    if shape.kind == "ended":
        return EndedFramer(shape.end, shape.max_bytes, shape.silence_ms)
    if shape.kind == "fixed":
        return FixedFramer(shape.max_bytes, shape.start, shape.silence_ms)
    return KeyFramer(shape.kind, shape.table, shape.max_bytes, shape.silence_ms)
