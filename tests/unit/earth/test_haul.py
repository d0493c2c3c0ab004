"""The haul plan against brute force, and what every plan keeps; machines and piles against closed forms."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
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
from pondwright.rooms.earth.piles import heap, pile_capacity
from tests.unit.shape.ponds import Computed, job_values

TIMES = {stream: (60.0, 1.0) for stream in (TOPSOIL, MUCK, SOIL)}
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


def test_more_to_place_than_is_dug_has_no_plan():
    with pytest.raises(DomainError, match="must be dug or brought, got 9 m³"):
        haul_plan([Source(0.0, 0.0, SOIL, 5.0)], [End("bank", PLACED, 1.0, 1.0, BANK, need=9.0)], TIMES)


def test_soil_is_brought_through_a_gate_only_where_it_is_missing():
    sources = [Source(0.0, 0.0, SOIL, 5.0), Source(40.0, 0.0, SOIL, 4.0, extra=2000.0)]
    plan = haul_plan(sources, [End("bank", PLACED, 1.0, 1.0, BANK, need=9.0)], TIMES)

    assert plan.volume_to("bank") == pytest.approx(9.0)


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


def test_a_longer_way_takes_longer():
    times = [carry_time(STANDARD_CARRIER, distance, 1.25) for distance in (0.0, 10.0, 60.0)]

    assert times == sorted(times) and times[0] > 0.0


def computed(**earth):
    values = job_values(fall=0.03, nodes=121)
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
    assert haul.gates["tip"].loads == soil.load_count
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

    room = pile_capacity(np.array([(1, 1), (4, 1), (4, 4), (1, 4)], dtype=float), math.radians(35.0), 1.0)
    assert found.piles["small"].loose == pytest.approx(room, rel=1e-6)


def test_a_nearer_pile_needs_less_machine_time():
    near, far = (
        computed(piles=HEAPS | {"topsoil": {"place": point(east, 15.0), "takes": "topsoil"}})
        for east in (24.0, 90.0)
    )

    assert near["earth.haul"].carry_time < far["earth.haul"].carry_time
