"""What viewers are told of a bench's jobs."""

import msgspec

from barrelfit.rules.said import NOTHING, Said


class SheetTold(msgspec.Struct, frozen=True, gc=False):
    """An engine sheet that a job may have: its name, engine, cylinders, and groups by variant."""

    name: str
    engine: str
    cylinders: int
    groups: dict[str, list[str]]


class PausedJob(msgspec.Struct, frozen=True, gc=False):
    """A job that was paused: its session, and the customer's reference.

    `changed` is what is other about the bench than when it was begun.
    """

    session: str
    job: str
    changed: Said = NOTHING


class FitTold(msgspec.Struct, frozen=True, gc=False):
    """Whether a variant of a sheet fits the parts; see `rules.judge.fits`."""

    sheet: str
    variant: str
    outcome: str
    speaks_for: list[Said] = []
    against: list[Said] = []
    parts: list[str] = []


class JobsTold(msgspec.Struct, frozen=True):
    """Sheets that a new job may have, jobs that may be taken up, and which sheets fit the parts."""

    sheets: list[SheetTold]
    paused: list[PausedJob] = []
    fits: list[FitTold] = []
