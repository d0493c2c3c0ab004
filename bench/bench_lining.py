"""Liner of the frame's invented pond: the search of pieces by row arcs, and the proof that one covers.

There is no peer that lays a sheet over ground that slopes.  On level ground there is one: the smallest turned
rectangle round the edge of the liner, from a library for plane figures, which knows no ground at all.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from bench.bench_frame import pond_job
from bench.rows import Row, at_least, at_most, best_seconds
from pondwright.flow.engine import advance
from pondwright.flow.stages import STAGES
from pondwright.job.log import Log
from pondwright.rooms.lining.area import LinerGround, liner_mesh
from pondwright.rooms.lining.cover import cover
from pondwright.rooms.lining.panels import best_sheet, best_strips

ROLL, OVERLAP = 4.0, 0.15


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
        Row(
            f"{size}: one sheet, 36 directions",
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


def _edge(ground: LinerGround, beyond: float) -> shapely.Geometry:
    """All points of the liner's mesh, which lie within its edge."""
    return shapely.multipoints(liner_mesh(ground, beyond).points)
