"""The words of what is told of parts: keys of the set file, and values that are words of ours."""

from typing import Final

FACT_WORDS: Final = {
    "variant": "Variant",
    "group": "Size group",
    "oversize": "Oversize",
    "head_seal": "Seal the heads have",
    "measured_by": "Who measures",
    "id": "One more than the engine has",
    "photos": "Photo",
    "position": "Cylinder it came from",
    "serial": "Serial number",
    "looked": "Look before cleaning",
    "unreadable": "Marks that can't be read",
    "size_stamp": "Stamped size",
    "group_stamp": "Stamped group",
    "clearance_stamp": "Stamped smallest clearance",
    "pin_class": "Stamped pin class",
    "weight_stamp": "Stamped weight class",
    "direction_stamp": "Mark of its direction",
    "absent": "Marks that it does not have",
    "crown": "Form of its crown",
    "number": "Number inside of it",
    "cleaned": "Cleaned",
    "height_marked": "Measuring height marked",
    "mass_g": "Mass, without rings and pin",
    "feeler": "Feeler in a groove",
    "replaced_by": "Another ring took its place: its name",
    "gap_depth": "Depth at which the gap was taken",
    "kind": "Kind of barrel",
    "seal": "Seal to the head",
    "height_group": "Height group",
    "piston": "Its piston",
    "class": "Class mark",
    "play": "Play in its piston",
}
"""What may be told of a part, by the set file's key."""

VALUE_WORDS: Final = {
    "in": "goes in",
    "out": "stays out",
    "none": "no play",
    "perceptible": "play is felt",
    "unreadable": "can't be read",
}
"""What is told, by the value as the set file has it; marks and names are shown as they are."""

TELLING_WORDS: Final = {
    "asked_now": "Asked for now",
    "answer": "Tell",
    "answer_later": "Later",
    "answer_typed": "Type it",
    "asked_otherwise": "something else is asked for by now",
    "sign_on_first": "sign on first, on the parts page",
    "answer_unreadable": "Can't be read",
    "answer_absent": "Not there",
    "pedal_now": "{way}: {what}",
    "way_press": "Press",
    "way_long": "Long press",
    "way_double": "Double press",
    "means_later": "later",
    "means_once_more": "once more",
    "means_back": "takes back the last",
    "meanwhile": "Meanwhile: {what}",
    "caution_is": "Caution: {caution}",
    "fact_told_now": "{what}: {value} ({who})",
    "swept_for_nothing": "What is swept now counts for nothing: no size is asked for.",
    "fact_not_told": "Not counted: {question}; {advice}.",
    "fits": "Which sheets fit the parts",
    "fit_fits": "{sheet}, variant {variant}: fits",
    "fit_open": "{sheet}, variant {variant}: nothing speaks for or against it",
    "fit_not": "{sheet}, variant {variant}: does not fit",
    "fit_reason": "· {why}",
    "fit_parts": "· but these fit: {parts}",
    "place_of": "{place} of {places}",
}
"""What is said around a fact that is asked for, and of the sheets that fit."""
