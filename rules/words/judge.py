"""What `rules.judge` says of a part, of what is typed, and of the rework of barrels."""

from typing import Final

JUDGE: Final[dict[str, str]] = {
    # verdicts
    "passed": "{what} {value}; {allowed} allowed, {room} left",
    "at_most": "at most {most}",
    "at_least": "at least {least}",
    "span": "{low} to {high}",
    "an_original_size": "an original size",
    "do_find_original_size": "find out the original size first",
    "a_smallest_bore": "a smallest bore",
    "by_doubtful": "{found}, by {what} that is in doubt",
    "with_slip": "{what}; {slip}",
    "smallest_clearance_at": "smallest clearance ({where})",
    "largest_clearance_at": "largest clearance ({where})",
    "skirt_below_original": "skirt, {apart} below its original {original}:",
    "skirt_above_original": "skirt, {apart} above its original {original}:",
    "side_of_new": "{ring} ring: side clearance of a new ring",
    "sheet_ring": "{sheet}, {ring} ring",
    "widest_gap_in_bore": "{ring} ring: widest closed gap in this bore",
    "narrowest_gap_in_bore": "{ring} ring: narrowest closed gap in this bore",
    # what is still to be found
    "with_question": "{what}: {question}",
    "as_well_as_can_be": "{at} once more, as well as can be: {barrel}: {why}",
    "do_measure_wall": "measure its thinnest wall before it is bored: so far it is taken as a new"
    " barrel's",
    "lacking": "{what}: {do}",
    "left_out": "not asked for in this job: {topic}",
    "hand_assumed": "feelers, scales and calipers: ± {half} assumed",
    # values typed by hand
    "as_typed": "{text} {unit}",
    "which_unit": "'{text}': in which unit? {units} or µm",
    "other_mark": "'{number}' has a '{other}', but the decimal mark here is '{mark}': please type"
    " it again",
    "no_number": "'{text}' is not a decimal number: please type it again",
    "finer_than_nm": "'{number}': {value} {unit} is finer than a nanometre; write fewer decimals",
    "too_fine": "'{number}': finer than a nanometre; write fewer decimals",
    "unlike": "{given} is nothing like this feature ({by}): which feature, which gauge? measure"
    " again, or say why",
    "not_as_expected": "{given} is not as expected ({by}), {slip} type it again, or say why",
    # rework
    "hone_true": "hone true to {to}, still within {limit}",
    "honing_true": "honing it true",
    "oversize": "oversize {oversize}",
    "standard": "standard",
    "measure_bore_first": "measure the bore again, as well as can be: whether boring to oversize"
    " {oversize} cleans it up is too near to tell",
    "bore_to_oversize": "bore and hone to oversize {oversize}, that is {to}",
    "measure_wall_first": "measure the wall with a better tool: whether {work} leaves {least} of"
    " it is too near to tell",
    "replate": "replate or replace; a plated bore is never honed to a size",
    "replace_plated": "replace; a plated bore is never honed to a size, and this one can't be"
    " replated",
    "replace_no_oversize": "replace; it can't be honed within its limit, and the sheet has no"
    " oversize",
    "replace_too_deep": "replace; it needs {need} to clean up, and the largest oversize is {most}",
    "replace_thin_wall": "replace; oversize {oversize} would clean it up but leaves too little"
    " wall",
    "provisional": " (provisional: the bore is not measured everywhere)",
    "no_rework": "no rework can save it: {how}{doubt}",
    "rework_unsure": "the bore must be reworked{doubt}; {how}",
    "rework_so": "rework: {how}{doubt}",
    "rework_untold": "which rework it takes can't be told: {why}",
    "size_or_kind_in_doubt": "its size or its kind is in doubt",
    "do_settle_first": "settle that first",
    "not_measured_everywhere": "the bore is not measured everywhere",
    "do_measure_whole": "measure the whole bore",
    "score_depth_unknown": "nobody knows how deep the score is",
    "do_gauge_depth": "have the depth gauged; only rework that reaches the bottom can save it",
    "not_needed": "not needed; else {else_}",
    "too_few_for_oversize": "an oversize is for the whole set, and too few can go to one",
    "one_oversize": "one oversize for the whole set: {oversize}, with new pistons and rings of"
    " that size; match again by the stamps of the new pistons",
    "settle_first": "settle first what is undecided about {parts}",
    "settle_first_both": "settle first what is undecided about {parts:and}",
    "one_barrel_of_that_size": "1 other barrel of that size",
    "barrels_of_that_size": "{count} other barrels of that size",
    "stays_at_oversize": "stays at oversize {oversize}, with a new piston",
    "replace_not_cleaned": "replace; the set's oversize {oversize} does not clean it up",
    "replace_too_thin": "replace; the set's oversize {oversize} leaves too little wall",
    # what is said of traces, and of a session's record
    "of_trace": "{file}: {what}",
    "refused_so": "{what}; {do}",
    "refusal": "{what}: {do}",
    "not_corrected": "not corrected to 20 °C: no temperatures were given",
    "measured_twice": "{at} was measured twice: first {first}, then {second}",
    "decision_outdated": "{who}'s decision on {about} ({verdict}) was of the verdict in record"
    " {seq}; another has been given since, and stands",
    "undo_unanswered": "the undo in record {seq} had not been answered when the record ended: the"
    " size it meant still stands here",
    "judged_otherwise_today": "{about}: judged {was} in the session; from the same sizes today's"
    " rules say {now}",
    # facts told at the bench
    "no_such_fact": "nothing of this set is told so",
    "do_see_keys": "see its keys",
    "do_tell_as_it_is": "tell it as it is; {meaning}",
    "do_look_again": "look again",
    "do_tell_again": "tell it again if it is so, or say why",
    "another_value": "'{before}' stands there, now '{value}' is told",
    "do_tell_which": "which is right? tell it, with why",
    # photos
    "photo_by_hash": "a photo is told as photos/SHA-256.jpg or .png, at its own place",
    "no_photo": "photo {file} of {part} is not in {folder}",
    "strange_photo": "photo {file} of {part}: only JPEG and PNG can be shown",
    "broken_photo": "photo {file} of {part} is no whole picture",
    "another_photo": "photo {file} of {part} is not the one that was judged",
    # which sheets fit the parts at all
    "fit_count": "there are {there} pistons, and it has {wanted} cylinders",
    "fit_has": "{part}: {what} is on it",
    "fit_has_not": "{part}: {what} is not on it",
    "fit_far": "{part} measures {size}; a new or worn one of it has {low} to {high}",
}
