"""Uplift of the liners of invented jobs under heads that are put in by hand."""

from dataclasses import fields
from types import MappingProxyType

import numpy as np
import pytest

from pondwright import api
from pondwright.base.findings import Grade
from pondwright.examples import GARDEN, LARKMEADOW_SHAPED, example_text
from pondwright.job.build_up import BuildUp, Layer
from pondwright.job.codec import loads
from pondwright.job.groundwater import Building, Sump
from pondwright.job.places import PointPlace, WholePlace
from pondwright.rooms.groundwater.aquifer import thinned, water_grid
from pondwright.rooms.groundwater.stage.aquifer import AquiferResult
from pondwright.rooms.groundwater.stage.cases import CaseHeads, CasesResult, FlowRange
from pondwright.rooms.groundwater.stage.heads import DrainFlow, HeadsResult
from pondwright.rooms.groundwater.stage.range import range_stage
from pondwright.rooms.groundwater.stage.uplift import POND_STAGES, uplift_stage

NO_FLOW = FlowRange(0.0, 0.0, 0.0)
STONE = Layer(item="stone", thickness=0.3, porosity=0.35)
LINER = Layer(item="liner", thickness=0.001, seals=True)


class Site:
    """One example with everything that uplift needs, its groundwater put in by hand."""

    def __init__(self, name):
        job = loads(example_text(name))
        run = api.compute(job, tier="drag")
        self.results = {stage: state.result for stage, state in run.stages.items()}
        self.shore = self.results["shape.shore"]
        self.grid, self.step = water_grid(self.shore.grid)
        self.level = self.shore.bodies["pond"].level
        self.view = {
            "shape.bodies": job.shape.bodies,
            "build_up": {},
            "rules": {},
            "groundwater.sumps": {},
            "groundwater.building": Building(),
        }

    def thin(self, array):
        return thinned(array, self.grid, self.step)

    def heads(self, head, drains=(), known=True):
        """Heads of the drag."""
        body = np.full(self.grid.shape, -1, dtype=np.int8)
        for place, shore in enumerate(self.shore.bodies.values()):
            body[self.thin(shore.distance) > 0.0] = place
        cap = np.where(body >= 0, self.thin(self.results["earth.subgrade"].z), np.inf)
        told = {
            "grid": self.grid,
            "step": self.step,
            "known": known,
            "season": "wet",
            "under": body >= 0,
            "bank": np.zeros(self.grid.shape, dtype=np.bool_),
            "body": body,
            "cap": cap,
            "ground": self.thin(self.results["shape.grading"].z),
            "head": head if known else None,
            "drains": MappingProxyType({name: DrainFlow("", 1.0, 1e-4) for name in drains}),
        }
        return HeadsResult(**dict.fromkeys(each.name for each in fields(HeadsResult)) | told)

    def flat(self, above):
        """Groundwater that stands level, so far above the pond. [m]"""
        return np.full(self.grid.shape, self.level + above)

    def uplift(self, above, drains=(), known=True, covers=()):
        view = {**self.view, "build_up": self.covers(covers)}
        head = self.flat(above) if np.isscalar(above) else above
        results = {**self.results, "groundwater.heads": self.heads(head, drains, known)}
        return *uplift_stage(view, results), view, results

    def covers(self, layers):
        if not layers:
            return {}
        return {"bed": BuildUp(place=WholePlace(at="whole", body="pond"), layers=tuple(layers))}

    def range(self, cases, drains=(), sumps=(), covers=(), layers=(1e-7, 1e-7)):
        """Range over cases by how far each stands above the pond, low, likely and high. [m]"""
        found, _, view, results = self.uplift(-1.0, drains, covers=covers)
        ground = self.thin(self.results["site.ground"].z)
        aquifer = object.__new__(AquiferResult)
        half = ground - 3.0
        for name, value in (
            ("layers_top", np.stack([ground, half])),
            ("layers_bottom", np.stack([half, half - 3.0])),
            ("permeability", {"likely": np.stack([np.full(ground.shape, each) for each in layers])}),
        ):
            object.__setattr__(aquifer, name, value)
        made = {
            key: CaseHeads(*key.split("_"), *map(self.flat, aboves), {}, NO_FLOW, 0, 0.0)
            for key, aboves in cases.items()
        }
        results |= {
            "groundwater.uplift": found,
            "groundwater.aquifer": aquifer,
            "groundwater.cases": CasesResult(self.grid, self.step, bool(made), made, {}),
        }
        pit = Sump(place=PointPlace(at="point", east=0.0, north=0.0), on=1.0, off=0.5, pump=0.001)
        rows = {name: pit.model_copy(update={"backup": backup}) for name, backup in sumps}
        return range_stage({**view, "groundwater.sumps": rows}, results)


