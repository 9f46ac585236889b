"""Overrides: only a lead, with the passphrase, once, and of the verdict that was shown."""

import base64
import hashlib
import hmac
import itertools
import json
import tomllib
from dataclasses import replace

import msgspec
import pytest
from argon2.low_level import Type, hash_secret_raw
from hypothesis import given, settings
from hypothesis import strategies as st

from barrelfit.acquire.bench.override_desk import OverrideDesk, fingerprint
from barrelfit.acquire.bench.proving import NONCE_NS, WRONG_MAX, WRONG_NS
from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.leads import (
    HashCosts,
    Lead,
    enrol,
    entry_text,
    is_proved,
    leads_from,
    prove,
)
from barrelfit.acquire.journal.events import SessionOpened
from barrelfit.acquire.journal.override_events import Overridden, OverrideAsked, OverrideRefused
from barrelfit.rules.events import Judged
from barrelfit.rules.model import Finding, Severity, Verdict
from barrelfit.rules.said import written
from tests.spoken import problems_of

QUICK = HashCosts(time_cost=1, memory_kib=8_192, lanes=1)
SALT = bytes(range(16))
WORDS = "seven grey pistons"
LEAD = enrol("R. Lead", WORDS, SALT, QUICK)
KIM = enrol("Kim", WORDS, SALT, QUICK)  # a lead who measures at this bench
SECOND = 1_000_000_000
UTC_S = 1_800_000_000.0
UNDECIDED = Judged(
    "P1",
    Verdict.UNDECIDED,
    (Finding("L1", Severity.UNDECIDED, "P1", written("…"), 1),),
    written(""),
)


def opened(who="Kim"):
    return SessionOpened("s1", "b1", who, "job", "0", "x", "A", "", "", "", {}, 1.65)


@pytest.fixture
def desk():
    numbers = itertools.count()
    made = OverrideDesk("s1", {"R. Lead": LEAD, "Kim": KIM}, lambda: f"nonce-{next(numbers)}")
    made.hear(1, opened())
    made.hear(7, UNDECIDED)
    return made


def ask_challenge(desk, who="R. Lead", now_ns=0):
    answer, event = desk.take(
        json.dumps({"kind": "override_challenge", "id": "c", "who": who}).encode(), now_ns, UTC_S
    )
    assert (event is None) == answer["ok"]
    return answer


def request_of(challenge, words=WORDS, **other):
    request = {
        "kind": "override",
        "id": "r1",
        "session": "s1",
        "about": "P1",
        "judged": fingerprint(UNDECIDED),
        "verdict": "serviceable",
        "who": "R. Lead",
        "reason": "measured again by hand",
        "nonce": challenge.get("nonce", ""),
    } | other
    return request | {"proof": prove(words, SALT, QUICK, request)}


def send(desk, request, now_ns=0):
    return desk.take(json.dumps(request).encode(), now_ns, UTC_S)


def test_a_lead_with_the_passphrase_overrides_and_the_verdict_stays_named(desk):
    answer, event = send(desk, request_of(ask_challenge(desk)))
    assert answer == {"id": "r1", "ok": True}
    assert event == Overridden(
        about="P1",
        verdict="serviceable",
        was="undecided",
        judged_seq=7,
        who="R. Lead",
        reason="measured again by hand",
        request="r1",
    )


@pytest.mark.parametrize(
    ("code", "change"),
    [
        ("passphrase", {"words": "seven gray pistons"}),
        ("own-bench", {"who": "Kim"}),
        ("no-right", {"who": "Mallory"}),
        ("unknown", {"about": "P9"}),
        ("changed", {"judged": fingerprint(Judged("P1", Verdict.UNDECIDED, (), written("")))}),
        ("stale", {"session": "s0"}),
        ("stale", {"nonce": "nonce-77"}),
        ("reason", {"reason": "  "}),
    ],
)
def test_refused_and_journaled(desk, code, change):
    answer, event = send(desk, request_of(ask_challenge(desk), **change))
    assert answer["ok"] is False
    assert answer["code"] == code
    assert isinstance(event, OverrideRefused)
    assert event.code == code
    assert event.sentence


def test_the_same_verdict_is_no_override(desk):
    fine = Judged("P1", Verdict.SERVICEABLE, (), written(""))
    desk.hear(9, fine)
    answer, _ = send(desk, request_of(ask_challenge(desk), judged=fingerprint(fine)))
    assert answer["code"] == "same"


