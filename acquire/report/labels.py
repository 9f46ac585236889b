"""Labels to be put on the parts of a judged set: part, verdict, size, place. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from barrelfit.acquire.report.figures import size_text
from barrelfit.acquire.report.words import say, say_or_raw
from barrelfit.rules.engine.catalogue import MAIN
from barrelfit.rules.manner import Manner

PROOF_CHARS: Final = 12  # of the record's hash: enough to tell it from every other one


@dataclass(frozen=True, slots=True)
class PartLabel:
    """What stands on one part's label.

    Attributes:
        part: its id in the job.
        job: the job, and the part's serial number where it has one.
        verdict: the verdict's key, for its shape.
        word: the verdict's word, with what a lead decided otherwise.
        size: its main size with the 95 % interval (of a barrel the smallest); empty without one.
        place: where it runs; empty while that is not decided.
        code: what its QR code says, in plain text.
    """

    part: str
    job: str
    verdict: str
    word: str
    size: str
    place: str
    code: str


def labels_of(lines: Sequence[Mapping[str, Any]], manner: Manner) -> list[PartLabel]:
    """A label for each part.

    Args:
        lines: a report's lines.
        manner: how lengths are written.
    """
    head = next(line for line in lines if line["kind"] == "set")
    session = next((line for line in lines if line["kind"] == "session"), None)
    proof = (session["head_hash"] if session else head["set_sha256"])[:PROOF_CHARS]
    places = _places(lines)
    decided = {line["about"]: line["verdict"] for line in lines if line["kind"] == "overridden"}
    made = []
    for part in (line for line in lines if line["kind"] == "part"):
        name, verdict = part["part"], part["verdict"]
        word = say_or_raw(verdict, verdict).upper()
        if name in decided:
            word = say(
                "label_decided", verdict=word, lead=say_or_raw(decided[name], decided[name]).upper()
            )
        size, place = _size(lines, part, manner), places.get(name, "")
        serial = say("label_serial", serial=part["serial"]) if part["serial"] else ""
        job = " · ".join(filter(None, (head["job"], serial)))
        code = "\n".join(filter(None, (f"{head['job']} {name}", word, size, place, proof)))
        made.append(PartLabel(name, job, verdict, word, size, place, code))
    return made


def _size(lines: Sequence[Mapping[str, Any]], part: Mapping[str, Any], manner: Manner) -> str:
    """The part's main size; of a bore's places the smallest, since that is what a piston meets."""
    main = MAIN.get(part["is"])
    sizes = [
        line
        for line in lines
        if line["kind"] == "size"
        and line["part"] == part["part"]
        and main is not None
        and line["feature"] == main.name
    ]
    if not sizes:
        return ""
    return size_text(min(sizes, key=lambda line: Decimal(line["size_mm"])), manner)


def _places(lines: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """Where each part runs, with what it runs in or what runs in it."""
    places = {}
    for seat in next(line for line in lines if line["kind"] == "pairing")["seats"]:
        where = say("label_place", cylinder=seat["cylinder"], bank=seat["bank"] or "").strip()
        piston, barrel = seat["piston"], seat["barrel"]
        for one, other in ((piston, barrel), (barrel, piston)):
            if one:
                places[one] = say("label_with", where=where, other=other) if other else where
        if seat["pin"]:
            places[seat["pin"]] = where
    return places
