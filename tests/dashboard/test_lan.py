"""What the workshop's network reaches: one short page without pairing, the bench with it."""

import json
import re
from itertools import product

import pytest

from barrelfit.acquire.bus.mqtt_bus import BusMessage
from barrelfit.acquire.bus.payloads import Answer
from barrelfit.acquire.inputs.photo import BYTES_MOST
from barrelfit.dashboard.board.hub import Hub
from barrelfit.dashboard.board.phones import Phones
from barrelfit.dashboard.server.lan_app import LanPages
from barrelfit.dashboard.server.lan_guard import Guard, cookie_name
from tests.acquire.photos_taken import TURNED_LEFT, opened, shot
from tests.dashboard.asgi_caller import Caller
from tests.dashboard.scripted import ScriptedBench, encoded
from tests.dashboard.states import messages
from tests.dashboard.test_pages import StoppedClock

pytestmark = [pytest.mark.slow]
HERE = "https://192.0.2.7:8443"
OWN = {"origin": HERE}
REFUSAL = [{"type": "websocket.close", "code": 1008}]


class BenchOfATest(Hub):
    """A hub whose bench takes every command, and records it as its rules would."""

    def __init__(self, folder, script):
        super().__init__(StoppedClock(), folder)
        self.asked, self.script, self.takes = [], script, True

    def hear(self, *given):
        for message in given:
            topic, payload, retained = encoded(message)
            self.receive(BusMessage(topic, payload, retained))

    def ask(self, bench, command):
        self.asked.append((bench, command))
        at = command["at"]
        fact = {"at": at, "value": command["value"], "who": command["who"], "by": command["by"]}
        kind = "fact_taken"
        if not self.takes:
            kind = "fact_held"
            fact = {"at": at, "value": command["value"], "reason": "unreadable"}
            fact |= {"sentence": "look again", "advice": "look"}
        self.hear(self.script.batch(self.script.event(kind, fact)))
        return Answer(id=command["id"], ok=True)


@pytest.fixture
def hub(tmp_path):
    script = ScriptedBench(bench="bench-1", session="s-asks-look", seq=9)  # goes on after that
    made = BenchOfATest(tmp_path, script)
    made.hear(*messages("asks-look", "bench-1"))
    return made


@pytest.fixture
def phones():
    return Phones("bench-1", lambda: HERE)


@pytest.fixture
def stranger(hub, phones):
    guard = Guard(LanPages(hub, phones).app(), phones, StoppedClock().monotonic_ns)
    caller = Caller(guard, HERE)
    yield caller
    caller.close()


@pytest.fixture
def phone(stranger, phones):
    phones.offer("the code", 0)
    answer = stranger.post("/pair", content="the code\nKim", headers=OWN)
    assert answer.status == 204
    return stranger


PATHS = (
    "/", "/photos", "/tell", "/photo/x.jpg", "/live.js", "/live.css", "/phone.css", "/bench",
    "/phone_forms.js", "/health", "/_stcore/health", "/_stcore/stream", "/_stcore/host-config",
    "/_stcore/upload_file/a/b", "/media/a.png", "/component/a/b", "/static/js/index.js",
    "/manner?to=inch", "/override", "/entry", "/robots.txt", "/pair", "//", "/../sessions",
)  # fmt: skip


def test_a_stranger_gets_the_short_page_alone(stranger):
    for method, path in product(("GET", "POST", "PUT", "DELETE", "OPTIONS", "HEAD"), PATHS):
        answer = stranger.request(method, path, b"", OWN)
        assert answer.status == 403, (method, path)
        assert "bench-1" not in answer.text
        if (method, path) != ("POST", "/pair"):
            assert "scan that" in answer.text
        assert "set-cookie" not in answer.headers


def test_a_stranger_gets_no_websocket(stranger):
    for path in ("/live", "/live/bench/bench-1", "/_stcore/stream", "/"):
        assert stranger.listen(path, bool, OWN) == REFUSAL


def test_what_the_short_page_may_do(stranger):
    answer = stranger.get("/")
    policy = answer.headers["content-security-policy"]
    nonce = re.search(r'<script nonce="([^"]+)">', answer.text)[1]
    assert f"'nonce-{nonce}'" in policy
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert stranger.get("/").headers["content-security-policy"] != policy  # each page its own
    assert answer.headers["cache-control"] == "no-store"


def test_the_cookie_is_for_this_server_alone(stranger, phones):
    phones.offer("the code", 0)
    answer = stranger.post("/pair", content="the code\nKim", headers=OWN)
    told = answer.headers["set-cookie"]
    assert told.startswith(f"{cookie_name('bench-1')}=")
    for word in ("HttpOnly", "Secure", "SameSite=strict", "Path=/"):
        assert word in told
    assert "Domain" not in told
    again = stranger.post("/pair", content="the code\nLee", headers=OWN)
    assert phones.names == ("Kim",)
    assert again.status != 204


def test_a_code_is_taken_from_our_own_page_alone(stranger, phones):
    phones.offer("the code", 0)
    for origin in ({}, {"origin": "https://elsewhere.example"}, {"origin": "null"}):
        assert stranger.post("/pair", content="the code\nKim", headers=origin).status == 403
    assert phones.names == ()
    long = stranger.post("/pair", content="the code\n" + "K" * 5_000, headers=OWN)
    assert long.status == 403


def test_nothing_is_served_by_a_name_or_without_tls(phone):
    assert phone.get("/", headers={"host": "bench.example:8443"}).status == 421
    assert phone.get("http://192.0.2.7:8443/").status == 421


