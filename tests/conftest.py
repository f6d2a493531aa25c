"""For all tests: no property test fails because the machine is busy, or by another example each time.

``pytest --hypothesis-profile=other`` looks at other examples in each run.
"""

from hypothesis import settings

settings.register_profile("same", deadline=None, derandomize=True)
settings.register_profile("other", deadline=None)
settings.load_profile("same")
