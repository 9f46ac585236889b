"""What the demonstration prints: sizes with the truth beside them, verdicts with their reasons."""

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from barrelfit.acquire.bench.printed import VERDICTS
from barrelfit.acquire.journal.codes import code_said
from barrelfit.acquire.said_json import from_parts
from barrelfit.rules.judge import outcome_said
from barrelfit.rules.length import number
from barrelfit.rules.manner import told as in_words
from barrelfit.rules.model import Verdict
from barrelfit.rules.said import Said, decimal, length, said

SAID_KEYS = frozenset({"sentence", "advice", "sentences", "reason"})

KINDS = (
    *("asked", "sized", "refused", "interrupted", "judged", "matched", "set_done"),
    *("fact_taken", "fact_held"),
    *("gauge_changed", "ready"),
)


class DemoTeller:
    """Prints one line for each thing that happens, as JSON or as a sentence."""

    def __init__(self, *, as_json: bool, benches: int) -> None:
        self._as_json = as_json
        self._several = benches > 1

    def board(self, url: str) -> None:
        """Say where the board is."""
        self._say({"kind": "board", "url": url}, said("demo_board", url=url))

    def slower(self, wanted: float, speed: float) -> None:
        """Say that it is played at the highest speed, and not as fast as was asked."""
        self._say(
            {"kind": "slower", "wanted": wanted, "speed": speed},
            said("demo_slower", speed=decimal(f"{speed:g}")),
        )

    def started(self, folder: Path) -> None:
        """Say that it has begun, and where the session files lie."""
        self._say(
            {"kind": "started", "folder": str(folder)},
            said("demo_started", folder=str(folder)),
        )

    def still_there(self) -> None:
        """Say that the sets are done and the board stays."""
        self._say({"kind": "finished"}, said("demo_done"))

    def tell(self, bench: str, message: dict[str, Any], truth_nm: int | None) -> None:
        """Tell of one message of a bench's daemon."""
        kind = message["kind"]
        if kind not in KINDS:
            return
        told = _told(kind, message, truth_nm)
        words = _sentence(message, told, kind)
        if self._several:
            words = said("of_place", at=bench, what=words)
        self._say({"kind": told.pop("kind"), "bench": bench, **told}, words)

    def _say(self, message: dict[str, Any], words: Said) -> None:
        text = json.dumps(message, ensure_ascii=False, allow_nan=False)
        sys.stdout.write((text if self._as_json else in_words(words)) + "\n")
        sys.stdout.flush()


def _told(kind: str, message: dict[str, Any], truth_nm: int | None) -> dict[str, Any]:
    """The message in the demonstration's own form: lengths as exact texts in mm."""
    data = message.get("data", {})
    if kind == "sized":
        return _size(data, truth_nm)
    if kind == "ready":
        where = {"file": message["journal"], "bus": message["broker"]}
        return {"kind": "session", "session": message["session"], **where}
    own_form = {
        "judged": _verdict,
        "refused": _refused,
        "interrupted": _interrupted,
        "asked": _asked,
        "matched": _pairing,
        "fact_taken": _fact,
        "fact_held": _fact,
    }
    return own_form[kind](data) if kind in own_form else {"kind": kind, **data}


def _verdict(data: dict[str, Any]) -> dict[str, Any]:
    return {
        "kind": "verdict",
        "about": data["about"],
        "verdict": data["verdict"],
        "reasons": [finding["sentence"] for finding in data["findings"]],
        "limits": [f["limit_from"] for f in data["findings"] if f.get("limit_from")],
        "todo": data["todo"],
    }


def _refused(data: dict[str, Any]) -> dict[str, Any]:
    words = {key: data[key] for key in ("reason", "sentence", "advice")}
    return {"kind": "refused", "at": at_text(data["at"]), **words}


def _fact(data: dict[str, Any]) -> dict[str, Any]:
    """A fact that was told: taken, or why it is not."""
    kind = "fact" if "reason" not in data else "fact_held"
    words = ("value", "who", "by", "sentence")
    return {"kind": kind, "at": at_text(data["at"])} | {k: data[k] for k in words if k in data}


def _interrupted(data: dict[str, Any]) -> dict[str, Any]:
    counted = {key: data[key] for key in ("passes", "least")}
    return {"kind": "interrupted", "at": at_text(data["at"]), **counted}


def _asked(data: dict[str, Any]) -> dict[str, Any]:
    words = {key: data[key] for key in ("gauge", "sentence", "done", "total")}
    return {"kind": "asked", "at": at_text(data["at"]) if data["at"] else None, **words}


