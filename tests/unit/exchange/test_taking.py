"""One edit takes a file in, and its inverse takes it back."""

import numpy as np
import pytest

from pondwright import api
from pondwright.base.errors import ImportRefused
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Wanted
from pondwright.exchange.taking import around_of, cloud_ops, shot_ops, surface_of, take
from pondwright.geometry.tin import tin_to_grid, triangulate
from pondwright.job.codec import dumps, loads
from pondwright.job.edits import Edit, inverse
from tests.unit.exchange.files import EAST, NORTH, las_bytes, places, tiff_bytes, xyz_text
from tests.unit.exchange.test_geotiff import heights

TABLE = "point,north,east,elev,code\n1,8,12.5,100.35,rim\n2,9,20,100.1,\nA-3,15,14,99.8,toe\n"
CLOUD = las_bytes(places(9_000) + np.array([EAST, NORTH, 0.0]), epsg=26915)


@pytest.fixture
def empty():
    return api.new_job("Mill Lane 4")


def taken(job, content, name, take_as="", wanted=None, **more):
    reading = read_file(content, name, wanted, around_of(job))
    edit = take(reading, job, take_as, **more)
    return api.edit(job, edit), edit


def test_a_table_becomes_shots_with_names_and_codes(empty):
    job, edit = taken(empty, TABLE.encode(), "shots.csv")

    assert list(job.site.shots) == ["a_3", "s1", "s2"] or set(job.site.shots) == {"s1", "s2", "a_3"}
    first = job.site.shots["s1"]
    assert (first.place.east, first.place.north, first.elevation, first.code) == (12.5, 8.0, 100.35, "rim")
    assert edit.label == "Took 3 shots from shots.csv"


def test_names_that_are_taken_get_a_number(empty):
    job, _edit = taken(empty, TABLE.encode(), "shots.csv")
    again, _edit = taken(job, TABLE.encode(), "shots.csv")

    assert len(again.site.shots) == 6 and "s1_2" in again.site.shots


def test_a_cloud_becomes_a_thinned_surface_that_names_its_file(empty):
    job, edit = taken(empty, CLOUD, "Mill Lane.las")

    cloud = job.site.clouds["mill_lane"]
    assert len(cloud.east) <= 4_000 and cloud.kind == "cloud" and cloud.count == 9_000 and cloud.epsg == 26915
    assert len(cloud.file) == 64 and cloud.from_file == "Mill Lane.las"
    assert (job.site.frame.epsg, job.site.frame.origin_east) == (26915, 429_000.0)
    assert edit.label == "Took the measured surface of Mill Lane.las"


def test_the_tolerance_that_the_job_keeps_holds_for_what_it_keeps(empty):
    reading = read_file(CLOUD, "cloud.las")
    job, _edit = taken(empty, CLOUD, "cloud.las")
    cloud, cells = job.site.clouds["cloud"], reading.binned
    frame = job.site.frame

    tin = triangulate(np.column_stack([cloud.east, cloud.north]), np.array(cloud.elevation))
    grid = type(cells.grid)(
        cells.grid.origin_east - frame.origin_east, cells.grid.origin_north - frame.origin_north,
        cells.grid.spacing, cells.grid.columns, cells.grid.rows,
    )  # fmt: skip
    laid = tin_to_grid(tin, grid)

    assert np.nanmax(np.abs(laid.z - cells.z)) <= cloud.tolerance + 1e-6


@pytest.mark.parametrize(("content", "name"), [(TABLE.encode(), "shots.csv"), (CLOUD, "cloud.las")])
def test_the_inverse_takes_it_back_to_the_last_bit(empty, content, name):
    job, edit = taken(empty, content, name)

    assert dumps(api.edit(job, inverse(empty, edit))) == dumps(empty)


def test_a_job_with_a_cloud_is_written_and_read_again(empty):
    job, _edit = taken(empty, tiff_bytes(heights()), "dem.tif")

    assert loads(dumps(job)) == job and job.site.clouds["dem"].kind == "grid"


def test_the_first_file_sets_the_grid_and_the_next_lies_on_it(empty):
    job, _edit = taken(empty, CLOUD, "cloud.las")
    both, edit = taken(job, tiff_bytes(heights()), "dem.tif")

    assert [op.path for op in edit.ops] == ["/site/clouds/dem"]
    assert both.site.frame == job.site.frame
    assert min(both.site.clouds["dem"].east) == pytest.approx(0.5, abs=0.003)


def test_few_points_are_kept_as_they_are(empty):
    rows = places(60).round(3)

    job, _edit = taken(empty, xyz_text(rows).encode(), "spots.xyz", "cloud", Wanted(unit="m"))

    cloud = job.site.clouds["spots"]
    np.testing.assert_allclose(np.column_stack([cloud.east, cloud.north, cloud.elevation]), rows)
    assert cloud.tolerance == 0.0


def test_a_part_of_a_survey_says_so(empty):
    survey = Edit("s", 0, api_survey(), "")
    job = api.edit(empty, survey)

    with_cloud, _edit = taken(job, CLOUD, "cloud.las", survey="emptied")

    assert with_cloud.site.clouds["cloud"].survey == "emptied"


def api_survey():
    from pondwright.base.findings import Op

    return (Op("add", "/site/surveys/emptied", {}),)


def test_an_open_question_must_be_answered_first(empty):
    reading = read_file(las_bytes(places(9_000)), "cloud.las")

    for ops in (cloud_ops, shot_ops):
        with pytest.raises(ImportRefused, match="does not tell the unit of its coordinates"):
            ops(reading, empty)


def test_a_cloud_is_no_list_of_shots(empty):
    with pytest.raises(ImportRefused, match="take it as a measured surface"):
        taken(empty, CLOUD, "cloud.las", "shots")


def test_only_shots_or_a_cloud_can_be_made_of_it(empty):
    with pytest.raises(ImportRefused, match="`as` must be shots or cloud"):
        taken(empty, TABLE.encode(), "shots.csv", "drawing")


def test_feet_that_were_taken_for_metres_are_told(empty):
    job, _edit = taken(empty, TABLE.encode(), "shots.csv")
    feet = "point,north,east,elev\n7,26,41,328.1\n8,28,50,328.9\n9,30,44,328.5\n"

    reading = read_file(feet.encode(), "more.csv", None, around_of(job))

    assert any("in international feet they would fit" in warning for warning in reading.warnings)


def test_a_file_far_from_the_jobs_ground_is_told(empty):
    job, _edit = taken(empty, TABLE.encode(), "shots.csv")
    far = "point,north,east,elev\n7,8000,41,100.1\n8,8020,50,100.9\n9,8010,44,100.5\n"

    warnings = read_file(far.encode(), "far.csv", None, around_of(job)).warnings

    assert any(
        "cannot be laid in the job yet" in warning or "from the job's own ground" in warning
        for warning in warnings
    )


def test_what_is_said_of_a_surface_with_a_hole():
    z = heights()
    z[20:60, 30:90] = -9999.0

    says = surface_of(read_file(tiff_bytes(z), "dem.tif")).says

    assert any(
        "There are gaps in it: 25% of its cells are empty, and the widest gap measures 40" in each
        for each in says
    )
