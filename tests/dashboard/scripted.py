"""A scripted bench: the bus messages of an invented session, for tests of the board.

It speaks the bus topics as `acquire.topics` describes them. What an event of a test does not say is
filled in; the snapshot is the real one of what was scripted.
"""

import json
import math
import random
from collections.abc import Callable, Iterator
from dataclasses import MISSING, dataclass, field, fields
from functools import cache
from typing import Any, get_origin, get_type_hints

import msgspec

from barrelfit.acquire.bus.plan_told import Planned, SetTold
from barrelfit.acquire.bus.snapshot import Telling
from barrelfit.acquire.journal.codec import TYPE_OF, decode
from barrelfit.acquire.journal.events import VERSION_OF
from barrelfit.acquire.journal.recorder import JustRecorded
from barrelfit.dashboard.board.fold import fold_message
from barrelfit.dashboard.board.model import Board
from barrelfit.rules.model import FeatureId
from barrelfit.rules.said import written

DEPTHS = ("top", "middle", "bottom")
DIRECTIONS = ("thrust", "pin")
MESSAGE = tuple[str, dict[str, Any], bool]


def plan(cylinders: int) -> list[dict[str, Any]]:
    skirts = [
        {"at": place(f"P{i}", "skirt"), "gauge": "outside-1"} for i in range(1, cylinders + 1)
    ]
    bores = [
        {"at": place(f"B{i}", "bore", depth, direction), "gauge": "bore-1"}
        for i in range(1, cylinders + 1)
        for depth in DEPTHS
        for direction in DIRECTIONS
    ]
    return skirts + bores


def place(part: str, feature: str, depth: str = "", direction: str = "") -> dict[str, str]:
    return {"part": part, "feature": feature, "depth": depth, "direction": direction}


SAID = {"sentence", "advice", "todo", "limit_from", "sentences", "notes"}


SAID_OF = {"gauge_changed": ["reason"], "service_changed": ["reason"], "fault_seen": ["hint"]}
"""What is said in a kind besides; elsewhere it is a code, or what somebody wrote."""


def saying(data: Any) -> Any:
    """What a test gives as text, as the records hold it: a text that somebody wrote."""
    if isinstance(data, list):
        return [saying(one) for one in data]
    if not isinstance(data, dict):
        return data
    return {key: _said(one) if key in SAID else saying(one) for key, one in data.items()}


def _said(value: Any) -> Any:
    if isinstance(value, list):
        return [_said(one) for one in value]
    return msgspec.to_builtins(written(value) if isinstance(value, str) else value)


def finding(code: str, severity: int, about: str, sentence: str, **more: Any) -> dict[str, Any]:
    return {
        "code": code,
        "severity": severity,
        "about": about,
        "sentence": sentence,
        "value_nm": None,
        "limit_nm": None,
        "limit_from": "",
        "advice": "",
    } | more


