"""The stage of the level books: what it gives, and what it says about them."""

import json
from typing import Any

import pytest

from pondwright import api
from pondwright.base.findings import Finding
from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.edits import Edit


def reading(point: str, rod: float, **facts: Any) -> dict[str, Any]:
    return {"point": point, "rod": rod, **facts}


def set_up(backsights: list[dict[str, Any]], readings: list[dict[str, Any]]) -> dict[str, Any]:
    return {"station": "", "backsights": backsights, "readings": readings}


def loop(missed: float = 0.0, **book: Any) -> dict[str, Any]:
    """Out to a turning point and back onto the benchmark, with two shots."""
    return {
        "set_ups": [
            set_up([reading("bm", 1.5)], [reading("rim", 1.2), reading("tp1", 1.0, kind="turn")]),
            set_up([reading("tp1", 1.3)], [reading("toe", 2.9), reading("bm", 1.8 - missed, kind="check")]),
        ],
        **book,
    }


SHOTS = {
    "rim": {"place": {"by": "coordinates", "east": 0.0, "north": 0.0}},
    "toe": {"place": {"by": "coordinates", "east": 5.0, "north": 0.0}},
}


def job(books: dict[str, Any], shots: dict[str, Any] = SHOTS, **document: Any) -> Job:
    site = {"marks": {"bm": {"elevation": 100.0}}, "books": books, "shots": shots}
    return loads(json.dumps({"format": 1, "id": "test", "name": "A test", "site": site, **document}))


def levels(document: Job) -> tuple[Any, tuple[Finding, ...]]:
    """Result of the stage, with what it and the stage of its points find."""
    run = api.compute(document, only="site.level_points")
    return run.stages["site.levels"].result, run.findings


def told(document: Job, code: str) -> list[Finding]:
    return [finding for finding in levels(document)[1] if finding.code == code]


def test_a_job_without_books_has_no_heights_and_nothing_is_said():
    result, findings = levels(job({}))

    assert result.heights == {} and findings == () and result.sigma_worst is None


def test_heights_are_given_by_the_id_of_each_point():
    result, findings = levels(job({"one": loop()}))

    assert result.heights == pytest.approx({"bm": 100.0, "rim": 100.3, "toe": 98.9, "tp1": 100.5})
    assert {finding.grade for finding in findings} == {"good"}
    assert result.books["one"].misclosure == pytest.approx(0.0, abs=1e-12)


def test_a_mark_without_an_elevation_gets_it_from_the_book():
    document = api.edit(
        job({"one": loop()}), Edit("mark", 0, ops=api_ops("/site/marks/tp1", {"name": "A pin"}))
    )

    assert levels(document)[0].heights["tp1"] == pytest.approx(100.5)


def api_ops(path: str, value: Any) -> tuple[Any, ...]:
    from pondwright.base.findings import Op

    return (Op("add", path, value),)


@pytest.mark.parametrize(
    ("missed", "grade"),
    [(0.007, "good"), (-0.007, "good"), (0.0072, "look"), (0.014, "look"), (0.0143, "stop")],
)
def test_a_misclosure_has_its_grade_and_never_keeps_the_heights_back(missed, grade):
    (found,) = told(job({"one": loop(missed)}), "site.misclosure")

    assert found.grade == grade
    assert found.value == pytest.approx(abs(missed)) and found.limit == pytest.approx(0.005 * 2**0.5)
    assert levels(job({"one": loop(missed)}))[0].heights["toe"] == pytest.approx(98.9 - 0.75 * missed)
    assert (found.advice[0].says == "Re-shoot before you build on it.") if grade == "stop" else True


def test_a_misclosure_says_whether_it_came_back_high_or_low():
    assert "too high on bm" in told(job({"one": loop(0.01)}), "site.misclosure")[0].says
    assert "too low on bm" in told(job({"one": loop(-0.01)}), "site.misclosure")[0].says


def test_a_job_may_set_its_own_limit_even_none_at_all():
    rules = {"site.misclosure_set_up": {"limit": 0.0, "reason": "a test", "by": "me"}}

    assert told(job({"one": loop(0.001)}, rules=rules), "site.misclosure")[0].grade == "stop"


def test_where_lengths_are_noted_the_limit_goes_by_them():
    book = loop(0.006)
    for each in book["set_ups"]:
        for sight in (*each["backsights"], *each["readings"]):
            sight["distance"] = 150.0
    (found,) = told(job({"one": book}), "site.misclosure")

    assert found.limit == pytest.approx(0.012 * 0.6**0.5) and found.grade == "good"
    assert "FGCC" in str(found.source)


def test_a_set_up_that_ends_on_nothing_known_is_told_as_not_closed():
    book = {"set_ups": [set_up([reading("bm", 1.5)], [reading("rim", 1.2)])]}
    (found,) = told(job({"one": book}), "site.not_closed")

    assert found.grade == "look" and "nothing checks these heights" in found.says
    assert found.where.paths == ("site.books.one.set_ups.0",)
    assert told(job({"one": book}), "site.misclosure") == []


def test_a_set_up_that_nothing_leads_to_is_told_and_the_others_go_on():
    lost = {
        "set_ups": [set_up([reading("gone", 1.5)], [reading("rim", 1.2)]), set_up([], [reading("toe", 1.0)])]
    }
    result, _ = levels(job({"a": lost, "b": loop()}))

    assert result.heights["rim"] == pytest.approx(100.3)
    assert ["`gone`" in each.says for each in told(job({"a": lost, "b": loop()}), "site.set_up_adrift")] == [
        True,
        False,
    ]


