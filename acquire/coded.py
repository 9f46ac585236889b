"""What the drivers say, as what the rules say: the same keys with the same values."""

from barrelfit.drivers.coded import Coded, Value
from barrelfit.rules.said import Said
from barrelfit.rules.said import Value as RulesValue


def said_of(what: Coded) -> Said:
    """The same, for the catalogue."""
    return Said(what.key, {name: _value(value) for name, value in what.values.items()})


def _value(value: Value) -> RulesValue:
    if isinstance(value, Coded):
        return said_of(value)
    if isinstance(value, tuple):
        return tuple(said_of(one) if isinstance(one, Coded) else one for one in value)
    return value
