"""Set, sheet and bench files spoiled as texts: judged or refused in whole lines, never a traceback.

Values exchanged for strange ones, lines lost, doubled, swapped, letters and digits mistyped.
"""

import json
import random
import re
from pathlib import Path

import pytest

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.bench_doubts import load_bench
from barrelfit.acquire.inputs.set_file import load_set, sheet_of
from barrelfit.acquire.inputs.shelf import shipped_text
from barrelfit.acquire.report.set_result import all_well, result_lines
from barrelfit.acquire.report.set_text import result_text
from barrelfit.acquire.said_json import with_parts
from barrelfit.rules.errors import RulesError
from barrelfit.rules.judge import judge_set
from tests.acquire.set_texts import FOUR, INCH, SETS, SIX
from tests.acquire.test_bench_doubts import USUAL
from tests.spoken import problems_of

SET_TEXTS = [p.read_text(encoding="utf-8") for p in sorted(SETS.glob("*.toml"))]
SHEET_TEXTS = [shipped_text("rules", "sheets", name) for name in (FOUR, SIX, INCH)]
STRANGE = [
    "0", "-1", "1", "1e4000000", "1e-400", "nan", "inf", "-0.0", '""', '"\\n"', '"\\u202e"', "[]",
    "{}", "[[]]", "true", "false", "1979-05-27", "07:32:00", "0x7f", "1_000", "9" * 20, "9" * 5000,
    "84.915", "8.4915", "849.15", "0.0000001", '"P1"', '"B1"', '["good"]', "[true]", "[{}]", '"é"',
    '"\\u0000"', '"' + "a" * 200 + '"', "0.1", "25.4", "[" * 2000, '"\\ud83d\\ude00"',
]  # fmt: skip
LETTERS = "0123456789.,-+eE\"[]{}=\n\t\x00é\u202e#'"

SHOWABLE = "[^\x00-\x1f\u202e\u2028]"
# A sentence in one line; below it, perhaps, the line of the file that it is about, and a mark.
WHOLE = re.compile(rf"{SHOWABLE}+(\n    {SHOWABLE}*\n +\^)?")


def spoiled(text: str, rng: random.Random) -> str:
    lines = text.splitlines()
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        number = rng.randrange(len(lines))
        _spoil(lines, number, rng)
        lines = lines or ["x"]
    return "\n".join(lines) + "\n"


def _spoil(lines: list[str], number: int, rng: random.Random) -> None:
    line, kind = lines[number], rng.randrange(6)
    if kind <= 1 and "=" in line:
        lines[number] = f"{line.partition('=')[0]}= {rng.choice(STRANGE)}"
    elif kind == 2:
        del lines[number]
    elif kind == 3:
        lines.insert(number, rng.choice(lines))
    elif kind == 4 and line:
        place = rng.randrange(len(line))
        lines[number] = line[:place] + rng.choice(LETTERS) + line[place + rng.randrange(2) :]
    else:
        pairs = list(re.finditer(r"\d\.?\d", line))
        if pairs:
            pair = rng.choice(pairs)
            lines[number] = line[: pair.start()] + pair.group()[::-1] + line[pair.end() :]


def judged(folder: Path, text: str, sheet: str) -> str:
    (folder / "set.toml").write_text(text, encoding="utf-8")
    loaded = load_set(folder / "set.toml", sheet, 1.65)
    found = judge_set(loaded.evidence)
    lines = list(result_lines(loaded, found))
    for line in lines:
        json.dumps(with_parts(line), allow_nan=False)
    result_text(lines)
    all_well(loaded.evidence, found)
    return "judged"


def outcome(folder: Path, rng: random.Random) -> str:
    """What became of one spoiled file (or a set and its sheet, both spoiled)."""
    kind = rng.choice(("set", "set", "set", "both", "sheet", "bench"))
    try:
        if kind in {"set", "both"}:
            text = rng.choice(SET_TEXTS)
            name = SIX if "plated" in text else FOUR
            if kind == "both":
                sheet = spoiled(shipped_text("rules", "sheets", name), rng)
                (folder / "sheet.toml").write_text(sheet, encoding="utf-8")
                name = str(folder / "sheet.toml")
            return judged(folder, spoiled(text, rng), name)
        if kind == "sheet":
            sheet_of(spoiled(rng.choice(SHEET_TEXTS), rng), "sheet.toml")
        else:
            (folder / "bench.toml").write_text(spoiled(USUAL, rng), encoding="utf-8")
            load_bench(folder / "bench.toml")
    except (UserError, RulesError) as error:
        whole = all(WHOLE.fullmatch(p) for p in problems_of(error))
        if not whole or not problems_of(error):
            raise AssertionError(problems_of(error)) from error
        return "refused"
    return "read"


def campaign(folder: Path, seed: int, files: int) -> dict[str, int]:
    rng = random.Random(seed)  # noqa: S311
    counts: dict[str, int] = {}
    for number in range(files):
        try:
            came = outcome(folder, rng)
        except Exception as error:
            error.add_note(f"seed {seed}, file {number}")
            raise
        counts[came] = counts.get(came, 0) + 1
    return counts


@pytest.mark.slow
def test_spoiled_files_are_judged_or_refused(tmp_path):
    counts = campaign(tmp_path, 85_000, 150)
    assert min(counts["judged"], counts["refused"], counts["read"]) > 0


@pytest.mark.long
@pytest.mark.slow
@pytest.mark.timeout(1_800)
def test_twelve_thousand_spoiled_files_are_judged_or_refused(tmp_path):
    counts = campaign(tmp_path, 12_000, 12_000)
    assert min(counts.values()) > 100
