"""LAS and LAZ: every version and point format, classes, flags, units, stray points; beside laspy."""

import io
import struct

import laspy
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright.base.errors import ImportRefused
from pondwright.exchange.binning import bin_points
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Points, Wanted
from tests.unit.exchange.files import EAST, FOOT, NORTH, SURVEY_FOOT, las_bytes, places, written

ON_MAP = np.array([EAST, NORTH, 0.0])
METRES = Wanted(unit="m")


@pytest.mark.parametrize("laz", [False, True])
@pytest.mark.parametrize(
    ("version", "form"),
    [("1.1", 0), ("1.2", 1), ("1.2", 3), ("1.3", 3), ("1.4", 1), ("1.4", 6), ("1.4", 7), ("1.4", 8)],
)
def test_every_version_gives_the_cells_that_laspy_and_numpy_give(version, form, laz):
    rows = places(9_000) + ON_MAP
    content = las_bytes(rows, form, version, laz=laz)

    reading = read_file(content, "cloud.las", METRES)

    theirs = laspy.read(io.BytesIO(content))
    expected = bin_points(
        Points(*(np.array(each) for each in (theirs.x, theirs.y, theirs.z))), reading.binned.grid
    )
    np.testing.assert_array_equal(reading.binned.count, expected.count)
    np.testing.assert_allclose(reading.binned.z, expected.z, rtol=0, atol=1e-9)
    assert (reading.count, reading.taken, reading.unit) == (9_000, 9_000, "m")


@pytest.mark.parametrize(("version", "form"), [("1.2", 1), ("1.4", 6)])
def test_only_ground_is_taken_where_a_file_has_it(version, form):
    rows = places(6_000) + ON_MAP
    classes = np.arange(6_000) % 3 + 1
    rows[classes != 2, 2] += 30.0

    reading = read_file(las_bytes(rows, form, version, classes), "cloud.las", METRES)

    assert reading.taken == 2_000 and reading.highest < 120.0
    assert [(each.count, each.why) for each in reading.left_out] == [(4_000, "not ground")]


def test_noise_is_dropped_and_the_lack_of_ground_is_said():
    rows = places(6_000) + ON_MAP
    classes = np.where(np.arange(6_000) % 10 == 0, 7, 1)
    rows[classes == 7, 2] = 900.0

    reading = read_file(las_bytes(rows, 1, "1.2", classes), "cloud.las", METRES)

    assert reading.taken == 5_400 and reading.highest < 120.0
    assert "No point is marked as ground (there are: unassigned, noise)" in reading.says[0]


@pytest.mark.parametrize(("version", "form"), [("1.2", 1), ("1.4", 6)])
def test_withheld_points_are_left_out(version, form):
    cloud = laspy.read(io.BytesIO(las_bytes(places(6_000) + ON_MAP, form, version)))
    cloud.withheld = (np.arange(6_000) % 4 == 0).astype(np.uint8)

    reading = read_file(written(cloud), "cloud.las", METRES)

    assert [(each.count, each.why) for each in reading.left_out] == [(1_500, "marked as withheld")]


def test_the_lowest_of_each_cell_may_be_taken():
    rows = places(9_000) + ON_MAP

    mean, lowest = (
        read_file(las_bytes(rows), "cloud.las", Wanted(unit="m", heights=heights, spacing=2.0)).binned
        for heights in ("mean", "lowest")
    )

    assert (lowest.z[lowest.count > 1] <= mean.z[lowest.count > 1]).all()
    assert np.nanmin(lowest.z) == pytest.approx(rows[:, 2].min(), abs=0.0006)


def test_few_points_are_kept_one_by_one():
    rows = places(300) + ON_MAP

    points = read_file(las_bytes(rows), "cloud.las", METRES).points

    np.testing.assert_allclose(
        np.column_stack([points.east, points.north, points.elevation]), rows, atol=0.0006
    )


