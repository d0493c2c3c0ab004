"""Figures of the old hole and of the layers: each input that they list really moves them."""

import pytest

from pondwright import api
from pondwright.base.findings import Op
from pondwright.flow.differences import moved_figures
from pondwright.flow.engine import Status
from pondwright.flow.results import bindings, expanded, figures
from pondwright.job.edits import Edit
from tests.unit.site.hollow_jobs import MIDDLE, at, hollow_shots, job

STAGES = ("site.old_hole", "site.layers")


def probe(east, north, *layers, **facts):
    told = [{"kind": kind, "thickness": thickness} for kind, thickness in layers]
    return {"place": at(MIDDLE + east, MIDDLE + north), "layers": told, **facts}


@pytest.fixture(scope="module")
def told():
    """A job in which every figure of both stages has a value."""
    probes = {
        "rod1": probe(-2.0, -2.0, ("muck", 0.4)),
        "rod2": probe(2.0, -2.0, ("muck", 0.5)),
        "rod3": probe(0.0, 2.5, ("muck", 0.3)),
        "pit": probe(
            13.0, 0.0, ("silt", 1.5), how="pit", water_depth=0.9, rises=[{"time": 600.0, "depth": 1.2}]
        ),
    }
    marks = {
        "dry": {"elevation": 98.6, "season": "dry"},
        "usual": {"elevation": 99.2, "season": "usual"},
    }
    soil = {"place": at(MIDDLE + 13.0, MIDDLE), "layers": [{"kind": "muck"}]}
    return job(hollow_shots(), probes=probes, water_marks=marks, soils={"pit": soil})


@pytest.fixture(scope="module")
def run(told):
    return api.compute(told)


NUDGES = [
    ("site.shots.*.elevation", "/site/shots/c/elevation", 97.8),
    ("site.shots.*.elevation", "/site/shots/r1_0/elevation", 99.8),
    ("site.water_marks.*.elevation", "/site/water_marks/dry/elevation", 98.5),
    ("site.water_marks.*.elevation", "/site/water_marks/usual/elevation", 99.3),
    ("site.probes.*.layers", "/site/probes/rod2/layers", [{"kind": "muck", "thickness": 0.6}]),
    ("site.probes.*.layers", "/site/probes/pit/layers", [{"kind": "silt", "thickness": 1.6}]),
    ("site.probes.*.layers", "/site/probes/rod1/layers", [{"kind": "silt", "thickness": 0.1}]),
    ("site.probes.*.place", "/site/probes/rod3/place/north", MIDDLE + 3.5),
    ("site.probes.*.place", "/site/probes/pit/place/east", MIDDLE + 11.0),
    ("site.probes.*.place", "/site/probes/rod1/place/east", MIDDLE - 6.0),
    ("site.probes.*.place", "/site/probes/rod2/place/east", MIDDLE + 12.0),
    ("site.probes.*.place", "/site/probes/pit/place/east", MIDDLE + 3.0),
    ("site.probes.*.layers", "/site/probes/rod1/layers", []),
    ("site.probes.*.water_depth", "/site/probes/pit/water_depth", 0.8),
    ("site.probes.*.rises", "/site/probes/pit/rises", [{"time": 600.0, "depth": 1.1}]),
    ("site.probes.*.rises", "/site/probes/pit/rises", [{"time": 900.0, "depth": 1.2}]),
    ("site.soils.*.layers", "/site/soils/pit/layers", [{"kind": "muck", "bank_density": 1100.0}]),
    ("site.soils.*.place", "/site/soils/pit/place/east", MIDDLE - 13.0),
]


HIGHER = ("/site/probes/pit/rises", [{"time": 600.0, "depth": 1.1}])


def nudged(told, path, value):
    return api.edit(told, Edit("nudge", 0, (Op("add", path, value),)))


def own(run):
    return [each for each in figures(run) if each.stage in STAGES]


def test_every_figure_has_a_value_and_its_inputs_exist(run):
    # Nobody reads water in a rod.
    dry = {f"site.layers.probes.rod{number}.water" for number in (1, 2, 3)}
    assert {each.path for each in own(run) if each.value is None} == dry
    for each in own(run):
        for use in each.figure.uses:
            assert isinstance(expanded(run, use, bindings(run, each.path)), list)


def test_each_input_that_a_figure_lists_moves_it(told, run):
    wanted, moved = set(), set()
    for use, path, value in NUDGES:
        again = api.compute(nudged(told, path, value), after=run)
        found = {change.path for change in moved_figures(run, again)}
        listing = {each.path.rpartition(".")[2] for each in own(run) if use in each.figure.uses}
        wanted |= {(name, use) for name in listing}
        moved |= {(path.rpartition(".")[2], use) for path in found}

    # A rise counts as the water only while nobody has read it at rest.
    resting = {("water", "site.probes.*.rises"), ("highest_water", "site.probes.*.rises")}
    assert wanted - moved - resting == set()


def test_a_rise_is_the_water_until_it_is_read_at_rest(told):
    rising = nudged(told, "/site/probes/pit/water_depth", None)
    before = api.compute(rising)
    again = api.compute(nudged(rising, *HIGHER), after=before)

    found = {change.path for change in moved_figures(before, again)}
    assert {"site.layers.highest_water", "site.layers.probes.pit.water"} <= found


def pond(west):
    places = [(west, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)]
    pegs = [
        {"id": f"p{n}", "east": MIDDLE + east, "north": MIDDLE + north}
        for n, (east, north) in enumerate(places)
    ]
    return {"outline": {"form": "ring", "curve": {"pegs": pegs}}}


def test_a_shore_that_is_bent_leaves_the_old_hole_alone(told):
    drawn = nudged(told, "/shape/bodies/pond", pond(-5.0))
    before = api.compute(drawn, tier="settle")
    again = api.compute(nudged(drawn, "/shape/bodies/pond", pond(-6.0)), tier="drag", after=before)

    assert again.stages["site.old_hole"].status is Status.FRESH
    assert again.stages["site.old_hole"].result is before.stages["site.old_hole"].result
