"""The cover check: places on a flat piece that prove it, triangle by triangle."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import settings

from pondwright.base.errors import DomainError
from pondwright.rooms.lining.area import LinerMesh, liner_mesh
from pondwright.rooms.lining.cover import cover, least_sizes
from pondwright.rooms.lining.panels import best_sheet
from tests.unit.lining.ponds import hipped_pit, wavy_pond

BEYOND = 0.6
SEEDS = range(200) if settings.get_current_profile_name() == "soak" else range(12)


def checked(ground, beyond=BEYOND):
    """The smallest sheet by row arcs, the mesh, and the cover found for it."""
    sheet, mesh = best_sheet(ground, beyond), liner_mesh(ground, beyond)
    return sheet, mesh, cover(mesh, sheet.turned, sheet.length, sheet.width)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_wavy_pond_with_an_island_is_proved_within_a_tenth_of_the_row_arcs(seed):
    sheet, mesh, found = checked(wavy_pond(seed))

    assert 1.0 / least_sizes(mesh, found.places).min() <= 1.0 + 1e-9
    assert found.places.min() >= 0.0
    assert (found.places.max(axis=0) <= np.array([found.length, found.width])).all()
    assert mesh.area <= found.area <= 1.10 * sheet.area


def test_no_two_parts_of_the_ground_claim_the_same_part_of_the_piece():
    """The areas of the triangles on the piece add up to the area that they fill together."""
    _, mesh, found = checked(wavy_pond(3, 0.4))

    triangles = shapely.polygons(found.places[mesh.triangles])

    assert shapely.area(shapely.union_all(triangles)) == pytest.approx(
        shapely.area(triangles).sum(), rel=1e-9
    )


@pytest.mark.parametrize("turned", [0.0, math.radians(17.0), math.radians(45.0)])
def test_a_hipped_pit_needs_its_developed_length_and_width(turned):
    ground = hipped_pit(turned, 0.2)
    mesh = liner_mesh(ground, 0.0)
    slope = math.sqrt(5.0)
    found = cover(mesh, turned, 8.0 + 2.0 * slope, 4.0 + 2.0 * slope)

    assert found.length == pytest.approx(8.0 + 2.0 * slope, rel=0.02)
    assert found.width == pytest.approx(4.0 + 2.0 * slope, rel=0.02)
    assert found.area >= mesh.area


def test_a_flat_piece_of_ground_needs_no_more_than_itself():
    mesh = liner_mesh(hipped_pit(0.0, 0.5, depth=0.0), 0.0)

    found = cover(mesh, 0.0, 12.0, 8.0)

    assert found.area == pytest.approx(96.0, rel=1e-6)
    assert (found.length, found.width) == pytest.approx((12.0, 8.0), rel=1e-6)


def test_a_triangle_turned_over_has_a_negative_size():
    mesh = LinerMesh(np.zeros((3, 2)), np.array([[0, 1, 2]]), np.array([[3.0, 4.0, 5.0]]))

    assert least_sizes(mesh, np.array([[0.0, 0.0], [3.0, 0.0], [3.0, -4.0]]))[0] == pytest.approx(-1.0)


def test_a_piece_without_a_size_is_refused():
    with pytest.raises(DomainError, match="`length` and `width` must be above 0 m"):
        cover(liner_mesh(hipped_pit(0.0, 0.5), 0.0), 0.0, 0.0, 8.0)


def test_who_cancels_gets_what_is_proved_so_far():
    ground = wavy_pond(1, 0.4)
    sheet, mesh = best_sheet(ground, BEYOND), liner_mesh(ground, BEYOND)

    found = cover(mesh, sheet.turned, sheet.length, sheet.width, cancelled=lambda: True)

    assert 0 < found.rounds < 100
    assert 1.0 / least_sizes(mesh, found.places).min() <= 1.0 + 1e-9
