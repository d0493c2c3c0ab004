"""Any file from outside to a :class:`~pondwright.exchange.reading.Reading`, by content first and name second.

Whatever comes, the answer is a sound reading or one :class:`~pondwright.base.errors.ImportRefused` with one
sentence.  Memory is bounded by the grid of cells and by one piece of the file, whatever the file claims.
"""

from __future__ import annotations

import hashlib
import io
import shutil
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO

import numpy as np

from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import LENGTH
from pondwright.base.units import format_value
from pondwright.exchange.columns import height_doubt
from pondwright.exchange.crs import grid_of_code, placing
from pondwright.exchange.making import (
    MOST_SHOTS,
    from_points,
    made_of,
    over_faces,
    points_of,
    refuse_as_degrees,
)
from pondwright.exchange.reading import (
    FEWEST,
    Around,
    Extent,
    Form,
    Reading,
    Wanted,
    refuse_if_no_surface,
)
from pondwright.exchange.texts import read_cloud, read_table

__all__ = ["LARGEST", "MOST_SHOTS", "read_file", "sniff"]

HEAD = 4096
LARGEST: dict[Form, int] = {
    "las": 16 * 2**30,
    "geotiff": 16 * 2**30,
    "xyz": 8 * 2**30,
    "points": 4 * 2**20,
    "landxml": 512 * 2**20,
    "geojson": 64 * 2**20,
}
"""Bytes of a file of each kind."""

_OTHER_KINDS = (
    (b"PK\x03\x04", "a zip archive or a spreadsheet: unpack it, or save the sheet as CSV"),
    (b"\x1f\x8b", "a packed file (gzip): unpack it first"),
    (b"7z\xbc\xaf\x27\x1c", "a packed file (7z): unpack it first"),
    (b"Rar!", "a packed file (rar): unpack it first"),
    (b"\xd0\xcf\x11\xe0", "an old office document, or an encrypted one: save the sheet as CSV"),
    (b"%PDF", "a PDF: ask for the points themselves, as a text, LAS, GeoTIFF or LandXML"),
    (b"\x89PNG", "a picture: put it under the plan instead"),
    (b"\xff\xd8\xff", "a picture: put it under the plan instead"),
    (b"SQLite format 3", "a database: save the layer as GeoJSON or GeoTIFF"),
)


def read_file(
    source: Path | bytes | BinaryIO, name: str, wanted: Wanted | None = None, around: Around | None = None
) -> Reading:
    r"""What a file from outside holds; nothing of it is taken.

    Parameters
    ----------
    source : Path, bytes or binary stream
    name : str
        The file's name, for what is said and where the content leaves a doubt.
    wanted : Wanted or None
        What a person has said about it.
    around : Around or None
        What the job already holds.

    Returns
    -------
    Reading

    Raises
    ------
    ImportRefused
        One sentence that says what the file is, what is wrong with it, and what would help.

    Examples
    --------
    >>> reading = read_file(b"name,n,e,z\nA,8,12.5,100.3\nB,9,20,100.1\nC,15,14,99.8\n", "shots.csv")
    >>> reading.kind, reading.taken, reading.order
    ('shots', 3, ('name', 'north', 'east', 'elevation'))
    """
    wanted, around = wanted or Wanted(), around or Around()
    name = _plain_name(name)
    with _as_path(source, name) as path:
        form = sniff(path, name)
        size = path.stat().st_size
        if size > LARGEST[form]:
            raise ImportRefused(
                f"{name} has {size / 2**20:.0f} MB; as {form} at most {LARGEST[form] / 2**20:.0f} MB are read"
            )
        # The hash is taken on the side while the points are read.
        with ThreadPoolExecutor(1) as aside:
            hashed = aside.submit(_hash, path)
            reading = _READERS[form](path, name, wanted, around)
        return _with_checks(replace(reading, file=hashed.result()), around)


def sniff(path: Path, name: str) -> Form:
    """What kind of file it is, by its first bytes.

    Parameters
    ----------
    path : Path
    name : str

    Returns
    -------
    str

    Raises
    ------
    ImportRefused
        If it is empty, or of a kind that is not read; says what would help.
    """
    with path.open("rb") as file:
        head = file.read(HEAD)
    if not head.strip():
        raise ImportRefused(f"{name} is empty")
    for begin, what in _OTHER_KINDS:
        if head.startswith(begin):
            raise ImportRefused(f"{name} is {what}")
    if head.startswith(b"LASF"):
        return "las"
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return "geotiff"
    text = _text_of(head).lstrip()
    if text.startswith("<"):
        return "landxml"
    if text.startswith(("{", "[")):
        return "geojson"
    if "\0" in text:
        raise ImportRefused(
            f"{name} is no text and no file of points that is read: give a point table, XYZ, LAS or LAZ,"
            " GeoTIFF, LandXML or GeoJSON"
        )
    return "points" if path.stat().st_size <= LARGEST["points"] and _few_lines(path) else "xyz"


