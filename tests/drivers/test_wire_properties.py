"""A wire's promises for every profile: nothing lost, cutting indifferent, replay the same."""

import itertools
import tomllib
from decimal import Decimal
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.drivers.decode import FILLING, KNOWN_MAX, Wire
from barrelfit.drivers.outcome import Note, WireReading
from barrelfit.drivers.profile import profile_from

MS = 1_000_000
FOLDER = files("barrelfit.drivers").joinpath("profiles")
PROFILES = [
    profile_from(tomllib.loads(entry.read_text(), parse_float=Decimal), entry.name)
    for entry in sorted(FOLDER.iterdir(), key=lambda entry: entry.name)
]


def traffic(profile):
    """Examples of the profile, mixed with damage."""
    good = st.sampled_from([example.raw for example in profile.examples])
    damaged = st.tuples(good, st.integers(0, 63), st.integers(0, 255)).map(
        lambda t: t[0][: t[1] % len(t[0])] + bytes([t[2]]) + t[0][t[1] % len(t[0]) + 1 :]
    )
    return st.lists(good | damaged | st.binary(max_size=90), max_size=10).map(b"".join)


def cut(data, cuts):
    edges = sorted({0, len(data), *(c % (len(data) + 1) for c in cuts)})
    return [data[a:b] for a, b in itertools.pairwise(edges)]


def meaning(outcomes):
    return [
        (
            type(o),
            *(getattr(o, k, None) for k in ("value", "unit", "length_nm", "channel", "fault")),
        )
        for o in outcomes
        if not (isinstance(o, Note) and o.note == FILLING)
    ]


by_profile = st.sampled_from(PROFILES)
with_traffic = by_profile.flatmap(lambda p: st.tuples(st.just(p), traffic(p)))


@given(with_traffic, st.lists(st.integers(0, 900), max_size=12))
def test_whole_against_pieces(case, cuts):
    profile, data = case
    runs = []
    for chunks in ([data], cut(data, cuts)):
        wire = Wire(profile, min_repeat_ms=0)
        got = [o for chunk in chunks for o in wire.feed(chunk, 0)] + wire.closed(0)
        assert b"".join(o.raw for o in got) == data
        runs.append(got)
    if profile.frame.kind == "fixed":  # where garbage is cut may differ, readings may not
        runs = [[o for o in run if isinstance(o, WireReading)] for run in runs]
    assert meaning(runs[0]) == meaning(runs[1])


@given(
    with_traffic,
    st.lists(st.integers(0, 900), max_size=12),
    st.lists(st.sampled_from([0, 1, 10, 49, 60, 150, 999, 1500, 3000]), min_size=13, max_size=13),
)
def test_replaying_each_raw_at_its_time_gives_the_same(case, cuts, gaps):
    profile, data = case
    wire = Wire(profile)
    wire.opened(0)
    t_ns, live = 0, []
    for chunk, gap in zip(cut(data, cuts), gaps, strict=False):
        t_ns += gap * MS
        live += wire.idle(t_ns) + wire.feed(chunk, t_ns)
    live += wire.closed(t_ns)
    again = Wire(profile)
    again.opened(0)
    redone = []
    for outcome in live:
        redone += again.feed(outcome.raw, outcome.t_ns) if outcome.raw else []
    redone += again.closed(t_ns)
    assert redone == live


@pytest.mark.parametrize("seven", [7, 8])
@given(st.data())
def test_seven_bit_bytes_are_all_accounted_for(seven, data):
    profile = next(p for p in PROFILES if p.id == "header-unit-letter-padded")
    sent = data.draw(traffic(profile))
    mixed = bytes(b | (b.bit_count() % 2) << 7 for b in sent) if seven == 7 else sent
    wire = Wire(profile, port=profile.port, min_repeat_ms=0)
    got = wire.feed(mixed, 0) + wire.closed(0)
    assert b"".join(o.raw for o in got) == mixed


@given(st.lists(st.integers(-999_999, 999_999), max_size=30), st.lists(st.integers(0, 400)))
def test_numbers_come_back_as_sent(numbers, cuts):
    profile = next(p for p in PROFILES if p.id == "signed-decimal-cr")
    lines = [f"{'-' if n < 0 else '+'}{abs(n) // 1000:03}.{abs(n) % 1000:03}\r" for n in numbers]
    wire = Wire(profile)
    chunks = cut("".join(lines).encode(), cuts)
    got = [o for n, chunk in enumerate(chunks) for o in wire.feed(chunk, n * 1000 * MS)]
    assert [o.length_nm for o in got] == [n * 1000 for n in numbers]


def test_memory_is_bounded_over_a_long_session():
    profile = next(p for p in PROFILES if p.id == "signed-decimal-cr")
    wire = Wire(profile)
    for n in range(2 * KNOWN_MAX + 10):
        (reading,) = wire.feed(b"+%03d.%03d\r" % divmod(n, 1000), n * 1000 * MS)
        assert reading.length_nm == n * 1000
    assert len(wire._known) <= KNOWN_MAX
