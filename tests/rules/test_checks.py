"""Every rule's docstring is its test; the list of rules is explicit and whole."""

import inspect
import pkgutil
import re
from collections.abc import Callable
from decimal import Decimal

import pytest

from barrelfit.rules import checks
from barrelfit.rules.compare import Found, Value
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.length import to_nm
from barrelfit.rules.manner import told
from barrelfit.rules.model import Verdict
from barrelfit.rules.said import Said, said, written

ALL = [rule for family in checks.FAMILIES for rule in family]
CASE = re.compile(r"(Okay|Found (?:note|undecided|rework|discard)): (.+)")


def _mm(text: str) -> int:
    return to_nm(Decimal(text), "mm")


def _limit(text: str) -> Limit:
    low, high = text.split("..")
    return Limit(
        _mm(low) if low else None, _mm(high) if high else None, written("sheet"), written("sheet")
    )


def _value(text: str) -> Value:
    nm, u_nm = text.split("±")
    return Value(_mm(nm), float(_mm(u_nm)))


def _texts(text: str) -> tuple[str, ...]:
    return () if text == "-" else tuple(t.replace("_", " ") for t in re.split("[;]", text))


def _groups(text: str) -> tuple[Said, ...]:
    found = re.findall(r"variant_(\w+?),_group_(\w+)", text)
    return tuple(said("size_group", variant=variant, group=group) for variant, group in found)


def _argument(name: str, annotation: object, text: str) -> object:
    readers: dict[object, Callable[[str], object]] = {
        Value: _value,
        Limit: _limit,
        bool: {"yes": True, "no": False}.__getitem__,
        str: lambda t: "" if t == "-" else t.replace("_", " "),
        Said: lambda t: written("" if t == "-" else t.replace("_", " ")),
        Verdict: Verdict,
        tuple[Said, ...]: _groups,
        tuple[str, ...]: lambda t: _texts(
            t.replace(",_", "\0").replace(",", ";").replace("\0", ",_")
        ),
        tuple[int, ...]: lambda t: tuple(_mm(x) for x in t.split(",")),
        int: _mm if name.endswith("_nm") else int,
    }
    return readers[annotation](text)


def _arguments(rule: Callable[..., Found | None], text: str) -> dict[str, object]:
    words = text.split()
    given = {n.removesuffix("_nm"): v for n, v in zip(words[::2], words[1::2], strict=True)}
    signature = inspect.signature(rule, eval_str=True)
    short = {n.removesuffix("_nm").removesuffix("s_nm"): p for n, p in signature.parameters.items()}
    assert set(given) == set(short), f"{rule.__name__}: {given} for {list(short)}"
    return {p.name: _argument(p.name, p.annotation, given[n]) for n, p in short.items()}


def _cases() -> list[tuple[Callable[..., Found | None], str, str]]:
    return [(r, *m.groups()) for r in ALL for m in CASE.finditer(r.__doc__ or "")]


@pytest.mark.parametrize(
    ("rule", "outcome", "text"), _cases(), ids=lambda v: getattr(v, "__name__", None) or str(v)
)
def test_case_of_a_docstring(rule, outcome, text):
    found = rule(**_arguments(rule, text))
    if outcome == "Okay":
        assert found is None
        return
    assert found is not None
    assert found.severity.name.lower() == outcome.removeprefix("Found ")
    assert found.code == rule.__doc__[:4]
    assert told(found.sentence)


def test_the_list_is_whole():
    listed = set(ALL)
    for module in pkgutil.iter_modules(checks.__path__):
        family = __import__(f"barrelfit.rules.checks.{module.name}", fromlist=["RULES"])
        public = {
            f
            for name, f in inspect.getmembers(family, inspect.isfunction)
            if not name.startswith("_") and f.__module__ == family.__name__
        }
        assert public == set(family.RULES), module.name
        assert public <= listed, module.name


def test_codes_are_unique_and_every_rule_has_both_kinds_of_case():
    codes = [(r.__doc__ or "")[:5] for r in ALL]
    assert all(re.fullmatch(r"[A-Z]\d{3}:", c) for c in codes)
    assert len(set(codes)) == len(codes)
    for rule in ALL:
        outcomes = {m.group(1)[:5] for m in CASE.finditer(rule.__doc__ or "")}
        assert outcomes == {"Okay", "Found"}, rule.__name__


def test_a_rule_is_small():
    for rule in ALL:
        lines = inspect.getsource(rule).splitlines()
        code = len(lines) - len((rule.__doc__ or "").splitlines())
        assert code <= 25, f"{rule.__name__} has {code} lines"
