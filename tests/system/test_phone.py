"""A phone beside a real bench, from the code on the bench's screen to the photo in the report.

The code is read off the screen by a reader of another house (zbar).
"""

import json
import ssl
import subprocess
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.journal.session import Session
from barrelfit.acquire.redo.redo_journal import redo_session
from tests.acquire.photos_taken import TURNED_LEFT, opened, shot
from tests.acquire.recorded import SET
from tests.system.bench_rig import PROFILE, Daemon, FarEnd
from tests.system.board_rig import browser, need, wait_for
from tests.system.patience import PATIENCE_S
from tests.system.ports import free_port
from tests.system.test_board_screens import IN_PAGE
from tests.system.test_form_pages import LOOK

pytestmark = [pytest.mark.system, pytest.mark.slow, pytest.mark.timeout(300)]

BENCH = """schema = 1
bench = "stand"
sheet = "flat-four-85"
sessions = "{folder}"
who = "A. Smith"
[set]
job = "J-7"
file = "{set}"
[board]
lan = true
lan_port = {port}
lan_address = "127.0.0.1"
[[gauge]]
id = "m"
profile = "{profile}"
port = "{gauge}"
measures = "outside"
movement = "following"
"""
PHONE = {"width": 390, "height": 844}


class Stand:
    """A bench with its board, and where phones find it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "sessions"
        gauge, file, its_set = folder / "gauge", folder / "bench.toml", folder / "set.toml"
        text = SET.format(job="J-7", serial="K-7").replace('"looked-at", ', "")
        its_set.write_text(text.replace('unit = "mm"', 'unit = "mm"\nsteps = ["look"]'))
        self.port, self.board_port = free_port(), free_port()
        file.write_text(
            BENCH.format(
                folder=self.folder, set=its_set, port=self.port, profile=PROFILE, gauge=gauge
            )
        )
        self.far = FarEnd(gauge)
        self.daemon = Daemon(file, "--board", "--board-port", str(self.board_port))
        self.lan = f"https://127.0.0.1:{self.port}"
        self.board = f"http://127.0.0.1:{self.board_port}"

    def ready(self) -> None:
        self.session = self.daemon.ready()["session"]
        self.daemon.told("board")

    @property
    def journal(self) -> Path:
        return self.folder / f"{self.session}.jsonl"

    def facts(self) -> list[dict]:
        lines = [json.loads(ln) for ln in self.journal.read_bytes().splitlines()[:-1]]
        return [line["data"] for line in lines if line["kind"] == "fact_taken"]

    def end(self) -> None:
        self.daemon.end()
        self.far.end()


@pytest.fixture
def stand(tmp_path):
    made = Stand(tmp_path)
    try:
        made.ready()
        yield made
    finally:
        made.end()


def code_on(page, folder):
    """What the code on the bench's screen says."""
    page.locator("img.code").wait_for()
    page.locator("img.code").screenshot(path=folder / "code.png")
    reader = [need("zbarimg"), "--quiet", "--raw", str(folder / "code.png")]
    return subprocess.run(reader, capture_output=True, check=True, text=True).stdout.strip()  # noqa: S603


def served_to_strangers(stand, path):
    """Status and text; whoever has no cookie is a stranger."""
    context = ssl._create_unverified_context()  # noqa: S323  nobody vouches for it
    try:
        with urllib.request.urlopen(stand.lan + path, context=context, timeout=10) as answer:  # noqa: S310
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        return error.code, error.read().decode()


