"""Whoever has the bench's bus password can still not speak for it, nor tell it what to do.

All of it is tried with Debian's own client: records, findings, snapshots, commands; forged, said
again, too long, cut, of another session. Nothing is taken, all is counted, and a board shows it.
"""

import json
import subprocess
from pathlib import Path

import pytest

from tests.system.bench_rig import Daemon, FarEnd, Listener, bench_text, ending, gauge_text
from tests.system.board_rig import need, wait_for
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port
from tests.system.test_board_override import HubThread

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

P1 = {"part": "P1", "feature": "skirt", "depth": "", "direction": ""}
FALSE = {"about": "P1", "verdict": "serviceable", "findings": [], "todo": {"key": ""}}


class Attacker:
    """Anybody who has the password."""

    def __init__(self, port: int, password: str) -> None:
        self.program = need("mosquitto_pub")
        self.login = ["-h", "127.0.0.1", "-p", str(port), "-u", "barrelfit", "-P", password]

    def say(self, leaf: str, payload: bytes, *more: str) -> None:
        topic = ["-t", f"barrelfit/stand/{leaf}", "-q", "1", "-s", *more]
        subprocess.run(  # noqa: S603
            [self.program, *self.login, *topic], input=payload, check=True, timeout=PATIENCE_S
        )


def batch(session: str, seq: int) -> bytes:
    event = {"seq": seq, "kind": "judged", "v": 2, "because": 1, "t": 1, "utc": "", "data": FALSE}
    return json.dumps({"session": session, "events": [event]}).encode()


def raw_of(listener: Listener, leaf: str) -> bytes:
    """The newest message of a topic as it was on the bus, proof and all."""
    lines = [text for _, text in list(listener.lines.seen) if f"/{leaf} " in text]
    return lines[-1].partition(" ")[2].encode()


def test_nothing_that_the_bench_did_not_say_counts(tmp_path: Path):
    port, file = free_port(), tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, port, gauge_text("micrometer", tmp_path / "gauge")))
    far, daemon = FarEnd(tmp_path / "gauge"), Daemon(file)
    with ending(far, daemon):
        ready = daemon.ready()
        password = (tmp_path / "sessions" / "broker-password").read_text().strip()
        listener, attacker = Listener(port, "barrelfit", password), Attacker(port, password)
        board = HubThread(None, tmp_path / "sessions")
        try:
            with ending(listener):
                board.wait(lambda b: b.state.judged.get("P1"), "a verdict")
                seq = listener.event("reading_taken")[1]["seq"]
                forge(attacker, listener, ready["session"], seq)
                told = board.wait(
                    lambda b: b.bench_refused if sum(b.bench_refused.values()) >= 7 else None,
                    "the daemon's count",
                )
                assert told["results"] == 2
                assert told["command"] >= 5
                board.wait(lambda b: sum(b.refused.values()) >= 6, "the board's count")
                seen = board.wait(lambda b: b.state.judged.get("P1"), "the true verdict")
                assert str(seen.event.verdict) == "undecided"
        finally:
            board.stop()
        assert daemon.end() == 0
    kinds = [json.loads(line)["kind"] for line in Path(ready["journal"]).read_text().splitlines()]
    assert "entry_made" not in kinds
    assert "pedal_pressed" not in kinds
    assert "temperature_taken" not in kinds
    assert kinds.count("message_refused") >= 2
    judged = [json.loads(line) for line in Path(ready["journal"]).read_text().splitlines()
              if '"kind":"judged"' in line]  # fmt: skip
    assert all(record["data"]["verdict"] == "undecided" for record in judged)


def forge(attacker: Attacker, listener: Listener, session: str, seq: int) -> None:
    wait_for(lambda: listener.heard("snapshot"), "a snapshot")
    records, snapshot, beat = (raw_of(listener, x) for x in ("journal", "snapshot", "heartbeat"))
    finding = {"because": 1, "kind": "judged", "version": 2, "data": FALSE}
    results = {"session": session, "first": 3, "results": [finding]}
    attacker.say("results", json.dumps(results).encode())
    attacker.say("results", json.dumps({"say": "results", **results}).encode())
    attacker.say("journal", batch(session, seq + 1))  # forged
    attacker.say("journal", batch("stand-20200101T000000Z", 1))  # of another session
    attacker.say("journal", records)  # said again
    attacker.say("journal", records[: len(records) // 2])  # cut
    attacker.say("journal", b'{"x":"' + b"x" * 200_000 + b'"}')  # too long
    attacker.say("snapshot", snapshot.replace(b"undecided", b"serviceable"), "-r")
    attacker.say("heartbeat", beat)
    attacker.say("state", json.dumps({"state": "offline", "session": session, "seq": 1}).encode())
    entry = {"kind": "entry", "id": "e", "at": P1, "text": "84.93", "unit": "mm", "who": "Anybody"}
    attacker.say("command", json.dumps(entry).encode())
    attacker.say("command", json.dumps({**entry, "n": 1, "mac": "00" * 16}).encode())
    attacker.say("command", b'{"kind":"pedal","id":"p","action":"undo"}')
    attacker.say("command", b'{"kind":"temperature","id":"t","of":"part","milli_celsius":30000}')
    attacker.say("command", b'{"kind":"pedal","id":"p","act')
    attacker.say("command", b'{"kind":"pedal","id":"' + b"x" * 9_000 + b'"}')
    attacker.say("command", b'{"kind":"pedal","id":"r","action":"undo"}', "-r")
