"""Commands from a bench's entry page: a size or temperature typed by hand, the pedal's words.

The text goes to the bench as it was typed: the bench's rules read it, hold what looks like a slip,
and the record keeps every character.
"""

from dataclasses import asdict
from typing import Any

from barrelfit.acquire.inputs.plain import plain_decimal
from barrelfit.dashboard.board.model import Board
from barrelfit.rules.model import FeatureId


def entry_command(request: str, at: FeatureId, text: str, unit: str, **said: str) -> dict[str, Any]:
    """A size typed by hand; `said` has `who`, and `why` when a held entry is right after all."""
    return {
        "kind": "entry",
        "id": request,
        "at": asdict(at),
        "text": text,
        "unit": unit,
        **said,
    }


def temperature_command(request: str, of: str, text: str, who: str) -> dict[str, Any] | None:
    """A temperature in °C typed by hand, point or comma; None when it is no number.

    `who` is the name told.
    """
    celsius = plain_decimal(text.replace(",", "."))
    if celsius is None:
        return None
    milli = int((celsius * 1000).to_integral_value())
    return {"kind": "temperature", "id": request, "of": of, "milli_celsius": milli, "who": who}


def fact_command(request: str, at: FeatureId, value: str, unit: str, **said: str) -> dict[str, Any]:
    """A fact of a part as told, an empty value to take it back.

    `said` has `who`, `why`, and `by` where it is not told at the board.
    """
    return {
        "kind": "fact",
        "id": request,
        "at": asdict(at),
        "value": value,
        "unit": unit,
        "by": "board",
        **said,
    }


def answer_command(
    request: str, at: FeatureId, value: str, ask: int, **said: str
) -> dict[str, Any]:
    """What answers the ask of that number; `said` has `who`, and the `unit` of a number."""
    fact = fact_command(request, at, value, said.get("unit", ""), who=said["who"])
    return {**fact, "ask": ask}


def job_command(request: str, what: str, who: str, **said: Any) -> dict[str, Any]:  # noqa: ANN401  plain JSON
    """An order of a job: `new`, `pause`, `take-up` or `close`, with what belongs to it."""
    return {"kind": "job", "id": request, "what": what, "who": who, **said}


def sign_on_command(request: str, who: str) -> dict[str, Any]:
    """Somebody is at the bench from now on."""
    return {"kind": "sign_on", "id": request, "who": who}


def wanted_command(request: str, at: FeatureId, who: str) -> dict[str, Any]:
    """The feature that somebody wants to measure now."""
    return {"kind": "wanted", "id": request, "at": asdict(at), "who": who}


def pedal_command(request: str, action: str, who: str) -> dict[str, Any]:
    """What the foot pedal would have said: next, again, back or undo; `who` is the name told."""
    return {"kind": "pedal", "id": request, "action": action, "who": who}


def take_command(request: str, gauge: str, port: str, who: str) -> dict[str, Any]:
    """Somebody's word that what is at a port is the gauge's adapter."""
    return {"kind": "take", "id": request, "gauge": gauge, "port": port, "who": who}


def open_first(board: Board) -> list[FeatureId]:
    """The plan's features: the one asked for first, then those without a size, then the others."""
    places = [planned.at for planned in board.features]
    return sorted(places, key=lambda at: (at != board.place, at in board.state.sizes))
