"""What all tests share: how many examples a property is tried with, and that no property is timed.

`default` tries the same examples in every run, so that a change alone can turn a test red;
`soak` (`make soak`) tries many, and others each time.
"""

from hypothesis import HealthCheck, settings

# How long an example takes tells of the machine and not of the code: no test depends on it.
settings.register_profile(
    "default",
    deadline=None,
    derandomize=True,
    max_examples=30,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "soak", deadline=None, max_examples=5_000, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("default")
