"""Which piston runs in which barrel, as shown on the set page and at the end of a bench's set."""

from dataclasses import dataclass

from barrelfit.dashboard.board.model import Event
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.view.sentences import in_words

NONE = "\N{EN DASH}"  # a part that is still to be found


@dataclass(frozen=True, slots=True)
class Pairing:
    """Which piston runs in which barrel: rows of cylinder, bank, piston, barrel and clearance."""

    outcome: str
    rows: tuple[tuple[str, str, str, str, str], ...]
    spread: str
    sentences: tuple[str, ...]


def pairing_view(data: Event, shown: Shown) -> Pairing:
    """The rules' pairing as shown."""
    rows = []
    for pair in data.get("pairs") or ():
        tight, loose = pair.get("tight_nm"), pair.get("loose_nm")
        known = isinstance(tight, int) and isinstance(loose, int)
        clearance = f"{shown.number(tight)} … {shown.length(loose)}" if known else ""
        cylinder, bank = str(pair.get("cylinder", "")), str(pair.get("bank", "") or "")
        rows.append(
            (cylinder, bank, str(pair["piston"] or NONE), str(pair["barrel"] or NONE), clearance)
        )
    spread = data.get("spread_nm")
    return Pairing(
        str(data.get("outcome", "")),
        tuple(rows),
        shown.small(spread) if isinstance(spread, int) else "",
        tuple(in_words(str(sentence), shown) for sentence in data.get("sentences") or ()),
    )
