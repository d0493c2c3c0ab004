"""The two example jobs, computed once."""

import pytest

from pondwright import api
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW, example_text
from pondwright.job.codec import loads


@pytest.fixture(scope="session")
def examples():
    return {name: loads(example_text(name)) for name in (LARKMEADOW, DOZEN_SHOTS)}


@pytest.fixture(scope="session")
def runs(examples):
    return {name: api.compute(job) for name, job in examples.items()}
