"""Lines not to cross, on small jobs: each kind of line against shores, berms, heaps and ways."""

import json
import math
from typing import Any

import pytest

from pondwright.base.findings import Finding, Grade, Op
from pondwright.flow.engine import Run, advance
from pondwright.flow.results import figures
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.edits import Edit, apply
from pondwright.job.log import Log
from pondwright.rooms.site.checks.bounds import LIMITS
from tests.unit.site.surveys import meadow

OWN = tuple(stage for stage in STAGES if stage.name in ("site.levels", "site.ground", "site.clearances"))
GRID = {"origin_east": 80.0, "origin_north": 80.0, "spacing": 1.0, "columns": 61, "rows": 61}


def line(*points: tuple[float, float]) -> dict[str, Any]:
    return {"at": "line", "points": [{"east": east, "north": north} for east, north in points]}


def ring(low: float, high: float) -> dict[str, Any]:
    places = [(low, low), (high, low), (high, high), (low, high)]
    pegs = [{"id": f"p{n}", "east": e, "north": m, "corner": True} for n, (e, m) in enumerate(places)]
    return {"at": "ring", "curve": {"pegs": pegs}}


def point(east: float, north: float) -> dict[str, Any]:
    return {"at": "point", "east": east, "north": north}


def job(level: float | None = None, rules: dict[str, Any] | None = None, **site: Any) -> Job:
    """Pond from 105 to 110 east and north, on ground that is 50 m high and falls a little."""
    pond = {"outline": {"form": "ring", "curve": ring(105.0, 110.0)["curve"]}, "level": level}
    return loads(
        json.dumps(
            {
                "format": 1,
                "id": "test",
                "name": "A test",
                "site": {"frame": {"grid": GRID}, "shots": meadow(), **site},
                "shape": {"bodies": {"pond": pond}},
                "rules": rules or {},
            }
        )
    )


def run(document: Job) -> Run:
    return advance(OWN, None, document, Log(), "background")


def found(document: Job) -> tuple[Finding, ...]:
    return run(document).stages["site.clearances"].findings


def only(document: Job) -> Finding:
    (finding,) = found(document)
    return finding


def bound(kind: str, place: dict[str, Any], **facts: Any) -> dict[str, Any]:
    return {"bounds": {"it": {"kind": kind, "place": place, "name": "the hedge", **facts}}}


def test_a_shore_clear_of_a_line_is_good_and_tells_how_clear():
    check = only(job(**bound("setback", line((0.0, 100.0), (200.0, 100.0)))))

    assert (check.code, check.grade, check.value, check.limit) == ("site.shore_setback", Grade.GOOD, 5.0, 0.0)
    assert (
        check.says
        == "The shore of `pond` keeps clear of the setback line (the hedge), and so does all other work."
    )


def test_a_shore_over_a_line_stops_and_lights_up_the_place():
    check = only(job(**bound("easement", line((0.0, 107.0), (200.0, 107.0)))))

    assert check.grade is Grade.STOP and check.value == pytest.approx(-2.0, abs=0.03)
    assert check.says == "The shore of `pond` crosses the easement (the hedge)."
    assert all(105.0 <= east <= 110.0 and 105.0 <= north <= 107.1 for east, north in check.where.points)
    assert check.where.paths == ("site.bounds.it", "shape.bodies.pond.outline")


@pytest.mark.parametrize(("clear", "grade"), [(None, Grade.LOOK), (8.0, Grade.STOP), (4.0, Grade.GOOD)])
def test_nearer_than_is_usual_is_a_look_and_nearer_than_the_job_asks_a_stop(clear, grade):
    told = {} if clear is None else {"clear": clear}

    check = only(job(**bound("septic", line((0.0, 100.0), (200.0, 100.0)), **told)))

    assert check.grade is grade and check.value == 5.0 and check.limit == (clear or 15.24)
    assert ("Local codes decide" in " ".join(way.says for way in check.advice)) is (clear is None)


def test_the_job_may_set_another_distance_for_all_lines_of_a_kind():
    rule = {"site.shore_septic": {"limit": 4.0, "reason": "county says so", "by": "Ann"}}

    assert only(job(rules=rule, **bound("septic", point(107.0, 100.0)))).grade is Grade.GOOD


def test_a_boundary_ring_is_kept_inside_and_any_other_ring_outside():
    assert only(job(**bound("boundary", ring(100.0, 115.0)))).value == 5.0
    corner = only(job(**bound("boundary", ring(100.0, 108.0))))
    assert corner.value == pytest.approx(-math.hypot(2.0, 2.0))
    assert only(job(**bound("wetland", ring(100.0, 115.0)))).grade is Grade.STOP
    assert only(job(**bound("wetland", ring(100.0, 115.0), keep="inside", clear=2.0))).grade is Grade.GOOD


def test_the_berm_reaches_beyond_the_shore_where_water_stands_above_the_ground():
    low, high = (
        only(job(level=level, **bound("setback", line((0.0, 100.0), (200.0, 100.0)))))
        for level in (49.0, 51.0)
    )

    assert low.value == 5.0 and high.says.startswith("The berm of `pond`")
    # Ground 0.1 m over 50 at the southern shore; top 51.3 m: 0.3 · 2 + 0.9 + 1.2 · 3 from the shore.
    assert high.value == pytest.approx(5.0 - (0.6 + 0.9 + 1.2 * 3.0), abs=0.02)


