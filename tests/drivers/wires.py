"""Short ways to feed a profile's wire and to look at what came of it."""

import tomllib
from decimal import Decimal
from importlib.resources import files

from barrelfit.drivers.decode import FILLING, Wire
from barrelfit.drivers.outcome import Note, WireReading
from barrelfit.drivers.profile import profile_from
from barrelfit.drivers.proving import decode_whole

MS = 1_000_000
S = 1000 * MS


def profile(name):
    path = files("barrelfit.drivers").joinpath("profiles", f"{name}.toml")
    return profile_from(tomllib.loads(path.read_text(), parse_float=Decimal), name)


def decode(name, data):
    return decode_whole(profile(name), data)


def values(outcomes):
    return [(o.value, o.unit, o.length_nm) for o in outcomes if isinstance(o, WireReading)]


def lengths(outcomes):
    return [o.length_nm for o in outcomes if isinstance(o, WireReading)]


def live(name, *steps, **options):
    """Feed (ms, bytes) steps into an armed wire; line ends alone are left out."""
    wire = Wire(profile(name), **options)
    got = [o for ms, data in steps for o in wire.feed(data, ms * MS)]
    return [o for o in got if not (isinstance(o, Note) and o.note == FILLING)]
