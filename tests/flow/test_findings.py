"""Checks: graded, accepted with name and reason, the worst first, five on show."""

import json

import pytest

from pondwright.base.findings import Finding, Grade, Where
from pondwright.flow.engine import Run, StageState, Status
from pondwright.flow.findings import checks_of, with_acceptance, with_names
from pondwright.job.document import new_job
from pondwright.job.log import Log
from pondwright.job.rules import Rule
from pondwright.job.shape import Body


def finding(code="shape.rim", grade=Grade.STOP, **told):
    return Finding(code, grade, "The rim is low.", **told)


def rule(**told):
    return Rule.model_validate({"accepted": True, "reason": "seen on site", "by": "Ann", **told})


def run_of(*findings, rules=None, status=Status.FRESH):
    job = new_job("Mill Lane 4").model_copy(update={"rules": rules or {}})
    return Run(job, Log(), {"shape.shore": StageState(findings=findings, status=status)})


def test_an_accepted_check_keeps_its_grade_and_tells_who_and_why():
    (found,) = with_acceptance([finding()], {"shape.rim": rule()})

    assert (found.grade, found.accepted) == (Grade.STOP, "Ann: seen on site")


def test_an_accepted_stop_no_longer_stops():
    found = checks_of(run_of(finding(), rules={"shape.rim": rule()}))

    assert not found.stops and found.on_show == ()


def test_a_stage_without_an_answer_cannot_be_accepted():
    code = "shape.shore.blocked"

    assert checks_of(run_of(finding(code), rules={code: rule()})).stops


@pytest.mark.parametrize(
    ("place", "accepted"),
    [
        pytest.param({"at": "whole", "body": "pond"}, True, id="its body"),
        pytest.param({"at": "whole", "body": "pool"}, False, id="another body"),
        pytest.param({"at": "point", "east": 3.0, "north": 0.0}, True, id="near its place"),
        pytest.param({"at": "point", "east": 30.0, "north": 0.0}, False, id="far from its place"),
    ],
)
def test_a_rule_for_a_place_accepts_only_what_lies_there(place, accepted):
    placed = rule(place=place)
    where = Where(("shape.bodies.pond.level",), ((0.0, 0.0),))

    (found,) = with_acceptance([finding(where=where)], {"shape.rim": placed})

    assert bool(found.accepted) is accepted


def test_five_are_on_show_stops_first_and_the_worst_of_a_grade_before_the_rest():
    looks = [finding(f"a.look{n}", Grade.LOOK, value=1.0 + n, limit=1.0) for n in range(6)]

    found = checks_of(run_of(*looks, finding("a.stop")))

    assert [each.code for each in found.on_show] == ["a.stop", "a.look5", "a.look4", "a.look3", "a.look2"]


def test_what_is_good_is_kept():
    assert [each.code for each in checks_of(run_of(finding(grade=Grade.GOOD))).good] == ["shape.rim"]


def test_a_waiting_stage_says_nothing():
    assert checks_of(run_of(finding(), status=Status.WAITING)).stop == ()


@pytest.mark.parametrize(
    ("name", "says"),
    [
        pytest.param("Garden pond", "The rim of Garden pond is low, see `points`.", id="its name"),
        pytest.param("", "The rim of pond is low, see `points`.", id="its id where it has none"),
    ],
)
def test_a_finding_calls_a_body_by_its_name(name, says):
    pegs = [{"id": f"p{n}", "east": float(n), "north": float(n % 2)} for n in range(3)]
    row = {"name": name, "outline": {"form": "ring", "curve": {"pegs": pegs}}}
    body = Body.model_validate_json(json.dumps(row))
    told = Finding("shape.rim", Grade.STOP, "The rim of `pond` is low, see `points`.")

    (found,) = with_names([told], {"pond": body})

    assert found.says == says


def test_a_body_without_a_name_begins_a_sentence_with_a_capital_letter():
    body = Body.model_validate_json(
        json.dumps(
            {
                "outline": {
                    "form": "ring",
                    "curve": {
                        "pegs": [{"id": f"p{n}", "east": n * 1.0, "north": n % 2 * 1.0} for n in range(3)]
                    },
                }
            }
        )
    )
    told = Finding("shape.deep", Grade.LOOK, "`intake_pool` is deep. `intake_pool` drains `intake_pool`.")

    (found,) = with_names([told], {"intake_pool": body})

    assert found.says == "Intake pool is deep. Intake pool drains intake pool."


def test_what_a_method_refuses_is_told_in_the_units_of_the_job():
    from pondwright.flow.findings import with_shown_units

    gap = Finding("site.no_place", Grade.STOP, "`tapes` must meet, got a gap of 6.096 m.")
    other = Finding("earth.soil_depth", Grade.LOOK, "0.15 m (6 in) of topsoil is assumed.")

    told = list(with_shown_units([gap, other], "us"))

    assert told[0].says.endswith("got a gap of 20.00 ft.")
    assert told[1] == other
