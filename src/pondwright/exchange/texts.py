"""Texts: a small one row by row, with names and codes; a large one, or one without, as a cloud."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO

import numpy as np

from pondwright.base.errors import ImportRefused
from pondwright.exchange.binning import Spool
from pondwright.exchange.columns import COMMENTS, Columns, order_question
from pondwright.exchange.crs import MapGrid, grid_of_code, metric_grid, mover, refuse_degrees
from pondwright.exchange.making import from_points, gathered, made_of, sound_rows
from pondwright.exchange.points import PointTable, read_points
from pondwright.exchange.reading import (
    FARTHEST,
    UNITS,
    Around,
    Question,
    Reading,
    Wanted,
    left_out,
    unit_question,
)
from pondwright.exchange.xyz import read_xyz

LARGEST_UTF16 = 64 * 2**20


def read_table(path: Path, name: str, wanted: Wanted, around: Around) -> Reading:
    """A small text: row by row, with names and codes; else as a cloud."""
    text = _decoded(path.read_bytes())
    lines = [line for line in text.splitlines() if not line.lstrip().startswith(COMMENTS)]
    grid = _wanted_grid(wanted)
    try:
        if grid is not None and grid.geographic:
            raise ImportRefused("degrees are moved as a cloud")
        table = read_points("\n".join(lines), around.shown, around, _in_unit_of(grid, wanted))
        if sum(bool(row.errors) for row in table.rows) * 2 > len(table.rows):
            raise ImportRefused(f"{name} is no table of points that can be read: {table.says}")
    except ImportRefused as first:
        try:
            return read_cloud(path, name, wanted, around)
        except ImportRefused as second:
            if grid is not None and grid.geographic:
                raise
            raise (second if "no table" not in str(second) else _named(first, name)) from None
    return _from_table(table, name, wanted, around, grid)


def _named(refused: ImportRefused, name: str) -> ImportRefused:
    said = str(refused)
    return refused if said.startswith(name) else ImportRefused(f"{name}: {said}")


def _decoded(text: bytes) -> str:
    if text.startswith((b"\xff\xfe", b"\xfe\xff")):
        return text.decode("utf-16", errors="replace")
    try:
        return text.decode("utf-8-sig")
    except UnicodeDecodeError:
        return text.decode("latin-1")


def _from_table(
    table: PointTable, name: str, wanted: Wanted, around: Around, grid: MapGrid | None
) -> Reading:
    whole = [row for row in table.rows if not row.errors and row.elevation is not None]
    rows = np.array([(row.east, row.north, row.elevation) for row in whole], dtype=np.float64).reshape(-1, 3)
    on_map, sound = sound_rows(rows)
    left = left_out(
        (sum(bool(row.errors) for row in table.rows), "cells that cannot be read"),
        (sum(row.elevation is None and not row.errors for row in table.rows), "no height"),
        (int((~on_map).sum()), "coordinates beyond 10 000 000 m"),
        (int((on_map & ~sound).sum()), "lower than −500 m or higher than 9000 m"),
    )
    kept = [row for row, good in zip(whole, sound, strict=True) if good]
    columns = Columns(table.columns, header=table.header, why=table.why)
    asked = [order_question(name, columns)]
    if not table.unit_told and grid is None:
        says = f"{name} does not tell its unit: bare numbers are read in {table.unit}, the job's own"
        asked.append(Question("unit", says, table.unit, tuple(UNITS)))
    made = from_points(
        rows[sound], name, "points", wanted, around, len(table.rows), left,
        names=tuple(row.name for row in kept), codes=tuple(row.code for row in kept), grid=grid,
        epsg=wanted.epsg, unit=table.unit, height_unit=wanted.height_unit or table.unit,
        says=(table.says,), questions=tuple(filter(None, asked)),
    )  # fmt: skip
    return replace(made, order=tuple(column or "-" for column in table.columns), warnings=table.warnings)


def read_cloud(path: Path, name: str, wanted: Wanted, around: Around) -> Reading:
    """A large text, or one without names: a cloud."""
    grid = _wanted_grid(wanted)
    degrees = grid is not None and grid.geographic
    own = replace(wanted, unit="m", height_unit=wanted.height_unit or wanted.unit) if degrees else wanted
    with _text_stream(path) as stream:
        found = read_xyz(stream, name, _in_unit_of(grid, own) if not degrees else own, around)
    spool = found.spool
    try:
        questions = [order_question(name, found.layout.columns)]
        says: tuple[str, ...] = ()
        epsg = wanted.epsg
        if degrees and spool.count:
            epsg, spool = _moved(spool, name, wanted.epsg or 4326, around)
            grid = grid_of_code(epsg)
            says = (f"Its longitudes and latitudes are laid on map grid {epsg}.",)
        elif spool.count:
            refuse_degrees(name, spool.extent, grid)
        if not degrees and not found.unit:
            questions.append(unit_question(name))
        points, cells, taken, outside = gathered(spool, name, wanted, around, epsg)
    finally:
        spool.close()
        found.spool.close()
    kept = tuple(column or "-" for column in found.layout.columns.columns)
    said = f"{taken} points, read as {', '.join(kept[: _last_needed(kept)])} ({found.layout.columns.why})."
    made = made_of(
        name, "xyz", "cloud", cells, points, found.lines, taken,
        (*found.left_out, *left_out((outside, "outside the window"))), grid=grid, epsg=epsg,
        unit="degrees" if degrees else found.unit, height_unit=found.height_unit, says=(said, *says),
        questions=tuple(filter(None, questions)),
    )  # fmt: skip
    return replace(made, order=kept[: _last_needed(kept)], warnings=found.warnings)


def _last_needed(order: tuple[str, ...]) -> int:
    return max(order.index(column) for column in ("east", "north", "elevation")) + 1


@contextmanager
def _text_stream(path: Path) -> Iterator[BinaryIO]:
    with path.open("rb") as stream:
        if stream.read(2) in (b"\xff\xfe", b"\xfe\xff"):
            if path.stat().st_size > LARGEST_UTF16:
                raise ImportRefused("a text in UTF-16 may have 64 MB: save it as UTF-8")
            yield io.BytesIO(path.read_bytes().decode("utf-16", errors="replace").encode("utf-8"))
        else:
            stream.seek(0)
            yield stream


def _wanted_grid(wanted: Wanted) -> MapGrid | None:
    return grid_of_code(wanted.epsg) if wanted.epsg is not None else None


def _in_unit_of(grid: MapGrid | None, wanted: Wanted) -> Wanted:
    """What is wanted, with the unit of the map grid where nobody said another."""
    if grid is None or wanted.unit or grid.unit not in UNITS:
        return wanted
    return replace(wanted, unit=grid.unit)  # type: ignore[arg-type]


def _moved(spool: Spool, name: str, source: int, around: Around) -> tuple[int, Spool]:
    """Longitudes and latitudes laid on a map grid in metres."""
    west, south, east, north = spool.extent
    if max(abs(west), abs(east)) > 180.0 or max(abs(south), abs(north)) > 90.0:
        raise ImportRefused(
            f"{name} has places from {west:.6g}, {south:.6g} to {east:.6g}, {north:.6g}, which are no"
            " longitude and latitude (longitude is the first, as east)"
        )
    target = metric_grid(around, (west + east) / 2.0, (south + north) / 2.0)
    across, laid = mover(source, target), Spool()
    for rows in spool.chunks():
        places = np.column_stack([*across(rows[:, 0], rows[:, 1]), rows[:, 2]])
        laid.add(places[np.isfinite(places).all(axis=1) & (np.abs(places) <= FARTHEST).all(axis=1)])
    return target, laid
