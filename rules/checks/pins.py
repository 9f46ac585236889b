"""Wrist pins: class, play in the piston by feel, diameter where the sheet gives one."""

from typing import Final

from barrelfit.rules.compare import Found, Value, under
from barrelfit.rules.engine.limits import Limit
from barrelfit.rules.model import Severity
from barrelfit.rules.said import said


def class_unknown(pin_class: str, classes: tuple[str, ...]) -> Found | None:
    """W101: the pin's class is not one of the sheet's, or is not marked.

    Okay: pin_class white classes white,black
    Found undecided: pin_class red classes white,black
    Found undecided: pin_class - classes white,black
    """
    if pin_class in classes:
        return None
    seen = said("class_mark", mark=pin_class) if pin_class else said("no_class_mark")
    sentence = said("class_unknown", seen=seen, classes=classes)
    return Found("W101", Severity.UNDECIDED, sentence, said("do_read_class"))


def class_of_another(pin_class: str, piston_class: str, piston: str) -> Found | None:
    """W102: pin and piston carry different classes, so they did not leave the maker together.

    Okay: pin_class white piston_class white piston P1
    Okay: pin_class white piston_class - piston P1
    Found undecided: pin_class black piston_class white piston P1
    """
    if not piston_class or not pin_class or pin_class == piston_class:
        return None
    sentence = said("class_of_another", pin=pin_class, piston=piston, other=piston_class)
    advice = said("do_find_own_pins")
    return Found("W102", Severity.UNDECIDED, sentence, advice)


def play_untried(play: str) -> Found | None:
    """W103: nobody has tried the pin's fit in its piston.

    Okay: play none
    Okay: play perceptible
    Found undecided: play -
    """
    if play:
        return None
    return Found("W103", Severity.UNDECIDED, said("pin_fit_untried"), said("do_try_fit"))


def play_perceptible(play: str, *, pin_sound: bool) -> Found | None:
    """W104: the pin has play in its piston: the piston is worn where the pin is sound.

    Okay: play none pin_sound yes
    Found discard: play perceptible pin_sound yes
    Found undecided: play perceptible pin_sound no
    """
    if play != "perceptible":
        return None
    if pin_sound:
        sentence = said("play_of_sound_pin")
        return Found("W104", Severity.DISCARD, sentence, said("do_another_piston_of_class"))
    return Found("W104", Severity.UNDECIDED, said("pin_play"), said("do_measure_pin_or_new"))


def pin_worn(diameter: Value, limit: Limit) -> Found | None:
    """W105: the pin is worn below its limit.

    Okay: diameter 22.998±0.0005 limit 22.992..
    Found discard: diameter 22.990±0.0005 limit 22.992..
    Found undecided: diameter 22.9925±0.0005 limit 22.992..
    """
    return under("W105", Severity.DISCARD, said("pin_diameter"), diameter, limit)


def pin_unmeasured(*, measured: bool) -> Found | None:
    """W106: the pin has no size yet, where the sheet gives its diameter.

    Okay: measured yes
    Found undecided: measured no
    """
    if measured:
        return None
    return Found("W106", Severity.UNDECIDED, said("pin_unmeasured"), said("do_measure_pin"))


def pin_missing(*, has_pin: bool) -> Found | None:
    """W107: the piston came without its pin.

    Okay: has_pin yes
    Found undecided: has_pin no
    """
    if has_pin:
        return None
    return Found("W107", Severity.UNDECIDED, said("pin_missing"), said("do_find_pin"))


RULES = (
    class_unknown,
    class_of_another,
    play_untried,
    play_perceptible,
    pin_worn,
    pin_unmeasured,
    pin_missing,
)

WORDS: Final[dict[str, str]] = {
    "class_mark": "the class mark '{mark}'",
    "no_class_mark": "no class mark",
    "class_unknown": "{seen} is not one of {classes}",
    "do_read_class": "read the mark again, or measure the pin",
    "class_of_another": "the pin is marked {pin} and its piston {piston} is marked {other}",
    "do_find_own_pins": "find each piston's own pin; pins stay with their pistons",
    "pin_fit_untried": "the pin's fit was not tried",
    "do_try_fit": "try it, oiled, by hand",
    "play_of_sound_pin": "the pin has perceptible play and is itself within limits: its piston is"
    " worn",
    "do_another_piston_of_class": "another piston, of the pin's class or with a pin of its own",
    "pin_play": "the pin has perceptible play: pin or piston is worn",
    "do_measure_pin_or_new": "measure the pin, or try a new one",
    "pin_diameter": "pin diameter",
    "pin_unmeasured": "the pin has no size yet",
    "do_measure_pin": "measure it where it is worn most",
    "pin_missing": "the piston's pin is not in the set",
    "do_find_pin": "find its own pin",
}
