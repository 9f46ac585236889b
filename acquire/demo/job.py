"""The job that the demonstration plays: what is known of its invented set, and what is answered.

Most of the set was told before, so that a viewer soon sees the first size; what is left shows each
step of the way once: a part that fails by eye, a stamp that contradicts, one that is replaced from
the shelf and goes the whole way from the look to its rings.
"""

from collections.abc import Iterator
from typing import Final

from barrelfit.rules.engine.parts import STEPS

LOST: Final = "P3"
NEW: Final = "P5"
NEW_PIN: Final = "W5"
MISREAD: Final = (NEW, "group_stamp")
ABSENT: Final = ("clearance", "weight-class", "direction", "pin-class")
LEAVES: Final = {"top": ("0.12", "0.04"), "second": ("0.1", "0.03"), "oil": ("0.08", "0.025")}
"""Of each ring the leaf that must stay out, and the one that must go in."""
PRESSED: Final = {
    "looked": "next",  # good
    "cleaned": "next",
    "height_marked": "next",
    "play": "next",  # none
}
"""What the pedal says to what is asked; a leaf's is by its thickness."""
TOLD: Final = {
    "size_stamp": ("84.94", "mm"),
    "group_stamp": ("II", ""),
    "crown": ("flat", ""),
    "number": ("5", ""),
    "class": ("white", ""),
}
LAID: Final = {"mass_g": 512.4}
"""What is laid on the scale, in g: what a piston weighs."""
SWEPT: Final = ("skirt", "bore")
TYPED: Final = {"gap": "0.42", "gap-bore": "85.021", "diameter": "22.998"}


def set_text(job: str) -> str:
    """The set file of the job."""
    return "\n".join(_lines(job)) + "\n"


def _lines(job: str) -> Iterator[str]:
    yield from ("schema = 1", 'unit = "mm"', f'job = "{job}"', 'variant = "early"', 'group = "II"')
    steps = ", ".join(f'"{step}"' for step in STEPS)
    yield from ('head_seal = "spigot"', f"steps = [{steps}]")
    for number in range(1, 5):
        yield from _piston(f"P{number}", number)
    for number in range(1, 5):
        yield from ("[[barrel]]", f'id = "B{number}"', f'piston = "P{number}"')
        yield from ('kind = "iron-liner"', 'seal = "spigot"', 'looked = ["good"]')
        yield from ('absent = ["size", "group"]', 'cleaned = "done"', 'height_group = "1"')
    for number in range(1, 5):
        yield from ("[[pin]]", f'id = "W{number}"', f'piston = "P{number}"')
        yield from ('class = "white"', 'looked = ["good"]', 'play = "none"')


def _piston(name: str, number: int) -> Iterator[str]:
    yield from ("[[piston]]", f'id = "{name}"', "size_stamp = 84.94", 'group_stamp = "II"')
    yield 'crown = "flat"'
    yield from (f'number = "{number}"', 'cleaned = "done"', 'height_marked = "done"')
    absent = ", ".join(f'"{mark}"' for mark in ABSENT)
    yield from (f"absent = [{absent}]", f"mass_g = {511 + number * 0.5}")
    if name != LOST:
        yield 'looked = ["good"]'
    for ring, (stays_out, goes_in) in LEAVES.items():
        yield from ("[[piston.ring]]", f'id = "{ring}"', 'gap_depth = "top"')
        for leaf, word in ((stays_out, "false"), (goes_in, "true")):
            tried = ", ".join([word] * 4)
            yield f'[[piston.ring.feeler]]\nleaf = {leaf}\nwent_in = [{tried}]\nbeside = "new"'
