"""What holds for every shore: moved, turned, jittered, cut into tiles, with and without an island."""

from math import cos, radians, sin

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from pondwright.geometry.coverage import covered_area, ring_coverage
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import (
    enclosed_area,
    longest_fetch,
    points_inside,
    ring_edges,
    ring_length,
    rings_cross,
    self_crossings,
    signed_area,
)

GRID = Grid(origin_east=-12.0, origin_north=-12.0, spacing=0.4, columns=61, rows=61)


@st.composite
def any_rings(draw):
    """Sampled closed curve through any pegs: smooth or not, simple or not, in either direction."""
    coordinate = st.integers(-500, 500).map(lambda number: number / 50)
    pegs = draw(st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=9, unique=True))
    corners = draw(st.lists(st.booleans(), min_size=len(pegs), max_size=len(pegs)))
    return closed_curve(pegs, corners, points_per_span=draw(st.integers(1, 6))).points


@st.composite
def ponds(draw, centre=(0.0, 0.0), least=2.0, most=9.0):
    """Simple ring around a centre: pegs at growing angles and any distance within the limits."""
    count = draw(st.integers(4, 14))
    distances = draw(st.lists(st.floats(least, most), min_size=count, max_size=count))
    angle = 2 * np.pi * np.arange(count) / count + draw(st.floats(0.0, 1.0))
    pegs = np.array(centre) + np.column_stack([np.cos(angle), np.sin(angle)]) * np.c_[distances]
    ring = closed_curve(pegs, [False] * count, points_per_span=8).points
    assume(len(self_crossings(ring)) == 0)
    return ring if draw(st.booleans()) else ring[::-1]


@st.composite
def ponds_with_an_island(draw):
    """A pond and an island that lies wholly in it."""
    pond = draw(ponds(least=4.0))
    island = draw(ponds(centre=(0.3, -0.2), least=0.5, most=2.5))
    assume(not rings_cross(pond, island) and points_inside([pond], island).all())
    return [pond, island]


def turned(ring, angle, shift=(0.0, 0.0)):
    matrix = np.array([[cos(angle), sin(angle)], [-sin(angle), cos(angle)]])
    return ring @ matrix + np.array(shift)


def shapely_distance(rings):
    """Signed distance by shapely at every node."""
    east, north = np.meshgrid(GRID.east, GRID.north)
    points = shapely.points(east, north)
    lines = shapely.MultiLineString([np.vstack([ring, ring[0]]) for ring in rings])
    distance = shapely.distance(points, lines)
    inside = np.zeros(GRID.shape, dtype=bool)
    for ring in rings:
        inside ^= shapely.contains_xy(shapely.Polygon(ring), east, north)
    return np.where(inside, distance, -distance)


@given(ponds(), st.integers(0, 359), st.floats(-1.0, 1.0), st.floats(-1.0, 1.0))
def test_moved_and_turned_a_pond_keeps_its_area_length_and_fetch(pond, degrees, east, north):
    moved = turned(pond, radians(degrees), (east + 0.137, north))

    assert covered_area(GRID, [moved]) == pytest.approx(covered_area(GRID, [pond]), rel=1e-12)
    assert signed_area(moved) == pytest.approx(signed_area(pond), rel=1e-12)
    assert ring_length(moved) == pytest.approx(ring_length(pond), rel=1e-12)
    assert longest_fetch([moved])[0] == pytest.approx(longest_fetch([pond])[0], rel=1e-9)


@given(ponds(), st.floats(-50.0, 50.0), st.floats(-50.0, 50.0))
def test_moved_together_pond_and_grid_keep_every_distance(pond, east, north):
    grid = Grid(GRID.origin_east + east, GRID.origin_north + north, GRID.spacing, 61, 61)

    distance = signed_distance(grid, [pond + np.array([east, north])])

    assert distance == pytest.approx(signed_distance(GRID, [pond]), abs=1e-12)


@given(ponds(), st.integers(0, 3))
def test_a_peg_moved_by_millimetres_changes_the_area_in_even_steps(pond, corner):
    moved = [pond + 0.0 for _ in range(40)]
    for step, ring in enumerate(moved):
        ring[corner] += 0.001 * step

    areas = np.array([covered_area(GRID, [ring]) for ring in moved])

    steps = np.diff(areas)
    exact = np.diff([enclosed_area([ring]) for ring in moved])
    assert np.abs(steps - exact).max() < 1e-12 * areas[0]
    assert np.ptp(steps) < 1e-3 * abs(steps.mean()) + 1e-11


@given(ponds_with_an_island())
def test_the_area_is_that_of_a_general_library_and_the_cells_add_up_to_it(rings):
    area = enclosed_area(rings)

    assert area == pytest.approx(shapely.Polygon(rings[0], [rings[1]]).area, rel=1e-12)
    assert covered_area(GRID, rings) == pytest.approx(area, rel=1e-12)


