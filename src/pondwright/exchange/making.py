"""From what a reader found to a reading: points one by one or cells, their extent, and a small picture."""

from __future__ import annotations

import numpy as np

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import FloatArray
from pondwright.exchange.binning import Bins, Spool, binned, lay_out, preview_of
from pondwright.exchange.crs import MapGrid, refuse_degrees, window_of
from pondwright.exchange.reading import (
    FARTHEST,
    FEWEST,
    HIGHEST_GROUND,
    LOWEST_GROUND,
    Around,
    Binned,
    Extent,
    Form,
    LeftOut,
    Points,
    Question,
    Reading,
    Wanted,
    left_out,
    refuse_if_no_surface,
)
from pondwright.exchange.thin import USUAL_POINTS, hull_cells
from pondwright.geometry.kernels import scan

MOST_SHOTS = 5_000
"""Rows that are read one by one, with names and codes, and can become shots."""

FINE_FACES = 8
"""Cells a vertex when a surface is laid over cells."""


def from_points(
    rows: FloatArray,
    name: str,
    form: Form,
    wanted: Wanted,
    around: Around,
    count: int,
    left: tuple[LeftOut, ...],
    *,
    names: tuple[str, ...] = (),
    codes: tuple[str, ...] = (),
    grid: MapGrid | None,
    epsg: int | None,
    unit: str,
    height_unit: str,
    says: tuple[str, ...],
    questions: tuple[Question, ...],
) -> Reading:
    """Reading of points that are at hand one by one."""
    window = window_of(wanted, epsg, around)
    if window is not None and len(rows):
        inside = _inside(rows, window)
        left = (*left, *left_out((int((~inside).sum()), "outside the window")))
        names = tuple(each for each, good in zip(names, inside, strict=False) if good)
        codes = tuple(each for each, good in zip(codes, inside, strict=False) if good)
        rows = rows[inside]
    points = points_of(rows, names, codes)
    if unit != "degrees":
        refuse_as_degrees(name, points, grid)
    refuse_if_no_surface(name, points)
    cells = None
    if len(rows) > MOST_SHOTS:
        bins = Bins(lay_out(_extent(points), len(rows), wanted.spacing), wanted.heights)
        bins.add(points.east, points.north, points.elevation)
        cells, points = bins.result(), None  # type: ignore[assignment]
    kind = "shots" if cells is None else "cloud"
    return made_of(
        name, form, kind, cells, points, count, len(rows), left, grid=grid, epsg=epsg, unit=unit,
        height_unit=height_unit, says=says, questions=questions,
    )  # fmt: skip


def made_of(
    name: str,
    form: Form,
    kind: str,
    cells: Binned | None,
    points: Points | None,
    count: int,
    taken: int,
    left: tuple[LeftOut, ...],
    *,
    grid: MapGrid | None,
    epsg: int | None,
    unit: str,
    height_unit: str,
    says: tuple[str, ...],
    questions: tuple[Question, ...],
) -> Reading:
    """A reading with its extent, heights and preview."""
    if points is not None:
        extent, heights = _extent(points), points.elevation
    elif cells is not None:
        if len(hull_cells(cells.z)) < 3:
            raise ImportRefused(f"all points of {name} are on one line, and a line has no surface")
        extent, heights = cells.grid.extent, cells.z
    else:
        raise ImportRefused(f"{name} has no point that counts")
    shown = cells
    if shown is None and points is not None:
        bins = Bins(lay_out(extent, len(points.east), most=48))
        bins.add(points.east, points.north, points.elevation)
        shown = bins.result()
    return Reading(
        name=name,
        file="",
        form=form,
        kind=kind,  # type: ignore[arg-type]
        count=count,
        taken=taken,
        left_out=left,
        extent=extent,
        lowest=float(np.nanmin(heights)),
        highest=float(np.nanmax(heights)),
        epsg=epsg,
        grid_name=grid.name if grid else "",
        unit=unit,
        height_unit=height_unit,
        says=says,
        questions=questions,
        points=points,
        binned=cells,
        preview=None if shown is None else preview_of(shown),
    )


