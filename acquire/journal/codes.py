"""The words of codes that stand in records: states, faults, how something ended. Pure.

A code that is not here (a profile's own fault, a newer version's state) is shown as it is.
"""

from collections.abc import Mapping
from typing import Final

from barrelfit.rules.judge.docket import verdict_said
from barrelfit.rules.said import Said, said
from barrelfit.rules.sweep.movements import MOVEMENTS

STATES: Final = {
    "answering": said("state_answering"),
    "present": said("state_present"),
    "lost": said("state_lost"),
    "starting": said("state_starting"),
    "running": said("state_running"),
    "away": said("state_away"),
}
_FAULTS: Final = {
    "unreadable": said("fault_unreadable"),
    "incomplete": said("fault_incomplete"),
    "overrun": said("fault_overrun"),
    "out of step": said("fault_out_of_step"),
    "not exact": said("fault_not_exact"),
    "implausible": said("fault_implausible"),
    "unknown unit": said("fault_unknown_unit"),
    "another gauge": said("fault_another_gauge"),
    "overload": said("fault_overload"),
    "underload": said("fault_underload"),
    "not at rest": said("fault_not_at_rest"),
}
_SUSPECT: Final = {
    "suspected bounce": said("suspect_bounce"),
    "at opening, perhaps not pressed": said("suspect_opening"),
    "perhaps the rest of a cut line: send again": said("suspect_rest"),
    "fewer decimals than before, a digit may be lost: send again": said("suspect_decimals"),
    "another gauge than before": said("suspect_gauge"),
    "another channel": said("suspect_channel"),
    "one of several channels": said("suspect_channels"),
    "not asked for": said("suspect_unasked"),
    "too many keys at once": said("suspect_keys"),
    "a key repeated: send again": said("suspect_repeated"),
    "two keys went down at once, their order is not known: send again": said("suspect_order"),
    "a key came up that never went down: send again": said("suspect_key_up"),
}
_NOTES: Final = {
    "line ends": said("note_line_ends"),
    "rest of an over-long line": said("note_rest_of_line"),
    "echo": said("note_echo"),
    "acknowledgement": said("note_acknowledgement"),
    "identification": said("note_identification"),
    "unsteady": said("note_unsteady"),
    "noise before the first line": said("note_noise"),
    "a request that is not ours": said("note_foreign_request"),
    "before session, not dated": said("note_before"),
}
_WORDS: Final[Mapping[tuple[str, str], Mapping[str, Said]]] = {
    ("gauge_changed", "state"): STATES,
    ("service_changed", "state"): STATES,
    ("service_changed", "service"): {
        "bus": said("run_bus"),
        "rules": said("run_rules"),
        "board": said("run_board"),
    },
    ("fault_seen", "fault"): _FAULTS,
    ("reading_taken", "suspect"): _SUSPECT,
    ("mass_taken", "suspect"): _SUSPECT,
    ("wire_note", "note"): _NOTES,
    ("two_parts_settled", "how"): {
        "pressed": said("settled_pressed"),
        "denied": said("settled_denied"),
        "measured": said("settled_measured"),
    },
    ("session_closed", "how"): {
        "done": said("closed_done"),
        "stopped": said("closed_stopped"),
        "fault": said("closed_fault"),
    },
    ("pedal_pressed", "action"): {
        "next": said("pedal_next"),
        "again": said("pedal_again"),
        "back": said("pedal_back"),
        "undo": said("pedal_undo"),
    },
    ("temperature_taken", "of"): {
        "part": said("the_part"),
        "gauge": said("the_gauge"),
        "room": said("the_room"),
    },
    ("fact_told", "by"): {
        "board": said("means_board"),
        "pedal": said("means_pedal"),
        "phone": said("means_phone"),
        "gauge": said("means_gauge"),
    },
    ("job_ordered", "what"): {
        "new": said("job_new"),
        "pause": said("job_pause"),
        "take-up": said("job_take_up"),
        "close": said("job_close"),
    },
    ("record_gone", "what"): {
        "removed": said("gone_removed"),
        "replaced": said("gone_replaced"),
        "cut": said("gone_cut"),
        "grown": said("gone_grown"),
    },
    ("sized", "estimator"): {entry.estimator: entry.estimator_said for entry in MOVEMENTS},
}
_VERDICTS: Final = {("overridden", "was"), ("overridden", "verdict")}


def code_said(kind: str, field: str, code: str) -> Said | str:
    """The words of a code: of what kind of record it is a field; itself where it has none."""
    if (kind, field) in _VERDICTS:
        return verdict_said(code)
    return _WORDS.get((kind, field), {}).get(code, code)
