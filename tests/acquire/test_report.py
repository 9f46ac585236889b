"""Reports: whole, self-contained, every number with its unit and interval, the cautions there."""

import hashlib
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.journal.override_events import Overridden
from barrelfit.acquire.report.content import CAUTIONS, report_of
from barrelfit.acquire.report.figures import length, with_interval
from barrelfit.acquire.report.html import html_of
from barrelfit.acquire.report.pdf import pdf_of
from barrelfit.acquire.report.source import lines_of, photos_of
from barrelfit.acquire.report.words import say
from barrelfit.rules.events import EntryMade, PedalPressed
from barrelfit.rules.manner import told, told_all
from barrelfit.rules.model import FeatureId
from tests.acquire.recorded import Recording, opening, record_set, sweep

SETS = Path(__file__).parents[1] / "sets"
PIXEL = bytes.fromhex(  # a PNG of one pixel
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de"
    "0000000c49444154789c63f8cfc0000003010100c9fe92ef0000000049454e44ae426082"
)


def result(tmp_path: Path, capsys, name: str, sheet: str = "flat-four-85") -> Path:
    run_cli(["judge", str(SETS / f"{name}.toml"), "--sheet", sheet, "--json"])
    out = tmp_path / "result.jsonl"
    out.write_text(capsys.readouterr().out, encoding="utf-8")
    return out


class Reader(HTMLParser):
    """Checks that tags are closed in order, and gathers text and what is fetched."""

    VOID = frozenset({"meta", "col", "img", "rect", "circle", "polygon", "polyline"})

    def __init__(self):
        super().__init__()
        self.open: list[str] = []
        self.text: list[str] = []
        self.fetched: list[str] = []

    def handle_starttag(self, tag, attrs):
        if tag not in self.VOID:
            self.open.append(tag)
        self.fetched += [v for k, v in attrs if k in {"src", "href"} and not v.startswith("data:")]

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "style":
            self.text.append(data)


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    assert reader.open == []
    return reader


@pytest.mark.parametrize(
    ("name", "sheet"),
    [
        ("01-all-good", "flat-four-85"),
        ("07-plated-bore-worn", "flat-six-92-plated"),
        ("08-oversize-for-the-set", "flat-four-85"),
        ("09-no-legal-pairing", "flat-four-85"),
        ("11-rings-and-pins", "flat-four-85"),
    ],
)
def test_html_is_whole_fetches_nothing_and_says_what_matters(tmp_path, capsys, name, sheet):
    source = result(tmp_path, capsys, name, sheet)
    out = tmp_path / "report.html"
    assert run_cli(["report", str(source), "-o", str(out)]) == 0
    html = out.read_text(encoding="utf-8")
    page = read(html)
    text = " ".join(page.text)
    assert page.fetched == []
    assert "url(" not in html
    assert "@import" not in html
    for caution in map(say, CAUTIONS):
        assert caution.split("'")[0] in text
    for line in lines_of(str(source)):
        if line["kind"] in {"part", "pair"}:
            assert all(told(f["sentence"]).split("'")[0] in text for f in line["findings"])
        if line["kind"] == "size":
            assert with_interval(line["size_mm"], line["interval95_mm"]) in text


def test_every_length_in_the_tables_has_its_unit(tmp_path, capsys):
    html = html_of(report_of(lines_of(str(result(tmp_path, capsys, "11-rings-and-pins"))), {}))
    cells = re.findall(r"<td>([^<]*)</td>", html)
    for cell in cells:
        for found in re.finditer(r"(?<![\d.])\d+\.\d{3,}", cell):
            rest = cell[found.end() :]
            assert re.match(r" (±|mm|to \d)", rest) or "SHA" in cell, cell


def test_a_length_is_shown_to_a_tenth_of_a_micron_and_its_interval_never_narrower():
    assert length("84.915") == "84.915 mm"
    assert length("84.9148371") == "84.9148 mm"
    assert length(None) == "-"
    assert with_interval("84.9148371", ["84.9132260", "84.9164482"]) == "84.9148 ± 0.0017 mm"


def media_boxes(pdf: bytes) -> set[tuple[float, float]]:
    boxes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", pdf)
    return {(round(float(w)), round(float(h))) for w, h in boxes}


def test_pdf_on_a4_and_letter_the_same_bytes_each_time(tmp_path, capsys):
    report = report_of(lines_of(str(result(tmp_path, capsys, "05-tapered-bore"))), {})
    a4, letter = pdf_of(report, "a4"), pdf_of(report, "letter")
    assert a4.startswith(b"%PDF-")
    assert media_boxes(a4) == {(595, 842)}
    assert media_boxes(letter) == {(612, 792)}
    assert pdf_of(report, "a4") == a4


