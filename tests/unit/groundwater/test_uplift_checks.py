"""Checks of uplift and gas: one on each side of every limit, and what they tell people to do."""

import math
from dataclasses import replace

import pytest

from pondwright.base.findings import Grade, replaced_limits
from pondwright.rooms.groundwater.checks import gas, uplift
from pondwright.rooms.groundwater.checks.uplift import Rule, Spot

LIMITS = replaced_limits((*uplift.LIMITS, *gas.LIMITS), {})
SPOT = Spot((10.0, 20.0), "north-west", 0.127, 0.8, 0.95, 0.3, 0.06)
DRAINS = ("seep_drain",)


def at(net, **more):
    return replace(SPOT, net=net, **more)


SIDES = [
    ("groundwater.uplift_in_use", 1.3, lambda spot: uplift.check_in_use("pond", spot, "wet", DRAINS, LIMITS)),
    ("groundwater.uplift_high", 1.1, lambda spot: uplift.check_high("pond", spot, "wet", DRAINS, LIMITS)),
    (
        "groundwater.uplift_power_cut",
        1.2,
        lambda spot: uplift.check_power_cut("pond", spot, ("pit",), None, LIMITS),
    ),
    ("groundwater.uplift_no_drain", 1.1, lambda spot: uplift.check_no_drain("pond", spot, DRAINS, LIMITS)),
]


@pytest.mark.parametrize(("code", "limit", "check"), SIDES)
def test_a_factor_on_each_side_of_its_limit(code, limit, check):
    holds, fails = check(at(limit)), check(at(limit - 1e-9))

    assert (holds.code, holds.grade, holds.limit) == (code, Grade.GOOD, limit)
    assert fails.grade is not Grade.GOOD and not holds.advice and fails.advice
    assert fails.where.points == ((10.0, 20.0),) and str(fails.source).count("EM 1110-2-2100")
    assert "from memory" in str(fails.source) and fails.assumes


def test_a_job_may_set_another_factor():
    own = replaced_limits(uplift.LIMITS, {"groundwater.uplift_in_use": 1.5})

    assert uplift.check_in_use("pond", at(1.4), "wet", DRAINS, own).grade is Grade.STOP
    assert uplift.check_in_use("pond", at(1.4), "wet", DRAINS, LIMITS).grade is Grade.GOOD


def test_in_use_a_liner_that_lifts_is_a_stop_told_by_how_far_the_groundwater_stands_above_the_pond():
    found = uplift.check_in_use("pond", SPOT, "wet", DRAINS, LIMITS)

    assert found.grade is Grade.STOP
    assert found.says == (
        "Groundwater stands 127 mm (5.0 in) above `pond` at its north-west side in the wet season, and lifts "
        "the liner: the stone on it is too light."
    )
    ways = [way.says for way in found.advice]
    assert ways[0] == (
        "Lower seep drain, or lead a slotted branch under the north-west side of `pond`, so that the "
        "groundwater falls by 60 mm (2.4 in) or more there."
    )
    assert "60 mm (2.4 in) higher" in ways[1] and "stone 300 mm (11.8 in) thick" in ways[2]
    assert "gross factor of 0.95" in ways[3]


def test_without_a_drain_the_first_way_out_is_one():
    ways = uplift.check_in_use("pond", at(0.8, side="middle", gross=0.5), "wet", (), LIMITS).advice

    assert ways[0].says.startswith("Lay a slotted drain under the middle of `pond` out to lower ground")
    assert len(ways) == 3


def test_a_pond_that_stands_higher_than_the_groundwater_is_told_by_how_much():
    found = uplift.check_in_use("pond", at(math.inf, excess=-0.1), "wet", (), LIMITS)

    assert (found.grade, found.value, found.operator) == (Grade.GOOD, None, "")
    assert found.says == (
        "In use `pond` holds its liner down by itself: groundwater stays 100 mm (3.9 in) below its water in "
        "the wet season."
    )


@pytest.mark.parametrize(
    ("net", "says"), [(0.99, "lifts the liner"), (1.0, "too little to spare"), (1.3, "holds it down.")]
)
def test_lifting_is_told_apart_from_too_little_to_spare(net, says):
    assert says in uplift.check_in_use("pond", at(net), "wet", (), LIMITS).says


def test_a_power_cut_without_backup_is_a_stop_and_with_it_a_look_that_tells_its_hours():
    bare = uplift.check_power_cut("pond", SPOT, ("pit",), None, LIMITS)
    backed = uplift.check_power_cut("pond", SPOT, ("pit",), 6 * 3600.0, LIMITS)

    assert (bare.grade, backed.grade) == (Grade.STOP, Grade.LOOK)
    assert "nothing pumps on" in bare.says and "longer than the backup of 6 h" in backed.says
    assert any("battery or generator" in way.says for way in bare.advice)
    assert "groundwater.sumps.pit" in bare.where.paths


