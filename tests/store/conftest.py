"""A store in a folder of its own."""

import pytest

from pondwright.store import open_store


@pytest.fixture
def file(tmp_path):
    return tmp_path / "jobs.sqlite"


@pytest.fixture
def store(file):
    store = open_store(file)
    yield store
    store.close()
