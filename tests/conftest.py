"""What all tests share: how many examples a property is tried with, and that no property is timed.

`default` tries the same examples in every run, so that a change alone can turn a test red;
`soak` (`make soak`) tries many, and others each time.
"""

from hypothesis import HealthCheck, settings

settings.register_profile("default", deadline=None, derandomize=True, max_examples=30)
settings.register_profile(
    "soak", deadline=None, max_examples=5_000, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("default")
