"""The window of a sheet: usual scales, true lengths, contours that can be told apart."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.papers.window import FOOT, contour_interval, fitted, scale_words

sides = st.floats(1.0, 2000.0)


@given(sides, sides, st.sampled_from(["metric", "us", "us_inch"]))
def test_the_extent_lies_whole_in_the_window_at_its_scale(width: float, height: float, shown: str) -> None:
    window = fitted((10.0, 20.0, 10.0 + width, 20.0 + height), 10.0, 10.0, 300.0, 200.0, shown)  # type: ignore[arg-type]
    corners = window.to_paper(np.array([[10.0, 20.0], [10.0 + width, 20.0 + height]]))

    assert (corners >= 10.0 - 1e-6).all()
    assert (corners <= np.array([310.0, 210.0]) + 1e-6).all()
    assert np.ptp(corners[:, 0]) == pytest.approx(width * 1000.0 / window.scale)


def test_feet_have_scales_of_whole_feet_to_the_inch() -> None:
    window = fitted((0.0, 0.0, 100 * FOOT, 50 * FOOT), 0.0, 0.0, 254.0, 254.0, "us")

    assert (window.scale, scale_words(window.scale, "us")) == (120.0, "1 in = 10 ft")


def test_metres_have_round_scales() -> None:
    window = fitted((0.0, 0.0, 29.0, 10.0), 0.0, 0.0, 300.0, 200.0, "metric")

    assert (window.scale, scale_words(window.scale, "metric")) == (100.0, "1:100")


def test_north_is_up_on_paper() -> None:
    window = fitted((0.0, 0.0, 10.0, 10.0), 0.0, 0.0, 100.0, 100.0, "metric")
    south, north = window.to_paper(np.array([[5.0, 0.0], [5.0, 10.0]]))

    assert north[1] < south[1]


def test_a_line_is_cut_at_the_edge_of_the_window() -> None:
    window = fitted((0.0, 0.0, 10.0, 10.0), 0.0, 0.0, 100.0, 100.0, "metric")
    (piece,) = window.clipped(np.array([[-50.0, 5.0], [5.0, 5.0]]))

    assert piece.min() == pytest.approx(0.0)


@given(st.floats(0.05, 60.0), st.sampled_from(["metric", "us"]))
def test_there_are_neither_none_nor_too_many_contours(height: float, shown: str) -> None:
    interval, every = contour_interval(100.0, 100.0 + height, shown)  # type: ignore[arg-type]

    assert height / interval <= 20 and every in (4, 5)
