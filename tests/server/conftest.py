"""One server for all tests of this folder; each test works on jobs of its own."""

import pytest

from pondwright import api
from tests.server.windows import Served


@pytest.fixture(scope="session")
def served(tmp_path_factory):
    api.warm()
    with Served(tmp_path_factory.mktemp("data") / "jobs.sqlite") as served:
        yield served


@pytest.fixture
def job_id(served):
    return served.example()
