"""Which piston runs in which barrel, as shown on the set page and at the end of a bench's set."""

from dataclasses import dataclass

from barrelfit.dashboard.shown import Shown
from barrelfit.rules.events import Matched, MatchedPair
from barrelfit.rules.manner import told_all

NONE = "\N{EN DASH}"  # a part that is still to be found


@dataclass(frozen=True, slots=True)
class PairingView:
    """Which piston runs in which barrel: rows of cylinder, bank, piston, barrel and clearance."""

    outcome: str
    rows: tuple[tuple[str, str, str, str, str], ...]
    spread: str
    sentences: tuple[str, ...]


def pairing_view(matched: Matched, shown: Shown) -> PairingView:
    """The rules' pairing as shown."""
    spread = matched.spread_nm
    return PairingView(
        matched.outcome,
        tuple(_row(pair, shown) for pair in matched.pairs),
        shown.small(spread) if spread is not None else "",
        told_all(matched.sentences, shown),
    )


def _row(pair: MatchedPair, shown: Shown) -> tuple[str, str, str, str, str]:
    clearance = ""
    if pair.tight_nm is not None and pair.loose_nm is not None:
        clearance = f"{shown.number(pair.tight_nm)} … {shown.length(pair.loose_nm)}"
    return str(pair.cylinder), pair.bank, pair.piston or NONE, pair.barrel or NONE, clearance
