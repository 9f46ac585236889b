"""An engine's parts as they came in: marks, what the eye saw, and facts that are no length."""

from dataclasses import dataclass, field
from typing import Final, Literal

from barrelfit.rules.said import Said, said

PartKind = Literal["piston", "barrel", "pin"]
KIND_SAID: Final[dict[str, Said]] = {
    "piston": said("a_piston"),
    "barrel": said("a_barrel"),
    "pin": said("a_pin"),
}
Beside = Literal["", "new", "used"]
BESIDES: tuple[Beside, ...] = ("", "new", "used")

# What a job may leave out; whatever is left out is named in every verdict and report.
LEAVABLE = ("looked-at", "rings", "pins", "mass", "height-groups", "head-seal")
STEPS = ("look", "identify", "clean", "mark", "rings", "pins", "mass", "heights")
"""The steps in which the plan asks for facts, as the trade works; for sizes it always asks."""


@dataclass(frozen=True, slots=True)
class Marks:
    """What is stamped on a part, lengths in nm.

    `direction` is the mark of how the piston stands in the engine, in words; `unreadable` names
    marks that can't be read, `absent` those that the part does not have.
    """

    size_nm: int | None = None
    group: str = ""
    clearance_min_nm: int | None = None
    pin_class: str = ""
    weight_class: str = ""
    direction: str = ""
    unreadable: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Feeler:
    """One leaf of a feeler tried in a ring's groove: thickness in nm, and whether it went in.

    One answer a place, in the order in which the places were tried. `beside` is the ring that lay
    in the groove: what a used one leaves open says nothing of the groove alone. "": nobody says,
    and a new one was asked for.
    """

    ring: str
    leaf_nm: int
    went_in: tuple[bool, ...]
    beside: Beside = ""


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of a part: the file's name and its SHA-256."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Part:
    """One part.

    `looked` holds the reason codes of the look before cleaning (see `rules.engine.gate`), None when
    nobody has looked yet. `mate` is the id of the part it came with: a barrel's piston, a pin's
    piston. `play` is a pin's play in its piston by feel: `none`, `perceptible`, or "" (not tried).
    `gap_depths` are the depths of a piston's own barrel at which its rings' closed gaps were
    measured, by ring, where a depth stands for the measured bore. `position` is the cylinder it
    came from, `replaces` the part whose place it is to take; such a one is a spare, too. `crown` is
    the form of a piston's crown, `number` what stands inside of it. `cleaned` and `height_marked`
    are `done` once somebody has said so.
    """

    id: str
    kind: PartKind
    serial: str = ""
    spare: bool = False
    looked: tuple[str, ...] | None = None
    marks: Marks = field(default=Marks())
    mass_mg: int | None = None
    barrel_kind: str = ""
    seal: str = ""
    height_group: str = ""
    mate: str = ""
    play: str = ""
    feelers: tuple[Feeler, ...] = ()
    gap_depths: tuple[tuple[str, str], ...] = ()
    photos: tuple[Photo, ...] = ()
    position: int | None = None
    replaces: str = ""
    crown: str = ""
    number: str = ""
    cleaned: str = ""
    height_marked: str = ""


@dataclass(frozen=True, slots=True)
class Override:
    """A limit or size set by hand and signed; a legible stamp still comes before it.

    `quantity` is a name of `rules.engine.limits.QUANTITIES`; `part` is empty when it holds for all.
    """

    quantity: str
    value_nm: int
    signed_by: str
    why: str
    part: str = ""


@dataclass(frozen=True, slots=True)
class EngineSet:
    """The parts of one engine and what the engine is said to be.

    `steps` are those of `STEPS` in which the plan asks for facts.
    """

    job: str
    variant: str
    group: str = ""
    oversize_nm: int = 0
    head_seal: str = ""
    parts: tuple[Part, ...] = ()
    overrides: tuple[Override, ...] = ()
    left_out: tuple[str, ...] = ()
    measured_by: str = ""
    steps: tuple[str, ...] = ()

    def part(self, part_id: str) -> Part:
        """Find a part by its id; raises KeyError when the set has none of that id."""
        for part in self.parts:
            if part.id == part_id:
                return part
        raise KeyError(part_id)

    def of_kind(self, kind: PartKind) -> tuple[Part, ...]:
        """All parts of one kind, in the set's order."""
        return tuple(p for p in self.parts if p.kind == kind)

    def asks(self, topic: str) -> bool:
        """Whether the job asks for a topic of `LEAVABLE`."""
        return topic not in self.left_out

    def pin_of(self, piston_id: str) -> Part | None:
        """The pin that belongs to a piston, None when the set has none."""
        pins = self.of_kind("pin")
        return next((p for p in pins if p.mate == piston_id and not self.is_replaced(p)), None)

    def is_replaced(self, pin: Part) -> bool:
        """Whether another pin has taken a pin's place."""
        return pin.kind == "pin" and pin.id in {p.replaces for p in self.of_kind("pin")}

    def home_of(self, piston_id: str) -> Part | None:
        """The barrel a piston came with: as the set says, else the one of its place in the set."""
        return next((b for b in self.of_kind("barrel") if self.home(b) == piston_id), None)

    def home(self, barrel: Part) -> str:
        """The piston a barrel came with: as the set says, else the one of its place in the set."""
        if barrel.mate:
            return barrel.mate
        place = self.of_kind("barrel").index(barrel)
        pistons = self.of_kind("piston")
        named = {b.mate for b in self.of_kind("barrel")}
        if place >= len(pistons) or pistons[place].id in named:
            return ""
        return pistons[place].id
