"""Water while it is built, on a small pond in even ground whose groundwater is told to it."""

import dataclasses
import json
import math
from types import MappingProxyType, SimpleNamespace

import numpy as np
import pytest

from pondwright.base.figures import figures_of
from pondwright.base.findings import Grade
from pondwright.flow.engine import advance, section
from pondwright.flow.stages import STAGES, stages_for
from pondwright.job.codec import loads
from pondwright.job.groundwater import Groundwater
from pondwright.job.log import Log
from pondwright.rooms.groundwater.dewatering import (
    Strata,
    equivalent_radius,
    head_beside,
    shallow_pit_inflow,
    sichardt_reach,
)
from pondwright.rooms.groundwater.stage.pumping import pumping_stage
from tests.unit.site.hollow_jobs import MIDDLE, at, hollow_shots

READS = (
    "groundwater.building",
    "groundwater.readings",
    "groundwater.drains",
    "groundwater.outlets",
    "groundwater.sumps",
    "site.things",
    "rules",
)
NEEDS = ("site.ground", "site.old_hole", "site.layers", "shape.shore", "earth.subgrade")
TABLE = [
    stage for stage in STAGES if stage.name in {each.name for need in NEEDS for each in stages_for(need)}
]
BASE, PERMEABILITY = 90.0, 1e-5
DAY = 86_400.0


def pegs(half):
    corners = [(-half, -half), (half, -half), (half, half), (-half, half)]
    return [
        {"id": f"p{n}", "east": MIDDLE + east, "north": MIDDLE + north, "corner": True}
        for n, (east, north) in enumerate(corners)
    ]


def job(building=None, drains=None, things=None, marks=None, **groundwater):
    """A hollow of 2 m with water in it, and a square pond of 12 m to be dug there, down to 97 m."""
    return loads(
        json.dumps(
            {
                "format": 1,
                "id": "hollow",
                "name": "A hollow",
                "site": {
                    "shots": hollow_shots(),
                    "water_marks": {"usual": {"elevation": 99.5, "season": "usual"}, **(marks or {})},
                    "soils": {
                        "all": {"place": {"at": "whole"}, "layers": [{"kind": "silt", "thickness": 12.0}]}
                    },
                    "things": things or {},
                },
                "shape": {
                    "bodies": {
                        "pond": {
                            "outline": {"form": "ring", "curve": {"pegs": pegs(6.0)}},
                            "level": 99.5,
                            "bank_type": "steep",
                        }
                    },
                    "bank_types": {
                        "steep": {
                            "points": [{"distance": 0.0, "depth": 0.0}, {"distance": 2.5, "depth": 2.5}]
                        }
                    },
                },
                "groundwater": {"building": building or {}, "drains": drains or {}, **groundwater},
            }
        )
    )


def aquifer(ground, head, factors=(0.5, 1.0, 2.0), season="dry", wet=None):
    """Even ground over a tight base, its water level; in the wet season another, if told."""
    shape = ground.z.shape

    def fits(level):
        return SimpleNamespace(
            **{
                name: SimpleNamespace(
                    permeability=np.full((1, *shape), factor * PERMEABILITY), head=np.full(shape, level)
                )
                for name, factor in zip(("low", "likely", "high"), factors, strict=True)
            }
        )

    return SimpleNamespace(
        grid=ground.grid,
        known=True,
        ground=np.full(shape, 100.0),
        base=np.full(shape, BASE),
        layers_top=np.full((1, *shape), 100.0),
        layers_bottom=np.full((1, *shape), BASE),
        seasons={season: fits(head), **({} if wet is None else {"wet": fits(wet)})},
    )


UNKNOWN = SimpleNamespace(known=False, seasons={})


def told(document, head=99.0, **kinds):
    """Result and checks of the stage, over groundwater at a level; none for unknown."""
    run = advance(TABLE, None, document, Log(), "settle")
    results = {name: run.stages[name].result for name in NEEDS}
    ground = results["site.ground"]
    results["groundwater.aquifer"] = UNKNOWN if head is None else aquifer(ground, head, **kinds)
    view = {path: section(document, Log(), path) for path in READS}
    return pumping_stage(view, results)


