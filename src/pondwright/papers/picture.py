"""The small picture of a job in the list of jobs: its shores and its shots, nothing computed."""

from __future__ import annotations

import numpy as np

from pondwright.job.curves import ring_of
from pondwright.job.document import Job

WIDTH, HEIGHT, EDGE = 120.0, 80.0, 6.0
MOST_DOTS = 400


def picture(job: Job) -> str:
    """Small SVG picture of a job.

    Parameters
    ----------
    job : Job

    Returns
    -------
    str
        120 by 80 units; empty of marks where the job has neither shore nor shots.
    """
    rings = [
        ring_of(curve).points
        for body in job.shape.bodies.values()
        if body.outline.form == "ring"
        for curve in (body.outline.curve, *body.islands.values())
    ]
    shots = _dots(job)
    places = np.vstack([*rings, shots]) if rings or len(shots) else np.zeros((1, 2))
    low, high = places.min(axis=0), places.max(axis=0)
    scale = min(
        (WIDTH - 2 * EDGE) / max(high[0] - low[0], 1.0), (HEIGHT - 2 * EDGE) / max(high[1] - low[1], 1.0)
    )
    middle = (low + high) / 2

    def on_paper(points: np.ndarray) -> np.ndarray:
        return (points - middle) * (scale, -scale) + (WIDTH / 2, HEIGHT / 2)

    marks = [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="0.8" fill="#56605F"/>' for x, y in on_paper(shots)]
    water = " ".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in on_paper(ring)) + "Z" for ring in rings)
    shore = (
        f'<path d="{water}" fill="#6BC1BC" fill-rule="evenodd" stroke="#0B7A74" stroke-width="1.5"/>'
        if water
        else ""
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}">'
        f"{shore}{''.join(marks)}</svg>"
    )


def _dots(job: Job) -> np.ndarray:
    """Shots with places of their own; else points of measured surfaces, else marks: nothing is computed."""
    site = job.site
    shots = [
        (shot.place.east, shot.place.north) for shot in site.shots.values() if shot.place.by == "coordinates"
    ]
    cloud = [place for one in site.clouds.values() for place in zip(one.east, one.north, strict=True)]
    marks = [(mark.place.east, mark.place.north) for mark in site.marks.values() if mark.place]
    found = shots or cloud or marks
    return np.array(found[:: 1 + len(found) // MOST_DOTS]).reshape(-1, 2)
