"""Proves a profile by its own examples: the judge between a decoder and whoever wrote the data."""

from collections.abc import Mapping

from barrelfit.drivers.coded import said
from barrelfit.drivers.decode import FILLING, Wire
from barrelfit.drivers.outcome import Note, Outcome
from barrelfit.drivers.profile import Profile
from barrelfit.drivers.schema import Problem


def decode_whole(profile: Profile, raw: bytes) -> list[Outcome]:
    """Decode a whole stream whose times are unknown; line ends without a line are left out."""
    wire = Wire(profile, min_repeat_ms=0)
    outcomes = wire.feed(raw, 0) + wire.closed(0)
    return [o for o in outcomes if not (isinstance(o, Note) and o.note == FILLING)]


def example_problems(profile: Profile) -> list[Problem]:
    """A problem for each example whose bytes do not become what it says."""
    problems = []
    for number, example in enumerate(profile.examples):
        got = decode_whole(profile, example.raw)
        if len(got) != len(example.outcomes) or not all(
            _agrees(outcome, wanted) for outcome, wanted in zip(got, example.outcomes, strict=True)
        ):
            says = said("expected_got", wanted=str(list(example.outcomes)), found=str(got))
            problems.append(Problem(("example", number), says))
    return problems


def _agrees(outcome: Outcome, wanted: Mapping[str, object]) -> bool:
    return all(getattr(outcome, key, None) == value for key, value in wanted.items())