def test_letters_the_pdf_font_lacks_are_named_not_swallowed(tmp_path, capsys):
    source = result(tmp_path, capsys, "01-all-good")
    source.write_text(source.read_text().replace("example 1", "Ж 1"), encoding="utf-8")
    out = tmp_path / "report.pdf"
    assert run_cli(["report", str(source), "-o", str(out)]) == 2
    err = capsys.readouterr().err
    assert "Ж" in err
    assert "--font" in err
    assert not out.exists()
    assert run_cli(["report", str(source), "-o", str(tmp_path / "report.html")]) == 0
    assert "Ж 1" in (tmp_path / "report.html").read_text(encoding="utf-8")


def test_photos_are_shown_when_they_are_the_ones_that_were_judged(tmp_path, capsys):
    text = (SETS / "01-all-good.toml").read_text(encoding="utf-8")
    text = text.replace('serial = "11"\n', 'serial = "11"\nphotos = ["p1.png"]\n')
    (tmp_path / "set.toml").write_text(text, encoding="utf-8")
    (tmp_path / "p1.png").write_bytes(PIXEL)
    run_cli(["judge", str(tmp_path / "set.toml"), "--sheet", "flat-four-85", "--json"])
    source, out = tmp_path / "result.jsonl", tmp_path / "report.html"
    source.write_text(capsys.readouterr().out, encoding="utf-8")
    run_cli(["report", str(source), "-o", str(out)])
    assert 'src="data:image/jpeg;base64,' in out.read_text(encoding="utf-8")
    assert run_cli(["report", str(source), "-o", str(tmp_path / "report.pdf")]) == 0
    (tmp_path / "p1.png").write_bytes(PIXEL + b"x")
    run_cli(["report", str(source), "-o", str(out)])
    changed = out.read_text(encoding="utf-8")
    assert "data:image/png" not in changed
    assert "photo p1.png of P1 is not the one that was judged" in changed
    (tmp_path / "p1.png").unlink()
    assert run_cli(["judge", str(tmp_path / "set.toml"), "--sheet", "flat-four-85"]) == 2
    assert "piston[1].photos: photo p1.png: No such file" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda t: t.replace('"kind": "pairing"', '"kind": "other"'), "'pairing' line is missing"),
        (lambda t: t + "{\n", "no JSON object"),
        (lambda t: t.replace('"format": 1', '"format": 9'), "format 9 is none"),
        (lambda t: t.replace('"guard_factor": 1.65', '"guard_factor": NaN'), "NaN is no number"),
    ],
)
def test_a_damaged_result_is_refused_by_line(tmp_path, capsys, damage, words):
    source = result(tmp_path, capsys, "01-all-good")
    source.write_text(damage(source.read_text(encoding="utf-8")), encoding="utf-8")
    assert run_cli(["report", str(source), "-o", str(tmp_path / "r.html")]) == 2
    assert words in capsys.readouterr().err


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["-o", "report.doc"], "no kind of report"),
        (["-o", "report.pdf", "--paper", "a3"], "'a3' is not known"),
        (["-o", "/no/such/folder/report.html"], "No such file or directory"),
    ],
)
def test_what_can_not_be_written_is_said(tmp_path, capsys, more, words):
    source = result(tmp_path, capsys, "01-all-good")
    assert run_cli(["report", str(source), *more]) == 2
    assert words in capsys.readouterr().err


def test_no_such_session(capsys, tmp_path):
    assert run_cli(["report", str(tmp_path / "none"), "-o", str(tmp_path / "r.html")]) == 2
    assert "no such session" in capsys.readouterr().err


@pytest.mark.slow
def test_a_sessions_report_has_its_proof_and_its_own_verdicts(whole_set, tmp_path, capsys):
    journal = whole_set
    out = tmp_path / "report.html"
    assert run_cli(["report", str(journal), "-o", str(out)]) == 0
    text = " ".join(read(out.read_text(encoding="utf-8")).text)
    capsys.readouterr()
    run_cli(["verify", str(journal), "--json"])
    verified = json.loads(capsys.readouterr().out)
    assert verified["head_hash"] in text
    assert "This session was simulated" in text
    assert "bench1-20261125T010203Z" in text
    parts = {p["part"]: p["verdict"] for p in lines_of(str(journal)) if p["kind"] == "part"}
    assert parts["P2"] == "discard"
    assert parts["P1"] == "serviceable"
    sizes = [s for s in lines_of(str(journal)) if s["kind"] == "size"]
    assert len(sizes) == 28
    assert all(s["passes"] >= 3 for s in sizes)


