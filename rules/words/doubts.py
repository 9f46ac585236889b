"""What is asked about a number that is unusual, in files and of what is told at the bench."""

from typing import Final

DOUBTS: Final[dict[str, str]] = {
    "usual_where_people_measure": "where people measure",
    "usual_gauge_u": "a gauge's standard uncertainty",
    "usual_hand_u": "the standard uncertainty of feelers and scales",
    "usual_standard_u": "a standard's standard uncertainty",
    "usual_digit": "a gauge's last digit",
    "usual_anvil": "a flat anvil's diameter",
    "usual_mass": "a piston's mass",
    "usual_ring_width": "the width of a ring or its groove",
    "usual_mass_of_others": "of the set's other pistons the mass",
    "usual_clearance": "by the sheet a smallest clearance",
    "usual_leaf": "for these limits a leaf",
    "usual_by_sheets_value": "by the sheet's own value it",
    "usual_by_sheet": "by the sheet it",
    "usual_bore": "a bore of such an engine",
    "usual_mass_spread": "the mass spread of a set",
    "usual_mass_off": "what may be taken off a piston",
    "usual_in_any_engine": "in any engine it",
    "usual_ratio": "such a ratio",
    "usual_oversize": "an oversize",
    "usual_it": "it",
    "usual_with_others": "with the other groups it",
    "usual_repeat_u": "what one setting adds",
    "usual_guard": "a guard band's factor",
    "usual_force": "a gauge's measuring force",
    "usual_reading": "a reading of this standard",
    "people_measure_at": "people measure at 5 to 45 °C",
    "usually": "{what} is {value}",
    "usually_from": "{what} is {low} to {high}",
    "usually_at_least": "{what} is at least {least}",
    "usually_at_most": "{what} is at most {most}",
    "usual_with_bore": "with a bore of {bore} it",
    "is_it_meant_so": "Is it meant so?",
    "is_unusual": "is {value}, which is unusual ({usually}). {question}",
    "asked_in_file": '{question} Write it right, or add "{key}" to confirmed',
    "is_nought": "is nought, where the sheet's own {quantity} is more.",
    "unit_like_no_engine": "is '{unit}', by which a bore is {bore}, like no such engine's; {slip}",
    "unreachable": "is {boring}, and the smallest oversize {smallest}: not even a new bore could"
    " be bored to it.",
    "unhoned": "is {honing}, and a bore may wear by {wear}: no worn bore could be honed true and"
    " stay within that.",
    "none_meets": "asks for {limit}, and no new pair of variant {variant} has that: bore less"
    " piston is {nearest}.",
    "new_pair_beyond": "a new piston in a new bore of group {group} has {clearance} of clearance,"
    " where {allowed} is allowed.",
    "unlike_others": "is {size}, by which this group's new clearance {clearance} is unlike the"
    " others'; {swapped} would be alike: two digits swapped?",
}
