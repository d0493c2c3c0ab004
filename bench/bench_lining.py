"""Liner of the frame's invented pond: its size in a drag, the search by row arcs, and the proof.

There is no peer that lays a sheet over ground that slopes.  On level ground there is one: the smallest turned
rectangle round the edge of the liner, from a library for plane figures, which knows no ground at all.
"""

from __future__ import annotations

import time
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import shapely

from bench.bench_frame import moved, pond_job
from bench.rows import Row, at_least, at_most, best_seconds
from pondwright.examples import LARKMEADOW_SHAPED, example_text
from pondwright.flow.engine import Run, StageFunction, advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.document import Job
from pondwright.job.fields import Rows
from pondwright.job.lining import Liner, Stock
from pondwright.job.log import Log
from pondwright.rooms.lining.area import LinerGround, liner_mesh
from pondwright.rooms.lining.cover import cover
from pondwright.rooms.lining.panels import best_sheet, best_strips

ROLL, OVERLAP = 4.0, 0.15
MOVES = 60


def rows() -> list[Row]:
    """Sheet and strips by row arcs, the flat case beside its peer, and the proof."""
    run = advance(STAGES, None, pond_job(300), Log(), "settle")
    liner = run.stages["lining.area"].result.liners["pond"]
    ground, beyond = liner.ground, liner.beyond
    flat = replace(ground, rest=np.zeros_like(ground.rest), steps=np.zeros_like(ground.steps))
    edge = _edge(flat, beyond)
    sheet, mesh = best_sheet(ground, beyond), liner_mesh(ground, beyond)
    found = cover(mesh, sheet.turned, sheet.length, sheet.width)
    size = f"liner {ground.grid.columns} x {ground.grid.rows}"
    level = shapely.area(shapely.oriented_envelope(edge))
    library = "shapely oriented_envelope, level ground"
    return [
        *drag_rows(),
        *proof_rows(),
        Row(
            f"{size}: one sheet, all directions",
            1e3 * best_seconds(lambda: best_sheet(ground, beyond)),
            "ms",
            library,
            1e3 * best_seconds(lambda: shapely.oriented_envelope(edge)),
        ),
        Row(
            f"{size}: sheet on level ground",
            best_sheet(flat, beyond).area,
            "m2",
            library,
            level,
            at_most(1.05),
        ),
        Row(
            f"{size}: strips, 36 directions x 8 offsets",
            1e3 * best_seconds(lambda: best_strips(ground, beyond, ROLL, OVERLAP)),
            "ms",
            goal=at_most(100.0),
        ),
        Row(
            f"{size}: cover check, {len(mesh.triangles)} triangles",
            best_seconds(lambda: cover(mesh, sheet.turned, sheet.length, sheet.width), repeats=1),
            "s",
            goal=at_most(3.0),
        ),
        Row(f"{size}: proved piece", found.area, "m2", "row arcs", sheet.area, at_most(1.10)),
        Row(f"{size}: proved piece over the ground", found.area, "m2", "true area", mesh.area, at_least(1.0)),
    ]


def drag_rows() -> list[Row]:
    """Size of one piece and of rolls in each frame of a drag, beside the search of all directions."""
    rolls = Liner(bodies=("pond",), one_piece=False, stock=(Stock(width=ROLL, length=30.0),))
    one = pond_job(300)
    liners = one.lining.model_copy(update={"liners": Rows({"pond": rolls})})
    found = []
    for name, job in (("one piece", one), ("rolls", one.model_copy(update={"lining": liners}))):
        run = advance(STAGES, None, job, Log(), "settle")
        live, settled = dragged(job, run)
        cold = advance(STAGES, None, job, Log(), "drag").stages["lining.arcs"].milliseconds
        half, most = np.percentile(live, [50, 95])
        drag = f"drag 300 x 300, {name} of liner"
        found += [
            Row(f"{drag}: half of the moves", float(half), "ms", "all directions, once", cold),
            Row(f"{drag}: 95 in 100", float(most), "ms", goal=at_most(2.0)),
            Row(f"{drag}: size after 60 mm", settled[0], "m2", "settled", settled[1], at_most(1.10)),
        ]
    return found


def dragged(job: Job, run: Run) -> tuple[list[float], tuple[float, float]]:
    """Processor time of the stage in each frame [ms], and the ordered area live and settled [m²]."""
    (stage,) = (stage for stage in STAGES if stage.name == "lining.arcs")
    taken: list[float] = []
    for _ in range(MOVES):
        job = moved(job, 0.001)
        timed = replace(stage, function=_timed(stage.function, taken))
        table = tuple(timed if each is stage else each for each in STAGES)
        run = advance(table, run, job, Log(), "drag")
    live = run.stages["lining.arcs"].result.ordered_area
    settled = advance(STAGES, run, job, Log(), "settle").stages["lining.arcs"].result.ordered_area
    return taken, (live, settled)


def _timed(function: StageFunction, taken: list[float]) -> StageFunction:
    """The same stage, its processor time noted."""

    def timed(*given: Any) -> Any:
        began = time.process_time()
        answer = function(*given)
        taken.append(1e3 * (time.process_time() - began))
        return answer

    return timed


def proof_rows() -> list[Row]:
    """The proof of two ponds as they are drawn: that of Larkmeadow, and one of about 12 m by 8 m."""
    found = []
    for name, job in (("Larkmeadow", loads(example_text(LARKMEADOW_SHAPED))), ("12 m by 8 m", oblong_job())):
        run = advance(STAGES, None, job, Log(), "settle")
        liner = run.stages["lining.area"].result.liners["pond"]
        sheet = best_sheet(liner.ground, liner.beyond)
        mesh = liner_mesh(liner.ground, liner.beyond)
        proved = cover(mesh, sheet.turned, sheet.length, sheet.width)
        seconds = best_seconds(partial(cover, mesh, sheet.turned, sheet.length, sheet.width), repeats=3)
        size = f"pond of {name}, {len(mesh.triangles)} triangles"
        found += [
            Row(f"{size}: cover check", seconds, "s", goal=at_most(0.2)),
            Row(f"{size}: proved piece", proved.area, "m2", "row arcs", sheet.area, at_most(1.02)),
        ]
    return found


def oblong_job() -> Job:
    """The invented pond squeezed to about 12 m by 8 m, without its island."""
    job = pond_job(300)
    pond = job.shape.bodies["pond"]
    curve = pond.outline.curve
    pegs = tuple(
        peg.model_copy(
            update={"east": 15.0 + 0.8 * (peg.east - 15.0), "north": 15.0 + 0.53 * (peg.north - 15.0)}
        )
        for peg in curve.pegs
    )
    outline = pond.outline.model_copy(update={"curve": curve.model_copy(update={"pegs": pegs})})
    squeezed = pond.model_copy(update={"outline": outline, "islands": Rows({})})
    return job.model_copy(
        update={
            "shape": job.shape.model_copy(update={"bodies": Rows({**job.shape.bodies, "pond": squeezed})})
        }
    )


def _edge(ground: LinerGround, beyond: float) -> shapely.Geometry:
    """All points of the liner's mesh, which lie within its edge."""
    return shapely.multipoints(liner_mesh(ground, beyond).points)
