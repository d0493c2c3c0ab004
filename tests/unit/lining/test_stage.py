"""The stages of the lining on invented jobs: what they find, and that a hint changes nothing."""

import numpy as np
import pytest
import shapely

from pondwright.base.findings import Grade
from pondwright.examples import GARDEN, LARKMEADOW_SHAPED, example_text
from pondwright.flow.engine import advance
from pondwright.flow.equality import same
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.fields import Rows
from pondwright.job.lining import Liner, Stock
from pondwright.job.log import Log
from pondwright.rooms.lining.area import liner_mesh
from pondwright.rooms.lining.cover import least_sizes

LINING = ("lining.arcs", "lining.area", "lining.layout", "lining.cover")


def wanted():
    """The stages of the lining and all that they need."""
    names = set(LINING)
    for stage in reversed(STAGES):
        if stage.name in names:
            names.update(stage.needs)
    return tuple(stage for stage in STAGES if stage.name in names)


def run_of(job, before=None):
    """A run of the lining and all before it."""
    return advance(wanted(), before, job, Log(), "background")


def lined(job, **liners):
    """The job with liners told."""
    return job.model_copy(
        update={"lining": job.lining.model_copy(update={"liners": Rows(liners)})}, deep=False
    )


def moved(job):
    """The job with one peg of its pond moved by 0.3 m."""
    pond = job.shape.bodies["pond"]
    peg, *others = pond.outline.curve.pegs
    curve = pond.outline.curve.model_copy(
        update={"pegs": (peg.model_copy(update={"east": peg.east + 0.3}), *others)}
    )
    pond = pond.model_copy(update={"outline": pond.outline.model_copy(update={"curve": curve})})
    bodies = Rows({**job.shape.bodies, "pond": pond})
    return job.model_copy(update={"shape": job.shape.model_copy(update={"bodies": bodies})})


@pytest.fixture(scope="module")
def shaped():
    return loads(example_text(LARKMEADOW_SHAPED))


@pytest.fixture(scope="module")
def shaped_run(shaped):
    return run_of(shaped)


def test_every_body_without_a_liner_has_one_of_its_own(shaped, shaped_run):
    liners = shaped_run.results.lining.area.liners

    assert set(liners) == set(shaped.shape.bodies)
    assert all(liner.area > 0.0 for liner in liners.values())


def test_a_liner_is_larger_than_what_the_water_wets(shaped_run):
    gradings = shaped_run.results.shape.grading.bodies

    for name, liner in shaped_run.results.lining.area.liners.items():
        assert liner.area > gradings[name].wetted_area


def test_the_pond_is_proved_within_a_tenth_of_its_row_arcs(shaped_run):
    layout = shaped_run.results.lining.layout.liners["pond"]
    found = shaped_run.results.lining.cover.liners["pond"]

    assert found.area <= 1.10 * layout.sheet.area
    assert found.area >= found.least


def test_every_proof_stands_by_itself(shaped_run):
    """Stretch and place of every triangle, looked at again from the results alone."""
    areas = shaped_run.results.lining.area.liners
    for name, found in shaped_run.results.lining.cover.liners.items():
        mesh = liner_mesh(areas[name].ground, areas[name].beyond)

        assert 1.0 / least_sizes(mesh, found.places).min() <= 1.0 + 1e-9
        assert found.places.min() >= 0.0
        assert (found.places.max(axis=0) <= [found.length, found.width]).all()


def test_a_stream_that_needs_more_than_tapes_tell_says_so(shaped_run):
    layouts = shaped_run.results.lining.layout.liners
    covers = shaped_run.results.lining.cover.liners
    findings = {
        finding.where.paths[0].split(".")[3]: finding
        for finding in shaped_run.stages["lining.cover"].findings
    }

    assert set(findings) == set(covers)
    for name, finding in findings.items():
        ratio = covers[name].ordered_area / layouts[name].ordered_area
        assert finding.value == pytest.approx(ratio)
        assert finding.grade is (Grade.GOOD if ratio <= 1.10 else Grade.LOOK)