def _size(data: dict[str, Any], truth_nm: int | None) -> dict[str, Any]:
    size_nm = data["size_nm"]
    return {
        "kind": "size",
        "at": at_text(data["at"]),
        "size_mm": _mm(size_nm),
        "truth_mm": None if truth_nm is None else _mm(truth_nm),
        "error_um": None if truth_nm is None else (size_nm - truth_nm) / 1000,
        "standard_uncertainty_um": round(data["u_nm"] / 1000, 3),
        "interval95_mm": [_mm(data["low_nm"]), _mm(data["high_nm"])],
        "passes": len(data["pass_sizes_nm"]),
        "notes": data.get("notes", []),
    }


def _pairing(data: dict[str, Any]) -> dict[str, Any]:
    pairs = [
        {
            "cylinder": pair["cylinder"],
            "piston": pair["piston"],
            "barrel": pair["barrel"],
            "smallest_clearance_mm": None if pair["tight_nm"] is None else _mm(pair["tight_nm"]),
            "largest_clearance_mm": None if pair["loose_nm"] is None else _mm(pair["loose_nm"]),
        }
        for pair in data["pairs"]
    ]
    return {
        "kind": "pairing",
        "outcome": data["outcome"],
        "pairs": pairs,
        "sentences": data["sentences"],
    }


def _sentence(message: dict[str, Any], told: dict[str, Any], kind: str) -> Said:
    """A line for people; what the daemon said stands in its message as parts."""
    if kind == "ready":
        return said("demo_ready", session=told["session"], file=told["file"])
    return _LINES[kind](from_parts(message["data"], SAID_KEYS), told)


def _judged_line(data: dict[str, Any], _told: dict[str, Any]) -> Said:
    reasons = tuple(finding["sentence"] for finding in data["findings"][:2])
    about, verdict = data["about"], VERDICTS[Verdict(data["verdict"])]
    return said("run_verdict", about=about, verdict=verdict, reasons=reasons)


def _matched_line(data: dict[str, Any], _told: dict[str, Any]) -> Said:
    seats = tuple(_seat(pair) for pair in data["pairs"])
    return said("pairing_told", told=(outcome_said(data["outcome"]), *seats, *data["sentences"]))


def _fact_line(data: dict[str, Any], told: dict[str, Any]) -> Said:
    by, who = code_said("fact_told", "by", data["by"]), data["who"]
    return said("demo_fact", at=told["at"], value=data["value"], who=who, by=by)


def _done_line(data: dict[str, Any], _told: dict[str, Any]) -> Said:
    return said(
        "run_set_done",
        serviceable=data["serviceable"],
        rework=data["rework"],
        discard=data["discard"],
        undecided=data["undecided"],
    )


def _gauge_line(data: dict[str, Any], _told: dict[str, Any]) -> Said:
    gauge, state = data["gauge"], code_said("gauge_changed", "state", data["state"])
    if data.get("reason"):
        return said("run_gauge_why", gauge=gauge, state=state, why=data["reason"])
    return said("run_gauge", gauge=gauge, state=state)


def _sized(data: dict[str, Any], told: dict[str, Any]) -> Said:
    size, low, high = (length(data[key]) for key in ("size_nm", "low_nm", "high_nm"))
    if told["truth_mm"] is None:
        return said("demo_sized", at=told["at"], size=size, low=low, high=high)
    truth = decimal(told["truth_mm"])
    return said("demo_sized_truth", at=told["at"], size=size, low=low, high=high, truth=truth)


def _seat(pair: dict[str, Any]) -> Said:
    piston = pair["piston"] or said("a_new_piston")
    return said("seat", piston=piston, barrel=pair["barrel"] or said("a_new_barrel"))


_LINES: Final[dict[str, Callable[[dict[str, Any], dict[str, Any]], Said]]] = {
    "judged": _judged_line,
    "sized": _sized,
    "matched": _matched_line,
    "refused": lambda data, told: said(
        "run_refused", at=told["at"], why=data["sentence"], do=data["advice"]
    ),
    "interrupted": lambda data, told: said(
        "demo_put_down", at=told["at"], passes=data["passes"], least=data["least"]
    ),
    "asked": lambda data, _: said(
        "run_ask", done=data["done"], total=data["total"], ask=data["sentence"]
    ),
    "fact_taken": _fact_line,
    "fact_held": lambda data, told: said(
        "demo_fact_held", at=told["at"], value=data["value"], why=data["sentence"]
    ),
    "set_done": _done_line,
    "gauge_changed": _gauge_line,
}


def at_text(at: dict[str, str]) -> str:
    """A feature's id as text: `B1/bore/top/thrust`."""
    parts = (at["part"], at["feature"], at.get("depth", ""), at.get("direction", ""))
    return "/".join(part for part in parts if part)


def _mm(length_nm: int) -> str:
    """Millimetres to four decimals, rounded half to even."""
    return number(length_nm, "mm", 4)
