"""Sends a lead's override or a sign-on: the passphrase stays here, a proof goes over the bus."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final
from urllib.parse import urlsplit

from barrelfit.acquire.bench.override_desk import fingerprint
from barrelfit.acquire.bus.payloads import Answer
from barrelfit.acquire.inputs.leads import HashCosts, prove
from barrelfit.acquire.inputs.sign_in import vouch
from barrelfit.dashboard.board.provider import Provider
from barrelfit.dashboard.pages.entry import sign_on_command
from barrelfit.dashboard.words import say
from barrelfit.rules.events import Judged
from barrelfit.rules.manner import told

LOOPBACKS: Final = {"127.0.0.1", "::1", "localhost"}
Ask = Callable[[Mapping[str, Any]], Answer | None]


@dataclass(frozen=True, slots=True)
class Wish:
    """What a lead wants: another verdict on `about`, whose present one is `judged`."""

    session: str
    about: str
    judged: Judged
    verdict: str
    who: str
    reason: str


@dataclass(frozen=True, slots=True)
class Reply:
    """How it went, in one sentence."""

    ok: bool
    sentence: str


def is_private(origin: str) -> bool:
    """Whether nobody else reads what is typed on a page: over TLS, or on this very machine.

    Args:
        origin: where the browser says that the page is from; a client without it is no browser.

    >>> is_private("https://board.example"), is_private("http://127.0.0.1:8501"), is_private("")
    (True, True, True)
    >>> is_private("http://192.0.2.7:8501"), is_private("null")
    (False, False)
    """
    came = urlsplit(origin)
    return not origin or came.scheme == "https" or came.hostname in LOOPBACKS


def override(wish: Wish, passphrase: str, request: str, ask: Ask) -> Reply:
    """Ask for a challenge, prove the passphrase over the whole request, and send it.

    Args:
        wish: what is wanted.
        passphrase: as typed; it is not sent.
        request: a new id.
        ask: sends a command to the bench and gives its answer, None when none came.
    """
    wanted = {"kind": "override_challenge", "id": request + "-c", "who": wish.who}
    challenge = ask(wanted | {"about": wish.about})
    if challenge is None or not challenge.ok:
        return _reply(challenge)
    costs = HashCosts(challenge.time_cost, challenge.memory_kib, challenge.lanes)
    command = _wanted("override", wish, request, challenge.nonce)
    proof = prove(passphrase, bytes.fromhex(challenge.salt), costs, command)
    return _reply(ask(command | {"proof": proof}))


def override_signed_in(
    wish: Wish, claims: Mapping[str, Any], provider: Provider, request: str, ask: Ask
) -> Reply:
    """Send an override of a lead who has signed in: the board vouches for the whole request.

    Args:
        wish: what is wanted; who wants it the bench tells from the claims.
        claims: of the ID token, checked when the lead signed in.
        provider: where, with the board's key.
        request: a new id.
        ask: sends a command to the bench and gives its answer, None when none came.
    """
    announced = {"kind": "override_sign_in", "id": request + "-c", "claims": claims}
    challenge = ask(announced | {"about": wish.about})
    if challenge is None or not challenge.ok:
        return _reply(challenge)
    known = replace(wish, who=challenge.who)
    command = _wanted("override_vouched", known, request, challenge.nonce)
    return _reply(ask(vouch(provider.key, command | {"claims": claims})))


def ask_lead(wish: Wish, request: str, ask: Ask) -> Reply:
    """Ask for a lead's look at a verdict; anybody may."""
    command = {
        "kind": "override_ask",
        "id": request,
        "session": wish.session,
        "about": wish.about,
        "who": wish.who,
        "reason": wish.reason,
    }
    return _reply(ask(command))


def sign_on(who: str, code: str, request: str, ask: Ask) -> Reply:
    """Sign on; a code is proved over the whole request and never sent.

    Args:
        who: the name.
        code: as typed, empty for none.
        request: a new id.
        ask: sends a command to the bench and gives its answer, None when none came.
    """
    command = sign_on_command(request, who)
    if not code:
        return _reply(ask(command))
    challenge = ask({"kind": "sign_on_challenge", "id": f"{request}-c", "who": who})
    if challenge is None or not challenge.ok:
        return _reply(challenge)
    if not challenge.nonce:  # a name that has no code
        return _reply(ask(command))
    costs = HashCosts(challenge.time_cost, challenge.memory_kib, challenge.lanes)
    whole = {**command, "nonce": challenge.nonce}
    proof = prove(code, bytes.fromhex(challenge.salt), costs, whole)
    return _reply(ask({**whole, "proof": proof}))


def send(command: Mapping[str, Any], ask: Ask) -> Reply:
    """Send any other command and put its answer into words."""
    return _reply(ask(command))


def _wanted(kind: str, wish: Wish, request: str, nonce: str) -> dict[str, Any]:
    """A command for another verdict, still to be proved."""
    return {
        "kind": kind,
        "id": request,
        "session": wish.session,
        "about": wish.about,
        "judged": fingerprint(wish.judged),
        "verdict": wish.verdict,
        "who": wish.who,
        "reason": wish.reason,
        "nonce": nonce,
    }


def _reply(answer: Answer | None) -> Reply:
    if answer is None:
        return Reply(ok=False, sentence=say("no_answer"))
    if answer.ok:
        return Reply(ok=True, sentence=say("accepted"))
    return Reply(ok=False, sentence=say("turned_down", why=told(answer.sentence)))
