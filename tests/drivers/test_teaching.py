"""Teaching: a profile made from three readings and proven on three more never reads a wrong number.

Each made-up wire is taught, then sends what was never sent before: readings below zero and at it,
larger ones, the other unit, faults, frames that were cut or changed. `-s` prints how many of the
good readings are read.
"""

import tomllib
from random import Random

import pytest

from barrelfit.drivers.decode import Wire
from barrelfit.drivers.outcome import WireReading
from barrelfit.drivers.profile import profile_from
from barrelfit.drivers.proving import example_problems
from barrelfit.drivers.teaching.lesson import Lesson
from barrelfit.drivers.teaching.propose import REFUSED, RIGHT, WRONG, outcome, propose
from barrelfit.drivers.teaching.samples import TeachError, sample, shown_in
from tests.drivers.taught_wires import SUMMED, WIRES, inch_only
from tests.spoken import text_of

SEEDS = range(2)
BOTH_SIGNS = ("taught",) * 3 + ("below", "taught", "below") * 3
READINGS = 200
GAP_NS = 400_000_000


def count_of(made, chance, kind):
    most = made.most if kind != "larger" else 10 * made.most
    if kind == "zero":
        return 0
    count = chance.randrange(10_000, made.most) if kind == "taught" else chance.randrange(most)
    return (count - count % made.step) * (-1 if kind == "below" else 1)


def unit_of(made):
    return "in" if made.frame is inch_only else "mm"


def taught(made, chance, kinds):
    """A lesson of readings of these kinds, until it is proven."""
    lesson = Lesson()
    for n, kind in enumerate(kinds):
        count = count_of(made, chance, kind)
        sent = made.frame(count, unit_of(made), n + 1, chance)
        lesson.take(sample([(n * GAP_NS, sent)], made.shown(count, unit_of(made))))
        if lesson.proven:
            break
    return lesson


def stream(made, chance):
    """Frames with what the display showed, and whether the wire brought them as they were sent."""
    kinds = ("taught", "plain", "below", "zero", "larger", "inch", "fault", "cut", "garbled")
    for n in range(READINGS):
        kind = chance.choices(kinds, (30, 30, 15, 5, 5, 5, 5, 5, 5))[0]
        unit = "in" if kind == "inch" and made.inch else unit_of(made)
        count = count_of(made, chance, kind)
        try:
            sent = made.frame(count, unit, n + 10, chance)
        except OverflowError:
            continue
        shown = made.shown(count, unit)
        if kind == "fault" and made.faults:
            yield chance.choice(made.faults), "", False
        elif kind == "cut":
            at = chance.randrange(1, max(2, len(sent.rstrip(b"\0")) - 1))
            yield (
                (sent[at:] if made.anchored and chance.random() < 0.5 else sent[:at]),
                shown,
                False,
            )
        elif kind == "garbled" and made.frame in SUMMED:
            at = chance.randrange(len(sent))
            yield (
                sent[:at] + bytes([sent[at] ^ chance.randrange(1, 128)]) + sent[at + 1 :],
                shown,
                False,
            )
        else:
            yield sent, shown, True