def by_code(findings, code):
    return [finding for finding in findings if finding.code == code]


PUMPS = {"hired": {"flow": 0.004}, "day_pump": {"flow": 0.004, "day": 28_800.0}}


def test_the_dig_gets_the_water_of_dupuit_over_a_range_of_reach_and_permeability():
    result, _ = told(job())
    dig = result.digs["pond"]

    assert dig.floor == pytest.approx(97.0, abs=0.02)
    assert dig.kept == pytest.approx(dig.floor - 0.3)
    assert dig.head == pytest.approx(99.0) and dig.above_floor == pytest.approx(99.0 - dig.floor)
    drawdown = 99.0 - dig.kept
    assert dig.drawdown == pytest.approx(drawdown)
    rates = []
    for factor, wide in ((0.5, 2.0), (1.0, 1.0), (2.0, 0.5)):
        ground = Strata(np.array([100.0]), np.array([BASE]), np.array([factor * PERMEABILITY]))
        reach = dig.radius + wide * sichardt_reach(drawdown, factor * PERMEABILITY)
        rates.append(shallow_pit_inflow(ground, 99.0, dig.kept, dig.radius, reach))
    assert [dig.low, dig.likely, dig.high] == pytest.approx(rates, rel=1e-6)
    assert dig.low < dig.likely_far < dig.likely < dig.likely_near < dig.high


def test_the_round_well_stands_for_the_part_of_the_dig_that_is_below_the_water():
    deep, shallow = (told(job(), head)[0].digs["pond"] for head in (99.0, 97.5))

    assert deep.radius == pytest.approx(equivalent_radius(12.0, 12.0), rel=0.06)
    assert shallow.radius < deep.radius and shallow.likely < deep.likely


def test_the_dig_gets_what_a_seep_beside_it_was_measured_to_bring_too():
    seep = {"kind": "spring", "place": at(MIDDLE + 8.0, MIDDLE), "dry": 99.6, "dry_flow": 0.001}

    without, with_it = (told(job(readings=rows))[0].digs["pond"] for rows in ({}, {"seep": seep}))

    for what in ("low", "likely", "high", "likely_near", "likely_far"):
        assert getattr(with_it, what) == pytest.approx(getattr(without, what) + 0.001)
    assert with_it.time == pytest.approx(without.time)


def test_a_dig_above_the_water_gets_none():
    result, findings = told(job(), 96.0)
    dig = result.digs["pond"]

    assert (dig.low, dig.likely, dig.high, dig.time) == (0.0, 0.0, 0.0, 0.0)
    (found,) = by_code(findings, "groundwater.dig_water")
    assert found.grade is Grade.GOOD and found.value == pytest.approx(96.0 - dig.floor)
    assert not by_code(findings, "groundwater.dewatering")


def test_holding_the_water_lower_brings_more_of_it():
    little, much = (told(job({"dry_below": below}))[0].digs["pond"] for below in (0.1, 0.6))

    assert much.likely > little.likely and much.kept < little.kept


def test_pumps_that_lift_more_lower_the_water_sooner_and_too_small_ones_never():
    none, small, large = (
        told(job({"pumps": pumps}))[0].digs["pond"]
        for pumps in ({}, {"p": {"flow": 1e-6}}, {"p": {"flow": 0.01}})
    )

    assert small.time is None
    assert large.time < none.time and large.time_low <= large.time <= large.time_high


