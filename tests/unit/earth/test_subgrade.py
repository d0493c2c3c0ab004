"""The subgrade: the finish less everything that covers it."""

import numpy as np
import pytest

from pondwright.rooms.earth.subgrade import dig_depth, subgrade, thickness_of_parts

PART = np.array([[0, 10, 11], [0, 3, 12]], dtype=np.int8)


def test_covers_on_one_part_add_up():
    thickness = thickness_of_parts([([10, 11], 0.05), ([11], 0.15)])

    assert thickness[[0, 10, 11, 12]] == pytest.approx([0.0, 0.05, 0.2, 0.0])


def test_the_subgrade_lies_below_covered_parts_only():
    z = np.full(PART.shape, 100.0)

    under = subgrade(z, PART, thickness_of_parts([([10, 11], 0.05), ([11], 0.15)]))

    assert under.tolist() == [[100.0, 99.95, 99.8], [100.0, 100.0, 100.0]]


def test_the_cover_is_dug_for_as_well():
    ground, z = np.full(PART.shape, 100.5), np.full(PART.shape, 100.0)

    depth = dig_depth(ground, subgrade(z, PART, thickness_of_parts([([10], 0.1)])))

    assert depth == pytest.approx(np.array([[0.5, 0.6, 0.5], [0.5, 0.5, 0.5]]))
