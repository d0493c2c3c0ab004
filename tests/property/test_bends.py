"""Bends of a hundred rough outlines: the area is kept, the shore is as long as told, and nothing crosses."""

import numpy as np
import pytest

from pondwright.geometry.polygon import self_crossings
from pondwright.rooms.shape.bends import Outline, enlarged, more_shore, rounder


def rough(seed):
    """A rough outline of 5 to 19 pegs around a middle, either way round, some of its pegs corners."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(5, 20))
    angles = 2.0 * np.pi * np.arange(count) / count * (1 if rng.random() < 0.5 else -1)
    radius = 8.0 * (1.0 + 0.35 * rng.uniform(-1.0, 1.0, count))
    pegs = np.column_stack([20.0 + radius * np.cos(angles), 20.0 + 0.8 * radius * np.sin(angles)])
    return Outline(pegs, tuple((rng.random(count) < 0.1).tolist()))


@pytest.mark.parametrize("seed", range(100))
def test_more_shore_keeps_the_area_and_does_not_cross(seed):
    drawn = rough(seed)
    assert not len(self_crossings(drawn.ring))

    bent = more_shore(drawn, 1.1)

    assert bent is not None
    assert bent.area == pytest.approx(drawn.area, rel=1e-3)
    assert bent.length == pytest.approx(1.1 * drawn.length, rel=1e-3)
    assert bent.corners == drawn.corners and len(bent.pegs) == len(drawn.pegs)
    assert not len(self_crossings(bent.ring))


@pytest.mark.parametrize("seed", range(100))
def test_rounder_keeps_the_area_with_less_shore(seed):
    drawn = rough(seed)

    bent = rounder(drawn, 0.9)

    if bent is None:  # only a shape that is round already, or one that its corners keep from it
        assert drawn.length < 1.05 * 2.0 * np.sqrt(np.pi * drawn.area) or any(drawn.corners)
        return
    assert bent.area == pytest.approx(drawn.area, rel=1e-3)
    assert 0.899 * drawn.length < bent.length < drawn.length
    assert not len(self_crossings(bent.ring))


@pytest.mark.parametrize("seed", range(0, 100, 10))
def test_larger_and_back_again_is_the_same_outline(seed):
    drawn = rough(seed)

    assert enlarged(enlarged(drawn, 1.3), 1.0 / 1.3).pegs == pytest.approx(drawn.pegs)
