"""Quantities, stated defaults and read-only rows."""

import copy
import math
import pickle
from itertools import pairwise

import pytest
from pydantic import ValidationError

from pondwright.base.kinds import DENSITY, ELEVATION, LENGTH
from pondwright.job import new_job, quantity_of, value_of
from pondwright.job.fields import Rows
from pondwright.job.shape import STANDARD_BANK, Berm, Body
from pondwright.job.site import Shot, SoilLayer


def test_a_number_of_the_document_counts_before_its_default():
    assert value_of(Berm(body="pond", freeboard=0.4), "freeboard") == 0.4


def test_an_open_number_has_its_stated_default():
    assert value_of(Berm(body="pond"), "freeboard") == 0.30


def test_an_open_number_of_a_soil_has_the_default_of_its_kind():
    assert value_of(SoilLayer(kind="clay"), "bulking") == 1.30
    assert value_of(SoilLayer(kind="rock"), "bulking") == 1.50


def test_angles_of_soils_are_in_radians():
    assert value_of(SoilLayer(kind="sand"), "angle") == pytest.approx(math.radians(34))


def test_bulking_of_every_soil_is_at_least_its_bank_volume_and_compaction_below_loose():
    kinds = ("topsoil", "clay", "silt", "sand", "gravel", "rock", "muck")

    layers = [SoilLayer(kind=kind) for kind in kinds]

    assert all(value_of(layer, "bulking") >= 1 for layer in layers)
    assert all(value_of(layer, "compaction") < value_of(layer, "bulking") for layer in layers)


def test_a_number_that_a_stage_works_out_has_no_value_yet():
    body = new_job("x").shape
    assert value_of(body.berm("pond"), "settlement") == 0.05
    assert quantity_of(Body, "level").default.value is None


def test_a_field_tells_its_kind():
    assert quantity_of(Shot, "elevation").kind is ELEVATION
    assert quantity_of(Shot, "sigma").kind is LENGTH
    assert quantity_of(SoilLayer, "bank_density").kind is DENSITY
    assert quantity_of(Shot, "code") is None


def test_the_standard_bank_keeps_the_limits_of_its_source():
    points = STANDARD_BANK.points
    pairs = list(pairwise(points))

    risers = [after.depth - before.depth for before, after in pairs if after.distance == before.distance]
    shelves = [after.distance - before.distance for before, after in pairs if after.depth == before.depth]

    assert max(risers) <= 0.45
    assert shelves == [0.75, 1.0]
    assert 0.15 <= points[1].depth <= 0.30
    assert 0.45 <= points[3].depth <= 0.90
    slope = (points[6].distance - points[5].distance) / (points[6].depth - points[5].depth)
    assert slope == pytest.approx(3.0)
    assert points[-1].depth == 1.5


def test_rows_cannot_be_changed_in_place():
    rows = Rows({"b": 1, "a": 2})

    for change in (lambda: rows.update(c=3), rows.clear, rows.popitem, lambda: rows.__setitem__("a", 1)):
        with pytest.raises(TypeError, match="read-only"):
            change()

    assert rows == {"a": 2, "b": 1}


def test_rows_stand_in_the_order_of_their_keys():
    rows = Rows({"b": 1, "a": 2})

    assert list(rows) == ["a", "b"]
    assert list(rows.with_row("aa", 3)) == ["a", "aa", "b"]
    assert list(rows.with_row("a", 3).items()) == [("a", 3), ("b", 1)]
    assert list(rows.without("a")) == ["b"]


def test_a_job_goes_to_another_process_and_is_copied_whole():
    job = new_job("Mill Lane")

    assert pickle.loads(pickle.dumps(job)) == job
    assert copy.deepcopy(job) == job


def test_a_job_is_frozen():
    job = new_job("Mill Lane")

    with pytest.raises(ValidationError):
        job.name = "other"


@pytest.mark.parametrize("value", [False, "1.5", float("nan"), float("inf")])
def test_a_number_is_not_made_from_something_else(value):
    with pytest.raises(ValidationError):
        Berm(body="pond", freeboard=value)
