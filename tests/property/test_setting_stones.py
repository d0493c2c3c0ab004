"""Any yard, any chart: a stone is dealt once or left over, and nothing is lifted above its chart."""

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pondwright.rooms.stone.lifting import chart_of, greatest_radius, lift_capacity, rated_lift, sling_leg
from pondwright.rooms.stone.loads import packed_loads, staging_area
from pondwright.rooms.stone.reaching import best_stands, nearest_stands, outside_line
from pondwright.rooms.stone.stability import stone_in_waves, water_that_moves, wave_height
from pondwright.rooms.stone.yard import ROLES, Spot, Taped, deal, misfit

sizes = st.floats(0.2, 1.2)
roles = st.sampled_from(["spill", "frame", "edge", "any"])


@st.composite
def spots(draw, most=5):
    found = {}
    for index in range(draw(st.integers(0, most))):
        low = draw(sizes)
        found[f"p{index}"] = Spot(
            role=draw(st.sampled_from(["spill", "frame", "edge"])),
            count=draw(st.integers(0, 3)),
            low=low,
            high=low * draw(st.floats(1.0, 1.6)),
            tall=draw(st.sampled_from([0.0, 0.3])),
            fall=draw(st.sampled_from(["", "upper"])),
            flat=draw(st.booleans()),
        )
    return found


@st.composite
def stones(draw, most=8):
    return {
        f"s{index}": Taped(
            size=draw(sizes),
            upright=draw(sizes),
            role=draw(roles),
            on_hand=draw(st.booleans()),
            fall=draw(st.sampled_from(["", "", "upper", "lower"])),
            reserved=draw(st.sampled_from(["", "", "p0", "p1", "gone"])),
            flat=draw(st.booleans()),
        )
        for index in range(draw(st.integers(0, most)))
    }


@given(stones(), spots())
def test_each_stone_is_dealt_once_or_named_as_left_over(yard, places):
    found = deal(yard, places)

    assert set(found.places) | set(found.left_over) == set(yard)
    assert not set(found.places) & set(found.left_over)
    assert all(found.left_over.values())
    for name, spot in places.items():
        assert sum(to == name for to in found.places.values()) <= spot.count
    for stone, to in found.places.items():
        assert misfit(yard[stone], places[to]) is not None


@given(stones(), spots())
def test_dealt_again_with_nothing_changed_nothing_changes(yard, places):
    once = deal(yard, places)
    kept = {name: replace(stone, reserved=once.places.get(name, "")) for name, stone in yard.items()}
    again = deal(kept, places)

    assert dict(again.places) == dict(once.places)
    assert again.changed == frozenset()


def ranked(yard, places, dealt):
    """What the rules count of a deal, the first rule first."""
    left = len(yard) - len(dealt)
    shows = sum(ROLES.index(places[to].role) for to in dealt.values())
    moved = sum(stone.reserved not in ("", dealt.get(name)) for name, stone in yard.items())
    bought = sum(not yard[name].on_hand for name in dealt)
    return left, shows, moved, bought


@given(stones(most=4), spots(most=3))
def test_no_other_deal_is_better_by_the_rules(yard, places):
    found = deal(yard, places)
    best = ranked(yard, places, dict(found.places))

    assert len(found.changed) == best[2]
    for tried in product(["", *places], repeat=len(yard)):
        dealt = {name: to for name, to in zip(yard, tried, strict=True) if to}
        fits = all(misfit(yard[name], places[to]) is not None for name, to in dealt.items())
        if fits and all(list(dealt.values()).count(to) <= spot.count for to, spot in places.items()):
            assert best <= ranked(yard, places, dealt)


@given(stones(), spots(), st.integers(0, 7), sizes)
def test_one_wrong_stone_of_a_truck_moves_no_more_stones_than_it_must(yard, places, which, size):
    assume(yard)
    once = deal(yard, places)
    kept = {name: replace(stone, reserved=once.places.get(name, "")) for name, stone in yard.items()}
    wrong = list(yard)[which % len(yard)]
    came = kept | {wrong: replace(kept[wrong], size=size)}
    again = deal(came, places)

    assert set(again.places) | set(again.left_over) == set(yard)
    # To leave all others where they are and the wrong stone over is always a deal: no worse one is chosen.
    others = {name: to for name, to in once.places.items() if name != wrong}
    assert ranked(came, places, dict(again.places)) <= ranked(came, places, others)


rows = st.lists(
    st.tuples(st.sampled_from([2.0, 3.0, 4.0, 5.5]), st.sampled_from([-1.0, 0.0, 1.5]), st.floats(50.0, 5e3)),
    min_size=1,
    max_size=12,
)


