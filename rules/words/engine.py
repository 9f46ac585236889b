"""What `rules.engine` says of sheets, limits and looks, and of slips of the hand."""

from typing import Final

ENGINE: Final[dict[str, str]] = {
    # what the eye sees
    "seen_cracked": "a crack is seen",
    "seen_overheated": "colour or softening shows that it was too hot",
    "seen_scored_skirt": "the skirt is scored",
    "seen_broken_ring_land": "a ring land is broken or loose",
    "seen_damaged_crown": "the crown is burnt or struck",
    "seen_damaged_pin_area": "the pin area is torn or beaten out",
    "seen_light_scuffing": "the skirt is lightly scuffed",
    "seen_scored_bore": "the bore is scored",
    "seen_peeling_plating": "the plating peels or is through",
    "seen_broken_fins": "cooling fins are broken off",
    "seen_cracked_fin_root": "a fin is cracked at its root",
    "seen_loose_liner": "the liner has moved in its jacket",
    "seen_damaged_sealing_face": "the sealing face to the head is damaged",
    "seen_damaged_foot": "the foot or its face is damaged",
    "seen_pitted": "the pin's surface is pitted or flaking",
    "seen_stained": "stains hide the surface",
    "do_reach_score": "measure it; only rework that reaches the bottom of the score can save it",
    "do_replate_or_replace": "replate or replace",
    "do_dress_bank": "dress all barrels of the bank alike",
    "do_dress_face": "dress the face; all barrels of the bank to one height",
    "do_clean_and_look": "clean it, look again under a lens, and put down what is seen then",
    # where a limit comes from
    "sheet": "sheet {id} rev {revision}",
    "sheet_and": "{sheet}, {what}",
    "sheet_variant": "{sheet}, variant {variant}",
    "stamp_on": "stamp on {part}",
    "group_stamp_on": "group stamp on {part}: {origin}",
    "override_because": "override by {by}: {why}",
    "size_group": "variant {variant}, group {group}",
    "size_group_over": "variant {variant}, group {group}, oversize {oversize}",
    "original": "{origin} ({size})",
    "less_wear": "{original} less wear of {wear} ({origin})",
    "plus_wear": "{original} plus wear of {wear} ({origin})",
    "less": "{original} less {less} ({origin})",
    "plus": "{original} plus {more} ({origin})",
    "for_each_unit": "{ratio} for each unit of length",
    # what a length should be like
    "no_limit": "no limit",
    "ask_size_stamp": "{part}: the size that is stamped on it",
    "ask_group_stamp": "{part}: the mark of its size group",
    # what can hurt, or spoil a part
    "caution_look": "Broken rings, ring edges and fins cut: wear gloves. Where the maker's manual"
    " says otherwise, it comes first; a doubtful part is for a qualified person to judge.",
    "caution_identify": "A mark that is guessed puts the wrong limits on a part: unreadable is an"
    " answer. The maker's manual says what a mark means; a qualified person settles what is left.",
    "caution_clean": "Solvents, washing fluid and blasting dust harm lungs, eyes and skin:"
    " ventilate, protect eyes, hands and breath, keep away from flames. Ring and groove edges cut."
    " Which cleaning a part bears, the maker's manual says first; blast and scrape nothing that it"
    " does not allow, and ask a qualified person.",
    "caution_mark": "Mark with a pen: a scribed line is a notch that can crack. The height is the"
    " maker's manual's; where it says otherwise, ask a qualified person.",
    "caution_measure": "Edges cut; a part or gauge that is dropped is measured again. An engine"
    " that is built too tight can seize and hurt people: the maker's manual's limits and a"
    " qualified person's judgement come first.",
    "caution_rings": "Ring edges are sharp and rings fly off: wear gloves and protect the eyes,"
    " spread them with a ring spreader only. The maker's manual comes first; ask a qualified"
    " person.",
    "caution_pins": "Never force a pin: a torn pin bore fails in the engine. Circlips fly off:"
    " protect the eyes. The maker's manual comes first; ask a qualified person.",
    "caution_mass": "Lighten nothing to match a mass but as the maker's manual allows, and by a"
    " qualified person: a thinned crown or boss breaks.",
    "caution_heights": "Barrels of unlike height on one bank do not seal, and hot gas burns:"
    " the maker's manual comes first; ask a qualified person.",
    # slips of the hand
    "number_in": "{number} {unit}",
    "slip_unit": "{number} {unit} would be: which unit?",
    "slip_unit_and_mark": "{number} {unit} would be: which unit, and where is the decimal mark?",
    "slip_decimal": "{number} would be: decimal slip?",
    "slip_digits": "{number} would be: two digits swapped?",
    "slip_scale": "{degrees} {scale} would be {celsius}: which scale?",
    "fact_pin_class": "pin class {value}",
}
