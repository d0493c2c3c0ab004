"""The haul plan against brute force, and what every plan keeps; machines and piles against closed forms."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright.base.errors import DocumentError
from pondwright.base.findings import Grade
from pondwright.geometry.grid import Grid
from pondwright.rooms.earth.haul import (
    MUCK,
    NOWHERE,
    OFF_SITE,
    PILE,
    PLACED,
    SOIL,
    TOPSOIL,
    End,
    Source,
    blocks,
    haul_plan,
)
from pondwright.rooms.earth.machines import STANDARD_CARRIER, carry_time
from pondwright.rooms.earth.piles import heap, pile_capacity, pile_height
from pondwright.rooms.earth.stage.leaving import Sites, leaving_of, resolution_of
from tests.unit.shape.ponds import Computed, job_values

TIMES = {stream: lambda distance: 60.0 + distance for stream in (TOPSOIL, MUCK, SOIL)}
BANK = frozenset((SOIL,))
ANY = frozenset((TOPSOIL, MUCK, SOIL))

amounts = st.integers(1, 9).map(float)
places = st.tuples(st.integers(0, 50), st.integers(0, 50))
three_places = st.lists(places, min_size=3, max_size=3, unique=True)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(places, st.sampled_from((TOPSOIL, MUCK, SOIL)), amounts), min_size=1, max_size=6))
def test_every_cubic_metre_goes_somewhere_and_none_is_made(rows):
    sources = [Source(*place, stream, volume) for place, stream, volume in rows]
    soil = sum(source.volume for source in sources if source.stream == SOIL)
    ends = [
        End("bank", PLACED, 10.0, 10.0, BANK, need=0.5 * soil),
        End("heap", PILE, 30.0, 5.0, frozenset((TOPSOIL,)), room=6.0),
        End("gate", OFF_SITE, 50.0, 50.0, frozenset((SOIL, MUCK)), extra=900.0),
    ]

    plan = haul_plan(sources, ends, TIMES)

    for stream in (TOPSOIL, MUCK, SOIL):
        dug = sum(source.volume for source in sources if source.stream == stream)
        assert sum(haul.volume for haul in plan.hauls if haul.stream == stream) == pytest.approx(dug)
    assert plan.volume_to("bank") == pytest.approx(0.5 * soil)
    assert plan.volume_to("bank", TOPSOIL) == plan.volume_to("bank", MUCK) == 0.0
    assert plan.volume_to("heap") <= 6.0 + 1e-6


@settings(max_examples=25, deadline=None)
@given(three_places, three_places)
def test_the_plan_is_the_best_of_all_pairings(starts, stops):
    sources = [Source(*place, SOIL, 1.0) for place in starts]
    ends = [End(f"b{k}", PLACED, *place, BANK, need=1.0) for k, place in enumerate(stops)]

    plan = haul_plan(sources, ends, TIMES)

    best = min(
        sum(60.0 + math.dist(starts[one], stops[other]) for one, other in enumerate(order))
        for order in itertools.permutations(range(3))
    )
    assert plan.time == pytest.approx(best)


def test_what_has_no_place_is_told_and_costs_no_machine_time():
    plan = haul_plan([Source(0.0, 0.0, TOPSOIL, 5.0)], [End("bank", PLACED, 1.0, 1.0, BANK)], TIMES)

    [haul] = plan.hauls
    assert haul.end.kind == NOWHERE and haul.volume == 5.0 and plan.time == 0.0


def test_more_to_place_than_is_dug_is_told_as_short_and_comes_from_nowhere():
    plan = haul_plan([Source(0.0, 0.0, SOIL, 5.0)], [End("bank", PLACED, 1.0, 1.0, BANK, need=9.0)], TIMES)

    assert plan.short == pytest.approx(4.0) and plan.volume_to("bank") == pytest.approx(5.0)
    assert [haul.start for haul in plan.hauls] == [(0.0, 0.0)]


def test_soil_that_is_brought_is_known_by_its_gate():
    sources = [Source(0.0, 0.0, SOIL, 5.0), Source(40.0, 0.0, SOIL, 4.0, extra=2000.0, name="off site farm")]
    plan = haul_plan(sources, [End("bank", PLACED, 1.0, 1.0, BANK, need=9.0)], TIMES)

    assert plan.volume_to("bank") == pytest.approx(9.0)
    assert plan.volume_from("off site farm") == pytest.approx(4.0)
    assert plan.road == pytest.approx(4.0 * 2000.0)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**31), st.floats(0.5, 9.0))
def test_blocks_hold_what_their_cells_hold(seed, size):
    grid = Grid(3.0, -2.0, 0.5, columns=14, rows=11)
    volume = np.random.default_rng(seed).uniform(0.0, 1.0, grid.cells_shape) ** 3

    middles, sums = blocks(volume, grid, size)

    assert sums.sum() == pytest.approx(volume.sum(), rel=1e-5)
    assert np.all(middles >= (3.0, -2.0)) and np.all(middles <= (3.0 + 6.5, -2.0 + 5.0))


@settings(max_examples=60, deadline=None)
@given(st.floats(0.1, 500.0), st.floats(0.3, 1.2), st.floats(0.5, 6.0))
def test_a_heap_holds_its_volume_and_keeps_its_angle_and_its_height(volume, angle, most):
    found = heap(volume, angle, most)

    assert found.volume == pytest.approx(volume, rel=1e-9)
    assert found.height <= most + 1e-9
    assert (found.radius - found.top_radius) * math.tan(angle) == pytest.approx(found.height, rel=1e-9)


def test_a_long_pile_takes_a_ridge_with_hipped_ends():
    ring = np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 6.0], [0.0, 6.0]])

    # Hipped roof at 45 degrees: prism over 14 m and two half pyramids.
    exact = 0.5 * 6.0 * 3.0 * 14.0 + 6.0 * 6.0 * 3.0 / 3.0
    assert pile_capacity(ring, math.radians(45.0), 9.0) == pytest.approx(exact, rel=5e-3)
    assert pile_capacity(ring, math.radians(45.0), 3.0) == pytest.approx(exact, rel=1e-6)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.02, 1.0), st.floats(0.2, 1.2), st.floats(0.5, 3.0), st.floats(3.0, 12.0))
def test_a_pile_is_as_high_as_its_soil_needs(share, angle, most, wide):
    ring = np.array([[0.0, 0.0], [20.0, 0.0], [20.0, wide], [0.0, wide]])
    loose = share * pile_capacity(ring, angle, most)

    height = pile_height(loose, ring, angle, most)

    assert height <= most
    assert pile_capacity(ring, angle, height) == pytest.approx(loose, rel=5e-3)


def test_a_longer_way_takes_longer():
    times = [carry_time(STANDARD_CARRIER, distance, 1.25) for distance in (0.0, 10.0, 60.0)]

    assert times == sorted(times) and times[0] > 0.0


def computed(level=100.0, things=None, bounds=None, rules=None, bodies=None, **earth):
    values = job_values(fall=0.03, nodes=121, level=level)
    values["shape"]["bodies"] |= bodies or {}
    values["site"] |= {"things": things or {}, "bounds": bounds or {}}
    values["rules"] = rules or {}
    soil = {
        "place": {"at": "whole"},
        "layers": [
            {"kind": "topsoil", "thickness": 0.2},
            {"kind": "muck", "thickness": 0.1},
            {"kind": "silt"},
        ],
    }
    values["site"]["soils"] = {"meadow": soil}
    values["earth"] = earth
    return Computed(values, upto="earth.haul")


def point(east, north):
    return {"at": "point", "east": east, "north": north}


HEAPS = {
    "topsoil": {"place": point(3.0, 3.0), "takes": "topsoil"},
    "wet": {"place": point(27.0, 3.0), "takes": "muck"},
}
TIP = {"way": "export", "gate": point(29.0, 29.0), "distance": 8000.0, "takes": "soil"}


def test_the_plan_moves_what_the_account_of_the_soil_says():
    found = computed(piles=HEAPS, off_site={"tip": TIP})
    haul, soil = found["earth.haul"], found["earth.soil"]

    kinds = soil.by_kind
    dug = {kind: each.dug + each.stripped for kind, each in kinds.items()}
    assert haul.piles["topsoil"].topsoil == pytest.approx(dug["topsoil"], rel=1e-6)
    assert haul.piles["wet"].muck == pytest.approx(dug["muck"], rel=1e-6)
    assert haul.to_banks + haul.gates["tip"].soil == pytest.approx(dug["silt"], rel=1e-6)
    assert haul.gates["tip"].soil == pytest.approx(max(soil.surplus_bank, 0.0), abs=1e-3)
    assert haul.homeless == pytest.approx(0.0, abs=1e-6)
    assert haul.gates["tip"].loads == soil.load_count == haul.loads
    assert haul.gates["tip"].soil == pytest.approx(soil.leaves)
    assert found.finding("earth.homeless").grade is Grade.GOOD
    assert found.finding("earth.muck").grade is Grade.GOOD


def test_soil_that_nobody_takes_is_told():
    found = computed()

    assert found["earth.haul"].homeless > 1.0
    assert found.finding("earth.homeless").grade is Grade.LOOK
    assert found.finding("earth.muck").grade is Grade.LOOK


def test_a_pile_in_the_pond_stops():
    piles = HEAPS | {"topsoil": {"place": point(15.0, 15.0), "takes": "topsoil"}}

    found = computed(piles=piles).finding("earth.pile_place")

    assert found.grade is Grade.STOP and found.where.paths[0] == "earth.piles.topsoil"


def test_a_drawn_pile_takes_what_fits_and_the_rest_goes_on():
    ring = [
        {"id": f"c{k}", "east": east, "north": north, "corner": True}
        for k, (east, north) in enumerate(((1, 1), (4, 1), (4, 4), (1, 4)))
    ]
    small = {"place": {"at": "ring", "curve": {"pegs": ring}}, "takes": "topsoil", "most_height": 1.0}

    found = computed(piles={"small": small})["earth.haul"]

    room = pile_capacity(np.array([(1, 1), (4, 1), (4, 4), (1, 4)], dtype=float), math.radians(30.0), 1.0)
    assert found.piles["small"].loose == pytest.approx(room, rel=1e-6)


def test_a_nearer_pile_needs_less_machine_time():
    near, far = (
        computed(piles=HEAPS | {"topsoil": {"place": point(east, 15.0), "takes": "topsoil"}})
        for east in (24.0, 90.0)
    )

    assert near["earth.haul"].carry_time < far["earth.haul"].carry_time


# What leaves, what is brought.

FARM = {"way": "import", "gate": point(1.0, 29.0), "distance": 3000.0, "takes": "soil"}
HIGH = 100.45  # soil is missing


def ring_of(east, north, side):
    corners = ((0, 0), (side, 0), (side, side), (0, side))
    pegs = [
        {"id": f"c{k}", "east": east + x, "north": north + y, "corner": True}
        for k, (x, y) in enumerate(corners)
    ]
    return {"at": "ring", "curve": {"pegs": pegs}}


def test_missing_soil_without_a_place_is_told_and_has_no_way():
    found = computed(level=HIGH, piles=HEAPS)
    haul, soil = found["earth.haul"], found["earth.soil"]

    assert haul.short == pytest.approx(-soil.surplus_bank) and haul.short > 5.0
    assert all(found["site.ground"].grid.origin_east < haul.start[0] for haul in haul.plan.hauls)
    told = found.finding("earth.brought")
    assert told.grade is Grade.LOOK and "no place gives it" in told.says
    assert told.value == pytest.approx(haul.short)
    assert haul.loads == soil.load_count > 0


def test_gates_give_what_they_have_and_the_nearer_one_gives_first():
    near, far = FARM | {"most": 5.0}, FARM | {"distance": 9000.0, "gate": point(29.0, 1.0)}
    found = computed(level=HIGH, piles=HEAPS, off_site={"near": near, "far": far})
    haul, soil = found["earth.haul"], found["earth.soil"]

    bulking = soil.by_kind["silt"].bulking
    assert haul.gates["near"].soil == pytest.approx(5.0 / bulking)
    assert haul.gates["near"].soil + haul.gates["far"].soil == pytest.approx(soil.brought)
    assert haul.short == 0.0 and found.finding("earth.brought").grade is Grade.GOOD
    assert haul.loads == haul.gates["near"].loads + haul.gates["far"].loads == soil.load_count
    assert haul.gates["far"].road_time > haul.gates["near"].road_time > 0.0


def test_a_gate_that_gives_other_soil_gives_none_for_fill():
    found = computed(level=HIGH, piles=HEAPS, off_site={"farm": FARM | {"takes": "topsoil"}})

    assert found["earth.haul"].gates["farm"].loads == 0
    assert found.finding("earth.brought").grade is Grade.LOOK


def test_soil_that_stays_in_a_pile_fills_no_truck():
    without = computed(piles=HEAPS, off_site={"tip": TIP})["earth.soil"]
    kept = computed(
        piles=HEAPS | {"spoil": {"place": point(60.0, 5.0), "takes": "soil"}}, off_site={"tip": TIP}
    )

    assert without.load_count > 0
    assert kept["earth.soil"].load_count == kept["earth.haul"].loads == 0
    assert kept["earth.haul"].piles["spoil"].soil == pytest.approx(without.surplus_bank)


@settings(max_examples=8, deadline=None)
@given(
    st.sampled_from((99.6, 100.0, 100.2, 100.3, HIGH)),
    st.floats(2.0, 12.0),
    st.sampled_from(("any", "soil", "muck")),
    st.one_of(st.none(), st.floats(1.0, 40.0)),
    st.one_of(st.none(), st.floats(1.0, 40.0)),
)
def test_hauls_are_the_account_whatever_is_dug_left_over_or_brought(level, side, takes, gives, held):
    piles = HEAPS | {"more": {"place": ring_of(40.0, 0.0, side), "takes": takes}}
    gates = {"tip": TIP | {"most": held}, "farm": FARM | {"most": gives}}
    found = computed(level=level, piles=piles, off_site=gates)
    haul, soil = found["earth.haul"], found["earth.soil"]

    dug = sum(each.dug + each.stripped for each in soil.by_kind.values())
    gone = haul.to_banks + haul.homeless
    gone += sum(pile.topsoil + pile.muck + pile.soil for pile in haul.piles.values())
    gone += haul.gates["tip"].topsoil + haul.gates["tip"].muck + haul.gates["tip"].soil
    assert gone == pytest.approx(dug + haul.gates["farm"].soil, rel=1e-6)
    assert haul.gates["farm"].soil + haul.short == pytest.approx(soil.brought, abs=1e-6)
    assert haul.loads == soil.load_count
    leaves = haul.gates["tip"].topsoil + haul.gates["tip"].muck + haul.gates["tip"].soil
    assert leaves + soil.leaving.homeless["soil"] == pytest.approx(soil.leaves, abs=1e-6)
    for name, gate in haul.gates.items():
        assert gate.loose <= (gates[name]["most"] or np.inf) + 1e-6


def test_less_than_a_millimetre_of_the_water_is_no_load():
    found = computed(piles=HEAPS, off_site={"tip": TIP, "farm": FARM})
    soil, grading = found["earth.soil"], found["shape.grading"]
    fine = resolution_of(grading)
    states, mix = soil.states, soil.states["silt"]
    sites = Sites({}, {}, {})

    def loads(left):
        return leaving_of(soil.moved, states, left, mix, sites, fine).loads

    assert fine == pytest.approx(1e-3 * grading.bodies["pond"].wetted_area)
    assert loads(0.99 * fine) == loads(-0.99 * fine) == 0
    assert loads(1.01 * fine) == loads(-1.01 * fine) == 1


# Piles and muck.


def test_muck_stands_flat_and_topsoil_steeper_where_no_angle_is_told():
    found = computed(piles=HEAPS)["earth.haul"].piles

    assert found["wet"].angle == pytest.approx(math.radians(5.0))
    assert found["topsoil"].angle == pytest.approx(math.radians(30.0))
    assert found["wet"].footprint == pytest.approx(heap(found["wet"].loose, math.radians(5.0), 2.0).footprint)


def test_a_pile_for_any_soil_stands_like_the_loosest_that_comes_to_it():
    alone = {"all": {"place": point(60.0, 5.0), "takes": "any"}}

    assert computed(piles=alone)["earth.haul"].piles["all"].angle == pytest.approx(math.radians(5.0))
    beside = computed(piles=alone | HEAPS)["earth.haul"].piles["all"]
    assert beside.angle == pytest.approx(math.radians(28.0)), "muck has a heap of its own"


def test_muck_needs_ground_to_dry_on():
    heaped = {"place": point(27.0, 3.0), "takes": "muck", "angle": math.radians(40.0)}
    found = computed(piles=HEAPS | {"wet": heaped})
    told = found.finding("earth.muck")

    assert found["earth.haul"].drying_given < found["earth.haul"].drying_area
    assert told.grade is Grade.LOOK and told.value > 0.4 and "it needs" in told.says
    spread = computed(piles=HEAPS)
    assert spread["earth.haul"].drying_given > spread["earth.haul"].drying_area
    assert spread.finding("earth.muck").grade is Grade.GOOD


def test_muck_that_leaves_wet_needs_no_ground():
    found = computed(piles={}, off_site={"tip": TIP | {"takes": "muck"}})

    assert found["earth.haul"].drying_area == 0.0
    assert found.finding("earth.muck").says == "Muck leaves the site wet."


# Machines.

DIGGER = {"kind": "excavator", "bucket": 0.11, "cycle": 20.0}
CARRIER = {"kind": "dumper", "bucket": 0.4, "cycle": 30.0, "speed": 2.0}


def test_a_second_digger_with_four_times_the_bucket_takes_four_fifths_of_the_work():
    one, two = (
        computed(piles=HEAPS, machines=machines)["earth.haul"]
        for machines in ({"a": DIGGER}, {"a": DIGGER, "b": DIGGER | {"bucket": 0.44}})
    )

    assert two.dig_time == pytest.approx(one.dig_time / 5.0)
    assert two.machines["a"].hours == two.machines["b"].hours == pytest.approx(two.dig_time)
    assert two.machines["a"].does == ("digs",)


def test_two_carriers_halve_the_hours_of_one():
    one, two = (
        computed(piles=HEAPS, machines=machines)["earth.haul"]
        for machines in ({"a": CARRIER}, {"a": CARRIER, "b": CARRIER})
    )

    assert two.carry_time == pytest.approx(0.5 * one.carry_time)
    assert two.machines["b"].hours == pytest.approx(two.carry_time)


def test_what_is_placed_is_compacted_by_all_compactors():
    one, two = (
        computed(piles=HEAPS, compactors=compactors)
        for compactors in ({"a": {}}, {"a": {}, "b": {"width": 1.64}})
    )

    soil = one["earth.soil"]
    placed = soil.placed + soil.settlement_allowance
    assert one["earth.haul"].compact_time == pytest.approx(
        3600.0 * placed / (0.82 * 0.5 * 3600 * 0.2 * 0.83 / 7)
    )
    assert two["earth.haul"].compact_time == pytest.approx(one["earth.haul"].compact_time / 3.0)


def test_a_longer_road_needs_more_trucks_so_that_no_digger_waits():
    near, far = (
        computed(
            piles=HEAPS,
            off_site={"tip": TIP | {"distance": distance}},
            machines={"a": DIGGER | {"bucket": 1.0}},
        )
        for distance in (500.0, 15_000.0)
    )

    assert near["earth.haul"].gates["tip"].trucks < far["earth.haul"].gates["tip"].trucks


def test_a_truck_whose_payload_is_not_known_carries_what_its_axles_may():
    trucks = {"mine": {"box": 12.0, "axles": 4, "spread": 24 * 0.3048, "tare": 11_000.0}}
    found = computed(piles=HEAPS, trucks=trucks, off_site={"tip": TIP | {"truck": "mine"}})

    truck = found["earth.haul"].gates["tip"].truck
    assert truck.payload == pytest.approx(58_000 * 0.45359237 - 11_000.0)
    assert truck.source.document == "23 CFR 658.17"


def test_a_truck_of_four_axles_must_tell_what_it_weighs():
    with pytest.raises(DocumentError, match="payload"):
        computed(trucks={"mine": {"box": 12.0, "axles": 4}})


# Where machines drive.

SHED = {"kind": "structure", "name": "Shed", "place": point(25.0, 15.0), "size": 4.0, "status": "existing"}
EAST = {"spoil": {"place": point(29.0, 15.0), "takes": "any"}}


def line(*places):
    return {"at": "line", "points": [{"east": east, "north": north} for east, north in places]}


def wall(kind="fence", **facts):
    return {"kind": kind, "place": line((24.0, -60.0), (24.0, 90.0)), "status": "existing", **facts}


def to_pile(found):
    return [haul for haul in found["earth.haul"].plan.hauls if haul.end.name == "pile spoil"]


def test_hauls_over_a_meadow_are_straight():
    found = computed(piles=EAST)

    for haul in found["earth.haul"].plan.hauls:
        assert haul.distance == math.dist(haul.start, (haul.end.east, haul.end.north)) and len(haul.way) == 2
    assert found.finding("earth.haul_way").grade is Grade.GOOD


def test_a_shed_in_between_bends_the_way_and_takes_time():
    free, round_it = computed(piles=EAST), computed(piles=EAST, things={"shed": SHED})

    assert round_it["earth.haul"].carry_time > free["earth.haul"].carry_time
    for haul in to_pile(round_it):
        assert haul.distance >= math.dist(haul.start, haul.way[-1]) - 1e-9
        assert all(math.dist(place, (25.0, 15.0)) > 2.5 for place in haul.way[1:-1])
    assert max(len(haul.way) for haul in to_pile(round_it)) > 2


BROOK = {
    "role": "stream",
    "outline": {
        "form": "corridor",
        "curve": {
            "pegs": [{"id": "a", "east": 24.0, "north": 24.0}, {"id": "b", "east": 24.0, "north": 8.0}]
        },
        "widths": [1.2, 1.2],
    },
    "level": 99.9,
}


def test_hauls_drive_round_a_stream_that_is_dug_but_for_a_way_in_over_it():
    way = {"kind": "access", "place": line((22.0, 15.0), (26.0, 15.0)), "size": 3.0, "status": "existing"}
    round_it, over = (
        computed(piles=EAST, bodies={"brook": BROOK}, things=things) for things in ({}, {"way": way})
    )

    water = shapely.Polygon(round_it["shape.shore"].bodies["brook"].rings[0])
    driven = [haul for haul in to_pile(round_it) if water.distance(shapely.Point(haul.start)) > 1.1]
    assert driven and all(haul.driven for haul in round_it["earth.haul"].plan.hauls)
    assert not any(water.intersects(shapely.LineString(haul.way)) for haul in driven)
    from_it = [
        haul for haul in round_it["earth.haul"].plan.hauls if water.contains(shapely.Point(haul.start))
    ]
    assert from_it
    assert any(water.intersects(shapely.LineString(haul.way)) for haul in to_pile(over))
    assert over["earth.haul"].mean_distance < round_it["earth.haul"].mean_distance


def test_what_is_to_go_is_in_nobodys_way():
    gone = computed(piles=EAST, things={"shed": SHED | {"status": "remove"}})

    assert gone["earth.haul"].carry_time == computed(piles=EAST)["earth.haul"].carry_time


@pytest.mark.parametrize("kind", ["tree", "septic", "well", "wetland", "boundary", "stream", "other"])
def test_lines_that_nobody_crosses_are_driven_round(kind):
    bounds = {"line": {"kind": kind, "place": line((24.0, 10.0), (24.0, 24.0)), "status": "existing"}}

    assert computed(piles=EAST, bounds=bounds)["earth.haul"].mean_distance > 1.05 * (
        computed(piles=EAST)["earth.haul"].mean_distance
    )


def test_setbacks_and_easements_are_driven_over():
    bounds = {
        kind: {"kind": kind, "place": line((24.0, 10.0), (24.0, 24.0)), "status": "existing"}
        for kind in ("setback", "easement", "flood")
    }

    assert computed(piles=EAST, bounds=bounds)["earth.haul"].carry_time == (
        computed(piles=EAST)["earth.haul"].carry_time
    )


def test_a_fence_without_a_gate_is_told_and_the_haul_counts_as_straight():
    found = computed(piles=EAST, things={"fence": wall(name="Fence of the field")})
    told = found.finding("earth.haul_way")

    assert told.grade is Grade.LOOK
    assert told.says.startswith(
        "No machine can drive from the dig to `earth.piles.spoil`: Fence of the field"
    )
    moved = sum(haul.volume for haul in found["earth.haul"].plan.hauls)
    assert told.value == pytest.approx(sum(haul.volume for haul in to_pile(found)) / moved)
    assert set(told.where.paths) == {"earth.piles.spoil", "site.things.fence"}
    assert found["earth.haul"].carry_time == pytest.approx(computed(piles=EAST)["earth.haul"].carry_time)
    assert not any(haul.driven for haul in to_pile(found))


def test_a_way_in_leads_through_the_fence():
    way = {"kind": "access", "place": line((14.0, 27.0), (29.5, 27.0)), "size": 3.0, "status": "existing"}
    found = computed(piles=EAST, things={"fence": wall(), "way": way})

    assert found.finding("earth.haul_way").grade is Grade.GOOD
    for haul in to_pile(found):
        crossing = [north for east, north in haul.way if 22.0 < east < 26.0]
        assert crossing and all(25.0 < north < 29.0 for north in crossing)


def test_a_wider_lane_keeps_farther_off():
    wide = {"earth.haul_lane": {"limit": 6.0, "reason": "a wide machine", "by": "test"}}

    near, far = (
        computed(piles=EAST, things={"shed": SHED}, rules=rules)["earth.haul"].mean_distance
        for rules in ({}, wide)
    )

    assert far > near