@pytest.fixture(scope="module")
def garden():
    return Site(GARDEN)


@pytest.fixture(scope="module")
def larkmeadow():
    return Site(LARKMEADOW_SHAPED)


def by_code(findings, body="pond"):
    return {each.code: each for each in findings if each.where.paths[0] == f"shape.bodies.{body}"}


def test_level_groundwater_under_stone_gives_the_factor_of_one_square_metre(garden):
    # Where the bed is level and all its stone under water, that holds 1.0725 of its thickness.
    result, findings, *_ = garden.uplift(0.2, covers=(LINER, STONE))

    full = result.bodies["pond"].stages["full"]
    net, bed = result.maps["full"].net, result.lined["pond"].bed
    level = bed.nodes[(bed.cosine > 1.0 - 1e-9) & (bed.liner < garden.level - 0.31)]
    assert len(level) and net.ravel()[level] == pytest.approx(0.3 * 1.0725 / 0.2, rel=1e-9)
    assert full.excess == pytest.approx(0.2) and full.net == pytest.approx(np.nanmin(net))
    assert by_code(findings)["groundwater.uplift_in_use"].value == full.net


def test_a_bare_liner_stops_where_the_groundwater_stands_above_the_pond_and_only_there(garden):
    def grade(above):
        return by_code(garden.uplift(above)[1])["groundwater.uplift_in_use"].grade

    assert (grade(0.01), grade(-0.01)) == (Grade.STOP, Grade.GOOD)


@pytest.mark.parametrize("above", [-5.0, -0.5, 0.0, 0.5])
def test_the_emptied_pond_is_told_whatever_the_groundwater_does(garden, above):
    result, *_ = garden.uplift(above, covers=(LINER, STONE))

    stages = result.bodies["pond"].stages
    assert list(stages) == list(POND_STAGES) == list(result.maps)
    pushed = [stage for stage, each in stages.items() if each.net is not None]
    assert ("service" in pushed) is (above > -5.0)
    assert stages["service"].level is None and stages["full"].level == garden.level
    assert stages["empty"].level < stages["half"].level < garden.level
    assert stages["service"].excess >= stages["empty"].excess >= stages["full"].excess


def test_maps_tell_nothing_outside_and_infinity_where_nothing_pushes(garden):
    result, *_ = garden.uplift(-0.2, covers=(LINER, STONE))
    under = garden.heads(garden.flat(0.0)).under

    for found in result.maps.values():
        for array in (found.excess, found.net, found.gross):
            assert (np.isnan(array) == ~under).all()
    assert np.isinf(result.maps["full"].net[under]).all()
    assert np.isfinite(result.maps["service"].net[under]).any()


def test_the_worst_spot_is_where_the_groundwater_stands_highest(garden):
    east, _north = np.meshgrid(garden.grid.east, garden.grid.north)
    slope = 0.02 * (east - east.mean())

    result, findings, *_ = garden.uplift(garden.level + slope, covers=(LINER, STONE))

    full = result.bodies["pond"].stages["full"]
    points = result.lined["pond"].points
    assert full.point[0] > np.median(points[:, 0]) and "east" in full.side
    assert by_code(findings)["groundwater.uplift_in_use"].where.points == (full.point,)


def test_without_readings_nothing_is_said(garden):
    result, findings, *_ = garden.uplift(0.5, known=False)

    assert findings == () and not result.known and not result.bodies
    assert garden.range({})[1] == ()


def test_a_stream_counts_as_dry_in_use_because_its_pump_stops(larkmeadow):
    result, *_ = larkmeadow.uplift(0.0)
    stream = result.lined["stream"]
    head = np.array(larkmeadow.flat(-9.0))
    head.ravel()[stream.bed.nodes] = stream.bed.liner + 0.01

    found = by_code(larkmeadow.uplift(head)[1], "stream")["groundwater.uplift_in_use"]

    assert found.grade is Grade.STOP and "above the liner of `stream`" in found.says
    assert not any("Or keep the water" in way.says for way in found.advice)


