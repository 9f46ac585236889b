"""Reads the small published tables beside the tests; the source stands at the head of each."""

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"


def rows_of(name: str) -> list[dict[str, str]]:
    """The rows of `data/<name>`, by column title; lines that start with # name the source."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def column_of(name: str, title: str) -> list[str]:
    """One column of `data/<name>`, as text."""
    return [row[title] for row in rows_of(name)]
