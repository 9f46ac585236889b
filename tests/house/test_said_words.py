"""Every key that is said has its words, every text of the catalogue is said, and by its values."""

import ast
from pathlib import Path
from string import Formatter

import pytest

from barrelfit.acquire.journal.events import VERSION_OF, kind_of
from barrelfit.acquire.journal.sentences import SPECIAL
from barrelfit.rules.said import QUANTITIES
from barrelfit.rules.words import ENGLISH, LISTS, TABLES

ROOT = Path(__file__).parents[2]
ROOMS = ("rules", "acquire", "dashboard", "drivers")


def calls() -> list[tuple[str, str | None, frozenset[str]]]:
    """Each `said(...)`: where it stands, its key (None: no literal), its values' names."""
    found = []
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*.py")):
            text = path.read_text(encoding="utf-8")
            if "said(" not in text:
                continue
            for node in ast.walk(ast.parse(text)):
                if (
                    isinstance(node, ast.Call)
                    and _is_said(node.func)
                    and path.name not in {"said.py", "coded.py"}
                ):
                    where = f"{path.relative_to(ROOT)}:{node.lineno}"
                    found.append((where, *_of(node)))
    return found


def _is_said(called: ast.expr) -> bool:
    return isinstance(called, ast.Name) and called.id == "said"


def _of(node: ast.Call) -> tuple[str | None, frozenset[str]]:
    (first,) = node.args
    key = first.value if isinstance(first, ast.Constant) else None
    return key, frozenset(one.arg or "**" for one in node.keywords)


CALLS = calls()


def names(text: str) -> frozenset[str]:
    return frozenset(name for _, name, _, _ in Formatter().parse(text) if name is not None)


def test_there_are_calls():
    assert len(CALLS) > 250


def test_each_is_said_with_a_key_that_has_words_and_with_the_values_of_its_text():
    wrong = [
        (where, key)
        for where, key, values in CALLS
        if key is None or key not in ENGLISH or values != names(ENGLISH[key])
    ]
    assert not wrong


def test_each_text_is_said_somewhere_and_stands_once():
    by_fields = {f"kind_{kind_of(kind)}" for kind in VERSION_OF if kind not in SPECIAL}
    assert set(ENGLISH) - {key for _, key, _ in CALLS} - by_fields == set()
    assert sum(map(len, TABLES)) == len(ENGLISH)
    assert not set(ENGLISH) & QUANTITIES


@pytest.mark.parametrize("kind", [k for k in VERSION_OF if k not in SPECIAL], ids=kind_of)
def test_a_kind_of_record_is_told_by_its_own_fields(kind):
    """`acquire.journal.sentences.sentence_of` fills its text with them."""
    fields = getattr(kind, "__struct_fields__", None) or kind.__dataclass_fields__
    values = {"celsius" if f == "milli_celsius" else f.removesuffix("_nm") for f in fields}
    assert names(ENGLISH[f"kind_{kind_of(kind)}"]) <= values


def test_every_text_can_be_told():
    for key, text in ENGLISH.items():
        for _, name, spec, conversion in Formatter().parse(text):
            assert name is None or (name.isidentifier() and not conversion), key
            assert not spec or spec in LISTS, key
