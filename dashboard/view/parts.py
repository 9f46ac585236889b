"""What is known of a part, and what is told of it: worked out from a `Board`, pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.board.places import feature_words, place_words
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.words import say, say_or_raw, told_words
from barrelfit.rules.engine.catalogue import feature
from barrelfit.rules.engine.form import Key
from barrelfit.rules.engine.gate import codes_for
from barrelfit.rules.engine.parts import PartKind
from barrelfit.rules.engine.set_facts import LEAVES, PHOTOS, keys_for
from barrelfit.rules.manner import told
from barrelfit.rules.model import FeatureId
from barrelfit.rules.told import FactHeld

KINDS: dict[str, PartKind] = {"piston": "piston", "barrel": "barrel", "pin": "pin"}

_LETTERS = {"piston": "P", "barrel": "B", "pin": "W"}


@dataclass(frozen=True, slots=True)
class FactRow:
    """One fact as shown: what, its value, who told it in this session, and what stood before."""

    what: str
    value: str
    more: str


@dataclass(frozen=True, slots=True)
class PartView:
    """What is known of a part; `open_now` waits for an answer, `refused` was told last in vain."""

    part: str
    rows: tuple[FactRow, ...]
    open_now: tuple[str, ...]
    refused: str


def part_names(board: Board) -> tuple[str, ...]:
    """The parts of the set in its order; the engine as a whole is the empty name, and first."""
    return tuple(known.part for known in board.parts)


def part_in_hand(board: Board) -> str:
    """The part that is asked for now, else the engine."""
    part = board.place.part if board.place is not None else ""
    return part if part in part_names(board) else ""


def part_words(part: str) -> str:
    """A part as it is called; the engine has no name."""
    return part or say("the_engine")


def tellable(board: Board, part: str) -> tuple[Key, ...]:
    """What may be told of a part, the look first; of a piston with what is told of its rings."""
    kind = _kind(board, part)
    keys = keys_for(kind)
    if kind == "piston":
        keys += keys_for(kind, of_ring=True)
    return tuple(sorted(keys, key=lambda key: key.name != "looked"))


def choices(board: Board, part: str, key: Key) -> Sequence[str]:
    """What may be told of a part's key by the form or the sheet; none where it is free."""
    kind = _kind(board, part)
    if key.name == "looked" and kind is not None:
        return codes_for(kind)
    if key.name == "piston":
        return [known.part for known in board.parts if known.kind == "piston"]
    return key.choices or board.choices.get(key.name, ())


def free_name(board: Board, kind: str) -> str:
    """A name that no part of the set has yet: `P5`."""
    names = {known.part for known in board.parts}
    return next(f"{_LETTERS[kind]}{n}" for n in count(1) if f"{_LETTERS[kind]}{n}" not in names)


def others_of(board: Board, kind: str) -> list[str]:
    """Whose place another part of a kind may take; of a pin, which piston it may belong to, too."""
    wanted = {"piston", "pin"} if kind == "pin" else {kind}
    return [known.part for known in board.parts if known.kind in wanted]


def new_part(board: Board, kind: str, other: str) -> str:
    """How another part is told: its kind, and of which piston it is, or whose place it takes."""
    of = next((known.kind for known in board.parts if known.part == other), kind)
    joined = "replaces" if of == kind else "of"
    return f"{kind} {joined} {other}" if other else kind


def key_words(name: str) -> str:
    """A set file's key in words."""
    return say_or_raw(f"fact_{name}")


def value_words(at: FeatureId, value: str) -> str:
    """What is told of a fact, in words; of a photo the first digits of its hash."""
    if not value:
        return "–"  # noqa: RUF001  a dash
    if at.feature == PHOTOS:
        return say("photo_hash", digits=at.depth)
    return ", ".join(told_words(word) for word in value.split(", "))


def part_view(board: Board, part: str, shown: Shown) -> PartView:
    """Work out what the parts page shows of one part."""
    known = next((k.facts for k in board.parts if k.part == part), {})
    held = [stood.event for at, stood in board.state.facts_held.items() if at.part == part]
    refused = board.state.fact_refused
    mine = refused is not None and refused.event.at.part == part
    return PartView(
        part,
        tuple(_row(board, part, place, value) for place, value in known.items()),
        tuple(_held_words("fact_open", one, shown) for one in held),
        _held_words("fact_refused", refused.event, shown) if refused is not None and mine else "",
    )


def places_of(board: Board, part: str) -> list[FeatureId]:
    """What may be measured on a part: what the plan has, and its mass where there is a scale."""
    weighed = [fact.at for fact in board.facts_asked if fact.gauge]
    planned = [planned.at for planned in board.features]
    return [at for at in (*planned, *weighed) if at.part == part]


def measured_words(at: FeatureId) -> str:
    """What may be measured in words, without its part."""
    return key_words(at.feature) if feature(at.feature) is None else feature_words(at)


def serial_of(board: Board, part: str) -> str:
    """A part's serial number, empty where it has none."""
    return next((k.facts.get("serial", "") for k in board.parts if k.part == part), "")


def earlier_line(row: Mapping[str, object], shown: Shown) -> str:
    """A size of an earlier session, with its day and job: history, and never today's."""
    at = FeatureId(*(str(row[k]) for k in ("part", "feature", "depth", "direction")))
    size = shown.length(int(str(row["size_nm"])))
    day = str(row["utc"])[:10]
    return say("earlier_size", day=day, job=row["job"], what=place_words(at), size=size)


def fact_place(part: str, key: str, ring: str, leaf: Mapping[str, str]) -> FeatureId:
    """The place of a fact: of a ring's with its ring, of a feeler with its leaf.

    Args:
        part: the part, empty for the engine.
        key: the set file's key.
        ring: the ring, empty for what is no ring's.
        leaf: `thickness` in mm as told, and which ring lay `beside`.
    """
    if key != LEAVES:
        return FeatureId(part, key, ring)
    words = (leaf.get("thickness", "").strip().replace(",", "."), leaf.get("beside", ""))
    return FeatureId(part, key, ring, " ".join(word for word in words if word))


def _kind(board: Board, part: str) -> PartKind | None:
    return next((KINDS.get(known.kind) for known in board.parts if known.part == part), None)


def _row(board: Board, part: str, place: str, value: str) -> FactRow:
    key, _, rest = place.partition("/")
    ring, _, leaf = rest.partition("/")
    at = FeatureId(part, key, ring, leaf)
    here = [stood.event for stood in board.state.facts if stood.event.at == at]
    more = []
    if here:
        more.append(say("fact_by", who=here[-1].who))
        more += [say("fact_before", before=here[-1].before)] if here[-1].before else []
        more += [here[-1].why] if here[-1].why else []
    return FactRow(_place_words(at), value_words(at, value), " · ".join(more))


def _place_words(at: FeatureId) -> str:
    ring = f" {at.depth}" if at.depth and at.feature != PHOTOS else ""
    leaf = f" {at.direction}" if at.direction else ""
    return f"{key_words(at.feature)}{ring}{leaf}"


def _held_words(key: str, held: FactHeld, shown: Shown) -> str:
    return say(
        key,
        what=_place_words(held.at),
        value=held.value,
        who=held.who,
        question=told(held.sentence, shown).rstrip(".?"),
        advice=told(held.advice, shown),
    )
