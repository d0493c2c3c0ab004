"""LAS and LAZ point clouds, a million points at a time, from their whole numbers straight into cells.

Points of class 2 (ground) are taken where a file has any; all but noise and what was withheld where it has
none, and that is said.  The header is judged before any library reads it: counts and lengths in it are
claims, and a claim that the file has no room for is refused.

References
----------
ASPRS, *LAS Specification* 1.4-R15, table "Public Header Block" and the classes of points, from memory.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import FloatArray
from pondwright.exchange.binning import CHUNK, binned, lay_of, lay_out
from pondwright.exchange.crs import (
    MapGrid,
    Moved,
    geo_libraries,
    grid_of,
    grid_of_code,
    metric_grid,
    mover,
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
    Points,
    Question,
    Wanted,
    factor,
    left_out,
    refuse_if_no_surface,
    unit_question,
)
from pondwright.exchange.thin import USUAL_POINTS
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import binning as kernels

GROUND_CLASS = 2
NOISE_CLASSES = (7, 18)
LEGACY_FORMATS = 6

STRAYS = 0.001
"""Share of the points that may lie far from all others and be left out for it. [-]"""

FEW_POINTS = 1000
CLOSER_LOOKS = 4

COARSER = 1.2
"""Cells that should be so many times larger are worth another reading. [-]"""

_HEADER = struct.Struct("<4sHHIHH8sBB32s32sHHHIIBHI20s12d")
_LENGTHS = {0: 20, 1: 28, 2: 26, 3: 34, 4: 57, 5: 63, 6: 30, 7: 36, 8: 38, 9: 59, 10: 67}
_CLASS_NAMES = {
    0: "never classified", 1: "unassigned", 2: "ground", 3: "low plants", 4: "plants", 5: "trees",
    6: "buildings", 7: "noise", 9: "water", 17: "bridges", 18: "high noise",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Header:
    """What the head of a file claims, once there is room for it in the file."""

    version: tuple[int, int]
    form: int
    compressed: bool
    count: int
    scale: tuple[float, float, float]
    offset: tuple[float, float, float]
    lowest: tuple[float, float, float]
    highest: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class LasCells:
    """Cells of a point cloud, and how it was understood."""

    cells: Binned
    points: Points | None
    header: Header
    grid: MapGrid | None
    unit: str
    height_unit: str
    taken: int
    left_out: tuple[LeftOut, ...]
    says: tuple[str, ...]
    questions: tuple[Question, ...]


def read_las(path: Path, name: str, wanted: Wanted, around: Around) -> LasCells:
    """Ground points of a LAS or LAZ file in the cells of a grid.

    Parameters
    ----------
    path : Path
    name : str
        The file's name, for what is said.
    wanted : Wanted
    around : Around

    Returns
    -------
    LasCells

    Raises
    ------
    ImportRefused
        If it is no sound file, or no point of it can be taken.
    """
    header = read_header(path, name)
    with geo_libraries():
        import laspy
    try:
        with laspy.open(
            path, read_evlrs=False, laz_backend=laspy.LazBackend.Lazrs if header.compressed else None
        ) as reader:
            return _read(reader, header, name, wanted, around)
    except (ImportRefused, KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # the decompressor's own panic is no Exception
        if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
            raise
        said = " ".join(str(error).split())[:100]
        raise ImportRefused(f"{name} is damaged or cut off: its points cannot be read ({said})") from error


def read_header(path: Path, name: str) -> Header:
    """Head of a LAS or LAZ file, once what it claims fits into the file.

    Parameters
    ----------
    path : Path
    name : str

    Returns
    -------
    Header

    Raises
    ------
    ImportRefused
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(375)
        if len(head) < _HEADER.size or not head.startswith(b"LASF"):
            raise ImportRefused(f"{name} is cut off: it ends within the head of a LAS file")
        fields = _HEADER.unpack_from(head)
        major, minor = fields[7:9]
        head_size, data_at, records, form, length, legacy = fields[13:19]
        numbers = fields[20:]
        compressed, form = bool(form & 0x80), form & 0x3F
        if major != 1 or minor > 4 or form not in _LENGTHS or length < _LENGTHS[form]:
            raise ImportRefused(
                f"{name} is LAS {major}.{minor} with points of format {form} and {length} bytes;"
                " read are LAS 1.0 to 1.4 with formats 0 to 10"
            )
        count = legacy
        if minor >= 4 and len(head) >= 255:
            count = struct.unpack_from("<Q", head, 247)[0] or legacy
        if not (_HEADER.size <= head_size <= data_at <= size) or records * 54 > data_at - head_size:
            raise ImportRefused(f"{name} is damaged or cut off: its head points beyond its end")
        if compressed:
            _check_chunks(file, data_at, size, name)
        elif (size - data_at) // length < count:
            raise ImportRefused(
                f"{name} is cut off: its head tells {count} points, and it has room for"
                f" {(size - data_at) // length}"
            )
    return _judged(Header((major, minor), form, compressed, count, *_numbers(numbers)), name)


