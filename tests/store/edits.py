"""Edits that the tests of the store make, and the job that they are made on."""

from pondwright.base.findings import Op
from pondwright.examples import DOZEN_SHOTS, example_text
from pondwright.job.codec import loads
from pondwright.job.edits import Edit

NOW = 1_800_000_000.0


def small_job():
    return loads(example_text(DOZEN_SHOTS))


def to(path, value, *, id_="a-1", base=0, label="change"):
    """Edit that puts a value where one may already stand."""
    return Edit(id_, base, (Op("replace", path, value),), label)


def level(value, **rest):
    return to("/shape/bodies/pond/level", value, **rest)


def client(name, **rest):
    return to("/brief/client", name, **rest)
