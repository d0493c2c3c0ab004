"""The whole frame of a drag and each of its stages, at 300 x 300 and 600 x 600 nodes, and the start.

One peg of an invented pond of 24 pegs with an island is moved by a millimetre 200 times; every move
is an edited job that goes through the fold as in a drag.  Beside the time on the clock stands the
time of the processor, which other work on the machine disturbs less.  The peers run in the same
process on the same pond: shapely's distance to the shore, sums over numpy masks for the storage
curve, scipy's interpolation of the shots.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import shapely
from scipy.interpolate import griddata

from bench.bench_machine import triad_bandwidth
from bench.rows import Row, at_least, at_most, best_seconds
from pondwright import api
from pondwright.base.findings import Op
from pondwright.base.kinds import FloatArray
from pondwright.examples import LARKMEADOW, example_text
from pondwright.flow.engine import Run, advance
from pondwright.flow.stages import STAGES
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.tin import tin_to_grid, triangulate
from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.edits import Edit
from pondwright.job.fields import Rows
from pondwright.job.log import Log
from pondwright.rooms.shape.storage import storage

SIDE = 30.0
MOVES = 200
LEVELS = 64
DRAGGED = ("shape.shore", "shape.grading", "shape.storage", "earth.subgrade", "earth.soil")
GARDEN = (*DRAGGED, "shape.reach", "shape.views")
SETTLED = ("site.existing", "earth.survey", "earth.balance")

LEAST_FIELDS = 12
"""Fields of floats that a frame must move at least: distance, two limits, ground, finish, subgrade..."""


def rows() -> list[Row]:
    """Frames and stages at two sizes, the peers, the memory of a large frame, and the start."""
    return [
        *frame_rows(300, goal=16.0),
        *frame_rows(600, goal=50.0),
        *garden_rows(300, goal=16.0),
        *kept_rows(300),
        *peer_rows(),
        memory_row(),
        *start_rows(),
    ]


def frame_rows(nodes: int, goal: float) -> list[Row]:
    """Times below which half and 95 in 100 of the frames stay, whole and by stage."""
    job = pond_job(nodes)
    run = advance(STAGES, None, job, Log(), "background")
    clock: list[float] = []
    processor: list[float] = []
    stages: dict[str, list[float]] = {name: [] for name in DRAGGED}
    for move in range(MOVES):
        job = moved(job, 0.001 if move < MOVES // 2 else -0.001)
        began, worked = time.perf_counter(), time.process_time()
        run = advance(STAGES, run, job, Log(), "drag")
        processor.append(1e3 * (time.process_time() - worked))
        clock.append(1e3 * (time.perf_counter() - began))
        for name, taken in stages.items():
            taken.append(run.stages[name].milliseconds)
    size = f"frame {nodes} x {nodes}"
    floor = 1e3 * LEAST_FIELDS * 8 * nodes**2 / triad_bandwidth()
    return [
        *_half_and_most(f"{size}: on the clock", clock, goal),
        *_half_and_most(f"{size}: of the processor", processor, goal),
        Row(f"{size}: beside the memory", float(np.median(processor)), "ms", "12 fields moved once", floor),
        *(row for name, taken in stages.items() for row in _half_and_most(f"{size}: {name}", taken)),
        *settle_rows(size, run, job),
    ]


def garden_rows(nodes: int, goal: float) -> list[Row]:
    """The same drag in a whole garden: six bodies, twenty ways and five seats."""
    job = garden_job(nodes)
    run = advance(STAGES, None, job, Log(), "background")
    processor: list[float] = []
    for move in range(MOVES):
        job = moved(job, 0.001 if move < MOVES // 2 else -0.001)
        worked = time.process_time()
        run = advance(STAGES, run, job, Log(), "drag")
        processor.append(1e3 * (time.process_time() - worked))
    stages = [name for name, state in run.stages.items() if state.milliseconds and name in GARDEN]
    name = f"frame {nodes} x {nodes}, six bodies, 20 ways, 5 seats"
    return [
        *_half_and_most(f"{name}: of the processor", processor, goal),
        *(Row(f"{name}: {stage}, last move", run.stages[stage].milliseconds, "ms") for stage in stages),
    ]


def kept_rows(nodes: int) -> list[Row]:
    """The drag of one peg with the water level kept balanced, beside the same drag without."""
    times = {keep: _drag_times(pond_job(nodes), keep) for keep in (False, True)}
    plain = float(np.median(times[False]))
    name = f"frame {nodes} x {nodes}, level kept balanced"
    return [
        *_half_and_most(f"{name}: of the processor", times[True]),
        Row(f"{name}: beside the drag without", float(np.median(times[True])), "ms", "the same drag", plain),
    ]


def _drag_times(job: Job, keep: bool) -> list[float]:
    """Processor time of each frame of a drag. [ms]"""
    pond = job.shape.bodies["pond"].model_copy(update={"keep_balanced": keep})
    job = job.model_copy(
        update={"shape": job.shape.model_copy(update={"bodies": Rows({**job.shape.bodies, "pond": pond})})}
    )
    run = api.compute(job, tier="settle")
    times = []
    for move in range(1, MOVES + 1):
        outline = moved(job, 0.002 * move).shape.bodies["pond"].outline.model_dump(mode="json")
        edit = Edit("drag", 0, (Op("replace", "/shape/bodies/pond/outline", outline),))
        worked = time.process_time()
        run = api.drag(job, edit, after=run)
        times.append(1e3 * (time.process_time() - worked))
    return times


def garden_job(nodes: int) -> Job:
    """The invented pond with a second pond, two pools, a wetland, a stream with falls, ways and seats."""
    job = pond_job(nodes)
    tree = json.loads(job.model_dump_json(exclude_defaults=True))
    bodies = tree["shape"]["bodies"]
    for name, role, east, north, radius, level in (
        ("upper", "upper_pool", 4.0, 26.0, 1.6, 100.9),
        ("lower", "pond", 26.5, 3.5, 1.8, 99.6),
        ("intake", "intake_pool", 26.5, 26.5, 1.4, 100.2),
        ("marsh", "wetland", 3.5, 3.5, 1.7, 100.1),
    ):
        pegs = _pegs("q", 12, radius, 0.0, east, north)
        outline = {"form": "ring", "curve": {"pegs": pegs}}
        bodies[name] = {"role": role, "outline": outline, "level": level, "rank": len(bodies)}
    line = [{"id": f"s{k}", "east": 6.0 + 1.1 * k, "north": 26.0 - 0.9 * k} for k in range(5)]
    steps = [{"distance": 1.5, "drop": 0.3}, {"distance": 3.5, "drop": 0.3}]
    brook = {"form": "corridor", "curve": {"pegs": line}, "widths": [0.8] * 5, "steps": steps}
    bodies["brook"] = {"role": "stream", "outline": brook, "level": 100.8, "rank": len(bodies)}
    tree["shape"]["ways"] = {
        f"w{k}": {
            "kind": "path" if k % 4 else "deck",
            "place": {"at": "line", "points": _by_the_shore(k)},
            "width": 1.2,
            **({"level": 100.2} if k % 3 == 0 else {}),
        }
        for k in range(20)
    }
    tree["shape"]["seats"] = {
        f"seat{k}": {"place": {"at": "point", "east": east, "north": north}}
        for k, (east, north) in enumerate(((3, 10), (27, 8), (26, 21), (8, 28), (15, 2)))
    }
    return loads(json.dumps(tree))


def _by_the_shore(number: int) -> list[dict[str, float]]:
    angles = 2.0 * np.pi * (number + np.array([0.0, 0.4, 0.8])) / 20.0
    return [{"east": 15.0 + 10.5 * float(np.cos(a)), "north": 15.0 + 10.5 * float(np.sin(a))} for a in angles]


def settle_rows(size: str, run: Run, job: Job) -> list[Row]:
    """Times of the stages that wait for the drop."""
    settled = advance(STAGES, run, moved(job, 0.001), Log(), "settle")
    return [Row(f"{size}: {name}, once", settled.stages[name].milliseconds, "ms") for name in SETTLED]


def peer_rows() -> list[Row]:
    """Distance, storage and the ground from the shots beside general libraries at 300 x 300."""
    run = advance(STAGES, None, pond_job(300), Log(), "drag")
    ground, shore = run.stages["site.ground"].result, run.stages["shape.shore"].result
    grid, body, z = shore.grid, shore.bodies["pond"], run.stages["shape.grading"].result.z
    nodes = np.meshgrid(grid.east, grid.north)
    line = shapely.MultiLineString([shapely.LinearRing(ring) for ring in body.rings])
    shapely.prepare(line)
    points, shots, heights = shapely.points(*nodes), ground.shots.points, ground.shots.elevations
    distance = best_seconds(lambda: signed_distance(grid, body.rings))
    curve = best_seconds(lambda: storage(z, body.within, grid, body.level, ()))
    gridded = best_seconds(lambda: tin_to_grid(triangulate(shots, heights), grid))
    apart = best_seconds(lambda: shapely.distance(points, line), repeats=1)
    masked = best_seconds(lambda: masked_sums(z, body.within, body.level, grid.cell_area), repeats=3)
    linear = best_seconds(lambda: griddata(shots, heights, tuple(nodes), method="linear"), repeats=3)
    return [
        _beside("frame 300 x 300: exact distance", distance, "shapely distance", apart, 50.0),
        _beside("frame 300 x 300: storage with its lip", curve, "numpy masked sums", masked, 2.0),
        _beside("frame 300 x 300: 81 shots to the grid", gridded, "scipy griddata", linear, 2.0),
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
    return Row("frame 600 x 600: peak memory of a move", peak / 1e6, "MB", goal=at_most(600.0))


def start_rows() -> list[Row]:
    """Time of `pondwright show` in a fresh process, with compiled kernels at hand and without."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "larkmeadow.pond.json"
        job.write_text(example_text(LARKMEADOW), encoding="utf-8")
        show = [sys.executable, "-m", "pondwright", "show", str(job), "shape.storage"]
        compiling = _process_seconds(show, Path(folder))
        compiled = min(_process_seconds(show, Path(folder)) for _ in range(3))
    return [
        Row("start: `pondwright show`, kernels compiled before", compiled, "s", goal=at_most(2.0)),
        Row("start: `pondwright show`, kernels to compile", compiling, "s"),
    ]


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


