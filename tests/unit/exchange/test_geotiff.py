"""Rasters: north-up and turned, in metres, feet and degrees, huge and holey; beside rasterio."""

import numpy as np
import pytest
import rasterio
from affine import Affine
from rasterio.io import MemoryFile

from pondwright.base.errors import ImportRefused
from pondwright.exchange import geotiff
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Around, Wanted
from tests.unit.exchange.files import EAST, FOOT, NORTH, SURVEY_FOOT, ground, tiff_bytes


def heights(rows=80, columns=120, step=1.0):
    """First row north."""
    south, east = np.mgrid[0:rows, 0:columns] * step
    return ground(east, rows * step - south)


def test_a_north_up_raster_is_taken_as_it_is():
    z = heights()

    reading = read_file(tiff_bytes(z), "dem.tif")

    np.testing.assert_array_equal(reading.binned.z, z.astype(np.float32)[::-1])
    assert reading.binned.grid.extent == (EAST + 0.5, NORTH - 79.5, EAST + 119.5, NORTH - 0.5)
    assert (reading.kind, reading.epsg, reading.unit, reading.taken) == ("grid", 26915, "m", z.size)


def test_empty_cells_stay_empty():
    z = heights()
    z[10:30, 20:50] = -9999.0

    reading = read_file(tiff_bytes(z), "dem.tif")

    assert int(np.isnan(reading.binned.z).sum()) == 600
    assert [(each.count, each.why) for each in reading.left_out] == [(600, "marked as empty")]


def test_heights_that_no_ground_has_are_left_out_and_told():
    z = heights()
    z[0, :5], z[1, :5] = -32767.0, np.inf

    reading = read_file(tiff_bytes(z), "dem.tif")

    assert [(each.count, each.why) for each in reading.left_out] == [
        (10, "lower than −500 m or higher than 9000 m")
    ]


@pytest.mark.parametrize(("epsg", "metres"), [(2994, FOOT), (2903, SURVEY_FOOT)])
def test_a_raster_in_feet_is_brought_to_metres(epsg, metres):
    place = Affine(3.0, 0.0, 640_000.0, 0.0, -3.0, 850_000.0)

    reading = read_file(tiff_bytes(heights() / metres, place, epsg), "dem.tif")

    assert reading.binned.grid.spacing == pytest.approx(3.0 * metres)
    assert reading.binned.grid.origin_east == pytest.approx(640_001.5 * metres)
    assert reading.highest == pytest.approx(heights().max(), abs=0.001)


def test_heights_may_have_another_unit_than_places():
    reading = read_file(tiff_bytes(heights() / FOOT), "dem.tif", Wanted(height_unit="ft"))

    assert reading.highest == pytest.approx(heights().max(), abs=0.001) and reading.questions == ()


def test_a_huge_raster_is_thinned_by_means_of_squares(monkeypatch):
    monkeypatch.setattr(geotiff, "MOST_NODES", 40)
    monkeypatch.setattr(geotiff, "WINDOW_CELLS", 1_000)
    z = heights(81, 121)
    z[5, 7] = -9999.0

    reading = read_file(tiff_bytes(z), "dem.tif")

    cells, grid = reading.binned.z[::-1], reading.binned.grid
    kept = np.where(z == -9999.0, np.nan, z.astype(np.float32))
    assert grid.spacing == 4.0 and cells.shape == (21, 31)
    for row, column in [(0, 0), (1, 1), (20, 30), (10, 29)]:
        square = kept[row * 4 : row * 4 + 4, column * 4 : column * 4 + 4]
        assert cells[row, column] == pytest.approx(np.nanmean(square), abs=1e-4)
    assert grid.extent[3] + 2.0 == pytest.approx(NORTH)


