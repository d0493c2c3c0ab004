"""Ways out of uplift: what is told of each is what one gets by taking it."""

import json

import pytest

from pondwright import api
from pondwright.base.findings import Grade, Op
from pondwright.examples import GARDEN, example_text
from pondwright.flow.engine import section
from pondwright.flow.stages import STAGES
from pondwright.flow.uplift_offers import OffersResult, offers_stage
from pondwright.job.codec import loads
from pondwright.job.edits import Edit, apply

OFFERS, ROUTE = (
    next(stage for stage in STAGES if stage.name == f"groundwater.{name}") for name in ("offers", "route")
)


LOW = 24.45
"""Lowest water that is planned for. [m]"""


def standpipe(east, north, level):
    place = {"at": "point", "east": east, "north": north}
    return {"kind": "standpipe", "place": place, "dry": level - 0.5, "wet": level}


def wet_garden(above, cover=0.1, outlet=22.0):
    """The garden with groundwater so far above its lowest planned water, an outlet beyond its corner. [m]"""
    job = json.loads(example_text(GARDEN))
    job["shape"]["bodies"]["pond"]["low_level"] = LOW
    level = LOW + above
    frame = {"at": "whole", "body": "pond"}
    job["catalogue"] = {
        "gravel": {"kind": "gravel", "name": "Gravel"},
        "liner": {"kind": "membrane", "name": "Liner"},
    }
    layers = [{"item": "liner", "thickness": 0.001, "seals": True}]
    if cover:
        layers.append({"item": "gravel", "thickness": cover, "porosity": 0.4})
    job["build_up"] = {"bed": {"place": frame, "layers": layers}}
    corner = {"at": "point", "east": 19.0, "north": 2.0}
    job["groundwater"] = {
        "base": 21.5,
        "readings": {
            "west": standpipe(4.0, 9.0, level + 0.05),
            "north": standpipe(11.0, 16.0, level + 0.05),
            "east": standpipe(18.0, 9.0, level),
        },
        "outlets": {"ditch": {"place": corner, "invert": outlet}} if outlet else {},
    }
    return loads(json.dumps(job))


def offered(job):
    """The run of a job, its offers, and their checks."""
    run = api.compute(job, tier="settle")

    def asked(stage):
        view = {path: section(run.job, run.log, path) for path in stage.reads}
        return view, {need: run.stages[need].result for need in stage.needs}

    view, results = asked(OFFERS)
    # Routes are looked for behind the scenes, with ways to bend the shore: too slow to wait for.
    results["groundwater.route"] = ROUTE.function(*asked(ROUTE))[0]
    return run, *offers_stage(view, results)


@pytest.fixture(scope="module")
def wet():
    return offered(wet_garden(0.25))


def stops(run):
    return [
        each
        for each in run.findings
        if each.grade is Grade.STOP and each.code.startswith("groundwater.uplift")
    ]


def test_a_garden_whose_liner_lifts_has_ways_out(wet):
    run, result, findings = wet

    assert stops(run) and list(result.bodies) == ["pond"]
    offers = result.bodies["pond"].offers
    assert {"drain", "level", "stone", "sump"} <= offers.keys()
    assert sum(offer.holds for offer in offers.values()) >= 3
    (found,) = findings
    assert (found.code, found.grade) == ("groundwater.ways_out", Grade.LOOK)
    assert [way.ops for way in found.advice] == [offer.ops for offer in offers.values() if offer.holds]
    assert all(way.ops and way.says for way in found.advice)


def test_what_holds_comes_first_and_a_pump_after_what_lasts(wet):
    _, result, _ = wet
    offers = result.bodies["pond"].offers

    ranks = [(bool(offer.refused), not offer.holds) for offer in offers.values()]
    assert ranks == sorted(ranks)
    holding = [name for name, offer in offers.items() if offer.holds]
    order = [name for name in ("drain", "level", "stone", "sump") if name in holding]
    assert holding == order


def test_each_way_out_gives_what_it_told_when_it_is_taken(wet):
    run, result, _ = wet
    for name, offer in result.bodies["pond"].offers.items():
        if not offer.holds:
            continue
        after = api.compute(apply(run.job, Edit("e-1", 0, offer.ops, "")), tier="settle", after=run)

        assert not stops(after), name
        body = after.results.groundwater.uplift.bodies["pond"]
        assert body.in_use.excess == pytest.approx(offer.excess, abs=2e-3), name
        assert body.mark == pytest.approx(offer.mark, abs=2e-3), name


def test_without_a_low_outlet_no_drain_is_offered_but_a_sump_is(wet):
    _, result, _ = offered(wet_garden(0.25, outlet=None))
    offers = result.bodies["pond"].offers

    assert "outlet" in offers["drain"].refused and not offers["drain"].ops
    assert offers["sump"].holds
    pit = next(op.value for op in offers["sump"].ops if op.path.startswith("/groundwater/sumps/"))
    assert pit["standby"] and pit["backup"] > 0.0 and pit["pump"] >= 1.9 * offers["sump"].flow


def test_a_bare_liner_is_offered_stone_of_the_catalogue(wet):
    _, result, _ = offered(wet_garden(0.1, cover=0.0))
    offer = result.bodies["pond"].offers["stone"]

    (op,) = offer.ops
    assert op.path == "/build_up/pond_stone" and op.value["layers"][0]["item"] == "gravel"
    assert op.value["layers"][0]["thickness"] == offer.change > 0.0


def test_a_drain_that_can_fall_less_is_offered_lower():
    job = wet_garden(0.25)
    line = [{"east": 8.0, "north": 14.0}, {"east": 17.0, "north": 13.0}, {"east": 19.0, "north": 2.0}]
    row = {"place": {"at": "line", "points": line}, "into": "ditch", "fall": 0.2}
    drained = apply(job, Edit("e-1", 0, (Op("add", "/groundwater/drains/high", row),), ""))
    _, result, _ = offered(drained)

    offer = result.bodies["pond"].offers["lower_high"]
    (op,) = offer.ops
    assert op.path == "/groundwater/drains/high/inverts"
    assert op.value[-1] == pytest.approx(22.0) and op.value[0] - op.value[-1] < 0.12
    assert offer.change > 1.0


def test_a_pond_that_holds_needs_no_way_out():
    _, result, findings = offered(wet_garden(-0.5))

    assert isinstance(result, OffersResult) and not result.bodies and findings == ()
