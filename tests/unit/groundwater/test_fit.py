"""The fit of the level far off to what was read."""

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.groundwater.aquifer import Plane, border_widths
from pondwright.rooms.groundwater.fit import DAMPED, Read, Undisturbed, fitted, undisturbed_heads
from pondwright.rooms.groundwater.heads import Ground, OneWay

GRID = Grid(0.0, 0.0, 2.0, 16, 16)
FLAT = Plane(0.0, 0.0, 0.0, (0.0, 0.0))


def site(share=1.0, soaks=0.0, permeability=1e-5, ways=()):
    nothing = np.zeros((1, *GRID.shape))
    ground = Ground(
        GRID.spacing,
        nothing + 20.0,
        nothing,
        nothing + permeability,
        np.zeros(GRID.shape),
        np.full(GRID.shape, np.inf),
    )
    width = border_widths(GRID, dict.fromkeys(("north", "east", "south", "west"), 10.0))
    return Undisturbed(
        GRID, np.full(GRID.shape, 19.0), ground, (), ways, width, np.full(GRID.shape, soaks * 4.0), share
    )


def read_in(heads, *cells, sigma=0.002):
    return [Read(2.0 * x, 2.0 * y, float(heads.head[y, x]), sigma) for x, y in cells]


def test_readings_of_a_known_plane_give_the_plane_back():
    plane = Plane(8.0, 0.02, -0.03, (15.0, 15.0))
    heads = undisturbed_heads(site(), plane, 1.0)

    found = fitted(site(), read_in(heads, (2, 3), (13, 4), (7, 13)), FLAT)

    level = found.plane.over(GRID)
    assert np.abs(level - plane.over(GRID)).max() < 0.01
    assert np.abs(found.residuals).max() < 1e-3


def test_the_share_that_soaks_in_is_found_with_the_plane():
    plane = Plane(6.0, 0.01, 0.02, (15.0, 15.0))
    heads = undisturbed_heads(site(soaks=4e-8), plane, 0.4)
    reads = read_in(heads, (2, 3), (13, 4), (7, 13), (8, 7), (3, 12), sigma=0.0005)

    found = fitted(site(share=None, soaks=4e-8), reads, FLAT)

    assert found.share == pytest.approx(0.4, abs=0.03)


def test_one_reading_leaves_half_the_slope_of_the_ground():
    ground = Plane(9.0, 0.04, -0.02, (15.0, 15.0))

    found = fitted(site(), [Read(10.0, 12.0, 7.0, 0.02)], ground)

    assert found.plane.east == pytest.approx(DAMPED * 0.04, abs=1e-3)
    assert found.plane.north == pytest.approx(-DAMPED * 0.02, abs=1e-3)
    assert abs(found.residuals[0]) < 1e-3


def test_the_share_never_leaves_its_bounds():
    wetter = [Read(15.0, 15.0, 12.0, 0.01), Read(2.0, 15.0, 5.0, 0.01), Read(28.0, 15.0, 5.0, 0.01)]

    found = fitted(site(share=None, soaks=1e-9), wetter, FLAT)

    assert 0.0 <= found.share <= 1.0


def test_water_that_comes_out_of_the_slope_is_no_trouble_for_the_fit():
    slope = 8.0 - 0.1 * GRID.east[None, :] + np.zeros(GRID.shape)
    face = (OneWay(np.full(GRID.shape, np.inf), slope),)
    heads = undisturbed_heads(site(ways=face), Plane(6.8, 0.0, 0.01, (15.0, 15.0)), 1.0)

    found = fitted(site(ways=face), read_in(heads, (2, 3), (4, 12), (9, 6)), FLAT)

    assert np.abs(found.residuals).max() < 0.02
    assert (found.heads.head <= slope + 1e-6).all()


def test_without_readings_nothing_is_invented():
    with pytest.raises(DomainError, match="`reads` must hold at least one reading"):
        fitted(site(), [], FLAT)
