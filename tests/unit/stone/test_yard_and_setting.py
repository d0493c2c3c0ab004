"""Measured stones get places, trucks are weighed, and machines are held to their charts."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from pondwright import api
from pondwright.base.errors import DocumentError
from pondwright.job.codec import loads
from pondwright.job.edits import Edit
from pondwright.rooms.stone.checks.lifting import LIMITS, check_sling
from pondwright.rooms.stone.lifting import machine_for
from tests.unit.shape.ponds import Computed
from tests.unit.stone.shelved import POND, stone_class, treatment, values, with_brook

CLASSES = {
    "edge": stone_class(0.45, 0.7),
    "flat": stone_class(0.5, 0.8, shape="slab"),
    "big": stone_class(0.8, 1.0),
}
EDGE = {"rim": treatment("courses", POND, ("edge", 1.0))}
FALL = {
    "upper": {"body": "brook", "step": 0, "width": 1.2, "spill": "flat", "frame": "big", "name": "Upper fall"}
}
CHART = [(2.0, 1800.0), (3.0, 1131.0), (4.0, 800.0), (5.0, 600.0)]


def piece(length, width, height, **more):
    return {"length": length, "width": width, "height": height, **more}


def at(east, north):
    return {"at": "point", "east": east, "north": north}


def digger(**more):
    return {"chart": [{"radius": radius, "capacity": mass} for radius, mass in CHART], **more}


def job(pieces=None, lifters=None, falls=None, **more):
    found = values(
        classes=CLASSES, treatments=EDGE, pieces=pieces or {}, lifters=lifters or {}, falls=falls or FALL
    )
    found.update(more)
    return with_brook(found)


def yard(*given, **more):
    return Computed(job(*given, **more), "stone.yard")


def setting(*given, **more):
    return Computed(job(*given, **more), "stone.setting")


STONES = {
    "a": piece(0.9, 0.6, 0.25, shape="slab", tag="S1"),
    "b": piece(1.2, 0.9, 0.6, tag="B1", role="frame"),
    "c": piece(0.8, 0.6, 0.5, tag="E1"),
    "d": piece(1.8, 1.5, 0.9, tag="G1"),
}


def test_measured_stones_get_places_by_role_size_and_shape():
    found = yard(STONES)
    stones = found["stone.yard"].stones

    assert stones["a"].place == "fall_upper_spill"
    assert stones["b"].place == "fall_upper_frame"
    assert stones["c"].place.startswith("edge_rim")
    assert (stones["d"].place, stones["d"].says) == (
        "",
        "Left over: larger than what any of its places wants",
    )
    assert found.finding("stone.yard_left").says == (
        "Without a place: G1 (larger than what any of its places wants)."
    )


def test_the_lip_of_a_fall_is_where_the_stream_first_steps():
    found = yard(STONES)

    assert found["stone.yard"].stones["a"].point == pytest.approx((2.0, 9.0), abs=0.05)


def test_stones_of_a_fall_are_counted_and_those_to_choose_are_named():
    found = yard(STONES)
    spill = found["stone.yard"].places["fall_upper_spill"]

    assert (spill.needed, spill.dealt, spill.missing) == (spill.needed, 1, spill.needed - 1)
    [told] = found.findings["stone.yard_missing"]
    assert told.says.startswith("Not chosen yet for Upper fall: ")
    assert told.value == sum(
        place.missing for key, place in found["stone.yard"].places.items() if key.startswith("fall_")
    )


def test_a_stone_on_the_plan_keeps_its_place_and_takes_one_of_its_fall():
    own = STONES["a"] | {"place": at(2.0, 14.0), "fall": "upper", "role": "spill"}
    found = yard({"a": own, "e": piece(0.9, 0.62, 0.25, shape="slab")})["stone.yard"]

    assert found.stones["a"].place == "own"
    assert found.places["fall_upper_spill"].dealt == 2


def kept(found):
    """The job after its deal was kept."""
    start = loads(json.dumps(job(STONES)))
    return api.edit(start, Edit("keep", 0, found["stone.yard"].keep, "Keep the places"))


def test_a_deal_that_was_kept_stays_and_a_wrong_stone_moves_no_other():
    first = yard(STONES)
    assert first.finding("stone.yard_changed").advice[0].ops == first["stone.yard"].keep

    again = json.loads(api_text(kept(first)))
    same = Computed(again, "stone.yard")["stone.yard"]
    again["stone"]["pieces"]["c"]["width"] = again["stone"]["pieces"]["c"]["length"] = 1.9
    wrong = Computed(again, "stone.yard")

    assert (same.changed, same.keep) == (0, ())
    assert wrong["stone.yard"].stones["a"].place == same.stones["a"].place
    assert wrong["stone.yard"].stones["b"].place == same.stones["b"].place
    assert wrong["stone.yard"].stones["c"].place == ""
    assert wrong.finding("stone.yard_changed").says.endswith("E1.")


def api_text(made):
    return made.model_dump_json(exclude_defaults=True)


@pytest.mark.parametrize(("payload", "grade"), [(9_000.0, "good"), (3_000.0, "stop")])
def test_a_truck_is_weighed_against_what_it_may_carry(payload, grade):
    stones = {name: stone | {"truck": "tipper"} for name, stone in STONES.items()}
    found = yard(stones, earth={"trucks": {"tipper": {"box": 8.0, "payload": payload}}})

    assert found.finding("stone.truck_load").grade == grade
    assert found["stone.yard"].trucks["tipper"].mass == pytest.approx(
        sum(stone.mass for stone in found["stone.yard"].stones.values())
    )


def test_stones_without_a_truck_are_packed_and_one_too_heavy_is_told():
    stones = {
        name: stone | {"stands": "yard", "mass": mass}
        for (name, stone), mass in zip(STONES.items(), (4_000.0, 9_000.0, 5_000.0, 14_000.0), strict=True)
    }
    found = yard(stones)

    assert found["stone.yard"].trips == (("d",), ("b", "a"), ("c",))
    assert [each.says for each in found.findings["stone.truck_load"]] == [
        "Stone G1 alone is more than a truck here may carry."
    ]


def test_bought_stone_comes_in_loads_in_the_order_in_which_it_is_set():
    found = yard()["stone.yard"]
    order = sorted(found.classes, key=lambda key: found.classes[key].order)

    assert order.index("edge") < order.index("flat")
    assert found.loads == sum(each.loads for each in found.classes.values()) > 0
    assert found.staging > 0.0
    assert found.stones == {}


def test_without_a_machine_the_heaviest_stone_is_told():
    found = setting()

    told = found.finding("stone.lifter")
    assert told.grade == "look" and told.value > 1_000.0
    assert "a crane" in told.advice[1].says or "excavator" in told.advice[1].says
    assert found["stone.setting"].out_of_reach is None


def test_a_machine_sets_what_its_chart_holds_from_outside_the_water():
    found = setting(lifters={"digger": digger()})
    edge = next(place for key, place in found["stone.setting"].places.items() if key.startswith("edge_rim"))

    # Set back 2 m: the row at 3 m counts, which holds what the largest edge stone weighs, wet.
    assert 2.0 < edge.radius <= 3.0 and edge.capacity == 1131.0
    assert edge.mass == pytest.approx(1.05 * 0.85 * 2650.0 * 0.7**3)
    assert edge.share == 1.0 and edge.within.all()
    assert found["stone.setting"].lifters["digger"].assumed
    assert "anywhere outside the water" in found.finding("stone.lift").assumes[0]


def test_what_no_machine_may_set_is_told_with_what_would():
    found = setting(lifters={"digger": digger()})
    frames = [each for each in found.findings["stone.lift"] if ", big" in each.says]

    assert [each.grade for each in frames] == ["stop"]
    assert frames[0].value > frames[0].limit
    ways = " ".join(advice.says for advice in frames[0].advice)
    assert "Take smaller stones there: up to" in ways and "at a first guess a 14 t excavator" in ways
    assert any("Nobody stands below" in word for word in frames[0].assumes)


@pytest.mark.parametrize(
    ("stand", "verdict"), [((2.0, 2.0), "set"), ((6.0, 2.0), "nearer"), ((20.0, 20.0), "nearer")]
)
def test_a_stone_on_the_plan_is_lifted_from_the_stands_that_are_told(stand, verdict):
    stones = {"c": STONES["c"] | {"place": at(2.0, 4.0), "mass": 900.0}}
    lifters = {"digger": digger(stands=[{"east": stand[0], "north": stand[1]}])}
    found = setting(stones, lifters)["stone.setting"].stones["c"]

    assert found.verdict == verdict
    assert found.stand == stand
    assert found.radius == pytest.approx(np.hypot(stand[0] - 2.0, stand[1] - 4.0))
    assert found.reach == 3.0


def test_a_row_that_tells_both_loads_lifts_the_least_of_their_shares():
    lifters = {"digger": {"chart": [{"radius": 3.0, "tipping": 1600.0, "hydraulic": 1300.0}]}}
    found = setting(lifters=lifters)["stone.setting"]

    assert found.lifters["digger"].largest[0] == pytest.approx(0.795 / 1.05 ** (1 / 3), abs=1e-3)


def test_a_row_that_tells_nothing_is_refused_in_one_sentence():
    with pytest.raises(DocumentError, match="capacity` must be told, or both"):
        setting(lifters={"digger": {"chart": [{"radius": 3.0}]}})


@pytest.mark.parametrize(("leg", "grade"), [(1.5, "good"), (0.6, "stop")])
def test_a_short_sling_is_refused(leg, grade):
    stones = {"c": STONES["c"] | {"place": at(2.0, 4.0), "length": 1.0}}
    found = setting(stones, {"digger": digger(sling=leg)})

    assert found.finding("stone.sling").grade == grade
    assert (found["stone.setting"].stones["c"].leg is None) == (grade == "stop")


def test_a_machine_within_the_water_stands_on_its_liner():
    found = setting(lifters={"digger": digger(name="the digger", stands=[{"east": 15.0, "north": 15.0}])})

    told = found.finding("stone.stand_on_liner")
    assert told.grade == "look" and "The digger stands within `pond`" in told.says
    assert "never on bare liner" in told.advice[1].says


def test_a_machine_needs_pads_where_the_ground_bears_less_than_its_worst_edge():
    light = setting(lifters={"digger": digger(mass=3000.0, contact=6.0)})
    heavy = setting(lifters={"digger": digger(mass=9000.0, contact=3.0)})
    untold = setting(lifters={"digger": digger(mass=9000.0)})

    assert light.finding("stone.ground_pressure").grade == "good"
    assert heavy.finding("stone.ground_pressure").grade == "look"
    assert "stone.ground_pressure" not in untold.findings
    assert heavy["stone.setting"].lifters["digger"].pads > 9000.0 * 9.8 / 30_000.0


def test_stones_on_a_level_shelf_stay_and_those_on_a_slope_are_told():
    level = setting(lifters={"digger": digger()})
    steep = job()
    steep["shape"]["bank_types"]["shelved"]["points"] = [
        {"distance": 0.0, "depth": 0.0},
        {"distance": 0.0, "depth": 0.3},
        {"distance": 2.0, "depth": 1.5},
    ]

    assert level.finding("stone.slide").grade == "good"
    assert Computed(steep, "stone.setting").finding("stone.slide").grade == "look"


def test_a_light_stone_to_stand_on_may_tip():
    stones = {
        "step": piece(0.5, 0.4, 0.1, role="stand", shape="slab", place=at(6.0, 15.0), tag="step"),
        "seat": piece(1.2, 0.8, 0.5, role="seat", place=at(2.0, 15.0), tag="seat"),
    }
    found = {each.says: each.grade for each in setting(stones).findings["stone.stands_firm"]}

    assert found == {
        "Stone step may tip when someone steps on its rim.": "look",
        "Stone seat is heavy enough to stand on.": "good",
    }


def test_a_stone_to_be_removed_is_neither_dealt_nor_set():
    gone = {"a": piece(0.9, 0.6, 0.25, shape="slab", status="remove")}

    assert not yard(gone)["stone.yard"].stones


def test_a_job_may_not_let_the_legs_of_a_sling_stand_flatter_than_45_degrees():
    flat = math.radians(35.0)
    limit = next(each for each in LIMITS if each.code == "stone.sling")
    limits = {"stone.sling": replace(limit, value=math.radians(30.0))}

    assert check_sling("one", "it", flat, 0.0, 1.2, limits).grade == "stop"


def test_no_machine_is_named_for_a_place_beyond_its_reach():
    assert machine_for(50.0, 7.0) == "a 14 t excavator"
    assert machine_for(50.0, 12.0) == "a crane"
