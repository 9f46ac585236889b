"""What this room says, as a key with its exact values: words are put in where somebody reads it.

This room knows no catalogue; the keys are looked up in that of the rules (`acquire.coded`).
"""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Coded:
    """A `key` and the values for the placeholders of its text; an empty key says nothing."""

    key: str = ""
    values: "dict[str, Value]" = field(default_factory=dict)

    def __hash__(self) -> int:
        """Equal ones have equal hashes; nobody changes `values`."""
        return hash((self.key, tuple(self.values.items())))

    def __bool__(self) -> bool:
        """Whether anything is said."""
        return bool(self.key)


Value = int | str | Coded | tuple[int | str | Coded, ...]
NOTHING = Coded()


def said(key: str, /, **values: Value) -> Coded:
    """Say something: a key, and a value for each placeholder of its text."""
    return Coded(key, values)


def written(text: str) -> Coded:
    """A text as somebody wrote it, in a profile."""
    return Coded("written", {"text": text}) if text else NOTHING
