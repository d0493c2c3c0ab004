"""A shoreline painted on the grass becomes the shore of a body in one press."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
from pondwright.base.findings import Grade
from pondwright.geometry.curve import closed_curve
from pondwright.rooms.site.painted import shore_miss, shore_pegs
from tests.unit.site.surveys import applied, computed, found, job, meadow, ring, shot, square


def wavy(count: int, radius: float = 4.0, waves: int = 3) -> np.ndarray:
    angles = np.linspace(0.0, 2.0 * math.pi, count, endpoint=False)
    away = radius * (1.0 + 0.2 * np.cos(waves * angles))
    return 107.5 + np.column_stack([away * np.cos(angles), away * np.sin(angles)])


def painted(points: np.ndarray, **facts: Any) -> dict[str, Any]:
    shots = {
        f"g{number}": shot(round(float(east), 3), round(float(north), 3), None, surface="structure")
        for number, (east, north) in enumerate(points)
    }
    lines = {"paint": {"kind": "paint", "shots": list(shots), **facts}}
    return {"shots": meadow() | shots, "lines": lines}


def body(points: list[tuple[float, float]], **facts: Any) -> dict[str, Any]:
    outline = {"form": "ring", "curve": ring(points, corner=False)["curve"]}
    return {"outline": outline, "level": 50.0, **facts}


def test_a_painted_line_without_a_body_offers_a_new_pond_and_then_is_good() -> None:
    document = job(**painted(wavy(12)))
    (told,) = found(computed(document), "site.painted_shore")

    assert (told.grade, len(told.advice)) == (Grade.LOOK, 1)
    drawn = applied(document, told, 0)
    assert [peg.id for peg in drawn.shape.bodies["pond"].outline.curve.pegs][:2] == ["p1", "p2"]
    (after,) = found(computed(drawn), "site.painted_shore")
    assert (after.grade, after.advice) == (Grade.GOOD, ())


@pytest.mark.parametrize("advice", [0, 1])
def test_beside_a_body_both_ways_are_offered_and_both_end_good(advice: int) -> None:
    document = job(**painted(wavy(60)), bodies={"pond": body(square(104.0, 111.0))})
    (told,) = found(computed(document), "site.painted_shore")

    assert len(told.advice) == 2
    drawn = applied(document, told, advice)
    assert list(drawn.shape.bodies) == [["pond"], ["pond", "pond_2"]][advice]
    assert len(drawn.shape.bodies[["pond", "pond_2"][advice]].outline.curve.pegs) <= 40
    (after,) = found(computed(drawn), "site.painted_shore")
    assert after.grade is Grade.GOOD
    assert after.value is not None and after.value <= 0.1


def test_a_stretch_of_the_old_shore_stays_between_its_pegs() -> None:
    corners = square(104.0, 111.0)
    stretches = {"beach": {"start": "p0", "end": "p1", "bank_type": "beach"}}
    pond = body(corners, stretches=stretches)
    types = {"beach": {"points": [{"distance": 0.0, "depth": 0.0}, {"distance": 4.0, "depth": 1.0}]}}
    document = job(**painted(wavy(16)[::-1]), bodies={"pond": pond}, bank_types=types)
    (told,) = found(computed(document), "site.painted_shore")
    curve = applied(document, told, 0).shape.bodies["pond"].outline.curve

    new = {peg.id: (peg.east, peg.north) for peg in curve.pegs}
    nearest = min(math.dist(corners[0], place) for place in new.values())
    assert math.dist(corners[0], new["p0"]) == pytest.approx(nearest)
    order = [peg.id for peg in curve.pegs if peg.id in ("p0", "p1", "p2", "p3")]
    start = order.index("p0")
    assert order[start:] + order[:start] == ["p0", "p1", "p2", "p3"]


def test_a_line_that_comes_back_to_its_first_shot_is_no_other_line() -> None:
    sketch = painted(wavy(12))
    sketch["lines"]["paint"]["shots"].append("g0")
    (told,) = found(computed(job(**sketch)), "site.painted_shore")

    assert len(told.advice[0].ops[0].value["outline"]["curve"]["pegs"]) == 12


def test_three_points_are_no_shore_yet() -> None:
    assert found(computed(job(**painted(wavy(3)))), "site.painted_shore") == []


def test_a_removed_line_says_nothing() -> None:
    assert found(computed(job(**painted(wavy(12), status="remove"))), "site.painted_shore") == []


def test_paint_does_nothing_to_the_ground() -> None:
    plain, sketched = (computed(job(**each)) for each in ({"shots": meadow()}, painted(wavy(12))))

    assert np.array_equal(plain.results.site.ground.z, sketched.results.site.ground.z)


@settings(max_examples=25, deadline=None)
@given(st.integers(41, 200), st.floats(3.0, 30.0), st.integers(2, 6))
def test_thinned_pegs_miss_no_painted_point_by_more_than_a_hand(
    count: int, radius: float, waves: int
) -> None:
    points = wavy(count, radius, waves)
    pegs = shore_pegs(points, 0.1)
    curve = closed_curve(points[pegs], np.zeros(len(pegs), dtype=bool)).points

    assert shore_miss(curve, points) <= 0.1
    assert len(pegs) <= count


def test_no_shore_can_be_made_of_one_place() -> None:
    with pytest.raises(DomainError, match="at least 3 points round a shore"):
        shore_pegs(np.zeros((5, 2)), 0.1)