def _text_of(head: bytes) -> str:
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return head[: len(head) // 2 * 2].decode("utf-16", errors="replace")
    return head.removeprefix(b"\xef\xbb\xbf").decode("latin-1")


def _few_lines(path: Path) -> bool:
    text = path.read_bytes()
    return text.count(b"\n") + text.count(b"\r") <= 2 * MOST_SHOTS


def _plain_name(name: str) -> str:
    """Last part of a name, without signs that do not print, and no longer than a line."""
    last = name.replace("\\", "/").rpartition("/")[2] or "the file"
    return "".join(sign if sign.isprintable() else "?" for sign in last)[:100]


@contextmanager
def _as_path(source: Path | bytes | BinaryIO, name: str) -> Iterator[Path]:
    """The file on disk; a stream is written to a place of its own first."""
    if isinstance(source, Path):
        if not source.is_file():
            raise ImportRefused(f"{name} is not there, or is no file")
        yield source
        return
    stream = io.BytesIO(source) if isinstance(source, bytes) else source
    with tempfile.TemporaryDirectory(prefix="pondwright-") as folder:
        path = Path(folder) / "brought"
        with path.open("wb") as file:
            shutil.copyfileobj(stream, file, 2**20)
        yield path


def _hash(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _las(path: Path, name: str, wanted: Wanted, around: Around) -> Reading:
    from pondwright.exchange.las import read_las

    found = read_las(path, name, wanted, around)
    return made_of(
        name, "las", "cloud", found.cells, found.points, found.header.count, found.taken, found.left_out,
        grid=found.grid, epsg=found.grid.epsg if found.grid else None, unit=found.unit,
        height_unit=found.height_unit, says=found.says, questions=found.questions,
    )  # fmt: skip


def _geotiff(path: Path, name: str, wanted: Wanted, around: Around) -> Reading:
    from pondwright.exchange.geotiff import read_geotiff

    found = read_geotiff(path, name, wanted, around)
    return made_of(
        name, "geotiff", "grid", found.cells, None, found.count, found.taken, found.left_out, grid=found.grid,
        epsg=found.grid.epsg if found.grid else None, unit=found.unit, height_unit=found.height_unit,
        says=found.says, questions=found.questions,
    )  # fmt: skip


def _landxml(path: Path, name: str, wanted: Wanted, around: Around) -> Reading:
    from pondwright.exchange.landxml import read_landxml

    with path.open("rb") as stream:
        found = read_landxml(stream, name, wanted)
    epsg = wanted.epsg or found.epsg
    grid = grid_of_code(epsg) if epsg else None
    if grid is not None and grid.geographic:
        raise ImportRefused(
            f"{name} tells map grid {epsg}, which is in degrees; LandXML is in metres or feet"
        )
    points = points_of(found.points, found.names, found.codes)
    refuse_as_degrees(name, points, grid)
    refuse_if_no_surface(name, points)
    cells = None if found.faces is None else over_faces(found.points, found.faces, name, wanted)
    made = made_of(
        name, "landxml", "surface" if cells else "shots", cells, points, found.count, len(found.points),
        found.left_out, grid=grid, epsg=epsg, unit=found.unit, height_unit=wanted.height_unit or found.unit,
        says=found.says, questions=found.questions,
    )  # fmt: skip
    return replace(made, surfaces=found.surfaces, triangles=found.faces)


def _geojson(path: Path, name: str, wanted: Wanted, around: Around) -> Reading:
    from pondwright.exchange.geojson import read_geojson

    with path.open("rb") as stream:
        found = read_geojson(stream, name, wanted, around)
    if len(found.points) < FEWEST:
        # A boundary alone is worth a look, and no ground.
        raise ImportRefused(
            f"{name} has {len(found.points)} places with a height, and a surface needs 3 at least"
            + (f" ({len(found.outlines)} outlines without heights are no ground)" if found.outlines else "")
        )
    grid = grid_of_code(found.epsg)
    made = from_points(
        found.points, name, "geojson", wanted, around, found.count, found.left_out, codes=found.codes,
        grid=grid, epsg=found.epsg, unit="degrees", height_unit=found.height_unit, says=found.says,
        questions=found.questions,
    )  # fmt: skip
    return replace(made, outlines=found.outlines)


def _with_checks(reading: Reading, around: Around) -> Reading:
    """The reading, with what it looks like beside the job's own ground."""
    warnings = list(reading.warnings)
    says = list(reading.says)
    far_off = ""
    heights = np.array([reading.lowest, (reading.lowest + reading.highest) / 2.0, reading.highest])
    doubt = height_doubt(heights, reading.height_unit, around)
    if doubt and not any(warning.startswith("The heights lie") for warning in warnings):
        warnings.append(doubt)
    if reading.grid_name and reading.epsg is None:
        warnings.append(
            f"Its map grid, {reading.grid_name}, has no code that is known: it is read as a local grid."
        )
    try:
        placed = placing(reading.epsg, reading.extent, around)
        says.append(placed.says)
        far_off = _far_off(reading.extent, placed.into_job, around)
        warnings += [far_off] if far_off else []
    except ImportRefused as refused:
        warnings.append(f"It cannot be laid in the job yet: {refused}.")
    return replace(reading, says=tuple(says), warnings=tuple(warnings), far_off=far_off)


def _far_off(extent: Extent, into_job: object, around: Around) -> str:
    """Warning of a file that lies far from the job's own ground; empty where it does not."""
    if around.extent is None or not callable(into_job):
        return ""
    west, south, east, north = extent
    x, y = into_job(np.array([west, east]), np.array([south, north]))
    gap_east = max(around.extent[0] - float(x.max()), float(x.min()) - around.extent[2], 0.0)
    gap_north = max(around.extent[1] - float(y.max()), float(y.min()) - around.extent[3], 0.0)
    gap = float(np.hypot(gap_east, gap_north))
    if not gap > max(around.extent[2] - around.extent[0], around.extent[3] - around.extent[1], 50.0):
        return ""
    told = format_value(gap, LENGTH, around.shown, digits=0)
    return f"It lies {told} from the job's own ground: check east and north, the unit and the map grid."


_READERS = {
    "las": _las,
    "geotiff": _geotiff,
    "landxml": _landxml,
    "geojson": _geojson,
    "points": read_table,
    "xyz": read_cloud,
}
