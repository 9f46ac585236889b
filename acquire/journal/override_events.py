"""What a session's journal says of overrides: asked for, made, refused.

An override never replaces a verdict: it stands beside the rules' own, which stays visible.
"""

import msgspec

from barrelfit.acquire.journal.document import Flat
from barrelfit.rules.said import Said


class OverrideAsked(Flat, frozen=True):
    """Somebody at the bench asks the lead to look at a verdict."""

    about: str
    who: str
    reason: str


class Overridden(Flat, frozen=True):
    """A lead decided otherwise than the verdict in record `judged_seq`, which said `was`."""

    about: str
    verdict: str
    was: str
    judged_seq: int
    who: str
    reason: str
    request: str


class OverrideRefused(msgspec.Struct, frozen=True, omit_defaults=True, forbid_unknown_fields=True):
    """An override was turned down: `code` says why in a word, `sentence` in full."""

    about: str
    who: str
    code: str
    sentence: Said
    request: str = ""
