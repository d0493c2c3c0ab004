"""Two waters on ground that falls, near and far: one level leaves the other water alone, and spills agree."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

from pondwright.base.findings import Grade
from pondwright.geometry.surface import surface_at
from pondwright.rooms.shape.meeting import DEEP_HOLLOW
from tests.unit.shape.ponds import Computed, job_values, pegs

NODES = 101
SPACING = 30.0 / (NODES - 1)
RADIUS = 3.0
BERM = 4.0
"""Farther than a bank and its outer slope reach from a shore in these jobs. [m]"""

FALLS = st.floats(0.0, 0.04)
GAPS = st.floats(0.3, 6.0)
LEVELS = st.floats(99.7, 100.3)


def two_ponds(gap, levels, fall=0.0, ranks=(0, 0)):
    values = job_values(fall=fall, nodes=NODES)
    middles = (15.0 - RADIUS - 0.5 * gap, 15.0 + RADIUS + 0.5 * gap)
    values["shape"]["bodies"] = {
        name: {
            "outline": {"form": "ring", "curve": {"pegs": pegs(RADIUS, east=east, prefix=name[0])}},
            "level": level,
            "rank": rank,
        }
        for name, east, level, rank in zip(("left", "right"), middles, levels, ranks, strict=True)
    }
    return values


def bottleneck(z, inside):
    """Lowest height over which one gets from some nodes to the edge of a grid, by a least spanning tree."""
    rows, columns = z.shape
    number = np.arange(z.size).reshape(z.shape)
    first, second = [], []
    for down, right in ((0, 1), (1, 0), (1, 1), (1, -1)):
        here = number[: rows - down, max(-right, 0) : columns - max(right, 0)]
        there = number[down:, max(right, 0) : columns + min(right, 0)]
        row, column = np.divmod(here, columns)
        # Of the two diagonals of a cell the surface has the one through its even nodes.
        kept = np.ones(here.shape, dtype=bool) if down * right == 0 else (row + column) % 2 == 0
        first.append(here[kept])
        second.append(there[kept])
    one, other = np.concatenate(first), np.concatenate(second)
    flat = z.ravel()
    heights = np.maximum(flat[one], flat[other])
    base = flat.min() - 1.0  # a least tree needs weights above zero
    graph = coo_array((heights - base, (one, other)), shape=(z.size, z.size))
    order, parent = breadth_first_order(
        minimum_spanning_tree(graph), int(np.flatnonzero(inside)[0]), directed=False
    )
    over = flat.copy()
    over[order[0]] = flat[inside.ravel()].max()
    for node in order[1:]:
        over[node] = max(over[parent[node]], flat[node])
    edge = np.ones(z.shape, dtype=bool)
    edge[1:-1, 1:-1] = False
    return float(over[edge.ravel()].min())


@given(GAPS, LEVELS, LEVELS, LEVELS, FALLS, st.permutations((0, 1)))
def test_moving_one_level_leaves_the_volume_of_the_other(gap, level, before, after, fall, ranks):
    first, then = (
        Computed(two_ponds(gap, (moved, level), fall, ranks), upto="shape.storage")
        for moved in (before, after)
    )

    held = [told["shape.storage"].bodies["right"] for told in (first, then)]
    change = abs(held[1].volume - held[0].volume)
    if gap > BERM:
        assert change == 0.0
    elif min(body.freeboard_left for body in held) >= 0.0:
        # Nearer, their banks share the triangles across the shore, and nothing else.
        assert change <= 0.5 * SPACING * 0.7 * 2.0 * np.pi * RADIUS * abs(after - before) + 1e-9
    else:  # the bank between them is cut down to the lower water, and the higher one runs over: that is told
        stops = [
            finding.where.paths[0]
            for told in (first, then)
            for finding in told.findings["shape.rim"]
            if finding.grade is Grade.STOP
        ]
        assert "shape.bodies.right.level" in stops


@given(GAPS, LEVELS, LEVELS, FALLS)
def test_where_a_water_runs_over_is_the_lowest_way_out_of_it(gap, one, other, fall):
    told = Computed(two_ponds(gap, (one, other), fall), upto="shape.storage")
    z = told["shape.grading"].z

    for name, body in told["shape.storage"].bodies.items():
        water = told["shape.shore"].bodies[name].distance > 0.0
        # The neighbour's basin is a hollow: whoever gets there has left, whatever the way beyond.
        lowest = bottleneck(z, water)
        assert body.lip <= lowest + 1e-9
        assert body.freeboard_left == pytest.approx(body.lip - told["shape.shore"].bodies[name].level)
        assert (
            float(surface_at(z, told["shape.shore"].grid, np.array([body.lip_point]))[0]) <= body.lip + 1e-9
        )
        if gap > BERM and fall > 0.0:
            assert body.lip == pytest.approx(lowest, abs=1e-9)


@given(GAPS, LEVELS, LEVELS, FALLS)
def test_what_runs_over_runs_downhill_and_ends_where_it_is_told(gap, one, other, fall):
    told = Computed(two_ponds(gap, (one, other), fall), upto="shape.meeting")
    shore, z = told["shape.shore"], told["shape.grading"].z

    for name, body in told["shape.meeting"].bodies.items():
        heights = surface_at(z, shore.grid, body.run.path)
        climbs = heights - np.minimum.accumulate(heights)
        assert climbs.max() <= DEEP_HOLLOW + 1e-9
        assert body.run.into != name
        if body.run.into is not None:
            end = surface_at(shore.bodies[body.run.into].distance, shore.grid, body.run.path[-1:])
            assert float(end[0]) > 0.0
