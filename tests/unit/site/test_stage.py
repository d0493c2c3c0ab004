"""The site's stages, on small jobs and on the examples."""

import json
import math
from typing import Any

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.base.findings import Finding, Grade
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW, example_text
from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.edits import Edit, apply, read_edit
from pondwright.rooms.site.stage import (
    ExistingResult,
    GroundResult,
    LevelsResult,
    UncertaintyResult,
    existing_stage,
    ground_stage,
    levels_stage,
    uncertainty_stage,
)


def coordinates(east: float, north: float, elevation: float | None = 50.0, **facts: Any) -> dict[str, Any]:
    return {"place": {"by": "coordinates", "east": east, "north": north}, "elevation": elevation, **facts}


def meadow(fall: float = 0.02) -> dict[str, Any]:
    """Sixteen shots on a falling plane, 5 m apart, from 100 east and 100 north."""
    return {
        f"s{row}{column}": coordinates(100.0 + 5.0 * column, 100.0 + 5.0 * row, 50.0 + fall * 5.0 * row)
        for row in range(4)
        for column in range(4)
    }


def job(shots: dict[str, Any], **site: Any) -> Job:
    document = {
        "format": 1,
        "id": "test",
        "name": "A test",
        "site": {"shots": shots, **site},
        "shape": {"bodies": {"pond": {"outline": {"form": "ring", "curve": {"pegs": square(105.0, 110.0)}}}}},
    }
    return loads(json.dumps(document))


def square(low: float, high: float) -> list[dict[str, Any]]:
    places = [(low, low), (high, low), (high, high), (low, high)]
    return [{"id": f"p{peg}", "east": east, "north": north} for peg, (east, north) in enumerate(places)]


def view_of(document: Job) -> dict[str, Any]:
    return {
        "site.frame": document.site.frame,
        "site.marks": document.site.marks,
        "site.shots": document.site.shots,
        "site.lines": document.site.lines,
        "site.books": document.site.books,
        "site.surveys": document.site.surveys,
        "site.clouds": document.site.clouds,
        "shape.bodies": document.shape.bodies,
        "rules": document.rules,
    }


def ground(document: Job) -> tuple[GroundResult, tuple[Finding, ...]]:
    return ground_stage(view_of(document), {"site.levels": levels(document)})


def levels(document: Job) -> LevelsResult:
    return levels_stage(view_of(document), {})[0]


def uncertainty(document: Job) -> tuple[UncertaintyResult, tuple[Finding, ...]]:
    result, _ = ground(document)
    return uncertainty_stage(view_of(document), {"site.levels": levels(document), "site.ground": result})


def existing(document: Job) -> tuple[ExistingResult, tuple[Finding, ...]]:
    result, _ = ground(document)
    return existing_stage(view_of(document), {"site.ground": result})


def by_code(findings: tuple[Finding, ...], code: str) -> list[Finding]:
    return [finding for finding in findings if finding.code == code]


def test_a_plain_meadow_passes_every_check() -> None:
    result, findings = ground(job(meadow()))
    _, readings = uncertainty(job(meadow()))

    assert {finding.grade for finding in (*findings, *readings)} == {Grade.GOOD}
    assert result.shot_count == 16
    assert result.survey_area == pytest.approx(225.0)
    assert (result.lowest, result.highest) == (50.0, pytest.approx(50.3))
    assert (result.lowest_shot, result.highest_shot) == ("s00", "s30")


def test_every_check_has_a_source() -> None:
    _, findings = ground(job(meadow()))
    _, readings = uncertainty(job(meadow()))

    assert all(finding.source is not None for finding in (*findings, *readings))


def test_muck_firm_bottom_and_water_are_not_mixed_into_the_ground() -> None:
    probes = {
        surface: coordinates(107.0, 107.0 + step, 40.0, surface=surface)
        for step, surface in enumerate(("muck", "firm", "water"))
    }
    result, _ = ground(job(meadow() | probes))

    assert set(result.shots.ids) == set(meadow())


def test_a_shot_on_a_structure_stands_for_the_ground() -> None:
    result, _ = ground(job(meadow() | {"step": coordinates(107.0, 107.0, 50.2, surface="structure")}))

    assert "step" in result.shots.ids


def test_a_removed_shot_does_not_count() -> None:
    result, _ = ground(job(meadow() | {"old": coordinates(107.0, 107.0, 40.0, status="remove")}))

    assert "old" not in result.shots.ids


