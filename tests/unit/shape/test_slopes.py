"""Dug slopes follow the soils of the site where nobody has told another."""

from __future__ import annotations

import pytest

from pondwright.rooms.shape.slopes import NO_SLOPES, UNTOLD, dug_slope, steepest_slope
from tests.unit.shape.ponds import Computed, job_values


def cut_slope(soils=(), told=None):
    values = job_values()
    layers = [[{"kind": kind, "thickness": 0.4} for kind in kinds] for kinds in soils]
    values["site"]["soils"] = {
        f"soil{at}": {"place": {"at": "whole"}, "layers": each} for at, each in enumerate(layers)
    }
    if told is not None:
        values["shape"]["slopes"] = {"cut": told}
    found = Computed(values, upto="shape.grading")["shape.grading"]
    assert found.bodies["pond"].bank.cut == found.cut_slope
    return found.cut_slope


@pytest.mark.parametrize(
    ("soils", "slope"),
    [
        ([], UNTOLD),
        ([["topsoil", "muck"]], UNTOLD),
        ([["topsoil", "silt"]], 3.0),
        ([["topsoil", "gravel"]], 2.0),
        ([["topsoil", "gravel"], ["topsoil", "gravel", "sand"]], 3.0),
        ([["rock"]], 1.0),
    ],
)
def test_the_flattest_that_a_layer_of_any_place_asks_for_decides(soils, slope):
    assert cut_slope(soils) == slope


def test_a_told_slope_goes_before_the_soil():
    assert cut_slope([["silt"]], told=1.5) == 1.5


def test_one_more_layer_never_makes_the_slope_steeper():
    kinds = ["clay", "silt", "sand", "gravel", "rock"]

    for one in kinds:
        for other in kinds:
            assert dug_slope([one, other])[0] == max(steepest_slope(each)[0] for each in (one, other))


def test_the_slope_comes_with_the_source_of_the_layer_that_decides():
    assert dug_slope(["rock", "clay"])[1] == steepest_slope("clay")[1]
    assert "table 16" in dug_slope(NO_SLOPES)[1].place
