"""Checks of pumping and of trenches: each side of each threshold, with their sources and cautions."""

import pytest

from pondwright.base.findings import Grade
from pondwright.base.sources import Standing
from pondwright.job.rules import limits_in
from pondwright.rooms.groundwater.checks import pumping as checks
from pondwright.rooms.groundwater.checks.pumping import LIMITS, Beside
from pondwright.rooms.groundwater.trench import trench_rules

LIMITS_BY_CODE = limits_in({}, LIMITS)
PLACE = (1.0, 2.0)
HOUSE = Beside("house", "Neighbour's house", "site.things.house", "", PLACE)
WELL = Beside("well", "Well", "site.things.well", "", PLACE)
SOFT = Beside("house", "Shed", "site.things.shed", "muck", PLACE)


def dewatering(likely, high, lowered=0.5, lowered_high=0.5):
    return checks.check_dewatering("pond", likely, high, (lowered, lowered_high), PLACE, LIMITS_BY_CODE)


@pytest.mark.parametrize(
    ("likely", "high", "grade", "says"),
    [
        pytest.param(0.004, 0.005, Grade.GOOD, "can be kept dry by a builder", id="5 L/s at the most"),
        pytest.param(0.004, 0.0051, Grade.LOOK, "may need an engineer's design", id="perhaps more"),
        pytest.param(0.0051, 0.009, Grade.STOP, "needs an engineer's design", id="more"),
    ],
)
def test_from_5_litres_a_second_an_engineer_designs_the_dewatering(likely, high, grade, says):
    found = dewatering(likely, high)[0]

    assert (found.code, found.grade) == ("groundwater.dewatering", grade)
    assert says in found.says and found.value == high
    assert (grade is Grade.GOOD) == (found.advice == ())


@pytest.mark.parametrize(
    ("likely", "high", "grade"),
    [
        pytest.param(1.5, 2.0, Grade.GOOD, id="2 m at the most"),
        pytest.param(1.5, 2.01, Grade.LOOK, id="perhaps more"),
        pytest.param(2.01, 2.5, Grade.STOP, id="more"),
    ],
)
def test_from_2_metres_of_drawdown_too(likely, high, grade):
    found = dewatering(0.001, 0.001, likely, high)[1]

    assert (found.code, found.grade, found.value) == ("groundwater.dig_drawdown", grade, high)
    if grade is not Grade.GOOD:
        assert any("licensed practice" in way.says for way in found.advice)


@pytest.mark.parametrize(("high", "grade"), [(0.3, Grade.GOOD), (0.31, Grade.LOOK)])
@pytest.mark.parametrize(("thing", "harm"), [(HOUSE, "may settle"), (WELL, "may run short")])
def test_wells_and_buildings_are_warned_of_from_03_metres(thing, harm, high, grade):
    found = checks.check_beside(thing, 0.1, high, LIMITS_BY_CODE)

    assert (found.code, found.grade) == ("groundwater.drawdown_beside", grade)
    assert (harm in found.says) == (grade is Grade.LOOK)
    assert "may lower" in found.says or grade is Grade.GOOD
    assert found.where.paths == (thing.path,)


def test_a_likely_drawdown_is_told_as_one():
    assert " lowers the groundwater" in checks.check_beside(HOUSE, 0.4, 0.5, LIMITS_BY_CODE).says


@pytest.mark.parametrize(("high", "grade"), [(0.0, Grade.GOOD), (0.001, Grade.LOOK)])
def test_on_soft_ground_any_drawdown_is_warned_of(high, grade):
    found = checks.check_beside(SOFT, 0.0, high, LIMITS_BY_CODE)

    assert found.grade is grade and found.limit == 0.0
    assert ("on muck" in found.says) == (grade is Grade.LOOK)


@pytest.mark.parametrize(("depths", "grade"), [(2.0, Grade.GOOD), (1.99, Grade.LOOK)])
def test_a_building_within_two_depths_needs_an_engineer(depths, grade):
    found = checks.check_building_near(HOUSE, depths, LIMITS_BY_CODE)

    assert (found.code, found.grade) == ("groundwater.building_near", grade)
    assert ("engineer" in found.says) == (grade is Grade.LOOK)


@pytest.mark.parametrize(
    ("left", "pumped", "grade", "says"),
    [
        pytest.param(0.0, True, Grade.GOOD, "empty the old pond", id="empty"),
        pytest.param(0.01, True, Grade.LOOK, "cannot empty", id="not empty"),
        pytest.param(1.0, False, Grade.LOOK, "No pump is named", id="no pump"),
    ],
)
def test_pumps_must_empty_the_old_pond(left, pumped, grade, says):
    found = checks.check_pump_out(left, pumped, PLACE, LIMITS_BY_CODE)

    assert (found.code, found.grade) == ("groundwater.pump_out", grade)
    assert says in found.says


