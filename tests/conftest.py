"""What holds for every test."""

from hypothesis import settings

# A busy machine is no fault of the code; how long a thing takes is measured in tests/bench.
settings.register_profile("barrelfit", deadline=None)
settings.load_profile("barrelfit")