def test_the_pieces_lie_over_all_of_their_ground_on_the_plan(shaped_run):
    for name, layout in shaped_run.results.lining.layout.liners.items():
        area = shaped_run.results.lining.area.liners[name]
        inside = area.ground.distance > -area.beyond + 1e-9
        east, north = np.meshgrid(area.ground.grid.east, area.ground.grid.north)
        lying = shapely.union_all(shapely.polygons(layout.pieces)).buffer(1e-6)

        assert shapely.covers(lying, shapely.points(east[inside], north[inside])).all()


def test_no_size_is_below_the_ground_and_the_waste_is_told(shaped_run):
    arcs = shaped_run.results.lining.arcs.liners
    areas = shaped_run.results.lining.area.liners
    layouts = shaped_run.results.lining.layout.liners
    covers = shaped_run.results.lining.cover.liners

    for name, area in areas.items():
        assert arcs[name].least <= area.area * 1.005
        assert layouts[name].ordered_area >= area.area
        assert layouts[name].waste == pytest.approx(layouts[name].ordered_area / area.area - 1.0)
        assert covers[name].ordered_area >= covers[name].least


def test_a_drag_tells_a_size_that_is_live_and_the_drop_settles_it(shaped, shaped_run):
    dragged = advance(wanted(), shaped_run, moved(shaped), Log(), "drag")
    live = dragged.results.lining.arcs.liners
    settled = advance(wanted(), dragged, moved(shaped), Log(), "settle").results.lining.arcs.liners
    cold = run_of(moved(shaped)).results.lining.arcs.liners

    assert live["pond"].live and not live["wetland"].live
    assert live["wetland"] is shaped_run.results.lining.arcs.liners["wetland"]
    assert not settled["pond"].live
    assert same(settled["pond"], cold["pond"])
    assert live["pond"].ordered_area <= 1.05 * settled["pond"].ordered_area
    assert live["pond"].least == pytest.approx(settled["pond"].least)


def test_another_liner_in_a_drag_is_searched_in_full(shaped, shaped_run):
    """No frame before tells a direction for strips where there was one piece."""
    rolls = Liner(bodies=("pond",), one_piece=False, stock=(Stock(width=6.0, length=60.0),))
    dragged = advance(wanted(), shaped_run, lined(shaped, pond=rolls), Log(), "drag")

    arcs = dragged.results.lining.arcs.liners["pond"]

    assert arcs.plan is not None and not arcs.live


def test_a_moved_peg_gives_with_a_hint_what_it_gives_without(shaped, shaped_run):
    other = moved(shaped)

    warm, cold = run_of(other, shaped_run), run_of(other)

    for name in LINING:
        assert warm.stages[name].findings == cold.stages[name].findings
        assert same(warm.stages[name].result, cold.stages[name].result)


def test_a_liner_that_nothing_moves_keeps_its_plan_and_its_proof(shaped, shaped_run):
    warm = run_of(moved(shaped), shaped_run)

    for stage in ("layout", "cover"):
        now, before = (getattr(run.results.lining, stage).liners for run in (warm, shaped_run))
        assert now["wetland"] is before["wetland"]
        assert now["pond"] is not before["pond"]


def test_rolls_are_laid_side_by_side_and_their_seams_are_told():
    job = lined(
        loads(example_text(GARDEN)),
        pond=Liner(bodies=("pond",), one_piece=False, stock=(Stock(width=4.0, length=30.0),)),
    )

    run = run_of(job)
    layout = run.results.lining.layout.liners["pond"]

    assert layout.count == len(layout.plan.strips) == len(layout.pieces) > 1
    assert layout.seams > 0.0
    assert layout.ordered_area >= run.results.lining.area.liners["pond"].area


def test_rolls_without_a_size_are_asked_for():
    job = lined(loads(example_text(GARDEN)), pond=Liner(bodies=("pond",), one_piece=False))

    codes = [finding.code for finding in run_of(job).stages["lining.layout"].findings]

    assert "lining.stock" in codes


def test_more_margin_is_more_liner():
    garden = loads(example_text(GARDEN))
    areas = [
        run_of(lined(garden, pond=Liner(bodies=("pond",), margin=margin))).results.lining.area.area
        for margin in (0.3, 0.6, 1.0)
    ]

    assert areas == sorted(set(areas))
