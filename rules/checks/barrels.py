"""Barrels: kind, head seal and height group, which are no sizes of the bore."""

from typing import Final

from barrelfit.rules.compare import Found
from barrelfit.rules.model import Severity
from barrelfit.rules.said import said


def kind_unknown(kind: str, kinds: tuple[str, ...]) -> Found | None:
    """H101: how the bore is made is not known, or is no kind this engine was built with.

    Okay: kind plated kinds plated
    Found undecided: kind - kinds plated
    Found undecided: kind all-iron kinds plated
    """
    if kind in kinds:
        return None
    seen = said("no_kind", kind=kind) if kind else said("kind_not_given")
    sentence = said("kind_unknown", seen=seen, kinds=kinds)
    advice = said("do_find_kind")
    return Found("H101", Severity.UNDECIDED, sentence, advice)


def seal_unsuited(seal: str, head_seal: str) -> Found | None:
    """H102: the barrel's seal to the head is not the one the engine's heads have.

    Okay: seal spigot head_seal spigot
    Found undecided: seal flat head_seal spigot
    Found undecided: seal - head_seal spigot
    """
    if seal and seal == head_seal:
        return None
    seen = said("made_for_seal", seal=seal) if seal else said("seal_not_given")
    sentence = said("seal_unsuited", seen=seen, heads=head_seal or said("seal_not_named"))
    return Found("H102", Severity.UNDECIDED, sentence, said("do_not_fit"))


def seal_not_of_kind(seal: str, seals: tuple[str, ...]) -> Found | None:
    """H103: a barrel of this kind was never made with this seal: kind or seal was misread.

    Okay: seal spigot seals spigot
    Okay: seal - seals spigot
    Found undecided: seal flat seals spigot
    """
    if not seal or seal in seals:
        return None
    sentence = said("seal_not_of_kind", seals=seals, seal=seal)
    return Found("H103", Severity.UNDECIDED, sentence, said("do_look_at_kind_and_seal"))


def height_unknown(mark: str, groups: tuple[str, ...]) -> Found | None:
    """H104: the barrel's height group is not marked, or is not on the sheet.

    Okay: mark 1 groups 1,2
    Found undecided: mark 3 groups 1,2
    Found undecided: mark - groups 1,2
    """
    if mark in groups:
        return None
    seen = said("height_group_marked", mark=mark) if mark else said("no_height_group")
    sentence = said("height_unknown", seen=seen, groups=groups)
    advice = said("do_measure_height")
    return Found("H104", Severity.UNDECIDED, sentence, advice)


def look_not_of_kind(code: str, kind: str, *, belongs: bool) -> Found | None:
    """H105: the eye saw what a barrel of this kind can't have: kind or look is wrong.

    Okay: code peeling-plating kind plated belongs yes
    Found undecided: code peeling-plating kind all-iron belongs no
    Found undecided: code loose-liner kind all-iron belongs no
    """
    if belongs:
        return None
    sentence = said("look_not_of_kind", code=code, kind=kind)
    advice = said("do_find_kind_and_look")
    return Found("H105", Severity.UNDECIDED, sentence, advice)


RULES = (kind_unknown, seal_unsuited, seal_not_of_kind, height_unknown, look_not_of_kind)

WORDS: Final[dict[str, str]] = {
    "no_kind": "'{kind}' is no kind of barrel",
    "kind_not_given": "the kind of barrel is not given",
    "kind_unknown": "{seen}; this engine was built with: {kinds}",
    "do_find_kind": "find out how the bore is made (a magnet tells iron) before any work on it",
    "made_for_seal": "the barrel is made for a {seal} seal",
    "seal_not_given": "the barrel's head seal is not given",
    "seal_unsuited": "{seen}, the engine's heads have {heads}",
    "seal_not_named": "a seal nobody named",
    "do_not_fit": "do not fit it to these heads",
    "seal_not_of_kind": "a barrel of this kind has {seals:or}, not a {seal} seal",
    "do_look_at_kind_and_seal": "look at kind and seal again",
    "height_group_marked": "height group '{mark}'",
    "no_height_group": "no height group",
    "height_unknown": "{seen} is marked; the sheet has {groups}",
    "do_measure_height": "measure the height and give its group; one bank needs one group",
    "look_not_of_kind": "'{code}' was seen, which a barrel of kind {kind} can't have",
    "do_find_kind_and_look": "find out how the bore is made (a magnet tells iron), and look again",
}
