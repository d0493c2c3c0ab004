"""What rows name must be there: all rows at first, later only what may have changed."""

import json
from pathlib import Path

from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.references import REFERENCES, reference_faults

TARGETS = sorted({path for row in REFERENCES for path in row.reads if path != row.source})
"""Maps that rows of other maps name; a map of rows that name each other takes its own faults along."""

OLD_FILE = Path(__file__).resolve().parents[2] / "old_files/format_1.pond.json"


def stripped(*paths):
    """The sampler without the maps of some paths, cross-references unchecked."""
    tree = json.loads(OLD_FILE.read_text(encoding="utf-8"))
    for path in paths:
        *holders, last = path.split(".")
        holder = tree
        for name in holders:
            holder = holder[name]
        holder[last] = {}
    return Job.model_validate_json(json.dumps(tree))


def test_a_sound_job_has_no_faults():
    assert list(reference_faults(stripped())) == []


def test_every_reference_finds_what_is_missing():
    for target in TARGETS:
        sources = {
            reference.source
            for reference in REFERENCES
            for fault in reference_faults(stripped(target))
            if fault.path.startswith(f"{reference.source}.")
        }
        assert sources, target


def test_every_map_that_names_others_is_checked():
    faults = list(reference_faults(stripped(*{path for row in REFERENCES for path in row.reads})))
    left = {row.source for row in REFERENCES} - {path for row in REFERENCES for path in row.reads}

    assert {row.source for row in REFERENCES if any(f.path.startswith(row.source) for f in faults)} == left


def test_a_row_that_another_of_the_same_map_names_may_not_go():
    job = loads(OLD_FILE.read_bytes())
    kept = {name: drain for name, drain in job.groundwater.drains.items() if name != "carrier"}
    water = job.groundwater.model_copy(update={"drains": kept})
    after = job.model_copy(update={"groundwater": water})

    paths = [fault.path for fault in reference_faults(after, job)]

    assert paths == ["groundwater.drains.relief.into"]


def test_the_short_way_after_an_edit_finds_the_same_faults_as_the_long_way():
    job = loads(OLD_FILE.read_bytes())
    for target in TARGETS:
        broken = stripped(target)
        # Same objects everywhere but in the emptied map, as an edit would leave them.
        section, _, name = target.partition(".")
        emptied = getattr(broken, section)
        if name:
            emptied = getattr(job, section).model_copy(update={name: getattr(emptied, name)})
        after = job.model_copy(update={section: emptied})

        assert list(reference_faults(after, job)) == list(reference_faults(after)) != []