def test_a_paired_phone_sees_the_bench(phone):
    page = phone.get("/")
    assert page.status == 200
    assert "bench-1" in page.text
    accepted, first, *_ = phone.listen("/live", lambda sent: len(sent) > 1, OWN)
    assert accepted["type"] == "websocket.accept"
    told = json.loads(first["text"])
    assert told["stage"] == "ask"
    assert "P1" in told["blocks"]["ask"]


def test_only_our_own_page_may_listen(phone):
    for origin in ({}, {"origin": "https://elsewhere.example"}):
        assert phone.listen("/live", bool, origin) == REFUSAL


def test_a_forgotten_phone_is_shown_nothing_more(phone, phones):
    def forgets(sent):
        if len(sent) == 3:  # accepted, and told twice
            phones.forget()
        return len(sent) > 9

    assert len(phone.listen("/live", forgets, OWN)) == 3
    assert phone.get("/").status == 403


def test_what_is_tapped_on_a_phone_is_told_in_its_owners_name(phone, hub):
    answer = phone.post("/tell", content=json.dumps({"do": "answer", "value": "good", "ask": 1}),
                        headers=OWN)  # fmt: skip
    assert (answer.status, answer.text) == (200, "")
    [(bench, command)] = hub.asked
    assert bench == "bench-1"
    wanted = {"kind": "fact", "value": "good", "who": "Kim", "by": "phone", "ask": 1}
    assert wanted.items() <= command.items()


def test_what_is_asked_no_more_is_not_told(phone, hub):
    late = json.dumps({"do": "answer", "value": "good", "ask": 9})
    answer = phone.post("/tell", content=late, headers=OWN)
    assert (answer.status, answer.text) == (409, "something else is asked for by now")
    assert phone.post("/tell", content="x" * 500, headers=OWN).status == 413
    assert hub.asked == []


# ---------------------------------------------------------------- photos


def photograph(phone, data, part="P1"):
    return phone.post(f"/photos/{part}", content=data, headers=OWN)


def test_a_photo_is_kept_told_and_shown_upright(phone, hub, tmp_path):
    data = shot(turned=TURNED_LEFT, gps=True)
    answer = photograph(phone, data)
    assert (answer.status, answer.text) == (200, "Taken: it stands in the record.")
    [(_, command)] = hub.asked
    name = command["value"]
    assert (tmp_path / name).read_bytes() == data
    assert command["at"] == {
        "part": "P1",
        "feature": "photos",
        "depth": name[7:23],
        "direction": "",
    }
    assert (command["who"], command["by"]) == ("Kim", "phone")
    assert f'src="/photo/{name[7:]}"' in phone.get("/photos?part=P1").text
    view = phone.get(f"/photo/{name[7:]}")
    assert view.headers["content-type"] == "image/jpeg"
    assert opened(view.content).size == (40, 80)
    assert not dict(opened(view.content).getexif())


def test_a_photo_that_was_changed_is_not_shown(phone, hub, tmp_path):
    photograph(phone, shot())
    name = hub.asked[0][1]["value"]
    (tmp_path / name).write_bytes(shot(kind="PNG"))
    assert phone.get(f"/photo/{name[7:]}").status == 404


@pytest.mark.parametrize(
    "file", ["none.jpg", "..%2Fbench-1.certificate.pem", "%2e%2e%2fx", "a" * 64]
)
def test_no_other_file_is_shown(phone, tmp_path, file):
    (tmp_path / "bench-1.certificate.pem").write_text("secret")
    assert phone.get(f"/photo/{file}").status == 404


def test_what_is_too_large_or_no_picture_is_refused_clearly(phone, hub, tmp_path):
    large = photograph(phone, shot() + bytes(BYTES_MOST))
    assert (large.status, "10 MB" in large.text) == (413, True)
    pieces = photograph(phone, (bytes(1_000_000) for _ in range(12)))  # no length is told
    assert pieces.status == 413
    forged = photograph(phone, b"\xff\xd8\xff\xe0<script>")
    assert (forged.status, "no whole JPEG or PNG" in forged.text) == (409, True)
    assert hub.asked == []
    assert not (tmp_path / "photos").exists()


def test_a_photo_of_a_part_that_is_not_there(phone, hub):
    for part in ("P9", "..", "%2e"):
        assert photograph(phone, shot(), part).status == 404
    assert hub.asked == []


def test_what_the_bench_refuses_is_not_called_taken(phone, hub):
    hub.takes = False
    answer = photograph(phone, shot())
    assert (answer.status, answer.text) == (409, "look again")


def test_a_photo_is_taken_back_by_its_file(phone, hub):
    photograph(phone, shot())
    file = hub.asked[0][1]["value"][7:]
    answer = phone.post(f"/photos/P1/back/{file}", headers=OWN)
    assert answer.status == 200
    back = hub.asked[1][1]
    assert file not in phone.get("/photos?part=P1").text
    assert phone.get(f"/photo/{file}").status == 404
    assert (back["value"], back["at"]["depth"]) == ("", file[:16])
    assert back["why"]
    assert phone.post("/photos/P1/back/none.jpg", headers=OWN).status == 404


def test_what_is_not_done_on_a_phone_is_told(phone):
    for path in ("/jobs", "/override", "/_stcore/health", "/_stcore/stream", "/media/x"):
        answer = phone.get(path)
        assert answer.status == 404
        assert "at the bench itself" in answer.text
