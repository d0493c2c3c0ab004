"""The examples Garden and Upper field: made by their scripts, true to the ground that they were made from."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from examples.make import garden, upper_field
from pondwright import api
from pondwright.examples import EXAMPLES, GARDEN, UPPER_FIELD, example_text
from pondwright.flow.engine import Run, is_blocked
from pondwright.geometry.surface import surface_at
from pondwright.job.codec import dumps, loads

LARGEST = 200_000


@cache
def run(name: str) -> Run:
    return api.compute(loads(example_text(name)))


def test_the_script_of_the_garden_makes_the_committed_file_to_the_byte() -> None:
    assert dumps(loads(json.dumps(garden.job()))) == example_text(GARDEN)


def test_the_flight_makes_the_committed_surface(tmp_path: Path) -> None:
    made, kept = upper_field.job(), loads(example_text(UPPER_FIELD))

    assert made.model_copy(update={"site": None}) == kept.model_copy(update={"site": None})
    (cloud,), (before,) = made.site.clouds.values(), kept.site.clouds.values()
    for axis in ("east", "north", "elevation"):
        assert getattr(cloud, axis) == pytest.approx(getattr(before, axis), abs=1e-3)
    assert upper_field.write_cloud(tmp_path).stat().st_size > 1_000_000


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_opens_without_a_stop_is_invented_and_small(name: str) -> None:
    text = example_text(name)
    found = api.checks(run(name))

    assert not found.stops
    assert not any(is_blocked(finding) for finding in found.look)
    assert run(name).job.demo and "invented" in text.lower()
    assert len(text.encode()) < LARGEST


def test_every_shot_of_the_garden_is_located_and_levelled() -> None:
    ground = run(GARDEN).results.site.ground
    places = garden.places()

    assert set(ground.shots.ids) == set(places)
    for number, name in enumerate(ground.shots.ids):
        spot = places[name][0]
        assert ground.shots.points[number] == pytest.approx(spot, abs=0.03)
        assert ground.shots.elevations[number] == pytest.approx(garden.true_ground(*spot), abs=0.012)


def test_water_stands_within_the_depth_of_the_garden_pond() -> None:
    results = run(GARDEN).results
    floor = results.shape.shore.bodies["pond"].level - results.shape.storage.bodies["pond"].greatest_depth
    probes = run(GARDEN).job.site.probes

    assert len(probes) == 3
    assert all(0.4 <= probe.water_depth <= 0.6 for probe in probes.values())
    assert all(found.water > floor + 0.3 for found in results.site.layers.probes.values())


def test_the_garden_pond_keeps_two_metres_from_the_boundary() -> None:
    kept = run(GARDEN).results.site.clearances.bounds["plot"].clearance

    assert 2.0 <= kept <= 2.3


def test_the_painted_shore_of_the_garden_is_the_shore_of_the_pond() -> None:
    painted = run(GARDEN).job.site.lines["paint"]
    shore = run(GARDEN).results.shape.shore.bodies["pond"]

    assert painted.kind == "paint"
    assert 38.0 < shore.area < 42.0


def test_the_thinned_flight_tells_the_true_ground_between_its_points() -> None:
    job, ground = run(UPPER_FIELD).job, run(UPPER_FIELD).results.site.ground
    (cloud,) = job.site.clouds.values()
    east, north = (
        axis.ravel() for axis in np.meshgrid(np.arange(24.0, 98.0, 3.0), np.arange(3.0, 98.0, 3.0))
    )
    told = surface_at(ground.z, ground.grid, np.column_stack([east, north]))
    error = told - upper_field.true_ground(east, north)

    assert len(cloud.east) <= 4_000 and cloud.count > 50_000
    # The lowest of a cell's points lies lower than the ground by a little more than the noise of one.
    assert -0.12 < float(np.median(error)) < 0.0
    assert float(np.quantile(np.abs(error), 0.95)) < cloud.tolerance + 4.0 * upper_field.NOISE + 0.1


def test_no_tree_of_the_flight_is_taken_for_ground() -> None:
    (cloud,) = run(UPPER_FIELD).job.site.clouds.values()
    over = np.array(cloud.elevation) - upper_field.true_ground(np.array(cloud.east), np.array(cloud.north))

    assert float(over.max()) < 0.5


def test_the_upper_field_has_a_berm_that_is_no_dam_yet() -> None:
    grading = run(UPPER_FIELD).results.shape.grading.bodies["pond"]

    assert 1.0 < grading.bank_height < 1.83
    assert run(UPPER_FIELD).results.earth.soil.placed > 300.0
