"""The whole frame of a drag, and each of its stages, at 300 x 300 and 600 x 600 nodes.

One peg of an invented pond of 24 pegs with an island is moved by a millimetre 200 times; every move
is an edited job that goes through the fold like a drag.  The peers run in the same process on
the same pond: shapely's distance to the shore, and sums over numpy masks for the storage curve.
"""

from __future__ import annotations

import json
import time
import tracemalloc

import numpy as np
import shapely

from bench.rows import Row, at_least, at_most, best_seconds
from pondwright.base.kinds import FloatArray
from pondwright.flow.engine import Run, advance
from pondwright.flow.stages import STAGES
from pondwright.geometry.distance import signed_distance
from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.fields import Rows
from pondwright.job.log import Log
from pondwright.rooms.shape.storage import storage

SIDE = 30.0
MOVES = 200
LEVELS = 64
DRAGGED = ("shape.shore", "shape.grading", "shape.storage", "earth.subgrade", "earth.soil")


def rows() -> list[Row]:
    """Frames and stages at two sizes, the peers, and the memory of a large frame."""
    return [*frame_rows(300, goal=16.0), *frame_rows(600, goal=50.0), *peer_rows(), memory_row()]


def frame_rows(nodes: int, goal: float) -> list[Row]:
    """Half and 95 in 100 of the frames take no longer than this."""
    job = pond_job(nodes)
    run = advance(STAGES, None, job, Log(), "background")
    whole: list[float] = []
    stages: dict[str, list[float]] = {name: [] for name in DRAGGED}
    for move in range(MOVES):
        job = moved(job, 0.001 if move < MOVES // 2 else -0.001)
        began = time.perf_counter()
        run = advance(STAGES, run, job, Log(), "drag")
        whole.append(1e3 * (time.perf_counter() - began))
        for name, taken in stages.items():
            taken.append(run.stages[name].milliseconds)
    size = f"{nodes} x {nodes}"
    found = [
        Row(f"frame {size}: half of the moves", float(np.median(whole)), "ms"),
        Row(f"frame {size}: 95 in 100 moves", float(np.percentile(whole, 95)), "ms", goal=at_most(goal)),
    ]
    for name, taken in stages.items():
        found.append(Row(f"frame {size}: {name}, half of the moves", float(np.median(taken)), "ms"))
        found.append(Row(f"frame {size}: {name}, 95 in 100", float(np.percentile(taken, 95)), "ms"))
    balance = run_once(run, job)
    found.append(Row(f"frame {size}: earth.balance, once", balance, "ms"))
    return found


def run_once(run: Run, job: Job) -> float:
    """Time of the balance after a drop [ms]."""
    return advance(STAGES, run, moved(job, 0.001), Log(), "settle").stages["earth.balance"].milliseconds


def peer_rows() -> list[Row]:
    """Distance and storage beside general libraries at 300 x 300."""
    run = advance(STAGES, None, pond_job(300), Log(), "drag")
    shore, finish = run.stages["shape.shore"].result, run.stages["shape.grading"].result
    grid, body = shore.grid, shore.bodies["pond"]
    nodes = shapely.points(*np.meshgrid(grid.east, grid.north))
    line = shapely.MultiLineString([shapely.LinearRing(ring) for ring in body.rings])
    shapely.prepare(line)
    ours = best_seconds(lambda: signed_distance(grid, body.rings))
    theirs = best_seconds(lambda: shapely.distance(nodes, line), repeats=1)
    curve = best_seconds(lambda: storage(finish.z, body.within, grid, body.level, ()))
    masked = best_seconds(lambda: masked_sums(finish.z, body.within, body.level, grid.cell_area), repeats=3)
    return [
        _beside("frame 300 x 300: exact distance", ours, "shapely distance", theirs, 50.0),
        _beside("frame 300 x 300: storage with its lip", curve, "numpy masked sums", masked, 2.0),
    ]


def masked_sums(z: FloatArray, within: np.ndarray, level: float, cell_area: float) -> FloatArray:
    """Volume at 64 levels by sums over masks, without a lip: what a notebook would do."""
    levels = np.linspace(float(z[within].min()), level + 0.3, LEVELS)
    return np.array([np.sum(np.where(within & (z < each), each - z, 0.0)) * cell_area for each in levels])


def memory_row() -> Row:
    """Most memory that a frame of 600 x 600 holds beyond what it started with."""
    job = pond_job(600)
    run = advance(STAGES, None, job, Log(), "drag")
    tracemalloc.start()
    advance(STAGES, run, moved(job, 0.001), Log(), "drag")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return Row("frame 600 x 600: peak memory of a move", peak / 1e6, "MB", goal=at_most(250.0))


def pond_job(nodes: int) -> Job:
    """An invented pond on invented ground."""
    shots = {}
    for index, (east, north) in enumerate(np.ndindex(9, 9)):
        place = {"by": "coordinates", "east": 4.0 * east - 1.0, "north": 4.0 * north - 1.0}
        height = 100.0 + 0.14 * (north - 4.0) + 0.05 * float(np.sin(1.3 * east))
        shots[f"s{index}"] = {"place": place, "elevation": height}
    grid = {
        "origin_east": 0.0,
        "origin_north": 0.0,
        "spacing": SIDE / (nodes - 1),
        "columns": nodes,
        "rows": nodes,
    }
    pond = {
        "outline": {"form": "ring", "curve": {"pegs": _pegs("p", 24, 7.5, 1.5)}},
        "islands": {"isle": {"pegs": _pegs("i", 8, 1.2, 0.0)}},
        "level": 100.0,
    }
    layers = [{"kind": "topsoil", "thickness": 0.18}, {"kind": "silt", "thickness": 1.0}, {"kind": "clay"}]
    return loads(
        json.dumps(
            {
                "format": 1,
                "id": "bench",
                "name": "bench",
                "demo": True,
                "site": {
                    "frame": {"grid": grid},
                    "shots": shots,
                    "soils": {
                        "pit": {"place": {"at": "point", "east": 15.0, "north": 15.0}, "layers": layers}
                    },
                },
                "shape": {"bodies": {"pond": pond}},
                "catalogue": {"gravel": {"kind": "gravel"}},
                "build_up": {
                    "bed": {
                        "place": {"at": "whole", "body": "pond"},
                        "layers": [{"item": "gravel", "thickness": 0.1}],
                    }
                },
            }
        )
    )


def moved(job: Job, east: float) -> Job:
    """The same job with the fourth peg moved east."""
    pond = job.shape.bodies["pond"]
    curve = pond.outline.curve
    pegs = list(curve.pegs)
    pegs[3] = pegs[3].model_copy(update={"east": pegs[3].east + east})
    outline = pond.outline.model_copy(update={"curve": curve.model_copy(update={"pegs": tuple(pegs)})})
    bodies = Rows({**job.shape.bodies, "pond": pond.model_copy(update={"outline": outline})})
    return job.model_copy(update={"shape": job.shape.model_copy(update={"bodies": bodies})})


def _pegs(prefix: str, count: int, radius: float, wave: float) -> list[dict[str, object]]:
    angles = 2.0 * np.pi * np.arange(count) / count
    reach = radius + wave * np.sin(3.0 * angles)
    return [
        {"id": f"{prefix}{index}", "east": 15.0 + float(x), "north": 15.0 + float(y)}
        for index, (x, y) in enumerate(zip(reach * np.cos(angles), reach * np.sin(angles), strict=True))
    ]


def _beside(name: str, ours: float, peer: str, theirs: float, times: float) -> Row:
    """How many times faster than the peer."""
    return Row(name, 1.0 / ours, "1/s", peer, 1.0 / theirs, goal=at_least(times))
