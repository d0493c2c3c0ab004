"""The takeoff of stone on a small invented job: what is counted where, what is on hand, what is told."""

import math

import numpy as np
import pytest

from pondwright.base.findings import Grade
from tests.unit.stone.shelved import (
    PLAIN,
    POND,
    bank,
    isle,
    part,
    stone_class,
    stretch,
    takeoff,
    treatment,
    values,
    with_brook,
)

EDGE = stone_class(0.5, 0.5)
SHORE = 2.0 * math.pi * 8.0
BUILT = {
    "whole": {
        "place": POND,
        "layers": [
            {"item": "gravel_a", "thickness": 0.2},
            {"item": "liner_a", "thickness": 0.001, "seals": True},
            {"item": "gravel_a", "thickness": 0.1, "porosity": 0.4},
        ],
    }
}


def found_of(found):
    return takeoff(found)["stone.takeoff"]


def test_courses_are_counted_along_the_shore_and_before_the_next_step():
    found = found_of(
        values(
            classes={"edge": EDGE},
            treatments={"edge": treatment("courses", POND, ("edge", 1.0), courses=2, gap=0.0)},
        )
    )

    shore, inner = found.bodies["pond"].runs
    assert (shore.offset, inner.offset, shore.course, inner.course) == (0.0, 0.8, 1, 2)
    assert shore.length == pytest.approx(SHORE, rel=2e-3)
    assert inner.length == pytest.approx(2.0 * math.pi * 7.2, rel=2e-3)
    assert found.count == math.ceil((shore.length + inner.length) / 0.5)
    assert found.mass == pytest.approx(found.count * 0.85 * 2650.0 * 0.125)
    assert found.classes["edge"].buy_count == math.ceil(1.1 * found.count)
    np.testing.assert_allclose(np.hypot(*shore.inward.T), 1.0)
    assert ((shore.points - 15.0) * shore.inward).sum(axis=1).max() < -7.5


def test_a_stretch_has_the_courses_of_its_length_and_the_rest_its_default():
    found = found_of(
        values(
            classes={"edge": EDGE},
            treatments={"edge": treatment("courses", stretch("p0", "p4"), ("edge", 1.0), courses=2)},
        )
    )

    runs = {(run.row, run.course): run for run in found.bodies["pond"].runs}
    assert runs["edge", 1].length == pytest.approx(0.25 * SHORE, rel=2e-3)
    assert runs["", 1].length == pytest.approx(0.75 * SHORE, rel=2e-3)
    assert runs["edge", 2].length + runs["", 2].length == pytest.approx(2.0 * math.pi * 7.2, rel=2e-3)
    assert (found.classes["step_300"].low, found.classes["step_300"].high) == pytest.approx((0.35, 0.40))


def test_a_course_of_a_zone_stands_before_the_step_there_and_leaves_the_others_their_default():
    found = found_of(
        values(classes={"edge": EDGE}, treatments={"shelf": treatment("courses", part(3), ("edge", 1.0))})
    )

    assert {(run.row, run.offset) for run in found.bodies["pond"].runs} == {("shelf", 0.8), ("", 0.0)}


def test_islands_have_edges_too():
    found = found_of(isle(values()))

    ring = found.bodies["pond"].top.ring
    assert set(ring) == {0, 1}
    assert not np.isnan(found.bodies["pond"].top.top).any()


@pytest.mark.parametrize(
    ("courses", "size", "hidden", "grade"),
    [
        pytest.param(2, 0.5, True, Grade.GOOD, id="taller than both steps"),
        pytest.param(2, 0.4, False, Grade.LOOK, id="no taller than the inner step"),
        pytest.param(3, 0.34, False, Grade.LOOK, id="a third row upon the shore's leaves the inner step"),
        pytest.param(4, 0.34, True, Grade.GOOD, id="two rows before each step"),
        pytest.param(1, 0.5, False, Grade.LOOK, id="none before the inner step"),
    ],
)
def test_stone_that_is_no_taller_than_a_step_is_told_with_its_place(courses, size, hidden, grade):
    found = takeoff(
        values(
            classes={"edge": stone_class(size, size)},
            treatments={"edge": treatment("courses", POND, ("edge", 1.0), courses=courses)},
        )
    )

    finding = found.finding("stone.hides_riser")
    assert finding.grade is grade
    assert len(finding.where.points) == len(finding.advice) == int(grade is Grade.LOOK)
    assert found["stone.takeoff"].bodies["pond"].top.hidden.all() == hidden


