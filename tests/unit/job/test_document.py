"""The root of the document, new jobs, and what stands on defaults."""

import json
import re

import pytest

from pondwright.job import FORMAT, RESERVED, Job, new_job
from pondwright.job.codec import loads, smallest_job
from pondwright.job.defaults import defaults_in_use
from pondwright.job.fields import ID_PATTERN
from pondwright.job.shape import STANDARD_BANK


@pytest.mark.parametrize("name", ["Mill Lane 4", "4 Mill Lane", "", "Bäche & Teiche", "x" * 90, "_", "池"])
def test_a_new_job_has_an_id_from_its_name(name):
    job = new_job(name, "us")

    assert re.fullmatch(ID_PATTERN, job.id)
    assert (job.name, job.shown_units, job.format) == (name, "us", FORMAT)


def test_no_section_takes_a_reserved_name():
    assert not set(RESERVED) & set(Job.model_fields)


def test_a_body_without_a_bank_type_has_the_standard_bank():
    shape = loads(smallest_job()).shape

    assert shape.bodies["pond"].bank_type is None and len(STANDARD_BANK.points) == 7


def test_the_berm_of_a_body_is_the_row_that_names_it():
    tree = json.loads(smallest_job())
    tree["shape"]["berms"] = {"south": {"body": "pond", "freeboard": 0.5}}

    shape = loads(json.dumps(tree)).shape

    assert shape.berm("pond").freeboard == 0.5


def test_defaults_in_use_are_told_with_value_source_and_count():
    found = {default.path: default for default in defaults_in_use(loads(smallest_job()))}

    assert found["site.shots.*.sigma"].value == 0.010
    assert found["site.shots.*.sigma"].count == 5
    assert str(found["site.shots.*.sigma"].source) == "common practice, no source"
    assert found["shape.berms.*.freeboard"].value == 0.30
    assert found["shape.slopes.cut"].kind.unit == "m/m"
    assert found["shape.bodies.*.bank_type"].kind is None
    assert "shape.bodies.*.level" not in found


def test_a_value_in_the_document_is_no_default_in_use():
    tree = json.loads(smallest_job())
    tree["shape"]["slopes"] = {"cut": 2.5}

    paths = [default.path for default in defaults_in_use(loads(json.dumps(tree)))]

    assert "shape.slopes.cut" not in paths
    assert "shape.slopes.fill" in paths


def test_soils_of_two_kinds_stand_on_two_defaults():
    tree = json.loads(smallest_job())
    layers = [{"kind": "clay", "thickness": 1.0}, {"kind": "sand"}]
    tree["site"]["soils"] = {"a": {"place": {"at": "whole"}, "layers": layers}}

    found = [default for default in defaults_in_use(loads(json.dumps(tree))) if "bulking" in default.path]

    assert [(default.path, default.value) for default in found] == [
        ("site.soils.*.layers.*.bulking", 1.30),
        ("site.soils.*.layers.*.bulking", 1.11),
    ]
    assert all(default.source.document for default in found)
