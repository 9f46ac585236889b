"""Which adapter is a gauge's, said to a bench that runs: proved, journaled, and so ever after."""

import json

import pytest

from barrelfit.dashboard.pages.entry import take_command
from barrelfit.rules.manner import told
from tests.system.bench_rig import Daemon, FarEnd, bench_text, ending, gauge_text
from tests.system.ports import free_port
from tests.system.test_board_override import HubThread, journal_kinds

pytest.importorskip("iotcore", reason="iotcore, the embedded broker, is not on this system")

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]


def answered(board: HubThread, port: str):
    """The bench's answer; asked again where it took too long for a board that waits."""
    for number in range(20):
        command = take_command(f"{port} {number}", "micrometer", port, "Kim")
        if answer := board.hub.ask("stand", command):
            return answer
    return pytest.fail("no answer")


def test_a_gauge_is_read_at_another_port_without_a_restart(tmp_path):
    first, second, file = tmp_path / "first", tmp_path / "second", tmp_path / "bench.toml"
    file.write_text(bench_text(tmp_path, free_port(), gauge_text("micrometer", first)))
    far, other, daemon = FarEnd(first), FarEnd(second), Daemon(file)
    with ending(far, other, daemon):
        daemon.ready()
        number, _ = daemon.told("gauge_changed", state="answering")
        board = HubThread(None, tmp_path / "sessions")
        try:
            board.wait(lambda b: b.gauges, "the gauge")
            unproved = take_command("0", "micrometer", str(second), "Mallory")
            board.publish("stand", json.dumps(unproved).encode())
            assert "nothing is plugged in" in told(answered(board, "/dev/none").sentence)
            assert answered(board, str(second)).ok
        finally:
            board.stop()
        number, lost = daemon.told("gauge_changed", start=number, state="lost")
        assert lost["data"]["reason"] == f"Kim said that the gauge is at {second}"
        far.kill()
        daemon.told("gauge_changed", start=number, state="answering")
        assert daemon.end() == 0
        again = Daemon(file)
        with ending(again):
            again.told("gauge_changed", state="answering")
            assert again.end() == 0
    records, _ = journal_kinds(tmp_path)
    chosen = [r["data"] for r in records if r["kind"] == "adapter_chosen"]
    said = {(c["gauge"], c["port"], c["who"]) for c in chosen}
    assert said == {("micrometer", str(second), "Kim")}
    opened = [r["data"]["port"] for r in records if r["kind"] == "wire_opened"]
    assert opened[0] == str(first)
    assert set(opened[1:]) == {str(second)}
