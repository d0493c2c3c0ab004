"""One liner under a stream with falls, or under several waters: what is exact, and what lies between."""

import numpy as np
import pytest

from pondwright.examples import LARKMEADOW_SHAPED, example_text
from pondwright.geometry.grid import Grid
from pondwright.job.codec import loads
from pondwright.job.lining import Liner
from pondwright.rooms.lining.area import LinerGround, liner_mesh
from pondwright.rooms.lining.cover import cover
from pondwright.rooms.lining.panels import best_sheet
from tests.unit.lining.test_stage import lined, run_of

FALL = 0.5


def channel(turned=0.0):
    """A level channel of 10 m by 2 m that drops upright by 0.5 m in its middle."""
    grid = Grid(0.0, 0.0, 0.1, 141, 141)
    east, north = np.meshgrid(grid.east - 7.0, grid.north - 7.0)
    along = east * np.cos(turned) + north * np.sin(turned)
    across = north * np.cos(turned) - east * np.sin(turned)
    distance = np.minimum(5.0 - abs(along), 1.0 - abs(across))
    below = along > 0.05
    way = np.stack([np.full(grid.shape, np.cos(turned)), np.full(grid.shape, np.sin(turned))])
    rest = np.where(below, -FALL, 0.0)
    return LinerGround(grid, rest, np.zeros(grid.shape), distance, below.astype(np.int8), way)


def test_a_fall_counts_whole():
    assert liner_mesh(channel(), 0.0).area == pytest.approx(2.0 * (10.0 + FALL), rel=1e-9)


def test_a_fall_that_runs_slantwise_over_the_grid_counts_nearly_whole():
    assert liner_mesh(channel(0.5), 0.0).area == pytest.approx(2.0 * (10.0 + FALL), rel=0.01)


def test_a_piece_goes_down_a_fall_and_on():
    ground = channel()
    sheet, mesh = best_sheet(ground, 0.0, [0.0]), liner_mesh(ground, 0.0)

    found = cover(mesh, 0.0, 10.0 + FALL, 2.0)

    assert sheet.length == pytest.approx(10.0 + FALL, abs=0.3)
    assert (found.length, found.width) == pytest.approx((10.0 + FALL, 2.0), rel=1e-3)


def test_waters_that_share_a_liner_need_no_more_ground_than_each_by_itself():
    """The margins run into one another where a stream meets the pond that it feeds."""
    shaped = loads(example_text(LARKMEADOW_SHAPED))
    alone = run_of(lined(shaped)).results.lining.area.liners
    run = run_of(lined(shaped, all=Liner(bodies=("intake", "stream", "pond"))))

    joined = run.results.lining.area.liners["all"]
    found = run.results.lining.cover.liners["all"]

    parts = [alone[name].area for name in joined.bodies]
    assert set(joined.bodies) == {"intake", "stream", "pond"}
    assert max(parts) < joined.area < sum(parts)
    assert found.area >= found.least == pytest.approx(joined.area, rel=0.006)


def test_waters_apart_under_one_liner_count_as_each_by_itself():
    shaped = loads(example_text(LARKMEADOW_SHAPED))
    alone = run_of(lined(shaped)).results.lining.area.liners
    joined = run_of(lined(shaped, both=Liner(bodies=("wetland", "pond")))).results.lining.area.liners["both"]

    assert joined.area == pytest.approx(alone["wetland"].area + alone["pond"].area, rel=1e-3)
