"""Judges parts and pairs: gathers what the rules need, runs them, draws the verdicts.

Everything may be incomplete: what is not known yet is undecided, with what is missing. Judge again
after each size.
"""

from rules.judge.pair import judge_pair
from rules.judge.part import judge_part

__all__ = ["judge_pair", "judge_part"]
