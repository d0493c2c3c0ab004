"""From a file's map grid into the job: beside pyproj, and what the first file proposes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS, Transformer
from pyproj.aoi import AreaOfInterest
from pyproj.database import query_utm_crs_info

from pondwright.base.errors import ImportRefused
from pondwright.exchange import crs
from pondwright.exchange.crs import grid_of_code, mover, placing, utm_zone, window_of
from pondwright.exchange.reading import Around, Wanted
from tests.unit.exchange.files import FOOT, SURVEY_FOOT

EXTENT = (429_252.8, 5_150_485.9, 429_651.8, 5_150_884.9)


@pytest.mark.parametrize(
    ("code", "unit", "geographic"),
    [(26915, "m", False), (2994, "ft", False), (2903, "ftUS", False), (4326, "", True), (6349, "", True)],
)
def test_the_unit_of_a_map_grid_is_known(code, unit, geographic):
    grid = grid_of_code(code)

    assert (grid.unit, grid.geographic) == (unit, geographic)


@pytest.mark.parametrize(("unit", "metres"), [("ft", FOOT), ("ftUS", SURVEY_FOOT)])
def test_the_two_feet_differ_as_they_should(unit, metres):
    code = {"ft": 2994, "ftUS": 2903}[unit]

    assert CRS.from_epsg(code).axis_info[0].unit_conversion_factor == pytest.approx(metres, rel=1e-12)


@given(st.floats(-179.9, 179.9), st.floats(-79.9, 83.9))
def test_the_zone_is_one_that_holds_the_place(longitude, latitude):
    code = utm_zone(longitude, latitude)

    central = int(CRS.from_epsg(code).utm_zone[:-1]) * 6 - 183
    assert abs(longitude - central) <= 3.0 + 1e-9
    assert (code > 32700) == (latitude < 0.0)


def test_the_zone_is_the_one_that_pyproj_finds():
    spot = AreaOfInterest(7.6, 51.9, 7.6, 51.9)

    assert str(utm_zone(7.6, 51.9)) in {found.code for found in query_utm_crs_info("WGS 84", spot)}


def test_places_are_moved_as_pyproj_moves_them():
    east, north = mover(2994, 26910)(np.array([640_000 * FOOT]), np.array([850_000 * FOOT]))

    theirs = Transformer.from_crs(2994, 26910, always_xy=True).transform(640_000, 850_000)
    assert (east[0], north[0]) == pytest.approx(theirs, abs=1e-6)


def test_an_empty_job_takes_the_grid_of_the_first_file_with_a_round_zero():
    placed = placing(26915, EXTENT, Around())

    assert placed.sets == {"epsg": 26915, "origin_east": 429_200.0, "origin_north": 5_150_400.0}
    east, north = placed.into_job(np.array([429_252.8]), np.array([5_150_485.9]))
    assert (east[0], north[0]) == pytest.approx((52.8, 85.9))


def test_a_local_file_is_taken_as_it_is():
    assert placing(None, (0.0, 0.0, 60.0, 40.0), Around()).sets == {}


def test_large_numbers_without_a_code_get_a_round_zero_too():
    assert placing(None, EXTENT, Around()).sets == {"origin_east": 429_200.0, "origin_north": 5_150_400.0}


def test_another_grid_is_moved_to_the_jobs():
    around = Around(epsg=26914, origin_east=800_000.0, origin_north=5_150_000.0)

    east, north = placing(26915, EXTENT, around).into_job(np.array([EXTENT[0]]), np.array([EXTENT[1]]))

    x, y = Transformer.from_crs(26915, 26914, always_xy=True).transform(EXTENT[0], EXTENT[1])
    assert (east[0], north[0]) == pytest.approx((x - 800_000.0, y - 5_150_000.0), abs=1e-6)


def test_a_job_with_ground_of_its_own_takes_a_file_that_lies_there():
    around = Around(extent=(0.0, 0.0, 60.0, 40.0))

    assert placing(None, (5.0, 5.0, 30.0, 30.0), around).sets == {}


def test_a_job_with_ground_of_its_own_refuses_a_file_that_lies_elsewhere():
    with pytest.raises(ImportRefused, match="tell the job's map grid and origin"):
        placing(26915, EXTENT, Around(extent=(0.0, 0.0, 60.0, 40.0)))


def test_a_file_without_a_code_may_be_in_the_jobs_numbers_or_in_its_maps():
    around = Around("metric", (0.0, 0.0, 60.0, 40.0), 99.0, 101.0, 26915, 429_200.0, 5_150_400.0)

    local = placing(None, (5.0, 5.0, 30.0, 30.0), around)
    on_map = placing(None, (429_205.0, 5_150_405.0, 429_230.0, 5_150_430.0), around)

    assert local.into_job(np.array([5.0]), np.array([5.0]))[0][0] == 5.0
    assert on_map.into_job(np.array([429_205.0]), np.array([5_150_405.0]))[0][0] == 5.0


@pytest.mark.parametrize(("code", "why"), [(99_998, "is none"), (5703, "is none"), (4978, "is none")])
def test_what_is_no_map_grid_is_refused(code, why):
    with pytest.raises(ImportRefused, match=why):
        grid_of_code(code)


def test_a_window_is_brought_to_the_files_grid():
    around = Around(epsg=26915, origin_east=429_200.0, origin_north=5_150_400.0)

    assert window_of(Wanted(window=(0.0, 0.0, 50.0, 50.0)), 26915, around) == (
        429_200.0, 5_150_400.0, 429_250.0, 5_150_450.0
    )  # fmt: skip


def test_without_the_optional_libraries_one_sentence_says_what_to_install(monkeypatch):
    import builtins

    real = builtins.__import__

    def without(name, *more):
        if name.split(".")[0] == "pyproj":
            raise ImportError(name)
        return real(name, *more)

    monkeypatch.setattr(builtins, "__import__", without)
    crs.grid_of_code.cache_clear()
    with pytest.raises(ImportRefused, match=r"install `pondwright\[geo\]`"):
        grid_of_code(26915)
