"""Gates on the style of the source: documented and annotated in full, no cycles, units told."""

from pathlib import Path

import pytest

from tools.check_docstrings import SOURCE, faults_in
from tools.style_metrics import failed_gates, measure_folder, source_figures

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def figures() -> dict[str, float]:
    return source_figures(measure_folder(SOURCE))


@pytest.mark.parametrize(
    "gate",
    [
        pytest.param("pubdoc%=100", id="every public function and class has a docstring"),
        pytest.param("moddoc%=100", id="every module has a docstring"),
        pytest.param("hints%=100", id="every public function is annotated in full"),
        pytest.param("cycle%=0", id="no module imports itself by a detour"),
    ],
)
def test_style_gate(figures, gate):
    assert failed_gates(figures, [gate]) == []


def test_docstrings_tell_the_units_that_the_annotations_tell():
    assert faults_in(SOURCE) == []


def test_a_docstring_with_another_unit_is_found(tmp_path):
    module = tmp_path / "rooms" / "weir.py"
    module.parent.mkdir()
    module.write_text(
        '''
def discharge(head: Length, width: "Length | None") -> Flow:
    """Discharge over a crest.

    Parameters
    ----------
    head : Length
        Water above the crest. [cm], never; [m²], >= 0 (h in [1]_)
    width : Length

    Returns
    -------
    Flow
        [m³/s]
    """
'''
    )

    faults = faults_in(tmp_path)

    assert [fault.split(" ", 1)[1] for fault in faults] == [
        "discharge: `head` tells [m²], its annotation [m]",
    ]


def test_a_method_silent_about_a_unit_is_found(tmp_path):
    module = tmp_path / "geometry" / "ring.py"
    module.parent.mkdir()
    module.write_text('def area(step: Length) -> Area:\n    """Area of a ring."""\n')

    faults = faults_in(tmp_path)

    assert [fault.split(" ", 1)[1] for fault in faults] == [
        "area: `step` must tell its unit [m]",
        "area: what it returns must tell its unit [m²]",
    ]
