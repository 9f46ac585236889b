"""Marks: what is stamped on a part against the sheet, against other marks, and legible or not."""

from typing import Final

from barrelfit.rules.compare import Found
from barrelfit.rules.model import Severity
from barrelfit.rules.said import Said, length, said

_MARKS = {
    "size": said("mark_size"),
    "group": said("mark_group"),
    "clearance": said("mark_clearance"),
    "pin-class": said("mark_pin_class"),
    "weight-class": said("mark_weight_class"),
    "direction": said("mark_direction"),
    "height-group": said("mark_height_group"),
}


def stamp_of_another_group(
    stamp_nm: int, said_size_nm: int, group: Said, fits: tuple[Said, ...]
) -> Found | None:
    """K101: the stamped size is not the one of the group the engine is said to have.

    The stamp is what the part is judged against; where it comes from is named.

    Okay: stamp 84.93 said_size 84.93 group variant_early,_group_I fits variant_early,_group_I
    Found note: stamp 84.945 said_size 84.93 group variant_early,_group_I fits variant_late,_group_I
    Okay: stamp 84.945 said_size 84.93 group variant_early,_group_I fits -
    """
    if stamp_nm == said_size_nm or not fits:
        return None
    sentence = said(
        "stamp_of_another_group",
        stamp=length(stamp_nm),
        group=group,
        size=length(said_size_nm),
        fits=fits,
    )
    advice = said("do_find_where_from")
    return Found("K101", Severity.NOTE, sentence, advice, stamp_nm, said_size_nm)


def stamp_fits_nothing(stamp_nm: int, fits: tuple[Said, ...]) -> Found | None:
    """K102: no size group of the sheet has the stamped size.

    Okay: stamp 84.94 fits variant_early,_group_II
    Found undecided: stamp 84.91 fits -
    """
    if fits:
        return None
    sentence = said("stamp_fits_nothing", stamp=length(stamp_nm))
    advice = said("do_read_stamp_or_find_sheet")
    return Found("K102", Severity.UNDECIDED, sentence, advice, stamp_nm)


def mark_unreadable(mark: str) -> Found | None:
    """K103: a mark can't be read; what it would have said is taken from elsewhere.

    Okay: mark -
    Found note: mark size
    """
    if not mark:
        return None
    sentence = said("mark_unreadable", mark=_MARKS[mark])
    return Found("K103", Severity.NOTE, sentence, said("do_clean_mark"))


def marks_contradict(stamp_nm: int, mark: str, mark_sizes_nm: tuple[int, ...]) -> Found | None:
    """K104: size and group stamped on one part belong to no one group.

    Okay: stamp 84.94 mark II mark_sizes 84.94,84.955
    Found undecided: stamp 84.97 mark II mark_sizes 84.94,84.955
    """
    if stamp_nm in mark_sizes_nm:
        return None
    sizes = tuple(length(nm) for nm in mark_sizes_nm)
    sentence = said("marks_contradict", stamp=length(stamp_nm), mark=mark, sizes=sizes)
    return Found("K104", Severity.UNDECIDED, sentence, said("do_read_both_marks"), stamp_nm)


def size_unknown(*, known: bool) -> Found | None:
    """K105: neither stamp nor override nor size group says what size the part was when new.

    Okay: known yes
    Found undecided: known no
    """
    if known:
        return None
    return Found("K105", Severity.UNDECIDED, said("size_unknown"), said("do_read_stamp_or_group"))


def override_beaten(quantity: str, signed_by: str, *, stamped: bool) -> Found | None:
    """K106: an override says what a legible stamp already says; the stamp comes first.

    Okay: quantity skirt.size signed_by QA stamped no
    Found note: quantity skirt.size signed_by QA stamped yes
    """
    if not stamped:
        return None
    sentence = said("override_beaten", quantity=quantity, by=signed_by)
    return Found("K106", Severity.NOTE, sentence)