def test_replayed_by_a_third_client_it_is_refused(desk):
    request = request_of(ask_challenge(desk))
    assert send(desk, request)[0]["ok"] is True
    desk.hear(12, Judged("P1", Verdict.UNDECIDED, (), written("")))
    answer, event = send(desk, request)
    assert answer["code"] == "stale"
    assert isinstance(event, OverrideRefused)


@pytest.mark.parametrize("key", ["about", "verdict", "reason", "judged", "id"])
def test_a_request_changed_on_its_way_is_refused(desk, key):
    request = request_of(ask_challenge(desk))
    request[key] = {"about": "P2", "verdict": "rework"}.get(key, "other text")
    assert send(desk, request)[0]["code"] == "passphrase"


def test_a_verdict_that_changed_while_the_lead_was_typing(desk):
    challenge = ask_challenge(desk)
    desk.hear(9, Judged("P1", Verdict.REWORK, (), written("")))
    assert send(desk, request_of(challenge))[0]["code"] == "changed"


def test_a_nonce_is_good_for_a_minute_and_for_one_lead(desk):
    assert send(desk, request_of(ask_challenge(desk)), NONCE_NS)[0]["code"] == "stale"
    mine = ask_challenge(desk, "Kim", NONCE_NS)
    assert send(desk, request_of(mine), NONCE_NS + 1)[0]["code"] == "stale"


def test_a_wrong_passphrase_uses_the_nonce_up(desk):
    challenge = ask_challenge(desk)
    assert send(desk, request_of(challenge, words="wrong words"))[0]["code"] == "passphrase"
    assert send(desk, request_of(challenge))[0]["code"] == "stale"


def test_guessing_is_slowed_down(desk):
    for _ in range(WRONG_MAX):
        wrong = request_of(ask_challenge(desk), words="wrong words")
        assert send(desk, wrong)[0]["code"] == "passphrase"
    assert send(desk, request_of(ask_challenge(desk)))[0]["code"] == "wait"
    later = WRONG_NS + SECOND
    assert send(desk, request_of(ask_challenge(desk, now_ns=later)), later)[0]["ok"] is True


def test_anybody_may_ask_for_a_look(desk):
    request = {
        "kind": "override_ask", "id": "a", "session": "s1", "about": "P1", "who": "Kim",
        "reason": "the customer wants it kept",
    }  # fmt: skip
    answer, event = send(desk, request)
    assert answer == {"id": "a", "ok": True}
    assert event == OverrideAsked("P1", "Kim", "the customer wants it kept")
    assert send(desk, request | {"about": "P9"})[0]["code"] == "unknown"
    assert send(desk, request | {"session": "s0"})[0]["code"] == "stale"


def test_a_fingerprint_is_the_same_on_both_sides_of_the_bus():
    copy = msgspec.json.decode(msgspec.json.encode(UNDECIDED), type=Judged)
    assert fingerprint(copy) == fingerprint(UNDECIDED)
    assert fingerprint(replace(copy, todo="x")) != fingerprint(UNDECIDED)


def test_a_stranger_gets_no_challenge(desk):
    assert ask_challenge(desk, "Mallory")["code"] == "no-right"
    request = {"kind": "override_challenge", "id": "c", "who": "Mallory", "about": "P1"}
    _, event = send(desk, request)  # and it is journaled
    assert (event.about, event.who, event.code) == ("P1", "Mallory", "no-right")


@settings(deadline=None)  # a busy machine is no failure
@given(st.binary(max_size=200))
def test_no_bytes_hurt_the_desk(payload):
    desk = OverrideDesk("s1", {}, lambda: "n")
    answer, event = desk.take(payload, 0, UTC_S)
    assert answer["ok"] is False
    assert event is None


def test_a_whole_command_with_a_wrong_field_is_answered_by_its_id(desk):
    answer, event = desk.take(b'{"kind":"override","id":"r7","verdict":"splendid"}', 0, UTC_S)
    assert (answer["id"], answer["code"], event) == ("r7", "malformed", None)
    assert desk.take(b" " * 5_000, 0, UTC_S)[0]["code"] == "malformed"


# ---------------------------------------------------------------- proofs


