"""What `rules.engine` says: of sheets and limits, of marks and looks, and what it asks for."""

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
    "sheet_kind": "{sheet}, {kind}",
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
    "limits_that_apply": "the limits that apply",
    "by_new_wall": "wall of a new barrel {wall}",
    "by_side": "side clearance of the {ring} ring",
    "by_gap": "closed gap of the {ring} ring",
    "by_ring_width": "ring width {width} and its side clearance",
    "by_groove_width": "groove width {width} and its side clearance",
    "by_any_width": "the width of a ring or its groove",
    "by_bore_about": "a bore of about {bore}",
    # how to get to know a fact
    "do_read_its_stamp": "read its size or group stamp, or give the engine's group",
    "do_weigh_bare": "weigh it without rings and pin",
    "do_look_at_it": "look at it before cleaning: cracks, scoring, ring lands, pin area, fins and"
    " faces",
    "do_read_its_class": "read its class mark, one of the sheet's",
    "do_try_its_fit": "try its fit in the piston, oiled, by hand",
    "do_say_seal": "say which seal to the head it is made for, and the heads' own",
    "do_read_height_group": "read its height group, or measure the height",
    # what the plan asks for
    "ask_skirt": "{part} skirt, across the thrust faces, {height} above the lower edge",
    "ask_pin": "{part} wrist pin, where it is worn most",
    "ask_bore": "{part} bore, {depth}, {below} below the top, {direction} direction",
    "ask_side": "{part} {ring} ring, a new one in the groove: thickest leaf that goes in anywhere;"
    " try the {leaf} leaf too, in 3 or 4 places",
    "ask_side_all": "{part} {ring} ring, a new one in the groove: thickest leaf that goes in all"
    " round",
    "ask_gap": "{part} {ring} ring: closed gap, the ring pushed square into its bore",
    "ask_gap_bore": "{part} {ring} ring: the bore its gap was measured in, at that place",
    "ask_look": "{part}: look at it, before it is cleaned; what is seen?",
    "ask_size_stamp": "{part}: the size that is stamped on it",
    "ask_group_stamp": "{part}: the mark of its size group",
    "ask_clearance_stamp": "{part}: the smallest clearance that is stamped on it",
    "ask_pin_class": "{part}: the mark of its pin class",
    "ask_weight_stamp": "{part}: the mark of its weight class",
    "ask_direction_stamp": "{part}: the mark of its direction, in words",
    "ask_crown": "{part}: the form of its crown",
    "ask_number": "{part}: the number inside of it, by which its pin is kept with it",
    "ask_class": "{part}: its class mark",
    "ask_kind": "{part}: how its bore is made",
    "ask_seal": "{part}: the kind of its seal to the head",
    "ask_head_seal": "the heads: the kind of seal that they have",
    "ask_clean_piston": "{part}: clean it, and scrape its ring grooves; is it clean?",
    "ask_clean_barrel": "{part}: clean it, bore and faces; is it clean?",
    "ask_height_marked": "{part}: mark the height on the skirt, {height} above the lower edge;"
    " is it marked?",
    "ask_leaf": "{part} {ring} ring, a new one in the groove: does the {leaf} leaf go in?"
    " Place {place} of {places}",
    "ask_play": "{part} in {piston}, oiled, by hand: is there play?",
    "ask_mass": "{part}: weigh it without rings and pin",
    "ask_height_group": "{part}: the mark of its height group",
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
    # what a feature or a fact is called
    "place_skirt": "skirt",
    "label_skirt": "skirt",
    "fact_pin_class": "pin class {value}",
    "fact_weight_class": "weight class {value}",
    "fact_direction": "direction {value}",
    "fact_mass": "mass {mass}",
    "fact_crown": "{value} crown",
    "fact_number": "number {value} inside",
    "place_groove": "{ring} ring, width of its groove",
    "label_groove": "groove width",
    "place_ring": "{ring} ring, its width",
    "label_ring": "ring width",
    "place_side": "{ring} ring, side clearance",
    "label_side": "side",
    "place_side_all": "{ring} ring, side clearance all round",
    "label_side_all": "side-all",
    "place_gap": "{ring} ring, closed gap",
    "label_gap": "closed gap",
    "place_gap_bore": "{ring} ring, bore its gap was taken in",
    "label_gap_bore": "bore the gap was measured in",
    "place_bore": "bore {depth} {direction}",
    "label_bore": "bore",
    "place_wall": "thinnest wall",
    "label_wall": "wall",
    "fact_barrel_kind": "{value}",
    "fact_seal": "{value} head seal",
    "fact_height_group": "height group {value}",
    "place_diameter": "wrist pin",
    "label_diameter": "pin diameter",
}
