"""What must hold for uplift at any spot of any bed."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.rooms.groundwater.ballast import stone
from pondwright.rooms.groundwater.beds import Bed, bed_uplift, lack_of_weight, safe_mark, worst_spot
from pondwright.rooms.groundwater.uplift import (
    gross_factor,
    lowest_safe_level,
    lowest_safe_level_gross,
    net_factor,
)
from tests.strategies import numbers


@st.composite
def spots(draw):
    """Head, level and liner [m], rock and cosine of a few spots."""
    count = draw(st.integers(1, 5))

    def values(low, high):
        return np.array(draw(st.lists(numbers(low, high), min_size=count, max_size=count)))

    liner = values(90.0, 95.0)
    rock = stone(values(0.0, 1.0), draw(numbers(0.2, 0.5)), draw(numbers(2.2, 3.0)))
    return liner + values(-1.0, 4.0), draw(numbers(89.0, 98.0)), liner, rock, values(0.5, 1.0)


@given(spots(), numbers(-400.0, 400.0))
def test_factors_do_not_depend_on_the_datum(spot, datum):
    head, level, liner, rock, cosine = spot
    # Where both waters stand nearly level, a rounded head is another excess.
    clear = np.abs(head - np.maximum(level, liner)) > 1e-3

    for factor in (net_factor, gross_factor):
        here, there = (
            factor(head + shift, level + shift, liner + shift, rock, cosine)[clear] for shift in (0.0, datum)
        )
        assert there == pytest.approx(here, rel=1e-6)


@given(spots(), st.sampled_from([1e-3, 1e-6]))
def test_the_net_factor_grows_beyond_all_bounds_as_the_heads_meet(spot, excess):
    _head, level, liner, rock, cosine = spot
    meets = np.maximum(level, liner)

    near = net_factor(meets + excess, level, liner, rock, cosine)

    resists = rock.resistance(meets - liner, cosine)
    assert near == pytest.approx(resists / excess, rel=1e-4)
    assert np.all(np.isinf(net_factor(meets, level, liner, rock, cosine)))


@given(spots(), numbers(0.0, 2.0))
def test_thicker_stone_lowers_no_factor_and_raises_no_mark(spot, more):
    head, level, liner, rock, cosine = spot
    thicker = stone(rock.thickness + more, 0.4)
    same = stone(rock.thickness, 0.4)

    for factor in (net_factor, gross_factor):
        before, after = (factor(head, level, liner, each, cosine) for each in (same, thicker))
        assert np.all(after >= before - 1e-9)
    before, after = (lowest_safe_level(head, liner, each, 1.2, cosine) for each in (same, thicker))
    assert np.all(after <= before + 1e-9)


@given(spots(), numbers(0.0, 3.0))
def test_higher_groundwater_raises_no_factor_and_more_pond_lowers_no_gross_one(spot, more):
    head, level, liner, rock, cosine = spot

    for factor in (net_factor, gross_factor):
        assert np.all(
            factor(head + more, level, liner, rock, cosine) <= factor(head, level, liner, rock, cosine)
        )
    deeper = gross_factor(head, level + more, liner, rock, cosine)
    assert np.all(deeper >= gross_factor(head, level, liner, rock, cosine) - 1e-9)


@given(spots(), numbers(1.0, 2.0))
def test_at_and_above_the_lowest_safe_level_a_spot_holds_and_below_it_not(spot, wanted):
    head, _level, liner, rock, cosine = spot
    for factor, lowest in ((net_factor, lowest_safe_level), (gross_factor, lowest_safe_level_gross)):
        mark = lowest(head, liner, rock, wanted, cosine)
        bound = np.isfinite(mark)
        # Without a mark the spot holds dry; with one it lies above the liner.
        assert np.all(factor(head, -math.inf, liner, rock, cosine)[~bound] >= wanted - 1e-9)
        assert np.all(mark[bound] >= liner[bound] - 1e-9)
        above = np.where(bound, mark, 90.0) + 1e-6
        assert np.all(factor(head, above, liner, rock, cosine)[bound] >= wanted * (1.0 - 1e-9))
        below = np.where(bound, mark, 90.0) - 1e-6
        assert np.all(factor(head, below, liner, rock, cosine)[bound] <= wanted * (1.0 + 1e-9))


@given(spots(), numbers(0.0, 1.0), numbers(0.0, 1.0))
def test_low_likely_and_high_groundwater_keep_their_order_over_a_bed(spot, more, most):
    head, level, liner, rock, cosine = spot
    bed = Bed(np.arange(len(liner)), liner, rock, cosine)
    heads = [head, head + more, head + more + most]
    found = [bed_uplift(bed, each, level) for each in heads]

    for name in ("net", "gross"):
        low, likely, high = (float(getattr(each, name).min()) for each in reversed(found))
        assert low <= likely <= high
    worst = [worst_spot(bed, *pair, level, 1.3) for pair in zip(found, heads, strict=True)]
    assert worst[0].stone <= worst[1].stone <= worst[2].stone
    marks = [safe_mark(bed, each, 1.2) for each in heads]
    assert sorted(-math.inf if mark is None else mark for mark in marks) == [
        -math.inf if mark is None else mark for mark in marks
    ]


@given(spots(), numbers(1.0, 1.5))
def test_a_pond_raised_by_what_is_lacking_holds(spot, wanted):
    head, level, liner, rock, cosine = spot
    bed = Bed(np.arange(len(liner)), liner, rock, cosine)
    deep = max(level, float((liner + rock.thickness).max()))
    lack = lack_of_weight(bed, head, deep, wanted)

    assert bed_uplift(bed, head, deep + lack + 1e-9).net.min() >= wanted * (1.0 - 1e-6)