def _numbers(numbers: tuple[float, ...]) -> tuple[tuple[float, float, float], ...]:
    """Scale, offset, lowest and highest from the twelve numbers of a head."""
    scale, offset, (x1, x0, y1, y0, z1, z0) = numbers[:3], numbers[3:6], numbers[6:]
    return scale, offset, (x0, y0, z0), (x1, y1, z1)  # type: ignore[return-value]


def _judged(header: Header, name: str) -> Header:
    """The head, once its numbers can be numbers of places."""
    if header.count < FEWEST:
        raise ImportRefused(f"{name} has {header.count} points; a surface needs 3 at least")
    numbers = (*header.scale, *header.offset, *header.lowest, *header.highest)
    if not all(map(isfinite, numbers)) or min(header.scale) <= 0.0:
        raise ImportRefused(f"{name} is damaged: its head has numbers that are no numbers, or a scale of 0")
    if max(map(abs, (*header.lowest[:2], *header.highest[:2]))) > FARTHEST / 0.3:
        raise ImportRefused(
            f"{name} has coordinates up to {max(map(abs, (*header.lowest[:2], *header.highest[:2]))):.3g};"
            " no map grid has any beyond 10 000 000 m"
        )
    if any(low > high for low, high in zip(header.lowest, header.highest, strict=True)):
        raise ImportRefused(f"{name} is damaged: its head tells a lowest coordinate above the highest")
    return header


def _check_chunks(file: Any, data_at: int, size: int, name: str) -> None:
    """Refuse a LAZ file whose table of chunks claims more than the file holds."""
    file.seek(data_at)
    start = file.read(8)
    at = struct.unpack("<q", start)[0] if len(start) == 8 else -1
    if at == -1 and size >= data_at + 16:  # written as a stream: the place stands at the very end
        file.seek(size - 8)
        at = struct.unpack("<q", file.read(8))[0]
    if not data_at + 8 <= at <= size - 8:
        raise ImportRefused(f"{name} is damaged or cut off: its table of chunks is missing")
    file.seek(at)
    _version, chunks = struct.unpack("<II", file.read(8))
    if chunks > size - data_at:
        raise ImportRefused(f"{name} is damaged: it claims {chunks} chunks, more than it has bytes")


