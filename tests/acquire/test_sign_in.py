"""Overrides of leads who signed in: only vouched for by a known board, for this shop, and once."""

import itertools
import json

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from barrelfit.acquire.bench.override_desk import OverrideDesk, fingerprint
from barrelfit.acquire.bench.proving import NONCE_NS
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.leads import Lead, leads_from
from barrelfit.acquire.inputs.sign_in import (
    Claims,
    SignIn,
    claims_problem,
    is_vouched,
    lead_of,
    sign_in_from,
    vouch,
)
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.override_events import Overridden, OverrideRefused
from barrelfit.rules.events import Judged
from barrelfit.rules.model import Finding, Severity, Verdict
from barrelfit.rules.said import written
from tests.spoken import problems_of, text_of

NOW_S = 1_795_000_000
BOARD = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
OTHER = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
BOARD_HEX = BOARD.public_key().public_bytes_raw().hex()
SHOP = SignIn("https://id.shop.example", "barrelfit-board", (BOARD_HEX,))
LEADS = {
    "R. Lead": Lead("R. Lead", subject="sub-1"),
    "M. Mail": Lead("M. Mail", email="M.Mail@shop.example"),
    "Kim": Lead("Kim", subject="sub-kim"),
}
UNDECIDED = Judged(
    "P1",
    Verdict.UNDECIDED,
    (Finding("L1", Severity.UNDECIDED, "P1", written("…"), 1),),
    written(""),
)


def claims(**other):
    return {
        "iss": SHOP.issuer,
        "sub": "sub-1",
        "aud": SHOP.audience,
        "iat": NOW_S - 60,
        "exp": NOW_S + 3_540,
        "email": "",
        "email_verified": False,
    } | other


@pytest.fixture
def desk():
    numbers = itertools.count()
    made = OverrideDesk("s1", LEADS, lambda: f"nonce-{next(numbers)}", SHOP)
    made.hear(1, SessionOpened("s1", "b1", "Kim", "j", "0", "x", "A", "", "", "", {}, 1.65))
    made.hear(7, UNDECIDED)
    return made


def take(desk, request, now_ns=0, utc_s=float(NOW_S)):
    return desk.take(json.dumps(request).encode(), now_ns, utc_s)


def announce(desk, told, now_ns=0):
    answer, event = take(desk, {"kind": "override_sign_in", "id": "c", "claims": told}, now_ns)
    assert (event is None) == answer["ok"]
    return answer


def request_of(desk, told, key=BOARD, **other):
    answer = announce(desk, told)
    request = {
        "kind": "override_vouched",
        "id": "r1",
        "session": "s1",
        "about": "P1",
        "judged": fingerprint(UNDECIDED),
        "verdict": "serviceable",
        "who": answer.get("who", "R. Lead"),
        "reason": "measured again by hand",
        "nonce": answer.get("nonce", "none"),
        "claims": told,
    } | other
    return vouch(key, request)


def test_a_lead_who_signed_in_overrides(desk):
    answer, event = take(desk, request_of(desk, claims()))
    assert answer == {"id": "r1", "ok": True}
    assert isinstance(event, Overridden)
    assert (event.who, event.verdict, event.was) == ("R. Lead", "serviceable", "undecided")


def test_a_verified_address_does_as_well_and_its_case_does_not_matter(desk):
    told = claims(sub="x", email="m.mail@SHOP.example", email_verified=True)
    _, event = take(desk, request_of(desk, told))
    assert event.who == "M. Mail"


@pytest.mark.parametrize(
    ("code", "told", "key", "other"),
    [
        ("audience", {"aud": "another-program"}, BOARD, {}),
        ("audience", {"aud": ["one", "two"]}, BOARD, {}),
        ("audience", {"iss": "https://elsewhere.example"}, BOARD, {}),
        ("expired", {"exp": NOW_S}, BOARD, {}),
        ("expired", {"iat": NOW_S + 3_600, "exp": NOW_S + 7_200}, BOARD, {}),
        ("board", {}, OTHER, {}),
        ("stale", {}, BOARD, {"nonce": "nonce-77"}),
        ("stale", {}, BOARD, {"session": "s0"}),
        ("no-right", {}, BOARD, {"who": "Mallory"}),
        ("stale", {}, BOARD, {"who": "M. Mail"}),
        ("own-bench", {"sub": "sub-kim"}, BOARD, {}),
        ("changed", {}, BOARD, {"judged": "0" * 64}),
        ("unknown", {}, BOARD, {"about": "P9"}),
        ("reason", {}, BOARD, {"reason": " "}),
    ],
)
def test_refused_and_journaled(desk, code, told, key, other):
    answer, event = take(desk, request_of(desk, claims(**told), key, **other))
    assert answer["ok"] is False
    assert answer["code"] == code
    assert isinstance(event, OverrideRefused)
    assert event.code == code


def test_who_is_no_lead_gets_no_nonce(desk):
    assert announce(desk, claims(sub="stranger"))["code"] == "no-right"
    unverified = claims(sub="x", email="m.mail@shop.example", email_verified=False)
    assert announce(desk, unverified)["code"] == "no-right"


