"""Who is at the bench, proved by a personal code where they have one: pure.

A name without a code is a statement, and stands in the record as one. A name that has a code counts
for nothing without it: neither to sign on with, nor to tell, order or measure by while somebody
else is at the bench. What is proved is good until another person signs on, or the session ends.
"""

from collections.abc import Callable, Mapping
from typing import Final

import msgspec

from barrelfit.acquire.bench.proving import Nonces, WrongTries
from barrelfit.acquire.inputs.leads import Lead, challenge_of, is_proved
from barrelfit.acquire.inputs.people import known_by
from barrelfit.acquire.journal.events import Event, SessionResumed
from barrelfit.acquire.journal.job_events import SignedOn
from barrelfit.rules.said import Said, said

WRONG_OF_ALL: Final = 20
"""So many wrong codes within five minutes, whosever they are, and nobody's is looked at."""


class SignOnDesk:
    """One session's desk.

    Args:
        people: who has a code, by what their names are known by.
        new_nonce: makes an unguessable text, new each time.
    """

    def __init__(self, people: Mapping[str, Lead], new_nonce: Callable[[], str]) -> None:
        self._people = people
        self._nonces = Nonces(new_nonce)
        self._wrong = WrongTries(WRONG_OF_ALL)
        self._proven = ""

    def hear(self, event: Event) -> None:
        """Follow the session's records."""
        if isinstance(event, SignedOn):
            self._proven = known_by(event.who) if event.proven else ""
        elif isinstance(event, SessionResumed):
            self._proven = ""

    def challenge(self, who: str, now_ns: int) -> dict[str, str | int]:
        """What a code is to be proved with; nothing of it for a name that has none."""
        person = self._people.get(known_by(who))
        if person is None:
            return {}
        nonce = self._nonces.issue(known_by(who), now_ns)
        return {"nonce": nonce, "who": person.name, **challenge_of(person)}

    def signs_on(
        self, payload: bytes, named: tuple[str, str, str], device: str, now_ns: int
    ) -> SignedOn | Said:
        """Let somebody sign on; gives the record, or why not.

        Args:
            payload: the command as it came.
            named: who, the challenge's nonce, and the proof; the last two empty without a code.
            device: which screen it was said at.
            now_ns: monotonic time.
        """
        who, nonce, proof = named
        person = self._people.get(known_by(who))
        if person is None:
            return SignedOn(" ".join(who.split()), device)
        if not proof:
            return said("needs_its_code", who=person.name)
        if self._wrong.are_too_many(known_by(who), now_ns):
            return said("code_wait")
        if not self._nonces.spend(nonce, known_by(who), now_ns):
            return said("code_stale")
        if not is_proved(person, msgspec.json.decode(payload), proof):
            self._wrong.note(known_by(who), now_ns)
            return said("code_wrong")
        return SignedOn(person.name, device, proven=True)

    def problem(self, who: str, by: str = "") -> Said | None:
        """Why a name can't speak now; None where it can.

        Args:
            who: the name that was told with a command; empty: nobody's.
            by: by which means; a phone speaks for nobody who has a code.
        """
        person = self._people.get(known_by(who))
        if person is None or (known_by(who) == self._proven and by != "phone"):
            return None
        return said("needs_its_code", who=person.name)