def test_the_old_pond_is_emptied_from_its_own_storage_no_faster_than_a_hand_a_day():
    result, findings = told(job({"pumps": PUMPS}), None)
    old = result.old_pond

    # Frustum: 8 m at the rim, 4 m at the toe, 2 m deep; water 0.5 m below the rim.
    radius = 4.0 + 4.0 * 1.5 / 2.0
    frustum = math.pi * 1.5 / 3.0 * (4.0**2 + 4.0 * radius + radius**2)
    assert old.start == pytest.approx(99.5) and old.volume == pytest.approx(frustum, rel=0.04)
    assert old.pumps["hired"].time == pytest.approx((old.start - old.floor) / 0.3 * DAY, rel=1e-9)
    assert old.pumps["hired"].run_time == pytest.approx(old.volume / 0.004, rel=1e-9)
    assert old.together.time <= old.pumps["hired"].time
    assert by_code(findings, "groundwater.bank_drop")[0].grade is Grade.LOOK
    assert by_code(findings, "groundwater.pump_out")[0].grade is Grade.GOOD


def test_without_a_limit_that_binds_the_hours_are_those_of_the_pump():
    result, findings = told(job({"pumps": PUMPS, "drop": 50.0}), None)
    hired, day_pump = (result.old_pond.pumps[name] for name in ("hired", "day_pump"))

    assert hired.time == pytest.approx(result.old_pond.volume / 0.004)
    assert day_pump.time == pytest.approx(3.0 * hired.time)
    assert day_pump.run_time == pytest.approx(hired.run_time)
    together = result.old_pond.together
    assert together.time == pytest.approx(result.old_pond.volume / (0.004 * (1.0 + 1.0 / 3.0)))
    assert together.run_time == pytest.approx(result.old_pond.volume / 0.008)
    assert by_code(findings, "groundwater.bank_drop")[0].grade is Grade.GOOD


def test_a_measured_seep_runs_into_the_old_pond_and_one_far_off_does_not():
    seep = {
        "kind": "seep",
        "place": at(MIDDLE + 8.0, MIDDLE),
        "dry": 99.6,
        "dry_flow": 0.001,
        "wet_flow": 0.002,
    }
    far = {**seep, "place": at(MIDDLE + 15.0, MIDDLE)}

    near_by, beyond = (told(job({"pumps": PUMPS}, readings={"seep": row}), None)[0] for row in (seep, far))

    assert near_by.old_pond.inflow == 0.001 and beyond.old_pond.inflow == 0.0
    wet = told(job({"pumps": PUMPS, "season": "wet"}, readings={"seep": seep}), None)[0]
    assert wet.old_pond.inflow == 0.002
    assert near_by.old_pond.pumps["hired"].pumped > beyond.old_pond.pumps["hired"].pumped


def test_more_runs_in_the_lower_it_stands_and_a_small_pump_is_held_by_it():
    result, findings = told(job({"pumps": {"small": {"flow": 1e-4}}}), 99.5, factors=(5.0, 10.0, 20.0))
    old = result.old_pond

    assert 0.0 <= old.inflow < old.inflow_empty < old.inflow_empty_high
    assert old.pumps["small"].time is None and old.pumps["small"].reached > old.floor
    assert by_code(findings, "groundwater.pump_out")[0].grade is Grade.LOOK


def test_a_pump_at_the_largest_useful_size_is_held_by_the_banks_alone():
    document = job({"pumps": PUMPS})
    useful = told(document, None)[0].old_pond.largest_useful_pump

    result, _ = told(job({"pumps": {"just": {"flow": useful}}}), None)

    slowest = (result.old_pond.start - result.old_pond.floor) / 0.3 * DAY
    assert result.old_pond.pumps["just"].time == pytest.approx(slowest, rel=1e-9)


def test_without_a_pump_it_says_which_one_to_hire_and_where_the_water_may_go():
    result, findings = told(job(), None)

    assert result.old_pond.together is None and result.old_pond.largest_useful_pump > 0.0
    assert by_code(findings, "groundwater.pump_out")[0].grade is Grade.LOOK
    assert by_code(findings, "groundwater.discharge")[0].grade is Grade.LOOK
    _, allowed = told(job({"goes": "Into the ditch; the neighbour agreed."}), None)
    assert by_code(allowed, "groundwater.discharge")[0].grade is Grade.GOOD


