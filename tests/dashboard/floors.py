"""Floors of many benches, each in a state of its own, for tests and for eyes."""

import time

from tests.dashboard.scripted import MESSAGE, ScriptedBench, finding

STATES = ("well", "not-recording", "lost", "asked", "undecided", "well", "well", "well")
NEAR = "skirt 84.970 mm is too near the limit 84.969 mm for this gauge to decide"


def floor(benches: int) -> list[tuple[ScriptedBench, list[MESSAGE]]]:
    """So many benches with what each has said; their heart is for the caller to beat."""
    return [_bench(number) for number in range(1, benches + 1)]


def _bench(number: int) -> tuple[ScriptedBench, list[MESSAGE]]:
    name = STATES[(number - 1) % len(STATES)]
    script = ScriptedBench(bench=f"floor-{number}", session=f"f-{number}", clock=time.monotonic_ns)
    opened = {"session": script.session, "bench": script.bench, "job": f"J-{1000 + number}"}
    said = [script.state(), script.batch(script.event("session_opened", opened))]
    said += [script.snapshot(), *script.sweep(0, passes=1)]
    if name in {"asked", "undecided"}:
        near = finding("L1", 1, "P1", NEAR)
        said.append(script.batch(script.judged("P1", "undecided", [near])))
    if name == "asked":
        wish = {"about": "P1", "who": "Kim", "reason": "it came from a new set"}
        said.append(script.batch(script.event("override_asked", wish)))
    if name == "lost":
        script.gauge_states["outside-1"] = "lost"
        lost = {"gauge": "outside-1", "state": "lost", "reason": "the port vanished"}
        said.append(script.batch(script.event("gauge_changed", lost)))
    if name == "not-recording":
        script.trouble = "no space is left on the disk"
    return script, [*said, script.batch(script.asked(1)), script.heartbeat()]
