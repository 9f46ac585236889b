"""The daemon's desk for overrides: commands from the bus in, an answer and a journal event out.

Pure: time and nonces are arguments. A lead asks for a challenge (`override_challenge`), proves
the passphrase over the whole request with the challenge's nonce in it
(`acquire.inputs.leads`), and sends `override`. Anybody at the bench may ask for a lead's look
(`override_ask`).

What is refused, each with its code: a request that is not whole (`malformed`), somebody who is no
lead (`no-right`), the one who measured (`own-bench`: a bench can't override itself), a nonce that
is unknown, used or older than a minute (`stale`: a request replayed from the bus), a wrong proof
(`passphrase`), too many wrong proofs (`wait`), a verdict that has changed since it was shown
(`changed`), no such verdict (`unknown`), the same verdict (`same`), no reason given (`reason`).
A lead who has signed in through an identity provider is announced with `override_sign_in` and
signed for by the board with `override_vouched` (`acquire.inputs.sign_in`); refused besides: a
board that is not known or a request that it did not sign (`board`), a sign-in elsewhere or for
another program (`audience`), one that has run out (`expired`).
"""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

import msgspec

from barrelfit.acquire.bench.proving import Nonces, WrongTries
from barrelfit.acquire.bus.payloads import OBJECTS, RefusedError, decoded
from barrelfit.acquire.inputs.leads import Lead, challenge_of, is_proved
from barrelfit.acquire.inputs.sign_in import Claims, SignIn, claims_problem, is_vouched, lead_of
from barrelfit.acquire.journal.events import Event, SessionOpened
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked, OverrideRefused
from barrelfit.rules.events import Judged
from barrelfit.rules.judge.docket import verdict_said
from barrelfit.rules.said import Said, said

COMMAND_BYTES_MAX: Final = 4_096
REASON_LEAST: Final = 4
TEXT_MOST: Final = 400

OverrideEvent = OverrideAsked | Overridden | OverrideRefused
Answer = dict[str, str | int | bool | Said]

_PLAIN: Final = {
    "malformed": said("override_malformed"),
    "stale": said("override_stale"),
    "passphrase": said("override_passphrase"),
    "wait": said("override_wait"),
    "reason": said("override_reason"),
    "board": said("override_board"),
    "audience": said("override_audience"),
    "expired": said("override_expired"),
}


def _why(code: str, about: str, who: str, verdict: str = "") -> Said:
    """Why an override is turned down, by the code of it."""
    about, who = about[:TEXT_MOST], who[:TEXT_MOST]
    match code:
        case "no-right":
            return said("override_no_right", who=who)
        case "own-bench":
            return said("override_own_bench", who=who)
        case "changed":
            return said("override_changed", about=about)
        case "unknown":
            return said("override_unknown", about=about)
        case "same":
            return said("override_same", about=about, verdict=verdict_said(verdict))
        case _:
            return _PLAIN[code]


class _Challenge(msgspec.Struct, tag_field="kind", tag="override_challenge", frozen=True):
    id: str
    who: str
    about: str = ""


class _Wanted(msgspec.Struct, tag_field="kind", frozen=True):
    """Another verdict that a lead wants; how it is proved, each kind says."""

    id: str
    session: str
    about: str
    judged: str
    verdict: Literal["serviceable", "rework", "discard"]
    who: str
    reason: str
    nonce: str


class _Override(_Wanted, tag="override", frozen=True):
    proof: str


class _SignIn(msgspec.Struct, tag_field="kind", tag="override_sign_in", frozen=True):
    id: str
    claims: Claims
    about: str = ""


class _Vouched(_Wanted, tag="override_vouched", frozen=True):
    claims: Claims
    board: str
    signature: str


class _Ask(msgspec.Struct, tag_field="kind", tag="override_ask", frozen=True):
    id: str
    session: str
    about: str
    who: str
    reason: str


_Command = _Challenge | _SignIn | _Override | _Vouched | _Ask
_COMMANDS: Final = msgspec.json.Decoder(_Command)


