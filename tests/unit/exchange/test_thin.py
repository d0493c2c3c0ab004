"""Thinning: no filled cell is missed by more than is told, whatever the surface."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import LinearNDInterpolator

from pondwright.base.errors import DomainError
from pondwright.exchange.reading import Binned
from pondwright.exchange.thin import thin
from pondwright.geometry.grid import Grid
from pondwright.geometry.tin import tin_to_grid, triangulate
from tests.unit.exchange.files import EAST, NORTH, ground


def cells_of(z, spacing=0.5, east=0.0, north=0.0):
    rows, columns = z.shape
    return Binned(Grid(east, north, spacing, columns, rows), z, np.isfinite(z).astype(np.int64))


def slope(rows=80, columns=100, spacing=0.5):
    north, east = np.mgrid[0:rows, 0:columns] * spacing
    return ground(east, north)


def missed(cells, found):
    """Largest miss of the job's own triangles over the thinned points."""
    tin = triangulate(np.column_stack([found.east, found.north]), found.elevation)
    return float(np.nanmax(np.abs(tin_to_grid(tin, cells.grid).z - cells.z)))


@pytest.mark.parametrize("tolerance", [0.2, 0.05, 0.01])
def test_the_jobs_own_triangles_miss_no_cell_by_more_than_is_told(tolerance):
    cells = cells_of(slope(), east=EAST, north=NORTH)

    found = thin(cells, tolerance)

    assert found.enough and found.tolerance <= tolerance
    assert missed(cells, found) <= found.tolerance + 1e-6


@given(
    st.integers(0, 2**31), st.integers(3, 25), st.integers(3, 25), st.floats(0.0, 0.8), st.integers(3, 120),
    st.sampled_from([0.01, 0.3, 5.0]),
)  # fmt: skip
def test_it_holds_for_any_cells_and_any_number_of_points(seed, rows, columns, holes, most, tolerance):
    rng = np.random.default_rng(seed)
    z = rng.normal(100.0, 1.0, (rows, columns))
    z[rng.random(z.shape) < holes] = np.nan
    z[0, 0] = z[-1, 0] = z[0, -1] = 100.0
    cells = cells_of(z)

    found = thin(cells, tolerance, most)

    assert len(found.east) <= most
    assert found.enough == (found.tolerance <= tolerance)
    if np.isfinite(found.tolerance):
        tin = triangulate(np.column_stack([found.east, found.north]), found.elevation)
        assert np.nanmax(np.abs(tin_to_grid(tin, cells.grid).z - z)) <= found.tolerance + 1e-9


def test_scipy_finds_the_same_misses_on_ground_without_ties():
    cells = cells_of(slope())
    found = thin(cells, 0.05)
    places = np.stack(np.meshgrid(cells.grid.east, cells.grid.north), axis=-1)

    theirs = LinearNDInterpolator(np.column_stack([found.east, found.north]), found.elevation)(places)

    # Where four points are on one circle scipy may take the other diagonal.
    misses = np.abs(theirs - cells.z)
    assert np.nanquantile(misses, 0.99) <= found.tolerance
    assert np.sqrt(np.nanmean(misses**2)) == pytest.approx(found.rms, rel=0.1)


def test_a_plane_needs_its_corners_only():
    north, east = np.mgrid[0:50, 0:70] * 0.5

    found = thin(cells_of(3.0 + 0.1 * east - 0.2 * north), 0.002)

    assert len(found.east) == 4 and found.tolerance < 0.001 and found.rms < 0.001


def test_fewer_points_miss_more_and_more_points_less():
    cells = cells_of(slope())

    misses = [thin(cells, 0.001, most).tolerance for most in (30, 120, 500)]

    assert misses[0] > misses[1] > misses[2]


def test_points_stand_on_the_cells_that_they_were_taken_from():
    cells = cells_of(slope(), east=EAST, north=NORTH)
    found = thin(cells, 0.05)
    columns = np.rint((found.east - EAST) / 0.5).astype(int)
    rows = np.rint((found.north - NORTH) / 0.5).astype(int)

    np.testing.assert_array_equal(found.elevation, cells.z[rows, columns])


def test_a_hole_is_told_and_no_cell_in_it_is_made_up():
    z = slope()
    z[20:50, 30:70] = np.nan
    found = thin(cells_of(z), 0.02)

    assert found.empty == pytest.approx(30 * 40 / z.size)
    assert found.widest_gap == pytest.approx(30 * 0.5, abs=1.0)
    inside = (found.east > 30 * 0.5) & (found.east < 69 * 0.5) & (found.north > 10.0) & (found.north < 24.5)
    assert not inside.any()


def test_points_to_begin_with_are_kept():
    cells = cells_of(slope())
    start = np.array([[-1.0, -1.0, 100.0], [60.0, -1.0, 101.0], [60.0, 50.0, 101.0], [-1.0, 50.0, 99.5]])

    found = thin(cells, 0.05, start=start)

    np.testing.assert_allclose(found.east[:4], start[:, 0])
    assert missed(cells, found) <= found.tolerance + 1e-9


@pytest.mark.parametrize(
    ("z", "most", "tolerance", "why"),
    [
        (np.full((5, 5), np.nan), 100, 0.1, "3 filled cells"),
        (np.diag(np.ones(6)) + np.where(np.eye(6) > 0, 0.0, np.nan), 100, 0.1, "not on one line"),
        (np.ones((5, 5)), 2, 0.1, "from 3 to 8000 points"),
        (np.ones((5, 5)), 8001, 0.1, "from 3 to 8000 points"),
        (np.ones((5, 5)), 100, 0.0, "above 0 m"),
    ],
)
def test_what_cannot_be_thinned_is_refused(z, most, tolerance, why):
    with pytest.raises(DomainError, match=why):
        thin(cells_of(z), tolerance, most)