def test_the_top_of_the_stone_stands_above_the_water_by_what_the_step_leaves():
    found = found_of(
        values(
            classes={"edge": EDGE},
            treatments={"edge": treatment("courses", stretch("p0", "p8"), ("edge", 1.0), courses=2),
                        "rest": treatment("planted", stretch("p8", "p0"))},
        )
    )  # fmt: skip

    top = found.bodies["pond"].top
    half = ~np.isnan(top.top)
    assert half.sum() == pytest.approx(0.5 * len(half), abs=2)
    np.testing.assert_allclose(top.top[half], 100.0 - 0.3 + 0.5)
    np.testing.assert_allclose(top.riser, 0.3)


def test_a_planted_or_bare_edge_takes_no_stone_and_no_default():
    found = takeoff(values(treatments={"edge": treatment("planted", POND)}))

    assert found["stone.takeoff"].lines == ()
    assert "stone.default" not in found.findings


def test_a_cover_counts_the_true_area_of_its_zone():
    found = found_of(
        values(
            classes={"round": stone_class(0.02, 0.04, shape="rounded")},
            treatments={
                "edge": treatment("bare", POND),
                "gravel": treatment("gravel", part(4), ("round", 1.0), thickness=0.1, porosity=0.4),
            },
        )
    )

    area = math.pi * (6.4**2 - 5.0**2) * math.hypot(1.0, 0.6 / 1.4)
    (line,) = found.lines
    assert line.area == pytest.approx(area, rel=5e-3)
    assert line.mass == pytest.approx(0.1 * line.area * 2650.0 * 0.6)
    assert found.classes["round"].buy == pytest.approx(1.05 * line.mass)
    assert line.volume == pytest.approx(0.1 * line.area)


def test_a_cover_without_a_thickness_is_one_and_a_half_of_its_largest_grain():
    found = found_of(
        values(
            classes={"round": stone_class(0.02, 0.04)},
            treatments={"gravel": treatment("gravel", part(5), ("round", 1.0))},
        )
    )

    assert [line.thickness for line in found.lines if line.use == "gravel"] == [pytest.approx(0.06)]


def test_a_treatment_fills_the_build_up_first_so_that_nothing_counts_twice():
    cover = treatment("cobble", part(5), ("cobble", 1.0), thickness=0.06)
    job = values(classes={"cobble": stone_class(0.03, 0.04)}, treatments={"floor": cover})
    job["build_up"] = BUILT

    lines = [line for line in found_of(job).lines if line.zone == 5]

    assert [(line.source, round(line.thickness, 9)) for line in lines] == [
        ("treatment", 0.06),
        ("build_up", 0.04),
    ]


def test_a_layer_under_the_liner_is_no_cover():
    job = values(treatments={"edge": treatment("bare", POND)})
    job["build_up"] = BUILT

    found = found_of(job)

    assert {line.thickness for line in found.lines} == {0.1}
    assert found.bodies["pond"].voids == pytest.approx(sum(0.4 * line.volume for line in found.lines))


def test_of_two_gravels_the_one_with_the_more_particular_place_counts():
    found = found_of(
        values(
            classes={"round": stone_class(0.02, 0.04)},
            treatments={
                "all": treatment("gravel", POND, ("round", 1.0), thickness=0.1),
                "floor": treatment("gravel", part(5), ("round", 1.0), thickness=0.2),
            },
        )
    )

    gravels = {line.zone: line.row for line in found.lines if line.use == "gravel"}
    assert gravels[5] == "floor" and gravels[4] == "all"


def test_a_layer_that_is_thicker_than_what_is_dug_for_it_is_told():
    cover = treatment("gravel", part(5), thickness=0.15)
    job = values(treatments={"floor": cover})
    job["build_up"] = BUILT

    finding = takeoff(job).finding("stone.build_up")

    assert (finding.value, finding.limit) == (pytest.approx(0.15), pytest.approx(0.1))


@pytest.mark.parametrize(
    ("run", "code", "grade"),
    [
        pytest.param(3.0, "stone.repose", Grade.GOOD, id="1 in 3 holds round gravel"),
        pytest.param(1.5, "stone.repose", Grade.LOOK, id="1 in 1.5 does not"),
    ],
)
def test_loose_gravel_stays_on_flat_slopes_only(run, code, grade):
    job = values(treatments={"slope": treatment("gravel", part(0))})
    job["shape"]["bank_types"]["shelved"] = bank([(0.0, 0.0), (run, 1.0)])

    assert takeoff(job).finding(code).grade is grade


def test_a_thin_layer_is_told():
    cover = treatment("gravel", part(5), ("round", 1.0), thickness=0.05)
    job = values(classes={"round": stone_class(0.02, 0.04)}, treatments={"floor": cover})

    assert takeoff(job).finding("stone.thickness").grade is Grade.LOOK


