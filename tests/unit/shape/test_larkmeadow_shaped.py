"""The shaped Larkmeadow: its waters stand in order, its falls are what was asked, its soil is moved once."""

from __future__ import annotations

import json
from functools import cache

import numpy as np
import pytest

from examples.make import larkmeadow_shaped
from pondwright import api
from pondwright.examples import LARKMEADOW_SHAPED, example_text
from pondwright.geometry.surface import surface_at
from pondwright.job.codec import dumps, loads
from pondwright.rooms.earth.haul import NOWHERE, SOIL, TOPSOIL

INCH, FOOT = 0.0254, 0.3048


@cache
def run():  # type: ignore[no-untyped-def]
    return api.compute(loads(example_text(LARKMEADOW_SHAPED)))


def test_the_script_makes_the_committed_job() -> None:
    made = dumps(loads(json.dumps(larkmeadow_shaped.job())))

    assert made == example_text(LARKMEADOW_SHAPED)


def test_the_stream_has_three_pools_and_falls_of_26_and_18_inches() -> None:
    stream = run().results.shape.shore.bodies["stream"].stream

    assert stream.corridor.length == pytest.approx(46 * FOOT, abs=0.03)
    assert len(stream.reaches.starts) == 3
    assert np.diff(stream.reaches.drops).tolist() == pytest.approx([26 * INCH, 18 * INCH], abs=1e-4)


def test_water_stands_lower_from_wetland_to_stream_to_pond_and_the_intake_is_level_with_the_pond() -> None:
    bodies = run().results.shape.shore.bodies
    last_pool = bodies["stream"].level - bodies["stream"].stream.reaches.drops[-1]

    assert bodies["wetland"].level > bodies["stream"].level > last_pool > bodies["pond"].level
    assert bodies["intake"].level == bodies["pond"].level


def test_each_water_runs_over_into_the_next_and_the_pond_down_to_the_swale() -> None:
    meeting = run().results.shape.meeting
    into = {name: body.run.into for name, body in meeting.bodies.items()}
    end = np.array(meeting.bodies["pond"].run.path[-1])
    ground = run().results.site.ground

    assert into == {"wetland": "stream", "stream": "pond", "intake": "pond", "pond": None}
    assert surface_at(ground.z, ground.grid, end[None])[0] < 90.0 * FOOT
    assert meeting.crossings == 0


def test_areas_and_depth_are_those_of_the_intended_design() -> None:
    results = run().results
    areas = {name: body.area / FOOT**2 for name, body in results.shape.shore.bodies.items()}

    assert areas["pond"] == pytest.approx(5400, rel=0.005)
    assert areas["wetland"] == pytest.approx(620, rel=0.02)
    # The bank type is 5.5 ft deep; the floor falls on from there to its low spot.
    assert 5.5 < results.shape.storage.bodies["pond"].greatest_depth / FOOT < 6.5


def test_every_pool_of_the_stream_holds_water() -> None:
    results = run().results
    storage = results.shape.storage.bodies["stream"]

    assert storage.volume > 1.5
    assert storage.greatest_depth == pytest.approx(0.2, abs=0.02)


def test_a_wheelchair_reaches_the_water_at_two_places_on_paths_no_steeper_than_1_in_20() -> None:
    reach = run().results.shape.reach

    assert reach.bodies["pond"].wheelchair_places >= 2
    assert all(way.steepest <= 0.05 for way in reach.ways.values())


def test_the_memorial_seat_sees_the_lower_fall_and_the_house_the_pond() -> None:
    seats = run().results.shape.views.seats

    assert seats["memorial"].falls["stream-2"].crest and seats["memorial"].share > 0.5
    assert seats["house"].looks == (True,)


def test_the_haul_plan_moves_what_the_soil_account_says() -> None:
    soil, haul = run().results.earth.soil, run().results.earth.haul
    account = sum(each.dug + each.stripped for each in soil.by_kind.values())
    topsoil = soil.by_kind["topsoil"]
    piled = sum(pile.topsoil for pile in haul.piles.values())
    carried = sum(one.topsoil + one.muck + one.soil for one in (*haul.piles.values(), *haul.gates.values()))

    assert sum(one.volume for one in haul.plan.hauls) == pytest.approx(account, rel=1e-6)
    assert carried + haul.to_banks == pytest.approx(account, rel=1e-6)
    assert piled == pytest.approx(topsoil.dug + topsoil.stripped, rel=1e-6)
    assert haul.plan.volume_to(NOWHERE) == haul.homeless == pytest.approx(0.0, abs=1e-6)
    assert haul.plan.volume_to("off site tip", SOIL) > 0.0 == haul.plan.volume_to("off site tip", TOPSOIL)


def test_no_check_of_the_shaped_job_stops_it() -> None:
    assert not api.checks(run()).stops