def test_claims_of_another_lead_do_not_fit_a_nonce_got_with_ones_own(desk):
    mine = announce(desk, claims())
    request = request_of(desk, claims(sub="x", email="m.mail@shop.example", email_verified=True))
    forged = {k: v for k, v in request.items() if k not in {"board", "signature"}}
    forged |= {"nonce": mine["nonce"], "who": "R. Lead"}
    assert take(desk, vouch(BOARD, forged))[0]["code"] == "no-right"


def test_replayed_by_a_third_client_it_is_refused(desk):
    request = request_of(desk, claims())
    assert take(desk, request)[0]["ok"] is True
    desk.hear(12, UNDECIDED)
    answer, event = take(desk, request)
    assert (answer["code"], event.code) == ("stale", "stale")


def test_a_sign_in_is_good_for_a_minute_after_it_was_announced(desk):
    assert take(desk, request_of(desk, claims()), NONCE_NS)[0]["code"] == "stale"


@pytest.mark.parametrize("key", ["about", "verdict", "reason", "judged", "id", "claims", "board"])
def test_a_request_changed_on_its_way_is_refused(desk, key):
    request = request_of(desk, claims())
    changed = {
        "about": "P2",
        "verdict": "rework",
        "claims": claims(exp=NOW_S + 99_999),
        "board": OTHER.public_key().public_bytes_raw().hex(),
    }
    request[key] = changed.get(key, "other text")
    assert take(desk, request)[0]["code"] == "board"


@pytest.mark.parametrize("signature", ["", "zz", "00" * 64])
def test_a_bare_claim_of_a_third_client_is_refused(desk, signature):
    request = request_of(desk, claims()) | {"signature": signature}
    assert take(desk, request)[0]["code"] == "board"


def test_without_a_sign_in_table_nobody_signs_in():
    desk = OverrideDesk("s1", LEADS, lambda: "n")
    desk.hear(7, UNDECIDED)
    assert announce(desk, claims())["code"] == "no-right"
    desk._nonces.issue("R. Lead", 0)
    assert take(desk, request_of(desk, claims(), who="R. Lead", nonce="n"))[0]["code"] == "no-right"


def test_a_lead_without_a_passphrase_gets_no_challenge_and_proves_nothing(desk):
    request = {"kind": "override_challenge", "id": "c", "who": "R. Lead"}
    assert take(desk, request)[0]["code"] == "no-right"
    answer = announce(desk, claims())
    bare = {k: v for k, v in request_of(desk, claims()).items() if k not in {"board", "claims"}}
    bare |= {"kind": "override", "nonce": answer["nonce"], "proof": "00" * 32}
    assert take(desk, bare)[0]["code"] == "passphrase"


def test_a_signature_is_over_all_of_the_request():
    signed = vouch(BOARD, {"a": 1, "b": "ü"})
    assert is_vouched(json.loads(json.dumps(signed)), [BOARD_HEX])
    assert not is_vouched(signed | {"c": 2}, [BOARD_HEX])
    assert not is_vouched(signed, [])
    assert not is_vouched({"board": BOARD_HEX}, [BOARD_HEX])


def test_claims_at_their_edges():
    good = Claims(SHOP.issuer, "s", (SHOP.audience, "other"), exp=100, iat=40)
    assert [claims_problem(good, SHOP, t) for t in (-21, -20, 99.9, 100)] == [
        "expired", "", "", "expired",
    ]  # fmt: skip
    assert lead_of(Claims("i", "", "a", 1), {"x": Lead("x")}) is None  # empty is not equal


# ---------------------------------------------------------------- the leads' file


def file_of(*, table=True, lead='subject = "s"', issuer="https://id.example", key=BOARD_HEX):
    sign_in = f'[sign_in]\nissuer = "{issuer}"\naudience = "board"\nboards = ["{key}"]\n'
    return f'schema = 1\n{sign_in if table else ""}[[lead]]\nname = "R. Lead"\n{lead}\n'


def test_a_leads_file_with_a_sign_in():
    text = file_of(lead='email = "r@shop.example"')
    assert leads_from(text, "f")["R. Lead"].email == "r@shop.example"
    found, problems = sign_in_from(text, "f")
    assert problems == []
    assert found == SignIn("https://id.example", "board", (BOARD_HEX,))
    assert sign_in_from(file_of(table=False), "f") == (None, [])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (file_of(table=False), "subject and email need a [sign_in] table"),
        (file_of(lead=""), "needs salt and stored_key, or subject or email"),
        (file_of(lead='subject = "s"\nsalt = "00"'), "lead[1].salt: must be at least 16 bytes"),
        (file_of() + '[[lead]]\nname = "Other"\nsubject = "s"\n', "signs in as R. Lead does"),
    ],
)
def test_a_wrong_lead_is_one_clear_sentence(text, words):
    with pytest.raises(UserError) as caught:
        leads_from(text, "leads.toml")
    assert any(words in problem for problem in problems_of(caught.value))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (file_of(issuer="http://id.example"), "sign_in.issuer: must be an https:// address"),
        (file_of(key="12"), "public keys of 64 hex digits"),
        (file_of().replace('audience = "board"', 'audience = ""'), "sign_in.audience: is empty"),
        (
            file_of().replace("audience", "audiences"),
            "sign_in.audiences: unknown key; is 'audience' meant?",
        ),
    ],
)
def test_a_wrong_table_is_one_clear_sentence(text, words):
    found = sign_in_from(text, "leads.toml")[1]
    assert any(words in text_of(problem) for problem in found)
