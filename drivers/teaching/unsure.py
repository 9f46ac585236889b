"""What a proposal can't be sure of, each in a sentence with the reading that would settle it."""

from collections.abc import Iterator, Sequence

from barrelfit.drivers.teaching.forms import Parts
from barrelfit.drivers.teaching.places import Place
from barrelfit.drivers.teaching.samples import Shown


def doubts(
    place: Place, parts: Sequence[Parts], texts: Sequence[str], shown: Sequence[Shown], kind: str
) -> Iterator[str]:
    """The sentences; what they speak of is no reading until it is taught."""
    if not any(one.minus and one.count for one in shown):
        yield "none below zero was seen, so none is read: send one with the spindle below zero"
    elif not any(not one.minus and one.count for one in shown):
        yield "none above zero was seen, so none is read: send one with the spindle above zero"
    most = max(shown, key=lambda one: one.count)
    yield f"larger readings than {most.value.lstrip('-')} may need digits not seen: send one larger"
    if len({one.unit for one in shown}) == 1:
        other = "inch" if shown[0].unit == "mm" else "mm"
        yield f"{other} was not seen: a gauge that doesn't send its unit must stay as it was taught"
    if kind == "fixed":
        yield "no character ends a frame: only silence, or its first byte, tells where one begins"
    free = len({len(text) for text in texts}) > 1 or not parts[0].zone
    if free and not place.view.order and not any(p.before for p in parts):
        yield "nothing stands before the digits: a first character that is lost may not be seen"
