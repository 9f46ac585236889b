"""Labels of a judged set: what stands on each, and what a reader takes from the printed sheet."""

import json
import re
import shutil
import subprocess

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.report.labels import labels_of
from barrelfit.acquire.report.labels_pdf import COLUMNS, ROWS, labels_pdf
from barrelfit.acquire.report.source import lines_of
from barrelfit.rules.manner import Manner
from tests.house.test_house import HOUSE

MM = Manner()


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    path = tmp_path_factory.mktemp("labels") / "result.jsonl"
    judged = ["judge", str(HOUSE / "tests/sets/02-worn-piston.toml"), "--sheet", "flat-four-85"]
    with pytest.MonkeyPatch.context() as patch, path.open("w") as out:
        patch.setattr("sys.stdout", out)
        assert run_cli([*judged, "--json"]) == 1
    return path


def test_each_part_has_a_label_with_verdict_size_and_place(result):
    lines = lines_of(str(result))
    labels = {label.part: label for label in labels_of(lines, MM)}
    assert list(labels) == [line["part"] for line in lines if line["kind"] == "part"]
    sound, lost = labels["P1"], labels["P3"]
    assert (sound.word, sound.place) == ("SERVICEABLE", "cylinder 1 left, with B1")
    assert sound.size == "84.915 ± 0.002 mm"
    assert (lost.word, lost.place) == ("DISCARD", "")
    assert labels["B3"].place == "cylinder 3 left"  # its piston is still to be found
    barrel = [line for line in lines if line["kind"] == "size" and line["part"] == "B1"]
    assert labels["B1"].size.startswith(min(line["size_mm"] for line in barrel))


def test_a_code_says_the_same_in_plain_text_and_whose_record_it_is(result):
    lines = lines_of(str(result))
    label = labels_of(lines, Manner("inch", comma=True))[0]
    proof = next(line["set_sha256"] for line in lines if line["kind"] == "set")[:12]
    assert label.code.splitlines() == [
        "example 2 P1", "SERVICEABLE", label.size, label.place, proof,
    ]  # fmt: skip
    assert re.fullmatch(r"3,\d+ ± 0,\d+ in", label.size)


def test_what_a_lead_decided_stands_beside_the_verdict(result):
    lines = [*lines_of(str(result)), {"kind": "overridden", "about": "P3", "verdict": "rework"}]
    label = next(one for one in labels_of(lines, MM) if one.part == "P3")
    assert label.word == "DISCARD; lead: REWORK"


def test_a_sheet_and_a_roll_are_read_again(result, tmp_path):
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("poppler-utils is not installed")
    labels = labels_of(lines_of(str(result)), MM)
    for roll, pages in ((None, 1), (62.0, len(labels))):
        path = tmp_path / "labels.pdf"
        path.write_bytes(labels_pdf(labels, roll))
        text = subprocess.run([reader, path, "-"], capture_output=True, check=True).stdout.decode()  # noqa: S603
        assert text.count("\f") == pages
        for label in labels:
            assert label.place in text
            assert label.size in text
    many = labels * 4
    path.write_bytes(labels_pdf(many))
    text = subprocess.run([reader, path, "-"], capture_output=True, check=True).stdout  # noqa: S603
    assert text.count(b"\f") == -(-len(many) // (COLUMNS * ROWS))


def test_a_roll_nobody_has_is_one_clear_sentence(result, tmp_path, capsys):
    assert run_cli(["labels", str(result), "--roll", "2", "-o", str(tmp_path / "x.pdf")]) == 2
    assert "--roll: 2 mm; from 25 to 210 mm can be printed" in capsys.readouterr().err
    assert json.loads(result.read_text().splitlines()[0])["kind"] == "set"