def test_a_phone_from_the_code_to_the_report(stand, tmp_path):
    photo = tmp_path / "from-the-camera.jpg"
    photo.write_bytes(shot((800, 600), TURNED_LEFT, gps=True))
    for path in ("/", "/live.js", "/_stcore/health", "/_stcore/stream", "/override", "/media/x"):
        status, text = served_to_strangers(stand, path)
        assert (status, "scan that" in text, "stand" in text) == (403, True, False)
    with browser() as opened_browser:
        bench = opened_browser.new_page(viewport={"width": 1280, "height": 800})
        bench.goto(f"{stand.board}/phone?id=stand")
        bench.get_by_role("button", name="Show a code for one phone").click()
        link = code_on(bench, tmp_path)
        assert link.startswith(f"{stand.lan}/#")
        fingerprint = bench.locator("code").inner_text().strip()
        served = ssl.get_server_certificate(("127.0.0.1", stand.port))
        assert fingerprint == fingerprint_of(served)

        context = opened_browser.new_context(
            viewport=PHONE, ignore_https_errors=True, has_touch=True, is_mobile=True
        )
        errors: list[str] = []
        context.on("weberror", lambda error: errors.append(str(error.error)))
        phone = context.new_page()
        paired(phone, link, "Kim")
        bench.get_by_text("Paired: Kim").wait_for()
        replayed(opened_browser, link)

        answers_the_look(stand, phone)
        takes_a_photo(stand, phone, photo)
        assert errors == []
        bench.get_by_role("button", name="Forget all phones").click()
        bench.get_by_text("No phone is paired.").wait_for()
        phone.goto(stand.lan)
        phone.get_by_text("scan that").wait_for()
    stand.daemon.end()
    [kept] = (stand.folder / "photos").iterdir()
    assert kept.read_bytes() == photo.read_bytes()
    assert redo_session(Session.open(stand.journal)).is_same
    assert run_cli(["verify", str(stand.journal)]) == 0
    report = tmp_path / "report.html"
    assert run_cli(["report", str(stand.journal), "-o", str(report)]) == 0
    assert "data:image/jpeg" in report.read_text(encoding="utf-8")
    kept.write_bytes(shot())
    assert run_cli(["verify", str(stand.journal)]) == 1


def looks_well(page):
    """Names, targets, headings, contrast and width of a page that is all our own."""
    told = page.evaluate(f"({LOOK})()")
    assert told["ours"] + told["theirs"] == []


def fingerprint_of(pem: str) -> str:
    """As the system's own tool shows it."""
    asked = [need("openssl"), "x509", "-noout", "-fingerprint", "-sha256"]
    said = subprocess.run(asked, input=pem, capture_output=True, check=True, text=True).stdout  # noqa: S603
    return said.partition("=")[2].strip()


def paired(phone, link, name):
    phone.goto(link)
    looks_well(phone)
    phone.get_by_label("Your name, as the record is to have it").fill(name)
    phone.get_by_role("button", name="Pair this phone").click()
    phone.wait_for_function(f"() => !!({IN_PAGE})('[data-id=name]')?.textContent")


def replayed(opened_browser, link):
    """The same code once more, from another phone."""
    other = opened_browser.new_page(viewport=PHONE, ignore_https_errors=True)
    other.goto(link)
    other.get_by_label("Your name, as the record is to have it").fill("Lee")
    other.get_by_role("button", name="Pair this phone").click()
    other.get_by_text("The code was used, or is too old.").wait_for()
    other.reload()
    assert other.locator(".board").count() == 0
    other.close()


def answers_the_look(stand, phone):
    """What is tapped on the bench's screen, and on the page to tell."""
    phone.locator("button.glove", has_text="good").first.tap()
    wait_for(lambda: any(f["at"]["feature"] == "looked" for f in stand.facts()), "the look")
    [look] = [f for f in stand.facts() if f["at"]["feature"] == "looked"]
    assert (look["who"], look["by"], look["value"]) == ("Kim", "phone", "good")
    phone.goto(f"{stand.lan}/tell")
    looks_well(phone)

    def told_again():  # what is answered before anybody can have read it does not count
        with phone.expect_navigation():  # it shows itself anew, once that was sent
            phone.get_by_role("button", name="good").tap()
        return len(stand.facts()) > 1

    wait_for(told_again, "another look")
    assert {f["by"] for f in stand.facts()} == {"phone"}


def takes_a_photo(stand, phone, photo):
    phone.goto(f"{stand.lan}/photos?part=P2")
    with phone.expect_navigation(timeout=PATIENCE_S * 1000):
        phone.locator("#take").set_input_files(photo)
    picture = phone.get_by_alt_text("Photo of P2")
    picture.wait_for()
    phone.wait_for_function("() => document.querySelector('figure img').naturalWidth > 0")
    wide, high = picture.evaluate("e => [e.naturalWidth, e.naturalHeight]")
    assert (wide, high) == (600, 800)  # upright
    looks_well(phone)
    [fact] = [f for f in stand.facts() if f["at"]["feature"] == "photos"]
    assert (fact["who"], fact["by"]) == ("Kim", "phone")
    assert opened((stand.folder / fact["value"]).read_bytes()).size == (800, 600)  # as it came
    no_picture = photo.with_name("forged.jpg")
    no_picture.write_bytes(b"\xff\xd8\xff\xe0 forged")
    phone.locator("#take").set_input_files(no_picture)
    phone.get_by_text("no whole JPEG or PNG picture").wait_for()