def test_where_nothing_was_read_nothing_is_said_of_the_dig():
    result, findings = told(job(), None)
    dig = result.digs["pond"]

    assert not result.known and dig.head is None and dig.likely is None and dig.time is None
    assert not by_code(findings, "groundwater.dig_water")
    # Unknown soil and water are taken as the worst for people in the pit.
    assert dig.rules.soil_type == "C"


def test_the_other_season_is_taken_where_only_that_was_read():
    result, _ = told(job({"season": "wet"}))

    assert result.known and result.digs["pond"].likely > 0.0


HOUSE = {"kind": "house", "name": "House", "place": at(MIDDLE + 16.0, MIDDLE)}


def test_a_house_beside_the_dig_loses_the_water_of_thiem():
    result, findings = told(job(things={"house": HOUSE}))
    dig, house = result.digs["pond"], result.beside["house"]

    assert house.distance == pytest.approx(10.0, abs=0.2)
    ground = Strata(np.array([100.0]), np.array([BASE]), np.array([PERMEABILITY]))
    reach = dig.radius + sichardt_reach(dig.drawdown, PERMEABILITY)
    stays = head_beside(ground, 99.0, dig.kept, dig.radius, reach, dig.radius + house.distance)
    assert house.likely == pytest.approx(99.0 - stays, abs=1e-9)
    assert house.low <= house.likely <= house.high
    (found,) = by_code(findings, "groundwater.drawdown_beside")
    assert found.value == house.high and (found.grade is Grade.LOOK) == (house.high > 0.3)


def test_a_house_farther_off_loses_less_and_one_too_near_needs_an_engineer():
    near = {**HOUSE, "place": at(MIDDLE + 9.0, MIDDLE)}
    far = {**HOUSE, "place": at(MIDDLE + 80.0, MIDDLE)}
    tree = {**HOUSE, "kind": "tree"}

    result, findings = told(job(things={"near": near, "far": far, "tree": tree}))

    assert set(result.beside) == {"near", "far"}
    assert result.beside["far"].high <= result.beside["near"].high
    grades = {found.where.paths[0]: found.grade for found in by_code(findings, "groundwater.building_near")}
    assert grades == {"site.things.near": Grade.LOOK, "site.things.far": Grade.GOOD}


def drain(**facts):
    """From beyond the rim under the pond to an outlet in the west."""
    points = [{"east": MIDDLE + 10.0, "north": MIDDLE}, {"east": MIDDLE - 14.0, "north": MIDDLE}]
    row = {"name": "Relief drain", "place": {"at": "line", "points": points}, "into": "ditch", **facts}
    return {"drains": {"relief": row}, "outlets": {"ditch": {"place": at(6.0, MIDDLE), "invert": 96.5}}}


def test_the_trench_of_a_drain_is_as_deep_as_its_gravel_and_begins_at_the_floor_of_the_dig():
    result, findings = told(job(**drain()))
    trench = result.trenches["relief"]

    # 12 m beyond the middle the meadow stands at 99.5 m, and the gravel 0.075 m below the pipe.
    assert trench.length == pytest.approx(24.0)
    assert trench.depth == pytest.approx(100.0 - (96.5 + 0.01 * 22.0) + 0.075, abs=0.25)
    assert trench.soil_type == "C" and trench.wet
    assert trench.lay_back == pytest.approx(1.5 * trench.depth)
    assert 0.0 < trench.deep_length < trench.length
    (found,) = by_code(findings, "groundwater.trench")
    assert found.value == trench.depth and "Relief drain" in found.says


@pytest.mark.parametrize(
    "facts",
    [
        pytest.param({"status": "existing"}, id="it is there already"),
        pytest.param({"into": None}, id="it leads nowhere and has no fall"),
    ],
)
def test_no_trench_is_dug_for_a_drain_that_is_not_laid(facts):
    assert told(job(**drain(**facts)))[0].trenches == {}


