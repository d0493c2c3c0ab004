"""Numbers of checks on paper: shares in percent, all else in the units of the job."""

import pytest

from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import LENGTH, RATIO
from pondwright.papers.margin import number_of


@pytest.mark.parametrize(
    ("kind", "limit", "number", "words"),
    [
        pytest.param(RATIO, 0.05, 0.498, "49.8 %", id="a share"),
        pytest.param(RATIO, 0.05, 0.05, "5 %", id="its limit"),
        pytest.param(RATIO, 5.0, 4.5, "4.5", id="a ratio that is no share"),
        pytest.param(LENGTH, 0.5, 0.25, "0.25 m", id="a length"),
    ],
)
def test_a_ratio_held_to_less_than_one_is_told_in_percent(kind, limit, number, words):
    finding = Finding("site.some", Grade.LOOK, "It is so.", value=number, limit=limit, kind=kind)

    assert number_of(finding, number, "metric") == words
