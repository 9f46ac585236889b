"""What `barrelfit identify --teach` says and hears: readings from a wire, what is typed of them."""

import sys
from functools import partial
from pathlib import Path
from typing import Final

from barrelfit.acquire.clock import RunningClock
from barrelfit.acquire.coded import said_of
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.gauge_profiles import save_profile
from barrelfit.acquire.streams import is_standard
from barrelfit.acquire.wires.identifying import RATES
from barrelfit.acquire.wires.one_reading import (
    Hearing,
    PortEar,
    TypedLines,
    ear_at,
    is_readable,
    one_reading,
)
from barrelfit.drivers.coded import Coded
from barrelfit.drivers.errors import DriverError
from barrelfit.drivers.outcome import WireReading
from barrelfit.drivers.recognise import ProfileFit
from barrelfit.drivers.teaching.lesson import Lesson
from barrelfit.drivers.teaching.propose import NEEDED, REFUSED, RIGHT, Proposal
from barrelfit.drivers.teaching.samples import Sample, sample
from barrelfit.rules.manner import PLAIN, told
from barrelfit.rules.said import said

AGAIN: Final = "again"
RATE_NS: Final = 4_000_000_000
TURNS: Final = 3
"""How often each rate is tried before it is said that none gives characters."""


def taught(port: str, baud: int | None, folder: Path) -> tuple[ProfileFit, str] | None:
    """Teach the gauge at a port, and save its profile into a folder.

    Args:
        port: a serial port, a USB gauge's end point, or `-` for standard input.
        baud: the rate; None to find one that gives characters.
        folder: where the bench file's own profiles are.

    Returns:
        The profile with its file's name; None where nothing was proven.

    Raises:
        UserError: the port can't be used.
    """
    if baud is not None and not 50 <= baud <= 4_000_000:  # noqa: PLR2004  as profiles have it
        raise UserError([said("baud_out_of_range", baud=baud)])
    if sys.stdin is None:
        raise UserError([said("input_closed_typing")])
    typed = TypedLines(sys.stdin.fileno())
    try:
        lesson = _from_pipe(typed, baud) if is_standard(port) else _at_port(port, baud, typed)
    except OSError as error:
        raise UserError([said("of_port", name=port, what=str(error.strerror or error))]) from None
    if lesson is None or lesson.proposal is None or not lesson.proven:
        why = _told(lesson.why) if lesson is not None else ""
        print(f"nothing is saved: {why or f'a proposal is proven by {NEEDED} more readings'}")
        return None
    return _saved(lesson.proposal, lesson.samples[-1], folder)


def _saved(proposal: Proposal, last: Sample, folder: Path) -> tuple[ProfileFit, str]:
    profile = proposal.profile
    path = save_profile(proposal.text, folder, profile.id)
    print(f"saved {path}")
    port = profile.port
    reading = WireReading(last.raw, 0, last.shown.value, last.shown.unit, last.shown.length_nm)
    fit = ProfileFit(profile, port.bits, port.parity, NEEDED, reading, profile.sends == "free")
    return fit, str(path)


def _from_pipe(typed: TypedLines, baud: int | None) -> Lesson:
    """A lesson whose readings are typed as well: `2b 30 31 32 0d = 12.345 mm`."""
    lesson = Lesson(baud=baud or RATES[0])
    while (line := typed.next()) is not None:
        if not line:
            continue
        raw, mark, shown = line.partition("=")
        try:
            if not mark:
                raise UserError([said("bytes_and_shown", line=line)])
            _take(lesson, sample(bytes.fromhex(raw), shown))
        except ValueError:
            raise UserError([said("not_hex_pairs", text=raw.strip())]) from None
        except DriverError as error:
            raise UserError([said_of(one) for one in error.problems]) from None
    return lesson


def _at_port(port: str, baud: int | None, typed: TypedLines) -> Lesson | None:
    with ear_at(port, baud or RATES[0]) as ear:
        if baud is None and not port.startswith("usb:"):
            baud = _rate_of(ear)
            if baud is None:
                print("no rate gives characters: name the gauge's rate with --baud")
                return None
            print(f"it sends at {baud} baud")
        lesson = Lesson(baud=baud or RATES[0])
        _teach(lesson, ear, typed)
    return lesson


def _rate_of(ear: PortEar) -> int | None:
    """The rate at which a reading comes as characters; the hand presses again and again."""
    print("listening for its rate: press the data key every two seconds until it is found")
    clock = RunningClock()
    for baud in RATES * TURNS:
        ear.set_rate(baud)
        end_ns = clock.monotonic_ns() + RATE_NS
        chunks = one_reading(ear, clock, partial(_before, clock, end_ns))
        if chunks and is_readable(chunks):
            return baud
    return None


def _before(clock: RunningClock, end_ns: int) -> bool:
    return clock.monotonic_ns() < end_ns


def _teach(lesson: Lesson, ear: Hearing, typed: TypedLines) -> None:
    """Reading after reading, until it is proven and nobody wants to teach more."""
    clock = RunningClock()
    while not lesson.full:
        _say_what_next(lesson)
        chunks = one_reading(ear, clock, lambda: not (lesson.proven and typed.waits))
        if not chunks:
            if not typed.next():
                return
            continue
        sent = b"".join(data for _, data in chunks)
        print(f"  {sent[:48].hex(' ')}  what does the display show?", flush=True)
        while True:
            line = typed.next()
            if line is None:
                return
            if line == AGAIN:
                lesson.forget_last()
                print("  the last reading is taken back; this one counts: what does it show?")
                continue
            try:
                _take(lesson, sample(chunks, line))
            except DriverError as error:
                print(f"  {_told(error.problems[0])}", flush=True)
                continue
            break


def _told(what: Coded) -> str:
    return told(said_of(what), PLAIN) if what else ""


def _say_what_next(lesson: Lesson) -> None:
    number = len(lesson.samples) + 1
    if lesson.proven:
        print("proven. Enter saves it; another reading teaches it more", flush=True)
    else:
        print(f"reading {number}: send it, or hold the gauge still", flush=True)


def _take(lesson: Lesson, one: Sample) -> None:
    """Teach one reading, and say what came of it."""
    lesson.take(one)
    if lesson.why:
        print(f"  no profile yet: {_told(lesson.why)}", flush=True)
    elif lesson.last == RIGHT:
        print(f"  read rightly, {lesson.right} of {NEEDED}", flush=True)
    elif lesson.last == REFUSED:
        print("  not read by what was taught so far: learnt", flush=True)
    elif lesson.last:
        print(f"  read wrongly: learnt anew ('{AGAIN}' if it was a slip)", flush=True)
    if lesson.proposal is not None and (len(lesson.samples) == NEEDED or lesson.proven):
        print(f"  proposed: {lesson.proposal.profile.id}")
        for line in lesson.proposal.unsure:
            print(f"  {line}", flush=True)