def test_a_wrong_elevation_in_the_book_is_told_at_its_reading():
    book = loop()
    book["set_ups"][0]["readings"][1]["noted"] = 101.5
    (found,) = told(job({"one": book}), "site.book_arithmetic")

    assert found.value == pytest.approx(1.0) and found.grade == "look"
    assert found.where.paths == ("site.books.one.set_ups.0.readings.1",)


def test_right_elevations_in_the_book_are_good():
    book = loop()
    book["set_ups"][0]["readings"][1]["noted"] = 100.5

    assert [each.grade for each in told(job({"one": book}), "site.book_arithmetic")] == ["good"]


@pytest.mark.parametrize(("near_b", "grade"), [(1.466, "stop"), (1.482, "good")])
def test_the_two_peg_test_refuses_a_level_that_is_out_of_true(near_b, grade):
    test = {"middle_a": 1.5, "middle_b": 1.25, "near_a": 1.732, "near_b": near_b, "sight_difference": 40.0}

    assert told(job({"one": loop(two_peg=test)}), "site.two_peg")[0].grade == grade


def test_a_two_peg_test_between_equal_sights_tests_nothing():
    test = {"middle_a": 1.5, "middle_b": 1.25, "near_a": 1.7, "near_b": 1.4, "sight_difference": 0.0}

    assert told(job({"one": loop(two_peg=test)}), "site.two_peg")[0].grade == "look"


def test_long_backsights_are_told_where_all_lengths_are_noted():
    book = loop()
    for each in book["set_ups"]:
        each["backsights"][0]["distance"] = 60.0
        for sight in each["readings"]:
            sight["distance"] = 20.0
    (found,) = told(job({"one": book}), "site.sight_balance")

    assert found.value == pytest.approx(80.0) and found.grade == "look" and "backsights" in found.says
    assert told(job({"one": loop()}), "site.sight_balance") == []


def test_a_point_that_is_neither_shot_nor_mark_is_told_and_may_be_added():
    document = job({"one": loop()}, {"rim": SHOTS["rim"]})
    (found,) = told(document, "site.unknown_point")

    assert found.says.startswith("toe is read")
    changed = api.edit(document, Edit("add", 0, found.advice[1].ops))
    assert told(changed, "site.unknown_point") == []


def test_a_typed_height_that_differs_from_the_book_is_told_and_may_be_dropped():
    document = job({"one": loop()}, {**SHOTS, "rim": {**SHOTS["rim"], "elevation": 100.4}})
    (found,) = told(document, "site.two_heights")

    assert found.value == pytest.approx(0.1)
    changed = api.edit(document, Edit("drop", 0, found.advice[0].ops))
    assert changed.site.shots["rim"].elevation is None and told(changed, "site.two_heights") == []


def test_a_point_shot_twice_with_two_heights_is_told():
    book = loop()
    book["set_ups"][1]["readings"].insert(0, reading("rim", 1.0))
    (found,) = told(job({"one": book}), "site.two_heights")

    assert found.value == pytest.approx(0.5)
    assert found.where.paths == ("site.books.one.set_ups.1.readings.0",)


def test_the_lines_of_a_book_tell_readings_heights_and_what_the_adjustment_did():
    lines = levels(job({"one": loop(0.01)}))[0].books["one"].lines

    assert [line.point for line in lines] == ["bm", "rim", "tp1", "tp1", "toe", "bm"]
    assert [line.correction for line in lines] == pytest.approx(
        [0.0, -0.0025, -0.005, -0.005, -0.0075, -0.01]
    )
    assert all(line.adjusted == pytest.approx(line.elevation + line.correction) for line in lines)


def test_the_least_sure_height_is_told_and_a_bad_loop_makes_it_worse():
    good, bad = (levels(job({"one": loop(missed)}))[0].sigma_worst for missed in (0.0, 0.05))

    assert 0.003 < good < 0.005 < bad < 0.05


def test_the_figures_of_a_book_explain_themselves():
    found = api.explain(
        api.compute(job({"one": loop(0.01)}), only="site.levels"), "site.levels.books.one.misclosure"
    )

    assert found.method is not None and "misclosure" in found.says.lower()


def test_a_new_shot_leaves_the_level_books_at_rest():
    before = api.compute(job({"one": loop()}))
    document = api.edit(before.job, Edit("far", 0, api_ops("/site/shots/far", {"place": {"by": "book"}})))
    after = api.compute(document, after=before)

    assert after.stages["site.levels"].seen is before.stages["site.levels"].seen
    assert after.stages["site.level_points"].seen is not before.stages["site.level_points"].seen
    assert after.stages["site.level_points"].result.shot_count == 2


def test_the_books_tell_the_heights_of_the_existing_ground():
    square = {
        name: {"place": {"by": "coordinates", "east": east, "north": north}}
        for name, east, north in (("a", 0.0, 0.0), ("b", 8.0, 0.0), ("c", 8.0, 8.0), ("d", 0.0, 8.0))
    }
    book = {"set_ups": [set_up([reading("bm", 1.5)], [reading(name, 2.0) for name in square])]}
    run = api.compute(job({"one": book}, square), only="site.ground")

    assert api.show(run, "site.ground.lowest") == pytest.approx(99.5)
    assert api.show(run, "site.ground.shot_count") == 4
