"""The first visit, on small jobs: the walk, buried services and their marks, and permits; no clock."""

import datetime
from typing import Any

import pytest

from pondwright.base.findings import Finding, Grade
from pondwright.job.brief import Brief
from pondwright.job.site import Bound, Thing, WalkAnswer
from pondwright.job.tables import walk_points
from pondwright.rooms.site.checks.visit import listed
from pondwright.rooms.site.stage import VisitResult, visit_stage
from pondwright.rooms.site.visit import IMPORTANT, tally

DIG = datetime.date(2027, 3, 8)
EARLY, LATE = datetime.date(2027, 2, 1), datetime.date(2027, 6, 1)


def visited(
    brief: dict[str, Any] | None = None,
    walk: dict[str, Any] | None = None,
    things: dict[str, Any] | None = None,
    bounds: dict[str, Any] | None = None,
) -> tuple[VisitResult, tuple[Finding, ...]]:
    view = {
        "brief": Brief.model_validate(brief or {}),
        "site.walk": {name: WalkAnswer.model_validate(row) for name, row in (walk or {}).items()},
        "site.things": {name: Thing.model_validate(row) for name, row in (things or {}).items()},
        "site.bounds": {name: Bound.model_validate(row) for name, row in (bounds or {}).items()},
        "rules": {},
    }
    return visit_stage(view, {})


def check(code: str, **told: Any) -> Finding:
    (found,) = (finding for finding in visited(**told)[1] if finding.code == code)
    return found


def service(**facts: Any) -> dict[str, Any]:
    return {"it": {"kind": "utility", "name": "Feed", "place": PLACE, "depth": 0.6, **facts}}


PLACE = {"at": "line", "points": ({"east": 1.0, "north": 2.0}, {"east": 3.0, "north": 4.0})}
ALL_FINE = {point.id: {"answer": "fine"} for point in walk_points()}


def test_a_job_that_nobody_has_begun_to_visit_is_not_nagged():
    result, findings = visited()

    assert findings == () and result.not_looked == len(walk_points())


def test_what_is_not_answered_counts_as_not_looked_at():
    result, _ = visited(
        walk={"septic": {"answer": "trouble"}, "power": {"answer": "none"}, "bell": {"answer": "fine"}}
    )

    assert (result.fine, result.trouble, result.none) == (1, 1, 1)
    assert result.not_looked == len(walk_points()) - 2


def test_an_open_walk_names_up_to_three_of_what_is_important():
    found = check("site.walk", walk={"septic": {"answer": "fine"}})
    important = sum(point.weight >= IMPORTANT for point in walk_points()) - 1

    assert found.grade is Grade.LOOK and found.value == important
    assert found.says.startswith("Not looked at yet on the walk: gate width, overhead lines, hospital and ")
    assert "septic" not in found.says


def test_a_planned_dig_asks_for_the_walk_and_the_boundary():
    codes = {finding.code for finding in visited(brief={"dig_from": DIG})[1] if finding.grade is Grade.LOOK}

    assert codes == {"site.walk", "site.boundary"}


def test_a_walk_with_all_that_is_important_is_good_and_tells_the_rest():
    walk = {name: answer for name, answer in ALL_FINE.items() if name != "leaves"}

    found = check("site.walk", walk=walk)

    assert found.grade is Grade.GOOD
    assert found.says == "Everything important was looked at on the walk. 1 lesser point is open."


def test_trouble_is_told_with_its_places():
    place = {"at": "point", "east": 5.0, "north": 6.0}

    found = check("site.walk_trouble", walk={**ALL_FINE, "septic": {"answer": "trouble", "place": place}})

    assert found.grade is Grade.LOOK and found.says == "The walk found trouble: septic."
    assert found.where.points == ((5.0, 6.0),)
    assert check("site.walk_trouble", walk=ALL_FINE).grade is Grade.GOOD


def test_a_boundary_that_is_drawn_is_good():
    assert (
        check("site.boundary", walk=ALL_FINE, bounds={"b": {"kind": "boundary", "place": PLACE}}).grade
        is Grade.GOOD
    )
    assert (
        check("site.boundary", walk=ALL_FINE, bounds={"b": {"kind": "well", "place": PLACE}}).grade
        is Grade.LOOK
    )


