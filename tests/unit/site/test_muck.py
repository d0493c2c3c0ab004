"""Muck: its pairs of shots, its surface between and beyond probes, its volume and how sure that is."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.grid import Grid
from pondwright.rooms.site.muck import muck_account, muck_pairs, muck_surface, probed_area

GRID = Grid(origin_east=-10.0, origin_north=-10.0, spacing=0.25, columns=81, rows=81)
SQUARE = np.array([[-6.0, -6.0], [6.0, -6.0], [6.0, 6.0], [-6.0, 6.0]])
COVERED = ring_coverage(GRID, [SQUARE])


def account(points, thickness, sigma=0.05):
    places = np.array(points, dtype=float).reshape(-1, 2)
    surface = muck_surface(places, np.array(thickness, dtype=float), GRID)
    return muck_account(surface, COVERED, GRID, np.full(len(places), sigma))


def test_a_shot_is_in_one_pair_at_most_and_the_nearest_is_taken():
    top = np.array([[0.0, 0.0], [0.5, 0.0]])
    firm = np.array([[0.4, 0.0]])
    pairs = muck_pairs(top, np.array([27.6, 27.7]), firm, np.array([27.3]), 1.0)

    assert pairs.top.tolist() == [1] and pairs.lone_top == (0,)
    assert pairs.thickness.tolist() == pytest.approx([0.4])


def test_shots_farther_apart_than_their_reach_are_no_pair():
    pairs = muck_pairs(np.zeros((1, 2)), np.array([27.6]), np.array([[1.2, 0.0]]), np.array([27.3]), 1.0)

    assert (pairs.lone_top, pairs.lone_firm, len(pairs.points)) == ((0,), (0,), 0)


def test_a_firm_floor_above_the_muck_is_kept_with_its_sign():
    pairs = muck_pairs(np.zeros((1, 2)), np.array([27.2]), np.zeros((1, 2)), np.array([27.3]), 1.0)

    assert pairs.thickness.tolist() == pytest.approx([-0.1])


def test_no_shots_are_no_pairs():
    none = np.empty((0, 2))

    assert len(muck_pairs(none, np.empty(0), none, np.empty(0), 1.0).points) == 0


def test_between_probes_the_muck_runs_straight():
    corners = [[-6.0, -6.0], [6.0, -6.0], [6.0, 6.0], [-6.0, 6.0]]
    surface = muck_surface(np.array(corners), np.array([0.0, 0.6, 0.6, 0.0]), GRID)

    assert surface.thickness[40, 40] == pytest.approx(0.3)
    assert surface.thickness[40, 28] == pytest.approx(0.15)


def test_beyond_the_outermost_probes_it_is_as_thick_as_there():
    triangle = np.array([[0.0, 0.0], [2.0, 0.0], [0.0, 2.0]])
    surface = muck_surface(triangle, np.array([0.2, 0.4, 0.4]), GRID)

    assert surface.thickness[0, 0] == pytest.approx(0.2)
    assert not surface.between[0, 0]


@pytest.mark.parametrize(
    "points",
    [
        pytest.param([[0.0, 0.0]], id="one probe"),
        pytest.param([[0.0, 0.0], [3.0, 1.0]], id="two probes"),
        pytest.param([[-5.0, -5.0], [0.0, 0.0], [5.0, 5.0]], id="probes in a line"),
        pytest.param([[90.0, 70.0]], id="a probe far off the plan"),
        pytest.param([[1.0, 1.0], [1.0, 1.0], [1.0, 1.0]], id="thrice the same place"),
    ],
)
def test_too_few_probes_for_triangles_still_give_a_prism_with_its_error(points):
    found = account(points, [0.4] * len(points))

    assert found.volume == pytest.approx(0.4 * 144.0)
    assert found.mean == pytest.approx(0.4)
    # All of it may be out by a rod's error at least, shared among the probes.
    assert found.sigma > 0.05 * 144.0 / np.sqrt(len(points)) * 0.99


def test_no_muck_anywhere_is_none():
    found = account([[-6.0, -6.0], [6.0, -6.0], [0.0, 6.0]], [0.0, 0.0, 0.0])

    assert (found.volume, found.area, found.mean, found.deepest, found.carried_share) == (0, 0, 0, 0, 0)


def test_no_area_is_no_muck_and_no_error():
    surface = muck_surface(np.zeros((1, 2)), np.array([0.4]), GRID)
    found = muck_account(surface, np.zeros_like(COVERED), GRID, np.array([0.05]))

    assert (found.volume, found.sigma) == (0.0, 0.0)


def test_the_share_beyond_the_probes_is_told():
    inner = [[-3.0, -3.0], [3.0, -3.0], [3.0, 3.0], [-3.0, 3.0]]
    found = account(inner, [0.4] * 4)

    assert found.carried_share == pytest.approx(0.75, abs=0.06)


def test_closer_probes_make_the_volume_surer():
    def grid_of(step):
        along = np.arange(-6.0, 6.01, step)
        points = np.array([(east, north) for east in along for north in along])
        return account(points, 0.4 + 0.02 * np.sin(points[:, 0]) * np.cos(points[:, 1])).sigma

    assert grid_of(2.0) < grid_of(6.0)


def test_a_rougher_rod_makes_the_volume_less_sure():
    corners = [[-6.0, -6.0], [6.0, -6.0], [6.0, 6.0], [-6.0, 6.0]]

    assert account(corners, [0.4] * 4, 0.10).sigma > account(corners, [0.4] * 4, 0.05).sigma


def test_where_probes_found_none_nothing_farther_out_makes_it_less_sure():
    turn = np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False)
    ring = 3.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    surface = muck_surface(np.vstack([ring, [[0.0, 0.0]]]), np.array([0.0] * 12 + [0.5]), GRID)
    wide = ring_coverage(GRID, [1.5 * SQUARE])
    sigma = np.full(13, 0.05)

    near, far = (muck_account(surface, covered, GRID, sigma) for covered in (COVERED, wide))
    assert far.volume == pytest.approx(near.volume)
    assert far.sigma == pytest.approx(near.sigma, rel=1e-6)


def test_probes_in_a_line_enclose_nothing():
    assert probed_area(np.array([[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]])) is None
    assert probed_area(np.array([[0.0, 0.0]])) is None


@pytest.mark.parametrize("thickness", [[-0.1], [float("nan")], [float("inf")]])
def test_a_thickness_that_is_none_is_refused(thickness):
    with pytest.raises(DomainError, match="`thickness` must be at least 0 m"):
        muck_surface(np.zeros((1, 2)), np.array(thickness), GRID)


def test_no_probe_is_refused():
    with pytest.raises(DomainError, match="`points` must be at least one probe"):
        muck_surface(np.empty((0, 2)), np.empty(0), GRID)