def test_a_shallow_drain_in_dry_firm_ground_may_stand_steeper():
    rows = drain(inverts=[99.2, 98.3])
    points = [{"east": MIDDLE + 13.0, "north": MIDDLE}, {"east": MIDDLE + 17.0, "north": MIDDLE}]
    rows["drains"]["relief"]["place"]["points"] = points

    result, findings = told(job(**rows), 90.5)

    assert (result.trenches["relief"].soil_type, result.trenches["relief"].wet) == ("B", False)
    assert by_code(findings, "groundwater.trench_egress")[0].grade is Grade.GOOD


def test_the_section_as_it_comes_has_no_pumps_and_a_drop_of_a_hand():
    building = Groundwater().building

    assert building.pumps == {} and building.drop is None and building.season == "dry"


def figures_in(value, path=""):
    """Values and inputs of all figures of a result, by path."""
    if isinstance(value, dict | MappingProxyType):
        for name, inside in value.items():
            yield from figures_in(inside, f"{path}.{name}")
    elif dataclasses.is_dataclass(value):
        own = figures_of(value)
        for name in value.__dataclass_fields__:
            held = getattr(value, name)
            if name in own:
                yield f"{path}.{name}", held, own[name].uses
            else:
                yield from figures_in(held, f"{path}.{name}")


PUMPED = {"small": {"flow": 0.004}, "day_pump": {"flow": 0.002, "day": 28_800.0}}
SPRING = {
    "kind": "seep",
    "place": at(MIDDLE + 8.0, MIDDLE),
    "dry": 99.6,
    "dry_flow": 0.0001,
    "wet_flow": 0.0003,
}


def whole(**building):
    """A job in which every figure of the stage has a value."""
    return {
        "building": {"pumps": PUMPED, "drop": 3.0, **building},
        "things": {"house": {**HOUSE, "place": at(MIDDLE + 8.0, MIDDLE)}},
        "marks": {"dry": {"elevation": 99.2, "season": "dry"}, "wet": {"elevation": 99.6, "season": "wet"}},
        "readings": {"seep": SPRING},
        **drain(inverts=[98.4, 98.2]),
    }


def with_drain(**facts):
    return {**whole(), **drain(**{"inverts": [98.4, 98.2], **facts})}


NUDGES = [
    ("groundwater.building.pumps", whole(pumps={**PUMPED, "small": {"flow": 0.006}})),
    ("groundwater.building.pumps", whole(pumps={**PUMPED, "day_pump": {"flow": 0.003, "day": 28_800.0}})),
    ("groundwater.building.pumps", whole(pumps={**PUMPED, "small": {"flow": 1.5e-4}})),
    ("groundwater.building.drop", whole(drop=0.2)),
    ("groundwater.building.season", whole(season="wet")),
    ("groundwater.building.dry_below", whole(dry_below=0.5)),
    ("site.things.*.place", {**whole(), "things": {"house": {**HOUSE, "place": at(MIDDLE + 7.5, MIDDLE)}}}),
    ("groundwater.drains.*.inverts", with_drain(inverts=[97.0, 96.7])),
    ("groundwater.drains.*.inverts", with_drain(inverts=[90.0, 89.0])),
    ("groundwater.drains.*.envelope", with_drain(envelope=3.0)),
    ("groundwater.drains.*.diameter", with_drain(diameter=0.4)),
]


def test_every_input_of_the_job_that_a_figure_lists_moves_it():
    seasons = {"season": "dry", "wet": 99.6}
    before = {path: (value, uses) for path, value, uses in figures_in(told(job(**whole()), **seasons)[0])}
    moved = {path: set() for path, _ in NUDGES}
    for path, rows in NUDGES:
        for name, value, _ in figures_in(told(job(**rows), **seasons)[0]):
            if name in before and value != before[name][0]:
                moved[path].add(name.rpartition(".")[2])

    listed = {
        path: {name.rpartition(".")[2] for name, (_, uses) in before.items() if path in uses}
        for path in moved
    }
    assert {path: names - moved[path] for path, names in listed.items()} == {path: set() for path in listed}
