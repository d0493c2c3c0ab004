"""What must hold for any old hole, any muck in it, and any probes."""

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright import api
from pondwright.flow.engine import Status
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import enclosed_area
from pondwright.job.codec import loads
from pondwright.rooms.site.muck import muck_account, muck_surface
from pondwright.rooms.site.old_hole import LEAST_HOLLOW, hole_storage, old_hole, water_outline
from pondwright.rooms.site.soils import Layer, probe_against_soil
from tests.strategies import numbers, rings

GRID = Grid(-15.0, -15.0, 0.5, 61, 61)
EVERYWHERE = np.ones(GRID.shape, dtype=np.bool_)


@st.composite
def grounds(draw):
    """Uneven ground with some bowls in it."""
    generator = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    east, north = np.meshgrid(GRID.east, GRID.north)
    tilt = generator.uniform(-0.03, 0.03, 2)
    z = 100.0 + tilt[0] * east + tilt[1] * north
    for _ in range(draw(st.integers(1, 4))):
        middle, radius, depth = (
            generator.uniform(-9.0, 9.0, 2),
            generator.uniform(2.0, 7.0),
            draw(numbers(0, 3)),
        )
        z -= depth * np.maximum(1.0 - np.hypot(east - middle[0], north - middle[1]) / radius, 0.0)
    return z + generator.normal(0.0, draw(st.sampled_from([0.0, 0.01])), GRID.shape)


@given(grounds())
def test_the_hole_is_deeper_than_a_hand_and_holds_water_below_its_lip_only(z):
    hole = old_hole(z, GRID, EVERYWHERE)
    if hole is None:
        return

    assert hole.lip - hole.floor >= LEAST_HOLLOW
    assert hole.volume > 0.0
    # No node of it stands above its lip, and its floor is its lowest.
    assert z[hole.mask].max() <= hole.lip + 1e-9
    assert z[hole.mask].min() == hole.floor


@given(grounds(), st.floats(0.0, 1.2), st.floats(0.0, 1.2))
def test_more_water_stands_higher_and_its_surface_is_its_growth(z, one, two):
    hole = old_hole(z, GRID, EVERYWHERE)
    if hole is None:
        return
    low, high = sorted(hole.floor + share * (hole.lip - hole.floor) for share in (one, two))
    volumes, areas = hole_storage(z, GRID, hole, [low, high])

    step = min(high, hole.lip) - min(low, hole.lip)
    slack = 1e-6 * (1.0 + volumes[1])
    assert areas[0] * step - slack <= volumes[1] - volumes[0] <= areas[1] * step + slack


@given(grounds(), st.floats(0.2, 0.9))
def test_the_outline_encloses_the_surface(z, share):
    hole = old_hole(z, GRID, EVERYWHERE)
    if hole is None:
        return
    level = hole.floor + share * (hole.lip - hole.floor)
    _, areas = hole_storage(z, GRID, hole, [level])
    outlines = water_outline(z, GRID, hole, level)
    outlined = sum(enclosed_area(rings) for rings in outlines if len(rings[0]) > 3)

    # The outline runs across cells as a bilinear one, the surface on their triangles: they cross the edges of
    # the cells at the same places, so they can differ only in cells that the outline crosses, one a point.
    crossed = sum(len(ring) for rings in outlines for ring in rings)
    assert abs(outlined - float(areas[0])) <= GRID.cell_area * crossed + 1e-9


@given(grounds(), st.floats(-50.0, 50.0))
def test_another_zero_of_heights_moves_nothing_but_the_heights(z, shift):
    here, there = old_hole(z, GRID, EVERYWHERE), old_hole(z + shift, GRID, EVERYWHERE)
    if here is None or there is None:
        assert (here is None and there is None) or abs(
            (here or there).lip - (here or there).floor - 0.3
        ) < 1e-9
        return

    assert there.lip == pytest.approx(here.lip + shift, abs=1e-9)
    assert there.volume == pytest.approx(here.volume, rel=1e-6)


@st.composite
def probed(draw):
    """Any probes, some on one spot or in one line, with how thick they found the muck."""
    count = draw(st.integers(1, 12))
    place = st.tuples(st.integers(-12, 12), st.integers(-12, 12))
    points = np.array(draw(st.lists(place, min_size=count, max_size=count)), dtype=np.float64)
    thickness = draw(st.lists(numbers(0.0, 1.5), min_size=count, max_size=count))
    return points, np.array(thickness)


def ring_of(pegs):
    return np.array([[peg["east"], peg["north"]] for peg in pegs])


def account_of(points, thickness, covered):
    surface = muck_surface(points, thickness, GRID)
    return muck_account(surface, covered, GRID, np.full(len(points), 0.05))