def stamp_of_another_variant(stamp_nm: int, variant: str, fits: tuple[Said, ...]) -> Found | None:
    """K107: the stamped size belongs to another variant than the engine is said to be.

    Okay: stamp 84.94 variant early fits variant_early,_group_II
    Okay: stamp 84.94 variant early fits variant_late,_group_III;variant_early,_group_II
    Found note: stamp 84.955 variant early fits variant_late,_group_II
    """
    if not fits or any(f.values["variant"] == variant for f in fits):
        return None
    stamp = length(stamp_nm)
    sentence = said("stamp_of_another_variant", stamp=stamp, variant=variant, fits=fits)
    return Found("K107", Severity.NOTE, sentence, said("do_find_where_from"), stamp_nm)


def group_mark_of_another(mark: str, group: str) -> Found | None:
    """K108: the group stamped on the part is not the one the engine is said to have.

    Okay: mark II group II
    Okay: mark - group II
    Okay: mark II group -
    Found note: mark III group II
    """
    if not mark or not group or mark == group:
        return None
    sentence = said("group_mark_of_another", mark=mark, group=group)
    return Found("K108", Severity.NOTE, sentence, said("do_find_where_from"))


def read_and_unreadable(mark: str, *, given: bool) -> Found | None:
    """K109: a mark is said to be unreadable, and what it says is given.

    Okay: mark size given no
    Found undecided: mark size given yes
    """
    if not given:
        return None
    sentence = said("read_and_unreadable", mark=_MARKS[mark])
    return Found("K109", Severity.UNDECIDED, sentence, said("do_look_at_mark"))


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
    allowed, sheet = length(value_nm), length(sheet_nm)
    sentence = said("override_beyond_sheet", quantity=quantity, by=by, allowed=allowed, sheet=sheet)
    advice, origin = said("do_see_override_is_meant"), said("override_by", by=by)
    return Found("K110", Severity.NOTE, sentence, advice, value_nm, sheet_nm, origin)


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

WORDS: Final[dict[str, str]] = {
    "mark_size": "size",
    "mark_group": "group",
    "mark_clearance": "clearance",
    "mark_pin_class": "pin-class",
    "mark_weight_class": "weight-class",
    "mark_direction": "direction",
    "mark_height_group": "height-group",
    "stamp_of_another_group": "stamped {stamp}, where {group} has {size}: the stamp fits {fits:or},"
    " and the part is judged against its stamp",
    "do_find_where_from": "find out where this part comes from before it is mixed with the others",
    "stamp_fits_nothing": "stamped {stamp}, which fits no size group of the sheet",
    "do_read_stamp_or_find_sheet": "read the stamp again; if it stands, find this part's own sheet",
    "mark_unreadable": "the {mark} mark can't be read; the next source that knows is used",
    "do_clean_mark": "clean the mark and look again under slanting light",
    "marks_contradict": "stamped {stamp} and group {mark}, but group {mark} has {sizes:or}",
    "do_read_both_marks": "read both marks again; one of them is wrong or the part was restamped",
    "size_unknown": "the original size is not known: no legible stamp, and no size group is given",
    "do_read_stamp_or_group": "read the stamp, or give the engine's group",
    "override_beaten": "the override of {quantity} by {by} gives way to the stamp on the part",
    "stamp_of_another_variant": "stamped {stamp}, and the engine is said to be variant {variant}:"
    " the stamp fits {fits:or}, and the part is judged against its stamp",
    "group_mark_of_another": "stamped group {mark}, where the engine is said to be group {group}:"
    " the part is judged against its stamp",
    "read_and_unreadable": "the {mark} mark is said to be unreadable, and yet it is given",
    "do_look_at_mark": "look at the mark again, and put down one",
    "override_beyond_sheet": "the override of {quantity} by {by} allows {allowed}, the sheet"
    " {sheet}: the override holds",
    "do_see_override_is_meant": "the maker's limit is exceeded on somebody's word: see that it is"
    " meant so",
    "override_by": "override by {by}",
}
