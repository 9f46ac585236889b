"""The photos of a bench's parts, as a phone shows them: worked out from a `Board`, pure."""

from collections.abc import Iterator
from dataclasses import dataclass

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.view.parts import part_in_hand, part_names
from barrelfit.rules.engine.set_facts import PHOTO_FOLDER, PHOTOS


@dataclass(frozen=True, slots=True)
class PhotosView:
    """A bench's parts, the one that is looked at, and the names of its photos' files.

    `part` is empty while there is none.
    """

    bench: str
    parts: tuple[str, ...]
    part: str
    photos: tuple[str, ...]


def photos_view(board: Board, part: str) -> PhotosView:
    """The photos of a part; of the one that is asked for now, where no such part is."""
    parts = tuple(name for name in part_names(board) if name)
    known = part if part in parts else part_in_hand(board) or (parts[0] if parts else "")
    return PhotosView(board.bench, parts, known, tuple(_photos(board, known)))


def is_photo(board: Board, file: str) -> bool:
    """Whether a file of the photos' folder is a photo of this bench's set."""
    return any(file == one for part in part_names(board) for one in _photos(board, part))


def _photos(board: Board, part: str) -> Iterator[str]:
    """What the bench told of the part last, and what its record has told since."""
    facts = next((known.facts for known in board.parts if known.part == part), {})
    named = {place: value for place, value in facts.items() if place.startswith(f"{PHOTOS}/")}
    for stood in board.state.facts:
        at = stood.event.at
        if (at.part, at.feature) == (part, PHOTOS):
            named[f"{PHOTOS}/{at.depth}"] = stood.event.value
    for value in named.values():
        if value:
            yield value.removeprefix(f"{PHOTO_FOLDER}/")