def test_stone_on_hand_is_used_first_and_never_bought_again():
    pieces = {
        "a": {"length": 0.7, "width": 0.5, "height": 0.4},
        "b": {"length": 0.7, "width": 0.5, "height": 0.4, "role": "seat"},
        "c": {"length": 0.7, "width": 0.9, "height": 0.4, "mass": 800.0},
        "d": {"length": 0.7, "width": 0.5, "height": 0.4, "stands": "yard"},
    }
    told = {
        "classes": {"edge": EDGE, "round": stone_class(0.02, 0.04)},
        "treatments": {
            "edge": treatment("courses", POND, ("edge", 1.0), courses=2),
            "floor": treatment("gravel", part(5), ("round", 1.0)),
        },
    }
    bare = found_of(values(**told))
    one = bare.classes["edge"].stone_mass
    piles = {"edge": {"mass": 10.5 * one, "stone": "edge"}, "round": {"mass": 1e6, "stone": "round"}}

    job = takeoff(values(**told, pieces=pieces, piles=piles))
    found = job["stone.takeoff"]

    edge = found.classes["edge"]
    assert found.pieces == {"a": "edge", "c": ""}
    assert edge.on_hand_count == 11
    assert edge.buy_count == math.ceil(1.1 * (bare.classes["edge"].count - 11) - 1e-9)
    assert found.classes["round"].buy == 0.0
    assert found.piles["round"] == pytest.approx(bare.classes["round"].mass)
    assert found.spare == pytest.approx(800.0 + 0.5 * one + 1e6 - bare.classes["round"].mass)
    # The measured stone is told by the yard list, and half a stone of a heap is no rest.
    left = job.finding("stone.left_over")
    assert left.value == pytest.approx(1e6 - bare.classes["round"].mass)
    assert left.says.startswith("Stone on hand is left over: ")
    assert left.says.endswith(" tons) of `stone.piles.round`, as no more of its class is wanted.")


@pytest.mark.parametrize(
    ("spare", "told"),
    [pytest.param(0.04, False, id="a few parts in a hundred"), pytest.param(0.10, True, id="a tenth")],
)
def test_the_small_rest_of_a_heap_is_not_left_over(spare, told):
    layers = {"floor": treatment("gravel", part(5), ("round", 1.0))}
    classes = {"round": stone_class(0.02, 0.04)}
    bare = found_of(values(classes=classes, treatments=layers)).classes["round"].mass
    piles = {"heap": {"mass": bare / (1.0 - spare), "stone": "round"}}

    job = takeoff(values(classes=classes, treatments=layers, piles=piles))

    assert bool(job.findings.get("stone.left_over")) is told


def test_a_mixed_pile_is_packed_behind_falls():
    falls = {"one": {"body": "brook", "step": 0, "width": 1.0}}
    found = found_of(with_brook(values(falls=falls, piles={"heap": {"mass": 500.0}})))

    assert found.piles == {"heap": 500.0}
    assert found.classes["backing"].on_hand == 500.0


def test_a_fall_has_its_stone_by_its_drop_from_the_upper_end():
    classes = {"flat": stone_class(0.6, 0.6, shape="slab"), "block": stone_class(0.4, 0.4)}
    falls = {
        "one": {"body": "brook", "step": 0, "width": 1.0, "spill": "flat", "frame": "block", "wing": 0.8},
        "two": {"body": "brook", "step": 1, "width": 1.0, "spill": "flat", "frame": "block", "backing": 0.0},
    }
    job = takeoff(with_brook(values(classes=classes, falls=falls)))

    one, two = (job["stone.takeoff"].falls[name] for name in ("one", "two"))
    assert (one.drop, two.drop) == (0.3, 0.4)
    assert (one.spill, one.face, one.frame, one.wings) == (2, 3, 2, 8)
    assert one.backing == pytest.approx(2.6 * 0.3 * 0.5 * 2650.0 * 0.7)
    assert two.backing == 0.0
    assert job.finding("stone.fall").grade is Grade.GOOD


def test_a_fall_without_stone_a_step_that_is_not_there_and_a_missing_class_are_told():
    falls = {"one": {"body": "brook", "step": 7, "width": 1.0}}
    finding = takeoff(with_brook(values(falls=falls))).finding("stone.fall")

    assert finding.grade is Grade.LOOK
    assert len(finding.advice) == 4


def test_a_stream_has_stone_on_both_banks_and_none_at_its_ends():
    job = with_brook(values(classes={"edge": EDGE}))
    place = {"at": "whole", "body": "brook"}
    job["stone"]["treatments"] = {"bank": treatment("courses", place, ("edge", 1.0))}

    (run,) = found_of(job).bodies["brook"].runs

    assert run.length == pytest.approx(32.0, rel=1e-3)


def test_a_stretch_of_a_stream_runs_along_both_banks():
    job = with_brook(values(classes={"edge": EDGE}))
    place = {"at": "stretch", "body": "brook", "start": "s1", "end": "s3"}
    job["stone"]["treatments"] = {"bank": treatment("courses", place, ("edge", 1.0))}

    (run,) = found_of(job).bodies["brook"].runs

    assert run.length == pytest.approx(16.0, rel=1e-3)