@pytest.mark.slow
def test_an_unfinished_sessions_report_says_what_is_missing(tmp_path):
    journal = record_set(tmp_path, features=3, how="")
    lines = lines_of(str(journal))
    missing = next(line for line in lines if line["kind"] == "remaining")
    assert len(missing["measure"]) == 25
    assert next(line for line in lines if line["kind"] == "pairing")["outcome"] == "waiting"
    assert pdf_of(report_of(lines, {})).startswith(b"%PDF-")


@pytest.mark.slow
def test_a_size_taken_back_is_not_reported_and_an_override_stands_beside_the_verdict(tmp_path):
    path = tmp_path / "session.jsonl"
    recording = Recording(path, opening())
    first = sweep(recording)
    second = sweep(recording, seed=2)
    recording.input(PedalPressed(recording.t_ns, "undo"))
    recording.journal.append(
        Overridden("P1", "rework", "serviceable", 9, "Q. Lead", "skirt coating", "r1")
    )
    recording.close("stopped")
    lines = lines_of(str(path))
    assert {s["at"] for s in lines if s["kind"] == "size"} == {str(first)}
    measure = next(line for line in lines if line["kind"] == "remaining")["measure"]
    assert str(second) in {m["at"] for m in measure}
    text = " ".join(read(html_of(report_of(lines, {}))).text)
    assert "Verdicts that a lead decided otherwise" in text
    assert "Q. Lead" in text
    assert "skirt coating" in text
    part = next(p for p in lines if p["kind"] == "part" and p["part"] == "P1")
    assert part["verdict"] == "serviceable"  # the rules' own verdict stays visible


@pytest.mark.slow
def test_an_undo_pressed_while_a_size_was_on_its_way_takes_that_size_back(tmp_path):
    path = tmp_path / "session.jsonl"
    recording = Recording(path, opening())
    first = sweep(recording)
    recording.hold_back()
    second = sweep(recording, seed=2)
    assert second in recording.bench.sizes
    recording.input(PedalPressed(recording.t_ns, "undo"))
    recording.let_through()
    recording.close("stopped")
    sizes = {s["at"] for s in lines_of(str(path)) if s["kind"] == "size"}
    assert sizes == {str(first)}


def typed(recording, *parts):
    for part in parts:
        at = FeatureId(part, "skirt")
        recording.input(EntryMade(recording.t_ns, at, "84.931", "mm", "A. Smith"))


def test_an_undo_that_was_never_answered_takes_nothing_back_and_is_told(tmp_path):
    path = tmp_path / "session.jsonl"
    recording = Recording(path, opening())
    typed(recording, "P1", "P2")
    recording.hold_back()
    for _ in range(2):
        recording.input(PedalPressed(recording.t_ns, "undo"))
    recording.journal.flush(now=True)
    lines = lines_of(str(path))
    assert {s["at"] for s in lines if s["kind"] == "size"} == {"P1/skirt", "P2/skirt"}
    assert sum("had not been answered" in note for note in told_all(lines[0]["notes"])) == 2
    recording.let_through()
    recording.close("stopped")
    lines = lines_of(str(path))
    assert [s for s in lines if s["kind"] == "size"] == []
    assert not any("had not been answered" in note for note in told_all(lines[0]["notes"]))


def test_a_decision_on_a_verdict_that_was_given_anew_is_told_and_does_not_stand(tmp_path):
    path = tmp_path / "session.jsonl"
    recording = Recording(path, opening())
    typed(recording, "P1")
    recording.journal.append(
        Overridden("P1", "rework", "serviceable", 9, "Q. Lead", "skirt coating", "r1")
    )
    recording.input(PedalPressed(recording.t_ns, "undo"))
    recording.close("stopped")
    lines = lines_of(str(path))
    assert [line for line in lines if line["kind"] == "overridden"] == []
    assert any("Q. Lead's decision on P1 (rework)" in note for note in told_all(lines[0]["notes"]))


@pytest.mark.slow
def test_a_sessions_report_shows_the_photos_as_they_were_when_it_was_opened(tmp_path):
    before = opening()
    text = before.set_text.replace("[[piston]]", '[[piston]]\nphotos = ["p1.png"]', 1)
    digest = hashlib.sha256(PIXEL).hexdigest()
    settings = before.settings | {"photos": json.dumps({"p1.png": digest})}
    path = tmp_path / "session.jsonl"
    recording = Recording(path, opening(set_text=text, settings=settings))
    recording.close("stopped")
    lines = lines_of(str(path))
    shown = [p["photos"] for p in lines if p["kind"] == "part" and p["photos"]]
    assert shown == [[{"file": "p1.png", "sha256": digest}]]
    (tmp_path / "p1.png").write_bytes(PIXEL)
    assert photos_of(lines, tmp_path).troubles == []
    (tmp_path / "p1.png").write_bytes(PIXEL + b"x")
    assert "not the one that was judged" in told(photos_of(lines, tmp_path).troubles[0])
