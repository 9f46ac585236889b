"""Whether anything may rest on the sizes by which a part fits another: its skirt, or its bore."""

from dataclasses import replace
from typing import Final

from barrelfit.rules.checks import entries
from barrelfit.rules.compare import Found
from barrelfit.rules.judge.bore import apart
from barrelfit.rules.judge.evidence import Evidence
from barrelfit.rules.judge.part import second_place
from barrelfit.rules.judge.twice import doubt_nm
from barrelfit.rules.said import said

FITS: Final = frozenset({"skirt", "bore"})


def size_doubts(evidence: Evidence, part_id: str) -> tuple[Found, ...]:
    """Why nothing may rest on them: what stands is one answer of two.

    Two sweeps of a place do not agree, one sweep alone says that the part is worn out, it may be
    another part than it is named, or two places of a bore are further apart than any wear.
    """
    sizes = [s for s in evidence.sizes.values() if s.at.part == part_id and s.at.feature in FITS]
    if evidence.firsts is None:
        return ()
    pairs = [(evidence.firsts[s.at], s) for s in sizes if s.at in evidence.firsts]
    places = {s.at for s in sizes}
    found: list[Found | None] = [*apart(evidence, part_id)]
    found += [entries.measured_apart(a.size_nm, b.size_nm, doubt_nm(a, b)) for a, b in pairs]
    second = second_place(evidence, part_id)
    if second in places:
        found.append(entries.once_more(str(second), twice=False))
    asked = (q for q in evidence.questions if q.at in places)
    found += [entries.left_open(str(q.at), q.sentence) for q in asked]
    return tuple(
        f
        if f.code == "T101"
        else replace(f, sentence=said("of_place", at=part_id, what=f.sentence))
        for f in found
        if f is not None
    )
