"""What the demonstration prints: sizes with the truth beside them, verdicts with their reasons."""

import json
import sys
from pathlib import Path
from typing import Any

from barrelfit.acquire.demo.job import SHOWN
from barrelfit.rules.length import number

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
        self._say({"kind": "board", "url": url}, f"board: {url}")

    def slower(self, wanted: float, speed: float) -> None:
        """Say that it is played at the highest speed, and not as fast as was asked."""
        self._say(
            {"kind": "slower", "wanted": wanted, "speed": speed},
            f"Played {speed:g} times as fast as life, the most that gauges' times can bear.",
        )

    def started(self, folder: Path) -> None:
        """Say that it has begun, and where the session files lie."""
        self._say(
            {"kind": "started", "folder": str(folder)},
            f"session files: {folder}\n"
            "A simulated machinist works through an invented set; Ctrl-C ends everything.\n"
            + "\n".join(SHOWN),
        )

    def still_there(self) -> None:
        """Say that the sets are done and the board stays."""
        self._say({"kind": "finished"}, "Every set is done; the board stays until Ctrl-C.")

    def tell(self, bench: str, message: dict[str, Any], truth_nm: int | None) -> None:
        """Tell of one message of a bench's daemon."""
        kind = message["kind"]
        if kind not in KINDS:
            return
        told = _told(kind, message, truth_nm)
        prefix = f"{bench}: " if self._several else ""
        self._say(
            {"kind": told.pop("kind"), "bench": bench, **told}, prefix + _sentence(told, kind)
        )

    def _say(self, message: dict[str, Any], sentence: str) -> None:
        text = json.dumps(message, ensure_ascii=False, allow_nan=False)
        sys.stdout.write((text if self._as_json else sentence) + "\n")
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


def _sentence(told: dict[str, Any], kind: str) -> str:
    if kind == "judged":
        reasons = "; ".join(told["reasons"][:2])
        return f"{told['about']}: {told['verdict'].upper()}: {reasons}"
    if kind == "sized":
        truth = f", truth {told['truth_mm']} mm" if told["truth_mm"] else ""
        low, high = told["interval95_mm"]
        return f"{told['at']}: {told['size_mm']} mm, 95 % between {low} and {high}{truth}"
    if kind == "matched":
        seats = ", ".join(
            f"{p['piston'] or 'a new piston'} in {p['barrel'] or 'a new barrel'}"
            for p in told["pairs"]
        )
        return "; ".join([f"pairing: {told['outcome']}", *([seats] if seats else []),
                          *told["sentences"]])  # fmt: skip
    return _SENTENCES[kind].format(**told).removesuffix(": ")


_SENTENCES = {
    "refused": "{at}: no size: {sentence}; {advice}",
    "interrupted": "{at}: put down after {passes} of {least} passes: goes on",
    "asked": "{done}/{total}  {sentence}",
    "fact_taken": "{at}: {value}, told by {who} by {by}",
    "fact_held": "{at}: {value}, not taken: {sentence}",
    "ready": "session {session} in {file}",
    "set_done": (
        "the set is done: {serviceable} serviceable, {rework} rework, {discard} discard, "
        "{undecided} undecided"
    ),
    "gauge_changed": "gauge {gauge} {state}: {reason}",
}


def at_text(at: dict[str, str]) -> str:
    """A feature's id as text: `B1/bore/top/thrust`."""
    parts = (at["part"], at["feature"], at.get("depth", ""), at.get("direction", ""))
    return "/".join(part for part in parts if part)


def _mm(length_nm: int) -> str:
    """Millimetres to four decimals, rounded half to even."""
    return number(length_nm, "mm", 4)
