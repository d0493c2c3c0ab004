"""The stage of the old hole: found without a shore, its marks, and what they tell."""

import math

import pytest

from pondwright.base.findings import Grade
from pondwright.examples import LARKMEADOW, example_text
from pondwright.job.codec import loads
from tests.unit.site.hollow_jobs import MIDDLE, at, flat_shots, hollow_shots, job, stages

FOOT = 0.3048


def mark(elevation, season, **facts):
    return {"elevation": elevation, "season": season, **facts}


def grades(found, code):
    return [finding.grade for finding in found.get(code, [])]


def test_a_hole_is_found_before_any_shore_is_drawn():
    hole, _, found = stages(job())

    assert hole.floor == pytest.approx(98.0, abs=0.01)
    assert hole.lip == pytest.approx(100.0, abs=0.1)
    assert hole.floor_point == pytest.approx((MIDDLE, MIDDLE), abs=4.1)
    # A frustum of radii 4 and 8 m, a little less for the flats of sixteen sides.
    assert hole.volume == pytest.approx(2.0 / 3.0 * math.pi * (16.0 + 64.0 + 32.0), rel=0.08)
    assert grades(found, "site.hole_guessed") == [Grade.GOOD]


def test_flat_ground_has_no_hole_and_no_fault():
    hole, layers, found = stages(job(flat_shots(), water_marks={"m": mark(99.0, "usual")}))

    assert hole.hole is None and hole.floor is None and hole.marks == {}
    assert hole.fills_to == 99.0
    assert layers.muck.volume is None
    assert grades(found, "site.no_hole") == [Grade.GOOD]
    assert "site.never_fills" not in found


def test_a_hole_that_stops_filling_below_its_rim_leaks_or_is_not_fed():
    hole, _, found = stages(job(water_marks={"told": mark(99.2, "usual"), "late": mark(98.6, "dry")}))
    (never,) = found["site.never_fills"]

    assert never.grade is Grade.LOOK
    assert (never.value, never.operator, never.limit) == (99.2, ">=", hole.lip)
    assert "`told`" in never.says and len(never.advice) == 4
    assert hole.drawdown == pytest.approx(0.6)
    assert hole.drawdown_volume == pytest.approx(hole.marks["told"].volume - hole.marks["late"].volume)


@pytest.mark.parametrize(("elevation", "grade"), [(99.75, Grade.GOOD), (99.55, Grade.LOOK)])
def test_the_rim_is_reached_within_a_foot(elevation, grade):
    _, _, found = stages(job(water_marks={"m": mark(elevation, "wet")}))

    assert grades(found, "site.never_fills") == [grade]


def test_a_dry_mark_alone_does_not_tell_how_far_it_fills():
    _, _, found = stages(job(water_marks={"m": mark(98.5, "dry")}))

    assert "site.never_fills" not in found


def test_the_lowest_place_of_the_rim_is_the_lip():
    hole, _, _ = stages(job(hollow_shots(low=0.3)))

    assert hole.lip == pytest.approx(99.7, abs=0.05)
    assert hole.lip_point[0] > MIDDLE + 5.0


def test_a_mark_above_the_lip_contradicts_it():
    _, _, found = stages(job(water_marks={"high": mark(100.6, "wet")}))
    (wrong,) = found["site.mark_in_hole"]

    assert wrong.grade is Grade.LOOK and "above the lip" in wrong.says and wrong.operator == "<="


def test_a_mark_below_the_floor_contradicts_it():
    _, _, found = stages(job(water_marks={"deep": mark(97.2, "dry")}))
    (wrong,) = found["site.mark_in_hole"]

    assert wrong.grade is Grade.LOOK and "below the floor" in wrong.says


@pytest.mark.parametrize(("elevation", "grade"), [(99.9, Grade.GOOD), (100.4, Grade.LOOK)])
def test_a_flood_over_the_rim_is_told_and_is_no_contradiction(elevation, grade):
    hole, _, found = stages(job(water_marks={"flood": mark(elevation, "flood")}))

    assert grades(found, "site.flood_mark") == [grade]
    assert grades(found, "site.mark_in_hole") == [Grade.GOOD]
    assert hole.fills_to is None


def test_marks_out_of_season_are_told_with_both_seasons():
    _, _, found = stages(job(water_marks={"a": mark(99.4, "dry"), "b": mark(99.0, "usual")}))
    (wrong,) = found["site.mark_order"]

    assert wrong.grade is Grade.LOOK and "dry above usual" in wrong.says
    assert wrong.value == pytest.approx(0.4)


def test_a_mark_at_another_place_is_not_one_of_the_hole():
    far = mark(99.0, "usual", place=at(-100.0, -100.0))
    hole, _, found = stages(job(water_marks={"swale": far}))

    assert dict(hole.marks) == {} and hole.fills_to is None
    assert "site.mark_in_hole" not in found


def test_a_mark_at_the_bank_is_one_of_the_hole():
    hole, _, _ = stages(job(water_marks={"post": mark(99.0, "usual", place=at(MIDDLE + 9.0, MIDDLE))}))

    assert list(hole.marks) == ["post"]


def test_a_mark_that_is_to_be_removed_counts_no_more():
    hole, _, _ = stages(job(water_marks={"m": mark(99.0, "usual", status="remove")}))

    assert hole.fills_to is None


def test_a_hole_that_runs_over_where_the_survey_ends_is_told():
    inner = {name: row for name, row in hollow_shots().items() if not name.startswith(("r2", "r3"))}
    _, _, found = stages(job(inner))

    (told,) = found["site.hole_guessed"]
    assert told.grade is Grade.LOOK and "where the survey ends" in told.says


def test_larkmeadow_has_the_old_hole_of_its_invented_facts():
    hole, layers, found = stages(loads(example_text(LARKMEADOW)))

    assert hole.floor / FOOT == pytest.approx(90.6, abs=0.1)
    assert hole.lip / FOOT == pytest.approx(97.4, abs=0.1)
    assert hole.fills_to / FOOT == pytest.approx(94.3, abs=0.01)
    assert grades(found, "site.never_fills") == [Grade.LOOK]
    assert 0.8 < layers.muck.deepest / FOOT <= 1.65