@pytest.mark.parametrize(("fastest", "grade"), [(0.3, Grade.GOOD), (0.31, Grade.LOOK)])
def test_banks_bear_the_daily_fall_of_the_job(fastest, grade):
    found = checks.check_bank_drop(fastest, 0.3, PLACE)

    assert (found.code, found.grade, found.limit) == ("groundwater.bank_drop", grade, 0.3)


def test_pumped_water_needs_a_place_to_go():
    told, untold = (checks.check_discharge(state) for state in (True, False))

    assert (told.grade, untold.grade) == (Grade.GOOD, Grade.LOOK)
    advice = " ".join(way.says for way in untold.advice)
    assert "settle" in advice and "permits" in advice and "wetland" in advice


@pytest.mark.parametrize(("above", "grade"), [(0.0, Grade.GOOD), (0.01, Grade.LOOK)])
def test_a_dig_below_the_water_is_of_the_weakest_type(above, grade):
    found = checks.check_dig_water("pond", above, 86_400.0, PLACE, LIMITS_BY_CODE)

    assert (found.code, found.grade) == ("groundwater.dig_water", grade)
    if grade is Grade.LOOK:
        advice = " ".join(way.says for way in found.advice)
        assert "type C" in advice and "competent person" in advice


@pytest.mark.parametrize(("days", "slow"), [(14.0, False), (14.1, True), (None, False)])
def test_ground_that_takes_more_than_a_fortnight_to_drain_is_dug_wet(days, slow):
    time = None if days is None else days * 86_400.0
    found = checks.check_dig_water("pond", 0.5, time, PLACE, LIMITS_BY_CODE)

    assert any("too slowly" in way.says for way in found.advice) == slow


@pytest.mark.parametrize(
    ("lifted", "grade", "says"),
    [
        pytest.param(0.002, Grade.GOOD, "keep the dig of `pond` dry", id="enough"),
        pytest.param(0.0019, Grade.LOOK, "More water may come", id="too little"),
        pytest.param(0.0, Grade.LOOK, "no pump is named", id="none"),
    ],
)
def test_pumps_must_lift_what_may_come(lifted, grade, says):
    found = checks.check_dig_pump("pond", lifted, 0.002, LIMITS_BY_CODE)

    assert (found.code, found.grade) == ("groundwater.dig_pump", grade)
    assert says in found.says


def trench(feet, kind="C"):
    depth = feet * 0.3048
    rules = trench_rules(depth, 20.0, 0.3, kind)
    return checks.check_trench(
        "the relief drain", "groundwater.drains.relief.place", depth, rules, (PLACE,), LIMITS_BY_CODE
    )


@pytest.mark.parametrize(
    ("feet", "code", "grade", "says"),
    [
        pytest.param(3.99, "groundwater.trench_egress", Grade.GOOD, "step out of", id="below 4 ft"),
        pytest.param(4.01, "groundwater.trench_egress", Grade.LOOK, "ladder or ramp", id="from 4 ft"),
        pytest.param(4.99, "groundwater.trench_egress", Grade.LOOK, "ladder or ramp", id="below 5 ft"),
        pytest.param(5.01, "groundwater.trench", Grade.LOOK, "can bury people", id="from 5 ft"),
        pytest.param(19.99, "groundwater.trench", Grade.LOOK, "can bury people", id="below 20 ft"),
        pytest.param(20.01, "groundwater.trench_engineer", Grade.STOP, "an engineer must", id="beyond 20 ft"),
    ],
)
def test_a_trench_is_told_by_the_greatest_depth_it_reaches(feet, code, grade, says):
    found = trench(feet)

    assert (found.code, found.grade) == (code, grade)
    assert says in found.says
    if grade is not Grade.GOOD:
        advice = " ".join(way.says for way in found.advice)
        assert "25 ft" in advice and "2 ft" in advice and "competent person" in advice
        assert ("1.5 across" in advice) == (feet >= 5.0)
        assert found.source.document.startswith("29 CFR 1926")


def test_stable_rock_is_told_of_ladders_only():
    assert trench(10.0, "rock").code == "groundwater.trench_egress"


def test_a_job_may_put_its_own_limit_in_place():
    own = {**LIMITS_BY_CODE}
    own["groundwater.trench"] = type(own["groundwater.trench"])(
        "groundwater.trench",
        "",
        1.2192,
        *[getattr(own["groundwater.trench"], name) for name in ("kind", "source")],
    )
    rules = trench_rules(1.3, 20.0, 0.3, "C")

    found = checks.check_trench("a drain", "groundwater.drains.a", 1.3, rules, (), own)

    assert (found.code, found.limit) == ("groundwater.trench", 1.2192)


def test_every_limit_has_a_source_and_says_what_it_limits():
    assert len({limit.code for limit in LIMITS}) == len(LIMITS)
    for limit in LIMITS:
        assert limit.says and limit.source.standing in set(Standing)
