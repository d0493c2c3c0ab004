"""Drains of a small job: their profiles, what is said about them, and routes for those that are missing."""

import json
from itertools import pairwise

import numpy as np
import pytest

from pondwright.base.findings import Grade
from pondwright.job.codec import loads
from tests.unit.groundwater.drained import drained_values, profiled, routed

FEET = 0.3048


def line(*points):
    return {"at": "line", "points": [{"east": float(east), "north": float(north)} for east, north in points]}


def relief_of_twelve_inches():
    """A relief line across a pond about 30 m wide, 12 in above the bottom of its outlet pipe."""
    values = drained_values({"place": line((0.0, 15.0), (30.0, 15.0)), "inverts": [97.7 + FEET, 97.7]})
    values["groundwater"]["outlets"]["ditch"]["place"] = {"at": "point", "east": 30.0, "north": 15.0}
    return values


def test_a_relief_line_of_twelve_inches_across_thirty_metres_falls_well_by_one_percent():
    result, found = profiled(relief_of_twelve_inches())

    assert result.lines["relief"].fall == pytest.approx(0.01016)
    assert found["drain_fall"].grade is Grade.GOOD
    assert "falls well by gravity" in found["drain_fall"].says
    assert found["drain_build"].grade is Grade.GOOD


@pytest.mark.parametrize(
    ("upper", "grade", "code", "words"),
    [
        pytest.param(97.7 + 0.15, Grade.LOOK, "drain_fall", "laid with great care", id="0.6 %: care"),
        pytest.param(97.7 + 0.025, Grade.STOP, "drain_least", "too little", id="0.1 %: not built"),
        pytest.param(97.7 - 0.1, Grade.STOP, "drain_least", "does not fall", id="it climbs"),
    ],
)
def test_a_drain_that_falls_little_is_told_so(upper, grade, code, words):
    _, found = profiled(drained_values({"inverts": [upper, 97.7]}))

    assert found[code].grade is grade
    assert words in found[code].says


def test_a_tenth_of_a_percent_can_come_out_climbing():
    _, found = profiled(drained_values({"inverts": [97.725, 97.7]}))

    assert found["drain_build"].grade is Grade.LOOK
    assert "climbing" in found["drain_build"].says


def test_an_uneven_drain_is_offered_one_fall_between_its_ends():
    points = line((15.0, 26.0), (15.0, 14.0), (15.0, 1.0))
    _, found = profiled(drained_values({"place": points, "inverts": [98.3, 97.71, 97.7]}))

    [even] = found["drain_least"].advice[0].ops
    falls = [(a - b) / length for (a, b), length in zip(pairwise(even.value), (12.0, 13.0), strict=True)]
    assert falls == pytest.approx([0.024, 0.024], abs=1e-4)


def test_a_profile_tells_what_lies_over_the_pipe_outside_and_under_the_pond():
    result, found = profiled(drained_values())
    profile = result.lines["relief"]

    assert profile.upper == pytest.approx(98.2)
    assert profile.lined.any() and not profile.lined.all()
    assert profile.least_bedding == pytest.approx(profile.cover[profile.lined].min())
    assert 0.0 < profile.least_bedding < profile.least_cover
    assert found["drain_cover"].grade is found["drain_liner"].grade is Grade.GOOD


def test_a_drain_that_comes_out_of_the_pond_s_floor_is_a_stop():
    _, found = profiled(drained_values({"inverts": [99.4, 98.6]}))

    assert found["drain_liner"].grade is Grade.STOP
    assert "stands out of the liner" in found["drain_liner"].says


def test_a_drain_close_below_the_ground_is_looked_at():
    _, found = profiled(drained_values({"inverts": [99.9, 97.7]}))

    assert found["drain_cover"].grade is Grade.LOOK


def test_more_water_than_a_drain_carries_is_a_stop_with_a_pipe_that_does():
    result, found = profiled(drained_values(), flows={"relief": 0.010})

    assert result.lines["relief"].capacity < 0.010
    assert found["drain_capacity"].grade is Grade.STOP
    [wider] = found["drain_capacity"].advice[0].ops
    _, again = profiled(drained_values({"diameter": wider.value}), flows={"relief": 0.010})
    assert again["drain_capacity"].grade is Grade.GOOD


def test_a_seep_that_was_measured_counts_where_the_model_brings_less():
    seep = {"kind": "seep", "place": {"at": "point", "east": 15.0, "north": 25.0}, "wet_flow": 0.0009}
    far = {**seep, "place": {"at": "point", "east": 2.0, "north": 25.0}}

    near, _ = profiled(drained_values(readings={"seep": seep}), flows={"relief": 0.0002})
    off, _ = profiled(drained_values(readings={"seep": far}), flows={"relief": 0.0002})

    assert near.lines["relief"].inflow == pytest.approx(0.0009)
    assert off.lines["relief"].inflow == pytest.approx(0.0002)


