"""What the ground says about a ring: low rim, hollow, guessed share, places beyond the survey."""

import math

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.site.existing import beyond_survey, fits, guessed_share, hollow, low_rim

GRID = Grid(origin_east=0.0, origin_north=0.0, spacing=0.25, columns=121, rows=121)
EAST, NORTH = np.meshgrid(GRID.east, GRID.north)
AWAY = np.hypot(EAST - 15.0, NORTH - 15.0)


def circle(radius: float) -> np.ndarray:
    turn = np.linspace(0.0, 2.0 * math.pi, 180, endpoint=False)
    return np.column_stack([15.0 + radius * np.cos(turn), 15.0 + radius * np.sin(turn)])


def test_the_low_rim_of_a_falling_plane_is_at_its_low_side() -> None:
    rim = low_rim(100.0 + 0.1 * NORTH, GRID, circle(10.0))

    assert rim.elevation == pytest.approx(100.0 + 0.1 * 5.0, abs=1e-4)
    assert (rim.east, rim.north) == pytest.approx((15.0, 5.0), abs=0.2)


def test_a_cone_holds_a_third_of_its_cylinder() -> None:
    # A cone 2 m deep and 8 m in radius, in a flat meadow that falls away beyond 12 m.
    ground = np.minimum(np.minimum(0.25 * AWAY, 2.0), 2.0 + 0.2 * (12.0 - AWAY))
    found = hollow(ground, GRID, circle(8.0))

    assert found.lip == pytest.approx(2.0, abs=0.02)
    assert found.floor == pytest.approx(0.0, abs=1e-9)
    assert found.volume == pytest.approx(math.pi * 64.0 * 2.0 / 3.0, rel=0.02)


def test_a_notch_in_the_rim_is_the_lip() -> None:
    ground = np.minimum(np.minimum(0.25 * AWAY, 2.0), 2.0 + 0.2 * (12.0 - AWAY))
    ground = np.where((np.abs(NORTH - 15.0) < 0.6) & (EAST > 21.0), np.minimum(ground, 1.5), ground)
    found = hollow(ground, GRID, circle(8.0))

    assert found.lip == pytest.approx(1.5, abs=1e-9)
    assert found.lip_east > 20.0
    assert found.volume == pytest.approx(math.pi * 36.0 * 1.5 / 3.0, rel=0.03)


def test_a_slope_has_no_hollow() -> None:
    found = hollow(100.0 + 0.1 * NORTH, GRID, circle(5.0))

    assert found.volume == pytest.approx(0.0, abs=1e-9)


def test_a_ring_between_the_nodes_has_no_hollow_to_tell() -> None:
    ring = np.array([[1.05, 1.05], [1.10, 1.05], [1.10, 1.10]])

    with pytest.raises(DomainError, match="must be larger than a cell"):
        hollow(100.0 + 0.1 * NORTH, GRID, ring)


def test_half_a_ring_over_guessed_ground_is_half_guessed() -> None:
    known = np.where(EAST < 15.0, 2, 3).astype(np.int8)

    assert guessed_share(known, 3, GRID, circle(8.0)) == pytest.approx(0.5, abs=0.02)


def test_places_beyond_the_survey_are_those_on_guessed_ground() -> None:
    known = np.where(EAST < 15.0, 2, 3).astype(np.int8)
    beyond = beyond_survey(known, 3, GRID, circle(8.0))

    assert beyond[:, 0].min() > 14.5
    assert 0.125 * len(beyond) == pytest.approx(math.pi * 8.0, rel=0.03)


def test_places_off_the_grid_are_beyond_the_survey() -> None:
    known = np.full(GRID.shape, 2, dtype=np.int8)
    beyond = beyond_survey(known, 3, GRID, circle(18.0))

    assert len(beyond) > 0
    assert not fits(GRID, circle(18.0))


def test_a_ring_well_inside_fits() -> None:
    assert fits(GRID, circle(14.0))


def test_a_ring_within_a_cell_of_the_edge_does_not_fit() -> None:
    assert not fits(GRID, circle(14.9))
