"""Elevation rasters (GeoTIFF): read by windows, thinned by whole factors, and turned north-up if need be.

Only the GeoTIFF driver is allowed, and nothing beside the file is opened.  Cells that the file marks as
empty stay empty.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from math import ceil, isfinite
from pathlib import Path
from typing import Any

import numpy as np

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import FloatArray
from pondwright.exchange.binning import MOST_NODES, binned
from pondwright.exchange.crs import (
    MapGrid,
    geo_libraries,
    grid_of,
    grid_of_code,
    metric_grid,
    refuse_degrees,
    window_of,
)
from pondwright.exchange.reading import (
    FARTHEST,
    FEWEST,
    HIGHEST_GROUND,
    LOWEST_GROUND,
    UNITS,
    Around,
    Binned,
    Extent,
    LeftOut,
    Question,
    Wanted,
    factor,
    left_out,
    unit_question,
)
from pondwright.geometry.grid import Grid

WINDOW_CELLS = 4_000_000
MOST_CELLS = 40_000_000_000


@dataclass(frozen=True, slots=True)
class RasterCells:
    """Cells of a raster, and how it was understood."""

    cells: Binned
    grid: MapGrid | None
    unit: str
    height_unit: str
    count: int
    taken: int
    left_out: tuple[LeftOut, ...]
    says: tuple[str, ...]
    questions: tuple[Question, ...]


def read_geotiff(path: Path, name: str, wanted: Wanted, around: Around) -> RasterCells:
    """Heights of a raster.

    Parameters
    ----------
    path : Path
    name : str
        The file's name, for what is said.
    wanted : Wanted
    around : Around

    Returns
    -------
    RasterCells

    Raises
    ------
    ImportRefused
        If it is no sound raster, tells no place, or holds no heights.
    """
    with geo_libraries():
        import rasterio
        from rasterio.errors import RasterioError
    try:
        with _quiet(rasterio), rasterio.open(path, driver="GTiff") as source:
            return _read(source, name, wanted, around)
    except ImportRefused:
        raise
    except (RasterioError, ValueError, TypeError, OverflowError, MemoryError, KeyError, IndexError) as error:
        said = " ".join(str(error).split()).replace(str(path), name)[:120]
        raise ImportRefused(f"{name} is damaged, cut off, or no GeoTIFF that can be read ({said})") from error


@contextmanager
def _quiet(rasterio: Any) -> Iterator[None]:
    """Nothing beside the file is opened, no network is asked, and warnings do not reach the person."""
    import warnings

    settings = {
        "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
        "GDAL_PAM_ENABLED": "NO",
        "GDAL_CACHEMAX": 64,
        "GDAL_MAX_BAND_COUNT": 64,
        "CPL_DEBUG": "OFF",
        "PROJ_NETWORK": "OFF",
    }
    with warnings.catch_warnings(), rasterio.Env(**settings):
        warnings.simplefilter("ignore")
        yield


def _read(source: Any, name: str, wanted: Wanted, around: Around) -> RasterCells:
    _check(source, name)
    found = _map_grid(source, wanted)
    geographic = found is not None and found.geographic
    unit = "degrees" if geographic else wanted.unit or (found.unit if found else "")
    height_unit = wanted.height_unit or wanted.unit or _height_unit(source, found)
    height_told = bool(height_unit)
    height_unit = height_unit or ("m" if geographic else unit)
    says: tuple[str, ...] = ()
    across = 1.0 if geographic else factor(unit)
    transform = source.transform
    straight = not geographic and _is_straight(transform)
    if not geographic:
        refuse_degrees(name, _scaled(source.bounds, across), found)
    if straight:
        grid, z, held = _straight(source, across, found, name, wanted, around)
    else:
        found, grid, z, held, says = _turned(source, found, across, name, wanted, around)
    z = z * factor(height_unit)
    z, counts = _sound(z)
    taken = int(np.isfinite(z).sum())
    if taken < FEWEST:
        raise ImportRefused(f"{name} holds {taken} heights from −500 to 9000 m; a surface needs 3 at least")
    cells = binned(grid, z, np.isfinite(z).astype(np.int64))
    if cells.grid.spacing > 1.5 * abs(transform.a) * across and straight:
        says = (*says, f"It is thinned to cells of {cells.grid.spacing:.3g} m, each the mean of those in it.")
    if not height_told:
        says = (*says, "It does not tell the unit of its heights.")
    left = left_out(
        (held - taken - counts if straight else 0, "marked as empty"),
        (counts, "lower than −500 m or higher than 9000 m"),
    )
    questions = _questions(name, unit, height_unit, height_told)
    return RasterCells(
        cells, found, unit, height_unit, source.width * source.height, taken, left, says, questions
    )


def _check(source: Any, name: str) -> None:
    """Refuse a raster that tells no place, is a picture, or claims to be larger than any file."""
    if source.width < 2 or source.height < 2:
        raise ImportRefused(
            f"{name} has {source.width} × {source.height} cells; a surface needs 2 × 2 at least"
        )
    if source.width * source.height > MOST_CELLS:
        raise ImportRefused(f"{name} claims {source.width} × {source.height} cells, more than are read")
    if source.count != 1:
        raise ImportRefused(f"{name} has {source.count} bands, like a picture; a raster of heights has one")
    if source.dtypes[0] in ("complex64", "complex128", "complex_int16"):
        raise ImportRefused(f"{name} holds complex numbers; heights are plain ones")
    six = source.transform[:6]
    if source.transform.is_identity or not all(map(isfinite, six)) or source.transform.determinant == 0.0:
        raise ImportRefused(
            f"{name} does not tell where it lies (a raster without a place): save it as GeoTIFF with its"
            " map grid"
        )


def _map_grid(source: Any, wanted: Wanted) -> MapGrid | None:
    if wanted.epsg is not None:
        return grid_of_code(wanted.epsg)
    if not source.crs:
        return None
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        return grid_of(CRS.from_wkt(source.crs.to_wkt()))
    except CRSError:
        return None


def _height_unit(source: Any, found: MapGrid | None) -> str:
    """Unit of the heights, as the band or the map grid tells it; empty if none does."""
    told = (source.units[0] or "").strip().lower()
    names = {"m": "m", "metre": "m", "meter": "m", "metres": "m", "meters": "m", "ft": "ft", "foot": "ft",
             "feet": "ft", "us survey foot": "ftUS", "us survey feet": "ftUS", "ftus": "ftUS"}  # fmt: skip
    return names.get(told, "") or (found.height_unit if found else "")


def _is_straight(transform: Any) -> bool:
    """North-up with square cells."""
    step = abs(transform.a)
    turned = max(abs(transform.b), abs(transform.d)) > 1e-9 * step
    return bool(not turned and transform.a > 0 > transform.e and abs(step + transform.e) < 1e-6 * step)


def _scaled(bounds: Any, across: float) -> Extent:
    west, east = sorted((bounds.left * across, bounds.right * across))
    south, north = sorted((bounds.bottom * across, bounds.top * across))
    return west, south, east, north


def _straight(
    source: Any, across: float, found: MapGrid | None, name: str, wanted: Wanted, around: Around
) -> tuple[Grid, FloatArray, int]:
    """Cells of a north-up raster, each the mean of a square of k × k, read by strips of windows."""
    step = source.transform.a * across
    west, _south, _east, north = _scaled(source.bounds, across)
    _check_extent(_scaled(source.bounds, across), name)
    left, top, right, bottom = 0, 0, source.width, source.height
    window = window_of(wanted, found.epsg if found else None, around)
    if window is not None:
        left, right = max(left, int((window[0] - west) / step)), min(right, ceil((window[2] - west) / step))
        top, bottom = max(top, int((north - window[3]) / step)), min(bottom, ceil((north - window[1]) / step))
        if right - left < 2 or bottom - top < 2:
            raise ImportRefused(f"{name} lies outside the window")
    k = ceil(max(right - left, bottom - top) / MOST_NODES)
    if wanted.spacing is not None:
        k = max(k, round(wanted.spacing / step))
    columns, rows = max(ceil((right - left) / k), 2), max(ceil((bottom - top) / k), 2)
    z = np.full((rows, columns), np.nan)
    for first in range(0, rows, _strip(k, right - left)):
        last = min(first + _strip(k, right - left), rows)
        part = _window(source, left, top + first * k, right, min(top + last * k, bottom))
        z[first:last] = _means(part, k, last - first, columns)
    grid = Grid(
        west + (left + k / 2.0) * step, north - (top + (rows - 0.5) * k) * step, step * k, columns, rows
    )
    return grid, np.ascontiguousarray(z[::-1]), rows * columns


def _strip(k: int, width: int) -> int:
    """Rows of the result that one window makes."""
    return max(WINDOW_CELLS // max(k * width, 1) // k, 1)


def _window(source: Any, left: int, top: int, right: int, bottom: int) -> FloatArray:
    """Heights of a window, NaN where the file marks them as empty."""
    from rasterio.windows import Window

    part = source.read(1, window=Window(left, top, right - left, bottom - top), masked=True)
    heights: FloatArray = np.where(np.ma.getmaskarray(part), np.nan, part.data.astype(np.float64))
    return heights


def _means(part: FloatArray, k: int, rows: int, columns: int) -> FloatArray:
    """Means of squares of k × k, without their empty cells."""
    if k == 1:
        whole = np.full((rows, columns), np.nan)
        whole[: part.shape[0], : part.shape[1]] = part
        return whole
    padded = np.full((rows * k, columns * k), np.nan)
    padded[: part.shape[0], : part.shape[1]] = part
    squares = padded.reshape(rows, k, columns, k)
    filled = np.isfinite(squares)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(filled, squares, 0.0).sum(axis=(1, 3)) / filled.sum(axis=(1, 3))


def _turned(
    source: Any, found: MapGrid | None, across: float, name: str, wanted: Wanted, around: Around
) -> tuple[MapGrid | None, Grid, FloatArray, int, tuple[str, ...]]:
    """A raster in degrees, or one that is not north-up, laid anew on a north-up grid of square cells."""
    from rasterio.crs import CRS
    from rasterio.enums import Resampling
    from rasterio.transform import from_origin
    from rasterio.vrt import WarpedVRT
    from rasterio.warp import transform_bounds

    geographic = found is not None and found.geographic
    own = CRS.from_epsg(wanted.epsg) if wanted.epsg else source.crs
    says = "It is not north-up and was laid on a north-up grid."
    if found is not None and geographic:
        bounds = source.bounds
        if (
            max(abs(bounds.left), abs(bounds.right)) > 360.0
            or max(abs(bounds.bottom), abs(bounds.top)) > 90.01
        ):
            raise ImportRefused(
                f"{name} says that it is in degrees ({found.name}), and its numbers are no longitude"
                " and latitude"
            )
        middle = (bounds.left + bounds.right) / 2.0, (bounds.bottom + bounds.top) / 2.0
        code = metric_grid(around, *middle)
        target, found = CRS.from_epsg(code), grid_of_code(code)
        across = factor(found.unit)
        says = f"Its longitudes and latitudes are laid on map grid {code}."
    else:
        # Without a code any grid does: source and target are the same, and only the turn counts.
        own = own or CRS.from_epsg(3857)
        target = own
    west, south, east, north = (
        transform_bounds(own, target, *source.bounds) if geographic else _corners(source)
    )
    extent = (west * across, south * across, east * across, north * across)
    _check_extent(extent, name)
    window = window_of(wanted, found.epsg if found else None, around)
    if window is not None:
        west, south = max(west, window[0] / across), max(south, window[1] / across)
        east, north = min(east, window[2] / across), min(north, window[3] / across)
        if not (west < east and south < north):
            raise ImportRefused(f"{name} lies outside the window")
    cells = min(source.width * source.height, MOST_NODES**2)
    step = max(((east - west) * (north - south) / cells) ** 0.5, max(east - west, north - south) / MOST_NODES)
    if wanted.spacing is not None:
        step = max(step, wanted.spacing / across)
    columns, rows = max(ceil((east - west) / step), 2), max(ceil((north - south) / step), 2)
    coarse = source.width * source.height > 2 * columns * rows
    with WarpedVRT(
        source, src_crs=own, crs=target, transform=from_origin(west, north, step, step), width=columns,
        height=rows, resampling=Resampling.average if coarse else Resampling.bilinear,
        nodata=source.nodata if source.nodata is not None else -32768.0, dtype="float64", warp_mem_limit=64,
    ) as laid:  # fmt: skip
        part = laid.read(1, masked=True)
    z = np.where(np.ma.getmaskarray(part), np.nan, part.data)
    grid = Grid(
        (west + step / 2.0) * across, (north - (rows - 0.5) * step) * across, step * across, columns, rows
    )
    return found, grid, np.ascontiguousarray(z[::-1]), rows * columns, (says,)


def _corners(source: Any) -> Extent:
    """West, south, east and north of the four corners of a raster that may be turned."""
    a, b, c, d, e, f = source.transform[:6]
    corners = [(x, y) for x in (0, source.width) for y in (0, source.height)]
    across, up = [a * x + b * y + c for x, y in corners], [d * x + e * y + f for x, y in corners]
    return min(across), min(up), max(across), max(up)


def _check_extent(extent: Extent, name: str) -> None:
    if not all(map(isfinite, extent)) or max(map(abs, extent)) > FARTHEST:
        raise ImportRefused(f"{name} lies beyond 10 000 000 m, where no map grid has places")


def _sound(z: FloatArray) -> tuple[FloatArray, int]:
    """Heights that ground can have, and how many others there were."""
    with np.errstate(invalid="ignore"):
        bad = np.isinf(z) | (z < LOWEST_GROUND) | (z > HIGHEST_GROUND)
    return np.where(bad, np.nan, z), int(bad.sum())


def _questions(name: str, unit: str, height_unit: str, height_told: bool) -> tuple[Question, ...]:
    if not unit:
        return (unit_question(name),)
    if height_told:
        return ()
    says = f"{name} does not tell the unit of its heights: are they in {height_unit}?"
    return (Question("height_unit", says, height_unit, tuple(UNITS)),)