def test_a_crown_is_as_wide_as_it_is_and_crossing_it_is_a_look():
    tree = {"kind": "tree", "name": "Oak", "place": point(112.0, 107.0), "size": 5.0}

    check = only(job(things={"oak": tree}))

    assert (check.code, check.grade) == ("site.shore_tree", Grade.LOOK)
    assert check.value == pytest.approx(-0.5) and "the crown of the tree (Oak)" in check.says


def test_what_is_to_be_taken_away_is_no_line_and_no_work():
    gone = {"status": "remove", "place": point(107.0, 107.0)}

    assert found(job(things={"oak": {"kind": "tree", **gone}, "heap": {"kind": "soil_pile", **gone}})) == ()
    assert found(job(**bound("other", point(107.0, 107.0), status="remove"))) == ()


def test_a_heap_on_a_line_is_offered_its_way_off_and_then_it_is_clear():
    document = job(
        things={"heap": {"kind": "soil_pile", "place": point(107.0, 91.0), "size": 4.0}},
        bounds={"edge": {"kind": "boundary", "place": line((0.0, 90.0), (200.0, 90.0))}},
    )
    check = next(each for each in found(document) if each.code == "site.load_boundary")
    assert check.grade is Grade.STOP and check.value == pytest.approx(-1.0)

    better = apply(document, Edit("e-1", 0, check.advice[0].ops, "move"))

    assert all(each.grade is Grade.GOOD for each in found(better))


def test_a_move_that_would_not_be_enough_is_not_offered():
    document = job(
        things={"heap": {"kind": "soil_pile", "place": ring(90.0, 92.0)}},
        bounds={"field": {"kind": "septic", "place": ring(80.0, 102.0)}},
    )
    check = next(each for each in found(document) if each.code == "site.load_septic")

    assert check.grade is Grade.STOP and not any(way.ops for way in check.advice)


@pytest.mark.parametrize(("east", "grade"), [(113.0, Grade.GOOD), (110.3, Grade.LOOK), (108.0, Grade.STOP)])
def test_a_heap_stays_back_from_the_edge_of_the_water(east, grade):
    check = only(job(things={"heap": {"kind": "stone_pile", "place": point(east, 107.0)}}))

    assert (check.code, check.grade) == ("site.pile_edge", grade)


def test_a_way_may_cross_a_boundary_at_a_gate_and_nowhere_else():
    way = {"kind": "access", "name": "Way in", "place": line((120.0, 80.0), (120.0, 100.0)), "size": 3.0}
    gate = {"kind": "access", "place": point(120.5, 90.0), "size": 3.0}
    edge = {"edge": {"kind": "boundary", "place": line((0.0, 90.0), (200.0, 90.0))}}

    (without,) = found(job(things={"way": way}, bounds=edge))
    (through,) = found(job(things={"way": way, "gate": gate}, bounds=edge))

    assert (without.code, without.grade) == ("site.load_boundary", Grade.LOOK)
    assert without.says == "Way in crosses the boundary (edge)."
    assert (through.code, through.grade) == ("site.shore_boundary", Grade.GOOD)


def test_a_stream_is_as_wide_as_its_widest_place():
    document = job(**bound("setback", line((0.0, 95.0), (200.0, 95.0))))
    stream = {
        "outline": {
            "form": "corridor",
            "curve": {
                "pegs": [{"id": "a", "east": 90.0, "north": 98.0}, {"id": "b", "east": 100.0, "north": 98.0}]
            },
            "widths": [1.0, 2.0],
        }
    }
    document = apply(document, Edit("e-1", 0, (Op("add", "/shape/bodies/stream", stream),), ""))

    assert only(document).value == pytest.approx(2.0)


def test_a_line_that_is_no_point_line_or_ring_is_told():
    check = only(job(**bound("other", {"at": "whole"})))

    assert (check.code, check.grade) == ("site.line_place", Grade.LOOK)


def test_figures_tell_the_least_clearance_of_water_and_of_loads_apart():
    document = job(
        things={"heap": {"kind": "soil_pile", "place": point(107.0, 98.0)}},
        **bound("stream", line((0.0, 95.0), (200.0, 95.0))),
    )

    told = {each.path: each.value for each in figures(run(document))}

    assert told["site.clearances.bounds.it.clearance"] == pytest.approx(10.0)
    assert told["site.clearances.bounds.it.loads"] == pytest.approx(3.0)
    assert told["site.clearances.bounds.it.required"] == pytest.approx(3.048)


def test_a_job_without_lines_says_nothing():
    assert found(job()) == ()


def test_every_limit_has_a_source_and_none_is_below_zero():
    assert all(str(limit.source) and limit.value >= 0.0 for limit in LIMITS)
    assert len({limit.code for limit in LIMITS}) == len(LIMITS)


def test_a_line_that_is_only_called_what_it_is_is_not_named_twice():
    row = {"kind": "boundary", "place": line((0.0, 107.0), (200.0, 107.0))}

    check = only(job(bounds={"boundary": row}))

    assert check.says == "The shore of `pond` crosses the boundary."