def gathered(
    spool: Spool, name: str, wanted: Wanted, around: Around, epsg: int | None
) -> tuple[Points | None, Binned | None, int, int]:
    """Points of a spool one by one where they are few, else in cells; how many, and how many are outside."""
    window = window_of(wanted, epsg, around)
    if spool.count < FEWEST:
        raise ImportRefused(f"{name} has {spool.count} points that count; a surface needs 3 at least")
    extent = spool.extent if window is None else _common(spool.extent, window, name)
    if spool.count <= USUAL_POINTS:
        rows = spool.whole()
        inside = _inside(rows, extent)
        points = points_of(rows[inside])
        refuse_if_no_surface(name, points)
        return points, None, len(points.east), int((~inside).sum())
    bins = Bins(lay_out(extent, spool.count, wanted.spacing), wanted.heights)
    for rows in spool.chunks():
        bins.add(*np.ascontiguousarray(rows.T))
    cells = bins.result()
    taken = int(cells.count.sum())
    return None, cells, taken, spool.count - taken


def over_faces(points: FloatArray, faces: np.ndarray, name: str, wanted: Wanted) -> Binned:
    """Heights of a triangulated surface at the nodes of a grid; NaN where no face is."""
    used = points[np.unique(faces)]
    low, high = used[:, :2].min(axis=0), used[:, :2].max(axis=0)
    extent = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    grid = lay_out(extent, min(max(FINE_FACES * len(used), 250_000), 2_250_000), wanted.spacing)
    z = np.full(grid.shape, np.nan)
    triangle = np.full(grid.shape, -1, dtype=np.int32)
    known = np.empty(grid.shape, dtype=np.int8)
    scan.scan_triangles(
        np.ascontiguousarray(points[:, :2] - low), np.ascontiguousarray(points[:, 2]), faces,
        np.zeros(len(faces), dtype=np.int8), grid.origin_east - extent[0], grid.origin_north - extent[1],
        grid.spacing, z, triangle, known,
    )  # fmt: skip
    if np.isfinite(z).sum() < FEWEST:
        raise ImportRefused(f"the faces of {name} have no area")
    return binned(grid, z, np.isfinite(z).astype(np.int64))


def points_of(rows: FloatArray, names: tuple[str, ...] = (), codes: tuple[str, ...] = ()) -> Points:
    """Points of (n, 3) rows of east, north and elevation. [m]"""
    east, north, elevation = (np.ascontiguousarray(rows[:, at]) for at in range(3))
    east.flags.writeable = north.flags.writeable = elevation.flags.writeable = False
    return Points(east, north, elevation, names if any(names) else (), codes if any(codes) else ())


def sound_rows(rows: FloatArray) -> tuple[np.ndarray, np.ndarray]:
    """Rows on a map, and those of them at a height that ground can have."""
    on_map = np.asarray(np.isfinite(rows).all(axis=1) & (np.abs(rows[:, :2]) <= FARTHEST).all(axis=1))
    return on_map, on_map & (rows[:, 2] >= LOWEST_GROUND) & (rows[:, 2] <= HIGHEST_GROUND)


def _extent(points: Points) -> Extent:
    west, east = float(points.east.min()), float(points.east.max())
    return west, float(points.north.min()), east, float(points.north.max())


def _inside(rows: FloatArray, extent: Extent) -> np.ndarray:
    west, south, east, north = extent
    return (rows[:, 0] >= west) & (rows[:, 0] <= east) & (rows[:, 1] >= south) & (rows[:, 1] <= north)


def _common(extent: Extent, window: Extent, name: str) -> Extent:
    west, south = max(extent[0], window[0]), max(extent[1], window[1])
    east, north = min(extent[2], window[2]), min(extent[3], window[3])
    if not (west < east and south < north):
        raise ImportRefused(f"{name} lies outside the window")
    return west, south, east, north


def refuse_as_degrees(name: str, points: Points, grid: MapGrid | None) -> None:
    """Refuse points that are degrees and come as if they were metres."""
    if len(points.east):
        refuse_degrees(name, _extent(points), grid)
