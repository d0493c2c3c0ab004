"""What must hold for any dig that is kept dry and any pond that is pumped down."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.special import exp1

from pondwright.base.errors import DomainError
from pondwright.rooms.groundwater.dewatering import (
    Strata,
    equivalent_radius,
    flow_potential,
    head_beside,
    lembke_reach,
    pit_inflow,
    shallow_pit_inflow,
    sichardt_reach,
    strata_transmissivity,
    trench_inflow,
    weber_reach,
)
from pondwright.rooms.groundwater.draining import drained, fastest_fall, largest_useful_pump
from pondwright.rooms.groundwater.drawdown import (
    COOPER_JACOB_FITS,
    cooper_jacob_drawdown,
    drainable_share,
    theis_drawdown,
    thiem_difference,
    time_to_lower,
)

PERMEABILITY = st.floats(-8.0, -3.0).map(lambda power: 10.0**power)
SHARES = st.floats(0.0, 1.0)
DAY = 86_400.0


@st.composite
def strata(draw):
    """One to four layers under a level of 10 m, the highest above it."""
    thick = draw(st.lists(st.floats(0.2, 5.0), min_size=1, max_size=4))
    bottoms = 10.0 - np.cumsum(thick)
    tops = np.array([12.0, *bottoms[:-1]])
    return Strata(tops, bottoms, np.array([draw(PERMEABILITY) for _ in thick]))


@st.composite
def ponds(draw):
    """Storage curve with what runs in, more of it the lower the water stands."""
    steps = draw(st.lists(st.floats(0.05, 1.0), min_size=2, max_size=8))
    areas = draw(st.lists(st.floats(1.0, 500.0), min_size=len(steps), max_size=len(steps)))
    levels = np.cumsum([90.0, *steps])
    volumes = np.cumsum([0.0, *(np.array(steps) * np.sort(areas))])
    inflows = np.sort(draw(st.lists(st.floats(0.0, 0.002), min_size=len(levels), max_size=len(levels))))[::-1]
    return levels, volumes, inflows


@given(strata(), st.floats(0.05, 1.0), st.floats(1.0, 3.0), st.floats(1.0, 20.0), st.floats(0.5, 200.0))
def test_more_permeable_ground_brings_more_water(layers, share, more, radius, beyond):
    head, kept = 10.0, 10.0 - share * (10.0 - layers.base)
    easier = Strata(layers.tops, layers.bottoms, more * layers.permeability)

    for inflow in (pit_inflow, shallow_pit_inflow):
        once, again = (inflow(ground, head, kept, radius, radius + beyond) for ground in (layers, easier))
        assert again == pytest.approx(more * once)


@given(PERMEABILITY, st.floats(1.0, 9.0), st.floats(1.0, 10.0), st.floats(1.0, 20.0))
def test_with_the_reach_of_sichardt_too(permeability, drawdown, more, radius):
    flows = []
    for each in (permeability, more * permeability):
        ground = Strata(np.array([12.0]), np.array([0.0]), np.array([each]))
        reach = radius + sichardt_reach(drawdown, each)
        flows.append(pit_inflow(ground, 10.0, 10.0 - drawdown, radius, reach))

    assert flows[1] >= flows[0] * (1.0 - 1e-12)


@given(strata(), SHARES, SHARES, st.floats(1.0, 20.0), st.floats(0.5, 200.0))
def test_more_drawdown_brings_more_water(layers, one, two, radius, beyond):
    deep, shallow = (10.0 - share * (10.0 - layers.base) for share in (max(one, two), min(one, two)))

    for inflow in (pit_inflow, shallow_pit_inflow):
        more, less = (inflow(layers, 10.0, kept, radius, radius + beyond) for kept in (deep, shallow))
        assert more >= less - 1e-15
    assert trench_inflow(layers, 10.0, deep, beyond, 30.0) >= trench_inflow(
        layers, 10.0, shallow, beyond, 30.0
    )


@given(strata(), st.floats(-2.0, 11.0))
def test_the_potential_is_the_transmissivity_summed_up_over_the_head(layers, head):
    kinks = sorted({*layers.tops, *layers.bottoms})
    summed, _ = quad(
        lambda level: strata_transmissivity(layers, level), layers.base, head, points=kinks, limit=200
    )

    assert flow_potential(layers, head) == pytest.approx(max(summed, 0.0), rel=1e-7, abs=1e-18)


@given(strata(), SHARES, st.floats(1.0, 20.0), st.floats(0.5, 200.0), SHARES, SHARES)
def test_the_water_beside_a_pit_rises_with_the_distance_from_the_kept_level_to_the_head(
    layers, share, radius, beyond, one, two
):
    kept, reach = 10.0 - share * (10.0 - layers.base), radius + beyond
    near, far = sorted((radius + one * beyond, radius + two * beyond))

    levels = [head_beside(layers, 10.0, kept, radius, reach, at) for at in (0.0, near, far, 2.0 * reach)]

    assert levels[0] == kept and levels[-1] == 10.0
    assert levels == sorted(levels)
    # The same water passes every circle.
    if near > radius and share > 0.01:
        inner = pit_inflow(layers, 10.0, kept, radius, reach)
        outer = pit_inflow(layers, 10.0, levels[1], near, reach) if near < reach else inner
        assert outer == pytest.approx(inner, rel=1e-6)


@given(st.floats(1.0, 100.0), st.floats(1.0, 100.0))
def test_the_radius_of_a_pit_lies_between_half_of_its_sides(length, width):
    radius = equivalent_radius(length, width)

    assert radius == equivalent_radius(width, length)
    assert 0.5 * min(length, width) <= radius <= 0.5 * max(length, width) * 1.13


@given(st.floats(-12.0, 1.5).map(lambda power: 10.0**power))
def test_the_drawdown_of_theis_is_the_exponential_integral(argument):
    time = 1.0 / (4.0 * argument)

    found = theis_drawdown(4.0 * math.pi, 1.0, 1.0, 1.0, time)

    assert found.argument == pytest.approx(argument)
    assert found.drawdown == pytest.approx(float(exp1(argument)), rel=1e-12)
    summed, _ = quad(lambda power: math.exp(-argument * math.exp(power)), 0.0, 60.0, limit=400)
    assert found.drawdown == pytest.approx(summed, rel=1e-6)


@given(st.floats(-9.0, math.log10(COOPER_JACOB_FITS)).map(lambda power: 10.0**power))
def test_cooper_and_jacob_come_to_theis_for_small_arguments(argument):
    time = 1.0 / (4.0 * argument)

    line = cooper_jacob_drawdown(1.0, 1.0, 1.0, 1.0, time)
    curve = theis_drawdown(1.0, 1.0, 1.0, 1.0, time)

    assert line.holds
    assert line.drawdown == pytest.approx(curve.drawdown, rel=argument + 0.001)


def test_beyond_its_range_the_line_says_so():
    just_in, just_out = (
        cooper_jacob_drawdown(1.0, 1.0, 1.0, 1.0, 1.0 / (4.0 * argument)) for argument in (0.0499, 0.0501)
    )

    assert just_in.holds and not just_out.holds


@given(
    st.floats(0.1, 3.0),
    st.floats(-5.0, -2.0).map(lambda power: 10.0**power),
    st.floats(-6.0, -3.0).map(lambda power: 10.0**power),
    st.floats(0.01, 0.3),
    st.floats(1.0, 20.0),
)
def test_the_time_to_lower_gives_the_drawdown_back(drawdown, flow, transmissivity, drainable, radius):
    time = time_to_lower(drawdown, flow, transmissivity, drainable, radius)

    if 1e-3 < time < 1e12:
        back = theis_drawdown(flow, transmissivity, drainable, radius, time)
        assert back.drawdown == pytest.approx(drawdown, rel=1e-6)
    assert time_to_lower(drawdown, 2.0 * flow, transmissivity, drainable, radius) <= time


def test_pumping_at_the_steady_rate_for_the_time_to_lower_reaches_one_and_a_half_root_of_tt_over_s():
    """The two formulas meet: ln(R / r) = W(u) / 2 gives R = 1.5 √(T t / S) for a wide reach."""
    transmissivity, drainable, radius, reach, drawdown = 1e-3, 0.1, 1.0, 1e4, 0.5
    flow = 2.0 * math.pi * transmissivity * drawdown / math.log(reach / radius)

    time = time_to_lower(drawdown, flow, transmissivity, drainable, radius)

    assert reach == pytest.approx(1.5 * math.sqrt(transmissivity * time / drainable), rel=0.002)


def test_where_as_much_runs_in_at_the_end_as_is_lifted_the_water_never_comes_there():
    levels, volumes, inflows = np.array([0.0, 1.0]), np.array([0.0, 100.0]), np.array([0.01, 0.0])

    found = drained(levels, volumes, inflows, 1.0, 0.0, 0.01, fastest=1.0 / DAY)

    assert found.time == math.inf
    assert found.reached == 0.0


@given(ponds(), st.floats(0.0005, 0.05), st.floats(1.0, 4.0), st.floats(0.05, 1.0), st.floats(0.2, 1.0))
def test_a_larger_pump_is_never_slower_and_no_pump_is_faster_than_the_banks_bear(
    pond, pump, more, drop, share
):
    levels, _, _ = pond
    ends = float(levels[-1]), float(levels[0])
    fastest = drop / DAY

    small, large = (drained(*pond, *ends, each, fastest=fastest, share=share) for each in (pump, more * pump))

    assert large.time <= small.time * (1.0 + 1e-12)
    assert large.reached <= small.reached + 1e-12
    for found in (small, large):
        assert found.time >= (ends[0] - ends[1]) / fastest * (1.0 - 1e-12)
        falls = -np.diff(found.levels) / np.maximum(np.diff(found.times), 1e-300)
        assert np.all(falls <= fastest * (1.0 + 1e-9))
        if math.isfinite(found.time):
            assert found.slowed <= found.time * (1.0 + 1e-12)
            assert found.run_time <= share * found.time * (1.0 + 1e-9)


@given(ponds(), st.floats(0.003, 0.05), st.floats(0.05, 2.0))
def test_the_time_is_that_of_the_differential_equation(pond, pump, drop):
    levels, volumes, inflows = pond
    ends, fastest = (float(levels[-1]), float(levels[0])), drop / DAY
    areas = np.diff(volumes) / np.diff(levels)

    found = drained(*pond, *ends, pump, fastest=fastest)

    time = 0.0
    for index, area in enumerate(areas):
        taken = solve_ivp(
            lambda level, _, area=area: [
                1.0 / min((pump - np.interp(level, levels, inflows)) / area, fastest)
            ],
            (levels[index], levels[index + 1]),
            [0.0],
            rtol=1e-9,
            atol=1e-9,
            max_step=0.02,
        )
        time += float(taken.y[0, -1])
    assert found.time == pytest.approx(time, rel=1e-4)
    ran_in = found.pumped - volumes[-1]
    assert inflows.min() * time * 0.999 - 1e-9 <= ran_in <= inflows.max() * time * 1.001 + 1e-9


@given(ponds(), st.floats(0.05, 1.0))
def test_beyond_the_largest_useful_pump_nothing_is_gained(pond, drop):
    levels, _, _ = pond
    ends, fastest = (float(levels[-1]), float(levels[0])), drop / DAY
    useful = largest_useful_pump(*pond, *ends, fastest)

    at_it, beyond = (
        drained(*pond, *ends, each, fastest=fastest) for each in (useful * (1.0 + 1e-12), 3.0 * useful)
    )

    assert at_it.time == pytest.approx((ends[0] - ends[1]) / fastest)
    assert beyond.time == pytest.approx(at_it.time)


@given(ponds(), st.floats(0.003, 0.05))
def test_the_fastest_fall_is_the_steepest_of_the_free_course_above_the_foot(pond, pump):
    levels, volumes, inflows = pond
    ends = float(levels[-1]), float(levels[0])

    found = drained(*pond, *ends, pump)

    falls = -np.diff(found.levels) / np.diff(found.times)
    above = np.interp(found.levels[:-1], levels, volumes) > 0.1 * volumes[-1]
    steepest = float(falls[above].max())
    # Within a piece the fall changes with what runs in there; its mean is a little less than its most.
    most_ran_in = float(np.ptp(inflows) / (np.diff(volumes) / np.diff(levels)).min())
    assert steepest <= fastest_fall(*pond, *ends, pump) * (1.0 + 1e-9)
    assert fastest_fall(*pond, *ends, pump) <= steepest + most_ran_in + 1e-12


def test_a_pump_as_small_as_what_runs_in_never_empties_it():
    levels, volumes = np.array([90.0, 92.0]), np.array([0.0, 200.0])

    equal = drained(levels, volumes, np.array([0.01, 0.01]), 92.0, 90.0, 0.01)
    half_way = drained(levels, volumes, np.array([0.015, 0.005]), 92.0, 90.0, 0.01)

    assert (equal.time, equal.reached) == (math.inf, 92.0)
    assert (half_way.time, half_way.reached) == (math.inf, 91.0)


def test_a_pond_that_is_empty_takes_no_time():
    found = drained(np.array([90.0, 92.0]), np.array([0.0, 200.0]), np.array([0.1, 0.1]), 90.0, 90.0, 0.01)

    assert (found.time, found.run_time, found.pumped) == (0.0, 0.0, 0.0)


GROUND = Strata(np.array([12.0]), np.array([0.0]), np.array([1e-5]))


@pytest.mark.parametrize(
    "asked",
    [
        pytest.param(lambda: equivalent_radius(3.0, 0.0), id="a pit without a width"),
        pytest.param(lambda: sichardt_reach(-1.0, 1e-5), id="water that rises"),
        pytest.param(lambda: weber_reach(5.0, 1e-5, -1.0, 0.1), id="before pumping"),
        pytest.param(lambda: lembke_reach(5.0, 1e-5, 0.0), id="no rain"),
        pytest.param(lambda: pit_inflow(GROUND, 10.0, 8.0, 5.0, 5.0), id="a reach inside the pit"),
        pytest.param(lambda: trench_inflow(GROUND, 10.0, 8.0, 9.0, 5.0, 3), id="a trench of three sides"),
        pytest.param(lambda: thiem_difference(0.1, 0.0, 1.0, 2.0), id="ground that lets nothing through"),
        pytest.param(lambda: theis_drawdown(0.1, 1.0, 0.1, 1.0, 0.0), id="no time"),
        pytest.param(lambda: time_to_lower(-1.0, 0.1, 1.0, 0.1, 1.0), id="a negative drawdown"),
        pytest.param(lambda: drainable_share("peat"), id="a soil that is none"),
        pytest.param(
            lambda: drained(np.array([1.0, 0.0]), np.zeros(2), np.zeros(2), 1.0, 0.0, 1.0),
            id="a falling curve",
        ),
        pytest.param(
            lambda: drained(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), 2.0, 0.0, 1.0), id="off the curve"
        ),
        pytest.param(
            lambda: drained(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), 1.0, 0.0, 1.0, share=0.0),
            id="a pump that never runs",
        ),
        pytest.param(
            lambda: drained(np.array([0.0]), np.zeros(1), np.zeros(1), 0.0, 0.0, 1.0), id="one level"
        ),
    ],
)
def test_a_question_without_an_answer_is_refused_in_one_sentence(asked):
    with pytest.raises(DomainError) as told:
        asked()

    assert "\n" not in str(told.value) and len(str(told.value)) > 20
