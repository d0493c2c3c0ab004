"""Surveys that nobody here made: read, gridded, thinned, drawn, and what of them is refused and why.

The files come out of published packages; `real/README.md` names each with its source and licence.
"""

import hashlib
from pathlib import Path

import laspy
import numpy as np
import pytest
import rasterio
from pyproj import Transformer

from pondwright import api
from pondwright.base.errors import ImportRefused
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Wanted
from pondwright.exchange.taking import around_of, surface_of, take
from pondwright.geometry.contour import contour_lines
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import tin_to_grid, triangulate
from pondwright.papers import material_of
from pondwright.papers.existing_plan import existing_plan
from tests.unit.exchange.files import tiff_bytes

REAL = Path(__file__).parent / "real"
HASHES = {
    "autzen_trim.laz": "75867b3e75cfc3c2e96da9f753c04c9fbaa6a59468dea13e2859f3109b38bd66",
    "jacksboro_fault_dem.npz": "d493f50a33e82a4420494c54d1fca1539d177bdc27ab190bc5fe6e92f62fb637",
    "prairie_1m.tif": "c0f525ea2f1ab78becf64dabdc0ba386de34c092151a95d463ae9b6cd74154f4",
    "simple1_3.las": "6753c0da6e89b9e9e1e866946746dadb2b2c31b7eb8fd4602bcaf6a1d1ad2cea",
    "test1_4.las": "f4e840920885fc175ab90c0a50778165e64e3f9ccb049ea5e360f3e30bb932b1",
}
FOOT = 0.3048


@pytest.mark.parametrize(("name", "expected"), HASHES.items())
def test_each_file_is_the_one_of_its_package(name, expected):
    assert hashlib.sha256((REAL / name).read_bytes()).hexdigest() == expected


def reading_of(name, **wanted):
    return read_file(REAL / name, name, Wanted(**wanted))


def elevation_job(name, **wanted):
    """A new job with the file taken in."""
    job = api.new_job("Real ground, to try the readers")
    return api.edit(job, take(read_file(REAL / name, name, Wanted(**wanted), around_of(job)), job, "cloud"))


def test_the_lidar_of_oregon_gives_its_ground_in_feet():
    reading = reading_of("autzen_trim.laz")

    theirs = laspy.read(REAL / "autzen_trim.laz")
    ground = np.asarray(theirs.classification) == 2
    assert (reading.count, reading.taken, reading.unit) == (110_000, int(ground.sum()), "ft")
    assert [(each.count, each.why) for each in reading.left_out] == [
        (110_000 - int(ground.sum()), "not ground")
    ]
    assert reading.binned.count.sum() == ground.sum()
    mean = np.average(
        reading.binned.z[reading.binned.count > 0], weights=reading.binned.count[reading.binned.count > 0]
    )
    assert mean == pytest.approx(np.asarray(theirs.z)[ground].mean() * FOOT, abs=1e-6)
    assert any("has no code that is known" in warning for warning in reading.warnings)


def test_the_prairie_is_taken_cell_by_cell_and_thinned_within_what_is_told():
    reading = reading_of("prairie_1m.tif")

    with rasterio.open(REAL / "prairie_1m.tif") as theirs:
        np.testing.assert_array_equal(reading.binned.z[::-1], theirs.read(1).astype(float))
        assert reading.binned.grid.extent[0] == pytest.approx(theirs.bounds.left + 0.5)
    found = surface_of(reading).thinned
    tin = triangulate(np.column_stack([found.east, found.north]), found.elevation)
    misses = np.abs(tin_to_grid(tin, reading.binned.grid).z - reading.binned.z)
    assert len(found.east) <= 4_000 and np.nanmax(misses) <= found.tolerance + 1e-6
    assert found.rms < 0.1 and found.tolerance < 0.5


def test_the_fault_of_tennessee_is_laid_from_degrees_onto_a_map_grid():
    with np.load(REAL / "jacksboro_fault_dem.npz") as kept:
        z, west, step = kept["elevation"], float(kept["xmin"]), float(kept["dx"])
        north = float(max(kept["ymin"], kept["ymax"]))
    content = tiff_bytes(
        z, rasterio.Affine(step, 0.0, west, 0.0, -step, north), 4326, -32768.0, dtype="int16"
    )

    reading = read_file(content, "jacksboro.tif")

    assert (reading.epsg, reading.unit) == (32616, "degrees")
    to_map = Transformer.from_crs(4326, 32616, always_xy=True).transform
    grid = reading.binned.grid
    for row, column in [(50, 60), (172, 201), (300, 350)]:
        east, up = to_map(west + (column + 0.5) * step, north - (row + 0.5) * step)
        at = round((up - grid.origin_north) / grid.spacing), round((east - grid.origin_east) / grid.spacing)
        around = z[row - 2 : row + 3, column - 2 : column + 3]
        assert around.min() <= reading.binned.z[at] <= around.max()


def test_the_strip_of_new_mexico_is_in_us_survey_feet():
    reading = reading_of("test1_4.las")

    theirs = laspy.read(REAL / "test1_4.las")
    assert (reading.epsg, reading.unit, reading.taken) == (2903, "ftUS", 1_000)
    np.testing.assert_allclose(reading.points.elevation, np.asarray(theirs.z) * 1200 / 3937, atol=1e-6)


def test_coordinates_off_by_a_thousand_are_refused_and_the_reason_told():
    with pytest.raises(ImportRefused) as refused:
        reading_of("simple1_3.las", unit="m")

    assert str(refused.value) == (
        "simple1_3.las has coordinates up to 8.01e+08; no map grid has any beyond 10 000 000 m"
    )


@pytest.mark.parametrize("name", ["autzen_trim.laz", "prairie_1m.tif"])
def test_the_existing_plan_draws_it(name):
    job = elevation_job(name)

    run = api.compute(job)
    sheet = existing_plan(material_of(run))

    ground = api.show(run, "site.ground")
    cloud = next(iter(job.site.clouds.values()))
    assert np.ptp(ground.z) > 0.5 * np.ptp(cloud.elevation)
    assert sheet.svg.count("<path") > 20 and len(sheet.svg) > 50_000


def test_contours_of_the_prairie_are_as_long_as_those_of_the_cells():
    reading = reading_of("prairie_1m.tif")
    found = surface_of(reading).thinned
    tin = triangulate(np.column_stack([found.east, found.north]), found.elevation)
    grid = Grid(*reading.binned.grid.extent[:2], 1.0, 400, 400)

    lengths = [
        sum(np.hypot(*np.diff(line, axis=0).T).sum() for line in contour_lines(z, grid, [390.0]).lines())
        for z in (tin_to_grid(tin, grid).z, reading.binned.z)
    ]

    # A thinned surface is smoother: its contours are a little shorter.
    assert 0.7 < lengths[0] / lengths[1] <= 1.05
