"""The curve through the pegs, held against the nested interpolation of Barry and Goldman.

The same vectors are read by the tests of the browser's twin of the curve.
"""

import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.curve import closed_curve, open_curve

VECTORS = Path(__file__).resolve().parents[2] / "vectors/curve.json"
CASES = json.loads(VECTORS.read_text(encoding="utf-8"))["cases"]
CURVES = {True: closed_curve, False: open_curve}
UNEVEN = [[0, 0], [8, 0.5], [8.4, 1], [8.2, 6], [1, 5]]


def nested(before, start, end, after, u):
    """Point of a centripetal span by repeated linear interpolation between the knots."""
    pegs = [np.asarray(peg, dtype=float) for peg in (before, start, end, after)]
    chords = [np.hypot(*(second - first)) for first, second in pairwise(pegs)]
    knots = np.concatenate([[0.0], np.cumsum(np.sqrt(chords))])
    at = knots[1] + u * (knots[2] - knots[1])

    def between(points, i, j):
        return ((knots[j] - at) * points[0] + (at - knots[i]) * points[1]) / (knots[j] - knots[i])

    first = [between(pegs[i : i + 2], i, i + 1) for i in range(3)]
    second = [between(first[i : i + 2], i, i + 2) for i in range(2)]
    return between(second, 1, 2)


def expected(case):
    """Points of a case by `nested`, with the rules for corners and for pegs at one place."""
    pegs = np.array(case["pegs"], dtype=float)
    count, is_closed = len(pegs), case["closed"]
    points = []
    for i in range(count if is_closed else count - 1):
        start, end = pegs[i], pegs[(i + 1) % count]
        if (start == end).all():
            continue
        before, after = pegs[i - 1], pegs[(i + 2) % count]
        starts_run = case["corners"][i] or (before == start).all() or (not is_closed and i == 0)
        ends_run = case["corners"][(i + 1) % count] or (after == end).all()
        ends_run = ends_run or (not is_closed and i == count - 2)
        before = 2 * start - end if starts_run else before
        after = 2 * end - start if ends_run else after
        shares = np.arange(case["points_per_span"]) / case["points_per_span"]
        points += [nested(before, start, end, after, u) for u in shares]
    return np.array(points if is_closed else [*points, pegs[-1]])


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_the_curve_gives_the_shared_vectors(case):
    sampled = CURVES[case["closed"]](case["pegs"], case["corners"], case["points_per_span"])

    assert sampled.points == pytest.approx(np.array(case["points"]), abs=1e-9)


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_the_shared_vectors_are_those_of_nested_interpolation(case):
    points = expected(case)

    assert points == pytest.approx(np.array(case["points"]), abs=1e-9)


def test_there_are_vectors_enough_and_each_has_its_own_name():
    names = {case["name"] for case in CASES}

    assert len(names) == len(CASES) >= 20


def test_every_peg_is_a_point_of_the_curve_where_its_span_begins():
    sampled = closed_curve(UNEVEN, [False] * 5, points_per_span=7)

    begins = sampled.parameter == 0.0
    assert sampled.points[begins].tolist() == UNEVEN
    assert sampled.span[begins].tolist() == [0, 1, 2, 3, 4]


def test_a_span_between_two_corners_is_straight():
    sampled = closed_curve(UNEVEN, [True, True, False, False, False], points_per_span=4)

    assert sampled.points[:4] == pytest.approx(np.outer([0, 0.25, 0.5, 0.75], [8, 0.5]), abs=1e-15)


def test_the_curve_is_smooth_at_a_peg_and_breaks_at_a_corner():
    sampled = closed_curve(UNEVEN, [False, False, False, True, False], points_per_span=20_000)

    def turning(peg):
        at = 20_000 * peg
        before, here, after = sampled.points[[at - 1, at, at + 1]]
        ways = np.arctan2(*(here - before)), np.arctan2(*(after - here))
        return abs(ways[1] - ways[0])

    assert turning(2) < 1e-3
    assert turning(3) > 0.5


def test_a_moved_peg_bends_only_four_spans():
    pegs = np.column_stack([np.cos(np.arange(8)), np.sin(np.arange(8))])
    moved = pegs.copy()
    moved[4] += 0.1

    first, second = (closed_curve(each, [False] * 8) for each in (pegs, moved))

    changed = (first.points != second.points).any(axis=1)
    assert set(first.span[changed]) == {2, 3, 4, 5}


def test_a_peg_that_stands_twice_is_a_corner_and_gives_no_points_between():
    twice = closed_curve([[0, 0], [4, 0], [4, 0], [4, 4], [0, 4]], [False] * 5, points_per_span=3)
    corner = closed_curve([[0, 0], [4, 0], [4, 4], [0, 4]], [False, True, False, False], points_per_span=3)

    assert twice.points.tolist() == corner.points.tolist()
    assert twice.span.tolist() == [0, 0, 0, 2, 2, 2, 3, 3, 3, 4, 4, 4]


def test_an_open_curve_ends_with_its_last_peg():
    sampled = open_curve(UNEVEN, [False] * 5, points_per_span=3)

    assert sampled.points[-1].tolist() == UNEVEN[-1]
    assert (sampled.span[-1], sampled.parameter[-1]) == (3, 1.0)
    assert len(sampled.points) == 13


def test_what_is_given_is_not_changed_and_what_comes_out_cannot_be():
    pegs, corners = np.array(UNEVEN, dtype=float), np.zeros(5, dtype=bool)

    sampled = open_curve(pegs, corners)

    assert pegs.tolist() == UNEVEN
    assert not corners.any()
    assert not any(array.flags.writeable for array in (sampled.points, sampled.span, sampled.parameter))


@pytest.mark.parametrize(
    ("curve", "pegs", "says"),
    [
        (closed_curve, [[0, 0], [1, 1]], "`pegs` must be at least 3 points, got an array (2, 2)"),
        (open_curve, [[0, 0]], "`pegs` must be at least 2 points, got an array (1, 2)"),
        (closed_curve, [[0, 0, 0]] * 3, "`pegs` must be at least 3 points, got an array (3, 3)"),
        (closed_curve, [[0, 0], [1, np.nan], [1, 0]], "`pegs` must be finite numbers, got one that is not"),
        (closed_curve, [[1, 1]] * 3, "`pegs` must make at least 3 points, got 0"),
        (open_curve, [[1, 1]] * 3, "`pegs` must be at two places or more, got all of them at one place"),
    ],
)
def test_pegs_that_make_no_curve_are_refused_in_one_sentence(curve, pegs, says):
    with pytest.raises(DomainError) as refused:
        curve(pegs, [False] * len(pegs))

    assert str(refused.value) == says


def test_corners_must_be_one_for_each_peg():
    with pytest.raises(DomainError, match="`corners` must be one for each of 5 pegs, got 4"):
        closed_curve(UNEVEN, [False] * 4)


def test_a_span_has_at_least_one_point():
    with pytest.raises(DomainError, match="`points_per_span` must be at least 1, got 0"):
        closed_curve(UNEVEN, [False] * 5, points_per_span=0)