def _read(reader: Any, header: Header, name: str, wanted: Wanted, around: Around) -> LasCells:
    found = _map_grid(reader.header, wanted)
    if found is not None and found.geographic:
        lay = _lay_of_degrees(header, found, name, wanted, around)
    else:
        lay = _lay(header, found, name, wanted)
    window = window_of(wanted, lay.grid.epsg if lay.grid else None, around)
    extent = _within(lay.extent, window, name)
    sums = _summed(reader, header, lay, extent, wanted)
    strays = 0
    for _ in range(CLOSER_LOOKS):
        closer = sums.where_most_are()
        if closer is None or wanted.spacing is not None:
            break
        before = sums.taken
        sums = _summed(reader, header, lay, closer, wanted)
        strays += before - sums.taken
    if wanted.spacing is None and lay_out(sums.extent, sums.taken).spacing > COARSER * sums.grid.spacing:
        # Much is no ground: larger cells hold a point each again.
        sums = _summed(reader, header, lay, sums.extent, wanted, sums.taken)
    cells, left, says = sums.result(name, window is not None, strays)
    points = _few(reader, header, sums) if sums.taken <= USUAL_POINTS else None
    if points is not None:
        refuse_if_no_surface(name, points)
    return LasCells(
        cells, points, header, lay.grid, lay.unit, lay.height_unit, sums.taken, left, (*says, *lay.says),
        _questions(name, lay, wanted),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Lay:
    """How the numbers of a file become map metres, and where they lie."""

    grid: MapGrid | None
    unit: str
    height_unit: str
    extent: Extent
    moved: Moved | None = None
    says: tuple[str, ...] = ()

    @property
    def across(self) -> float:
        """Metres in one of the file's numbers of place; degrees are moved, not scaled."""
        return 1.0 if self.moved else factor(self.unit)


def _lay(header: Header, found: MapGrid | None, name: str, wanted: Wanted) -> _Lay:
    unit = wanted.unit or (found.unit if found else "")
    height_unit = wanted.height_unit or (found.height_unit if found else "") or unit
    extent = _extent(header, factor(unit))
    refuse_degrees(name, extent, found)
    return _Lay(found, unit, height_unit, extent)


def _lay_of_degrees(header: Header, found: MapGrid, name: str, wanted: Wanted, around: Around) -> _Lay:
    """Longitude and latitude are laid on a map grid in metres, chunk by chunk."""
    west, south, east, north = _extent(header, 1.0)
    farthest = max(map(abs, (west, south, east, north)))
    if max(abs(west), abs(east)) > 180.0 or max(abs(south), abs(north)) > 90.0:
        raise ImportRefused(
            f"{name} says that it is in degrees ({found.name}), and its numbers run to {farthest:.6g}:"
            " there is no such longitude and latitude"
        )
    target = metric_grid(around, (west + east) / 2.0, (south + north) / 2.0)
    moved = mover(found.epsg or 4326, target)
    corners = moved(np.array([west, east, west, east]), np.array([south, south, north, north]))
    extent = tuple(float(edge) for edge in (*np.min(corners, axis=1), *np.max(corners, axis=1)))
    if not np.isfinite(extent).all() or max(map(abs, extent)) > FARTHEST:
        raise ImportRefused(f"{name} lies where map grid {target} has no places")
    grid = MapGrid(target, grid_of_code(target).name, "m", found.height_unit, False)
    height_unit = wanted.height_unit or wanted.unit or found.height_unit or "m"
    says = f"Its longitudes and latitudes are laid on map grid {target}."
    return _Lay(grid, "degrees", height_unit, extent, moved, (says,))  # type: ignore[arg-type]


def _summed(reader: Any, header: Header, lay: _Lay, extent: Extent, wanted: Wanted, count: int = 0) -> _Sums:
    """Sums of the cells over an extent, from all points of the file; the cells suit a count of points."""
    sums = _Sums(header, lay_out(extent, count or header.count, wanted.spacing), extent, lay, wanted)
    reader.seek(0)
    for points in _chunks(reader):
        sums.add(points)
    return sums


def _few(reader: Any, header: Header, sums: _Sums) -> Points:
    """The points that are taken, one by one, where there are few."""
    reader.seek(0)
    found = np.concatenate([sums.places(points) for points in _chunks(reader)])
    east, north, elevation = (np.ascontiguousarray(found[:, at]) for at in range(3))
    east.flags.writeable = north.flags.writeable = elevation.flags.writeable = False
    return Points(east, north, elevation)


def _map_grid(header: Any, wanted: Wanted) -> MapGrid | None:
    """Map grid that a person or the file tells."""
    if wanted.epsg is not None:
        return grid_of_code(wanted.epsg)
    try:
        crs = header.parse_crs()
    except Exception:  # whatever stands there, it is no map grid that anybody could read
        return None
    return None if crs is None else grid_of(crs)


def _chunks(reader: Any) -> Iterator[NDArray[Any]]:
    """Packed records, a million at a time; the next are read while the last are counted."""
    from concurrent.futures import ThreadPoolExecutor

    parts = reader.chunk_iterator(CHUNK)
    with ThreadPoolExecutor(1) as ahead:
        coming = ahead.submit(next, parts, None)
        while (points := coming.result()) is not None:
            coming = ahead.submit(next, parts, None)
            yield points.array


class _Sums:
    """Sums of the cells, those of the ground and of all else, from whole numbers."""

    def __init__(self, header: Header, grid: Grid, extent: Extent, lay: _Lay, wanted: Wanted) -> None:
        cells = grid.rows * grid.columns
        self.header, self.grid, self.extent, self.moved = header, grid, extent, lay.moved
        self.up, self.lowest_wanted = factor(lay.height_unit), wanted.heights == "lowest"
        up = self.up
        self.scale = header.scale[0] * lay.across, header.scale[1] * lay.across
        self.offset = header.offset[0] * lay.across, header.offset[1] * lay.across
        self.lay = lay_of(grid, self.scale, self.offset)
        self.sums = [np.zeros((cells, 2), dtype=np.int64) for _ in range(2)]
        size = cells if self.lowest_wanted else 0
        self.lowest = [np.full(size, kernels.UNSET, dtype=np.int32) for _ in range(2)]
        self.classes = np.zeros(256, dtype=np.int64)
        self.told = np.zeros(4, dtype=np.int64)
        self.count = 0
        self.role, self.open, self.mask = _roles(header.form)
        z_scale, z_offset = header.scale[2] * up, header.offset[2] * up
        limits = ((LOWEST_GROUND - z_offset) / z_scale, (HIGHEST_GROUND - z_offset) / z_scale)
        self.z_low, self.z_high = (int(min(max(limit, -(2.0**33)), 2.0**33)) for limit in limits)

    def add(self, points: NDArray[Any]) -> None:
        """Add packed records."""
        by_class, flags = self._marks(points)
        x, y, lay = points["X"], points["Y"], self.lay
        if self.moved is not None:
            x, y, lay = self._moved(x, y)
        kernels.bin_integers(
            x, y, points["Z"], by_class, flags, self.role, self.open, self.mask,
            lay, self.grid.columns, self.grid.rows, self.z_low, self.z_high,
            self.sums[0], self.sums[1], self.lowest[0], self.lowest[1], self.classes, self.told,
        )  # fmt: skip
        self.count += len(points)

    def _moved(self, x: NDArray[Any], y: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
        """Cells of points in degrees, as whole numbers of cells."""
        grid = self.grid
        east, north = self._map_places(x, y)
        places = [
            np.floor((at - zero) / grid.spacing + 0.5)
            for at, zero in ((east, grid.origin_east), (north, grid.origin_north))
        ]
        whole = [np.clip(np.nan_to_num(at, nan=-9.0), -9, 1e6).astype(np.int32) for at in places]
        return whole[0], whole[1], np.array([1.0, 0.5, 1.0, 0.5])

    def _map_places(self, x: NDArray[Any], y: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
        east, north = x * self.scale[0] + self.offset[0], y * self.scale[1] + self.offset[1]
        return (east, north) if self.moved is None else self.moved(east, north)

    def places(self, points: NDArray[Any]) -> FloatArray:
        """East, north and elevation of those records that were counted, (n, 3). [m]"""
        by_class, flags = self._marks(points)
        kind = kernels.GROUND if self.on_ground else kernels.OTHER
        z = points["Z"].astype(np.int64)
        kept = (
            (self.role[by_class] == kind) & (self.open[flags] == 1) & (z >= self.z_low) & (z <= self.z_high)
        )
        east, north = self._map_places(points["X"][kept], points["Y"][kept])
        height = (z[kept] * self.header.scale[2] + self.header.offset[2]) * self.up
        grid = self.grid
        c = np.floor((east - grid.origin_east) / grid.spacing + 0.5)
        r = np.floor((north - grid.origin_north) / grid.spacing + 0.5)
        inside = (c >= 0) & (c < grid.columns) & (r >= 0) & (r < grid.rows)
        return np.column_stack([east, north, height])[inside]

    def _marks(self, points: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
        """Bytes of the class and of the flags."""
        legacy = self.header.form < LEGACY_FORMATS
        names = ("raw_classification",) * 2 if legacy else ("classification", "classification_flags")
        return points[names[0]], points[names[1]]

    @property
    def on_ground(self) -> bool:
        """Whether any point is marked as ground."""
        return bool(self.sums[0][:, 0].any())

    @property
    def taken(self) -> int:
        """Points that count."""
        return int(self.sums[not self.on_ground][:, 0].sum())

    def where_most_are(self) -> Extent | None:
        """The smaller extent in which all but a few points lie, if a few far ones stretch the grid."""
        counts = self.sums[not self.on_ground][:, 0].reshape(self.grid.shape)
        spare = max(int(STRAYS * self.taken), 1)
        bounds = []
        for along in (counts.sum(axis=0), counts.sum(axis=1)):
            so_far = np.cumsum(along)
            first, last = np.searchsorted(so_far, [spare // 2 + 1, self.taken - spare // 2])
            bounds.append((int(first), min(int(last), len(along) - 1)))
        (west, east), (south, north) = bounds
        if self.taken < FEW_POINTS or (east - west + 1) * (north - south + 1) * 8 > counts.size:
            return None
        grid, step = self.grid, self.grid.spacing
        return (
            grid.origin_east + (west - 1) * step, grid.origin_north + (south - 1) * step,
            grid.origin_east + (east + 1) * step, grid.origin_north + (north + 1) * step,
        )  # fmt: skip

    def result(
        self, name: str, windowed: bool, strays: int
    ) -> tuple[Binned, tuple[LeftOut, ...], tuple[str, ...]]:
        """Cells, what was left out, and what is said."""
        if self.count != self.header.count:
            raise ImportRefused(
                f"{name} is cut off: its head tells {self.header.count} points, and {self.count} are there"
            )
        on_ground = self.on_ground
        sums, lowest = self.sums[not on_ground], self.lowest[not on_ground]
        count = sums[:, 0].copy()
        if not count.any():
            raise ImportRefused(self._nothing(name))
        with np.errstate(invalid="ignore", divide="ignore"):
            raw = sums[:, 1] / sums[:, 0] if not self.lowest_wanted else np.where(count > 0, lowest, np.nan)
        z = (raw * self.header.scale[2] + self.header.offset[2]) * self.up
        other = int(self.sums[1][:, 0].sum()) if on_ground else 0
        place = "outside the window" if windowed else "outside the extent that the file's head tells"
        left = left_out(
            (other, "not ground"),
            (self.told[kernels.NOISE], "noise (classes 7 and 18)"),
            (self.told[kernels.WITHHELD], "marked as withheld"),
            (self.told[kernels.BAD_HEIGHT], "lower than −500 m or higher than 9000 m"),
            (strays, "far from all the others"),
            (0 if strays else self.told[kernels.OUTSIDE], place),
        )
        return binned(self.grid, z, count), left, (self._classes_told(on_ground),)

    def _nothing(self, name: str) -> str:
        """Why no point could be taken."""
        worst = int(self.told.argmax())
        why = {
            kernels.BAD_HEIGHT: f"heights lie between {self.header.lowest[2] * self.up:.6g} and"
            f" {self.header.highest[2] * self.up:.6g} m, and ground between −500 and 9000 m",
            kernels.OUTSIDE: "places are all outside the window or the extent that its head tells",
            kernels.NOISE: "points are all noise",
            kernels.WITHHELD: "points are all marked as withheld",
        }
        return f"no point of {name} can be taken: its {why[worst]}"

    def _classes_told(self, on_ground: bool) -> str:
        present = [int(kind) for kind in np.flatnonzero(self.classes)]
        if on_ground:
            return "Only its points of class 2, ground, are taken."
        named = ", ".join(_CLASS_NAMES.get(kind, f"class {kind}") for kind in present[:6])
        return (
            f"No point is marked as ground (there are: {named}), so plants and buildings are in the surface;"
            " taking the lowest point of each cell helps."
        )


def _roles(form: int) -> tuple[NDArray[np.uint8], NDArray[np.uint8], int]:
    """What is done by the byte of the class, by the byte of the flags, and the bits of the class."""
    legacy = form < LEGACY_FORMATS
    mask = 31 if legacy else 255
    role = np.full(256, kernels.OTHER, dtype=np.uint8)
    for byte in range(256):
        kind = byte & mask
        if kind in NOISE_CLASSES:
            role[byte] = kernels.DROP
        elif kind == GROUND_CLASS:
            role[byte] = kernels.GROUND
        if legacy and byte & 0x80:
            role[byte] = kernels.HELD_BACK
    flags = np.ones(256, dtype=np.uint8)
    if not legacy:
        flags[[byte for byte in range(256) if byte & 0x04]] = 0
    return role, flags, mask


def _extent(header: Header, across: float) -> Extent:
    # A whole number off by one in the last place is no point outside.
    edge = max(header.scale[:2])
    (x0, y0, _), (x1, y1, _) = header.lowest, header.highest
    return (x0 - edge) * across, (y0 - edge) * across, (x1 + edge) * across, (y1 + edge) * across


def _within(extent: Extent, window: Extent | None, name: str) -> Extent:
    """The part of an extent that is wanted."""
    if window is None:
        return extent
    west, south = max(extent[0], window[0]), max(extent[1], window[1])
    east, north = min(extent[2], window[2]), min(extent[3], window[3])
    if not (west < east and south < north):
        raise ImportRefused(
            f"{name} lies from {extent[0]:.0f} E {extent[1]:.0f} N to {extent[2]:.0f} E {extent[3]:.0f} N,"
            " all outside the window"
        )
    return west, south, east, north


def _questions(name: str, lay: _Lay, wanted: Wanted) -> tuple[Question, ...]:
    """What the file leaves open about its units."""
    if not lay.unit:
        return (unit_question(name),)
    if wanted.height_unit or wanted.unit or (lay.grid and lay.grid.height_unit):
        return ()
    says = f"{name} tells the unit of its places and not of its heights: are they in {lay.height_unit} too?"
    return (Question("height_unit", says, lay.height_unit, tuple(UNITS)),)
