"""Pieces as they lie on the plan, and strips that are parts of a proved map."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.rooms.lining.area import LinerGround, liner_mesh
from pondwright.rooms.lining.cover import cover
from pondwright.rooms.lining.laid import edge_lines, laid_sheet, laid_strips, seams_of
from pondwright.rooms.lining.panels import best_sheet, best_strips
from pondwright.rooms.lining.proved_strips import proved_strips
from tests.unit.lining.ponds import hipped_pit, wavy_pond

BEYOND = 0.6


def level_ground(outer, *holes, spacing=0.1):
    """Level ground inside a rectangle, less others, each told by its half sides and its middle."""
    grid = Grid(0.0, 0.0, spacing, round(18.0 / spacing) + 1, round(18.0 / spacing) + 1)
    east, north = np.meshgrid(grid.east - 9.0, grid.north - 9.0)

    def within(box):
        half_east, half_north, at_east, at_north = box
        return np.minimum(half_east - abs(east - at_east), half_north - abs(north - at_north))

    distance = np.minimum.reduce([within(outer), *(-within(hole) for hole in holes)])
    return LinerGround(grid, np.zeros(grid.shape), np.zeros(grid.shape), distance)


def under(ground, beyond):
    """Nodes that the liner must cover, a hair within its edge."""
    east, north = np.meshgrid(ground.grid.east, ground.grid.north)
    inside = ground.distance > -beyond + 1e-9
    return shapely.points(east[inside], north[inside])


@pytest.mark.parametrize("seed", range(3))
def test_strips_lie_over_all_that_they_cover(seed):
    ground = wavy_pond(seed)
    plan = best_strips(ground, BEYOND, 3.0, 0.15)

    laid = laid_strips(ground, BEYOND, plan)

    lying = shapely.union_all(shapely.polygons([piece.corners for piece in laid])).buffer(1e-6)
    assert shapely.covers(lying, under(ground, BEYOND)).all()


def test_an_island_wider_than_a_strip_saves_what_lies_over_it():
    """12 m by 8 m with an island of 6 m by 5 m: of strips of 2 m the inner ones lose about 6 m."""
    ground = level_ground((6.0, 4.0, 0.0, 0.0), (3.0, 2.5, 0.0, 0.0))
    plan = best_strips(ground, 0.0, 2.0, 0.1, [0.0])

    laid = laid_strips(ground, 0.0, plan)
    split = [piece for piece in laid if piece.part > 0]

    assert split
    saved = plan.area - sum(piece.area for piece in laid)
    assert saved == pytest.approx(len(split) * 6.0 * 2.0, rel=0.07)


def test_a_strip_over_two_arms_is_cut_between_them():
    ground = level_ground((6.0, 4.0, 0.0, 0.0), (2.5, 3.0, 0.0, 1.5))
    plan = best_strips(ground, 0.0, 3.0, 0.1, [0.0])

    parts = [sum(piece.strip == number for piece in laid_strips(ground, 0.0, plan)) for number in range(3)]

    assert parts == [1, 2, 2]


def test_a_gap_that_is_short_splits_nothing():
    ground = level_ground((6.0, 4.0, 0.0, 0.0), (0.4, 3.0, 0.0, 1.5))
    plan = best_strips(ground, 0.0, 2.0, 0.1, [0.0])

    assert all(piece.part == 0 for piece in laid_strips(ground, 0.0, plan))


@pytest.mark.parametrize("seed", range(3))
def test_strips_in_parts_are_never_longer_than_in_one(seed):
    ground = wavy_pond(seed)
    plan = best_strips(ground, BEYOND, 2.0, 0.15)
    laid = laid_strips(ground, BEYOND, plan)

    for number, strip in enumerate(plan.strips):
        assert sum(piece.length for piece in laid if piece.strip == number) <= strip.length + 1e-9


def test_seams_of_a_rectangle_run_its_length_between_its_strips():
    ground = level_ground((6.0, 4.0, 0.0, 0.0))
    plan = best_strips(ground, 0.0, 2.0, 0.1, [0.0])

    seams = seams_of(laid_strips(ground, 0.0, plan), plan.turned, ground)

    assert len(seams) == len(plan.strips) - 1
    for seam in seams:
        assert seam.length == pytest.approx(12.0, abs=0.5)
        assert seam.line[0, 1] == pytest.approx(seam.line[1, 1])


def test_a_sheet_lies_round_the_edge_and_is_as_long_as_its_ground():
    ground = hipped_pit()
    sheet = best_sheet(ground, 0.0)

    piece = laid_sheet(ground, 0.0, sheet)

    assert (piece.length, piece.width) == pytest.approx((sheet.length, sheet.width))
    assert shapely.Polygon(piece.corners).area == pytest.approx(96.0, rel=0.06)


def test_the_edge_has_a_line_for_the_island():
    ground = level_ground((6.0, 4.0, 0.0, 0.0), (2.0, 1.0, 0.0, 0.0))

    areas = sorted(shapely.Polygon(line).area for line in edge_lines(ground, 0.3))

    assert areas == pytest.approx([3.4 * 1.4, 12.6 * 8.6], rel=0.01)


@pytest.mark.parametrize("seed", range(3))
def test_every_point_of_the_ground_lies_on_a_proved_strip_and_reaches_its_seam(seed):
    mesh = liner_mesh(wavy_pond(seed), BEYOND)
    sheet = best_sheet(wavy_pond(seed), BEYOND)
    places = cover(mesh, sheet.turned, sheet.length, sheet.width).places

    strips = proved_strips(mesh, places, 4.0, 0.2)

    across = sorted({(strip.left, strip.right) for strip in strips})
    assert all(before[1] - after[0] == pytest.approx(0.2) for before, after in pairwise(across))
    draws = np.random.default_rng(seed)
    weights = draws.dirichlet((1.0, 1.0, 1.0), len(mesh.triangles))
    points = np.einsum("tc,tcx->tx", weights, places[mesh.triangles])
    on = np.zeros(len(points), dtype=int)
    for strip in strips:
        assert strip.right - strip.left <= strip.width + 1e-9
        on += (
            (points[:, 0] >= strip.start)
            & (points[:, 0] <= strip.end)
            & (points[:, 1] >= strip.left)
            & (points[:, 1] <= strip.right)
        )
    # What lies in the overlap of two strips lies on both.
    seams = [(after[0], before[1]) for before, after in pairwise(across)]
    twice = np.any([(points[:, 1] > low) & (points[:, 1] < high) for low, high in seams], axis=0)
    assert (on == np.where(twice, 2, 1)).all()
    assert sum(strip.area for strip in strips) >= mesh.area


@pytest.mark.parametrize("seed", range(6))
def test_strips_are_proved_within_a_tenth_of_those_by_tapes(seed):
    ground = wavy_pond(seed)
    mesh, plan = liner_mesh(ground, BEYOND), best_strips(ground, BEYOND, 4.0, 0.15)
    sheet = best_sheet(ground, BEYOND, [plan.turned])
    sides = (sheet.length, sheet.width) if sheet.turned == plan.turned else (sheet.width, sheet.length)

    strips = proved_strips(mesh, cover(mesh, plan.turned, *sides).places, 4.0, 0.15)

    assert mesh.area <= sum(strip.area for strip in strips) <= 1.10 * plan.area


def test_strips_of_level_ground_are_proved_as_they_are_counted():
    """8 m across in rolls of 2 m with 0.1 m of overlap: five strips of 12 m."""
    mesh = liner_mesh(hipped_pit(0.0, 0.25, depth=0.0), 0.0)

    strips = proved_strips(mesh, cover(mesh, 0.0, 12.0, 8.0).places, 2.0, 0.1)

    assert len(strips) == math.ceil((8.0 - 0.1) / 1.9)
    assert all(strip.length == pytest.approx(12.0, rel=1e-4) for strip in strips)


def test_a_roll_that_is_all_overlap_proves_nothing():
    mesh = liner_mesh(hipped_pit(0.0, 0.5), 0.0)
    with pytest.raises(DomainError, match="`roll` must be wider than its overlap"):
        proved_strips(mesh, mesh.points, 0.1, 0.15)
