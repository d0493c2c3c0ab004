"""Form numbers against closed forms and a text's own example."""

import math

import pytest

from pondwright.base.errors import DomainError
from pondwright.geometry.polygon import development_index
from pondwright.rooms.shape.figures import littoral_share, mean_depth, volume_development


@pytest.mark.parametrize(
    ("length", "area", "expected"),
    [
        (2.0 * math.pi * 5.0, math.pi * 25.0, 1.0),
        (4.0, 1.0, 1.12838),
        (96.884, math.pi * 200.0, 1.09033),
        (92.0, 420.0, 1.2664),
    ],
)
def test_shoreline_development_of_known_shapes(length, area, expected):
    assert development_index(length, area) == pytest.approx(expected, rel=1e-4)


def test_shoreline_development_of_a_text_that_prints_2_72():
    """8.6 miles of shore around 510 acres; a limnology text."""
    assert development_index(8.6 * 1609.344, 510.0 * 4046.8564224) == pytest.approx(2.718, abs=5e-4)


@pytest.mark.parametrize(("mean", "expected"), [(0.5, 1.0), (0.75, 1.5), (1.0, 2.0)])
def test_volume_development_of_cone_paraboloid_and_half_ellipsoid(mean, expected):
    assert volume_development(mean, 1.5) == pytest.approx(expected)


def test_mean_depth_is_volume_over_area():
    assert mean_depth(276.0, 300.0) == pytest.approx(0.92)


def test_the_littoral_share_is_what_is_not_deeper():
    assert littoral_share(75.0, 300.0) == pytest.approx(0.75)


@pytest.mark.parametrize(
    "call",
    [lambda: mean_depth(1.0, 0.0), lambda: volume_development(1.0, 0.0), lambda: littoral_share(0.0, 0.0)],
)
def test_a_body_without_size_has_no_form(call):
    with pytest.raises(DomainError, match="must be above 0"):
        call()
