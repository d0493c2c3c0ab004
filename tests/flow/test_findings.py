"""Checks: graded, accepted with name and reason, the worst first, five on show."""

import json

import pytest

from pondwright.base.findings import Advice, Alike, Finding, Grade, Op, Where
from pondwright.examples import LARKMEADOW_SHAPED, example_text
from pondwright.flow.engine import Run, StageState, Status
from pondwright.flow.findings import checks_of, with_acceptance
from pondwright.flow.names import in_names, with_names
from pondwright.job.codec import loads
from pondwright.job.document import new_job
from pondwright.job.lining import Liner
from pondwright.job.log import Log
from pondwright.job.rules import Rule
from pondwright.job.shape import Body
from pondwright.job.site import Thing
from pondwright.job.stone import Piece, Pile


def finding(code="shape.rim", grade=Grade.STOP, **told):
    return Finding(code, grade, "The rim is low.", **told)


def rule(**told):
    return Rule.model_validate({"accepted": True, "reason": "seen on site", "by": "Ann", **told})


def run_of(*findings, rules=None, status=Status.FRESH):
    job = new_job("Mill Lane 4").model_copy(update={"rules": rules or {}})
    return Run(job, Log(), {"shape.shore": StageState(findings=findings, status=status)})


def job_of(**rows):
    """A new job with rows in some maps, each told as section__map."""
    job = new_job("Mill Lane 4")
    for path, told in rows.items():
        section, name = path.split("__")
        own = getattr(job, section).model_copy(update={name: told})
        job = job.model_copy(update={section: own})
    return job


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

    (found,) = with_names([told], job_of(shape__bodies={"pond": body}))

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

    (found,) = with_names([told], job_of(shape__bodies={"intake_pool": body}))

    assert found.says == "Intake pool is deep. Intake pool drains intake pool."


def test_what_a_method_refuses_is_told_in_the_units_of_the_job():
    from pondwright.flow.findings import with_shown_units

    gap = Finding("site.no_place", Grade.STOP, "`tapes` must meet, got a gap of 6.096 m.")
    other = Finding("earth.soil_depth", Grade.LOOK, "0.15 m (6 in) of topsoil is assumed.")

    told = list(with_shown_units([gap, other], "us"))

    assert told[0].says.endswith("got a gap of 20.00 ft.")
    assert told[1] == other


def thing(name=""):
    return Thing.model_validate(
        {"name": name, "kind": "tree", "place": {"at": "point", "east": 0.0, "north": 0.0}}
    )


def pile(name):
    return Pile.model_validate({"name": name, "mass": 900.0})


@pytest.mark.parametrize(
    ("says", "paths", "named"),
    [
        pytest.param("Roots of `ash` are near.", (), "Roots of Ash 2 are near.", id="by its name"),
        pytest.param("`big_elm` is near.", (), "Big elm is near.", id="by its id, beginning a sentence"),
        pytest.param("See `stone.piles.oak`.", (), "See Heap 1.", id="a whole path is that row"),
        pytest.param("See `oak`.", ("site.things.oak",), "See Oak 1.", id="the row that it is about"),
        pytest.param("See `stone.piles.big_elm`.", (), "See `stone.piles.big_elm`.", id="a row that is not"),
        pytest.param("See `house`.", (), "See `house`.", id="no row at all"),
        pytest.param("Move `a`.", (), "Move A7.", id="a stone by its mark"),
    ],
)
def test_a_finding_calls_what_is_in_the_document_by_its_name(says, paths, named):
    sizes = {"length": 0.9, "width": 0.6, "height": 0.5, "name": "Stone", "tag": "A7"}
    job = job_of(
        site__things={"ash": thing("Ash 2"), "oak": thing("Oak 1"), "big_elm": thing()},
        stone__piles={"oak": pile("Heap 1")},
        stone__pieces={"a": Piece.model_validate(sizes)},
    )
    told = Finding("stone.some", Grade.LOOK, says, Where(paths), advice=(Advice(says),))

    (found,) = with_names([told], job)

    assert (found.says, found.advice[0].says) == (named, named)


def test_what_is_so_at_several_places_is_told_once_with_all_places():
    def bank(body, value, **told):
        told = {
            "grade": Grade.LOOK,
            "limit": 1.0,
            "alike": Alike("Banks are steep: {}.", f"`{body}`"),
            **told,
        }
        return finding("shape.steep", value=value, where=Where((body,), ((value, 0.0),)), **told)

    way, other = Advice("Make it flatter.", (Op("replace", "/a", {"b": 1}),)), Advice("Wall it.")
    run = run_of(
        bank("a", 2.0, advice=(way,)),
        finding(),
        bank("b", 3.0, advice=(way, other)),
        bank("c", 0.5, grade=Grade.GOOD),
    )

    found = checks_of(run)

    (look,) = found.look
    assert (look.says, look.value) == ("Banks are steep: `b`; `a`.", 3.0)
    assert look.where == Where(("b", "a"), ((3.0, 0.0), (2.0, 0.0)))
    assert look.advice == (way, other)
    assert [one.says for one in found.good] == ["The rim is low."]
    assert len(found.stop) == 1


def test_what_is_accepted_at_one_place_is_not_told_with_what_is_open():
    def bank(body):
        return finding(
            "shape.steep",
            Grade.LOOK,
            where=Where((f"shape.bodies.{body}",)),
            alike=Alike("Banks are steep: {}.", body),
        )

    at = {"at": "whole", "body": "b"}
    found = checks_of(run_of(bank("a"), bank("b"), bank("c"), rules={"shape.steep": rule(place=at)}))

    assert [(one.says, bool(one.accepted)) for one in found.look] == [
        ("Banks are steep: a; c.", False),
        ("The rim is low.", True),
    ]


def test_the_liner_of_several_waters_is_told_by_them():
    liner = Liner.model_validate({"bodies": ("upper", "lower"), "name": "Main liner"})
    pegs = [{"id": f"p{n}", "east": float(n), "north": float(n % 2)} for n in range(3)]
    bodies = {
        name: Body.model_validate_json(
            json.dumps({"name": name.title(), "outline": {"form": "ring", "curve": {"pegs": pegs}}})
        )
        for name in ("lower", "upper")
    }
    told = Finding("lining.some", Grade.LOOK, "The liner of `main` is wide.")

    (found,) = with_names([told], job_of(shape__bodies=bodies, lining__liners={"main": liner}))

    assert found.says == "The liner of Upper and Lower is wide."


def test_pits_soils_and_piles_are_called_by_name():
    job = loads(example_text(LARKMEADOW_SHAPED))
    says = "`sp1` met sand; `pit_nw` found the layers of soil `sandy_seam`; `r01` has no name."

    assert in_names(says, job) == (
        "Standpipe 1, north-west met sand; Pit above the seep found the layers of soil "
        "Sandy seam in the north-west quarter; r01 has no name."
    )
    assert in_names("pile: `earth.piles.topsoil_north`", job) == "pile: Topsoil, north"
