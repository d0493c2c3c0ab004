"""Shots by steps on a grid, by tapes, far off, in feet, and with heights from a book."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pondwright.base.findings import Grade
from pondwright.rooms.site.location import many_tape_tie, side_of
from tests.unit.site.surveys import applied, computed, found, job, meadow, shot

MARKS = {
    "a": {"place": {"at": "point", "east": 100.0, "north": 100.0}, "elevation": 50.0},
    "b": {"place": {"at": "point", "east": 120.0, "north": 100.0}},
    "c": {"place": {"at": "point", "east": 110.0, "north": 120.0}},
    "d": {"place": {"at": "point", "east": 130.0, "north": 100.0}},
}


def placed(place: dict[str, Any], **facts: Any) -> Any:
    return computed(job(meadow() | {"new": {"place": place, "elevation": 50.1, **facts}}, marks=MARKS))


def where(run: Any, name: str = "new") -> tuple[float, float]:
    places = run.results.site.ground.places
    return tuple(places.points[places.ids.index(name)].tolist())


def tapes(point: tuple[float, float], marks: str, side: str = "left") -> dict[str, Any]:
    rows = [
        {
            "mark": mark,
            "distance": math.dist(point, (MARKS[mark]["place"]["east"], MARKS[mark]["place"]["north"])),
        }
        for mark in marks
    ]
    return {"by": "tapes", "tapes": rows, "side": side}


def test_a_shot_by_steps_stands_as_many_steps_along_and_to_the_left() -> None:
    run = placed({"by": "grid", "base": ["a", "b"], "spacing": 2.5, "along": 3, "off": 2})

    assert where(run) == pytest.approx((107.5, 105.0))


def test_muck_and_water_have_a_place_and_tell_no_ground() -> None:
    run = placed({"by": "offset", "base": ["a", "b"], "along": 7.0, "off": 3.0}, surface="muck")
    ground = run.results.site.ground

    assert where(run) == pytest.approx((107.0, 103.0))
    assert ground.places.surface[ground.places.ids.index("new")] == "muck"
    assert "new" not in ground.shots.ids


def test_a_shot_without_a_height_has_a_place_and_no_elevation() -> None:
    run = computed(job(meadow() | {"new": shot(107.0, 103.0, None)}))
    places = run.results.site.ground.places

    assert np.isnan(places.elevations[places.ids.index("new")])


def test_of_two_tapes_the_other_answer_is_offered_and_taken_in_one_press() -> None:
    document = job(meadow() | {"new": {"place": tapes((107.0, 104.0), "ab"), "elevation": 50.1}}, marks=MARKS)
    (told,) = found(computed(document), "site.tie_side")

    assert told.grade is Grade.GOOD
    assert told.where.points[1] == pytest.approx((107.0, 96.0))
    assert where(computed(applied(document, told, 0))) == pytest.approx((107.0, 96.0))


def test_a_third_tape_that_fits_the_other_side_says_so_and_holds() -> None:
    document = job(
        meadow() | {"new": {"place": tapes((107.0, 104.0), "abc", "right"), "elevation": 50.1}}, marks=MARKS
    )
    run = computed(document)
    (told,) = found(run, "site.tie_side")

    assert where(run) == pytest.approx((107.0, 104.0), abs=1e-6)
    assert told.grade is Grade.LOOK
    (after,) = found(computed(applied(document, told, 0)), "site.tie_side")
    assert after.grade is Grade.GOOD


@pytest.mark.parametrize(("side", "north"), [("left", 104.0), ("right", 96.0)])
def test_three_marks_in_one_line_cannot_tell_the_side_so_the_word_holds(side: str, north: float) -> None:
    run = placed(tapes((107.0, 104.0), "abd", side))

    assert where(run) == pytest.approx((107.0, north), abs=1e-6)
    assert found(run, "site.tie_side")[0].grade is Grade.GOOD


@given(
    st.floats(-40.0, 40.0), st.floats(-40.0, 40.0), st.floats(0.0, 6.28), st.floats(5.0, 40.0), st.booleans()
)
def test_three_tapes_find_any_point_again_whatever_side_is_told(
    east: float, north: float, turn: float, size: float, left: bool
) -> None:
    marks = [
        (
            size * math.cos(turn + 2.0 * math.pi * corner / 3.0),
            size * math.sin(turn + 2.0 * math.pi * corner / 3.0),
        )
        for corner in range(3)
    ]
    lengths = [math.dist((east, north), mark) for mark in marks]
    assume(min(lengths) > 0.1 and max(lengths) < 3.0 * size)
    tie = many_tape_tie(marks, lengths, left=left, in_line=0.06)

    assert math.dist(tie.point, (east, north)) < 1e-4


def test_sides_are_told_looking_along_the_line() -> None:
    assert side_of((0.0, 1.0), (0.0, 0.0), (1.0, 0.0)) == "left"
    assert side_of((0.0, 1.0), (1.0, 0.0), (0.0, 0.0)) == "right"


def test_a_shot_far_off_is_told_and_can_be_removed() -> None:
    document = job(meadow() | {"away": shot(1075.0, 1052.0)})
    (told,) = found(computed(document), "site.far_shot")

    assert (told.grade, told.where.paths) == (Grade.LOOK, ("site.shots.away.place",))
    (after,) = found(computed(applied(document, told, 1)), "site.far_shot")
    assert after.grade is Grade.GOOD


def test_a_place_in_feet_can_be_turned_into_metres() -> None:
    document = job(meadow() | {"away": shot(107.0 / 0.3048, 103.0 / 0.3048)})
    (told,) = found(computed(document), "site.far_shot")

    assert where(computed(applied(document, told, 1)), "away") == pytest.approx((107.0, 103.0), abs=1e-3)


@pytest.mark.parametrize(("typed", "word"), [(50.1 / 0.3048, "feet"), (50.1 * 0.3048, "metres")])
def test_a_height_in_the_other_unit_is_told_and_turned(typed: float, word: str) -> None:
    document = job(meadow() | {"odd": shot(107.0, 103.0, typed)})
    (told,) = found(computed(document), "site.height_in_feet")

    assert told.grade is Grade.LOOK
    assert f"read in {word}" in told.says
    turned = applied(document, told, 0)
    assert turned.site.shots["odd"].elevation == pytest.approx(50.1, abs=1e-3)
    assert found(computed(turned), "site.height_in_feet")[0].grade is Grade.GOOD


def test_a_steep_site_has_no_heights_in_feet() -> None:
    (told,) = found(computed(job(meadow(fall=0.4))), "site.height_in_feet")

    assert told.grade is Grade.GOOD


BOOK = {
    "set_ups": [
        {
            "station": "one",
            "backsights": [{"point": "a", "rod": 1.5}],
            "readings": [{"point": "new", "rod": 1.4}, {"point": "loose", "rod": 1.2}],
        }
    ]
}


def test_a_shot_without_elevation_takes_the_one_of_the_level_book() -> None:
    shots = meadow() | {"new": shot(107.0, 103.0, None), "loose": {"place": {"by": "book"}}}
    run = computed(job(shots, marks=MARKS, books={"one": BOOK}))
    ground, errors = run.results.site.ground, run.results.site.uncertainty.errors
    row = ground.shots.ids.index("new")

    assert ground.shots.elevations[row] == pytest.approx(50.1)
    assert errors.shared.names[errors.shared.base[row]] == "one/1"
    assert [paths for each in found(run, "site.shots_without_height") for paths in each.where.paths] == [
        "site.shots.loose"
    ]


def test_a_typed_elevation_goes_before_the_level_book() -> None:
    run = computed(job(meadow() | {"new": shot(107.0, 103.0, 50.3)}, marks=MARKS, books={"one": BOOK}))
    ground = run.results.site.ground

    assert ground.shots.elevations[ground.shots.ids.index("new")] == 50.3
