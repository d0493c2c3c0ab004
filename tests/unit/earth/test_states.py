"""States of soil and truck loads, against worked examples of texts."""

import pytest

from pondwright.base.errors import DomainError
from pondwright.base.sources import PRACTICE, Standing
from pondwright.rooms.earth.states import (
    Truck,
    bank_volume,
    loose_volume,
    settlement_allowance,
    truck_loads,
)
from pondwright.rooms.shape.slopes import steepest_slope

CUBIC_YARD = 0.764554858


def loads_of(loose, box):
    return truck_loads(loose, 0.0, Truck(box, 1.0, PRACTICE))


@pytest.mark.published
def test_dense_clay_of_an_estimating_text_takes_186_loads():
    """1,000 bank yd³ of dense clay, swell 30 %, trucks of 7 yd³; example 9-2."""
    loose = loose_volume(1000.0 * CUBIC_YARD, 1.30)

    assert loose / CUBIC_YARD == pytest.approx(1300.0)
    assert loads_of(loose, 7.0 * CUBIC_YARD).count == 186


@pytest.mark.published
def test_sand_and_gravel_of_an_estimating_text_takes_87_loads():
    """500 compacted yd³ at 0.95 and 15 % swell, trucks of 7 yd³; example 9-3."""
    bank = bank_volume(500.0, 0.95)

    assert bank == pytest.approx(526.3, abs=0.05)
    assert loose_volume(bank, 1.15) == pytest.approx(605.3, abs=0.05)
    assert loads_of(loose_volume(bank, 1.15), 7.0).count == 87


def test_common_earth_for_a_fill_of_100_m3():
    bank = bank_volume(100.0, 0.90)

    assert bank == pytest.approx(111.11, abs=0.005)
    assert loose_volume(bank, 1.25) == pytest.approx(138.89, abs=0.005)


def test_the_scale_decides_before_the_box_is_full():
    """400 m³ dug, 120 m³ placed at 0.90, bulking 1.30, 1.9 t/m³, 10 m³ and 13 t: 39 loads; hand."""
    export = 400.0 - bank_volume(120.0, 0.90)

    loads = truck_loads(loose_volume(export, 1.30), 1900.0 * export, Truck(10.0, 13_000.0, PRACTICE))

    assert export == pytest.approx(266.67, abs=0.005)
    assert loads.by_volume == pytest.approx(34.67, abs=0.005)
    assert loads.by_mass == pytest.approx(38.97, abs=0.005)
    assert loads.count == 39
    assert loads.mass_decides


def test_a_rounding_error_orders_no_further_truck():
    assert loads_of(0.1 * 3 * 10.0, 1.0).count == 3


def test_no_soil_takes_no_truck():
    assert truck_loads(0.0, 0.0).count == 0


def test_settlement_adds_the_share_of_the_height_to_the_volume():
    """A bank of 1.5 m is built 1.575 m high at 5 %; hand."""
    assert 1.5 + settlement_allowance(1.5, 0.05) == pytest.approx(1.575)


@pytest.mark.parametrize("kind", ["topsoil", "clay", "silt", "sand", "gravel", "rock", "muck"])
def test_every_kind_of_soil_has_a_steepest_slope_with_its_source(kind):
    slope, source = steepest_slope(kind)

    assert slope > 0.0
    assert source.document or source.standing is Standing.PRACTICE


def test_a_factor_of_nothing_is_refused():
    with pytest.raises(DomainError, match="`compaction` must be above 0"):
        bank_volume(1.0, 0.0)