def test_a_turned_raster_is_laid_north_up():
    step, angle = 0.5, 25.0
    place = Affine.translation(EAST, NORTH) @ Affine.rotation(angle) @ Affine.scale(step, -step)
    rows, columns = np.mgrid[0:160, 0:200] + 0.5
    east, north = place.a * columns + place.b * rows + place.c, place.d * columns + place.e * rows + place.f
    z = ground(east - EAST, north - NORTH)

    reading = read_file(tiff_bytes(z, place), "dem.tif")

    found, grid = reading.binned.z, reading.binned.grid
    at_east, at_north = np.meshgrid(grid.east, grid.north)
    misses = np.abs(found - ground(at_east - EAST, at_north - NORTH))
    assert np.nanmax(misses) < 0.05 and np.nanmedian(misses) < 0.005
    assert 0.3 < np.isfinite(found).mean() < 0.9
    assert "not north-up" in reading.says[0]


def test_a_raster_in_degrees_is_laid_on_a_map_grid():
    place = Affine(1e-5, 0.0, 7.6, 0.0, -1e-5, 51.9)
    z = heights(100, 150)

    reading = read_file(tiff_bytes(z, place, 4326), "dem.tif")

    west, south, east, north = reading.extent
    assert (reading.epsg, reading.unit) == (32632, "degrees")
    assert (east - west, north - south) == pytest.approx((150e-5 * 68_700, 100e-5 * 111_200), rel=0.05)
    assert reading.highest == pytest.approx(z.max(), abs=0.1)


def test_it_is_laid_on_the_jobs_own_map_grid_where_there_is_one():
    place = Affine(1e-5, 0.0, 7.6, 0.0, -1e-5, 51.9)

    assert read_file(tiff_bytes(heights(), place, 4326), "dem.tif", None, Around(epsg=25832)).epsg == 25832


def test_only_the_window_is_read():
    window = (EAST + 10.0, NORTH - 50.0, EAST + 40.0, NORTH - 20.0)

    reading = read_file(tiff_bytes(heights()), "dem.tif", Wanted(window=window))

    assert reading.binned.grid.shape == (30, 30)
    np.testing.assert_array_equal(reading.binned.z, heights().astype(np.float32)[20:50, 10:40][::-1])


@pytest.mark.parametrize("kind", ["int16", "uint8", "float64", "int32"])
@pytest.mark.parametrize(
    "more", [{}, {"tiled": True, "blockxsize": 64, "blockysize": 64, "compress": "deflate"}]
)
def test_every_usual_form_of_cells_is_read(kind, more):
    z = np.rint(heights())

    reading = read_file(tiff_bytes(z, dtype=kind, nodata=0, **more), "dem.tif")

    np.testing.assert_array_equal(reading.binned.z, z[::-1])


def without_place(z):
    with MemoryFile() as memory:
        with memory.open(
            driver="GTiff", width=z.shape[1], height=z.shape[0], count=1, dtype="float32"
        ) as file:
            file.write(z.astype("float32"), 1)
        return memory.read()


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_a_raster_without_a_place_is_refused():
    with pytest.raises(ImportRefused, match="does not tell where it lies"):
        read_file(without_place(heights()), "dem.tif")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (tiff_bytes(heights(), bands=3), "has 3 bands, like a picture"),
        (tiff_bytes(np.full((5, 5), -9999.0)), "holds 0 heights"),
        (tiff_bytes(heights())[:200], "damaged, cut off"),
        (tiff_bytes(heights())[:9000], "damaged, cut off"),
        (tiff_bytes(heights(), Affine(1.0, 0.0, 9e9, 0.0, -1.0, 0.0)), "beyond 10 000 000 m"),
        (tiff_bytes(heights(), Affine(1.0, 0.0, 400.0, 0.0, -1.0, 20.0), 4326), "no longitude and latitude"),
        (tiff_bytes(heights(), Affine(1e-5, 0.0, 7.6, 0.0, -1e-5, 51.9)), "look like longitude and latitude"),
    ],
)
def test_what_is_no_raster_of_heights_is_refused_with_its_reason(content, why):
    with pytest.raises(ImportRefused, match=why):
        read_file(content, "dem.tif")


def test_nothing_beside_the_file_is_opened(tmp_path):
    (tmp_path / "dem.tif").write_bytes(without_place_quietly())
    (tmp_path / "dem.tfw").write_text("1\n0\n0\n-1\n100\n200\n")

    with pytest.raises(ImportRefused, match="does not tell where it lies"):
        read_file(tmp_path / "dem.tif", "dem.tif")


def without_place_quietly():
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
        return without_place(heights())
