"""A mass from a scale on a wire: it fills what is asked for, once it came after that was shown.

What lay on a scale that sends all the time before the ask could be read must be lifted off: the
scale must show that it is bare before the part that is asked for counts. One that sends only when
it has come to rest never shows that; there a mass like the one before is held with a question.
"""

from typing import Final

from barrelfit.rules.bench.fact_told import hold, tell
from barrelfit.rules.bench.phases import ToTell
from barrelfit.rules.bench.scales import BARE_FG, FG_PER_MG, Pan, grams
from barrelfit.rules.bench.state import Bench
from barrelfit.rules.events import Output
from barrelfit.rules.judge.fact_entry import FactDoubt
from barrelfit.rules.said import Said, mass, said
from barrelfit.rules.told import FactHeld, FactTold, Weighed

LINGER_NS: Final = 4_000_000_000
"""How long a part may lie there after the next one is asked for, until that is told."""


def weighed_to_tell(bench: Bench, phase: ToTell, event: Weighed) -> tuple[Output, ...]:
    """A scale showed a mass while a fact is asked for."""
    pan = bench.pans.get(event.gauge)
    mass_fg = pan.at_rest_fg if pan is not None else None
    if pan is None or mass_fg is None or phase.ask.planned.gauge_kind != "scale":
        return ()
    if abs(mass_fg) <= BARE_FG:
        phase.swept.discard(event.gauge)
        return ()
    if phase.was_read(event.t_ns):
        return _lies(bench, phase, event, pan, mass_fg)
    if not bench.setup.scales[event.gauge].by_print:  # it goes on sending
        return ()
    return _warn(phase, event, "too-soon", (said("weighed_too_soon"), said("do_weigh_again")))


def _lies(
    bench: Bench, phase: ToTell, event: Weighed, pan: Pan, mass_fg: int
) -> tuple[Output, ...]:
    """Something lies there at rest, and could be what is asked for."""
    if mass_fg < 0:
        below = said("scale_below_zero", mass=mass(mass_fg // FG_PER_MG))
        return _warn(phase, event, "below-zero", (below, said("do_set_to_zero")))
    if bench.setup.scales[event.gauge].by_print:
        return _printed(bench, phase, event, pan, mass_fg)
    if pan.bare_ns is not None and phase.was_read(pan.bare_ns):
        return () if pan.used else _take(bench, phase, event, pan, mass_fg)
    if event.t_ns - (phase.heard_ns or 0) < LINGER_NS:
        return ()
    lies = said("lies_there_still", part=phase.ask.at.part)
    return _warn(phase, event, "not-bare", (lies, said("do_lift_off")))


def _printed(
    bench: Bench, phase: ToTell, event: Weighed, pan: Pan, mass_fg: int
) -> tuple[Output, ...]:
    """What was sent once: nobody saw the part before leave."""
    if pan.taken is None or not pan.is_as_before(mass_fg, event.digit_fg):
        return _take(bench, phase, event, pan, mass_fg)
    before, at = pan.taken[0], phase.ask.at
    if before == at.part:
        return _take(bench, phase, event, pan, mass_fg)
    question = said("weighs_like", part=at.part, before=before)
    doubt = FactDoubt("doubt", question, said("do_tell_again"), "", confirmable=True)
    return tuple(hold(bench, _told(bench, phase, event, mass_fg), doubt))


def _take(
    bench: Bench, phase: ToTell, event: Weighed, pan: Pan, mass_fg: int
) -> tuple[Output, ...]:
    """Tell it as a person would; one that is held counts when it is weighed once more the same."""
    pan.used, pan.taken = True, (phase.ask.at.part, mass_fg)
    phase.swept.discard(event.gauge)
    return tell(bench, _told(bench, phase, event, mass_fg))


def _told(bench: Bench, phase: ToTell, event: Weighed, mass_fg: int) -> FactTold:
    return FactTold(
        t_ns=event.t_ns,
        at=phase.ask.at,
        value=grams(mass_fg),
        unit="g",
        who=bench.who,
        by="gauge",
        confirms=True,
        device=event.gauge,
    )


def _warn(
    phase: ToTell, event: Weighed, reason: str, says: tuple[Said, Said]
) -> tuple[Output, ...]:
    """Say once why what lies there does not count."""
    if event.gauge in phase.swept:
        return ()
    phase.swept.add(event.gauge)
    return (FactHeld(phase.ask.at, reason, *says, grams(event.mass_fg)),)
