"""Barrels: kind, head seal and height group, which are no sizes of the bore."""

from barrelfit.rules.compare import Found
from barrelfit.rules.model import Severity


def kind_unknown(kind: str, kinds: tuple[str, ...]) -> Found | None:
    """H101: how the bore is made is not known, or is no kind this engine was built with.

    Okay: kind plated kinds plated
    Found undecided: kind - kinds plated
    Found undecided: kind all-iron kinds plated
    """
    if kind in kinds:
        return None
    seen = f"'{kind}' is no kind of barrel" if kind else "the kind of barrel is not given"
    sentence = f"{seen}; this engine was built with: {', '.join(kinds)}"
    advice = "find out how the bore is made (a magnet tells iron) before any work on it"
    return Found("H101", Severity.UNDECIDED, sentence, advice)


def seal_unsuited(seal: str, head_seal: str) -> Found | None:
    """H102: the barrel's seal to the head is not the one the engine's heads have.

    Okay: seal spigot head_seal spigot
    Found undecided: seal flat head_seal spigot
    Found undecided: seal - head_seal spigot
    """
    if seal and seal == head_seal:
        return None
    seen = (
        f"the barrel is made for a {seal} seal" if seal else "the barrel's head seal is not given"
    )
    sentence = f"{seen}, the engine's heads have {head_seal or 'a seal nobody named'}"
    return Found("H102", Severity.UNDECIDED, sentence, "do not fit it to these heads")


def seal_not_of_kind(seal: str, seals: tuple[str, ...]) -> Found | None:
    """H103: a barrel of this kind was never made with this seal: kind or seal was misread.

    Okay: seal spigot seals spigot
    Okay: seal - seals spigot
    Found undecided: seal flat seals spigot
    """
    if not seal or seal in seals:
        return None
    sentence = f"a barrel of this kind has {' or '.join(seals)}, not a {seal} seal"
    return Found("H103", Severity.UNDECIDED, sentence, "look at kind and seal again")


def height_unknown(mark: str, groups: tuple[str, ...]) -> Found | None:
    """H104: the barrel's height group is not marked, or is not on the sheet.

    Okay: mark 1 groups 1,2
    Found undecided: mark 3 groups 1,2
    Found undecided: mark - groups 1,2
    """
    if mark in groups:
        return None
    seen = f"height group '{mark}'" if mark else "no height group"
    sentence = f"{seen} is marked; the sheet has {', '.join(groups)}"
    advice = "measure the height and give its group; one bank needs one group"
    return Found("H104", Severity.UNDECIDED, sentence, advice)


def look_not_of_kind(code: str, kind: str, *, belongs: bool) -> Found | None:
    """H105: the eye saw what a barrel of this kind can't have: kind or look is wrong.

    Okay: code peeling-plating kind plated belongs yes
    Found undecided: code peeling-plating kind all-iron belongs no
    Found undecided: code loose-liner kind all-iron belongs no
    """
    if belongs:
        return None
    sentence = f"'{code}' was seen, which a barrel of kind {kind} can't have"
    advice = "find out how the bore is made (a magnet tells iron), and look again"
    return Found("H105", Severity.UNDECIDED, sentence, advice)


RULES = (kind_unknown, seal_unsuited, seal_not_of_kind, height_unknown, look_not_of_kind)
