"""The keys of a profile, as its reader asks for them: nothing says them a second time."""

from typing import Any

from barrelfit.drivers.profile import FRAME_KINDS, SCHEMA, read_profile
from barrelfit.drivers.schema import Asked, Keys, Table


class _Everything(dict[str, Any]):
    """A table that has every key, but `but`; none of its values is of any use."""

    def __init__(self, but: str = "", **given: object) -> None:
        super().__init__(given)
        self._but = but

    def __contains__(self, key: object) -> bool:
        return key != self._but

    def __missing__(self, key: str) -> "_Everything":
        return _Everything()


def profile_keys() -> Keys:
    """What is asked of each key, in whatever sort of profile; an entry of an array is 0."""
    runs = [_asked(kind, but) for kind in FRAME_KINDS for but in ("count", "")]
    merged: Keys = {("schema",): Asked(int, needed=True, low=SCHEMA, high=SCHEMA)}
    for path in dict.fromkeys(path for run in runs for path in run):
        where = [run for run in runs if path[:-1] in {(), *(p[:-1] for p in run)}]
        asked = [run[path] for run in where if path in run]
        needed = len(asked) == len(where) and all(one.needed for one in asked)
        merged[path] = Asked(asked[0].sort, needed, asked[0].choices, asked[0].low, asked[0].high)
    return merged


def _asked(kind: str, but: str) -> Keys:
    example = [_Everything(outcome=[_Everything()]) if but else _Everything("hex")]
    lists = {"fault": [_Everything()], "note": [_Everything()], "example": example}
    keys: Keys = {}
    read_profile(Table(_Everything(but, frame=_Everything(kind=kind), **lists), (), [], keys))
    return keys