@pytest.mark.parametrize(
    ("facts", "grade"),
    [
        ({}, Grade.STOP),
        ({"marked_until": EARLY}, Grade.STOP),
        ({"marked_until": DIG}, Grade.GOOD),
        ({"marked_until": LATE}, Grade.GOOD),
        ({"marked_until": LATE, "status": "remove"}, Grade.GOOD),
    ],
)
def test_marks_must_hold_on_the_day_on_which_digging_begins(facts, grade):
    found = check("site.service_marks", brief={"dig_from": DIG}, things=service(**facts))

    assert found.grade is grade
    assert (grade is Grade.STOP) == any("locate service" in way.says for way in found.advice)


def test_marks_that_fade_say_when():
    found = check("site.service_marks", brief={"dig_from": DIG}, things=service(marked_until=EARLY))

    assert found.says == "The marks of Feed hold only to 2027-02-01, and digging begins on 2027-03-08."
    assert found.where.paths == ("site.things.it", "brief.dig_from")


def test_without_a_day_for_digging_marks_are_not_asked_for():
    assert [finding.code for finding in visited(things=service())[1]] == ["site.service_depth"]


def test_a_private_service_is_exposed_by_hand_and_needs_no_marks():
    findings = {
        finding.code: finding
        for finding in visited(brief={"dig_from": DIG}, walk=ALL_FINE, things=service(private=True))[1]
    }

    assert "site.service_marks" not in findings
    assert findings["site.service_private"].says == "Feed is private: nobody marks it."
    assert "expose it by hand" in findings["site.service_private"].advice[0].says


def test_an_unknown_depth_is_a_look():
    found = check("site.service_depth", things=service(depth=None))

    assert (found.grade, found.says) == (Grade.LOOK, "Nobody knows how deep Feed lies.")


def test_a_service_that_comes_later_is_not_there_yet():
    assert visited(brief={"dig_from": DIG}, things=service(status="later"))[1][3:] == ()


@pytest.mark.parametrize(
    ("permit", "grade", "says"),
    [
        ({"granted": True}, Grade.GOOD, "is granted"),
        ({"granted": True, "expires": LATE}, Grade.LOOK, "before all is to be done on 2027-07-01"),
        ({"granted": True, "expires": EARLY}, Grade.STOP, "before digging begins on 2027-03-08"),
        (
            {"until": EARLY, "blocks": "digging"},
            Grade.LOOK,
            "must be there by 2027-02-01: it blocks digging",
        ),
        ({"until": LATE, "blocks": "digging"}, Grade.STOP, "digging begins on 2027-03-08: it blocks digging"),
        ({"blocks": "digging"}, Grade.STOP, "it blocks digging"),
        ({}, Grade.LOOK, "it blocks the work"),
    ],
)
def test_leave_must_be_there_for_what_it_blocks(permit, grade, says):
    brief = {
        "dig_from": DIG,
        "done_by": datetime.date(2027, 7, 1),
        "permits": {"town": {"authority": "the town", "need": "a pond", **permit}},
    }

    found = check("site.permit", brief=brief)

    assert found.grade is grade and says in found.says
    assert found.where.paths[0] == "brief.permits.town"


def test_without_a_day_for_digging_leave_that_is_missing_is_a_look():
    permits = {"town": {"authority": "the town", "need": "a pond", "blocks": "digging"}}

    assert check("site.permit", brief={"permits": permits}).grade is Grade.LOOK


def test_names_in_a_row():
    assert [listed(list("abcde"[:count])) for count in (1, 2, 3, 5)] == [
        "a",
        "a and b",
        "a, b and c",
        "a, b, c and 2 more",
    ]


def test_points_come_by_weight_and_then_in_their_order():
    found = tally({"a": 1, "b": 3, "c": 2, "d": 3}, {})

    assert found.not_looked == ("b", "d", "c", "a")


def test_the_walk_has_thirty_points_with_ids_that_the_document_takes():
    points = walk_points()

    assert len({point.id for point in points}) == len(points) == 30
    assert {point.weight for point in points} == {1, 2, 3}
    assert all(point.ask.endswith("?") and len(point.ask) <= 200 for point in points)
