"""What is said, as text: in millimetres and with a point."""

from barrelfit.acquire.coded import said_of
from barrelfit.drivers.coded import Coded
from barrelfit.rules.manner import told


def text_of(what):
    """The text of what the rules or the drivers say, or of all problems of an error."""
    if isinstance(what, BaseException):
        return "; ".join(map(text_of, what.problems))
    return told(said_of(what) if isinstance(what, Coded) else what)


def problems_of(error):
    """The texts of all problems of an error."""
    return tuple(map(text_of, error.problems))
