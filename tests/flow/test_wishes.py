"""Wishes of the client: each is one check, held against the figure or the check that answers it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright import api
from pondwright.base.findings import Finding, Grade, Where
from pondwright.base.kinds import AREA, ELEVATION
from pondwright.flow.engine import Run, StageState, Status
from pondwright.flow.findings import checks_of
from pondwright.flow.results import figure_catalogue
from pondwright.flow.wishes import WISH, wish_findings
from pondwright.job.brief import Brief, Wish
from pondwright.job.document import new_job
from pondwright.job.earth import Pile
from pondwright.job.log import Log
from pondwright.job.rules import Rule
from pondwright.job.tables import wish_offers
from pondwright.rooms.earth.checks import LIMITS as EARTH
from pondwright.rooms.shape.checks import LIMITS as SHAPE
from pondwright.rooms.site.checks import LIMITS as SITE

LEVEL = "shape.shore.bodies.pond.level"


def with_wishes(job, **wishes):
    brief = job.brief.model_copy(update={"wishes": {name: Wish(**told) for name, told in wishes.items()}})
    return job.model_copy(update={"brief": brief})


def wished(run, **wishes):
    """Check of one wish on a run that is computed already."""
    other = Run(with_wishes(run.job, **wishes), run.log, run.stages)
    (found,) = wish_findings(other, other.findings)
    return found


@pytest.mark.parametrize(
    ("bounds", "grade", "limit", "operator"),
    [
        ({"at_least": 29.0}, Grade.GOOD, 29.0, ">="),
        ({"at_least": 30.0}, Grade.LOOK, 30.0, ">="),
        ({"at_most": 30.0}, Grade.GOOD, 30.0, "<="),
        ({"at_most": 29.0}, Grade.LOOK, 29.0, "<="),
        ({"at_least": 29.0, "at_most": 29.4}, Grade.LOOK, 29.4, "<="),
        ({"at_least": 29.0, "at_most": 29.6}, Grade.GOOD, 29.6, "<="),
        ({"at_least": 29.5656}, Grade.GOOD, 29.5656, ">="),
    ],
)
def test_a_wish_about_a_figure_is_held_against_it_in_its_own_kind(runs, bounds, grade, limit, operator):
    found = wished(runs["larkmeadow"], high={"text": "High water", "figure": LEVEL, **bounds})

    assert (found.code, found.grade, found.limit, found.operator) == (
        "brief.wish.high",
        grade,
        limit,
        operator,
    )
    assert found.value == pytest.approx(29.5656) and found.kind == ELEVATION
    assert found.where.paths == ("brief.wishes.high", LEVEL)


@pytest.mark.parametrize(
    "path",
    [
        "shape.shore.bodies.pool.level",
        "power.load.watts",
        "shape.shore",
        "site.ground.z",
        "brief.size_guess",
        "earth.balance.balanced_level.more",
    ],
)
def test_a_figure_that_is_not_there_yet_answers_nothing(runs, path):
    found = wished(runs["larkmeadow"], it={"text": "Cheap", "figure": path, "at_most": 5.0})

    assert found.grade is Grade.LOOK and found.value is None
    assert found.says == "The wish “Cheap” has nothing yet that answers it."


def test_a_figure_of_a_stage_without_an_answer_answers_nothing():
    run = api.compute(with_wishes(new_job("Empty"), high={"text": "High", "figure": LEVEL, "at_least": 1.0}))

    (found,) = (each for each in api.checks(run).look if each.code == "brief.wish.high")

    assert "has nothing yet that answers it" in found.says


def finding(code, grade, says="The edge is low."):
    return Finding(code, grade, says, Where(("shape.bodies.pond",), ((1.0, 2.0),)))


def run_of(wish, *findings, rules=None):
    job = new_job("Mill Lane 4").model_copy(update={"rules": rules or {}})
    job = job.model_copy(update={"brief": Brief(wishes={"it": wish})})
    return Run(job, Log(), {"shape.shore": StageState(findings=findings, status=Status.FRESH)})


def test_a_wish_that_becomes_a_check_takes_the_worst_of_it():
    wish = Wish(text="A safe edge", becomes="shape.ledge")
    run = run_of(
        wish,
        finding("shape.ledge", Grade.GOOD),
        finding("shape.ledge", Grade.LOOK, "The ledge of `pond` is narrow."),
        finding("shape.rim", Grade.STOP),
        finding("shape.ledger", Grade.STOP),
    )

    (found,) = wish_findings(run, run.findings)

    assert found.grade is Grade.LOOK
    assert found.says == "The wish “A safe edge” is not met: The ledge of `pond` is narrow."
    assert found.where.paths == ("brief.wishes.it", "shape.bodies.pond") and found.where.points == (
        (1.0, 2.0),
    )


def test_the_check_of_a_wish_goes_by_the_beginning_of_its_code():
    run = run_of(Wish(text="All sound", becomes="shape"), finding("shape.rim", Grade.STOP))

    (found,) = wish_findings(run, run.findings)

    assert found.grade is Grade.STOP


def test_a_wish_that_is_met_by_its_check_is_good_and_one_whose_check_is_not_there_is_open():
    (met,) = wish_findings(
        run := run_of(Wish(text="Safe", becomes="shape.rim"), finding("shape.rim", Grade.GOOD)), run.findings
    )
    (unknown,) = wish_findings(run := run_of(Wish(text="Quiet", becomes="sound.hum")), run.findings)

    assert (met.grade, met.says) == (Grade.GOOD, "The wish “Safe” is met.")
    assert (unknown.grade, unknown.says) == (Grade.LOOK, "The wish “Quiet” has nothing yet that answers it.")


def test_a_wish_tied_to_nothing_says_so():
    (found,) = wish_findings(run := run_of(Wish(text="A small   bridge\nof oak")), run.findings)

    assert (found.grade, found.says) == (
        Grade.LOOK,
        "The wish “A small bridge of oak” is tied to no check yet.",
    )


def test_each_wish_is_counted_once_and_can_be_accepted_by_its_code():
    rule = Rule.model_validate({"accepted": True, "reason": "later", "by": "Ann"})
    run = run_of(Wish(text="A bridge"), rules={"brief.wish.it": rule})

    found = checks_of(run)

    assert [each.accepted for each in found.look if each.code.startswith(WISH)] == ["Ann: later"]
    assert found.is_open == ()


def test_a_wish_calls_a_body_by_its_name_only_where_a_check_names_it(runs):
    job = with_wishes(runs["larkmeadow"].job, it={"text": "Look at `pond`"})

    (found,) = (
        each
        for each in api.checks(api.compute(job, after=runs["larkmeadow"])).look
        if each.code == "brief.wish.it"
    )

    assert "Look at 'pond'" in found.says


@given(st.text(max_size=300), st.floats(-1e9, 1e9, allow_nan=False))
def test_any_words_and_any_bound_make_one_sentence(text, bound):
    run = run_of(Wish(text=text, figure="shape.shore.x", at_least=bound))

    (found,) = wish_findings(run, run.findings)

    assert found.says.endswith(".") and "\n" not in found.says and len(found.says) < 200


def test_a_changed_wish_costs_no_stage(runs):
    before = runs["larkmeadow"]
    job = with_wishes(
        before.job, it={"text": "Large", "figure": "shape.shore.bodies.pond.area", "at_least": 1.0}
    )

    after = api.compute(job, after=before)

    same = [
        name
        for name, state in after.stages.items()
        if state is before.stages[name] or state.result is before.stages[name].result
    ]
    assert same == list(after.stages)
    (found,) = (each for each in api.checks(after).good if each.code == "brief.wish.it")
    assert found.kind == AREA


@pytest.mark.parametrize("offer", wish_offers(), ids=lambda offer: offer.id)
def test_what_is_offered_as_an_answer_is_there(offer):
    assert bool(offer.figure) != bool(offer.becomes)
    if offer.figure:
        assert offer.figure in {path for path, _stage, _figure in figure_catalogue()}
        assert offer.bound in ("at_least", "at_most")
    else:
        assert offer.becomes in {limit.code for limit in (*SITE, *SHAPE, *EARTH)} and not offer.bound


def test_little_hauling_is_about_what_leaves_the_site_and_not_about_what_waits_in_piles(runs):
    [offer] = [each for each in wish_offers() if each.id == "little_hauling"]
    before, heap = runs["larkmeadow"], {"place": {"at": "point", "east": 150.0, "north": 118.0}}
    piles = {"heap": Pile.model_validate(heap)}
    job = before.job.model_copy(update={"earth": before.job.earth.model_copy(update={"piles": piles})})

    found = [
        wished(run, few={"text": offer.says, "figure": offer.figure, "at_most": 1.0})
        for run in (before, api.compute(job, after=before))
    ]

    assert [each.grade for each in found] == [Grade.LOOK, Grade.GOOD]
    assert found[0].value == before.results.earth.soil.leaves > 1.0 and found[1].value == 0.0
