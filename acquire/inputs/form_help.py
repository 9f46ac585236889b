"""The keys of a form as help: written path, kind in plain words, meaning."""

from collections.abc import Iterator

from barrelfit.rules.engine.form import Form, Key

_KINDS = {
    "length": "length, 0 or more",
    "size": "length above 0",
    "sizes": "list of lengths",
    "mass": "grams",
    "celsius": "degrees Celsius",
    "ratio": "ratio, 0 to 1",
    "real": "number, 0 or more",
    "count": "whole number",
    "counts": "list of numbers",
    "text": "text",
    "texts": "list of texts",
    "flag": "true or false",
    "flags": "list of true/false",
    "table": "table",
    "tables": "list of tables",
    "grid": "depth.direction",
    "names": "depth.direction",
}


def form_lines(form: Form, prefix: str = "") -> Iterator[dict[str, str]]:
    """One line a key, tables before what they hold; optional keys are marked in the meaning."""
    for key in form.keys:
        written = f"{prefix}{key.name}"
        yield {"key": written, "kind": _KINDS[key.kind], "meaning": _meaning(key)}
        if key.form is not None:
            mark = "[]." if key.kind == "tables" else "."
            yield from form_lines(key.form, f"{written}{mark}")


def _meaning(key: Key) -> str:
    choices = f" ({', '.join(key.choices)})" if key.choices else ""
    return f"{key.meaning}{choices}{'' if key.required else '; may be left out'}"
