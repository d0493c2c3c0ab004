"""Points to cells: beside numpy and scipy, in any pieces, and no ground where no point is."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binned_statistic_2d

from pondwright.exchange.binning import Bins, Spool, bin_points, lay_out, preview_of
from pondwright.exchange.reading import Points
from pondwright.geometry.grid import Grid
from tests.unit.exchange.files import places

GRID = Grid(0.5, 0.5, 1.0, 60, 60)


def points_of(rows):
    return Points(*(np.ascontiguousarray(column) for column in rows.T))


def edges(origin, count):
    return origin + np.arange(count + 1) * GRID.spacing - GRID.spacing / 2


@pytest.mark.parametrize(("heights", "statistic"), [("mean", "mean"), ("lowest", "min")])
def test_cells_are_those_of_scipy(heights, statistic):
    rows = places()

    found = bin_points(points_of(rows), GRID, heights)

    theirs = binned_statistic_2d(
        rows[:, 1], rows[:, 0], rows[:, 2], statistic,
        bins=[edges(GRID.origin_north, GRID.rows), edges(GRID.origin_east, GRID.columns)],
    )  # fmt: skip
    np.testing.assert_allclose(found.z, theirs.statistic, rtol=0, atol=1e-9)
    assert found.count.sum() == len(rows)


@given(st.lists(st.integers(1, 900), max_size=6))
def test_it_does_not_matter_in_which_pieces_points_come(sizes):
    rows = places(2_000)
    whole, parts = Bins(GRID), Bins(GRID)
    whole.add(*rows.T)
    at = 0
    for size in [*sizes, len(rows)]:
        parts.add(*rows[at : at + size].T)
        at += size

    np.testing.assert_array_equal(parts.result().count, whole.result().count)
    np.testing.assert_allclose(parts.result().z, whole.result().z, rtol=0, atol=1e-9)


def test_an_empty_cell_stays_empty():
    found = bin_points(points_of(places(50)), GRID)

    np.testing.assert_array_equal(np.isnan(found.z), found.count == 0)


@pytest.mark.parametrize("z", [np.nan, np.inf, -np.inf, -501.0, 9001.0])
def test_a_height_that_no_ground_has_is_counted_and_not_taken(z):
    bins = Bins(GRID)
    bins.add(np.array([3.0]), np.array([3.0]), np.array([z]))

    assert bins.told.sum() == 1 and bins.result().count.sum() == 0


@pytest.mark.parametrize(
    ("east", "north"), [(-0.1, 3.0), (60.1, 3.0), (np.nan, 3.0), (3.0, np.inf), (1e300, 0.0)]
)
def test_a_place_outside_the_grid_is_counted_and_not_taken(east, north):
    bins = Bins(GRID)
    bins.add(np.array([east]), np.array([north]), np.array([100.0]))

    assert bins.told[0] == 1 and bins.result().count.sum() == 0


@given(
    st.floats(-1e6, 1e6),
    st.floats(-1e6, 1e6),
    st.floats(0.01, 1e5),
    st.floats(0.01, 1e5),
    st.integers(3, 10**9),
)
def test_a_grid_that_is_laid_out_holds_its_extent_and_is_never_too_large(west, south, width, depth, count):
    grid = lay_out((west, south, west + width, south + depth), count)

    assert max(grid.shape) <= 1501
    assert grid.extent[2] + grid.spacing / 2 >= west + width - 1e-6
    assert grid.extent[3] + grid.spacing / 2 >= south + depth - 1e-6


def test_a_spool_gives_back_what_was_set_aside():
    rows, spool = places(5_000), Spool()
    spool.add(rows[:10])
    spool.add(rows[10:])

    np.testing.assert_array_equal(np.concatenate(list(spool.chunks())), rows)
    assert spool.count == len(rows) and spool.extent[0] == rows[:, 0].min()
    spool.close()


def test_the_preview_is_small_and_in_place():
    cells = bin_points(points_of(places(20_000)), Grid(0.1, 0.1, 0.2, 300, 300))

    preview = preview_of(cells)

    assert len(preview.rows) <= 48 and len(preview.rows[0]) <= 48
    found = np.array(preview.rows, dtype=float)
    assert np.nanmin(found) >= np.nanmin(cells.z) and np.nanmax(found) <= np.nanmax(cells.z)
    assert preview.grid.origin_east == pytest.approx(0.1 + 0.5 * 6 * 0.2)
