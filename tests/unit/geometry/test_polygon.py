"""Rings: area, length, crossings, inside, equal steps, the longest open line."""

from math import hypot, pi, sqrt

import numpy as np
import pytest
import shapely

from pondwright.base.errors import DomainError
from pondwright.geometry import polygon
from pondwright.geometry.curve import closed_curve

SQUARE = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
EIGHT = np.array([[0.0, 0.0], [4.0, 4.0], [4.0, 0.0], [0.0, 4.0]])
PEGS = [[2, 1], [8, 0.5], [15, 2], [16, 7], [11, 3], [9.5, 9], [4, 8.5], [1, 5]]
POND = closed_curve(PEGS, [False] * 8).points
ISLAND = closed_curve([[4, 3], [6, 3.5], [5, 5]], [False] * 3).points


def circle(radius, count):
    angle = 2 * pi * np.arange(count) / count
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def test_area_is_signed_by_the_direction():
    areas = polygon.signed_area(SQUARE), polygon.signed_area(SQUARE[::-1])

    assert areas == (16.0, -16.0)


def test_area_and_length_are_those_of_a_general_library():
    body = shapely.Polygon(POND)

    assert abs(polygon.signed_area(POND)) == pytest.approx(body.area, rel=1e-14)
    assert polygon.ring_length(POND) == pytest.approx(body.length, rel=1e-14)


def test_far_coordinates_do_not_cost_digits():
    area = polygon.signed_area(SQUARE + 2.0**23)

    assert area == 16.0


def test_islands_are_taken_off_in_any_direction():
    area = polygon.enclosed_area([SQUARE[::-1], 1 + 0.25 * SQUARE])

    assert area == 15.0


def test_the_720_gon_of_the_frustum_case_has_its_area_in_closed_form():
    area = polygon.signed_area(circle(8.0, 720))

    assert area == pytest.approx(720 * 32.0 * np.sin(2 * pi / 720), rel=1e-13)
    assert area == pytest.approx(201.05937788, abs=5e-9)


def test_a_circle_is_developed_by_one_and_a_square_more():
    of_circle = polygon.development_index(2 * pi * 3.0, pi * 9.0)

    assert of_circle == pytest.approx(1.0, rel=1e-15)
    assert polygon.development_index(16.0, 16.0) == pytest.approx(2 / sqrt(pi), rel=1e-15)


@pytest.mark.parametrize("given", [(0.0, 1.0), (1.0, 0.0), (float("nan"), 1.0)])
def test_development_needs_a_length_and_an_area(given):
    with pytest.raises(DomainError, match="must be above 0"):
        polygon.development_index(*given)


def test_a_simple_ring_does_not_cross_itself():
    crossings = polygon.self_crossings(POND)

    assert crossings.shape == (0, 2)


def test_a_crossing_is_told_where_it_is():
    crossings = polygon.self_crossings(EIGHT)

    assert crossings.tolist() == [[2.0, 2.0]]


@pytest.mark.parametrize(
    ("ring", "where"),
    [
        ([[0, 0], [4, 0], [4, 4], [2, 0], [0, 4]], [[2.0, 0.0]]),
        ([[0, 0], [4, 0], [2, 2], [4, 4], [0, 4], [2, 2]], [[2.0, 2.0]]),
        ([[0, 0], [4, 0], [2, 0], [2, 4]], [[2.0, 0.0], [4.0, 0.0]]),
        ([[0, 0], [6, 0], [6, 4], [5, 0], [1, 0], [0, 4]], [[1.0, 0.0], [3.0, 0.0], [5.0, 0.0]]),
    ],
    ids=["a corner on an edge", "two corners at one place", "a spike", "edges on each other"],
)
def test_touching_counts_as_crossing(ring, where):
    crossings = polygon.self_crossings(ring)

    assert crossings.tolist() == where
    assert not shapely.LinearRing(ring).is_simple


def test_corners_that_stand_twice_are_no_crossing():
    crossings = polygon.self_crossings(np.repeat(SQUARE, 3, axis=0))

    assert len(crossings) == 0