@dataclass
class ScriptedBench:
    """Makes journal batches with running seq and time; `step_ns` is the time between readings."""

    bench: str = "bench-1"
    session: str = "session-1"
    cylinders: int = 4
    passes: int = 5
    seq: int = 0
    t_ns: int = 5_000_000_000
    step_ns: int = 50_000_000
    seed: int = 3
    job: str = "4711"
    trouble: str = ""
    clock: Callable[[], int] | None = None  # without one, time goes on by `step_ns` a reading
    rng: random.Random = field(init=False)

    def __post_init__(self) -> None:
        self.rng = random.Random(self.seed)  # noqa: S311
        self.sizes: list[dict[str, Any]] = []
        self.telling = Telling(self.bench, self.session, lambda _: SetTold())
        self.gauge_states = {"outside-1": "answering", "bore-1": "answering"}

    def topic(self, leaf: str) -> str:
        return f"barrelfit/{self.bench}/{leaf}"

    def event(
        self, kind: str, data: dict[str, Any], *, because: int | None = None
    ) -> dict[str, Any]:
        """One record; it is caused by the one before unless `because` says otherwise."""
        self.seq += 1
        if self.clock is not None:
            self.t_ns = self.clock()
        cause = self.seq - 1 if because is None else because
        data = saying(filled(kind, data))
        data |= {key: _said(data[key]) for key in SAID_OF.get(kind, ()) if key in data}
        version = VERSION_OF[TYPE_OF[kind]] if kind in TYPE_OF else 1
        if kind in TYPE_OF and kind != "reading_taken":
            document = decode(kind, version, json.dumps(data).encode())
            self.telling.take(JustRecorded(self.seq, cause or None, document))
        return {
            "seq": self.seq,
            "kind": kind,
            "v": version,
            "because": cause,
            "t": self.t_ns,
            "utc": "2026-11-25T01:02:03.123456Z",
            "data": data,
        }

    def batch(self, *events: dict[str, Any]) -> MESSAGE:
        return self.topic("journal"), {"session": self.session, "events": list(events)}, False

    def state(self, state: str = "online") -> MESSAGE:
        payload = {
            "state": state, "session": self.session, "seq": self.seq, "utc": "…", "head": "0" * 64,
        }  # fmt: skip
        return self.topic("state"), payload, True

    def heartbeat(self) -> MESSAGE:
        gauges = {name: {"state": state, "age_ms": 20} for name, state in self.gauge_states.items()}
        payload = {
            "session": self.session, "seq": self.seq, "utc": "…", "head": "0" * 64,
            "trouble": self.trouble,
            "gauges": gauges,
        }  # fmt: skip
        return self.topic("heartbeat"), payload, False

    def snapshot(self) -> MESSAGE:
        features = [
            Planned(FeatureId(**f["at"]), f["gauge"], None, self.passes, 2_100)
            for f in plan(self.cylinders)
        ]
        told = msgspec.structs.replace(
            self.telling.snapshot(self.seq, "…"), session=self.session, features=features
        )
        return self.topic("snapshot"), msgspec.to_builtins(told), True

    def reading(self, gauge: str, nm: int) -> dict[str, Any]:
        self.t_ns += self.step_ns
        micro = round(nm / 1000) * 1000
        value = f"{micro / 1_000_000:.3f}"
        return self.event(
            "reading_taken",
            {
                "gauge": gauge,
                "raw": f"+{value}\r".encode().hex(),
                "value": value,
                "unit": "mm",
                "length_nm": micro,
            },
        )

    def asked(self, index: int, *, because: int | None = None) -> dict[str, Any]:
        features = plan(self.cylinders)
        chosen = features[index]
        at = chosen["at"]
        where = " ".join(v for v in (at["depth"], at["direction"]) if v)
        words = f"Sweep the {at['feature']} of {at['part']}" + (f" at the {where}" if where else "")
        ask = {
            "at": at,
            "gauge": chosen["gauge"],
            "sentence": words + ", three slow passes",
            "done": index,
            "total": len(features),
        }
        return self.event("asked", ask, because=because)

    def sized(self, at: dict[str, str], nm: int, passes: list[int]) -> dict[str, Any]:
        data = {
            "at": at,
            "size_nm": nm,
            "read_nm": nm + 900,
            "u_nm": 620.0,
            "low_nm": nm - 1_300,
            "high_nm": nm + 1_300,
            "pass_sizes_nm": passes,
            "estimator": "crest-1",
            "rank": "minimum of two-point sizes",
            "source": "sweep",
            "budget": [],
            "notes": ["no temperature given: the interval is wider"],
        }
        self.sizes.append(data)
        return self.event("sized", data)

    def judged(
        self, about: str, verdict: str, findings: list[dict[str, Any]], todo: str = ""
    ) -> Any:
        data = {"about": about, "verdict": verdict, "findings": findings, "todo": todo}
        return self.event("judged", data)

    def judge(self, part: str, nm: int, index: int) -> dict[str, Any]:
        verdict = ("serviceable", "rework", "discard", "undecided")[index % 4]
        limit = nm - 4_000 if verdict == "serviceable" else nm + 21_000
        sentence = {
            "serviceable": f"Skirt of {part} is inside its wear limit.",
            "rework": f"Skirt of {part} is worn past group II; it suits the next group.",
            "discard": f"Skirt of {part} is below the wear limit by more than the doubt.",
            "undecided": f"Skirt of {part} is too near its limit for this gauge to decide.",
        }[verdict]
        todo = {
            "undecided": "Measure again at 20 °C, or with a finer gauge",
            "rework": "Set aside for the next group",
            "discard": "Mark it and keep it off the bench",
        }.get(verdict, "")
        found = finding(
            "W1",
            index % 4,
            part,
            sentence,
            value_nm=nm,
            limit_nm=limit,
            limit_from=f"stamp on {part}" if index % 2 else "sheet flat-four-85 rev A, group II",
        )
        return self.judged(part, verdict, [found], todo)

    def sweep(self, index: int, passes: int = 3) -> Iterator[MESSAGE]:
        """One feature from the ask to the size and verdict, a message a reading."""
        at = plan(self.cylinders)[index]["at"]
        gauge = plan(self.cylinders)[index]["gauge"]
        size = 84_970_000 + 3_000 * index
        yield self.batch(self.asked(index))
        yield self.snapshot()
        yield self.batch(self.event("contact", {"at": at, "t_ns": self.t_ns}))
        held = []
        for number in range(1, passes + 1):
            start = 0
            for i in range(-14, 15):
                nm = size + round(self.rng.gauss(0, 600)) - abs(i) ** 3 * 90
                if gauge == "bore-1":
                    nm = size + round(self.rng.gauss(0, 600)) + abs(i) ** 2 * 110
                yield self.batch(self.reading(gauge, nm))
                if i == -5:
                    start = self.t_ns
                if i == 5:
                    end = self.t_ns
            held.append(size + round(self.rng.gauss(0, 500)))
            data = {
                "at": at,
                "number": number,
                "size_nm": held[-1],
                "start_ns": start,
                "end_ns": end,
            }
            yield self.batch(self.event("passed", data))
        yield self.batch(self.sized(at, size, held))
        if at["feature"] == "skirt":
            yield self.batch(self.judge(at["part"], size, index))
        if (
            at["feature"] == "bore"
            and at["depth"] == DEPTHS[-1]
            and at["direction"] == DIRECTIONS[-1]
        ):
            yield self.batch(self.judge_pair(int(at["part"][1:])))
        yield self.snapshot()

    def judge_pair(self, number: int) -> dict[str, Any]:
        """Piston and barrel of one number, with both clearances judged."""

        def sizes(feature: str, part: str) -> list[int]:
            return [
                s["size_nm"]
                for s in self.sizes
                if s["at"]["part"] == part and s["at"]["feature"] == feature
            ]

        skirt, bores = sizes("skirt", f"P{number}"), sizes("bore", f"B{number}")
        low, high = min(bores) - skirt[-1], max(bores) - skirt[-1]
        about = f"P{number}+B{number}"
        origin = "sheet flat-four-85 rev A"
        found = [
            finding(
                "V100",
                0,
                about,
                "smallest clearance is within its limit",
                value_nm=low,
                limit_nm=15_000,
                limit_from=origin,
            ),
            finding(
                "C2",
                2,
                about,
                "largest clearance is too wide",
                value_nm=high,
                limit_nm=low + 60_000,
                limit_from=origin,
            ),
        ]
        return self.judged(
            about,
            "serviceable" if number % 2 else "rework",
            found,
            "" if number % 2 else "Bore the barrel to the next oversize",
        )

    def session_messages(self) -> Iterator[MESSAGE]:
        """The whole set, feature by feature."""
        yield self.state()
        opened = {"session": self.session, "bench": self.bench, "job": self.job, "who": "Kim"}
        yield self.batch(self.event("session_opened", opened))
        for index in range(len(plan(self.cylinders))):
            yield from self.sweep(index)
        counts = {"serviceable": 5, "rework": 1, "discard": 1, "undecided": 1}
        yield self.batch(self.event("set_done", counts))