@given(probed(), rings(), numbers(0.0, 0.5))
def test_thicker_muck_is_more_and_even_muck_is_a_prism(probes, pegs, more):
    points, thickness = probes
    covered = ring_coverage(GRID, [ring_of(pegs)])
    one, two = (account_of(points, each, covered) for each in (thickness, thickness + more))

    assert two.volume >= one.volume - 1e-9
    # One probe of several on one spot holds, so that the even part is added as it is.
    assert two.volume - one.volume == pytest.approx(more * float(covered.sum()), abs=1e-6)
    assert account_of(points, np.zeros(len(points)), covered).volume == 0.0


@given(probed(), rings())
def test_muck_is_never_thicker_than_the_thickest_probe(probes, pegs):
    points, thickness = probes
    covered = ring_coverage(GRID, [ring_of(pegs)])
    found = account_of(points, thickness, covered)

    assert 0.0 <= found.deepest <= thickness.max() + 1e-9
    assert found.volume <= thickness.max() * float(covered.sum()) + 1e-6
    assert 0.0 <= found.carried_share <= 1.0 + 1e-9
    assert math.isfinite(found.sigma) and found.sigma >= 0.0


KINDS = st.sampled_from(["topsoil", "clay", "silt", "sand", "gravel", "rock", "muck"])
LOGS = st.lists(st.tuples(KINDS, numbers(0.1, 3.0)).map(lambda told: Layer(*told)), max_size=5)


@given(LOGS)
def test_a_log_against_itself_is_off_by_nothing(log):
    firm = [layer for layer in log if layer.kind != "muck"]
    if len(firm) < len(log):
        while firm and firm[0].kind == "topsoil":
            firm = firm[1:]
        log = [Layer("muck", 0.2), *firm]

    assert all(match.miss == 0.0 for match in probe_against_soil(log, firm))


@st.composite
def odd_probes(draw):
    """Probes as no one should write them: anywhere, empty, of any layers, with water at odd depths."""
    layer = st.fixed_dictionaries({"kind": KINDS, "thickness": numbers(0.01, 5.0)})
    rise = st.fixed_dictionaries({"time": numbers(0.0, 1e6), "depth": numbers(-2.0, 20.0)})
    probe = st.fixed_dictionaries(
        {
            "place": st.fixed_dictionaries(
                {"at": st.just("point"), "east": numbers(-60.0, 60.0), "north": numbers(-60.0, 60.0)}
            ),
            "how": st.sampled_from(["rod", "pit", "bore"]),
            "layers": st.lists(layer, max_size=4),
            "water_depth": st.none() | numbers(-5.0, 50.0),
            "rises": st.lists(rise, max_size=3),
        }
    )
    return draw(st.dictionaries(st.sampled_from([f"p{n}" for n in range(9)]), probe, max_size=9))


@st.composite
def odd_marks(draw):
    mark = st.fixed_dictionaries(
        {
            "elevation": numbers(90.0, 110.0),
            "season": st.sampled_from(["dry", "usual", "wet", "flood"]),
        }
    )
    return draw(st.dictionaries(st.sampled_from(["a", "b", "c", "d"]), mark, max_size=4))


@st.composite
def few_shots(draw):
    """A handful of shots anywhere: on the ground, on muck, on firm ground, on water."""
    shots = {
        f"g{n}": _shot(east, north, 100.0) for n, (east, north) in enumerate([(-20, -20), (20, -15), (0, 22)])
    }
    surface = st.sampled_from(["ground", "muck", "firm", "water"])
    many = st.lists(
        st.tuples(numbers(-15.0, 15.0), numbers(-12.0, 15.0), numbers(97.0, 101.0), surface), max_size=8
    )
    for number, told in enumerate(draw(many)):
        shots[f"s{number}"] = _shot(*told)
    return shots


def _shot(east, north, elevation, surface="ground"):
    place = {"by": "coordinates", "east": float(east), "north": float(north)}
    return {"place": place, "elevation": elevation, "surface": surface}


@given(few_shots(), odd_probes(), odd_marks())
def test_odd_probes_and_marks_are_told_and_never_raise(shots, probes, marks):
    site = {"shots": shots, "probes": probes, "water_marks": marks}
    job = loads(json.dumps({"format": 1, "id": "odd", "name": "Odd", "site": site}))
    run = api.compute(job, only="site.layers")

    assert {run.stages[name].status for name in ("site.old_hole", "site.layers")} == {Status.FRESH}
    for name in ("site.old_hole", "site.layers"):
        for finding in run.stages[name].findings:
            assert finding.value is None or math.isfinite(finding.value)
            assert finding.says.endswith(".")
