"""Windows of changed nodes and what goes on from them: against plain numpy, to the last bit."""

import threading

import numpy as np
import pytest

from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels.changes import alike
from pondwright.geometry.kernels.sight import lay_water
from pondwright.geometry.scratch import SCRATCH
from pondwright.geometry.volume import StageSums, area_beyond
from pondwright.geometry.window import NOWHERE, changed, window_of


@pytest.mark.parametrize("seed", range(5))
def test_a_window_holds_all_marked_nodes_and_no_row_or_column_more(seed):
    mask = np.random.default_rng(seed).random((23, 31)) > 0.99
    rows, columns = np.nonzero(mask)

    found = window_of(mask)

    expected = (rows.min(), rows.max() + 1, columns.min(), columns.max() + 1) if len(rows) else NOWHERE
    assert found == expected
    assert window_of(np.asfortranarray(mask)) == expected


@pytest.mark.parametrize("place", [0, 511, 512, 1299])
def test_one_word_makes_two_long_rows_unlike(place):
    words = np.arange(1300)
    other = words.copy()

    assert alike(words, other)
    other[place] += 1
    assert not alike(words, other)


def test_areas_beyond_offsets_go_on_from_those_of_before_where_rows_changed():
    grid = Grid(0.0, 0.0, 0.5, 40, 70)
    before = 8.0 - np.hypot(grid.east[None, :] - 9.0, grid.north[:, None] - 17.0)
    now = before.copy()
    now[41:45, 10:30] += 0.3
    window = changed(before, now)
    offsets = [0.5, 1.0, 2.5]

    known = StageSums.beyond(before, offsets, grid)
    found = StageSums.beyond(now, offsets, grid, known, window[:2])

    assert window[:2] == (41, 45)
    assert found.areas_beyond().tobytes() == area_beyond(now, offsets, grid).tobytes()
    assert not np.array_equal(found.areas_beyond(), area_beyond(before, offsets, grid))


def test_a_surface_is_raised_to_a_water_only_where_it_is_wet_and_lower():
    chance = np.random.default_rng(3)
    cover, levels, wet = chance.random((9, 8)), chance.random((4, 5)), chance.random((4, 5)) > 0.5
    expected = cover.copy()
    under = expected[2:6, 3:8]
    np.maximum(under, levels, out=under, where=wet)

    lay_water(levels, wet.view(np.int8), 2, 3, cover)

    assert cover.tobytes() == expected.tobytes()


def test_memory_for_a_passing_use_is_kept_for_each_use_and_thread():
    first = SCRATCH.room("test use", 10, np.float64)
    in_thread = []
    other = threading.Thread(target=lambda: in_thread.append(SCRATCH.room("test use", 10, np.float64)))
    other.start()
    other.join()

    assert np.shares_memory(first, SCRATCH.room("test use", 4, np.float64))
    assert len(SCRATCH.room("test use", 20, np.float64)) == 20
    assert not np.shares_memory(first, SCRATCH.room("another test use", 4, np.float64))
    assert not np.shares_memory(first, in_thread[0])
