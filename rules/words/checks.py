"""What the rules of `rules.checks` and the comparing of values say."""

from typing import Final

CHECKS: Final[dict[str, str]] = {
    # a value against its limit
    "is_above": "{what} {value} is {gap} above the limit {limit}",
    "is_below": "{what} {value} is {gap} below the limit {limit}",
    "is_on": "{what} {value} is on the limit",
    "too_near": "{found}: too near to tell, {chance} likely to be within it",
    "less_than": "less than {share}",
    "more_than": "more than {share}",
    "measure_better": "measure again, with a better gauge or at 20 °C",
    # barrels
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
    # bores
    "largest_bore": "largest bore ({where})",
    "smallest_bore": "smallest bore ({where})",
    "taper": "taper ({where})",
    "out_of_round": "out-of-round ({where})",
    "bore_under_size": "{found}; a used bore is not smaller than new",
    "do_check_stamp_and_setting": "check the stamp and the gauge's setting, and measure again at"
    " 20 °C",
    "bore_unmeasured": "the bore has no size yet at {missing}",
    "do_measure_bore_there": "measure the bore there",
    "thinnest_wall": "thinnest wall",
    # clearances
    "smallest_clearance": "smallest clearance",
    "largest_clearance": "largest clearance",
    "do_not_pair_seizes": "not this pair: it can seize; take another barrel, or hone an iron one",
    "do_not_pair_loose": "not this pair: take another barrel, or a larger piston",
    "limits_contradict": "the smallest clearance {least} ({least_from}) is above the largest"
    " {most} ({most_from})",
    "do_read_stamp_or_decide": "read the stamp again, or have it decided",
    "no_clearance_yet": "no clearance yet: {missing} has no size",
    "do_measure_first": "measure it first",
    "gap_in_bore": "{ring} ring: closed gap in this bore",
    "do_renew_ring": "renew the ring",
    "do_file_ends": "file the ends square, or take another ring",
    "gap_without_bore": "{ring} ring: the closed gap is given without the bore it was measured in",
    "do_measure_gap_bore": "measure the bore where the ring was; {bore} of bore is {gap} of gap",
    "pair_failed_by_eye": "no pair: {out:and} failed by eye",
    # entries, and what was measured twice
    "of_place": "{at}: {what}",
    "do_answer": "answer the question, or measure again",
    "one_sweep_alone": "one sweep alone says that it is worn out",
    "do_measure_once_more": "take it away and measure {place} once more, to be sure",
    "measured_apart": "two sweeps of it do not agree: first {first}, then {second}, {apart} apart"
    " where {doubt} would be",
    "places_apart": "its bore reads {apart} larger at {largest} than at {smallest}, which no wear"
    " does: a gauge was set otherwise",
    "do_check_zero_and_measure": "check the gauge's zero, then measure {largest} and {smallest}"
    " again",
    "do_find_out_why": "find out why: dirt, warmth, the hand",
    "on_both_sides": "{before} by the first of two sweeps, {after} by the second",
    "verdict_serviceable": "serviceable",
    "verdict_rework": "rework",
    "verdict_discard": "discard",
    "verdict_undecided": "undecided",
    # the look before cleaning
    "not_looked_at": "the part was not looked at yet",
    "do_look_before_cleaning": "look at it before cleaning: scoring, cracks, ring lands, pin area,"
    " threads and faces",
    "do_no_further_work": "no further work on this part",
    # wrist pins
    "class_mark": "the class mark '{mark}'",
    "no_class_mark": "no class mark",
    "class_unknown": "{seen} is not one of {classes}",
    "do_read_class": "read the mark again, or measure the pin",
    "class_of_another": "the pin is marked {pin} and its piston {piston} is marked {other}",
    "do_find_own_pins": "find each piston's own pin; pins stay with their pistons",
    "pin_fit_untried": "the pin's fit was not tried",
    "do_try_fit": "try it, oiled, by hand",
    "play_of_sound_pin": "the pin has perceptible play and is itself within limits: its piston is"
    " worn",
    "do_another_piston_of_class": "another piston, of the pin's class or with a pin of its own",
    "pin_play": "the pin has perceptible play: pin or piston is worn",
    "do_measure_pin_or_new": "measure the pin, or try a new one",
    "pin_diameter": "pin diameter",
    "pin_unmeasured": "the pin has no size yet",
    "do_measure_pin": "measure it where it is worn most",
    "pin_missing": "the piston's pin is not in the set",
    "do_find_pin": "find its own pin",
    # pistons
    "skirt": "skirt",
    "do_another_piston": "another piston; its pin goes with it",
    "skirt_over_size": "{found}; a used skirt is not larger than new",
    "do_check_stamp_setting_warmth": "check the stamp and the gauge's setting, let the part come to"
    " 20 °C, measure again",
    "not_weighed": "the piston was not weighed",
    "do_weigh": "weigh it",
    "skirt_unmeasured": "the skirt has no size yet",
    "do_measure_skirt": "measure it across the thrust faces, {height} above the skirt's lower edge",
    "weight_class_apart": "weight class {mark}, where others of the set have {others}",
    "do_weigh_them": "weigh them; the masses decide",
    "direction_apart": "direction mark '{mark}', where others of the set have '{others:quoted}'",
    "crown_not_of_variant": "its crown is {crown}, and the variant's pistons have it {wanted}",
    "crown_not_of_others": "its crown is {crown}; other pistons of the set have it {others:and}",
    "do_look_at_crown": "look at crowns and stamps again: another crown is another compression, and"
    " may strike the head",
    "do_look_at_direction": "look at the marks again; a piston the wrong way round knocks, or is of"
    " another engine",
    # marks
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
    # rings
    "one_place": "1 place",
    "places": "{count} places",
    "leaf_in": "{ring} ring: the {leaf} leaf goes into the groove in {places}",
    "leaf_in_beside_new": "{ring} ring: the {leaf} leaf goes into the groove beside a new ring in"
    " {places}",
    "leaf_in_beside_used": "{ring} ring: the {leaf} leaf goes into the groove beside a used ring in"
    " {places}",
    "do_another_piston_groove": "another piston: its groove is worn out",
    "do_another_piston_or_new_ring": "another piston: its groove is worn out; if a used ring lay in"
    " it, try a new one first",
    "do_try_new_ring_leaf": "try a new ring first; the piston's groove is worn out only if the leaf"
    " goes in beside that too",
    "leaf_stays_out": "{ring} ring: the {leaf} leaf stays out in {places}",
    "do_clean_groove": "clean the groove, check that the ring is the right one, and try again",
    "side_untried": "{ring} ring: side clearance against its largest was tried not at all",
    "side_tried_only": "{ring} ring: side clearance against its largest was tried in {places} only",
    "do_try_places": "try it in three or four places",
    "side_least_untried": "{ring} ring: nothing shows that the side clearance is at least {least}",
    "do_try_leaf_all_round": "try the leaf of that thickness all round",
    "side": "{ring} ring: side clearance",
    "side_of_new_here": "{ring} ring: side clearance of a new ring in this groove",
    "do_try_new_ring": "try a new ring first; the piston's groove is worn out only if that has too"
    " much too",
    "ring_wide": "{ring} ring: width {width}, and a new one has {new} ({origin})",
    "do_measure_ring": "measure it again, and see that it is this engine's ring: none grows",
    "leaves_contradict": "{ring} ring: the {thick} leaf goes in where {thin} stays out",
    "do_try_both_leaves": "one of the two was put down wrongly: try both leaves again, in the same"
    " places",
    "widths_contradict": "{ring} ring: side clearance {side} by its widths, and yet the {leaf} leaf"
    " stays out everywhere",
    "widths_too_tight": "{ring} ring: side clearance {side} by its widths, and yet the {leaf} leaf"
    " goes in everywhere",
    "do_measure_widths": "measure groove and ring again, and try the leaf again",
    "gap": "{ring} ring: closed gap",
    "do_file_ends_sharp": "file the ends square, or take another ring; ring edges are sharp",
    "gap_unmeasured": "{ring} ring: the closed gap has no size yet",
    "do_measure_gap": "push the ring square into its bore with the piston and measure the gap",
}