@given(ponds_with_an_island())
def test_every_cell_is_covered_as_box_by_box_intersection_says(rings):
    coverage = ring_coverage(GRID, rings)

    east, north = np.meshgrid(GRID.east, GRID.north)
    cells = shapely.box(east[:-1, :-1], north[:-1, :-1], east[1:, 1:], north[1:, 1:])
    exact = shapely.area(shapely.intersection(cells, shapely.Polygon(rings[0], [rings[1]])))
    assert coverage == pytest.approx(exact, abs=1e-13)


@given(any_rings())
def test_even_a_ring_that_crosses_itself_covers_no_cell_more_than_once(ring):
    coverage = ring_coverage(GRID, [ring])

    assert coverage.min() >= 0.0
    assert coverage.max() <= GRID.cell_area


@given(any_rings())
def test_between_neighbouring_nodes_the_distance_changes_by_the_spacing_at_most(ring):
    distance = signed_distance(GRID, [ring])

    steps = max(np.abs(np.diff(distance, axis=axis)).max() for axis in (0, 1))
    assert steps <= GRID.spacing + 1e-12


@given(ponds_with_an_island())
def test_the_distance_to_shore_and_island_is_that_of_a_general_library(rings):
    distance = signed_distance(GRID, rings)

    assert distance == pytest.approx(shapely_distance(rings), abs=1e-13)


@given(any_rings())
def test_the_distance_is_exact_for_any_ring_at_all(ring):
    distance = np.abs(signed_distance(GRID, [ring]))

    assert distance == pytest.approx(np.abs(shapely_distance([ring])), abs=1e-13)


@given(any_rings(), st.sampled_from([0.07, 0.4, 1.9]))
def test_tiles_do_not_change_the_last_bit(ring, spacing):
    grid = Grid(-11.0, -3.0, spacing, 75, 40)

    distance = np.abs(signed_distance(grid, [ring]))

    east, north = np.meshgrid(grid.east, grid.north)
    least = np.full(grid.shape, np.inf)
    for x, y, end_x, end_y in ring_edges([ring]):
        along_x, along_y = end_x - x, end_y - y
        share = ((east - x) * along_x + (north - y) * along_y) * (
            1.0 / (along_x * along_x + along_y * along_y)
        )
        share = np.clip(share, 0.0, 1.0)
        off_x, off_y = east - x - share * along_x, north - y - share * along_y
        least = np.minimum(least, off_x * off_x + off_y * off_y)
    assert (distance == np.sqrt(least)).all()


@given(ponds_with_an_island(), st.integers(0, 40))
def test_neither_the_first_corner_nor_the_direction_matters(rings, start):
    other = [np.roll(rings[0], start, axis=0)[::-1], rings[1][::-1]]

    assert signed_distance(GRID, other) == pytest.approx(signed_distance(GRID, rings), abs=1e-13)
    assert ring_coverage(GRID, other) == pytest.approx(ring_coverage(GRID, rings), abs=1e-13)
    assert len(self_crossings(other[0])) == 0


@given(ponds_with_an_island())
def test_pond_and_island_are_the_difference_of_the_two(rings):
    pond, island = rings

    both = ring_coverage(GRID, rings)

    apart = ring_coverage(GRID, [pond]) - ring_coverage(GRID, [island])
    assert both == pytest.approx(apart, abs=1e-13)
    signs = signed_distance(GRID, [pond]) > 0.0, signed_distance(GRID, [island]) > 0.0
    assert ((signed_distance(GRID, rings) > 0.0) == (signs[0] & ~signs[1])).all()


@given(ponds_with_an_island())
def test_a_node_is_inside_where_its_distance_is_above_zero(rings):
    distance = signed_distance(GRID, rings)

    nodes = np.column_stack([each.ravel() for each in np.meshgrid(GRID.east, GRID.north)])
    clear = np.abs(distance.ravel()) > 1e-12
    inside = points_inside(rings, nodes)
    assert (inside[clear] == (distance.ravel()[clear] > 0.0)).all()


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=8))
def test_a_ring_crosses_itself_where_a_general_library_says_that_it_is_not_simple(corners):
    ring = np.array(corners, dtype=float)
    assume(len(np.unique(ring, axis=0)) >= 3)

    crossings = self_crossings(ring)

    assert (len(crossings) == 0) == shapely.LinearRing(ring).is_simple


@given(ponds(), ponds(centre=(3.0, 1.0)))
def test_two_rings_cross_where_a_general_library_says_so(one, other):
    crosses = rings_cross(one, other)

    assert crosses == shapely.intersects(*(shapely.LinearRing(ring) for ring in (one, other)))


@given(ponds_with_an_island())
def test_the_longest_open_line_lies_in_the_water_and_no_line_tried_is_longer(rings):
    length, line = longest_fetch(rings)

    water = shapely.Polygon(rings[0], [rings[1]])
    assert water.buffer(1e-9).covers(shapely.LineString(line))
    corners = np.vstack(rings)
    tried = [(a, b) for a in corners[::7] for b in corners[::5] if np.hypot(*(b - a)) > length * (1 + 1e-12)]
    assert not any(water.covers(shapely.LineString(pair)) for pair in tried)
