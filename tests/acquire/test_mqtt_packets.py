"""MQTT's packets against the standard's own tables, against another's client, and in pieces.

The standard is MQTT 3.1.1, OASIS, 29 October 2014; its section stands beside each check.
"""

import socket
import struct
import threading

import paho.mqtt.client as mqtt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from barrelfit.acquire.bus.mqtt_packets import (
    PUBACK,
    PUBLISH,
    Login,
    PacketError,
    PacketReader,
    Published,
    connect,
    number_of,
    puback,
    publish,
    published,
    refusal,
    subscribe,
)


@pytest.mark.parametrize(
    ("length", "written"),  # table 2.4
    [
        (127, "7f"),
        (128, "8001"),
        (16_383, "ff7f"),
        (16_384, "808001"),
        (2_097_151, "ffff7f"),
        (2_097_152, "80808001"),
    ],
)
def test_a_packets_length_is_written_as_the_standard_says(length, written):
    packet = publish("a", bytes(length - 3), 0, retain=False)
    assert packet[1:].startswith(bytes.fromhex(written))
    ((kind, flags, body),) = PacketReader().feed(packet)
    assert (kind, flags, len(body)) == (PUBLISH, 0, length)


def test_a_topic_is_asked_for_as_in_the_standard():
    # 3.8: 0x82, its length, number 10, "a/b" with its two bytes of length, QoS 1.
    assert subscribe("a/b", 10) == bytes.fromhex("8208000a0003") + b"a/b\x01"


def test_a_message_is_sent_as_in_the_standard():
    # 3.3, figure 3.11: topic "a/b", number 10; QoS 1 is bit 1 of the first byte, retain bit 0.
    assert publish("a/b", b"x", 10, retain=True) == bytes.fromhex("33080003") + b"a/b\0\nx"
    assert publish("a/b", b"x", 0, retain=False) == bytes.fromhex("30060003") + b"a/bx"
    assert puback(10) == bytes.fromhex("4002000a")  # 3.4


class _First:
    """Takes one connection, and its first packet."""

    def __init__(self) -> None:
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = self._server.getsockname()[1]
        self.packet = b""
        self._thread = threading.Thread(target=self._serve)
        self._thread.start()

    def _serve(self) -> None:
        taken, _ = self._server.accept()
        with taken:
            taken.settimeout(5)
            head = taken.recv(2, socket.MSG_WAITALL)
            self.packet = head + taken.recv(head[1], socket.MSG_WAITALL)

    def end(self) -> bytes:
        self._thread.join(10)
        self._server.close()
        return self.packet


@pytest.mark.parametrize("user", ["", "barrelfit"])
@pytest.mark.parametrize("password", ["", "s3cret"])
@pytest.mark.parametrize("will", [None, ("b/state", b"gone")])
def test_we_introduce_ourselves_as_another_client_does(user, password, will):
    first = _First()
    client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2, client_id="us")
    if user:
        client.username_pw_set(user, password or None)
    if will is not None:
        client.will_set(*will, qos=1, retain=True)
    client.connect("127.0.0.1", first.port, keepalive=5)
    client.loop_write()
    theirs = first.end()
    client.disconnect()
    assert connect(Login("us", 5, user, password, will)) == theirs


@given(
    st.lists(st.tuples(st.text(max_size=9), st.binary(max_size=300), st.integers(0, 65_535))),
    st.lists(st.integers(1, 40)),
)
def test_packets_come_out_as_they_went_in_however_they_are_cut(sent, sizes):
    wire = b"".join(publish(topic, data, number, retain=False) for topic, data, number in sent)
    reader, came, place = PacketReader(), [], 0
    for size in (*sizes, len(wire)):
        came += reader.feed(wire[place : place + size])
        place += size
    messages = [published(flags, body) for _, flags, body in came]
    assert messages == [Published(topic, data, False, number) for topic, data, number in sent]  # noqa: FBT003


def test_a_retained_message_says_so():
    (packet,) = PacketReader().feed(publish("a", b"b", 7, retain=True))
    assert published(*packet[1:]) == Published("a", b"b", True, 7)  # noqa: FBT003


def test_a_refused_login_says_why():
    assert refusal(b"\0\0") == ""
    assert refusal(b"\0\x04") == "wrong user or password"  # table 3.1
    assert refusal(b"\0\x09") == "refused with code 9"


def test_a_confirmation_says_of_what():
    ((kind, _, body),) = PacketReader().feed(puback(513))
    assert (kind, number_of(body)) == (PUBACK, 513)


@pytest.mark.parametrize(
    "wire",
    [
        b"\x30\xff\xff\xff\xff\x01",  # a length of five bytes (2.2.3 allows four)
        b"\x30\xff\xff\xff\x7f",  # 256 MB
    ],
)
def test_a_length_that_is_none_of_ours_is_refused(wire):
    with pytest.raises(PacketError):
        PacketReader().feed(wire)


@pytest.mark.parametrize(
    ("flags", "body"),
    [
        (0, b""),
        (0, b"\0"),
        (0, b"\0\x05a"),  # a topic that ends behind the packet
        (2, b"\0\x01a\0"),  # half a number
        (4, b"\0\x01a\0\x01b"),  # QoS 2, which nobody asked for
        (0, struct.pack("!H", 1) + b"\xff"),  # no text
    ],
)
def test_a_broken_message_is_refused(flags, body):
    with pytest.raises(PacketError):
        published(flags, body)


@pytest.mark.parametrize("body", [b"", b"\0", b"\0\0\0"])
def test_a_broken_word_of_welcome_is_refused(body):
    with pytest.raises(PacketError):
        refusal(body)
