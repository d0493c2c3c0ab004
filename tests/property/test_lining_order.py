"""What must hold for rolls, leftovers, cushions, covers and edges whatever their numbers."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pondwright.rooms.lining.anchor import anchor_capacity, cover_safety, long_slope_safety
from pondwright.rooms.lining.cushion import Factors, allowed_pressure, needed_fabric
from pondwright.rooms.lining.edge import bank_band, low_places
from pondwright.rooms.lining.offcuts import largest_rectangle
from pondwright.rooms.lining.seams import Rest, cut_lengths, dig_margin, first_fit, ordered_length, reuse
from pondwright.rooms.lining.tapes import verdict
from pondwright.rooms.shape.profile import bank_profile, depth_at
from tests.strategies import numbers

CUTS = st.lists(numbers(0.1, 30.0), min_size=1, max_size=12)


@given(CUTS)
def test_every_cut_comes_from_one_roll_and_no_roll_gives_more_than_it_has(cuts):
    wanted = {f"c{index}": cut for index, cut in enumerate(cuts)}

    rolls = first_fit(wanted, 30.0)

    assert sorted(name for roll in rolls for name, _ in roll.cuts) == sorted(wanted)
    assert all(roll.rest >= -1e-9 for roll in rolls)
    # All but the last roll are more than half used, or two of them would have been one.
    assert sum(roll.rest >= 15.0 for roll in rolls) <= 1


@given(numbers(0.5, 200.0), numbers(5.0, 40.0), numbers(0.0, 1.0))
def test_cuts_make_up_their_strip_with_a_lap_at_every_end(length, roll, overlap):
    cuts = cut_lengths(length, roll, overlap)

    assert sum(cuts) - overlap * (len(cuts) - 1) == pytest.approx(length)
    assert max(cuts) <= roll + 1e-9


@st.composite
def rectangles(draw, most):
    sides = draw(st.lists(st.tuples(numbers(0.2, 4.0), numbers(0.2, 4.0)), min_size=1, max_size=most))
    return {f"r{index}": Rest(max(pair), min(pair)) for index, pair in enumerate(sides)}


@given(rectangles(8), rectangles(4))
def test_no_more_is_cut_from_a_leftover_than_it_has(pieces, rests):
    uses = reuse(pieces, rests)

    assert {use.wanted for use in uses} == set(pieces)
    for name, rest in rests.items():
        cut = sum(pieces[use.wanted].area for use in uses if use.rest == name)
        assert cut <= rest.area + 1e-9


@given(numbers(0.0, 60.0), numbers(0.0, 0.3), numbers(0.0, 0.1), numbers(0.0, 0.1))
def test_what_is_ordered_is_never_less_than_what_tapes_tell(length, plan, level, folds):
    margin = dig_margin(length, plan, level, 0.01)

    assert length <= ordered_length(length, folds, margin) < length * (1.0 + folds) + margin + 0.1 + 1e-9


@given(numbers(0.1, 1.5), numbers(0.005, 0.038), st.sampled_from([0.25, 0.5, 1.0]))
def test_the_fabric_that_a_pressure_wants_bears_that_pressure(fabric, protrusion, shape):
    factors = Factors(shape=shape)

    assert needed_fabric(allowed_pressure(fabric, protrusion, factors), protrusion, factors) == pytest.approx(
        fabric
    )
    assert allowed_pressure(fabric, 1.1 * protrusion, factors) <= allowed_pressure(
        fabric, protrusion, factors
    )


@given(numbers(0.05, 0.5), numbers(1.0, 40.0), numbers(1.5, 6.0), numbers(6.0, 28.0), numbers(28.5, 40.0))
def test_a_toe_never_makes_a_cover_less_safe(thickness, length, slope, friction, shear):
    delta, phi = math.radians(friction), math.radians(shear)

    safety = cover_safety(thickness, length, slope, delta, phi)

    assert safety >= long_slope_safety(slope, delta) - 1e-9
    assert cover_safety(thickness, 2.0 * length, slope, delta, phi) <= safety + 1e-9


@given(numbers(0.0, 1.0), numbers(0.05, 0.4), numbers(0.1, 0.6), numbers(1.0, 5.0))
def test_a_deeper_trench_holds_more(level, cover, trench, slope):
    soil = (slope, 1700.0, math.radians(30.0), math.radians(20.0))

    assert anchor_capacity(level, cover, trench + 0.1, *soil) > anchor_capacity(level, cover, trench, *soil)


@st.composite
def banks(draw):
    steps = draw(st.lists(st.tuples(numbers(0.0, 2.0), numbers(0.0, 0.8)), min_size=1, max_size=6))
    corners = np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)])
    assume(corners[-1, 1] > 0.05)
    return bank_profile([tuple(corner) for corner in corners.round(4).tolist()])


@given(banks(), numbers(0.0, 1.0), numbers(0.0, 1.0))
def test_a_band_grows_with_the_fall_and_ends_where_the_bank_is_that_deep(profile, share, other):
    low, high = sorted(each * profile.floor_depth for each in (share, other))

    band, deeper = bank_band(profile, low), bank_band(profile, high)

    assert low - 1e-9 <= band.width <= deeper.width + 1e-9
    assert band.offset <= deeper.offset + 1e-9
    assert band.risers <= band.width + 1e-9
    assert depth_at(profile, np.array([band.offset + 1e-9]))[0] >= low - 1e-6


@given(st.lists(numbers(-0.2, 0.2), min_size=3, max_size=30))
def test_low_places_hold_every_low_station_and_their_lack_is_the_greatest(lack):
    count = len(lack)
    wanted, edge = np.full(count, 10.0), 10.0 - np.array(lack)
    points = np.column_stack([np.arange(count, dtype=float), np.zeros(count)])

    found = low_places(edge, wanted, points[:, 0], points, float(count), 1e-9)

    assert bool(found) == (max(lack) > 1e-9)
    assert sum(low.length for low in found) == pytest.approx(sum(each > 1e-9 for each in lack))
    if found:
        assert found[0].lack == pytest.approx(max(lack))


@given(st.lists(st.lists(st.booleans(), min_size=5, max_size=5), min_size=1, max_size=5))
def test_no_rectangle_of_free_cells_is_larger(rows):
    free = np.array(rows)

    first, end, left, right = largest_rectangle(free)

    assert free[first:end, left:right].all()
    every = [
        (b - a) * (d - c)
        for a in range(free.shape[0])
        for b in range(a + 1, free.shape[0] + 1)
        for c in range(5)
        for d in range(c + 1, 6)
        if free[a:b, c:d].all()
    ]
    assert (end - first) * (right - left) == max(every, default=0)


@given(numbers(5.0, 50.0), numbers(-2.0, 3.0), numbers(0.0, 0.5), numbers(0.0, 1.0))
def test_a_longer_hole_never_gets_a_better_verdict(predicted, off, margin, folds):
    order = ("much_shorter", "as_drawn", "longer", "tight", "short")

    here, longer = (verdict(predicted, predicted + each, margin, folds, 0.05) for each in (off, off + 0.2))

    assert order.index(here) <= order.index(longer)