@given(rows, st.floats(0.5, 7.0), st.floats(-2.0, 3.0), st.floats(0.0, 200.0))
def test_a_capacity_is_never_above_a_corner_of_the_chart(told, radius, height, tool):
    found = float(lift_capacity(chart_of(told), radius, height, tool))

    radii, heights = sorted({row[0] for row in told}), sorted({row[1] for row in told})
    level = heights[0] if len(heights) == 1 else height
    around = (
        [
            max((each for each in knots if each <= at), default=None)
            for knots, at in ((radii, radius), (heights, level))
        ],
        [
            min((each for each in knots if each >= at), default=None)
            for knots, at in ((radii, radius), (heights, level))
        ],
    )
    if around[1][0] is None or around[0][1] is None or around[1][1] is None:
        assert found == 0.0
        return
    for at in {around[0][0] or radii[0], around[1][0]}:
        for up in {around[0][1], around[1][1]}:
            corner = [mass for each, also, mass in told if each == at and also == up]
            assert found <= max((min(corner) if corner else 0.0) - tool, 0.0)


@given(rows, st.floats(0.0, 6e3), st.floats(0.0, 1.0))
def test_within_its_greatest_radius_a_machine_holds_the_stone_everywhere(told, mass, share):
    chart = chart_of(told)
    reach = greatest_radius(chart, mass, 0.0, 0.0)

    if reach > 0.0:
        assert float(lift_capacity(chart, share * reach, 0.0, 0.0)) >= mass


@given(st.floats(0.0, 1e5), st.floats(0.0, 1e5))
def test_a_rated_lift_is_below_both_of_its_loads(tipping, hydraulic):
    assert rated_lift(tipping, hydraulic) <= min(tipping, hydraulic)


@given(st.floats(0.0, 1e4), st.floats(45.0, 90.0), st.floats(45.0, 90.0))
def test_a_flatter_sling_carries_more_and_never_less_than_half(mass, one, other):
    flat, steep = sorted((one, other))
    load = sling_leg(mass, math.radians(flat))

    assert load >= sling_leg(mass, math.radians(steep)) * (1.0 - 1e-12) >= 0.5 * mass * (1.0 - 1e-9)


@given(st.lists(st.floats(1.0, 13_000.0), max_size=25))
def test_every_stone_rides_once_and_no_truck_is_overloaded(masses):
    found = packed_loads(masses, 13_000.0)

    assert sorted(index for load in found for index in load) == list(range(len(masses)))
    assert all(sum(masses[index] for index in load) <= 13_000.0 + 1e-6 for load in found)
    assert len(found) >= math.ceil(sum(masses) / 13_000.0 - 1e-9)


@given(st.floats(3.0, 20.0), st.floats(0.0, 4.0), st.floats(-1.0, 0.9), st.floats(0.0, 2.0 * math.pi))
def test_beside_a_round_pond_the_nearest_stand_is_straight_outward(radius, back, share, turn):
    around = np.linspace(0.0, 2.0 * math.pi, 361)[:-1]
    lines = outside_line([radius * np.column_stack([np.cos(around), np.sin(around)])], back)
    away = radius - share * radius
    point = away * np.array([[math.cos(turn), math.sin(turn)]])
    [stand] = nearest_stands(point, lines)

    wanted = max(radius + back - away, 0.0)
    assert np.hypot(*(stand - point[0])) == pytest.approx(wanted, abs=0.05)


@given(
    st.lists(st.tuples(st.floats(-9.0, 9.0), st.floats(-9.0, 9.0)), min_size=1, max_size=5),
    st.floats(0.0, 8.0),
)
def test_one_more_stand_never_lifts_less(places, east):
    chart = chart_of([(2.0, 0.0, 1800.0), (3.0, 0.0, 1500.0), (6.0, 0.0, 700.0)])
    points, stands = np.array([[0.0, 0.0], [east, 3.0]]), np.array(places)
    few = best_stands(chart, 0.0, points, 0.0, stands[:1], np.zeros(1))
    more = best_stands(chart, 0.0, points, 0.0, stands, np.zeros(len(stands)))

    assert np.all(more.capacities >= few.capacities)


@given(st.floats(0.0, 500.0), st.floats(0.0, 500.0), st.floats(0.1, 40.0), st.floats(0.0, 2.0))
def test_more_open_water_wants_heavier_stone(fetch, more, wind, slope):
    near, far = wave_height(fetch, wind), wave_height(fetch + more, wind)

    assert near <= far
    assert stone_in_waves(near, 2650.0, slope) <= stone_in_waves(far, 2650.0, slope)


@given(sizes, sizes, st.floats(0.05, 1.0))
def test_larger_stones_stand_faster_water_and_take_more_ground(one, other, covered):
    small, large = sorted((one, other))

    assert water_that_moves(small, 2650.0) <= water_that_moves(large, 2650.0)
    assert staging_area(9, small, covered) <= staging_area(9, large, covered)
