"""Taking a reading into the job: one edit, which the ordinary undo takes back.

A cloud, a raster or a surface becomes a row of ``site.clouds`` that holds the thinned surface itself; the
file stays with its owner and is named by its hash.  A few points with names become shots.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from math import ceil
from typing import Any

import numpy as np

from pondwright.base.errors import DomainError, ImportRefused
from pondwright.base.findings import Op
from pondwright.base.kinds import LENGTH, FloatArray, Length
from pondwright.base.units import format_value
from pondwright.exchange.binning import bin_points, lay_out
from pondwright.exchange.crs import placing
from pondwright.exchange.making import MOST_SHOTS
from pondwright.exchange.reading import Around, Points, Reading
from pondwright.exchange.thin import DECIMALS, USUAL_POINTS, USUAL_TOLERANCE, Place, Thinned, thin
from pondwright.job.document import Job
from pondwright.job.edits import MOST_OPS, Edit

SLACK: Length = 0.0005
"""What the told tolerance has more, for heights rounded to a tenth of a millimetre. [m]"""

WIDE_GAP = 8
"""A gap of so many cells is told. [-]"""

_LONGEST_ID = 40


@dataclass(frozen=True, slots=True)
class Surface:
    """A reading as the job will hold it, and what is said of it."""

    thinned: Thinned
    says: tuple[str, ...]


def around_of(job: Job) -> Around:
    """What a job already holds, to compare a file with.

    Parameters
    ----------
    job : Job

    Returns
    -------
    Around
    """
    site = job.site
    places: list[tuple[float, float]] = []
    heights: list[float] = []
    for shot in site.shots.values():
        if shot.place.by == "coordinates":
            places.append((shot.place.east, shot.place.north))
        if shot.elevation is not None:
            heights.append(shot.elevation)
    for cloud in site.clouds.values():
        places += zip(cloud.east, cloud.north, strict=True)
        heights += cloud.elevation
    # Shots by tape or grid have no coordinates of their own: the marks and pegs that they hang on have.
    for mark in site.marks.values():
        if mark.place is not None:
            places.append((mark.place.east, mark.place.north))
    for body in job.shape.bodies.values():
        places += [(peg.east, peg.north) for peg in body.outline.curve.pegs]
    frame = site.frame
    extent = None
    if places:
        (west, south), (east, north) = np.min(places, axis=0), np.max(places, axis=0)
        extent = (float(west), float(south), float(east), float(north))
    return Around(
        shown=job.shown_units,
        extent=extent,
        lowest=min(heights, default=None),
        highest=max(heights, default=None),
        epsg=frame.epsg,
        origin_east=frame.origin_east,
        origin_north=frame.origin_north,
    )


def surface_of(
    reading: Reading,
    shown: Any = "metric",
    most: int = USUAL_POINTS,
    tolerance: Length = USUAL_TOLERANCE,
    place: Place | None = None,
) -> Surface:
    """The surface that the job would hold: all points where they are few, else the thinned ones.

    Parameters
    ----------
    reading : Reading
    shown : Shown
        Units of what is said.
    most : int, optional
        Points that may be used.
    tolerance : Length, optional
        Miss that is small enough. [m]
    place : callable or None
        From the map to the job, where the job's triangles are made.

    Returns
    -------
    Surface

    Raises
    ------
    ImportRefused
        If the points make no surface.
    """
    points, cells = reading.points, reading.binned
    try:
        if points is not None and reading.triangles is None and len(points.east) <= most:
            return Surface(_as_they_are(points), ("All its points are kept.",))
        if cells is None and points is not None:
            cells = bin_points(points, lay_out(reading.extent, len(points.east)))
        if cells is None:
            raise ImportRefused(f"{reading.name} has no surface")
        start = _corners(reading, most)
        found = thin(cells, tolerance, most, start, place)
    except DomainError as error:
        raise ImportRefused(f"{reading.name} makes no surface: {error}") from error
    return Surface(found, tuple(_told(found, cells.grid.spacing, shown, tolerance)))


def cloud_ops(
    reading: Reading,
    job: Job,
    *,
    most: int = USUAL_POINTS,
    tolerance: Length = USUAL_TOLERANCE,
    survey: str | None = None,
) -> tuple[Op, ...]:
    """Operations that take a reading in as a measured surface.

    Parameters
    ----------
    reading : Reading
    job : Job
    most : int, optional
        Points of the thinned surface.
    tolerance : Length, optional
        Miss that is small enough. [m]
    survey : str or None
        The survey of which it is a part.

    Returns
    -------
    tuple of Op
        The row of ``site.clouds``; and the job's map grid and zero, where the file is the first to tell it.

    Raises
    ------
    ImportRefused
        If a question is open, or the job cannot tell where the file lies.
    """
    _refuse_open_questions(reading)
    placed = placing(reading.epsg, reading.extent, around_of(job))
    surface = surface_of(reading, job.shown_units, most, tolerance, placed.into_job).thinned
    east, north = placed.into_job(surface.east, surface.north)
    places = np.column_stack([east, north, surface.elevation])
    if not np.isfinite(places).all():
        raise ImportRefused(
            f"{reading.name} has places that the job's map grid {job.site.frame.epsg} has not"
        )
    name = _free_id(_slug(reading.name.rpartition(".")[0] or reading.name, "cloud"), job.site.clouds)
    rows = np.round(places, DECIMALS)
    value = {
        "file": reading.file,
        "from_file": reading.name,
        "kind": "cloud" if reading.kind == "shots" else reading.kind,
        "count": reading.taken,
        "epsg": reading.epsg,
        "east": rows[:, 0].tolist(),
        "north": rows[:, 1].tolist(),
        "elevation": rows[:, 2].tolist(),
        # Told is never less than what was found.
        "tolerance": ceil((surface.tolerance + SLACK) * 10_000.0) / 10_000.0 if surface.tolerance else 0.0,
        "survey": survey,
    }
    kept = {key: each for key, each in value.items() if each is not None}
    return (*_frame_ops(placed.sets), Op("add", f"/site/clouds/{name}", kept))


def shot_ops(reading: Reading, job: Job, *, survey: str | None = None) -> tuple[Op, ...]:
    """Operations that take the points of a reading in as shots, with their names and codes.

    Parameters
    ----------
    reading : Reading
    job : Job
    survey : str or None
        The survey of which they are a part.

    Returns
    -------
    tuple of Op

    Raises
    ------
    ImportRefused
        If there are too many, a question is open, or the job cannot tell where the file lies.
    """
    _refuse_open_questions(reading)
    points = reading.points
    if points is None or len(points.east) > min(MOST_SHOTS, MOST_OPS - 8):
        raise ImportRefused(
            f"{reading.name} has {reading.taken} points; as shots {MOST_SHOTS} at most are taken: take it as"
            " a measured surface (--as cloud)"
        )
    placed = placing(reading.epsg, reading.extent, around_of(job))
    east, north = placed.into_job(points.east, points.north)
    if not (np.isfinite(east).all() and np.isfinite(north).all()):
        raise ImportRefused(
            f"{reading.name} has places that the job's map grid {job.site.frame.epsg} has not"
        )
    used = set(job.site.shots)
    ops = list(_frame_ops(placed.sets))
    for at in range(len(points.east)):
        name = _free_id(_slug(points.names[at] if points.names else f"{at + 1}", "s"), used)
        used.add(name)
        value: dict[str, Any] = {
            "place": {
                "by": "coordinates",
                "east": round(float(east[at]), DECIMALS),
                "north": round(float(north[at]), DECIMALS),
            },
            "elevation": round(float(points.elevation[at]), DECIMALS),
        }
        if points.codes and points.codes[at]:
            value["code"] = points.codes[at]
        if survey is not None:
            value["survey"] = survey
        ops.append(Op("add", f"/site/shots/{name}", value))
    return tuple(ops)


def take(
    reading: Reading,
    job: Job,
    take_as: str = "",
    *,
    edit_id: str = "import",
    base: int = 0,
    most: int = USUAL_POINTS,
    tolerance: Length = USUAL_TOLERANCE,
    survey: str | None = None,
) -> Edit:
    """The one edit that takes a reading in.

    Parameters
    ----------
    reading : Reading
    job : Job
    take_as : {"shots", "cloud", ""}
        Empty for shots where the file is a table of points, and a measured surface otherwise.
    edit_id : str
        Name of the edit, made by whoever makes it.
    base : int
        Revision of the job that it is made on.
    most : int, optional
        Points of a thinned surface.
    tolerance : Length, optional
        Miss that is small enough. [m]
    survey : str or None
        The survey of which it is a part.

    Returns
    -------
    Edit

    Raises
    ------
    ImportRefused
        If a question is open, or it cannot be taken so.
    """
    if take_as not in ("", "shots", "cloud"):
        raise ImportRefused(f"`as` must be shots or cloud, got {take_as[:40]!r}")
    wanted = take_as or ("shots" if reading.kind == "shots" else "cloud")
    if wanted == "shots":
        ops = shot_ops(reading, job, survey=survey)
        label = f"Took {reading.taken} shots from {reading.name}"
    else:
        ops = cloud_ops(reading, job, most=most, tolerance=tolerance, survey=survey)
        label = f"Took the measured surface of {reading.name}"
    return Edit(edit_id, base, ops, label[:200])


def _refuse_open_questions(reading: Reading) -> None:
    for question in reading.questions:
        if not question.assumed:
            raise ImportRefused(question.says)


def _as_they_are(points: Points) -> Thinned:
    """All points; of those at one place the first holds."""
    rows = np.column_stack([points.east, points.north, points.elevation])
    _places, first = np.unique(np.round(rows[:, :2], DECIMALS), axis=0, return_index=True)
    east, north, z = (np.ascontiguousarray(column) for column in rows[np.sort(first)].T)
    return Thinned(east, north, z, 0.0, 0.0, True, 0.0, 0.0)


def _corners(reading: Reading, most: int) -> FloatArray | None:
    """Corners of a triangulated surface, where all of them may be used."""
    points, triangles = reading.points, reading.triangles
    if points is None or triangles is None:
        return None
    used = np.unique(triangles)
    rows = np.column_stack([points.east, points.north, points.elevation])[used]
    return rows if 3 <= len(rows) <= most else None


def _told(found: Thinned, spacing: Length, shown: Any, tolerance: Length) -> list[str]:
    miss, rms, asked, gap = (
        format_value(value, LENGTH, shown, digits=3)
        for value in (found.tolerance, found.rms, tolerance, found.widest_gap)
    )
    says = [
        f"Thinned to {len(found.east)} points, which miss no cell by more than {miss}"
        f" ({rms} in the mean square)."
    ]
    if not found.enough:
        says.append(
            f"That is more than the {asked} that were asked for: take a smaller window or more points"
            " if it matters."
        )
    if found.widest_gap > WIDE_GAP * spacing:
        says.append(
            f"There are gaps in it: {found.empty:.0%} of its cells are empty, and the widest gap measures"
            f" {gap}; the surface spans them with flat triangles."
        )
    return says


def _frame_ops(sets: dict[str, float | int]) -> tuple[Op, ...]:
    return tuple(Op("replace", f"/site/frame/{name}", value) for name, value in sets.items())


def _slug(text: str, otherwise: str) -> str:
    """An id out of a name: small letters, digits and underscores, beginning with a letter."""
    plain = re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_")[: _LONGEST_ID - 6]
    if not plain:
        return otherwise
    return plain if plain[0].isalpha() else f"{otherwise[0]}{plain}"


def _free_id(wanted: str, used: Collection[str]) -> str:
    """The id, with a number behind it if it is used already."""
    if wanted not in used:
        return wanted
    return next(name for name in (f"{wanted}_{at}" for at in range(2, 100_000)) if name not in used)