def test_what_the_drain_is_there_for_is_told():
    found = uplift.check_no_drain("pond", SPOT, DRAINS, LIMITS)

    assert found.grade is Grade.LOOK
    assert "Without the drain, groundwater would stand 127 mm (5.0 in) above `pond`" in found.says
    assert "lift its liner" in found.says
    assert "even if the drains should fail" in uplift.check_no_drain("pond", at(2.0), ("a", "b"), LIMITS).says


def emptied(*marks, undrained="none", spot=SPOT):
    rules = tuple(Rule(season, mark) for season, mark in zip(("dry", "wet"), marks, strict=False))
    bare = None if undrained == "none" else Rule("wet", undrained)
    return uplift.check_emptied("pond", 97.8, rules, bare, spot, LIMITS)


def test_an_emptied_pond_is_answered_with_a_mark_and_a_rule():
    found = emptied(None, 97.4)

    assert (found.grade, found.value, found.limit, found.operator) == (Grade.LOOK, 97.4, 97.8, "<")
    assert found.kind.name == "elevation"
    assert found.says == (
        "Do not pump `pond` more than 400 mm (15.7 in) below its water line in the wet season; in the dry "
        "season it may be emptied."
    )
    assert any("level board" in way.says for way in found.advice)


def test_the_rule_tells_what_holds_while_the_drains_do_not_run():
    found = emptied(97.0, 97.4, undrained=97.9)

    assert found.says == (
        "Do not pump `pond` more than 400 mm (15.7 in) below its water line in the wet season; in the dry "
        "season not more than 800 mm (31.5 in) while its drains run; not at all while they do not."
    )
    assert found.value == 97.9


def test_a_pond_that_may_be_emptied_is_good_and_one_that_may_never_be_pumped_is_a_stop():
    assert emptied(None, None).grade is Grade.GOOD
    assert emptied(None, None).says == "`pond` may be emptied in any season."
    assert emptied(97.79, 97.8).grade is Grade.LOOK
    assert emptied(97.8, 97.8).grade is Grade.STOP
    assert "never be pumped down" in emptied(97.8, 97.9).says
    assert "at all in the wet season" in emptied(97.0, 97.8).says


def test_an_engineer_is_asked_for_where_the_emptied_pond_has_less_than_a_fifth_to_spare():
    def asks(net, gross):
        return any("engineer" in way.says for way in emptied(None, 97.4, spot=at(net, gross=gross)).advice)

    assert asks(1.19, 2.0) and asks(2.0, 1.19) and not asks(1.2, 1.2)


def heave(factor, gradient):
    return uplift.check_heave("pond", factor, gradient, 0.5, (1.0, 2.0), LIMITS)


def test_clay_over_a_pressured_layer_on_each_side_of_both_limits():
    def grades(factor, gradient):
        return [each.grade for each in heave(factor, gradient)]

    assert grades(1.2, 1.0 / 3.0) == [Grade.GOOD, Grade.GOOD]
    assert grades(1.2, 0.34) == [Grade.GOOD, Grade.STOP]
    # What bursts upward is told once: that it would boil as well adds nothing.
    assert grades(1.19, 0.34) == [Grade.STOP]


def test_a_floor_that_may_burst_or_boil_is_told_with_what_is_left_and_an_engineer():
    (bursts,), (_, boils) = heave(1.0, 0.5), heave(1.5, 0.5)

    assert "leaves 500 mm (19.7 in) of tight soil" in bursts.says and "may burst upward" in bursts.says
    assert "may boil" in boils.says and any("engineer" in way.says for way in boils.advice)


@pytest.mark.parametrize(
    ("layer", "mass", "grade"),
    [
        ("none", None, Grade.LOOK),
        ("fabric", None, Grade.LOOK),
        ("fabric", 0.269, Grade.LOOK),
        ("fabric", 0.27, Grade.GOOD),
        ("strips", None, Grade.GOOD),
    ],
)
def test_a_layer_for_gas(layer, mass, grade):
    found = gas.check_gas_layer("pond", layer, mass, LIMITS)

    assert found.grade is grade and bool(found.advice) is (grade is Grade.LOOK)


@pytest.mark.parametrize(
    ("check", "good", "bad"),
    [
        (lambda rise: gas.check_gas_rise("pond", rise, LIMITS), 0.02, 0.0199),
        (lambda height: gas.check_gas_pocket("pond", height, (1.0, 2.0), LIMITS), 0.02, 0.0201),
        (lambda gap: gas.check_vents("pond", gap, 9, LIMITS), 7.62, 7.63),
    ],
)
def test_gas_on_each_side_of_its_limits(check, good, bad):
    assert check(good).grade is Grade.GOOD and check(bad).grade is Grade.LOOK


def test_vents_are_counted_for_people():
    assert "Put 9 vents round it" in gas.check_vents("pond", 30.0, 9, LIMITS).advice[0].says
