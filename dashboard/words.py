"""Every English text the board shows stands here, so that another language is another table.

Sentences that come with an event (what to do next, why a sweep was refused, a finding) are the
rules' own and are shown as they came.
"""

from typing import Final

ENGLISH: Final[dict[str, str]] = {
    # verdicts and their short meanings
    "serviceable": "SERVICEABLE",
    "rework": "REWORK",
    "discard": "DISCARD",
    "undecided": "UNDECIDED",
    "none": "no verdict yet",
    # what stands between the machinist and a live figure
    "server_down": "Board server not reachable: nothing on this screen is live",
    "server_silent": "Board server silent: nothing on this screen is live",
    "connecting": "Connecting to the board server",
    "broker_down": "Bus not reachable: what is shown is old",
    "daemon_offline": "Bench is switched off",
    "daemon_unknown": "Bench has been silent for {age}: its state is unknown",
    "daemon_waiting": "Nothing heard from bench {bench} yet",
    "not_recording": "NOT RECORDING: {reason}",
    "gauge_lost": "Gauge {gauge} lost: {reason}",
    "gauge_lost_bare": "Gauge {gauge} lost: check its cable",
    "gauge_fault": "Gauge {gauge} sent no number: {fault}",
    "missed": "{count} messages of the bench were missed; the record on its disk is whole",
    "conflict": "Two different messages carried number {seq}: tell the lead",
    "bad_messages": "{count} messages on the bus could not be read",
    # the live figure
    "no_reading": "no reading",
    "no_reading_for": "no reading for {age}",
    "gauge_is": "gauge {gauge}",
    "seconds": "{n} s",
    "minutes": "{n} min",
    "live": "live",
    "stale": "old",
    "lost": "lost",
    "silent": "silent",
    "answering": "answering",
    "present": "plugged in, silent",
    "unknown": "unknown",
    "online": "on",
    "offline": "off",
    # the bench page
    "bench_which": "Which bench? Choose one.",
    "wait_ask": "Waiting for the plan",
    "all_done": "Set finished: {serviceable} serviceable, {rework} to rework, {discard} to discard,"
    " {undecided} undecided",
    "no_pass": "no pass yet",
    "one_pass": "1 pass",
    "passes": "{count} passes within {spread}",
    "counted": "counts",
    "cut": "is cut away",
    "sized_line": "{at}  {size}",
    "interval": "95 % interval {low} to {high}",
    "refused_head": "No size: {at}",
    "limit_from": "limit {limit}: {origin}",
    "limit_origin_only": "limit: {origin}",
    "value_is": "found {value}",
    "overridden": "{who} decided {verdict}: {reason}",
    "progress": "{done} of {total}",
    "job": "job {job}",
    "bench": "Bench {bench}",
    "skirt_picture": "Piston, seen along the pin: measure the skirt across, at the marked height",
    "bore_picture": "Barrel in section, and from the head: depth and direction are marked",
    "part_picture": "Piston, seen along the pin",
    "across_pin": "across the pin",
    "along_pin": "along the pin",
    # the lead's pages
    "floor_summary": "{benches} benches · {waiting} waiting for the lead · {alarms} with trouble",
    "set_finished": "set finished",
    "queue": "Waiting for the lead",
    "queue_empty": "Nothing waits.",
    "override_asked": "{who} asks: {reason}",
    "no_gauge": "No gauge has been heard of yet",
    "no_fault": "no fault since this board began to listen",
    "readings": "{count} readings",
    # the set page
    "set_of": "Set of bench {bench}",
    "clearances": "Clearance of each pair at 20 °C",
    "bore_maps": "Bores from the head down, above the smallest size",
    "to_do": "What to do",
    "verdict": "verdict",
    "signed": "decided by the lead",
    "no_bore": "No bore has a size yet.",
    "no_clearance": "No pair has both sizes yet.",
    "nothing_to_do": "Nothing so far.",
    "limit_brackets": "brackets: smallest and largest clearance allowed",
    "range_is": "range {range}",
    # cues: each sound has this visible twin
    "cue_contact": "part on the gauge",
    "cue_passed": "pass counted",
    "cue_sized": "size taken",
    "cue_again": "once more",
    "cue_refused": "not taken",
    "cue_lost": "gauge lost",
    "sound_on": "sound on",
    "sound_off": "sound off",
    "sound_touch": "touch for sound",
    "speech_on": "voice on",
    "speech_off": "voice off",
    "volume": "volume",
    # navigation and the other pages
    "page_floor": "Floor",
    "page_bench": "Bench",
    "page_set": "Set",
    "page_sessions": "Sessions",
    "page_gauges": "Gauges",
    "no_bench": "No bench has been heard on the bus",
    "no_bench_more": "Start one with `barrelfit run`; it appears here by itself.",
}


def say(key: str, **parts: object) -> str:
    """Text of `key` with its parts filled in; an unknown key is an error of ours (KeyError)."""
    return ENGLISH[key].format(**parts) if parts else ENGLISH[key]


def say_or_raw(key: str) -> str:
    """Text of `key`, or the key itself when a newer bench sends a word this board has not."""
    return ENGLISH.get(key, key)
