"""How a process of ours loads: without looking for garbage again and again among what stays."""

import gc
from typing import Final

YOUNG_OBJECTS: Final = 20_000


def load_quickly() -> None:
    """Look for garbage whenever so many objects are new; by itself Python does after every 700.

    What is loaded stays, and is tens of thousands of objects: looking through them took a
    tenth of a board's start. What is let go in circles, which is little, stands a moment longer.
    """
    gc.set_threshold(YOUNG_OBJECTS)