def _pegs(
    prefix: str, count: int, radius: float, wave: float, east: float = 15.0, north: float = 15.0
) -> list[dict[str, object]]:
    angles = 2.0 * np.pi * np.arange(count) / count
    reach = radius + wave * np.sin(3.0 * angles)
    return [
        {"id": f"{prefix}{index}", "east": east + float(x), "north": north + float(y)}
        for index, (x, y) in enumerate(zip(reach * np.cos(angles), reach * np.sin(angles), strict=True))
    ]


def _half_and_most(name: str, taken: Sequence[float], goal: float | None = None) -> list[Row]:
    """Times below which half and 95 in 100 stay; the goal is for the 95."""
    half, most = np.percentile(taken, [50, 95])
    judged = None if goal is None else at_most(goal)
    return [
        Row(f"{name}, half of the moves", float(half), "ms"),
        Row(f"{name}, 95 in 100", float(most), "ms", goal=judged),
    ]


def _process_seconds(command: Sequence[str], cache: Path) -> float:
    """Seconds that a process takes from its start to its end, with its own folder for kernels."""
    began = time.perf_counter()
    subprocess.run(
        command, check=True, stdout=subprocess.DEVNULL, env={**os.environ, "XDG_CACHE_HOME": str(cache)}
    )
    return time.perf_counter() - began


def _beside(name: str, ours: float, peer: str, theirs: float, times: float) -> Row:
    """How many times faster than the peer."""
    return Row(name, 1.0 / ours, "1/s", peer, 1.0 / theirs, goal=at_least(times))
