"""The page of the job document is current, and what it shows works."""

import json
import re

from pondwright.job.codec import loads, smallest_job
from pondwright.job.edits import apply, read_edit
from tools.make_job_page import PAGE, job_page


def blocks():
    """The JSON blocks of the page, read."""
    text = PAGE.read_text(encoding="utf-8")
    return [json.loads(block) for block in re.findall(r"```json\n(.*?)```", text, flags=re.DOTALL)]


def test_the_generated_part_is_current():
    assert PAGE.read_text(encoding="utf-8") == job_page()


def test_the_job_on_the_page_is_the_example_of_the_schema():
    assert {**blocks()[0], "demo": True} == json.loads(smallest_job())


def test_the_edit_on_the_page_applies_to_the_job_on_the_page():
    job, edit = blocks()

    assert apply(loads(json.dumps(job)), read_edit(edit)).shape.bodies["pond"].level == 30.05