def test_more_crossings_than_first_expected_are_all_told():
    east = np.arange(41.0)
    zigzag = np.column_stack([east, np.where(east % 2 == 0, 1.0, -1.0)])
    ring = np.vstack([zigzag, [[41.0, 0.0], [-1.0, 0.0]]])

    crossings = polygon.self_crossings(ring)

    assert len(crossings) == 40


def test_rings_cross_only_where_their_edges_meet():
    inside, across, beside, touching = (SQUARE * 0.25 + shift for shift in (1.0, 3.5, 9.0, 4.0))

    crosses = [polygon.rings_cross(SQUARE, ring) for ring in (inside, across, beside, touching)]

    assert crosses == [False, True, False, True]


def test_points_are_inside_the_outer_ring_and_in_no_island():
    random = np.random.default_rng(5)
    points = random.uniform([0, 0], [17, 10], (500, 2))

    inside = polygon.points_inside([POND, ISLAND[::-1]], points)

    body = shapely.Polygon(POND, [ISLAND])
    assert (inside == shapely.contains_xy(body, points)).all()


def test_points_must_be_finite():
    with pytest.raises(DomainError, match="`points` must be finite numbers, got one that is not"):
        polygon.points_inside([POND], [[1.0, np.nan]])


def test_resampled_points_are_equally_spaced_along_the_ring():
    points = polygon.resampled(SQUARE, 0.9)

    assert len(points) == 18
    stations = shapely.line_locate_point(shapely.LinearRing(SQUARE), shapely.points(points))
    assert np.diff(stations) == pytest.approx(np.full(17, 16 / 18), abs=1e-14)


def test_a_step_beyond_the_ring_still_gives_a_ring():
    points = polygon.resampled(SQUARE, 1000.0)

    assert len(points) == 3


@pytest.mark.parametrize(
    ("ring", "step", "says"),
    [
        (SQUARE, 0.0, "`step` must be above 0 m, got 0.0 m"),
        (np.zeros((4, 2)), 1.0, "`ring` must have a length, got all corners at one place"),
    ],
)
def test_what_cannot_be_resampled_is_refused(ring, step, says):
    with pytest.raises(DomainError) as refused:
        polygon.resampled(ring, step)

    assert str(refused.value) == says


def test_the_longest_line_of_a_rectangle_is_its_diagonal():
    rectangle = closed_curve([[0, 0], [12, 0], [12, 5], [0, 5]], [True] * 4).points

    length, line = polygon.longest_fetch([rectangle])

    assert length == 13.0
    assert hypot(*(line[1] - line[0])) == 13.0


def test_the_longest_line_of_a_circle_is_its_diameter_whatever_the_direction():
    length, _ = polygon.longest_fetch([circle(5.0, 360) @ [[0.8, 0.6], [-0.6, 0.8]]])

    assert length == pytest.approx(10.0, rel=1e-14)


def test_an_island_in_the_middle_leaves_a_tangent_line():
    length, _ = polygon.longest_fetch([circle(5.0, 720), circle(3.0, 720)])

    assert length == pytest.approx(8.0, rel=1e-2)


def test_a_bend_hides_one_arm_from_the_other():
    bend = [[0, 0], [10, 0], [10, 2], [2, 2], [2, 10], [0, 10]]

    length, line = polygon.longest_fetch([closed_curve(bend, [True] * 6, points_per_span=40).points])

    assert shapely.Polygon(bend).buffer(1e-9).contains(shapely.LineString(line))
    assert hypot(10, 2) <= length < hypot(10, 2) + 0.6


def test_a_triangle_of_three_corners_has_its_longest_side():
    length, _ = polygon.longest_fetch([[[0, 0], [3, 0], [0, 4]]])

    assert length == 5.0


@pytest.mark.parametrize("function", [polygon.signed_area, polygon.ring_length, polygon.self_crossings])
def test_a_ring_that_is_none_is_refused(function):
    with pytest.raises(DomainError, match="`ring` must have at least 3 corners"):
        function([[0, 0], [1, 1]])


@pytest.mark.parametrize("function", [polygon.enclosed_area, polygon.ring_edges, polygon.longest_fetch])
def test_a_body_without_a_ring_is_refused(function):
    with pytest.raises(DomainError, match="`rings` must hold at least one ring, got none"):
        function([])
