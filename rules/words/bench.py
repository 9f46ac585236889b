"""What `rules.bench`, `rules.sweep` and `rules.uncertainty` say."""

from typing import Final

BENCH: Final[dict[str, str]] = {
    # what a bench asks
    "agree_to": "{parts:and} agree to {apart}",
    "two_or_twice": "{what}: two parts, or one measured twice?",
    "ask_undecided": "{ask}: once more, it is too near a limit to tell",
    "ask_below": "{ask}: it reads below the limit; once more, to be sure",
    "ask_above": "{ask}: it reads above the limit; once more, to be sure",
    "ask_alike": "{alike}: two parts? Press next; or measure again: {ask}",
    "ask_type_in": "{ask}: no gauge on this bench measures it; type it in",
    "set_is_measured": "the set is measured; nothing is left to do",
    # what a hand does beside sweeping
    "pressed_too_soon": "the press came before the question could be read",
    "do_read_then_press": "read it, then press again",
    "not_of_this_plan": "nothing of this plan is called so",
    "do_choose_of_plan": "choose a feature of the plan",
    "do_type_again": "type it again as read, or give a reason",
    "typed_in_place": "{who} typed {at} in place of the gauge's {size}: {why}",
    "gauge_found": "the gauge found {size} there, as read {read}",
    "do_measure_or_say_why": "measure it again, or give the reason why the typed value counts",
    "entry_held": "'{text}' {unit}: {why}",
    # why a sweep ends
    "gauge_went_away": "gauge {gauge} went away during the sweep",
    "gauge_during_sweep": "gauge {gauge}, during the sweep: {reason}",
    "do_look_at_gauge": "look at the gauge and its cable, then sweep again",
    "record_interrupted": "the record was interrupted during the sweep: {reason}",
    "do_sweep_again": "sweep again",
    "do_check_unit_and_feature": "check the gauge's unit and which feature it is on, then sweep"
    " again",
    # sweeps
    "passes_over_crest": "passes over the crest",
    "closings_held": "closings that were held",
    "rocks": "rocks through the upright",
    "presses": "presses",
    "never_touched": "the gauge never touched the part",
    "do_put_in": "put the part in the gauge and sweep again",
    "turned_back": "the part turned back before its full width was between the contacts",
    "do_go_over_crest": "go right over the crest and out at the other side, several times",
    "too_few_passes": "only {found} of at least {wanted} {passes}",
    "do_sweep_on": "sweep on until enough of them are counted",
    "too_quick": "too few readings on the crest for the speed of the hand",
    "do_sweep_slowly": "sweep more slowly, or more often",
    "passes_disagree": "the {passes} disagree by more than tilt and noise explain",
    "do_clean_and_straighten": "clean part and contacts, hold the part straight, and sweep again",
    "drift": "the size moves one way from pass to pass",
    "do_let_settle": "let part and gauge come to the room's temperature, and sweep again",
    "part_exchanged": "two different sizes were swept one after the other",
    "do_one_part": "sweep one part, at one height, at a time",
    "gap_in_crest": "readings are missing where the size is read",
    "do_check_battery": "check the gauge's battery and connection, and sweep again",
    "frozen": "the reading stood still while the part moved",
    "do_check_display": "check the gauge's display and connection, and sweep again",
    "stale_times": "readings came twice or late: their times do not grow",
    "do_check_connection": "check the gauge's connection, and sweep again",
    "out_of_range": "a reading lies outside the gauge's measuring range",
    "do_take_fitting_gauge": "take the gauge that fits the part, and sweep again",
    # what had to be assumed
    "the_gauge": "gauge",
    "the_part": "part",
    "taken_as_20": "temperature of the {what} not measured: taken as 20 °C ± {half}",
    "taken_as_rooms": "temperature of the {what} not measured: taken as the room's ± {half}",
    "typed_in_once": "typed in once: repeatability of one digit assumed",
    "setting_not_given": "how gauge {gauge} was set is not given: ± {half} assumed",
    "corrected_anew": "corrected to 20 °C anew, as {material}, which was told after it was"
    " measured",
}
