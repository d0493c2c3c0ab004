"""A price in the driveway: against a general library, and never narrower than what is known."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pondwright.base.errors import DomainError
from pondwright.rooms.site.ballpark import LEAST_SPREAD, STATED_SPREAD, PastJob, Traits, price_band

PLAIN, ROCKY = Traits(), Traits(rocky=True)
AREAS = st.floats(5.0, 5_000.0)
PRICES = st.floats(500.0, 1e6)
TRAITS = st.builds(Traits, st.booleans(), st.booleans(), st.booleans(), st.booleans())
JOBS = st.lists(st.builds(PastJob, AREAS, PRICES, TRAITS), min_size=1, max_size=8)


def plain_jobs(*rates):
    return [PastJob(100.0, 100.0 * rate, PLAIN) for rate in rates]


@given(st.lists(st.tuples(AREAS, PRICES), min_size=3, max_size=12), AREAS)
def test_from_three_jobs_on_it_is_the_prediction_interval_of_a_general_library(numbers, area):
    jobs = [PastJob(size, price, PLAIN) for size, price in numbers]
    logs = np.log([price / size for size, price in numbers])
    spread = max(logs.std(ddof=1), LEAST_SPREAD)
    wide = spread * math.sqrt(1.0 + 1.0 / len(logs))
    low, high = stats.t.interval(0.8, len(logs) - 1, loc=logs.mean(), scale=wide)

    band = price_band(area, PLAIN, jobs)

    assert (band.low, band.high) == pytest.approx((area * math.exp(low), area * math.exp(high)), rel=1e-9)
    assert band.likely == pytest.approx(
        area * stats.gmean([price / size for size, price in numbers]), rel=1e-9
    )
    assert not band.stated and band.like == "all four"


def test_in_four_of_five_drawn_firms_the_next_job_falls_within_the_band():
    chance = np.random.default_rng(7)
    inside = 0
    for _ in range(2_000):
        rates = np.exp(chance.normal(5.0, 0.4, 6))
        band = price_band(100.0, PLAIN, plain_jobs(*rates[:5]))
        inside += band.low <= 100.0 * rates[5] <= band.high
    assert inside / 2_000 == pytest.approx(0.8, abs=0.03)


@given(JOBS, TRAITS, AREAS, st.floats(1.0, 3.0))
def test_a_larger_pond_costs_more_and_dearer_jobs_make_a_dearer_band(jobs, traits, area, factor):
    band = price_band(area, traits, jobs)
    larger = price_band(area * factor, traits, jobs)
    dearer = price_band(area, traits, [PastJob(job.area, job.price * factor, job.traits) for job in jobs])

    for name in ("low", "likely", "high"):
        assert getattr(larger, name) == pytest.approx(factor * getattr(band, name))
        assert getattr(dearer, name) == pytest.approx(factor * getattr(band, name))


@given(JOBS, TRAITS, AREAS)
def test_the_band_holds_what_is_likely_and_its_order_is_kept(jobs, traits, area):
    band = price_band(area, traits, jobs)

    assert 0.0 < band.low < band.likely < band.high
    assert band == price_band(area, traits, jobs[::-1]) or band.likely == pytest.approx(
        price_band(area, traits, jobs[::-1]).likely
    )


@given(st.floats(0.0, 2.0), st.floats(1.0, 3.0))
def test_jobs_that_lie_farther_apart_make_a_wider_band(apart, more):
    def width(spread):
        band = price_band(50.0, PLAIN, plain_jobs(math.exp(-spread), 1.0, math.exp(spread)))
        return band.high / band.low

    assert width(apart * more) >= width(apart) - 1e-9


@pytest.mark.parametrize("count", [1, 2])
def test_fewer_than_three_jobs_take_the_stated_spread_and_say_so(count):
    band = price_band(100.0, PLAIN, plain_jobs(*[200.0] * count))

    assert band.stated and band.spread == STATED_SPREAD and band.like == "any"
    assert math.log(band.high / band.likely) == pytest.approx(
        stats.norm.ppf(0.9) * STATED_SPREAD * math.sqrt(1.0 + 1.0 / count)
    )


def test_three_equal_jobs_are_not_taken_for_certainty():
    band = price_band(100.0, PLAIN, plain_jobs(200.0, 200.0, 200.0))

    assert not band.stated and band.high / band.low > 1.2


@pytest.mark.parametrize(
    ("others", "like", "count"),
    [
        ([Traits(True, True, False, False)] * 3 + [PLAIN] * 4, "all four", 3),
        ([Traits(True, True, True, False)] * 3 + [PLAIN] * 4, "rock and falls", 3),
        ([ROCKY] * 3 + [PLAIN] * 4, "rock", 3),
        ([ROCKY] * 2 + [PLAIN] * 4, "any", 6),
    ],
)
def test_jobs_most_alike_are_asked_first(others, like, count):
    jobs = [PastJob(100.0, 20_000.0, traits) for traits in others]

    band = price_band(100.0, Traits(rocky=True, falls=True), jobs)

    assert (band.like, band.count) == (like, count)


@pytest.mark.parametrize(("area", "beyond"), [(99.0, True), (100.0, False), (101.0, True)])
def test_an_area_that_no_job_had_is_told(area, beyond):
    assert price_band(area, PLAIN, plain_jobs(1.0, 2.0, 3.0)).beyond is beyond


@pytest.mark.parametrize(
    ("area", "jobs", "says"),
    [
        (10.0, [], "at least one past job"),
        (0.0, plain_jobs(1.0), "`area` must be above zero, got 0.0"),
        (10.0, [PastJob(10.0, 0.0, PLAIN)], "`price` must be above zero"),
        (10.0, [PastJob(-1.0, 5.0, PLAIN)], "`area` must be above zero, got -1.0"),
        (math.nan, plain_jobs(1.0), "`area` must be above zero, got nan"),
    ],
)
def test_what_has_no_answer_is_refused_in_one_sentence(area, jobs, says):
    with pytest.raises(DomainError, match=says):
        price_band(area, PLAIN, jobs)
