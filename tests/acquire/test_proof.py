"""What proves where a message comes from: for one topic, once, by its key alone."""

import hashlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.bus.proof import FRESH_NS, Doorkeeper, Speaker, new_key, opened, seal

KEY, OTHER = new_key(), new_key()
WHERE = "barrelfit/b/journal"
COMMANDS = "barrelfit/b/command"


def test_the_keyed_hash_is_blake2b_as_its_rfc_has_it():
    """RFC 7693, appendix A: BLAKE2b-512 of "abc"; the same function makes our proofs."""
    assert (
        hashlib.blake2b(b"abc").hexdigest().startswith("ba80a53f981c4d0d6a2797b69f12f6e94c212f14")
    )


@given(st.dictionaries(st.text(), st.integers() | st.text(), min_size=1), st.integers(0, 10**18))
def test_what_was_sealed_is_one_object_still_and_opens(message, number):
    payload = json.dumps(message).encode()
    sealed = seal(KEY, WHERE, payload, number)
    assert json.loads(sealed)["n"] == number
    found = opened(KEY, WHERE, sealed)
    assert found is not None
    assert (found.payload, found.number) == (payload, number)


@given(st.data())
def test_any_other_byte_key_or_topic_opens_nothing(data):
    sealed = seal(KEY, WHERE, b'{"session":"s","events":[]}', 7)
    place = data.draw(st.integers(0, len(sealed) - 1))
    other = data.draw(st.integers(0, 255).filter(lambda byte: byte != sealed[place]))
    changed = sealed[:place] + bytes([other]) + sealed[place + 1 :]
    assert opened(KEY, WHERE, changed) is None
    assert opened(KEY, WHERE, sealed[: data.draw(st.integers(0, len(sealed) - 1))]) is None
    assert opened(OTHER, WHERE, sealed) is None
    assert opened(KEY, "barrelfit/b2/journal", sealed) is None


@given(st.binary(max_size=120))
def test_no_bytes_open_by_chance(data):
    assert opened(KEY, WHERE, data) is None


def test_a_speaker_numbers_what_it_says():
    speaker = Speaker(KEY)
    numbers = [opened(KEY, WHERE, speaker.seal(WHERE, b'{"a":1}')).number for _ in range(3)]
    assert numbers == [1, 2, 3]


@pytest.fixture
def door():
    return Doorkeeper("b", {"board": KEY})


def test_a_command_is_let_in_once_and_fresh(door):
    sent = seal(KEY, COMMANDS, b'{"kind":"pedal"}', 5_000)
    assert door.let_in(sent, 5_100) == ("board", b'{"kind":"pedal"}')
    assert door.let_in(sent, 5_200) == "repeated"
    late = seal(KEY, COMMANDS, b'{"kind":"pedal"}', 6_000)
    assert door.let_in(late, 6_001 + FRESH_NS) == "repeated"
    assert door.let_in(sent, 5_200 + 5 * FRESH_NS) == "repeated"


@pytest.mark.parametrize("payload", [b"", b"{}", b'{"kind":"pedal"}', b'{"n":1,"mac":"00"}'])
def test_without_a_devices_proof_nothing_is_let_in(door, payload):
    assert door.let_in(payload, 0) == "unproved"
    assert door.let_in(seal(OTHER, COMMANDS, b'{"kind":"pedal"}', 0), 0) == "unproved"
    assert door.let_in(seal(KEY, WHERE, b'{"kind":"pedal"}', 0), 0) == "unproved"
