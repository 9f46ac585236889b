"""Every English text that a report has beside what the rules say: another language, another table.

What the rules say is told by `rules.manner`.
"""

from typing import Final

ENGLISH: Final[dict[str, str]] = {
    "report_on": "Report on job {job}",
    "page": "page {number}",
    "caution": "Caution",
    "caution_limits": "Limits from the maker's own manual and the judgement of a qualified person"
    " come first. This report is not for aircraft or any certified repair.",
    "caution_seizing": "An engine put together with too little clearance, or with the wrong parts,"
    " can seize and hurt people. Check every clearance again when assembling.",
    "caution_edges": "Ring edges, groove edges and freshly bored edges are sharp: wear gloves when"
    " handling them.",
    "caution_dust": "Solvents, washing fluid and blasting dust are harmful: ventilate, protect"
    " eyes, lungs and skin, and wash parts free of blasting media before they are measured or"
    " fitted.",
    "caution_simulated": "This session was simulated: no part was touched, and no verdict here is"
    " about one.",
    # verdicts, severities, outcomes
    "serviceable": "serviceable",
    "rework": "rework",
    "discard": "discard",
    "undecided": "undecided",
    "outcome_matched": "matched",
    "outcome_provisional": "provisional",
    "outcome_impossible": "impossible",
    "outcome_waiting": "waiting",
    "outcome_after rework": "after rework",
    # chapters
    "verdicts": "Verdicts",
    "part_by_part": "Part by part",
    "which_piston": "Which piston runs in which barrel",
    "rework_head": "Rework",
    "still_to_measure": "Still to be measured",
    "overrides": "Overrides of limits",
    "overridden": "Verdicts that a lead decided otherwise",
    "budgets": "Uncertainty budgets",
    "assumed": "Assumed, or not asked for",
    "how_decided": "How it was decided",
    "stands_on": "What this report stands on",
    # what it is about
    "engine": "Engine",
    "said_to_be": "Said to be",
    "variant": "variant {variant}",
    "variant_group": "variant {variant}, group {group}",
    "sheet": "Sheet",
    "sheet_is": "{sheet} revision {revision} ({source})",
    "measured_by": "Measured by",
    "session": "Session",
    "asked_for": "Asked for",
    "session_is": "{session} at bench {bench}, {began}",
    "reference": "Reference",
    "reference_is": "all sizes at 20 °C (ISO 1); ± is half the 95 % interval",
    "in_short": "Of the parts, {serviceable} serviceable, {rework} rework, {discard} discard and"
    " {undecided} undecided. Pairing: {outcome}.",
    # tables of verdicts and pairs
    "part": "Part",
    "serial": "Serial",
    "stamp": "Stamp",
    "verdict": "Verdict",
    "reason": "Reason",
    "to_do": "To do",
    "nothing_found": "nothing found against it",
    "cylinder": "Cylinder",
    "bank": "Bank",
    "piston": "Piston",
    "barrel": "Barrel",
    "smallest_clearance": "Smallest clearance",
    "largest_clearance": "Largest clearance",
    "bars": "A dot is the smallest clearance in the barrel, a square the largest, each beside its"
    " own limit (dashed); whiskers are 95 % intervals. In the hatched guard band at both sides of a"
    " limit nothing is decided. A stamped smallest clearance comes before the sheet's.",
    "pair_is": "{pair}, {figures}, {verdict}",
    "from_to": "{low} … {high}",
    "clearance_none": "no clearance yet",
    "outcome": "Outcome: {outcome}.",
    "outcome_spread": "Outcome: {outcome}. Spread of the smallest clearances: {spread}.",
    "cheapest_mend": "The cheapest mend, by the sheet's relative costs:",
    "to_buy": "to buy",
    "with_pin": "{piston} with pin {pin}",
    "quantity": "Quantity",
    "for": "For",
    "all": "all",
    "value": "Value",
    "signed_by": "Signed by",
    "why": "Why",
    "about": "About",
    "rules_said": "The rules said",
    "lead_decided": "The lead decided",
    # a part
    "is_piston": "piston",
    "is_barrel": "barrel",
    "is_pin": "pin",
    "serial_is": "{kind}, serial {serial}",
    "stamped": "stamped {marks}",
    "no_stamp": "no stamp put down",
    "stamped_group": "group {group}",
    "stamped_clearance": "smallest clearance {clearance}",
    "unreadable": "can't be read: {marks}",
    "not_looked_at": "not looked at",
    "looked_at": "looked at before cleaning: {seen}",
    "photo": "photo {file} ({digest})",
    "digest": "SHA-256 {digest}…",
    "not_hashed": "not hashed then",
    "feature": "Feature",
    "size_at_20": "Size at 20 °C",
    "as_read": "As read",
    "from": "From",
    "of_ring": "{ring} ring: {what}",
    "by_passes": "{source}, {passes} passes: {rank}",
    "by_sweep": "sweep",
    "by_hand": "hand",
    "by_file": "file",
    "by_trace": "trace {file}",
    "rank_minimum": "minimum of two-point sizes",
    "rank_average": "average of two-point sizes",
    "rank_one": "one two-point size",
    "rank_by_hand": "one value by hand",
    "code": "Code",
    "finding": "Finding",
    "limit": "Limit",
    "limit_is_from": "The limit is from",
    "bore_at_20": "Bore at 20 °C",
    "below_top": "{depth}, {below} below the top",
    "not_measured": "not measured",
    "all_from": "From: {sources}.",
    # drawings
    "new": "new",
    "largest_allowed": "largest allowed, + {wear}",
    "wear_drawing": "wear of the bore by depth and direction",
    "smallest_is": "smallest allowed {limit}",
    "largest_is": "largest allowed {limit}",
    "engine_from_above": "The engine from above: its cylinders by bank, with their verdicts",
    "label_decided": "{verdict}; lead: {lead}",
    "label_serial": "no. {serial}",
    "label_place": "cylinder {cylinder} {bank}",
    "label_with": "{where}, with {other}",
    "in_barrel": "{cylinder}: {piston} in {barrel}",
    "clearance_drawing": "clearance of every pair between its limits",
    # budgets, assumptions, proof
    "budgets_are": "Shares of each size's standard uncertainty in µm; u is their combined value"
    " (JCGM 100). A share marked * has a cause in common with other sizes, and cancels in their"
    " difference as far as it is the same.",
    "shape_normal": "normal",
    "shape_rectangular": "rectangular",
    "shape_t": "t",
    "u_in_um": "u in µm",
    "column": "{number}: {name} (type {type}, {distribution})",
    "column_shared": "{number}: {name} * (type {type}, {distribution})",
    "word_sizes": "Sizes are two-point sizes (ISO 14405-1). The smallest clearance is taken at the"
    " smallest place of the bore, the largest at the largest place.",
    "word_form": "Taper is the largest difference of diameters along the bore in one direction; the"
    " local taper of ISO 12180 is half of it. Out-of-round is the largest difference of diameters"
    " at one depth. A two-point gauge can't see a shape of three lobes, whose diameters are all"
    " equal.",
    "word_limit": "A value is within its limit when it is inside by the guard band (ISO 14253-1),"
    " outside when it is outside by it, and undecided between. A value on the limit is allowed.",
    "word_which": "Which limit applies: a legible stamp on the part, then a signed override, then"
    " the sheet.",
    "word_guard": "The guard band of this report is {factor} standard uncertainties.",
    "sheet_hash": "sheet (SHA-256)",
    "set_hash": "set file (SHA-256)",
    "session_row": "session",
    "written_by": "written by",
    "program": "barrelfit {version}",
    "head_hash": "head hash",
    "records": "records",
    "records_whole": "{count}, whole",
    "records_torn": "{count}, with a torn tail that was never confirmed",
    "how_to_verify": "Run 'barrelfit verify' on the session with this head hash: any line that was"
    " changed, added or taken away since is found. 'barrelfit replay --redo' runs its bytes again.",
    # what was told at the bench
    "told_at_bench": "What was told at the bench",
    "told_how": "As it was told, in mm and g. A name that is not proved by a code is a statement:"
    " nobody proved who told it. What was told first stands in the table, too, where another value"
    " took its place.",
    "told_what": "What",
    "told_value": "Told",
    "told_by": "By",
    "told_utc": "At (UTC)",
    "told_unknown": "unknown: taken back",
    "told_not_taken": "{value}: NOT TAKEN, {why}",
    "told_before": ", in place of {before}",
    "told_no_more": "; stands no more",
    "told_proven": "{who} (proved by a code)",
    "told_by_means": "{who}, by {by}",
    "means_pedal": "pedal",
    "means_phone": "phone",
    "means_gauge": "gauge",
    "nobody_named": "nobody named",
    # a judged set as text for a terminal
    "job_of": "job {job}, sheet {sheet} rev {revision}, variant {variant}",
    "guard_of": "guard band {factor} standard uncertainties; sizes at 20 °C",
    "note": "note: {note}",
    "do": "do: {todo}",
    "pairing_is": "pairing: {outcome}",
    "piston_to_buy": "(piston to buy)",
    "barrel_to_buy": "(barrel to buy)",
    "seat": "cylinder {cylinder} ({bank}): {piston} in {barrel}",
    "clearance_span": "clearance {low} to {high}",
    "spread": "spread of the smallest clearances {spread}",
    "list_rework": "rework:",
    "list_measure": "measure:",
    "list_limits": "limits:",
    "list_mend": "cheapest mend:",
    "parts_are": "parts: {serviceable} serviceable, {rework} rework, {discard} discard,"
    " {undecided} undecided; pairing: {outcome}",
    # a trace
    "refused": "refused: {why}",
    "sized": "{size}, {passes} passes",
    "trace_key": "filled: used for the size; open: cut away",
    "size_as_read": "size as read {size}",
}


def say(key: str, **parts: object) -> str:
    """Text of `key` with its parts filled in; an unknown key is an error of ours (KeyError)."""
    return ENGLISH[key].format(**parts)


def say_or_raw(key: str, raw: str) -> str:
    """Text of `key`; `raw` where there is none, as for a word of another version."""
    return ENGLISH.get(key, raw)
