"""The report's templates, with what each of them may call."""

import base64
from typing import Final

from barrelfit.acquire.markup import Templates
from barrelfit.acquire.report.charts import verdict_shape
from barrelfit.acquire.report.words import say, say_or_raw


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _kind_of(block: object) -> str:
    """The name of a block's or stroke's class: each has its own piece of a template."""
    return type(block).__name__


made: Final = Templates(
    "barrelfit.acquire",
    "report/templates",
    {
        "kind_of": _kind_of,
        "shape_of": verdict_shape,
        "base64": _base64,
        "say": say,
        "say_or_raw": say_or_raw,
    },
)
