"""A language that nobody speaks: whatever still has letters on a page came from no catalogue."""

import re
import tomllib
from string import Formatter

import barrelfit.acquire.report.words
import barrelfit.dashboard.words
import barrelfit.rules.words

CATALOGUES = (
    barrelfit.rules.words.ENGLISH,
    barrelfit.rules.words.LISTS,
    barrelfit.acquire.report.words.ENGLISH,
    barrelfit.dashboard.words.ENGLISH,
)
UNITS = {"mm", "in", "inch", "ten", "thou", "m", "g", "s", "N", "C"}  # µm, °C


def speak_it(patch):
    """Put the language in place of English in every catalogue."""
    for catalogue in CATALOGUES:
        for key, text in catalogue.items():
            patch.setitem(catalogue, key, foreign(text))


def foreign(text):
    """A text with another letter for each of its own, its placeholders as they are.

    >>> foreign("limit {limit}: {parts:and}")
    'øøøøø {limit}: {parts:and}'
    """
    parts = []
    for literal, name, spec, _ in Formatter().parse(text):
        parts.append(re.sub("[A-Za-z]", "ø", literal))
        if name is not None:
            parts.append(f"{{{name}:{spec}}}" if spec else f"{{{name}}}")
    return "".join(parts)


def words(text):
    """The words of a text in our own letters, codes and hashes left out."""
    text = re.sub(r"\S+/\S+|\b(?=\w*\d)\w+\b", " ", text)  # P1/skirt, K101, a hash
    return set(re.findall("[A-Za-z]+", text))


def named_in(*texts):
    """Words of what somebody named: every value of these TOML files, and none of their keys."""
    found = set()

    def walk(value):
        if isinstance(value, dict):
            for one in value.values():
                walk(one)
        elif isinstance(value, list):
            for one in value:
                walk(one)
        elif isinstance(value, str):
            found.update(words(value))

    for text in texts:
        walk(tomllib.loads(text))
    return found
