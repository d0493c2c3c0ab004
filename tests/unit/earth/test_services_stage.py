"""Buried services under the dig of the invented example: cut, near, of unknown depth, or clear."""

import pytest

from pondwright import api
from pondwright.base.findings import Grade, Op
from pondwright.examples import LARKMEADOW, example_text
from pondwright.job.codec import loads
from pondwright.job.edits import Edit, apply

ACROSS = {"at": "line", "points": [{"east": 100.0, "north": 128.0}, {"east": 145.0, "north": 128.0}]}
BESIDE = {"at": "line", "points": [{"east": 150.0, "north": 128.0}, {"east": 150.0, "north": 140.0}]}


@pytest.fixture(scope="module")
def run():
    return api.compute(loads(example_text(LARKMEADOW)))


def check_of(run, rules=None, **facts):
    """Check of one service that lies across the pond, and the result of its stage."""
    thing = {"kind": "utility", "name": "Gas pipe", "place": ACROSS, "depth": 0.8, **facts}
    ops = [Op("add", "/site/things/gas", thing)]
    ops += [Op("add", f"/rules/{code}", rule) for code, rule in (rules or {}).items()]
    after = api.compute(apply(run.job, Edit("e-1", 0, tuple(ops), "")), after=run)
    (found,) = (
        each for each in after.stages["earth.services"].findings if each.where.paths == ("site.things.gas",)
    )
    return found, after.results.earth.services.things["gas"]


def test_a_dig_through_a_service_stops_and_lights_up_where(run):
    found, met = check_of(run)

    assert (found.code, found.grade, found.says) == (
        "earth.service",
        Grade.STOP,
        "The dig would cut Gas pipe.",
    )
    assert met.cut_length > 5.0 and found.value < 0.0 and found.limit == 0.6096
    assert found.where.points and all(115.0 < east < 142.0 for east, _north in found.where.points)
    assert any("locate service" in way.says for way in found.advice)


def test_a_service_that_is_taken_out_first_is_a_look(run):
    found, _met = check_of(run, status="remove")

    assert found.grade is Grade.LOOK and "taken out first" in found.says


def test_a_service_deep_below_the_dig_is_clear_and_one_just_below_it_may_be_hit(run):
    assert check_of(run, depth=9.0)[0].grade is Grade.GOOD

    deepest = -check_of(run, depth=0.0, sure=0.0)[1].met.least_cover
    found, met = check_of(run, depth=deepest + 0.2, sure=0.3)
    assert found.grade is Grade.LOOK and "may be hit" in found.says
    # Aside of the line the dig may go a little deeper than on it.
    assert met.cut_length == 0.0 < met.near_length and 0.15 < found.value <= 0.2
    assert check_of(run, depth=deepest + 0.2, sure=0.1)[0].grade is Grade.GOOD


def test_a_service_of_unknown_depth_is_a_look_without_a_number(run):
    found, _met = check_of(run, depth=None)

    assert found.grade is Grade.LOOK and "nobody knows how deep" in found.says
    assert found.value is None and found.limit is None


def test_a_service_beside_the_dig_is_clear(run):
    assert check_of(run, place=BESIDE)[0].grade is Grade.GOOD


def test_the_job_may_set_another_strip(run):
    deepest = -check_of(run, depth=0.0, sure=0.0)[1].met.least_cover
    rule = {"limit": 0.1, "reason": "exposed by hand", "by": "Ann"}

    assert check_of(run, depth=deepest + 0.2)[0].grade is Grade.LOOK
    assert check_of(run, {"earth.service_zone": rule}, depth=deepest + 0.2)[0].grade is Grade.GOOD


def test_services_planned_for_later_and_other_things_are_none(run):
    after = api.compute(
        apply(
            run.job,
            Edit(
                "e-1",
                0,
                (
                    Op("add", "/site/things/later", {"kind": "utility", "place": ACROSS, "status": "later"}),
                    Op("add", "/site/things/wall", {"kind": "structure", "place": ACROSS}),
                ),
                "",
            ),
        ),
        after=run,
    )

    assert not {"later", "wall"} & after.results.earth.services.things.keys()
