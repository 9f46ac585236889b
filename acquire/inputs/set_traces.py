"""Sizes of the sweeps whose traces lie beside a set file."""

from pathlib import Path

from barrelfit.acquire.errors import UserError
from barrelfit.acquire.inputs.trace_file import Sample, trace_samples
from barrelfit.rules.engine.form import FormError, Problem
from barrelfit.rules.engine.setfile import SetFile, Traced
from barrelfit.rules.judge.evidence import Question
from barrelfit.rules.judge.set_sizes import SetSizes, SizeDesk
from barrelfit.rules.model import FeatureId, Movement, Size
from barrelfit.rules.said import said
from barrelfit.rules.sweep import GaugeTraits, SweepRefused
from barrelfit.rules.uncertainty.size_budget import AsRead


def swept_sizes(file: SetFile, folder: Path, desk: SizeDesk) -> SetSizes:
    """Size every trace of a set file; a sweep that is refused becomes a question.

    Args:
        file: the set file.
        folder: where it lies; traces are named from there.
        desk: corrects to 20 °C and makes the budgets.

    Raises:
        FormError: a trace can't be read; every problem with the key that names the trace.
    """
    sizes: dict[FeatureId, Size] = {}
    questions: list[Question] = []
    problems: list[Problem] = []
    for traced in file.traced:
        try:
            samples = trace_samples(folder / traced.file)
        except UserError as error:
            problems += [Problem(traced.path, sentence) for sentence in error.problems]
            continue
        found = _size(samples, traced, file, desk)
        if isinstance(found, Question):
            questions.append(found)
        else:
            sizes[traced.at] = found
    if problems:
        raise FormError(str(folder), problems)
    return SetSizes(sizes, tuple(questions), tuple(desk.notes))


def _size(samples: list[Sample], traced: Traced, file: SetFile, desk: SizeDesk) -> Size | Question:
    from barrelfit.rules.sweep.stream import size_trace  # noqa: PLC0415  heavy: for who has traces

    outside = Movement(file.measuring.outside_movement)
    movement = Movement.BORE if traced.by == "bore" else outside
    swept = size_trace(samples, GaugeTraits(movement, file.measuring.digit_nm))
    if isinstance(swept, SweepRefused):
        refused = said("refused_so", what=swept.sentence, do=swept.advice)
        return Question(traced.at, said("of_trace", file=traced.file, what=refused))
    held = desk.held_sweep(traced.at, swept.size_nm)
    if held is not None:
        return Question(traced.at, said("of_trace", file=traced.file, what=held.question))
    read = AsRead(swept.size_nm, swept.u_sweep_nm, swept.dof, swept.u_digit_nm)
    return desk.size_as_read(traced.at, traced.by, read, f"trace {traced.file}")