def read_all(profile, made, chance):
    """How many readings are right, and how many good ones were sent; none may be wrong."""
    wire = Wire(profile, port=profile.port)
    right = good = t_ns = 0
    for sent, shown, sound in stream(made, chance):
        t_ns += GAP_NS
        heard = wire.feed(sent, t_ns) + wire.idle(t_ns + GAP_NS // 2)
        readings = [o for o in heard if isinstance(o, WireReading)]
        good += sound
        right += sound and bool(readings)
        for reading in readings:
            assert shown, (made.name, sent, reading)
            wanted = shown_in(shown)
            assert (reading.value, reading.unit) == (wanted.value, wanted.unit), (made.name, sent)
    return right, good


def taught_and_read(seed, kinds):
    """How many wires were proven, and the share of good readings of theirs that were read."""
    proven = right = good = 0
    for made in WIRES:
        chance = Random(f"{seed} {made.name}")  # noqa: S311  no secret
        lesson = taught(made, chance, kinds)
        if not lesson.proven:
            print(f"{made.name}: refused: {text_of(lesson.why) or 'not proven'}")  # noqa: T201  a figure
            continue
        read, sent = read_all(lesson.proposal.profile, made, chance)
        print(f"{made.name}: {read} of {sent} read; {lesson.proposal.profile.id}")  # noqa: T201  a figure
        proven, right, good = proven + 1, right + read, good + sent
    print(f"seed {seed}: {proven} of {len(WIRES)} taught, {100 * right / good:.0f} % read")  # noqa: T201  a figure
    return proven, right / good


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_taught_is_read_rightly_or_refused(seed):
    proven, share = taught_and_read(seed, BOTH_SIGNS)
    assert proven >= 24
    assert share > 0.8


def test_readings_above_zero_alone_never_make_a_wrong_number_either():
    proven, share = taught_and_read("above", ("taught",) * 6)
    assert proven >= 20
    assert share > 0.4


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 160))
def test_many_lessons(seed):
    taught_and_read(seed, BOTH_SIGNS)
    taught_and_read(seed, ("taught",) * 6)
    taught_and_read(seed, ("taught", "below", "taught", "zero", "below", "taught"))


LINES = ("+012.345", "+085.671", "-003.209", "+000.000", "-099.120", "+041.007")


def lesson_of(lines, end="\r"):
    lesson = Lesson()
    for line in lines:
        lesson.take(sample(f"{line}{end}".encode(), f"{line} mm"))
    return lesson


def test_six_readings_make_a_file_that_proves_itself():
    lesson = lesson_of(LINES)
    assert lesson.proven
    profile = profile_from(tomllib.loads(lesson.proposal.text), "taught")
    assert profile == lesson.proposal.profile
    assert example_problems(profile) == []
    assert profile.id == "taught-signed-decimal-cr"
    assert profile.evidence == "capture"


def test_a_slip_in_what_was_typed_is_found_and_can_be_taken_back():
    lesson = lesson_of(LINES[:3])
    lesson.take(sample(b"+012.999\r", "12.399 mm"))
    assert (lesson.last, lesson.right, lesson.proven) == (WRONG, 0, False)
    assert "stands nowhere" in text_of(lesson.why)
    lesson.forget_last()
    assert lesson.proposal is not None
    for line in LINES[3:]:
        lesson.take(sample(f"{line}\r".encode(), f"{line} mm"))
    assert lesson.proven


def test_what_was_not_seen_is_refused_until_it_is_taught():
    above = propose([sample(f"+0{n}.345 {n % 2}\r".encode(), f"{n}.345 mm") for n in (12, 23, 34)])
    below = sample(b"-012.345 0\r", "-12.345 mm")
    assert outcome(above.profile, below) == REFUSED
    assert outcome(above.profile, sample(b"+012.345 2\r", "12.345 mm")) == REFUSED
    assert outcome(above.profile, sample(b"+099.345 1\r", "99.345 mm")) == RIGHT
    assert any("spindle below zero" in line for line in above.unsure)
    assert any("not understood" in line for line in above.unsure)


def test_a_complement_is_not_taken_for_a_large_reading():
    """Ten's complement: 99.995 may be -0.005 where no sign was seen."""
    above = propose([sample(f"{n}.345\r".encode(), f"{n}.345 mm") for n in (12, 23, 34)])
    assert outcome(above.profile, sample(b"99.995\r", "-0.005 mm")) == REFUSED


@pytest.mark.parametrize(
    ("sent", "shown", "says"),
    [
        ([b"+012.345\r"] * 3, ["12.345 mm"] * 3, "three different readings"),
        ([b"a\r", b"bc\r", b"d\r"], ["1.234 mm", "2.345 mm", "3.456 mm"], "stands nowhere"),
        (
            [b"12.345", b"2.346", b"102.347"],
            ["12.345 mm", "2.346 mm", "102.347 mm"],
            "no character",
        ),
        (
            [b"1.11 2.22\r3.33\r", b"1.2\r2.2\r", b"4\r"],
            ["1.11 mm", "2.22 mm", "3.33 mm"],
            "several frames",
        ),
        ([b"012.345\r"] * 2, ["12.345 mm"] * 2, "3 readings are needed"),
        ([b"1.11\r", b"2.222\r", b"3.33\r"], ["1.11 mm", "2.222 mm", "3.33 mm"], "decimals"),
    ],
)
def test_what_can_not_be_taught_is_refused_with_a_reason(sent, shown, says):
    samples = [sample(raw, text) for raw, text in zip(sent, shown, strict=True)]
    with pytest.raises(TeachError) as raised:
        propose(samples)
    assert says in text_of(raised.value)


