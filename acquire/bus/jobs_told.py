"""What viewers are told of a bench's jobs."""

import msgspec


class SheetTold(msgspec.Struct, frozen=True, gc=False):
    """An engine sheet that a job may have: its name, engine, cylinders, and groups by variant."""

    name: str
    engine: str
    cylinders: int
    groups: dict[str, list[str]]


class PausedJob(msgspec.Struct, frozen=True, gc=False):
    """A job that was paused: its session, and the customer's reference."""

    session: str
    job: str


class JobsTold(msgspec.Struct, frozen=True):
    """Sheets that a new job may have, and jobs that may be taken up."""

    sheets: list[SheetTold]
    paused: list[PausedJob] = []
