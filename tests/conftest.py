"""What all tests share: their order, how many examples a property is tried with, that none is timed.

`default` tries the same examples in every run, so that a change alone can turn a test red;
`soak` (`make soak`) tries many, and others each time.
"""

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("default", deadline=None, derandomize=True, max_examples=30)
settings.register_profile(
    "soak", deadline=None, max_examples=5_000, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("default")

LONGEST = ("tests/browser/test_access.py", "tests/browser", "tests/wheel", "tests/flow")
"""Files and folders that take longest: they begin first, so that all processes end at about the same time."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest comes first; otherwise the order stays."""
    items.sort(
        key=lambda item: next((at for at, place in enumerate(LONGEST) if place in item.path.as_posix()), 99)
    )
