"""Marks: what is stamped on a part against the sheet, against other marks, and legible or not."""

from barrelfit.rules.compare import Found
from barrelfit.rules.length import shown
from barrelfit.rules.model import Severity


def stamp_of_another_group(
    stamp_nm: int, said_size_nm: int, said: str, fits: tuple[str, ...]
) -> Found | None:
    """K101: the stamped size is not the one of the group the engine is said to have.

    The stamp is what the part is judged against; where it comes from is named.

    Okay: stamp 84.93 said_size 84.93 said variant_early,_group_I fits variant_early,_group_I
    Found note: stamp 84.945 said_size 84.93 said variant_early,_group_I fits variant_late,_group_I
    Okay: stamp 84.945 said_size 84.93 said variant_early,_group_I fits -
    """
    if stamp_nm == said_size_nm or not fits:
        return None
    sentence = (
        f"stamped {shown(stamp_nm)}, where {said} has {shown(said_size_nm)}: the stamp fits "
        f"{' or '.join(fits)}, and the part is judged against its stamp"
    )
    advice = "find out where this part comes from before it is mixed with the others"
    return Found("K101", Severity.NOTE, sentence, advice, stamp_nm, said_size_nm)


def stamp_fits_nothing(stamp_nm: int, fits: tuple[str, ...]) -> Found | None:
    """K102: no size group of the sheet has the stamped size.

    Okay: stamp 84.94 fits variant_early,_group_II
    Found undecided: stamp 84.91 fits -
    """
    if fits:
        return None
    sentence = f"stamped {shown(stamp_nm)}, which fits no size group of the sheet"
    advice = "read the stamp again; if it stands, find this part's own sheet"
    return Found("K102", Severity.UNDECIDED, sentence, advice, stamp_nm)


def mark_unreadable(mark: str) -> Found | None:
    """K103: a mark can't be read; what it would have said is taken from elsewhere.

    Okay: mark -
    Found note: mark size
    """
    if not mark:
        return None
    sentence = f"the {mark} mark can't be read; the next source that knows is used"
    return Found(
        "K103", Severity.NOTE, sentence, "clean the mark and look again under slanting light"
    )


def marks_contradict(stamp_nm: int, mark: str, mark_sizes_nm: tuple[int, ...]) -> Found | None:
    """K104: size and group stamped on one part belong to no one group.

    Okay: stamp 84.94 mark II mark_sizes 84.94,84.955
    Found undecided: stamp 84.97 mark II mark_sizes 84.94,84.955
    """
    if stamp_nm in mark_sizes_nm:
        return None
    sizes = " or ".join(shown(s) for s in mark_sizes_nm)
    sentence = f"stamped {shown(stamp_nm)} and group {mark}, but group {mark} has {sizes}"
    advice = "read both marks again; one of them is wrong or the part was restamped"
    return Found("K104", Severity.UNDECIDED, sentence, advice, stamp_nm)


def size_unknown(*, known: bool) -> Found | None:
    """K105: neither stamp nor override nor size group says what size the part was when new.

    Okay: known yes
    Found undecided: known no
    """
    if known:
        return None
    sentence = "the original size is not known: no legible stamp, and no size group is given"
    advice = "read the stamp, or give the engine's group"
    return Found("K105", Severity.UNDECIDED, sentence, advice)


def override_beaten(quantity: str, signed_by: str, *, stamped: bool) -> Found | None:
    """K106: an override says what a legible stamp already says; the stamp comes first.

    Okay: quantity skirt.size signed_by QA stamped no
    Found note: quantity skirt.size signed_by QA stamped yes
    """
    if not stamped:
        return None
    sentence = f"the override of {quantity} by {signed_by} gives way to the stamp on the part"
    return Found("K106", Severity.NOTE, sentence)


def stamp_of_another_variant(stamp_nm: int, variant: str, fits: tuple[str, ...]) -> Found | None:
    """K107: the stamped size belongs to another variant than the engine is said to be.

    Okay: stamp 84.94 variant early fits variant_early,_group_II
    Okay: stamp 84.94 variant early fits variant_late,_group_III;variant_early,_group_II
    Found note: stamp 84.955 variant early fits variant_late,_group_II
    """
    if not fits or any(f.startswith(f"variant {variant}, ") for f in fits):
        return None
    sentence = (
        f"stamped {shown(stamp_nm)}, and the engine is said to be variant {variant}: "
        f"the stamp fits {' or '.join(fits)}, and the part is judged against its stamp"
    )
    advice = "find out where this part comes from before it is mixed with the others"
    return Found("K107", Severity.NOTE, sentence, advice, stamp_nm)


def group_mark_of_another(mark: str, said: str) -> Found | None:
    """K108: the group stamped on the part is not the one the engine is said to have.

    Okay: mark II said II
    Okay: mark - said II
    Okay: mark II said -
    Found note: mark III said II
    """
    if not mark or not said or mark == said:
        return None
    sentence = (
        f"stamped group {mark}, where the engine is said to be group {said}: "
        "the part is judged against its stamp"
    )
    advice = "find out where this part comes from before it is mixed with the others"
    return Found("K108", Severity.NOTE, sentence, advice)


def read_and_unreadable(mark: str, *, given: bool) -> Found | None:
    """K109: a mark is said to be unreadable, and what it says is given.

    Okay: mark size given no
    Found undecided: mark size given yes
    """
    if not given:
        return None
    sentence = f"the {mark} mark is said to be unreadable, and yet it is given"
    return Found("K109", Severity.UNDECIDED, sentence, "look at the mark again, and put down one")


def override_beyond_sheet(quantity: str, value_nm: int, sheet_nm: int, by: str) -> Found | None:
    """K110: an override allows more than the sheet: it holds, and it is named.

    Okay: quantity taper.max value 0.030 sheet 0.040 by QA
    Okay: quantity clearance.min value 0.050 sheet 0.040 by QA
    Found note: quantity taper.max value 0.060 sheet 0.040 by QA
    Found note: quantity clearance.min value 0.030 sheet 0.040 by QA
    """
    looser = value_nm < sheet_nm if quantity == "clearance.min" else value_nm > sheet_nm
    if not looser:
        return None
    sentence = (
        f"the override of {quantity} by {by} allows {shown(value_nm)}, "
        f"the sheet {shown(sheet_nm)}: the override holds"
    )
    advice = "the maker's limit is exceeded on somebody's word: see that it is meant so"
    return Found("K110", Severity.NOTE, sentence, advice, value_nm, sheet_nm, f"override by {by}")


RULES = (
    stamp_of_another_group,
    stamp_fits_nothing,
    mark_unreadable,
    marks_contradict,
    size_unknown,
    override_beaten,
    stamp_of_another_variant,
    group_mark_of_another,
    read_and_unreadable,
    override_beyond_sheet,
)