def test_shots_without_height_or_place_are_left_out_and_told() -> None:
    waiting = {
        "flat": coordinates(107.0, 107.0, None),
        "noted": {"place": {"by": "book"}, "elevation": 50.1},
    }
    result, findings = ground(job(meadow() | waiting))

    assert result.shot_count == 16
    (told,) = by_code(findings, "site.shots_without_height")
    assert told.grade is Grade.LOOK
    assert told.where.paths == ("site.shots.flat", "site.shots.noted")


def test_five_shots_are_called_too_few() -> None:
    five = dict(list(meadow().items())[:5])
    _, findings = ground(job(five))

    (told,) = by_code(findings, "site.shot_count")
    assert (told.grade, told.value, told.limit) == (Grade.LOOK, 5.0, 12.0)


def test_a_job_may_replace_a_limit() -> None:
    rule = {"limit": 4.0, "reason": "A small tub.", "by": "Me"}
    document = job(dict(list(meadow().items())[:5]))
    replaced = apply(document, edit_of({"op": "add", "path": "/rules/site.shot_count", "value": rule}))
    _, findings = ground(replaced)

    assert by_code(findings, "site.shot_count")[0].grade is Grade.GOOD


def edit_of(*ops: dict[str, Any]) -> Edit:
    return read_edit({"id": "e1", "base": 0, "ops": list(ops), "label": "A try"})


def applied(document: Job, finding: Finding, advice: int) -> Job:
    return apply(document, Edit("e1", 0, finding.advice[advice].ops, "A way out"))


def test_two_shots_are_too_few_for_a_ground() -> None:
    with pytest.raises(DomainError, match="no ground yet: paste or type at least three shots .* got 2"):
        ground(job({"a": coordinates(0.0, 0.0), "b": coordinates(5.0, 0.0)}))


def test_of_two_shots_on_one_spot_the_first_is_used_and_the_other_may_be_removed() -> None:
    document = job(meadow() | {"twice": coordinates(105.0, 105.0, 49.0)})
    result, findings = ground(document)

    (told,) = by_code(findings, "site.same_place")
    assert told.grade is Grade.LOOK
    assert "twice" not in result.shots.ids
    _, after = ground(applied(document, told, 1))
    assert by_code(after, "site.same_place")[0].grade is Grade.GOOD


def test_a_breakline_through_a_second_shot_on_one_spot_goes_through_the_first() -> None:
    lines = {"bank": {"kind": "break", "shots": ["s10", "twice", "s12"]}}
    _, findings = ground(job(meadow() | {"twice": coordinates(105.0, 105.0, 49.0)}, lines=lines))

    (told,) = by_code(findings, "site.same_place")
    assert len(told.advice) == 1


def rough_meadow() -> dict[str, Any]:
    noise = np.random.default_rng(3).normal(0.0, 0.01, 49)
    return {
        f"s{row}{column}": coordinates(
            100.0 + 4.0 * column, 100.0 + 4.0 * row, round(50.0 + noise[7 * row + column], 3)
        )
        for row in range(7)
        for column in range(7)
    }


def test_a_reading_slipped_by_a_foot_is_found_and_can_be_put_right() -> None:
    shots = rough_meadow()
    shots["s33"]["elevation"] = round(shots["s33"]["elevation"] + 0.3048, 4)
    document = job(shots)
    _, findings = uncertainty(document)

    (told,) = by_code(findings, "site.reading_slip")
    assert told.grade is Grade.LOOK
    assert told.where.paths == ("site.shots.s33",)
    assert told.advice[1].says == "Take one foot off."
    _, after = uncertainty(applied(document, told, 1))
    assert by_code(after, "site.reading_slip")[0].grade is Grade.GOOD


def test_a_reading_slipped_down_by_a_metre_can_be_put_right() -> None:
    shots = rough_meadow()
    shots["s24"]["elevation"] = round(shots["s24"]["elevation"] - 1.0, 4)
    document = job(shots)
    _, findings = uncertainty(document)

    (told,) = by_code(findings, "site.reading_slip")
    assert told.advice[1].says == "Put one metre on."
    _, after = uncertainty(applied(document, told, 1))
    assert by_code(after, "site.reading_slip")[0].grade is Grade.GOOD