def test_banks_of_stretches_have_their_own_steps():
    job = values(
        classes={"edge": EDGE}, treatments={"edge": treatment("courses", POND, ("edge", 1.0), courses=2)}
    )
    job["shape"]["bodies"]["pond"]["stretches"] = {
        "beach": {"start": "p0", "end": "p8", "bank_type": "plain", "blend": 0.0}
    }

    runs = {(run.bank, run.course): run for run in found_of(job).bodies["pond"].runs}

    assert runs["beach", 1].rows == 2 and runs["beach", 1].riser == 0.0
    assert runs["", 1].length == pytest.approx(runs["beach", 1].length, rel=2e-2)
    assert runs["", 2].length == pytest.approx(math.pi * 7.2, rel=2e-2)


def test_a_treatment_that_lies_nowhere_is_told():
    assert takeoff(values(treatments={"far": treatment("gravel", part(30))})).finding("stone.nowhere")


def test_an_edge_by_default_is_told_and_no_edge_is_called_light_for_it():
    found = takeoff(values())

    assert found.finding("stone.default").grade is Grade.LOOK
    assert "stone.edge_light" not in found.findings


@pytest.mark.parametrize(
    ("size", "code", "grade"),
    [
        pytest.param(0.35, "stone.edge_light", Grade.LOOK, id="light"),
        pytest.param(0.5, "stone.edge_light", Grade.GOOD, id="as others"),
        pytest.param(1.4, "stone.edge_heavy", Grade.LOOK, id="heavy"),
    ],
)
def test_stone_on_a_metre_of_shore_is_compared_with_that_of_others(size, code, grade):
    job = values(
        classes={"edge": stone_class(size, size)},
        treatments={"edge": treatment("courses", POND, ("edge", 1.0), courses=2)},
    )

    assert takeoff(job).finding(code).grade is grade


def test_a_plain_bank_without_treatments_takes_no_stone():
    job = values()
    job["shape"]["bank_types"]["shelved"] = bank(PLAIN)

    assert found_of(job).lines == ()


def test_stone_that_is_there_already_is_placed_and_not_bought():
    edge = treatment("courses", POND, ("edge", 1.0), courses=2, status="keep")
    found = found_of(values(classes={"edge": EDGE}, treatments={"edge": edge}))

    assert found.bodies["pond"].count > 0
    assert found.buy == 0.0 and found.classes == {}


@pytest.mark.parametrize(
    ("also", "grade"),
    [
        pytest.param({}, Grade.LOOK, id="forgotten"),
        pytest.param({"rest": treatment("bare", POND)}, Grade.GOOD, id="meant to be bare"),
    ],
)
def test_zones_on_which_nothing_lies_are_told_where_others_have_layers(also, grade):
    job = takeoff(values(treatments={"floor": treatment("gravel", part(5)), **also}))

    assert job.finding("stone.bare").grade is grade


def test_broken_stone_stays_on_a_steeper_slope_than_round_gravel():
    cover = treatment("cobble", part(0), ("broken", 1.0))
    job = values(classes={"broken": stone_class(0.1, 0.2)}, treatments={"slope": cover})
    job["shape"]["bank_types"]["shelved"] = bank([(0.0, 0.0), (1.6, 1.0)])

    assert takeoff(job).finding("stone.repose_broken").grade is Grade.GOOD


def test_the_bed_of_a_stream_counts_along_the_bed():
    level, falling = (with_brook(values(treatments={"edge": treatment("bare", POND)})) for _ in range(2))
    for job in (level, falling):
        place = {"at": "part", "body": "brook", "zone": 1}
        job["stone"]["treatments"]["bed"] = treatment("gravel", place, thickness=0.1)
    falling["shape"]["bodies"]["brook"]["outline"]["bed"] = [99.8, 96.8, 93.8, 90.8, 87.8]

    flat, steep = (found_of(job).treatments["bed"].area for job in (level, falling))

    assert steep == pytest.approx(1.25 * flat)


def test_the_default_can_be_taken_as_it_is_in_one_press():
    job = values()
    before = takeoff(job)
    for op in before.finding("stone.default").advice[0].ops:
        rows, name = op.path.split("/")[2:]
        job["stone"].setdefault(rows, {})[name] = op.value

    after = takeoff(job)

    assert "stone.default" not in after.findings
    assert after["stone.takeoff"].mass == pytest.approx(before["stone.takeoff"].mass)


def test_the_default_of_a_part_of_the_shore_cannot_be_taken_all_round():
    edge = treatment("courses", stretch("p0", "p4"), ("edge", 1.0), courses=2)
    job = takeoff(values(classes={"edge": EDGE}, treatments={"edge": edge}))

    assert [advice.ops for advice in job.finding("stone.default").advice] == [()]
