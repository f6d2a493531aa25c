"""For all tests: no property test fails because the machine is busy."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
