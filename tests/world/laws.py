"""What a session's records must keep among themselves, whoever's hand it was: read from them alone.

What followed from a record is looked at where that record stands, however late it was written.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator

from barrelfit.acquire.journal.events import ReadingTaken
from barrelfit.rules.events import (
    Asked,
    GaugeChanged,
    Judged,
    MeasuredTwice,
    Passed,
    PedalPressed,
    RecordBroken,
    Refused,
    Sized,
    StartedAnew,
    TakenBack,
    TwoPartsAsked,
    TwoPartsSettled,
)
from barrelfit.rules.model import FeatureId, Verdict
from barrelfit.rules.sweep.refusals import REFUSALS
from barrelfit.rules.told import FactTaken
from tests.world.bench import Line

TO_READ_NS = 1_000_000_000  # nobody reads a question any sooner
AWAY_NS = 1_000_000_000  # no part comes away and another in any sooner


def broken_laws(lines: Iterable[Line], least: int) -> Iterator[str]:
    """Every law that does not hold, in words; `least` passes are asked for at least."""
    written = list(lines)
    in_order = sorted(written, key=lambda line: (line.because or line.seq, line.seq))
    yield from _sizes_rest_on_passes_enough(in_order, least)
    yield from _nothing_goes_on_over_a_hole(in_order)
    yield from _the_last_size_is_taken_back(in_order)
    yield from _an_answer_is_what_was_pressed(in_order)
    yield from _a_fact_is_what_could_be_read(written)
    yield from _a_discard_was_measured_twice(in_order)
    yield from _passes_are_of_what_stood_asked(written)
    yield from _a_refused_sweep_is_over(in_order)
    yield from _two_parts_are_not_one(in_order)


def _sizes_rest_on_passes_enough(lines: list[Line], least: int) -> Iterator[str]:
    """As many as were asked for at least; the last one of a part that is taken away is not told."""
    passes = 0
    for line in lines:
        match line.event:
            case Passed():
                passes += 1
            case StartedAnew(passes=since):
                passes = since
            case Sized(source="sweep") as sized:
                if max(passes, len(sized.pass_sizes_nm)) < least:
                    yield f"record {line.seq}: size of {sized.at} after {passes} passes"
                passes = 0
            case Refused():
                passes = 0


def _nothing_goes_on_over_a_hole(lines: list[Line]) -> Iterator[str]:
    """After a loss of the gauge, or a hole in the record, the passes are counted from one again."""
    gauge, begun = "", False
    for line in lines:
        match line.event:
            case Asked(gauge=wanted):
                gauge = wanted
            case GaugeChanged(gauge=changed, state=state):
                begun = begun and (changed != gauge or state == "answering")
            case RecordBroken():
                begun = False
            case Passed(number=number, at=at):
                if not begun and number > 1:
                    yield f"record {line.seq}: pass {number} of {at} goes on over a hole"
                begun = True


def _a_refused_sweep_is_over(lines: list[Line]) -> Iterator[str]:
    """What made it must come away before anything counts again: longer than between two passes."""
    last_ns: int | None = None
    refused = False
    for line in lines:
        match line.event:
            case Refused(reason=reason) if reason in REFUSALS:
                refused = last_ns is not None
            case GaugeChanged() | RecordBroken() | Asked(at=None):
                refused, last_ns = False, None
            case Passed(at=at, start_ns=start_ns, end_ns=end_ns):
                if refused and last_ns is not None and start_ns - last_ns < AWAY_NS:
                    yield f"record {line.seq}: pass of {at} goes on with a refused sweep"
                refused, last_ns = False, end_ns


def _two_parts_are_not_one(lines: list[Line]) -> Iterator[str]:
    """No part is asked about beside itself: measuring it once more would never settle that."""
    for line in lines:
        if isinstance(line.event, TwoPartsAsked):
            for pair in line.event.pairs:
                if pair.earlier == pair.later:
                    yield f"record {line.seq}: is {pair.earlier} two parts?"


def _the_last_size_is_taken_back(lines: list[Line]) -> Iterator[str]:
    """By the pedal; what else takes sizes back says which."""
    undone = {
        line.seq
        for line in lines
        if isinstance(line.event, PedalPressed) and line.event.action == "undo"
    }
    standing: list[FeatureId] = []
    for line in lines:
        match line.event:
            case Sized(at=at):
                standing = [*(other for other in standing if other != at), at]
            case TakenBack(at=at):
                if line.because in undone and standing[-1:] != [at]:
                    yield f"record {line.seq}: {at} was taken back and not the last size"
                standing = [other for other in standing if other != at]


def _an_answer_is_what_was_pressed(lines: list[Line]) -> Iterator[str]:
    """A no is one press; a yes is two, the second once it could be read what one more means."""
    pressed = {
        line.seq: (line.event.action, line.event.t_ns)
        for line in lines
        if isinstance(line.event, PedalPressed)
    }
    asked_ns, said = 0, ""
    for line in lines:
        match line.event:
            case Asked(sentence=sentence):
                _, at_ns = pressed.get(line.because or 0, ("", line.t_ns))
                if sentence.key == "ask_sure" != said and at_ns - asked_ns < TO_READ_NS:
                    yield f"record {line.seq}: a press answers what nobody can have read"
                asked_ns = asked_ns if sentence.key == said else line.t_ns  # it stood there before
                said = sentence.key
            case TwoPartsSettled(how="pressed" | "denied" as how):
                meant = {"pressed": "next", "denied": "again"}[how]
                action, at_ns = pressed.get(line.because or 0, ("", 0))
                if action != meant:
                    yield f"record {line.seq}: {how}, and {meant} was not pressed"
                if how == "pressed" and said != "ask_sure":
                    yield f"record {line.seq}: one press alone is a yes"
                if how == "pressed" and at_ns - asked_ns < TO_READ_NS:
                    yield f"record {line.seq}: a press answers what nobody can have read"


def _a_fact_is_what_could_be_read(lines: list[Line]) -> Iterator[str]:
    """A press tells the fact that stood asked in the record for long enough, and no other."""
    asks: list[tuple[int, int, FeatureId | None]] = []
    pressed: dict[int, int] = {}
    for line in lines:
        match line.event:
            case Asked(at=at):
                said_anew = bool(asks) and asks[-1][2] == at  # it stood there before
                asks.append((line.seq, asks[-1][1] if said_anew else line.t_ns, at))
            case PedalPressed(action="next" | "again", t_ns=t_ns):
                pressed[line.seq] = t_ns
            case FactTaken(at=at, by="pedal") if line.because in pressed:
                stood = [one for one in asks if one[0] < line.because]
                if not stood or stood[-1][2] != at:
                    yield f"record {line.seq}: {at} was told, and {stood[-1:]} was asked"
                elif pressed[line.because] - stood[-1][1] < TO_READ_NS:
                    yield f"record {line.seq}: {at} was told before anybody can have read it"


def _a_discard_was_measured_twice(lines: list[Line]) -> Iterator[str]:
    verdicts: dict[str, Verdict] = {}
    twice: set[str] = set()
    for line in lines:
        match line.event:
            case Judged(about=about, verdict=verdict):
                verdicts[about] = verdict
            case MeasuredTwice(at=at):
                twice.add(at.part)
    for about, verdict in verdicts.items():
        if verdict is Verdict.DISCARD and "+" not in about and about not in twice:
            yield f"{about} is a discard by one sweep"


def _passes_are_of_what_stood_asked(lines: list[Line]) -> Iterator[str]:
    """Every reading of a pass stands after the ask, and no other ask stands between."""
    readings: dict[str, tuple[list[int], list[int]]] = {}
    asks: list[tuple[int, Asked]] = []
    for line in lines:
        if isinstance(line.event, ReadingTaken):
            times, numbers = readings.setdefault(line.event.gauge, ([], []))
            times.append(line.event.at_ns or line.t_ns)
            numbers.append(line.seq)
        elif isinstance(line.event, Asked):
            asks.append((line.seq, line.event))
    for line in lines:
        if isinstance(line.event, Passed):
            seen = [(seq, one) for seq, one in asks if seq < line.seq and one.at == line.event.at]
            if not seen:
                yield f"record {line.seq}: pass of {line.event.at}, never asked for"
                continue
            times, numbers = readings[seen[-1][1].gauge]
            first = numbers[bisect_left(times, line.event.start_ns)]
            stood = [one.at for seq, one in asks if seq < first]
            if not stood or stood[-1] != line.event.at:
                yield f"record {line.seq}: pass of {line.event.at} while {stood[-1:]} was asked"
