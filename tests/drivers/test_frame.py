"""Framers: whatever the port's cutting, the same frames; every byte in exactly one of them."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.drivers.frame import (
    INCOMPLETE,
    LINE_ENDS,
    OUT_OF_STEP,
    OVERRUN,
    REST,
    WHOLE,
    FixedFramer,
    LineFramer,
)

MS = 1_000_000
MAX = 16


def pieces(data, cuts):
    edges = sorted({0, len(data), *(c % (len(data) + 1) for c in cuts)})
    return [data[a:b] for a, b in itertools.pairwise(edges)]


def run(framer, chunks, step_ns=0):
    frames = []
    for number, chunk in enumerate(chunks):
        frames += framer.feed(chunk, number * step_ns)
        if isinstance(framer, FixedFramer):
            while frame := framer.take():
                frames.append(frame)
    return frames + framer.close()


def shapes(frames):
    return [(f.state, f.payload) for f in frames if f.state != LINE_ENDS]


wire = st.lists(
    st.sampled_from([b"+012.345", b"\r", b"\n", b"\r\n", b"\x00", b"\x8d", b"x" * 15, b"y" * 16])
    | st.binary(max_size=20),
    max_size=12,
).map(b"".join)


@given(wire, st.lists(st.integers(0, 300), max_size=12))
def test_lines_whole_against_pieces(data, cuts):
    whole = run(LineFramer(MAX, 2000), [data])
    cut = run(LineFramer(MAX, 2000), pieces(data, cuts))
    assert b"".join(f.raw for f in whole) == data
    assert b"".join(f.raw for f in cut) == data
    assert shapes(whole) == shapes(cut)
    assert all(len(f.raw) <= 2 * MAX + 2 for f in whole + cut)


@given(
    st.lists(
        st.tuples(
            st.binary(min_size=1, max_size=MAX - 1).filter(lambda b: not {10, 13} & set(b)),
            st.sampled_from([b"\r", b"\n", b"\r\n"]),
        ),
        max_size=20,
    ),
    st.lists(st.integers(0, 400), max_size=20),
)
def test_lines_come_back_as_sent(lines, cuts):
    sent = b"".join(body + end for body, end in lines)
    frames = run(LineFramer(MAX, 2000), pieces(sent, cuts))
    assert [f.payload for f in frames if f.state != LINE_ENDS] == [body for body, _ in lines]
    assert {f.state for f in frames} <= {WHOLE, LINE_ENDS}


@pytest.mark.parametrize("length", [1, MAX - 1])
def test_a_line_below_the_limit_is_whole(length):
    assert shapes(run(LineFramer(MAX, 1), [b"a" * length + b"\r"])) == [(WHOLE, b"a" * length)]


@pytest.mark.parametrize("length", [MAX, MAX + 1, 2 * MAX, 3 * MAX + 5])
@pytest.mark.parametrize("size", [1, 3, 1000])
def test_an_over_long_line_never_ends_as_a_short_one(length, size):
    data = b"a" * length + b"\r+012.345\r"
    chunks = [data[i : i + size] for i in range(0, len(data), size)]
    got = shapes(run(LineFramer(MAX, 2000), chunks))
    assert got[0] == (OVERRUN, b"a" * MAX)
    assert {state for state, _ in got[1:-1]} == {REST}
    assert got[-1] == (WHOLE, b"+012.345")


def test_the_buffer_is_bounded():
    framer = LineFramer(MAX, 2000)
    for _ in range(1000):
        framer.feed(b"z" * 1000, 0)
        framer.feed(b"\r" * 1000, 0)
        assert len(framer._buffer) < MAX


def test_silence_drops_a_line_but_never_a_line_end():
    framer = LineFramer(MAX, 2000)
    assert framer.feed(b"+012.3", 0) == []
    assert framer.idle(2000 * MS) == []
    (dropped,) = framer.idle(2000 * MS + 1)
    assert (dropped.state, dropped.raw, dropped.t_ns) == (INCOMPLETE, b"+012.3", 0)
    framer.feed(b"45\r", 3000 * MS)
    framer.feed(b"\n", 3001 * MS)
    assert framer.idle(9000 * MS) == []
    (line,) = framer.feed(b"+1\r", 10_000 * MS)
    assert (line.raw, line.payload) == (b"\n+1\r", b"+1")


def test_silence_ends_an_over_long_line():
    framer = LineFramer(MAX, 2000)
    framer.feed(b"a" * (MAX + 3), 0)
    got = framer.feed(b"+1\r", 2001 * MS)
    assert shapes(got) == [(REST, b"aaa"), (WHOLE, b"+1")]


MARK = b"\xff\xff"
frames_of_seven = st.lists(
    st.binary(min_size=5, max_size=5).map(lambda b: MARK + b.replace(b"\xff", b"\x00")), max_size=8
)


@given(frames_of_seven, st.lists(st.integers(0, 100), max_size=12))
def test_fixed_frames_come_back_as_sent(sent, cuts):
    data = b"".join(sent)
    frames = run(FixedFramer(7, MARK, 50), pieces(data, cuts))
    assert [(f.state, f.raw) for f in frames] == [(WHOLE, raw) for raw in sent]


@given(st.binary(max_size=60), st.lists(st.integers(0, 60), max_size=12))
def test_fixed_frames_whole_against_pieces(data, cuts):
    data = bytes(0xFF if b > 200 else b for b in data)
    whole = run(FixedFramer(7, MARK, 50), [data])
    cut = run(FixedFramer(7, MARK, 50), pieces(data, cuts))
    assert b"".join(f.raw for f in whole) == data == b"".join(f.raw for f in cut)
    good = [f.raw for f in whole if f.state == WHOLE]
    assert good == [f.raw for f in cut if f.state == WHOLE]


def test_a_cut_fixed_frame_does_not_take_the_next_ones_bytes():
    good = MARK + b"\x08\x21\x43\x35\x00"
    got = run(FixedFramer(7, MARK, 50), [good[:6] + good + b"\x01\x02" + good])
    assert [(f.state, f.raw) for f in got] == [
        (INCOMPLETE, good[:6]),
        (WHOLE, good),
        (OUT_OF_STEP, b"\x01\x02"),
        (WHOLE, good),
    ]


def test_without_a_mark_only_silence_finds_the_step_again():
    framer = FixedFramer(3, b"", 20)
    framer.feed(b"\x01\x02\x03", 0)
    assert framer.take() is None  # more may follow
    framer.feed(b"\x04", 5 * MS)
    lost = framer.take()
    assert (lost.state, lost.raw) == (OUT_OF_STEP, b"\x01\x02\x03\x04")
    framer.feed(b"\x05\x06\x07", 20 * MS)
    lost = framer.take()
    assert (lost.state, lost.raw) == (OUT_OF_STEP, b"\x05\x06\x07")
    assert framer.feed(b"\x08\x09\x0a", 41 * MS) == []
    assert framer.take() is None
    (whole,) = framer.idle(62 * MS)
    assert (whole.state, whole.raw, whole.t_ns) == (WHOLE, b"\x08\x09\x0a", 41 * MS)


def test_without_a_mark_two_frames_at_once_are_none():
    framer = FixedFramer(3, b"", 20)
    framer.feed(bytes(6), 0)
    assert framer.take().state == OUT_OF_STEP
    assert framer.idle(100 * MS) == []
    framer.feed(bytes(3), 101 * MS)
    assert [f.state for f in framer.close()] == [WHOLE]
