"""A size or a refusal: what is said of it, what it decides, and what is asked for next."""

from barrelfit.rules.bench.asking import ask_next
from barrelfit.rules.bench.learning import lessons_for
from barrelfit.rules.bench.phases import DOUBTED, REPEATS, Armed, Hold, Leaving
from barrelfit.rules.bench.sizing import of_sweep, size_at_20
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.bench.two_parts import in_order, judged, measured_once_more, note_alike
from barrelfit.rules.events import MeasuredTwice, Output, Refused, Sized
from barrelfit.rules.judge.entry import check_gauge_size
from barrelfit.rules.judge.expected import expected_at
from barrelfit.rules.judge.twice import agree, doubt_nm
from barrelfit.rules.model import Size
from barrelfit.rules.said import said
from barrelfit.rules.sweep import SweepRefused, SweepSized


def take_sweep(bench: Bench, armed: Armed, swept: SweepSized) -> list[Output]:
    """Take a sweep's size, or hold one that looks like another unit or another feature."""
    held = check_gauge_size(swept.size_nm, expected_at(bench.evidence, armed.ask.at))
    if held is None:
        taught_by = lessons_for(bench, armed.ask.at, armed.gauge)
        found = of_sweep(swept, taught_by)
        size = size_at_20(bench, armed.ask.at, armed.gauge, found)
        return take(bench, *size, went_on=armed.since is not None)
    advice = said("do_check_unit_and_feature")
    return refuse(bench, armed, SweepRefused(held.reason, held.question, advice))


def take(bench: Bench, size: Size, event: Sized, *, went_on: bool = False) -> list[Output]:
    """Take a size: say it, judge what it decides, and ask for the next feature.

    `went_on` says that its sweep went on after the part had been out.
    """
    why = bench.why(size.at)
    was = bench.sizes.get(size.at)
    first = was if why in REPEATS else None
    doubted, order = bench.doubted, in_order(bench, size.at.feature)
    bench.forget(size.at)
    bench.sizes[size.at] = size
    if went_on:
        bench.went_on.add(size.at)
    bench.history.append(size.at)
    bench.done.append(size.at)
    said: list[Output] = []
    compares = first is None
    if first is not None:
        bench.asked_again.add(size.at)
        bench.firsts[size.at] = first
        twice = measured_twice(first, size)
        compares = not twice.agree  # whatever the first was compared with, this one was not
        said.append(twice)
    said.append(event)
    if why in DOUBTED or size.at in bench.once_more:
        note_alike(bench, size.at)  # it may be the one that was measured right before it, too
        said += measured_once_more(bench, size.at)
    elif compares:
        (bench.weigh_anew if was is None else bench.forget_alike)(size.at)
        stands_no_more = was is not None and not agree(was, size)
        note_alike(bench, size.at, order if first is not None or stands_no_more else ())
    said += judged(bench, {size.at.part} | doubted | bench.doubted)
    return said + ask_next(bench)


def measured_twice(first: Size, second: Size) -> MeasuredTwice:
    """What is said of two sizes of one place, before the second."""
    doubt, do_agree = doubt_nm(first, second), agree(first, second)
    return MeasuredTwice(second.at, first.size_nm, second.size_nm, doubt, do_agree)


def refuse(bench: Bench, armed: Armed, result: SweepRefused) -> list[Output]:
    """Say why a sweep is no size; its part must come away, and may be another than was asked."""
    hold = Hold(armed.gauge, None, armed.stays)
    bench.phase = Leaving(armed.ask, armed.gauge, hold)
    bench.begun_anew.add(armed.ask.at)
    return [Refused(armed.ask.at, result.reason, result.sentence, result.advice)]
