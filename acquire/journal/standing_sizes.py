"""Which sizes of a session stand: the last of each feature, unless an undo took it back."""

from operator import itemgetter

from barrelfit.acquire.journal.codec import Record
from barrelfit.rules.events import PedalPressed, Sized
from barrelfit.rules.model import FeatureId


class Standing:
    """Hears a session's records; says which sizes stand.

    What the rules found stands in the journal after what happened meanwhile. An undo takes back
    what they had found when they came to it: so in the order of the causes.
    """

    def __init__(self) -> None:
        self._worked: list[tuple[int, int, Sized | None]] = []

    def hear(self, record: Record) -> None:
        """Follow one record."""
        match record.event:
            case Sized() as event:
                self._worked.append((record.because or record.seq, record.seq, event))
            case PedalPressed(action="undo"):
                self._worked.append((record.seq, record.seq, None))
            case _:
                pass

    def sizes(self) -> dict[FeatureId, tuple[int, Sized]]:
        """The sizes that stand, each with its record's number."""
        stand: dict[FeatureId, tuple[int, Sized]] = {}
        history: list[FeatureId] = []
        for _, seq, sized in sorted(self._worked, key=itemgetter(0)):
            if sized is not None:
                stand[sized.at] = (seq, sized)
                history.append(sized.at)
            elif history:
                stand.pop(history.pop(), None)
        return stand
