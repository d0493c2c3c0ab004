"""Every row of the ledger comes out as it must, and no method is without a row."""

import pytest

from pondwright.ledger.cases import STATUSES, Case, LedgerError, cases
from pondwright.ledger.run import missing_methods, outcome_of, public_methods

pytestmark = pytest.mark.published


@pytest.mark.parametrize("case", cases(), ids=lambda case: case.id)
def test_a_method_gives_the_number_of_its_case(case):
    outcome = outcome_of(case)

    assert outcome.met, f"{case.cited}: expected {outcome.expected}, got {outcome.ours}"


def test_no_public_method_is_without_a_case():
    assert missing_methods() == ()


def test_cases_name_only_methods_that_there_are():
    named = {method for case in cases() for method in case.methods}

    assert named - public_methods().keys() == set()


def test_no_case_takes_its_number_from_pondwright():
    words = {"pondwright", "regression", "golden", "snapshot"}
    told = [case.id for case in cases() if words & set(f"{case.document} {case.place}".lower().split())]

    assert told == []
    assert {case.status for case in cases()} <= set(STATUSES)


def test_every_case_names_its_document():
    assert [case.id for case in cases() if not case.document] == []


def a_case(**changes):
    told = {
        "id": "square", "room": "geometry", "methods": ("geometry.polygon.signed_area",), "problem": "",
        "inputs": {"ring": [[0, 0], [2, 0], [2, 2], [0, 2]]}, "result": "", "expected": 4.0,
        "tolerance": 0.01, "tolerance_kind": "absolute", "document": "plain geometry", "place": "",
        "status": "derived", "note": "",
    }  # fmt: skip
    return Case(**{**told, **changes})


@pytest.mark.parametrize(
    ("expected", "tolerance", "kind", "met"),
    [
        pytest.param(4.009, 0.01, "absolute", True, id="within"),
        pytest.param(4.011, 0.01, "absolute", False, id="outside"),
        pytest.param(4.03, 0.01, "relative", True, id="within a share of it"),
        pytest.param(4.05, 0.01, "relative", False, id="outside a share of it"),
        pytest.param([4.0], 0.01, "absolute", False, id="another shape"),
        pytest.param("refused", 0.0, "absolute", False, id="an answer where none is due"),
    ],
)
def test_a_case_is_met_only_within_its_tolerance(expected, tolerance, kind, met):
    outcome = outcome_of(a_case(expected=expected, tolerance=tolerance, tolerance_kind=kind))

    assert outcome.met is met


def test_a_method_that_refuses_meets_a_case_that_wants_it():
    outcome = outcome_of(a_case(inputs={"ring": [[0, 0], [2, 0]]}, expected="refused"))

    assert outcome.met


def test_a_case_for_a_function_that_is_not_there_is_refused():
    with pytest.raises(LedgerError, match=r"`geometry\.polygon\.girth` is none"):
        outcome_of(a_case(methods=("geometry.polygon.girth",)))
