"""The public face: what it promises, and that asking for it loads nothing heavy."""

import inspect
import subprocess
import sys

import pytest

from pondwright import api
from pondwright.base.errors import DocumentError, StoreError


def test_importing_the_api_loads_no_numbers():
    script = "import sys, pondwright.api; print({'numpy', 'scipy', 'numba', 'pydantic'} & set(sys.modules))"

    asked = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)

    assert asked.stdout.strip() == "set()", asked.stderr


@pytest.mark.parametrize("name", api.__all__)
def test_all_that_is_promised_is_there_and_told(name):
    assert inspect.getdoc(getattr(api, name))


def test_a_job_that_was_saved_opens_equal(tmp_path):
    job = api.new_job("Mill Lane 4", "us")

    api.save_job(job, tmp_path / "mill.pond.json")

    assert api.open_job(tmp_path / "mill.pond.json") == job


def test_a_missing_file_is_told_in_a_sentence(tmp_path):
    with pytest.raises(DocumentError, match=r"`none\.pond\.json` cannot be read"):
        api.open_job(tmp_path / "none.pond.json")


def test_a_folder_that_is_not_there_cannot_be_saved_into(tmp_path):
    with pytest.raises(StoreError, match="cannot be written"):
        api.save_job(api.new_job("A"), tmp_path / "none" / "a.pond.json")


def test_a_job_without_ground_has_a_site_report_and_no_plan(tmp_path):
    written = api.write_papers(api.compute(api.new_job("Mill Lane 4")), tmp_path)

    assert [path.name for path in written][:2] == ["mill_lane_4.pdf", "mill_lane_4-site-report.svg"]
    assert not any("plan" in path.name for path in written)
