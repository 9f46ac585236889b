"""What the journal's documents have in common."""

import msgspec


class Flat(msgspec.Struct, frozen=True, gc=False, omit_defaults=True, forbid_unknown_fields=True):
    """A document of plain texts and numbers: never part of a cycle; empty fields are left out."""
