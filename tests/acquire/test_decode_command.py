"""`barrelfit decode` and `profiles`: bytes from standard input, one JSON object a frame."""

import io
import json
import os
import subprocess
import sys
import threading

import pytest

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.inputs.gauge_profiles import profile_names


@pytest.fixture
def decode(monkeypatch, capsys, tmp_path):
    """Decode bytes; gives the exit code and the printed objects."""

    def run(profile, data, *options):
        path = tmp_path / "stdin"
        path.write_bytes(data)
        with path.open("rb") as file:
            monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(file))
            code = run_cli(["decode", "--profile", profile, *options])
        lines = capsys.readouterr().out.splitlines()
        return code, [json.loads(line) for line in lines]

    return run


def test_a_reading_has_exactly_these_keys_in_this_order(decode):
    code, (line,) = decode("signed-decimal-cr", b"+012.345\r")
    assert code == 0
    assert list(line.items()) == [
        ("kind", "reading"),
        ("value", "12.345"),
        ("unit", "mm"),
        ("length_nm", 12_345_000),
        ("raw_hex", "2b3031322e3334350d"),
    ]


def test_a_fault_has_exactly_these_keys_and_ends_in_1(decode):
    code, (line,) = decode("signed-decimal-cr", b"+12.345\r")
    assert code == 1
    assert list(line) == ["kind", "fault", "hint", "raw_hex"]
    assert (line["fault"], line["raw_hex"]) == ("unreadable", b"+12.345\r".hex())


def test_a_closed_standard_input_is_a_sentence(monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", None)  # so Python has it after `<&-`
    assert run_cli(["decode", "--profile", "signed-decimal-cr"]) == 2
    assert "standard input is closed" in capsys.readouterr().err


def test_what_has_something_to_say_is_added(decode):
    _, lines = decode("three-values-line", b"1 +012.34 mm;2 ERR6;3 -000.01 mm =\r")
    assert [line.get("channel") for line in lines] == ["1", "2", "3"]
    assert lines[2]["judgement"] == "="
    _, (line,) = decode("channel-header-decimal", b"00-09.9999\r\n")
    assert line["unit_assumed"] is True
    _, (note,) = decode("signed-decimal-cr", b"SY233.1\r")
    assert note == {"kind": "note", "note": "identification", "raw_hex": b"SY233.1\r".hex()}


def test_hexadecimal_text_with_blanks(decode):
    code, lines = decode("counts-24", b"a5 09 00\nA50920\n", "--hex")
    assert code == 0
    assert [line["value"] for line in lines] == ["24.69", "-24.69"]


def test_frames_without_a_start_mark_are_told_by_their_lines_alone(decode):
    code, lines = decode("counts-24", b"a5 09 00 a5 09 20\n", "--hex")
    assert code == 1
    assert [line["kind"] for line in lines] == ["fault"]


def test_an_unfinished_line_at_the_end_is_incomplete(decode):
    code, lines = decode("signed-decimal-cr", b"+012.345\r\n+012.3")
    assert code == 1
    assert [line["kind"] for line in lines] == ["reading", "fault"]
    assert lines[1]["fault"] == "incomplete"


def test_nothing_is_before_the_session_and_nothing_bounces(decode):
    code, lines = decode("signed-decimal-cr", b"+012.345\r\n" * 50)
    assert code == 0
    assert len(lines) == 50
    assert not any("suspect" in line for line in lines)


def test_empty_input_is_no_fault(decode):
    assert decode("signed-decimal-cr", b"") == (0, [])
    assert decode("signed-decimal-cr", b"\r\n\r\n") == (0, [])


@pytest.mark.parametrize(
    ("data", "sentence"),
    [(b"2b 3", "odd number"), (b"2b zz", "'z' is no hexadecimal digit"), (b"\xff\xff", "digit")],
)
def test_bad_hexadecimal_text_is_a_usage_error(decode, capsys, data, sentence):
    code, lines = decode("signed-decimal-cr", data, "--hex")
    assert (code, lines) == (2, [])


def test_an_unknown_profile_names_the_choices(capsys):
    assert run_cli(["decode", "--profile", "nothing"]) == 2
    said = capsys.readouterr().err
    assert "signed-decimal-cr" in said
    assert "Traceback" not in said


def test_a_profile_of_ones_own_must_prove_its_examples(decode, tmp_path, capsys):
    shipped = "drivers/profiles/signed-decimal-cr.toml"
    with open(shipped, encoding="utf-8") as file:  # noqa: PTH123
        text = file.read()
    mine = tmp_path / "mine.toml"
    mine.write_text(text.replace("length_nm = 12_345_000", "length_nm = 12_345_001"))
    assert run_cli(["decode", "--profile", str(mine)]) == 2
    assert "example[1]: expected" in capsys.readouterr().err
    mine.write_text(text)
    code, (line,) = decode(str(mine), b"+012.345\r")
    assert (code, line["value"]) == (0, "12.345")


@pytest.mark.system
def test_lines_are_told_as_they_trickle_in():
    """A frame is printed when it ends, not when the pipe does."""
    read, write = os.pipe()
    command = [
        sys.executable,
        "-m",
        "barrelfit.acquire",
        "decode",
        "--profile",
        "signed-decimal-cr",
    ]
    with subprocess.Popen(  # noqa: S603  our own code
        command, stdin=read, stdout=subprocess.PIPE
    ) as process:
        os.close(read)
        for byte in b"+012.345\r":
            os.write(write, bytes([byte]))
        first = []
        thread = threading.Thread(target=lambda: first.append(process.stdout.readline()))
        thread.start()
        thread.join(20)
        assert json.loads(first[0])["value"] == "12.345"
        os.close(write)
        assert process.wait(20) == 0


def test_profiles_are_listed_for_people_and_for_programs(capsys):
    assert run_cli(["profiles"]) == 0
    text = capsys.readouterr().out
    assert all(name in text for name in profile_names())
    assert run_cli(["profiles", "--json"]) == 0
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [row["id"] for row in rows] == list(profile_names())
    assert {"evidence", "baud", "parity", "title"} <= rows[0].keys()