def test_proof_formula_against_the_published_exchange():
    # RFC 7677 section 3 (SCRAM-SHA-256, user "user", password "pencil"): the formula of the
    # proof with its own hash in place of ours, so only the XOR and HMAC steps are checked.
    salted = hashlib.pbkdf2_hmac(
        "sha256", b"pencil", base64.b64decode("W22ZaJ0SNY7soEsUEjb6gQ=="), 4096
    )
    client_key = hmac.digest(salted, b"Client Key", "sha256")
    auth = (
        b"n=user,r=rOprNGfwEbeRWgbNEkqO,"
        b"r=rOprNGfwEbeRWgbNEkqO%hvYDpWUa2RaTCAfuxFIlj)hNlF$k0,s=W22ZaJ0SNY7soEsUEjb6gQ==,i=4096,"
        b"c=biws,r=rOprNGfwEbeRWgbNEkqO%hvYDpWUa2RaTCAfuxFIlj)hNlF$k0"
    )
    stored = hashlib.sha256(client_key).digest()
    proof = bytes(
        a ^ b for a, b in zip(client_key, hmac.digest(stored, auth, "sha256"), strict=True)
    )
    assert base64.b64encode(proof) == b"dHzbZapWIk4jUhN+Ute9ytag9zjfMHgsqmmiz7AndVQ="


def test_argon2id_against_the_published_vector():
    # RFC 9106 section 5.3 uses a secret and associated data that this binding does not take; the
    # reference implementation's own vector (test.c, version 0x13, from memory): t=2, m=65536,
    # p=1, "password", "somesalt".
    made = hash_secret_raw(
        b"password", b"somesalt", time_cost=2, memory_cost=65_536, parallelism=1, hash_len=32,
        type=Type.ID,
    )  # fmt: skip
    assert made.hex() == "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7"


def test_the_stored_key_is_no_passphrase():
    request = {"id": "1", "nonce": "n"}
    assert is_proved(LEAD, request, prove(WORDS, SALT, QUICK, request))
    forged = hmac.digest(bytes.fromhex(LEAD.stored_key), b"Client Key", "sha256").hex()
    assert not is_proved(LEAD, request, forged)
    assert not is_proved(LEAD, request, LEAD.stored_key)
    assert not is_proved(LEAD, request, "not hex")


@settings(deadline=None)  # a busy machine is no failure
@given(st.text(max_size=40))
def test_only_the_passphrase_proves(other):
    request = {"id": "1", "nonce": "n"}
    if other != WORDS:
        assert not is_proved(LEAD, request, hashlib.sha256(other.encode()).hexdigest())


def test_a_passphrase_typed_on_another_keyboard_is_the_same():
    # Unicode NFKC: a composed and a decomposed letter are one.
    one = enrol("A", "caf\u00e9 \u00fcber", SALT, QUICK)
    assert one.stored_key == enrol("A", "cafe\u0301 u\u0308ber", SALT, QUICK).stored_key


# ---------------------------------------------------------------- the file


def test_an_entry_is_read_back():
    assert leads_from("schema = 1\n" + entry_text(LEAD), "leads.toml") == {"R. Lead": LEAD}
    assert tomllib.loads(entry_text(LEAD))["lead"][0]["name"] == "R. Lead"


def test_every_problem_of_a_file_at_once():
    text = """
    schema = 2
    extra = 1
    [[lead]]
    name = "A"
    salt = "00"
    stored_key = "zz"
    time_cost = 99
    colour = "blue"
    [[lead]]
    name = "B"
    """
    with pytest.raises(UserError) as caught:
        leads_from(text, "leads.toml")
    problems = "\n".join(problems_of(caught.value))
    for part in ("extra", "schema", "salt", "stored_key", "time_cost", "colour", "lead[2]"):
        assert part in problems
    assert len(problems_of(caught.value)) == 7


@pytest.mark.parametrize(("name", "words"), [("", WORDS), ('a"b', WORDS), ("A", "short")])
def test_what_can_not_be_enrolled(name, words):
    with pytest.raises(UserError):
        enrol(name, words, SALT, QUICK)


def test_costs_of_a_new_lead_are_the_recommended_ones():
    # RFC 9106 section 4, second recommended option: t=3, p=4 lanes, m=64 MiB.
    assert (Lead("A", "", "").time_cost, Lead("A", "", "").memory_kib, Lead("A", "", "").lanes) == (
        3, 65_536, 4,
    )  # fmt: skip
