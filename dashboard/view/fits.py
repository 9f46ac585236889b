"""Which sheets fit the parts, as shown: a line for each variant, and its reasons below. Pure."""

from barrelfit.dashboard.board.model import Board
from barrelfit.dashboard.shown import Shown
from barrelfit.dashboard.words import say
from barrelfit.rules.manner import told_all

REASONS_MOST = 4


def fit_lines(board: Board, shown: Shown) -> tuple[str, ...]:
    """The sheets' variants, those that fit first; none while nothing is known of any part."""
    fits = board.jobs.fits if board.jobs is not None and board.parts else []
    lines: list[str] = []
    for fit in fits if any(fit.outcome != "open" for fit in fits) else []:
        lines.append(say(f"fit_{fit.outcome}", sheet=fit.sheet, variant=fit.variant))
        reasons = told_all(fit.against or fit.speaks_for, shown)
        lines += [say("fit_reason", why=why) for why in reasons[:REASONS_MOST]]
        if fit.parts:
            lines.append(say("fit_parts", parts=", ".join(fit.parts)))
    return tuple(lines)
