"""What five seats see of the frame's invented pond: the sweep of a drag, the rays of the drop, their peer.

The peer is what a notebook would do: from the eye to every node of the water a straight line, the surface
taken at steps of one spacing by bilinear interpolation, all in numpy.  The stages are timed as the fold runs
them.
"""

from __future__ import annotations

import numpy as np

from bench.bench_frame import pond_job
from bench.rows import Row, at_least, at_most, best_seconds
from pondwright.base.kinds import FloatArray
from pondwright.flow.engine import Run, advance
from pondwright.flow.stages import STAGES
from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.grid import Grid
from pondwright.job.document import Job
from pondwright.job.fields import Rows
from pondwright.job.log import Log
from pondwright.job.places import LinePlace, Point, PointPlace
from pondwright.job.shape import Seat, Way
from pondwright.rooms.shape.sight import Eye, horizon, screens, waters_cover
from pondwright.rooms.shape.views import cell_shares_by_rays, water_seen

SEATS = ((3.0, 6.0), (27.0, 5.0), (26.0, 26.0), (4.0, 22.0), (15.0, 2.0))
WALL = ((5.0, 8.0), (7.0, 6.0))


def rows() -> list[Row]:
    """Five seats at two sizes: sweep, rays, what both see, and the stages."""
    return [row for nodes, goal in ((300, 6.0), (600, 30.0)) for row in _rows(nodes, goal)]


def _rows(nodes: int, goal: float) -> list[Row]:
    run = advance(STAGES, None, seated_job(nodes), Log(), "drag")
    shore, z = run.stages["shape.shore"].result, run.stages["shape.grading"].result.z
    body, grid = shore.bodies["pond"], shore.grid
    cover = waters_cover(z, [(body.distance, body.level)])
    levels, coverage = np.full(grid.shape, body.level), ring_coverage(grid, body.rings)
    wet = body.distance > 0.0
    wall = screens(np.array(WALL), np.full(2, 100.9))
    eyes = [seat.eye for seat in run.stages["shape.views"].result.seats.values()]

    def swept() -> list[float]:
        return [
            water_seen(horizon(cover, grid, eye, wall), levels, coverage, grid, eye)[0].area for eye in eyes
        ]

    def by_rays() -> list[float]:
        found = (cell_shares_by_rays(cover, levels, wet, coverage, grid, eye, wall) for eye in eyes)
        return [each[0].area for each in found]

    quick, slow = best_seconds(swept), best_seconds(by_rays, repeats=2)
    peer = best_seconds(lambda: numpy_rays(cover, grid, eyes[0], wet, body.level), repeats=1)
    apart = max(abs(one - other) for one, other in zip(swept(), by_rays(), strict=True)) / body.area
    size = f"views {nodes} x {nodes}"
    marched = "numpy ray march, one seat times five"
    return [
        Row(f"{size}: five seats, sweep", 1e3 * quick, "ms", goal=at_most(goal)),
        Row(f"{size}: five seats a second, sweep", 1.0 / quick, "1/s", marched, 0.2 / peer, at_least(100.0)),
        Row(
            f"{size}: five seats a second, exact rays", 1.0 / slow, "1/s", marched, 0.2 / peer, at_least(3.0)
        ),
        Row(f"{size}: five seats, exact rays", 1e3 * slow, "ms"),
        Row(f"{size}: sweep against rays, share of the water", 100.0 * apart, "%", goal=at_most(3.0)),
        *_stage_rows(size, run),
    ]


def _stage_rows(size: str, run: Run) -> list[Row]:
    """The stages once more after a finish that moved: nothing can be taken over."""
    moved = run.job.shape.model_copy(update={"ways": Rows({"wall": wall_row(100.8)})})
    settled = advance(STAGES, run, run.job.model_copy(update={"shape": moved}), Log(), "settle")
    names = ("shape.reach", "shape.views", "shape.views_exact")
    return [Row(f"{size}: {name}, once", settled.stages[name].milliseconds, "ms") for name in names]


def wall_row(top: float) -> Way:
    """A wall before the first seat."""
    points = tuple(Point(east=east, north=north) for east, north in WALL)
    return Way(kind="wall", place=LinePlace(at="line", points=points), top=top)


def seated_job(nodes: int) -> Job:
    """The frame's pond with five seats round it and a wall before one of them."""
    job = pond_job(nodes)
    seats = {
        f"seat{number}": Seat(place=PointPlace(at="point", east=east, north=north))
        for number, (east, north) in enumerate(SEATS)
    }
    shape = job.shape.model_copy(update={"seats": Rows(seats), "ways": Rows({"wall": wall_row(100.9)})})
    return job.model_copy(update={"shape": shape})


def numpy_rays(cover: FloatArray, grid: Grid, eye: Eye, wet: np.ndarray, level: float) -> int:
    """Nodes of the water that one eye sees, with no wall: one line of sight after another, in numpy."""
    column = (eye.east - grid.origin_east) / grid.spacing
    row = (eye.north - grid.origin_north) / grid.spacing
    seen = 0
    for end_row, end_column in zip(*np.nonzero(wet), strict=True):
        steps = max(int(max(abs(end_column - column), abs(end_row - row))), 1)
        share = np.arange(1, steps) / steps
        x, y = column + share * (end_column - column), row + share * (end_row - row)
        c, r = x.astype(int), y.astype(int)
        u, v = x - c, y - r
        low = cover[r, c] + u * (cover[r, c + 1] - cover[r, c])
        high = cover[r + 1, c] + u * (cover[r + 1, c + 1] - cover[r + 1, c])
        sight = eye.elevation + share * (level - eye.elevation)
        seen += bool((low + v * (high - low) <= sight).all())
    return seen
