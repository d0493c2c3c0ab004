"""Measured surfaces among the shots, and later surveys that take over ground."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright import api
from pondwright.base.findings import Grade
from pondwright.geometry.grid import Grid
from pondwright.rooms.site.rebase import ground_change, ring_grid
from pondwright.rooms.site.stage.survey import survey_ranks
from tests.unit.site.surveys import applied, cloud, computed, found, job, meadow, ring, shot, square


def lattice(low: float, high: float, step: float, elevation: float) -> list[tuple[float, float, float]]:
    along = np.arange(low, high + 1e-9, step)
    return [(float(east), float(north), elevation) for east in along for north in along]


def height_at(run, east: float, north: float) -> float:  # type: ignore[no-untyped-def]
    ground = run.results.site.ground
    return float(
        ground.z[np.argmin(np.abs(ground.grid.north - north)), np.argmin(np.abs(ground.grid.east - east))]
    )


def test_points_of_a_cloud_join_the_shots_in_the_ground() -> None:
    run = computed(job(meadow(0.0), clouds={"flight": cloud(lattice(106.0, 109.0, 0.75, 49.0))}))
    ground = run.results.site.ground

    assert (ground.shot_count, ground.cloud_count) == (16, 25)
    assert ground.tin.measured == 41
    assert height_at(run, 107.5, 107.5) == pytest.approx(49.0)
    assert ground.lowest_shot == "cloud:flight:0"
    assert ground.clouds.id(24) == "cloud:flight:24"


def test_a_cloud_alone_makes_a_ground() -> None:
    run = computed(job({}, clouds={"flight": cloud(lattice(100.0, 120.0, 2.0, 49.0))}))

    assert run.results.site.ground.cloud_count == 121
    assert found(run, "site.ground.blocked") == []
    assert {each.grade for each in found(run, "site.shot_count")} == {Grade.GOOD}


def test_a_cloud_to_be_removed_does_not_count() -> None:
    points = lattice(106.0, 109.0, 0.75, 49.0)
    run = computed(job(meadow(0.0), clouds={"flight": cloud(points, status="remove")}))

    assert run.results.site.ground.cloud_count == 0


def test_a_point_of_a_cloud_on_a_shot_or_on_another_point_gives_way_without_a_word() -> None:
    points = [(105.0, 105.0, 47.0), (107.0, 107.0, 49.0), (107.0, 107.0, 48.0)]
    run = computed(job(meadow(0.0), clouds={"flight": cloud(points)}))

    assert run.results.site.ground.clouds.number.tolist() == [1]
    assert [each.grade for each in found(run, "site.same_place")] == [Grade.GOOD]


def test_checks_of_shots_do_not_cry_about_the_points_of_a_cloud() -> None:
    rough = np.random.default_rng(5).normal(0.0, 0.4, 400)
    points = [
        (east + 0.01 * number, north, 50.0 + float(rough[number]))
        for number, (east, north, _) in enumerate(lattice(101.0, 114.3, 0.7, 0.0)[:400])
    ]
    run = computed(job(meadow(0.0), clouds={"flight": cloud(points)}))

    assert [each.grade for each in found(run, "site.thin_triangles")] == [Grade.GOOD]
    paths = [path for each in found(run, "site.reading_slip") for path in each.where.paths]
    assert all("cloud" not in path for path in paths)


def test_inside_a_measured_surface_the_ground_is_as_sure_as_its_tolerance() -> None:
    points = lattice(100.0, 120.0, 2.0, 49.0)
    run = computed(job({}, clouds={"flight": cloud(points, tolerance=0.06, sigma=0.02)}))
    errors = run.results.site.uncertainty.errors
    inside = errors.triangle >= 0

    assert errors.gap[inside] == pytest.approx(0.06 / math.sqrt(3.0))
    assert errors.sigma[inside] == pytest.approx(math.hypot(0.06 / math.sqrt(3.0), 0.02))


def test_a_measured_surface_is_out_as_one_piece() -> None:
    from pondwright.rooms.site.carried import volume_sigma

    run = computed(job({}, clouds={"flight": cloud(lattice(100.0, 120.0, 2.0, 49.0), sigma=0.02)}))
    errors = run.results.site.uncertainty.errors
    weight = np.where(errors.triangle >= 0, errors.grid.cell_area, 0.0)

    assert volume_sigma(errors, weight).shared == pytest.approx(0.02 * weight.sum())
    assert volume_sigma(errors, weight).shots == 0.0


def test_a_shot_that_slipped_inside_a_cloud_is_told() -> None:
    points = lattice(100.0, 115.0, 1.0, 50.0)
    run = computed(job({"odd": shot(107.4, 107.4, 51.0)}, clouds={"flight": cloud(points)}))
    (told,) = found(run, "site.reading_slip")

    assert (told.grade, told.where.paths) == (Grade.LOOK, ("site.shots.odd",))


AFTER = {"after": {"date": "2026-05-01"}}


def shot_again(drop: float, low: float = 103.0, high: float = 112.0, step: float = 1.5) -> dict[str, object]:
    return {
        f"n{number}": shot(east, north, 50.0 - drop, survey="after")
        for number, (east, north, _) in enumerate(lattice(low, high, step, 0.0))
    }


def test_a_later_survey_replaces_the_shots_inside_it_and_says_so() -> None:
    run = computed(job(meadow(0.0) | shot_again(0.5), surveys=AFTER))
    ground = run.results.site.ground
    (told,) = found(run, "site.replaced")

    assert {"s11", "s12", "s21", "s22"}.isdisjoint(ground.shots.ids)
    assert "s00" in ground.shots.ids
    assert (told.grade, told.value) == (Grade.GOOD, 4.0)
    assert height_at(run, 107.4, 107.4) == pytest.approx(49.5)


def test_a_survey_that_does_not_replace_stands_beside_the_earlier_one() -> None:
    document = job(meadow(0.0) | shot_again(0.5), surveys=AFTER)
    (told,) = found(computed(document), "site.replaced")
    beside = computed(applied(document, told, 0))

    assert "s11" in beside.results.site.ground.shots.ids
    assert found(beside, "site.replaced") == []


def test_a_survey_with_a_ring_of_its_own_replaces_no_further_than_that() -> None:
    surveys = {"after": {"place": ring(square(104.0, 106.0))}}
    run = computed(job(meadow(0.0) | shot_again(0.5), surveys=surveys))

    assert found(run, "site.replaced")[0].value == 1.0
    assert "s22" in run.results.site.ground.shots.ids


def test_a_survey_without_shots_replaces_nothing() -> None:
    surveys = {"after": {"place": ring(square(90.0, 130.0))}}
    run = computed(job(meadow(0.0), surveys=surveys))

    assert run.results.site.ground.shot_count == 16


def test_points_of_an_earlier_cloud_are_replaced_too() -> None:
    clouds = {"flight": cloud(lattice(100.0, 115.0, 1.0, 50.0))}
    run = computed(job(shot_again(0.5), surveys=AFTER, clouds=clouds))

    assert found(run, "site.replaced")[0].value == 100.0
    assert run.results.site.ground.cloud_count == 256 - 100


def test_surveys_follow_their_dates_and_then_their_ids() -> None:
    document = job(
        meadow(),
        surveys={
            "c": {"date": "2026-03-01"},
            "a": {"date": "2026-04-01"},
            "b": {"date": "2026-03-01"},
            "z": {},
        },
    )

    assert survey_ranks(document.site.surveys) == {"z": 1, "b": 2, "c": 3, "a": 4}


def test_a_breakline_that_loses_shots_ends_there_and_says_so() -> None:
    lines = {"bank": {"kind": "break", "shots": ["s10", "s11", "s12", "s13"]}}
    extra = {"e1": shot(99.0, 105.0), "e2": shot(98.0, 105.0)}
    lines["bank"]["shots"] = ["e2", "e1", *lines["bank"]["shots"]]
    run = computed(job(meadow(0.0) | extra | shot_again(0.5), surveys=AFTER, lines=lines))
    ground = run.results.site.ground
    (told,) = found(run, "site.line_replaced")

    assert [[ground.shots.ids[point] for point in line] for line in ground.breaks] == [["e2", "e1", "s10"]]
    assert (told.grade, told.value) == (Grade.LOOK, 2.0)


def test_a_breakline_that_loses_all_its_shots_can_be_removed() -> None:
    lines = {"bank": {"kind": "break", "shots": ["s11", "s12"]}}
    document = job(meadow(0.0) | shot_again(0.5), surveys=AFTER, lines=lines)
    (told,) = found(computed(document), "site.line_replaced")

    assert "bank" not in applied(document, told, 1).site.lines


def test_the_rebase_of_an_unchanged_hole_is_nothing() -> None:
    run = computed(job(meadow(0.0) | shot_again(0.0), surveys=AFTER))
    rebase = run.results.site.rebase

    assert (rebase.gone, rebase.come) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert rebase.largest_drop == pytest.approx(0.0, abs=1e-9)
    assert found(run, "site.rebased")[0].grade is Grade.GOOD


@settings(max_examples=20, deadline=None)
@given(st.floats(0.05, 1.5), st.floats(0.5, 4.0))
def test_lowering_a_ring_by_a_depth_takes_depth_times_area(depth: float, half: float) -> None:
    around = {f"c{number}": shot(*corner) for number, corner in enumerate(square(95.0, 125.0))}
    surveys = {"after": {"place": ring(square(107.5 - half, 107.5 + half))}}
    rebase = computed(job(around | shot_again(depth), surveys=surveys)).results.site.rebase

    assert rebase.area == pytest.approx(4.0 * half**2)
    assert rebase.gone == pytest.approx(depth * rebase.area, rel=1e-9)
    assert rebase.come == pytest.approx(0.0, abs=1e-9)
    assert rebase.largest_drop == pytest.approx(depth)


def test_a_ground_that_fell_is_looked_at_and_its_hollow_grows() -> None:
    run = computed(job(meadow(0.0, step=8.0) | shot_again(0.8), surveys=AFTER))
    rebase = run.results.site.rebase
    (told,) = found(run, "site.rebased")

    assert rebase.survey == "after"
    assert rebase.gone == pytest.approx(0.8 * 81.0, rel=0.01)
    assert rebase.hollow_change is not None and rebase.hollow_change > 0.8 * 81.0
    assert told.grade is Grade.LOOK
    assert "lower" in told.says


def test_without_a_later_survey_there_is_nothing_to_compare() -> None:
    run = computed(job(meadow()))

    assert run.results.site.rebase.gone is None
    assert found(run, "site.rebased") == []


def test_a_job_without_a_survey_is_as_if_it_had_not_been_made() -> None:
    document = job(meadow(0.0) | shot_again(0.5), surveys=AFTER)
    before = computed(api.without_survey(document, "after")).results.site.ground

    assert before.shots.ids == computed(job(meadow(0.0))).results.site.ground.shots.ids


@given(st.floats(-2.0, 2.0), st.floats(-0.1, 0.1), st.floats(2.0, 30.0), st.floats(2.0, 30.0))
def test_what_left_less_what_came_is_the_mean_fall_times_the_area(
    drop: float, tilt: float, width: float, height: float
) -> None:
    corners = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    grid = ring_grid(corners)
    plane = np.broadcast_to(drop + tilt * (grid.east - width / 2.0), grid.shape)
    change = ground_change(plane, np.zeros(grid.shape), grid, corners)

    assert change.area == pytest.approx(width * height)
    # Of a tilted plane a cell that the ring cuts counts with the mean of the whole cell.
    beside = abs(tilt) * grid.spacing * (width + 2.0 * height) * grid.spacing
    assert change.gone - change.come == pytest.approx(drop * change.area, rel=1e-9, abs=1e-9 + beside)


def test_the_deepest_drop_is_told_inside_the_ring_alone() -> None:
    grid = Grid(0.0, 0.0, 1.0, 11, 11)
    before, now = np.zeros(grid.shape), np.zeros(grid.shape)
    now[5, 5], now[0, 0] = -0.4, -9.0
    change = ground_change(before, now, grid, np.array(square(2.0, 8.0)))

    assert (change.largest_drop, change.drop_point) == (0.4, (5.0, 5.0))
