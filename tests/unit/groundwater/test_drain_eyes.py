"""Where drains can be rodded: never up through a liner, and lines that go on straight are one line."""

import itertools

import pytest

from pondwright.base.findings import Grade
from tests.unit.groundwater.drained import drained_values, profiled


def line(*points):
    return {"place": {"at": "line", "points": [{"east": east, "north": north} for east, north in points]}}


def in_two(*, upper, lower):
    """A drain under the pond in two pieces that go on into each other."""
    values = drained_values(drain=line(*lower))
    values["groundwater"]["drains"]["branch"] = {**line(*upper), "into": "relief"}
    return values


def test_an_eye_stands_at_the_upper_end_outside_the_pond():
    found, findings = profiled(drained_values())

    assert found.lines["relief"].eyes == (0.0,)
    assert not found.lines["relief"].lined[0]
    assert findings["drain_eyes"].grade is Grade.GOOD


def test_an_eye_under_the_pond_moves_to_the_nearest_place_outside():
    found, findings = profiled(drained_values(drain=line((15.0, 15.0), (15.0, -30.0))))

    profile = found.lines["relief"]
    [eye] = profile.eyes
    shore = profile.chainage[profile.lined][-1]
    assert profile.lined[0]
    assert shore < eye <= shore + 1.5
    assert findings["drain_eyes"].grade is Grade.GOOD


def test_no_eye_is_needed_under_the_pond_where_the_pipe_goes_on_straight():
    found, findings = profiled(in_two(upper=((15.0, 26.0), (15.0, 15.0)), lower=((15.0, 15.0), (15.0, 1.0))))

    assert found.lines["branch"].eyes == (0.0,)
    assert found.lines["relief"].eyes == ()
    assert findings["drain_eyes"].grade is Grade.GOOD
    assert findings["drain_eyes"].value == pytest.approx(25.0)


def test_a_sharp_bend_under_the_pond_needs_its_own_eye_outside():
    found, _ = profiled(in_two(upper=((26.0, 15.0), (15.0, 15.0)), lower=((15.0, 15.0), (15.0, 1.0))))

    [eye] = found.lines["relief"].eyes
    assert eye > found.lines["relief"].chainage[found.lines["relief"].lined][-1]


def test_a_drain_under_the_liner_all_along_can_have_no_eye_and_that_is_told():
    found, findings = profiled(drained_values(drain=line((15.0, 16.0), (15.0, 14.0))))

    assert found.lines["relief"].eyes == ()
    told = findings["drain_eyes"]
    assert told.grade is Grade.LOOK and told.value is None
    assert "under a liner all along" in told.says
    assert any("Never lead an eye up through a liner" in one.says for one in told.advice)


def test_a_long_way_under_a_liner_is_told_with_its_length():
    rule = {"groundwater.drain_eyes": {"limit": 10.0, "reason": "trial", "by": "nobody"}}
    found, findings = profiled({**drained_values(), "rules": rule})

    eyes = [*found.lines["relief"].eyes, found.lines["relief"].length]
    told = findings["drain_eyes"]
    assert told.grade is Grade.LOOK
    assert told.value == pytest.approx(max(b - a for a, b in itertools.pairwise(eyes)))
    profile = found.lines["relief"]
    beside = abs(profile.points[:, 1] - told.where.points[0][1]) < 0.6
    assert profile.lined[beside].all()