@pytest.mark.parametrize("typed", ["", "12.345", "mm", "12.3.4 mm", "1 2 mm", "twelve mm"])
def test_what_was_typed_must_be_a_number_with_its_unit(typed):
    with pytest.raises(TeachError) as raised:
        shown_in(typed)
    assert "12.345 mm" in text_of(raised.value)


def test_a_display_may_be_typed_as_it_is_read():
    assert shown_in(" -0,5 IN").value == "-0.5"
    assert shown_in('.1234"').value == "0.1234"
    assert shown_in("-0.000 mm").value == "0.000"


SPOILED = {
    "a status glued behind a counter": (
        [
            (f"{n:04d}00{line} mm\r".encode(), f"{line} mm")
            for n, line in enumerate(("+12.344", "-85.671", "+03.209", "-41.777", "+60.123"), 1)
        ],
        b"000640+12.345 mm\r",
    ),
    "a filler behind the last digit, always zero": (
        [
            (bytes.fromhex(f"aa{digits}00{sign}"), shown)
            for digits, sign, shown in (
                ("2713", "0c", "2.7130 mm"),
                ("3840", "0d", "-3.8400 mm"),
                ("5353", "0c", "5.3530 mm"),
                ("9951", "0c", "9.9510 mm"),
            )
        ],
        bytes.fromhex("aa2713400c"),
    ),
    "a flag in the byte of a counter": (
        [
            (bytes([0xAA, n << 5 & 0xFF]) + count.to_bytes(2, "big"), f"{count / 1000:.3f} mm")
            for n, count in enumerate((10_345, 20_671, 3_209, 14_777, 6_123, 9_999))
        ],
        bytes([0xAA, 0x24]) + (12_345).to_bytes(2, "big"),
    ),
    "a digit for the sign, free width": (
        [
            (f"{0}{shown}\r".encode(), f"{shown} mm")
            for shown in ("2.239", "26.702", "51.794", "5.428")
        ],
        b"13.674\r",
    ),
    "a status beside a mark that is none": (
        [
            (f"{n},{n % 3:02d} {shown}\r".encode(), f"{shown} mm")
            for n, shown in enumerate(("12.239", "26.702", "51.794", "45.428", "33.333", "20.007"))
        ],
        b"6,41 12.239\r",
    ),
    "bits of the number's own beside what varies": (
        [
            (bytes.fromhex(f"aa{n:x}{count + 0x800000:06x}5"), f"{count / 1000:.3f} mm")
            for n, count in zip(
                (0, 3, 1, 2, 3, 0, 2, 1),
                (18_740, 14_689, -9_855, 11_438, -17_521, 20_916, -10_151, 22_890),
                strict=True,
            )
        ],
        bytes.fromhex(f"aa2{0x800000 - 844_888:06x}5"),
    ),
    "a sign behind a counter of free width": (
        [
            (f"#{n} 00{int(shown < '0')} {shown.lstrip('-'):>7}\r".encode(), f"{shown} mm")
            for n, shown in enumerate(
                ("12.239", "-26.702", "51.794", "-45.428", "33.333", "20.007"), 27
            )
        ],
        b"#133 001  12.239\r",
    ),
}


@pytest.mark.parametrize("case", SPOILED)
def test_a_frame_that_may_mean_something_else_is_no_reading(case):
    """Each was read once as what the same digits had meant before."""
    sent, spoiled = SPOILED[case]
    try:
        proposal = propose([sample(raw, shown) for raw, shown in sent])
    except TeachError:
        return
    assert outcome(proposal.profile, sample(spoiled, "0.000 mm")) == REFUSED