@dataclass(slots=True)
class OverrideDesk:
    """One session's desk.

    Args:
        session: the session's id.
        leads: who may override, by name.
        new_nonce: makes an unguessable text, new each time.
        sign_in: whose word on who has signed in is taken, None for nobody's.
    """

    session: str
    leads: Mapping[str, Lead]
    new_nonce: Callable[[], str]
    sign_in: SignIn | None = None
    operator: str = ""
    _judged: dict[str, tuple[int, Judged]] = field(default_factory=dict)
    _nonces: Nonces = field(init=False)
    _wrong: WrongTries = field(default_factory=WrongTries)

    def __post_init__(self) -> None:
        """Begin with no nonce given out."""
        self._nonces = Nonces(self.new_nonce)

    def hear(self, seq: int, event: Event) -> None:
        """Follow the session's own records: who measures, and the verdicts as they stand."""
        if isinstance(event, Judged):
            self._judged[event.about] = (seq, event)
        elif isinstance(event, SessionOpened):
            self.operator = event.who

    def take(
        self, payload: bytes, now_ns: int, utc_s: float
    ) -> tuple[Answer, OverrideEvent | None]:
        """Take one command; gives the answer, and the event to be journaled before it is sent.

        A command of another kind is none of this desk's: it is answered as malformed, unjournaled.

        Args:
            payload: the command as it came.
            now_ns: monotonic time, for what may be a minute old.
            utc_s: wall time in seconds since 1970, for how long a sign-in is good.
        """
        try:
            command: _Command = decoded(payload, _COMMANDS, COMMAND_BYTES_MAX)
        except RefusedError:
            return _no(_id_of(payload), "malformed", _PLAIN["malformed"]), None
        match command:
            case _Challenge():
                return self._challenge(command, now_ns)
            case _SignIn():
                return self._announced(command, now_ns)
            case _Ask():
                return self._ask(command)
            case _Override() | _Vouched():
                code = self._right_problem(command, now_ns)
                code = code or self._proof_problem(command, payload, now_ns, utc_s)
                return self._override(command, code or self._verdict_problem(command))

    def _announced(self, command: _SignIn, now_ns: int) -> tuple[Answer, OverrideEvent | None]:
        """Who is meant by a sign-in's claims; they are proved with the override itself."""
        lead = lead_of(command.claims, self.leads) if self.sign_in else None
        if lead is None:
            who = command.claims.email or command.claims.sub
            return _no_right(command, who)
        nonce = self._nonces.issue(lead.name, now_ns)
        return {"id": command.id, "ok": True, "nonce": nonce, "who": lead.name}, None

    def _challenge(self, command: _Challenge, now_ns: int) -> tuple[Answer, OverrideEvent | None]:
        lead = self.leads.get(command.who)
        if lead is None or not lead.salt:
            return _no_right(command, command.who)
        nonce = self._nonces.issue(lead.name, now_ns)
        return {"id": command.id, "ok": True, "nonce": nonce, **challenge_of(lead)}, None

    def _ask(self, command: _Ask) -> tuple[Answer, OverrideEvent | None]:
        code = "stale" if command.session != self.session else self._text_problem(command.reason)
        if not code and command.about not in self._judged:
            code = "unknown"
        if code:
            return _no(command.id, code, _why(code, command.about, command.who)), None
        event = OverrideAsked(command.about, command.who[:TEXT_MOST], command.reason)
        return {"id": command.id, "ok": True}, event

    def _override(self, command: _Wanted, code: str) -> tuple[Answer, OverrideEvent | None]:
        """Refuse an override for what `code` says, or make it."""
        if code:
            sentence = _why(code, command.about, command.who, command.verdict)
            event = OverrideRefused(
                command.about[:TEXT_MOST], command.who[:TEXT_MOST], code, sentence,
                command.id[:TEXT_MOST],
            )  # fmt: skip
            return _no(command.id, code, sentence), event
        seq, judged = self._judged[command.about]
        made = Overridden(
            about=command.about,
            verdict=command.verdict,
            was=str(judged.verdict),
            judged_seq=seq,
            who=command.who,
            reason=command.reason,
            request=command.id,
        )
        return {"id": command.id, "ok": True}, made

    def _right_problem(self, command: _Wanted, now_ns: int) -> str:
        """Why this request has no right to anything; a nonce is used up whatever comes of it."""
        fresh = self._nonces.spend(command.nonce, command.who, now_ns)
        if command.who not in self.leads:
            return "no-right"
        if command.who == self.operator:
            return "own-bench"
        return "" if fresh and command.session == self.session else "stale"

    def _proof_problem(
        self, command: _Override | _Vouched, payload: bytes, now_ns: int, utc_s: float
    ) -> str:
        if isinstance(command, _Vouched):
            return self._sign_in_problem(command, payload, utc_s)
        if self._wrong.are_too_many(command.who, now_ns):
            return "wait"
        if is_proved(self.leads[command.who], msgspec.json.decode(payload), command.proof):
            return ""
        self._wrong.note(command.who, now_ns)
        return "passphrase"

    def _sign_in_problem(self, command: _Vouched, payload: bytes, utc_s: float) -> str:
        if self.sign_in is None:
            return "no-right"
        if not is_vouched(msgspec.json.decode(payload), self.sign_in.boards):
            return "board"
        if code := claims_problem(command.claims, self.sign_in, utc_s):
            return code
        lead = lead_of(command.claims, self.leads)
        return "" if lead is not None and lead.name == command.who else "no-right"

    def _verdict_problem(self, command: _Wanted) -> str:
        if command.about not in self._judged:
            return "unknown"
        _, judged = self._judged[command.about]
        if fingerprint(judged) != command.judged:
            return "changed"
        if judged.verdict == command.verdict:
            return "same"
        return self._text_problem(command.reason)

    @staticmethod
    def _text_problem(reason: str) -> str:
        return "" if REASON_LEAST <= len(reason.strip()) <= TEXT_MOST else "reason"


def fingerprint(judged: Judged) -> str:
    """A verdict's fingerprint.

    An override names what it overrides by this, so that it can't hit a verdict that nobody saw.
    """
    text = msgspec.json.encode(msgspec.to_builtins(judged), order="deterministic")
    return hashlib.sha256(text).hexdigest()


def _no_right(command: _Challenge | _SignIn, who: str) -> tuple[Answer, OverrideRefused]:
    """Whoever asks to override without being a lead is turned down at once, and it is kept."""
    sentence = _why("no-right", command.about, who)
    about, request = command.about[:TEXT_MOST], command.id[:TEXT_MOST]
    event = OverrideRefused(about, who[:TEXT_MOST], "no-right", sentence, request)
    return _no(command.id, "no-right", sentence), event


def _no(request: str, code: str, sentence: Said) -> Answer:
    return {"id": request, "ok": False, "code": code, "sentence": sentence}


def _id_of(payload: bytes) -> str:
    """The id of a command that could not be read whole, so that its sender hears of it."""
    try:
        found = decoded(payload, OBJECTS, COMMAND_BYTES_MAX).get("id", "")
    except RefusedError:
        return ""
    return found[:TEXT_MOST] if isinstance(found, str) else ""
