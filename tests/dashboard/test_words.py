"""The table of words: every text that is asked for is there, and nothing in it is unused."""

import re
import string
from pathlib import Path

from barrelfit import dashboard
from barrelfit.dashboard.words import ENGLISH, say, say_or_raw

ROOM = Path(dashboard.__file__).parent
# Families of keys that are put together from a prefix and a word that came over the bus.
FAMILIES = (
    "fact_",
    "fit_",
    "job_",
    "cue_",
    "col_",
    "far_",
    "feature_",
    "helper_",
    "mark_",
    "need_",
    "of_",
    "pedal_",
    "page_",
    "told_",
    "way_",
)


def sources():
    files = [f for kind in ("py", "js", "html") for f in ROOM.rglob(f"*.{kind}")]
    return "\n".join(f.read_text(encoding="utf-8") for f in files if f.name != "words.py")


def test_every_text_asked_for_is_there():
    asked = set(re.findall(r'\bsay(?:_or_raw)?\(\s*"(\w+)"', sources()))
    assert {key for key in asked if key not in FAMILIES} - set(ENGLISH) == set()


def test_no_text_is_unused():
    text = sources()
    unused = [
        key
        for key in ENGLISH
        if not key.startswith(FAMILIES) and not re.search(rf"\b{key}\b", text)
    ]
    assert unused == []


def test_parts_of_a_text_are_named():
    for key, text in ENGLISH.items():
        for _, name, spec, _ in string.Formatter().parse(text):
            assert name is None or (name.isidentifier() and not spec), key


def test_a_word_this_board_has_not_is_shown_as_it_came():
    assert say_or_raw("splendid") == "splendid"
    assert say("progress", done=1, total=2) == "1 of 2"


def test_no_english_stands_in_the_scripts():
    """Words of two letters and more between quotes in the scripts are keys or names, no texts."""
    for script in ROOM.rglob("*.js"):
        code = re.sub(r"//.*", "", script.read_text(encoding="utf-8"))
        for text in re.findall(r"'([^'\n]*)'", code):
            assert not re.search(r"[A-Za-z]{2,} [a-z]{2,}", text) or "px" in text, (script, text)
