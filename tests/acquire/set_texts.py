"""Set and sheet files for tests, as texts with some words changed, judged by the command line."""

import json
from pathlib import Path

from barrelfit.acquire.cli import run_cli
from barrelfit.acquire.inputs.shelf import shipped_text

SETS = Path(__file__).parents[1] / "sets"
FOUR, SIX, INCH = "flat-four-85", "flat-six-92-plated", "per-inch-wear"
Change = tuple[str, str]


def changed(text: str, *changes: Change) -> str:
    """The text with each first occurrence replaced; a change that finds nothing is an error."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def set_text(name: str, *changes: Change) -> str:
    """A worked set with some of its text changed."""
    return changed((SETS / f"{name}.toml").read_text(encoding="utf-8"), *changes)


def sheet_text(name: str, *changes: Change) -> str:
    """A shipped sheet with some of its text changed."""
    return changed(shipped_text("rules", "sheets", name), *changes)


class Judged:
    """What `barrelfit judge --json` said: exit code, lines, and what went to stderr."""

    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.err = code, err
        self.lines = [json.loads(line) for line in out.splitlines()]
        assert "Traceback" not in err

    def of_kind(self, kind: str) -> list[dict]:
        return [line for line in self.lines if line["kind"] == kind]

    def part(self, name: str) -> dict:
        return next(p for p in self.of_kind("part") if p["part"] == name)

    def verdict(self, name: str) -> str:
        return self.part(name)["verdict"]

    def codes(self, name: str) -> set[str]:
        return {f["code"] for f in self.part(name)["findings"]}

    def sentences(self, name: str) -> str:
        return "\n".join(f["sentence"] for f in self.part(name)["findings"])

    @property
    def pairing(self) -> dict:
        return self.of_kind("pairing")[0]

    @property
    def to_do(self) -> list[str]:
        return [m["at"] for m in self.of_kind("remaining")[0]["measure"]]


def judge(tmp_path, capsys, text: str, sheet: str = FOUR) -> Judged:
    """Judge a set's text by a shipped sheet, or by the text of one."""
    file = tmp_path / "set.toml"
    file.write_text(text, encoding="utf-8")
    if "\n" in sheet:
        (tmp_path / "sheet.toml").write_text(sheet, encoding="utf-8")
        sheet = str(tmp_path / "sheet.toml")
    capsys.readouterr()
    code = run_cli(["judge", str(file), "--sheet", sheet, "--json"])
    said = capsys.readouterr()
    return Judged(code, said.out, said.err)