WORKING = {"dry_working": (-2.1, -2.0, -1.9), "wet_working": (-0.4, -0.3, -0.2)}
BARE = {"dry_none": (-2.1, -2.0, -1.9), "wet_none": (0.1, 0.3, 0.4)}
SAME = {"dry_stopped": WORKING["dry_working"], "wet_stopped": (0.1, 0.2, 0.3)}
CASES = {**WORKING, **SAME, **BARE}


def test_low_is_at_most_likely_and_likely_at_most_high_for_all_that_is_told(garden):
    result, _ = garden.range(CASES, covers=(LINER, STONE))

    assert list(result.bodies["pond"].cases) == list(CASES)
    for case in result.bodies["pond"].cases.values():
        for stage in case.stages.values():
            assert stage.excess_low < stage.excess_likely < stage.excess_high
            for name in ("net", "gross"):
                told = [getattr(stage, f"{name}_{level}") for level in ("low", "likely", "high")]
                numbers = [np.inf if each is None else each for each in told]
                assert numbers == sorted(numbers)
        marks = [getattr(case, f"mark_{level}") for level in ("low", "likely", "high")]
        assert [mark for mark in marks if mark is not None] == sorted(m for m in marks if m is not None)


def test_in_use_and_emptied_are_told_apart(garden):
    result, findings = garden.range(CASES, drains=("relief",), covers=(LINER, STONE))
    cases, told = result.bodies["pond"].cases, by_code(findings)

    assert cases["wet_working"].holds_in_use and not cases["wet_working"].holds_emptied
    assert not cases["wet_none"].holds_in_use
    assert told["groundwater.uplift_high"].grade is Grade.GOOD
    emptied = told["groundwater.uplift_emptied"]
    assert (
        emptied.grade is Grade.LOOK and "while its drains run; not at all while they do not" in emptied.says
    )
    assert told["groundwater.uplift_no_drain"].grade is Grade.LOOK


def test_the_rule_is_by_the_highest_groundwater_that_the_readings_allow(garden):
    result, findings = garden.range({**WORKING, "wet_none": (-0.4, -0.3, -0.2)}, covers=(LINER, STONE))

    mark = result.bodies["pond"].cases["wet_working"].mark_high
    assert by_code(findings)["groundwater.uplift_emptied"].value == mark


def test_a_power_cut_is_told_only_where_a_sump_pumps(garden):
    def power_cut(*sumps):
        return by_code(garden.range(CASES, ("relief",), sumps)[1]).get("groundwater.uplift_power_cut")

    assert power_cut() is None
    assert power_cut(("pit", None)).grade is Grade.STOP
    assert power_cut(("pit", 3600.0)).grade is Grade.LOOK
    assert power_cut(("pit", 3600.0), ("other", None)).grade is Grade.STOP


def test_high_groundwater_stops_where_the_likely_one_holds(garden):
    cases = {"wet_working": (-0.2, -0.1, 0.1), "wet_none": (-0.2, -0.1, 0.1)}
    found = by_code(garden.range(cases)[1])["groundwater.uplift_high"]

    assert found.grade is Grade.STOP and "stands 100 mm (3.9 in) above `pond`" in found.says
    cases = {key: (0.1, 0.2, 0.3) for key in cases}
    # Where the likely one does not hold either, that alone is told.
    assert "groundwater.uplift_high" not in by_code(garden.range(cases)[1])


def test_what_no_drain_would_mean_is_told_only_where_there_is_one_and_it_does_its_work(garden):
    code = "groundwater.uplift_no_drain"
    useless = {**CASES, "wet_working": (0.1, 0.2, 0.3)}

    assert code in by_code(garden.range(CASES, ("relief",))[1])
    assert code not in by_code(garden.range(CASES)[1])
    assert code not in by_code(garden.range(useless, ("relief",))[1])


def test_tight_soil_over_open_ground_is_told_where_the_water_presses(garden):
    def heave(layers, above):
        cases = {"dry_working": (above,) * 3, "dry_none": (above,) * 3}
        return by_code(garden.range(cases, layers=layers)[1]).get("groundwater.heave")

    assert heave((1e-7, 1e-7), 0.0) is None
    assert heave((1e-7, 1e-4), -9.0) is None
    assert heave((1e-7, 1e-4), 0.5).grade is Grade.STOP
    assert heave((1e-7, 1e-4), -1.5).grade is Grade.GOOD
