"""Why a sweep gives no size: a code, what is said of it and what to do, each once."""

from barrelfit.rules.model import Movement
from barrelfit.rules.said import said
from barrelfit.rules.sweep.movements import entry_of
from barrelfit.rules.sweep.nouns import GaugeTraits, SweepRefused

_PLAIN = {
    "no-contact": (said("never_touched"), said("do_put_in")),
    "chords-only": (said("turned_back"), said("do_go_over_crest")),
    "too-quick": (said("too_quick"), said("do_sweep_slowly")),
    "average-unknown": (said("average_unknown"), said("do_move_slowly")),
    "drift": (said("drift"), said("do_let_settle")),
    "part-exchanged": (said("part_exchanged"), said("do_one_part")),
    "gap-in-crest": (said("gap_in_crest"), said("do_check_battery")),
    "frozen": (said("frozen"), said("do_check_display")),
    "display-lags": (said("display_lags"), said("do_undamp")),
    "stale-times": (said("stale_times"), said("do_check_connection")),
    "out-of-range": (said("out_of_range"), said("do_take_fitting_gauge")),
}
REFUSALS = (*_PLAIN, "passes-disagree", "too-few-passes")
"""Every code."""


def refuse(reason: str, movement: Movement) -> SweepRefused:
    """The refusal with that code."""
    if reason == "passes-disagree":
        sentence = said("passes_disagree", passes=entry_of(movement).passes)
        return SweepRefused(reason, sentence, said("do_clean_and_straighten"))
    return SweepRefused(reason, *_PLAIN[reason])


def too_few(traits: GaugeTraits, found: int) -> SweepRefused:
    """The refusal of a sweep in which only `found` passes count."""
    passes, wanted = entry_of(traits.movement).passes, traits.passes_min
    sentence = said("too_few_passes", found=found, wanted=wanted, passes=passes)
    return SweepRefused("too-few-passes", sentence, said("do_sweep_on"))
