"""Judges parts, pairs and whole sets: gathers what the rules need, runs them, draws the verdicts.

Everything may be incomplete: what is not known yet is undecided, with what is missing. Judge again
after each size.
"""

from barrelfit.rules.judge.pair import judge_pair
from barrelfit.rules.judge.part import judge_part, second_place
from barrelfit.rules.judge.remaining import still_to_measure
from barrelfit.rules.judge.whole import Outcome, Pairing, SetJudgement, judge_set, outcome_said

__all__ = [
    "Outcome",
    "Pairing",
    "SetJudgement",
    "judge_pair",
    "judge_part",
    "judge_set",
    "outcome_said",
    "second_place",
    "still_to_measure",
]
