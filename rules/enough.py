"""When a sweep under way has enough passes: what the bench does after each of them.

A size comes with a doubt (one standard uncertainty), which shrinks with every pass. The asked
number of passes is the least. A sweep whose size is less sure than `SURE_NM` goes on, up to
`PASSES_MORE` times as many, because a following gauge shows the size only in the moments in which
the part stands upright; screw and bore gauges are sure with the asked passes as a rule. Where other
causes (how the gauge was set, temperatures) leave most of the doubt, more passes would not help.
"""

import math

from rules.size_budget import digit_u_nm
from rules.sweep import Refused, Sized

SURE_NM = 520.0  # with the last digit's share beside it
# Of the whole uncertainty: passes without end would lessen it by 8 % at most.
SHARE_LEFT = 0.4
PASSES_MORE = 2

# Refusals that more passes can't mend: the sweep is over as soon as they show.
_HOPELESS = {"passes-disagree", "drift", "part-exchanged", "out-of-range", "frozen"} | {
    *("stale-times", "gap-in-crest"),
}


def is_refused(refused: Refused, passes: int, least: int) -> bool:
    """Whether a sweep without a size ends after `passes` passes; `least` are asked for."""
    return passes >= PASSES_MORE * least or refused.reason in _HOPELESS


def is_sure(size: Sized, digit_nm: int, u_nm: float) -> bool:
    """Whether more passes would not make a size much surer.

    Args:
        size: what the sweep says so far.
        digit_nm: the gauge's last digit, nm.
        u_nm: the size's whole standard uncertainty, that of the sweep and of all else.
    """
    enough_nm = max(math.hypot(SURE_NM, digit_u_nm(digit_nm)), SHARE_LEFT * u_nm)
    return size.u_passes_nm <= enough_nm
