"""What holds for every test."""

import asyncio

from hypothesis import settings

# A busy machine is no fault of the code; how long a thing takes is measured in tests/bench.
settings.register_profile("barrelfit", deadline=None)
settings.load_profile("barrelfit")

# Says that no loop is wanted outside asynchronous tests: else pytest-asyncio makes one to restore
# later, never closes it, and the run ends with a warning that is an error here.
asyncio.set_event_loop(None)
