"""Pairing a phone: once, in time, with the right code, and with few tries."""

import pytest

from barrelfit.dashboard.board.phones import OFFER_NS, PHONES_MOST, Phones

CODE, COOKIE = "code-of-many-bits", "cookie-of-many-bits"
SECOND = 1_000_000_000


@pytest.fixture
def phones():
    made = Phones("bench-1", lambda: "https://192.0.2.7:8443")
    made.offer(CODE, 0)
    return made


def pair(phones, code=CODE, name="Kim", cookie=COOKIE, sender="192.0.2.9", now_ns=SECOND):
    return phones.pair(code, name, cookie, sender, now_ns)


def test_the_right_code_pairs_once(phones):
    assert pair(phones) == "paired"
    assert phones.known(COOKIE).name == "Kim"
    assert phones.names == ("Kim",)
    assert phones.left_ns(CODE, SECOND) == 0
    assert pair(phones, cookie="another") == "wrong"
    assert phones.known("another") is None


@pytest.mark.parametrize("code", ["", "code", CODE + " ", CODE.upper(), "\udcff"])
def test_a_wrong_code_pairs_nobody_and_spoils_nothing(phones, code):
    assert pair(phones, code) == "wrong"
    assert phones.known(COOKIE) is None
    assert pair(phones) == "paired"


def test_an_old_code_is_good_for_nothing(phones):
    assert phones.left_ns(CODE, OFFER_NS - 1) == 1
    assert pair(phones, now_ns=OFFER_NS) == "wrong"
    assert phones.left_ns(CODE, OFFER_NS) == 0


def test_another_code_makes_the_first_void(phones):
    phones.offer("second", SECOND)
    assert pair(phones) == "wrong"
    assert pair(phones, "second") == "paired"


def test_without_a_code_shown_nothing_pairs():
    assert pair(Phones("b", str), "") == "wrong"


def test_who_tries_wrong_codes_is_not_listened_to_for_a_minute(phones):
    for number in range(5):
        assert pair(phones, f"wrong {number}", now_ns=number * SECOND) == "wrong"
    assert pair(phones, now_ns=10 * SECOND) == "often"  # even with the right one
    assert pair(phones, sender="192.0.2.10", now_ns=10 * SECOND) == "paired"
    phones.offer("later", 70 * SECOND)
    assert pair(phones, "later", now_ns=71 * SECOND) == "paired"


def test_many_senders_of_wrong_codes_void_the_code(phones):
    for number in range(50):
        pair(phones, "wrong", sender=f"192.0.2.{number}")
    assert pair(phones, sender="192.0.2.200") == "wrong"


def test_senders_are_not_kept_without_end(phones):
    for number in range(2_000):
        pair(phones, "wrong", sender=str(number))
    assert len(phones._wrong) <= 256


def test_a_nameless_phone_may_try_again_with_the_same_code(phones):
    assert pair(phones, name=" \t ") == "nameless"
    assert pair(phones, name="  Kim \n Lee ") == "paired"
    assert phones.names == ("Kim Lee",)


def test_forgotten_phones_are_strangers(phones):
    pair(phones)
    phones.offer("second", SECOND)
    phones.forget()
    assert phones.known(COOKIE) is None
    assert pair(phones, "second") == "wrong"


def test_one_phone_may_be_forgotten_alone(phones):
    pair(phones)
    phones.offer("second", SECOND)
    pair(phones, "second", cookie="two")
    phones.forget("two")
    assert phones.known("two") is None
    assert phones.known(COOKIE) is not None


def test_no_more_phones_than_a_bench_has_hands(phones):
    for number in range(PHONES_MOST):
        phones.offer(f"code {number}", SECOND)
        assert pair(phones, f"code {number}", cookie=str(number)) == "paired"
    phones.offer("one more", SECOND)
    assert pair(phones, "one more", cookie="more") == "many"


def test_neither_code_nor_cookie_is_kept_as_it_is(phones):
    pair(phones)
    assert CODE not in repr(phones)
    assert COOKIE not in repr(phones)
