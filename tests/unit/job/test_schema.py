"""The JSON Schema says the same as the reader, and tells a person what each field is."""

import json
from pathlib import Path

import pytest

from pondwright.base.errors import DocumentError
from pondwright.job.codec import dumps, job_schema, loads, smallest_job

OLD_FILE = Path(__file__).resolve().parents[2] / "old_files/format_1.pond.json"


@pytest.fixture(scope="module")
def schema():
    return job_schema()


@pytest.fixture(scope="module")
def validator(schema):
    jsonschema = pytest.importorskip("jsonschema")
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_sound_files_keep_the_schema(validator):
    for text in (smallest_job(), OLD_FILE.read_text(encoding="utf-8"), dumps(loads(smallest_job()))):
        assert list(validator.iter_errors(json.loads(text))) == []


@pytest.mark.parametrize(
    "broken",
    [
        {"seed": -1},
        {"format": 2},
        {"storm": {}},
        {"site": {"shots": {"S 1": {"place": {"by": "book"}}}}},
        {"site": {"shots": {"s1": {"place": {"by": "book", "east": 1}}}}},
        {"shape": {"slopes": {"cut": 0}}},
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(validator, broken):
    tree = {**json.loads(smallest_job()), **broken}

    assert list(validator.iter_errors(tree)) != []
    with pytest.raises(DocumentError):
        loads(json.dumps(tree))


def test_every_field_is_described(schema):
    silent = [
        f"{model}.{name}"
        for model, declared in {**schema["$defs"], "Job": schema}.items()
        for name, field in declared["properties"].items()
        if not field.get("description")
    ]

    assert silent == []


def test_a_quantity_tells_kind_unit_and_default_with_source(schema):
    assert schema["$defs"]["Shot"]["properties"]["sigma"] == {
        "anyOf": [{"exclusiveMinimum": 0.0, "maximum": 10.0, "type": "number"}, {"type": "null"}],
        "default": None,
        "description": "Standard deviation of the elevation",
        "kind": "length",
        "stated_default": {
            "value": 0.01,
            "says": "height of a rod shot with a rotating laser, one standard deviation",
            "source": "common practice, no source",
        },
        "title": "Sigma",
        "unit": "m",
    }


def test_the_schema_holds_an_example_that_opens(schema):
    (example,) = schema["examples"]

    assert loads(json.dumps(example)) == loads(smallest_job())