def test_without_any_reading_nothing_is_said_about_its_flow():
    result, found = profiled(drained_values())

    assert result.lines["relief"].inflow is None
    assert "drain_capacity" not in found


def test_a_flood_below_the_pond_leaves_the_drain_working():
    result, found = profiled(drained_values(outlet={"flood": 97.8}))

    assert result.lines["relief"].flooded == pytest.approx(5.0)
    assert found["drain_outlet"].grade is Grade.LOOK
    assert found["drain_flood"].grade is Grade.GOOD
    assert "even when" in found["drain_flood"].says


def test_a_flood_that_stands_over_the_liner_is_a_stop():
    _, found = profiled(drained_values(outlet={"flood": 99.9}))

    assert found["drain_flood"].grade is Grade.STOP


def test_a_drain_well_above_the_flood_runs_out_freely():
    _, found = profiled(drained_values(outlet={"flood": 97.3}))

    assert found["drain_outlet"].grade is Grade.GOOD


def test_pipe_on_hand_is_laid_first_and_never_more_than_there_is():
    result, _ = profiled(drained_values(pipes={"left_over": {"length": 18.3, "diameter": 0.1524}}))

    profile, stock = result.lines["relief"], result.stock["left_over"]
    assert profile.on_hand == stock.used == pytest.approx(18.3)
    assert profile.to_buy == result.to_buy == pytest.approx(25.0 - 18.3)
    assert stock.left == pytest.approx(0.0)


def test_a_drain_that_is_there_needs_no_pipe_and_no_trench():
    result, _ = profiled(
        drained_values({"status": "existing"}, pipes={"p": {"length": 9.0, "diameter": 0.2}})
    )

    assert result.lines["relief"].to_buy == result.lines["relief"].dug == result.stock["p"].used == 0.0


def test_a_drain_that_ends_short_is_offered_its_end():
    _, found = profiled(drained_values({"place": line((15.0, 26.0), (15.0, 3.0))}))

    assert found["drain_gap"].value == pytest.approx(2.0)
    assert found["drain_gap"].advice[0].ops[0].value == {"east": 15.0, "north": 1.0}


def test_a_drain_into_a_narrower_one_is_looked_at():
    values = drained_values()
    values["groundwater"]["drains"]["side"] = {
        "place": line((5.0, 5.0), (15.0, 5.0)),
        "into": "relief",
        "diameter": 0.1524,
    }

    result, found = profiled(values, flows={"relief": 0.001, "side": 0.002})

    assert found["drain_wider"].grade is Grade.LOOK
    assert result.lines["relief"].inflow == pytest.approx(0.003)
    assert result.lines["side"].lower == pytest.approx(97.78)


@pytest.mark.parametrize(
    ("depth", "grade"),
    [(0.6, Grade.GOOD), (1.9, Grade.LOOK), (None, Grade.LOOK)],
    ids=["clear", "close", "?"],
)
def test_a_buried_service_that_is_crossed_is_told(depth, grade):
    values = drained_values()
    values["site"]["things"] = {
        "line": {"kind": "utility", "place": line((5.0, 4.0), (25.0, 4.0)), "depth": depth, "sure": 0.1}
    }

    _, found = profiled(values)

    assert found["drain_service"].grade is grade


def test_gravel_and_fabric_are_held_against_the_soil():
    grains = {
        "gravels": {"pea": {"d15": 0.005, "d85": 0.009, "d100": 0.09, "fines": 0.08}},
        "soil_grains": {"silt": {"d15": 5e-6, "d85": 6e-5, "fines": 0.9, "uniformity": 6.0}},
        "fabrics": {"cloth": {"opening": 0.0004, "permittivity": 0.05, "strength": 3}},
    }

    _, by_gravel = profiled(drained_values({"gravel": "pea", "opening": 0.02}, **grains))
    _, by_fabric = profiled(drained_values({"fabric": "cloth"}, **grains))

    for code in ("filter_soil", "filter_fines", "filter_largest", "filter_pipe"):
        assert by_gravel[code].grade is Grade.LOOK, code
    assert by_gravel["filter_water"].grade is Grade.GOOD
    for code in ("fabric_water", "fabric_opening", "fabric_holds", "fabric_strength"):
        assert by_fabric[code].grade is Grade.LOOK, code


def test_good_gravel_and_good_fabric_pass():
    grains = {
        "gravels": {"sand": {"d15": 0.0004, "d85": 0.003, "d100": 0.02, "fines": 0.01}},
        "soil_grains": {"silt": {"d15": 5e-6, "d85": 6e-5, "fines": 0.9, "uniformity": 6.0}},
        "fabrics": {"cloth": {"opening": 6e-5, "permittivity": 0.5, "strength": 2}},
    }

    _, by_gravel = profiled(drained_values({"gravel": "sand", "opening": 0.001}, **grains))
    _, by_fabric = profiled(drained_values({"fabric": "cloth"}, **grains))

    told = [
        one for one in (*by_gravel.items(), *by_fabric.items()) if one[0].startswith(("filter", "fabric"))
    ]
    assert len(told) == 9
    assert {finding.grade for _, finding in told} == {Grade.GOOD}


