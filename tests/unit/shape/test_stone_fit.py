"""Which stone hides a riser, and whether its shelf holds it."""

import pytest

from pondwright.base.errors import DomainError
from pondwright.base.findings import Grade
from pondwright.rooms.shape.profile import bank_profile
from pondwright.rooms.shape.stone_fit import riser_for, stone_fits
from tests.unit.shape.ponds import Computed, job_values


def checked(points):
    values = job_values()
    values["shape"]["bank_types"] = {
        "own": {"points": [{"distance": distance, "depth": depth} for distance, depth in points]}
    }
    values["shape"]["bodies"]["pond"]["bank_type"] = "own"
    return Computed(values, "shape.grading").findings.get("shape.stone_fit", [])


def test_the_stone_is_50_to_100_mm_taller_than_the_riser():
    (fit,) = stone_fits(bank_profile([(0.0, 0.0), (0.0, 0.3), (0.75, 0.3), (2.0, 1.5)]))

    assert (fit.smallest, fit.largest) == (pytest.approx(0.35), pytest.approx(0.40))
    assert fit.spare == pytest.approx(0.75 - 0.35)


def test_the_riser_for_a_stone_goes_the_same_way_back():
    least, most = riser_for(0.45)

    assert stone_fits(bank_profile([(0.0, 0.0), (0.0, most)]))[0].smallest == pytest.approx(0.45)
    assert stone_fits(bank_profile([(0.0, 0.0), (0.0, least)]))[0].largest == pytest.approx(0.45)
    with pytest.raises(DomainError, match="`height` must be above 0.1 m"):
        riser_for(0.1)


def test_the_shelf_ends_at_the_next_riser_and_at_a_steep_slope():
    fits = stone_fits(bank_profile([(0.0, 0.0), (0.0, 0.3), (0.6, 0.35), (0.6, 0.7), (0.9, 0.7), (2.0, 1.5)]))

    assert [fit.shelf for fit in fits] == pytest.approx([0.6, 0.3])


def test_a_riser_onto_the_floor_has_all_the_room():
    (fit,) = stone_fits(bank_profile([(0.0, 0.0), (0.0, 0.8)]))

    assert fit.shelf == float("inf")


def test_a_bank_without_risers_asks_for_no_stone():
    assert checked([(0.0, 0.0), (3.0, 1.0)]) == []


def test_the_standard_bank_holds_the_stone_that_hides_it():
    (finding,) = Computed(job_values(), "shape.grading").findings["shape.stone_fit"]

    assert finding.grade is Grade.GOOD
    assert "350 to 400 mm (14 to 16 in), then 450 to 500 mm (18 to 20 in)" in finding.says


def test_a_narrow_shelf_is_told_with_the_width_that_it_needs():
    (finding,) = checked([(0.0, 0.0), (0.0, 0.3), (0.4, 0.3), (0.4, 0.6), (4.0, 1.5)])

    assert finding.grade is Grade.LOOK
    assert (finding.value, finding.limit) == (pytest.approx(0.4), pytest.approx(0.5))
    assert "make the shelf 500 mm (20 in) wide or more" in finding.advice[0].says
