"""What is said of a session that was run through today's code, and of what others found there."""

from typing import Final

REDO: Final[dict[str, str]] = {
    "listed": "{parts}",
    "another_estimator": "the estimator was: {was} (barrelfit {then}); today: {now} (barrelfit"
    " {today})",
    "another_version": "recorded by barrelfit {then}, redone by {today}",
    "same_version": "same version of barrelfit: the journal or this installation is not what it"
    " says",
    "from_record_on": "from record {seq} on by {version}",
    "no_gauge_set_up": "no such gauge was set up",
    "no_hex_bytes": "not hexadecimal bytes a wire takes",
    "no_size_was": "no size",
    "no_verdict_was": "no verdict",
    "no_sweep_ends": "today's rules end no sweep there",
    "in_one_only": "it stands in one of them only",
    "estimators_differ": "the estimator was: {was}; today: {now}",
    "other_passes": "{was} passes then, {now} others today",
    "taught_otherwise": "the same passes; today {how}",
    "taught_no_more": "the same passes; today without what other sweeps told",
    "weighed_otherwise": "the same passes, weighed otherwise",
    "size_within": "{size}, 95 % within {low} to {high}",
    "nothing_said_of_it": "today's rules say nothing of it",
    "change_sheet": "sheet {name}",
    "change_variant": "variant {name}",
    "change_group": "group {name}",
    "change_guard": "guard factor {factor}",
    "corrected_as": "{at} was corrected to 20 °C as {was}; the other sheet says {now}: its size"
    " is left as it was",
    "torn_tail": "(the last {count} bytes were never finished)",
    "redo_of": "session {session}, recorded by barrelfit {by}, redone by {today}: {records}"
    " records, {readings} readings, {findings} findings",
    "redo_reworded": "  {count} findings are worded differently today",
    "redo_open": "  {count} findings had not been recorded yet when the session ended",
    "redo_equal": "REDO EQUAL: {sizes} sizes, {verdicts} verdicts as recorded",
    "redo_differs_at": "REDO DIFFERS at {place}: {kind} {field}",
    "rules_differ_at": "the rules say something else from here on, first at {place}: {kind}"
    " {field}",
    "at_record": "record {seq}",
    "at_the_end": "the end",
    "redo_was": "  recorded: {was}",
    "redo_now": "  today:    {now}",
    "redo_because": "  because:  {why}",
    "compared_same": "  {what} {about}: {was}, the same today",
    "compared_apart": "* {what} {about}: recorded {was}; today {now}: {why}",
    "kind_size": "size",
    "kind_verdict": "verdict",
    "sizes_same": "{same} of {all} sizes the same",
    "verdicts_same": "{same} of {all} verdicts the same",
    "redo_same_results": "REDO SAME RESULTS: {counts}",
    "redo_other_results": "REDO DIFFERS: {counts}",
    "what_if_of": "WHAT IF {change}: not the session's verdicts, never recorded",
    "what_if_same": "  {about}: {was} -> {now}",
    "what_if_other": "* {about}: {was} -> {now}",
    "only_with_what_if": "{change}: only with --what-if",
}