def test_honest_noise_is_no_slip() -> None:
    _, findings = uncertainty(job(rough_meadow()))

    assert [finding.grade for finding in by_code(findings, "site.reading_slip")] == [Grade.GOOD]


MARKS = {
    "a": {"place": {"at": "point", "east": 100.0, "north": 100.0}, "elevation": 50.0, "sigma": 0.004},
    "b": {"place": {"at": "point", "east": 120.0, "north": 100.0}},
    "c": {"place": {"at": "point", "east": 110.0, "north": 120.0}},
    "nowhere": {"elevation": 51.0},
}


def located(place: dict[str, Any]) -> tuple[tuple[float, float] | None, tuple[Finding, ...]]:
    document = job(meadow() | {"new": {"place": place, "elevation": 50.1}}, marks=MARKS)
    result, findings = ground(document)
    if "new" not in result.shots.ids:
        return None, findings
    return result.shots.place(result.shots.ids.index("new")), findings


def test_a_shot_by_offset_stands_left_of_its_base() -> None:
    place, _ = located({"by": "offset", "base": ["a", "b"], "along": 7.0, "off": 3.0})

    assert place == pytest.approx((107.0, 103.0))


def test_a_shot_by_bearing_stands_where_it_points() -> None:
    place, _ = located({"by": "bearing", "from_mark": "a", "bearing": math.pi / 4.0, "distance": 10.0})

    assert place == pytest.approx((100.0 + 10.0 / math.sqrt(2.0), 100.0 + 10.0 / math.sqrt(2.0)))


def tapes(*distances: float, side: str = "left") -> dict[str, Any]:
    pairs = [{"mark": mark, "distance": distance} for mark, distance in zip("abc", distances, strict=False)]
    return {"by": "tapes", "tapes": pairs, "side": side}


def test_a_shot_by_two_tapes_stands_on_the_side_told() -> None:
    place, findings = located(tapes(15.0, 13.0))

    assert place == pytest.approx((111.4, 109.74885), abs=1e-4)
    assert by_code(findings, "site.tie_angle")[0].grade is Grade.GOOD


def test_tapes_almost_in_one_line_are_told_as_weak() -> None:
    _, findings = located(tapes(10.1, 10.1))

    (told,) = by_code(findings, "site.tie_angle")
    assert told.grade is Grade.LOOK
    assert told.value is not None and told.value < math.radians(30.0)


def test_three_tapes_that_disagree_are_told() -> None:
    place, findings = located(tapes(15.0, 13.0, 11.5))

    assert place is not None
    assert by_code(findings, "site.tape_residual")[0].grade is Grade.LOOK


def test_tapes_that_do_not_meet_leave_the_shot_out_and_stop() -> None:
    place, findings = located(tapes(5.0, 5.0))

    (told,) = by_code(findings, "site.no_place")
    assert place is None
    assert told.grade is Grade.STOP
    assert "gap of 10.000 m" in told.says


def test_a_mark_without_a_place_cannot_locate_a_shot() -> None:
    place, findings = located({"by": "bearing", "from_mark": "nowhere", "bearing": 0.0, "distance": 5.0})

    assert place is None
    assert by_code(findings, "site.no_place")[0].grade is Grade.STOP


def test_the_least_sure_benchmark_is_common_to_all_shots() -> None:
    result, _ = uncertainty(job(meadow(), marks=MARKS))

    assert result.errors.benchmark_sigma == 0.004


def test_a_breakline_bends_the_ground_along_it() -> None:
    ridge = meadow(0.0) | {"r1": coordinates(102.0, 107.5, 52.0), "r2": coordinates(113.0, 107.5, 52.0)}
    lines = {"ridge": {"kind": "break", "shots": ["r1", "r2"]}}
    result, _ = ground(job(ridge, lines=lines))

    along = result.z[:, np.argmin(np.abs(result.grid.east - 107.5))]
    assert along.max() == pytest.approx(52.0, abs=0.05)


def test_breaklines_that_cross_at_different_heights_are_told() -> None:
    crossing = meadow() | {
        "r1": coordinates(102.0, 107.5, 52.0),
        "r2": coordinates(113.0, 107.5, 52.0),
        "q1": coordinates(107.5, 102.0, 50.0),
        "q2": coordinates(107.5, 113.0, 50.0),
    }
    lines = {
        "ridge": {"kind": "break", "shots": ["r1", "r2"]},
        "ditch": {"kind": "break", "shots": ["q1", "q2"]},
    }
    _, findings = ground(job(crossing, lines=lines))

    told = by_code(findings, "site.line_heights")
    assert told[0].grade is Grade.LOOK
    assert told[0].value == pytest.approx(2.0)
    assert told[0].where.points[0] == pytest.approx((107.5, 107.5))