def encoded(message: MESSAGE) -> tuple[str, bytes, bool]:
    topic, payload, retain = message
    return topic, json.dumps(payload).encode(), retain


def filled(kind: str, data: dict[str, Any]) -> dict[str, Any]:
    """An event's data with what it must have and a test does not care for."""
    known = TYPE_OF.get(kind)
    if known is None:
        return data
    return {name: _empty(type_of) for name, type_of in _needed(known).items()} | data


@cache
def _needed(known: type) -> dict[str, Any]:
    """The fields that an event must have, with their types: worked out once a kind."""
    if issubclass(known, msgspec.Struct):
        return {f.name: f.type for f in msgspec.structs.fields(known) if f.required}
    hints = get_type_hints(known)
    return {f.name: hints[f.name] for f in fields(known) if f.default is MISSING}


def _empty(kind: Any) -> Any:
    origin = get_origin(kind) or kind
    if origin in {str, int, float, bool, dict}:
        return origin()
    return [] if origin is tuple else None


def heard(board: Board, message: MESSAGE, now_ns: int = 0) -> None:
    """Let a board hear a message as its hub does: through the door, as bytes."""
    topic, payload, _ = encoded(message)
    fold_message(board, topic.rsplit("/", 1)[1], payload, now_ns)


def wave(t_ns: int, size_nm: int) -> int:
    """A gauge that never rests: a smooth wave of ± 20 μm about a size."""
    return size_nm + round(20_000 * math.sin(t_ns / 700_000_000))