@pytest.mark.parametrize(
    ("epsg", "metres", "unit"), [(2994, FOOT, "ft"), (2903, SURVEY_FOOT, "ftUS"), (26915, 1, "m")]
)
def test_the_foot_of_the_map_grid_counts(epsg, metres, unit):
    rows = places(200, side=300.0) + np.array([640_000.0, 850_000.0, 0.0])

    reading = read_file(las_bytes(rows, epsg=epsg), "cloud.las")

    assert (reading.epsg, reading.unit, reading.height_unit) == (epsg, unit, unit)
    assert reading.extent[0] == pytest.approx(rows[:, 0].min() * metres, abs=0.002)
    assert reading.highest == pytest.approx(rows[:, 2].max() * metres, abs=0.001)
    assert [question.about for question in reading.questions] == ["height_unit"]


def test_a_file_without_a_unit_asks_for_it():
    reading = read_file(las_bytes(places(200) + ON_MAP), "cloud.las")

    assert reading.unit == "" and reading.questions[0].assumed == ""


def test_degrees_are_laid_on_a_map_grid():
    rows = places(6_000, side=80.0)
    degrees = np.column_stack([7.6 + rows[:, 0] / 68_000, 51.9 + rows[:, 1] / 111_000, rows[:, 2]])
    content = las_bytes(degrees, 6, "1.4", epsg=4326, scale=(1e-8, 1e-8, 0.001), offset=(7.0, 51.0, 0.0))

    reading = read_file(content, "cloud.las")

    assert (reading.epsg, reading.taken, reading.unit) == (32632, 6_000, "degrees")
    assert reading.extent[2] - reading.extent[0] == pytest.approx(np.ptp(rows[:, 0]), rel=0.05)


def test_a_few_points_far_away_do_not_spoil_the_cells():
    rows = places(9_000) + ON_MAP
    rows[:2] = [[0.0, 0.0, 100.0], [900_000.0, 3.0, 100.0]]

    reading = read_file(las_bytes(rows, scale=0.01, offset=(0, 0, 0)), "cloud.las", METRES)

    assert reading.binned.grid.spacing < 2.0
    assert (2, "far from all the others") in [(each.count, each.why) for each in reading.left_out]


@given(st.integers(0, 374), st.binary(min_size=1, max_size=8))
@settings(max_examples=150)
def test_a_head_that_claims_anything_is_read_or_refused(at, put):
    content = bytearray(CLOUD)
    content[at : at + len(put)] = put
    try:
        reading = read_file(bytes(content), "cloud.las", METRES)
    except ImportRefused as refused:
        assert "\n" not in str(refused)
    else:
        assert 3 <= reading.taken <= reading.count and np.isfinite(reading.extent).all()


CLOUD = las_bytes(places(60) + ON_MAP, 6, "1.4")
OLD_CLOUD = las_bytes(places(60) + ON_MAP, 1, "1.2")


@pytest.mark.parametrize(
    ("at", "form", "value", "why"),
    [
        (107, "<I", 2_000_000_000, "its head tells 2000000000 points, and it has room for 60"),
        (96, "<I", 3_000_000_000, "its head points beyond its end"),
        (100, "<I", 4_000_000_000, "its head points beyond its end"),
        (131, "<d", float("nan"), "numbers that are no numbers"),
        (131, "<d", 0.0, "a scale of 0"),
        (179, "<d", 1e12, "no map grid has any beyond"),
        (179, "<d", -5.0, "a lowest coordinate above the highest"),
        (25, "<B", 9, "LAS 1.9"),
        (104, "<B", 77, "read are LAS 1.0 to 1.4"),
        (105, "<H", 3, "points of format 1 and 3 bytes"),
    ],
)
def test_a_false_head_is_refused_with_its_reason(at, form, value, why):
    content = bytearray(OLD_CLOUD)
    struct.pack_into(form, content, at, value)

    with pytest.raises(ImportRefused, match=why):
        read_file(bytes(content), "cloud.las", METRES)


@pytest.mark.parametrize("laz", [False, True])
def test_a_file_that_was_cut_off_is_refused(laz):
    content = las_bytes(places(5_000) + ON_MAP, laz=laz)

    for length in (100, 300, len(content) // 2, len(content) - 30):
        with pytest.raises(ImportRefused, match="cut off|damaged"):
            read_file(content[:length], "cloud.laz", METRES)