def test_a_breakline_without_heights_is_told() -> None:
    points = [{"east": 101.0, "north": 101.0}, {"east": 110.0, "north": 110.0}]
    _, findings = ground(job(meadow(), lines={"edge": {"kind": "break", "line": points}}))

    assert by_code(findings, "site.line_without_heights")[0].where.paths == ("site.lines.edge",)


def test_beyond_the_limit_the_ground_is_guessed() -> None:
    limit = [
        {"east": e, "north": n} for e, n in ((100.0, 100.0), (110.0, 100.0), (110.0, 115.0), (100.0, 115.0))
    ]
    result, _ = ground(job(meadow(), lines={"limit": {"kind": "limit", "line": limit}}))

    row = int(np.argmin(np.abs(result.grid.north - 107.6)))
    column = int(np.argmin(np.abs(result.grid.east - 112.5)))
    assert result.survey_area == pytest.approx(150.0)
    assert result.known[row, column] == 3


def test_without_a_grid_the_stage_tells_how_to_keep_the_one_it_chose() -> None:
    document = job(meadow())
    result, findings = ground(document)

    (told,) = by_code(findings, "site.grid")
    kept, after = ground(applied(document, told, 0))
    assert kept.grid == result.grid
    assert by_code(after, "site.grid") == []


def test_a_dragged_shore_does_not_touch_the_ground() -> None:
    # The stage asks for nothing of the shape: a view without it is enough.
    view = view_of(job(meadow()))
    del view["shape.bodies"]
    result, _ = ground_stage(view, {"site.levels": levels(job(meadow()))})

    assert result.shot_count == 16


def moved_shore(low: float, high: float) -> Job:
    document = job(meadow())
    pegs = square(low, high)
    path = "/shape/bodies/pond/outline/curve/pegs"
    return apply(document, edit_of({"op": "replace", "path": path, "value": pegs}))


def test_a_shore_on_surveyed_ground_is_good() -> None:
    result, findings = existing(job(meadow()))

    assert {finding.grade for finding in findings} == {Grade.GOOD}
    assert result.bodies["pond"].guessed_share == 0.0
    assert result.bodies["pond"].low_rim == pytest.approx(50.0 + 0.02 * 5.0, abs=0.02)


def test_a_shore_beyond_the_survey_is_looked_at() -> None:
    result, findings = existing(moved_shore(105.0, 118.0))

    (outside,) = by_code(findings, "site.shore_outside")
    assert outside.grade is Grade.LOOK
    assert outside.where.points
    assert by_code(findings, "site.guessed_ground")[0].grade is Grade.LOOK
    assert 0.1 < result.bodies["pond"].guessed_share < 0.6


def test_a_shore_off_the_grid_stops_and_offers_a_larger_grid() -> None:
    document = moved_shore(105.0, 150.0)
    result, findings = existing(document)

    (outside,) = by_code(findings, "site.shore_outside")
    assert outside.grade is Grade.STOP
    assert "pond" not in result.bodies
    widened, _ = existing(applied(document, outside, 1))
    assert "pond" in widened.bodies


def test_a_stream_has_no_ring_to_lay_on_the_ground() -> None:
    document = job(meadow())
    stream = {
        "outline": {"form": "corridor", "curve": {"pegs": square(104.0, 108.0)[:2]}, "widths": [1.0, 1.0]},
        "role": "stream",
    }
    with_stream = apply(document, edit_of({"op": "add", "path": "/shape/bodies/brook", "value": stream}))
    result, _ = existing(with_stream)

    assert list(result.bodies) == ["pond"]


@pytest.mark.parametrize("name", [LARKMEADOW, DOZEN_SHOTS])
def test_an_example_gives_a_full_answer_that_stops_nowhere(name: str) -> None:
    document = loads(example_text(name))
    result, findings = ground(document)
    sure, readings = uncertainty(document)
    bodies, more = existing(document)

    assert np.isfinite(result.z).all() and np.isfinite(sure.sigma).all()
    assert "pond" in bodies.bodies
    assert Grade.STOP not in {finding.grade for finding in (*findings, *readings, *more)}
