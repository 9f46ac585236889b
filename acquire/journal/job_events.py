"""What a session's journal says of jobs and people: ordered at the board, paused, signed on.

A job is a session; its opening holds what was ordered. The order that ends a session, or begins the
next one, stands in the session at whose board it was given.
"""

import msgspec

from barrelfit.acquire.journal.document import Flat
from barrelfit.rules.said import Said


class JobOrdered(Flat, frozen=True):
    """`who` wants a job: `what` is `new`, `pause`, `take-up` (of `session`) or `close`.

    Of a new one: `job` is the customer's reference, `sheet` the engine sheet, `variant` and `group`
    as said, `left_out` what is not asked for (`rules.engine.parts.LEAVABLE`), `steps` in which
    steps the plan asks for facts (`rules.engine.parts.STEPS`), `asked_for` what was asked for in
    words. `device` is which screen it was said at.
    """

    what: str
    who: str
    device: str = ""
    session: str = ""
    job: str = ""
    sheet: str = ""
    variant: str = ""
    group: str = ""
    left_out: tuple[str, ...] = ()
    asked_for: str = ""
    steps: tuple[str, ...] = ()


class JobPaused(Flat, frozen=True):
    """The job is put aside by `who` and may be taken up again: the last record until then."""

    who: str


class SignedOn(Flat, frozen=True):
    """`who` is at the bench from now on: a name told with one touch.

    `proven`: it was proved by a personal code; else it is a statement.
    """

    who: str
    device: str = ""
    proven: bool = False


class GaugeSetup(Flat, frozen=True):
    """A gauge as the session began: its profile's text is what decodes its bytes in a redo."""

    profile: str
    profile_text: str
    movement: str
    estimator: str = ""
    port: str = ""


class BenchChanged(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The bench is set up otherwise from here on, and what was measured before stands.

    `config_text` is its file's text and `gauges` are its gauges now; `changes` says what is other.
    """

    config_text: str
    gauges: dict[str, GaugeSetup]
    changes: Said