def test_a_slotted_drain_with_nothing_round_it_is_looked_at():
    _, found = profiled(drained_values({"envelope": 0.02}))

    assert found["filter_told"].grade is found["drain_envelope"].grade is Grade.LOOK


def sump_values(**sump):
    pit = {
        "place": {"at": "point", "east": 15.0, "north": 1.0},
        "on": 97.9,
        "off": 97.6,
        "pump": 0.002,
        **sump,
    }
    return drained_values({"into": "pit"}, sumps={"pit": pit})


def test_a_sump_tells_its_volume_and_what_it_lacks_in_a_power_cut():
    result, found = profiled(sump_values(), flows={"relief": 0.0002})

    assert result.pits["pit"].volume == pytest.approx(0.30)
    assert result.pits["pit"].area == pytest.approx(1.0)
    assert result.pits["pit"].time == pytest.approx(1500.0)
    assert found["sump_pump"].grade is Grade.GOOD
    assert found["sump_standby"].grade is Grade.LOOK
    assert "no second pump and no power" in found["sump_standby"].says


def test_a_pump_that_is_too_small_is_a_stop_and_a_whole_sump_is_good():
    _, found = profiled(sump_values(standby=True, backup=36_000.0), flows={"relief": 0.003})

    assert found["sump_pump"].grade is Grade.STOP
    assert found["sump_standby"].grade is Grade.GOOD


def test_a_drain_that_leads_nowhere_has_no_profile():
    result, found = profiled(drained_values({"into": None}))

    assert dict(result.lines) == {} and found == {}


def test_a_route_leads_from_under_the_pond_to_the_outlet_and_its_edit_is_a_sound_drain():
    values = drained_values()
    del values["groundwater"]["drains"]

    result, found = routed(values, 99.6)

    route = result.routes["pond_ditch"]
    assert found["can_fall"].grade is Grade.GOOD
    [op] = route.ops
    values["groundwater"]["drains"] = {op.path.rpartition("/")[2]: op.value}
    again, checks = profiled(json.loads(json.dumps(values)))
    profile = again.lines["pond_drain"]
    assert profile.fall >= 0.01
    assert profile.length == pytest.approx(route.length, abs=0.01)
    assert {checks[code].grade for code in ("drain_fall", "drain_build", "drain_liner")} == {Grade.GOOD}


def test_an_outlet_beyond_the_survey_is_told_and_no_way_is_looked_for():
    values = drained_values(outlet={"place": {"at": "point", "east": 500.0, "north": 1.0}, "name": "swale"})
    del values["groundwater"]["drains"]

    result, found = routed(values, 99.6)

    assert not result.routes
    assert found["outlet_place"].grade is Grade.LOOK
    assert found["outlet_place"].says.startswith("Swale lies beyond the surveyed ground")
    assert "outlet_place" not in routed(drained_values(), 99.6)[1]


def test_no_route_is_needed_where_no_groundwater_pushes_or_nobody_knows():
    values = drained_values()
    del values["groundwater"]["drains"]

    assert routed(values, 90.0)[1] == routed(values, None)[1] == {}


def test_a_place_from_which_none_can_fall_needs_a_sump():
    values = drained_values(outlet={"invert": 98.4})
    del values["groundwater"]["drains"]

    result, found = routed(values, 99.6)

    assert result.stuck == ("pond",)
    assert found["can_fall"].grade is Grade.LOOK
    assert "sump" in found["can_fall"].advice[0].says


def test_a_route_keeps_off_trees_and_crosses_a_service_only_where_it_must():
    values = drained_values()
    del values["groundwater"]["drains"]
    values["site"]["things"] = {
        "oak": {"kind": "tree", "place": {"at": "point", "east": 15.0, "north": 5.0}, "size": 4.0},
        "main": {"kind": "utility", "place": line((-5.0, 3.0), (40.0, 3.0)), "depth": 0.7},
    }

    route = routed(values, 99.6)[0].routes["pond_ditch"]

    away = [np.hypot(*(np.array(place) - (15.0, 5.0))) for place in along(route.points)]
    assert min(away) >= 2.0 - 1e-6
    assert route.crosses == ("main",)


def along(points):
    return [a + share * (b - a) for a, b in pairwise(points) for share in np.linspace(0.0, 1.0, 50)]


def test_a_seep_that_a_drain_takes_already_asks_for_no_route():
    seep = {"kind": "seep", "place": {"at": "point", "east": 15.0, "north": 25.0}}

    taken, _ = routed(drained_values(readings={"seep": seep}), None)
    values = drained_values(readings={"seep": seep})
    del values["groundwater"]["drains"]
    free, _ = routed(values, None)

    assert list(taken.routes) == []
    assert list(free.routes) == ["seep_ditch"]
    assert loads(json.dumps(values)).groundwater.readings["seep"].kind == "seep"
