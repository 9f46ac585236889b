"""What the drivers say of a gauge's bytes and of profiles."""

from typing import Final

WIRE: Final[dict[str, str]] = {
    "not_one_of": "'{value}' is not one of {choices}",
    "not_between": "{value} is not between {low} and {high}",
    "not_hex": "'{text}' is not pairs of hexadecimal digits",
    "not_ascii": "holds a character that is not ASCII; write such bytes as hex",
    "no_pattern": "is no regular expression over ASCII: {why}",
    "unknown_group": "unknown group {unknown}; known groups: {known}",
    "must_be_tables_written": "expected tables, written [[{key}]]",
    "missing_kind": "is missing; expected {what}",
    "kind_expected": "expected {what}",
    "sends_its_unit": "profile {id} sends its unit; it can't be set to '{unit}'",
    "no_unit_of_profile": "profile {id} has no unit '{unit}'",
    "reads_schema": "this version reads schema {known}, not {schema}",
    "needs_digit": "is missing; expected a table with digit_nm",
    "needs_port": "is missing; expected a table with baud, bits, parity, stop",
    "needs_frame": "is missing; expected a table with kind",
    "needs_layout": "is missing; expected [layout] or [count]",
    "outcome_unsaid": "says neither length_nm, nor mass_fg, nor fault, nor note",
    "ask_belongs": '"asked" and a table [ask] belong together',
    "count_needs_fixed": '[count] needs "fixed"',
    "needs_source": "'{evidence}' needs an example with its source",
    "needs_examples": "at least one reading and one fault are needed",
    "expected_got": "expected {wanted}, got {found}",
    "noise_in_front": "noise in front of the first line: send the value again",
    "unit_unknown": "the gauge says unit '{unit}', which this profile does not know",
    "text_in_quotes": "text in quotes",
    "a_whole_number": "a whole number",
    "true_or_false": "true or false",
    "a_table": "a table",
    "known_here": "; known here: {keys}",
    "no_number_group": "has no group named number",
    "units_missing": "is missing, but the pattern has a group unit",
    "unit_missing": "is missing, and the pattern has no group unit",
    "values_need_split": "more than one needs split",
    "not_whole_nm_of": "{number} {unit} is no whole number of nanometres",
    "longer_than_gauges": "{number} {unit} is longer than any hand gauge: 10 m",
    "not_whole_fg_of": "{number} {unit} has more decimals than are kept of a mass",
    "heavier_than_parts": "{number} {unit} is heavier than any part: 9 kg",
    "mass_or_length": "lengths and masses in one layout; a gauge measures one of them",
    "weighs_nothing": 'profile {id} is of a length; measures = "mass" needs a scale\'s',
    "measures_no_length": 'profile {id} is of a scale; it needs measures = "mass"',
    "wrong_parity": "a character came with a wrong parity bit: check rate, parity and cable; send"
    " again",
    "no_frame_of_profile": "not a frame of this profile: check the profile and the wiring",
    "nul_in_line": "a NUL byte inside the line: line noise, a loose plug or a break",
    "flow_control": "flow control bytes inside the line: switch software flow control off",
    "high_bytes": "bytes above 0x7F: check rate, bits and parity",
    "two_lines": "two lines run together: a line end was lost",
    "other_mark_sent": "the decimal mark is not this profile's: choose the profile for it",
    "no_match": "the line does not match the profile: a lost character, or another profile",
    "looks_like_seven_bits": "port is set to 8N1 but the device looks like 7{sign}: set bits = 7"
    ' and parity = "{parity}"',
    "calls_itself": "it calls itself '{now}', but '{was}' before: plug '{was}' in again, or begin"
    " a new session for this gauge",
    "too_many_frames": "{count} frames within a second are no gauge's",
    "too_many_bytes": "{count} bytes within a second are no gauge's",
    "garbage": "{count} of {all} frames within ten seconds are garbage",
    "in_brackets": "{what} ({more})",
    "cut_off": "cut off: {why}; what it sends is left out and counted, and it is tried again in"
    " {seconds} s",
    "other_reader": "{what}; several bad frames in a row after good ones: another reader on this"
    " port?",
    "silence_before_end": "the bytes stopped inside a frame: a loose plug, a lost line end, or a"
    " wrong rate",
    "no_line_end": "no line end within the profile's limit: check rate, parity and line end",
    "outside_frames": "bytes outside any frame: check the profile and the wiring",
    "strange_bits": "bits are set that this layout never uses",
    "start_bit_0": "the start bit is 0: another layout, or out of step",
    "too_many_counts": "more counts than the gauge can show: out of step?",
    "one_byte_expected": "expected one byte",
    "places_missing": "is missing: a count has no decimal mark",
    "type_what_is_shown": "'{text}': expected what the display shows, with its unit: 12.345 mm",
    "no_byte_arrived": "no byte arrived for this reading",
    "several_frames": "one reading came as several frames that differ: hold the gauge still, and"
    " send one reading at a time",
    "cut_unseen": "the frames differ in length, and no character ends them: where one was cut"
    " could not be seen",
    "readings_needed": "{needed} readings are needed, {samples} were sent",
    "three_needed": "three different readings away from zero are needed: move the spindle so that"
    " at least three digits differ from zero, and from each other",
    "typed_with_decimals": "readings in {unit} were typed with {digits} decimals: type them all",
    "cut_taken_for_whole": "a frame that was cut would be taken for a whole one",
    "stands_nowhere": "what the displays showed stands nowhere in the frames that any rule here"
    " can read",
    "stands_at_two_places": "the reading could stand at two places of the frame, written in two"
    " ways: send readings that differ in every digit",
    "nothing_tells_sign": "nothing in the frame goes with the sign alone: send two more below"
    " zero, two above",
    "nothing_tells_unit": "nothing in the frame tells mm from inch: teach it in one unit alone",
    "stands_twice": "the reading stands twice in each frame, at places that can't be told apart:"
    " send readings while the two differ",
}
