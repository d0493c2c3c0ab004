"""Ways of machines against closed forms, a search without shortcuts, a graph of cells, and by properties."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.sparse.csgraph import csgraph_from_dense, dijkstra

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import crossing
from pondwright.rooms.earth.drivable import CLOSED, Ground, Own, drivable
from pondwright.rooms.earth.haul import PILE, SOIL, End, Source, haul_plan
from pondwright.rooms.earth.routes import network, routes

WINDOW = np.array([[0.0, 0.0], [44.0, 44.0]])
"""Places that set the window to 64 m in cells of half a metre."""

spots = st.tuples(st.floats(0.0, 44.0), st.floats(0.0, 44.0))
boxes = st.tuples(st.integers(0, 40), st.integers(0, 40), st.integers(2, 14), st.integers(2, 14)).map(
    lambda box: shapely.box(box[0], box[1], box[0] + box[2], box[1] + box[3])
)


def led(start, stop, **ground):
    """Ways from one place to another, over ground that holds the whole window."""
    ends = np.array([start], dtype=float), np.array([stop], dtype=float)
    return routes(network(drivable(np.vstack([WINDOW, *ends]), **ground)), *ends)


def length(start, stop, **ground):
    return float(led(start, stop, **ground).length[0, 0])


def walked(way):
    return float(np.hypot(*np.diff(np.array(way), axis=0).T).sum())


@settings(max_examples=40, deadline=None)
@given(spots, spots)
def test_over_an_open_field_the_way_is_straight(start, stop):
    found = led(start, stop)

    assert found.length[0, 0] == pytest.approx(math.dist(start, stop), abs=1e-9)
    assert found.way(0, 0) == (start, stop)


@settings(max_examples=40, deadline=None)
@given(st.floats(2.0, 12.0), st.floats(2.0, 12.0), st.floats(-8.0, 8.0), st.floats(-8.0, 8.0))
def test_round_a_box_the_way_is_the_taut_string(half_wide, half_high, low, high):
    middle, step = 22.0, 0.5
    box = shapely.box(middle - half_wide, middle - half_high, middle + half_wide, middle + half_high)
    start, stop = (middle - 20.0, middle + low), (middle + 20.0, middle + high)
    if not shapely.LineString([start, stop]).crosses(box):
        return

    sides = [
        [(middle + across, middle + side * half_high) for across in (-half_wide, half_wide)]
        for side in (-1.0, 1.0)
    ]
    # The way may touch one corner of a side or both: the shortest that stays outside counts.
    ways = [[start, *bends, stop] for one, other in sides for bends in ([one], [other], [one, other])]
    outside = [way for way in ways if not shapely.LineString(way).crosses(box.buffer(-1e-9))]
    taut = min(map(walked, outside))

    assert length(start, stop, closed=[box]) == pytest.approx(taut, abs=2.0 * step)


@pytest.mark.parametrize(("radius", "away"), [(6.0, 12.0), (9.0, 20.0), (3.0, 4.5)])
def test_round_a_tree_the_way_is_two_tangents_and_an_arc(radius, away):
    tree = shapely.Point(22.0, 22.0).buffer(radius)

    found = length((22.0 - away, 22.0), (22.0 + away, 22.0), closed=[tree])

    taut = 2.0 * math.sqrt(away**2 - radius**2) + radius * (math.pi - 2.0 * math.acos(radius / away))
    assert found == pytest.approx(taut, abs=2.0 * 0.5)


def exact(ground, start, stop):
    """Shortest way over all corners of all closed cells, seen by plane geometry: no shortcut is taken."""
    rows, columns = np.nonzero(ground.cells & CLOSED)
    shut = shapely.union_all([shapely.box(x, y, x + 1, y + 1) for x, y in zip(columns, rows, strict=True)])
    corners = {
        (float(x + e), float(y + n))
        for x, y in zip(columns, rows, strict=True)
        for e in (0, 1)
        for n in (0, 1)
    }
    edge = {corner for corner in corners if shapely.Point(corner).within(shapely.boundary(shut).buffer(1e-9))}
    nodes = [tuple(each) for each in ground.in_cells(np.array([start, stop]))] + sorted(edge)
    inside = shut.buffer(-1e-6)
    shapely.prepare(inside)
    graph = np.full((len(nodes), len(nodes)), np.inf)
    for one, other in itertools.combinations(range(len(nodes)), 2):
        if not inside.intersects(shapely.LineString([nodes[one], nodes[other]])):
            graph[one, other] = math.dist(nodes[one], nodes[other])
    found = csgraph_from_dense(graph, null_value=np.inf)
    return dijkstra(found, directed=False, indices=0)[1] * ground.grid.spacing


small = st.tuples(st.integers(0, 40), st.integers(0, 40), st.integers(2, 6), st.integers(2, 6)).map(
    lambda box: shapely.box(*(0.25 * np.array([box[0], box[1], box[0] + box[2], box[1] + box[3]])))
)
near = st.tuples(st.floats(0.0, 11.0), st.floats(0.0, 11.0))


@settings(max_examples=8, deadline=None)
@given(st.lists(small, min_size=1, max_size=3), near, near)
def test_no_shortest_way_is_missed(some, start, stop):
    ground = drivable(0.25 * WINDOW, closed=some)
    ends = np.array([start]), np.array([stop])
    at = np.floor(ground.in_cells(np.vstack(ends))).astype(int)
    if ground.cells[at[:, 1], at[:, 0]].any():
        return

    found = routes(network(ground), *ends).length[0, 0]

    assert found == pytest.approx(exact(ground, start, stop), abs=1e-4)


def over_cells(ground, start, stop):
    """Shortest way from cell to cell over their eight neighbours, never past a corner of a closed one."""
    free = ground.cells == 0
    number = np.arange(free.size).reshape(free.shape)
    first, second, cost = [], [], []
    for east, north in ((1, 0), (0, 1), (1, 1), (-1, 1)):
        rows, columns = np.nonzero(free[: free.shape[0] - north])
        keep = (columns + east >= 0) & (columns + east < free.shape[1])
        rows, columns = rows[keep], columns[keep]
        open_ = free[rows + north, columns + east] & free[rows, columns + east] & free[rows + north, columns]
        first.append(number[rows[open_], columns[open_]])
        second.append(number[rows[open_] + north, columns[open_] + east])
        cost.append(np.full(int(open_.sum()), math.hypot(east, north) * ground.grid.spacing))
    graph = csr_array(
        (np.concatenate(cost), (np.concatenate(first), np.concatenate(second))), shape=(free.size,) * 2
    )
    ends = [
        number[row, column] for column, row in np.floor(ground.in_cells(np.array([start, stop]))).astype(int)
    ]
    return dijkstra(graph, directed=False, indices=ends[0])[ends[1]]


@settings(max_examples=25, deadline=None)
@given(st.lists(boxes, min_size=1, max_size=5), spots, spots)
def test_the_way_is_no_longer_than_from_cell_to_cell_and_at_most_a_twelfth_shorter(some, start, stop):
    ground = drivable(WINDOW, closed=some)
    ends = np.array([start]), np.array([stop])
    at = np.floor(ground.in_cells(np.vstack(ends))).astype(int)
    if ground.cells[at[:, 1], at[:, 0]].any():
        return

    found = float(routes(network(ground), *ends).length[0, 0])

    stepped = over_cells(ground, start, stop)
    assert np.isfinite(found) or not np.isfinite(stepped)
    if np.isfinite(stepped):
        assert found <= stepped + 2.0 * ground.grid.spacing
        # Cell by cell a way is longer by 1 / cos(22.5 degrees) at most, and turns a cell away from corners.
        assert stepped <= 1.0824 * found + 8.0 * ground.grid.spacing


@settings(max_examples=30, deadline=None)
@given(st.lists(boxes, max_size=4), boxes, spots, spots)
def test_ways_are_no_shorter_than_straight_the_same_back_and_never_shortened_by_an_obstacle(
    some, more, start, stop
):
    if any(shapely.Point(spot).within(box.buffer(1.0)) for spot in (start, stop) for box in (*some, more)):
        return

    few, back = led(start, stop, closed=some), led(stop, start, closed=some)
    many = led(start, stop, closed=[*some, more])

    assert few.length[0, 0] >= math.dist(start, stop) - 1e-9
    assert back.length[0, 0] == pytest.approx(few.length[0, 0], abs=1e-6)
    assert many.cost[0, 0] >= few.cost[0, 0] - 1e-4
    way = few.way(0, 0)
    if way:
        assert walked(way) == pytest.approx(few.length[0, 0], abs=1e-2)
        assert not any(shapely.LineString(way).intersects(box.buffer(-1.0)) for box in some)


# A hole, a pile, gates and ways in.

WALL = shapely.box(-20.0, 20.0, 80.0, 24.0)


def test_who_comes_from_a_hole_drives_through_it_and_all_others_round_it():
    hole = shapely.box(10.0, 18.0, 34.0, 26.0)
    own = [Own(hole, reach=2.0)]

    assert length((22.0, 17.0), (22.0, 40.0), own=own) == pytest.approx(23.0)
    assert length((22.0, 22.0), (22.0, 40.0), own=own) == pytest.approx(18.0)
    assert length((22.0, 10.0), (22.0, 40.0), own=own) == pytest.approx(
        math.hypot(12.0, 8.0) + 8.0 + math.hypot(12.0, 14.0), abs=1.0
    )


def test_a_pile_is_driven_to_and_not_through():
    own = [Own(shapely.box(20.0, 10.0, 24.0, 30.0), through=False)]

    assert length((10.0, 20.0), (22.0, 20.0), own=own) == pytest.approx(12.0)
    assert length((10.0, 20.0), (34.0, 20.0), own=own) > 30.0


def test_a_wall_from_side_to_side_lets_nobody_through_but_at_its_gate():
    shut, gate = led((10.0, 10.0), (10.0, 40.0), closed=[WALL]), shapely.Point(30.0, 22.0).buffer(2.5)

    assert shut.length[0, 0] == np.inf and shut.way(0, 0) == ()
    by_gate = led((10.0, 10.0), (10.0, 40.0), closed=[WALL], opened=[gate])
    assert 40.0 < by_gate.length[0, 0] < 60.0
    assert any(26.0 < east < 34.0 and 19.0 < north < 25.0 for east, north in by_gate.way(0, 0))


def test_a_way_in_opens_a_fence_and_no_house():
    way, path = ((30.0, 0.0), (30.0, 44.0)), shapely.LineString([(30.0, 0.0), (30.0, 44.0)]).buffer(1.0)

    through = led((30.0, 2.0), (30.0, 42.0), closed=[WALL], opened=[path], ways=[way])

    assert through.length[0, 0] == pytest.approx(40.0) and through.cost[0, 0] == pytest.approx(20.0, abs=2.0)
    assert length((30.0, 2.0), (30.0, 42.0), solid=[WALL], opened=[path], ways=[way]) == np.inf


def test_a_way_in_is_taken_where_it_is_not_twice_as_long():
    way = ((10.0, 0.0), (10.0, 40.0))

    beside, far = (led((east, 2.0), (east, 38.0), ways=[way]) for east in (14.0, 40.0))

    assert beside.length[0, 0] > 36.5 and beside.cost[0, 0] < 36.0
    assert any(east == pytest.approx(10.0) for east, _ in beside.way(0, 0))
    assert far.way(0, 0) == ((40.0, 2.0), (40.0, 38.0))


def test_a_way_in_is_left_where_the_gate_is_and_not_beyond_it():
    way = ((10.0, 0.0), (10.0, 40.0))

    for north in (30.1, 30.4, 30.7):
        found = led((10.0, 2.0), (10.0, north), ways=[way])

        assert found.way(0, 0) == ((10.0, 2.0), (10.0, north))
        assert found.cost[0, 0] == pytest.approx(0.5 * (north - 2.0))


def test_who_stands_on_roots_leaves_them_by_the_shortest_way():
    roots = shapely.Point(20.0, 20.0).buffer(5.0)

    found = led((18.0, 20.0), (40.0, 20.0), closed=[roots])

    out = found.way(0, 0)[1]
    assert math.dist(out, (18.0, 20.0)) == pytest.approx(3.0, abs=1.0) and out[0] < 16.0
    assert length((18.0, 20.0), (19.0, 20.0), closed=[roots]) == pytest.approx(1.0)


def test_who_stands_on_roots_does_not_come_out_in_a_pocket_between_them():
    ring = shapely.Point(20.0, 20.0).buffer(6.0).difference(shapely.Point(20.0, 20.0).buffer(2.0))

    assert np.isfinite(length((23.0, 20.0), (40.0, 20.0), closed=[ring]))
    assert length((20.0, 20.0), (40.0, 20.0), closed=[ring]) == np.inf, "who stands in it is shut in"


def test_steep_ground_is_driven_round_unless_it_is_dug_away():
    grid = Grid(0.0, 0.0, 0.5, columns=89, rows=89)
    bank = np.tile(0.4 * np.clip(grid.east - 20.0, 0.0, 4.0), (grid.rows, 1))
    flat = np.zeros_like(bank) - 1.0

    round_it = length((10.0, 10.0), (34.0, 10.0), ground=Ground(bank, bank, grid, 0.3))
    straight = length((10.0, 10.0), (34.0, 10.0), ground=Ground(bank, flat, grid, 0.3))

    assert straight == pytest.approx(24.0)
    # South of what was surveyed nothing is known to be steep.
    assert round_it == pytest.approx(2.0 * math.hypot(10.0, 10.0) + 4.0, abs=1.0)


def test_a_machine_stands_over_a_bump():
    grid = Grid(0.0, 0.0, 0.5, columns=89, rows=89)
    bump = np.zeros(grid.shape)
    bump[44, 44] = 0.5

    assert length((10.0, 22.0), (34.0, 22.0), ground=Ground(bump, bump, grid, 0.3)) == pytest.approx(24.0)


def test_ways_are_found_among_more_corners_than_are_looked_at():
    chance = np.random.default_rng(3)
    stones = [shapely.box(x, y, x + 0.8, y + 0.8) for x, y in chance.uniform(2.0, 42.0, (400, 2))]
    ends = np.array([[0.0, 0.0]]), np.array([[44.0, 44.0]])
    net = network(drivable(WINDOW, closed=stones))

    found = routes(net, *ends)

    straight = math.dist((0.0, 0.0), (44.0, 44.0))
    assert len(net.nodes) <= 1200 and straight < found.length[0, 0] < 1.2 * straight
    assert walked(found.way(0, 0)) == pytest.approx(found.length[0, 0], abs=0.1)


def test_places_beyond_the_ground_are_refused():
    with pytest.raises(DomainError, match="must lie on the ground"):
        routes(network(drivable(WINDOW)), WINDOW, np.array([[500.0, 0.0]]))
    with pytest.raises(DomainError, match="at least one place"):
        drivable(np.empty((0, 2)))


def test_ways_that_nobody_asks_for_are_left_out():
    net = network(drivable(WINDOW))

    found = routes(net, WINDOW, WINDOW, np.array([[False, True], [False, False]]))

    assert np.isfinite(found.length).tolist() == [[False, True], [False, False]]


def test_lines_gather_the_bits_of_all_cells_that_they_go_through():
    chance = np.random.default_rng(7)
    cells = np.where(chance.random((20, 30)) < 0.05, CLOSED, 0).astype(np.int32)
    cells |= (1 << chance.integers(0, 5, cells.shape)).astype(np.int32)
    lines = chance.random((200, 4)) * (30.0, 20.0, 30.0, 20.0)
    found = np.empty((len(lines), 1), dtype=np.int32)

    crossing.gather(cells, lines, found)

    shares = np.linspace(0.0, 1.0, 20_001)
    for (x, y, to_x, to_y), bits in zip(lines, found[:, 0], strict=True):
        column, row = (x + shares * (to_x - x)).astype(int), (y + shares * (to_y - y)).astype(int)
        walked_over = np.bitwise_or.reduce(cells[row, column])
        assert bits == (CLOSED if walked_over & CLOSED else walked_over)


# The haul plan over them.


def test_soil_goes_to_a_farther_pile_that_machines_reach_before_one_that_they_do_not():
    takes = frozenset((SOIL,))
    near, far = (
        End(name, PILE, *place, takes, room=9.0)
        for name, place in (("near", (10.0, 30.0)), ("far", (40.0, 4.0)))
    )
    places = np.array([[10.0, 10.0], [10.0, 30.0], [40.0, 4.0]])
    net = network(drivable(np.vstack([WINDOW, places]), closed=[WALL]))
    times = {SOIL: lambda distance: 30.0 + distance}

    plan = haul_plan([Source(10.0, 10.0, SOIL, 5.0)], [near, far], times, net)
    more = haul_plan([Source(10.0, 10.0, SOIL, 12.0)], [near, far], times, net)

    assert plan.volume_to("far") == pytest.approx(5.0) and all(haul.driven for haul in plan.hauls)
    assert more.volume_to("far") == pytest.approx(9.0) and more.volume_to("near") == pytest.approx(3.0)
    [stuck] = [haul for haul in more.hauls if not haul.driven]
    assert stuck.end.name == "near" and stuck.distance == pytest.approx(20.0)
