"""What ``pondwright import`` prints: a file before it is taken, and what was taken."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pondwright import api
from pondwright.base.errors import ImportRefused
from pondwright.base.kinds import ELEVATION, LENGTH
from pondwright.base.units import Shown, format_value
from pondwright.cli import output
from pondwright.exchange.reading import Reading
from pondwright.exchange.taking import Surface

KINDS = {
    "shots": "shots",
    "cloud": "a cloud of points",
    "grid": "a raster of heights",
    "surface": "a surface",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed after the names of the files; empty for what was not."""

    take_as: str
    unit: str
    height_unit: str
    order: str
    epsg: int | None
    surface: str
    lowest: bool
    window: str
    points: int


def bring_in(
    job: Path, file: Path, asked: Asked, out: Path | None, *, yes: bool, far: bool, as_json: bool
) -> None:
    """Print what a file holds, and take it into a job if that was said.

    Parameters
    ----------
    job, file : Path
    asked : Asked
    out : Path or None
        Where the job is written; None for its own file.
    yes : bool
        Whether to take it.
    far : bool
        Whether to take it although it lies far off the job's own ground.
    as_json : bool

    Raises
    ------
    ImportRefused
        If the file cannot be read, or not be taken so.
    """
    from pondwright.exchange.taking import surface_of

    before = api.open_job(job)
    reading = api.preview_file(
        before, file, unit=asked.unit, height_unit=asked.height_unit, order=asked.order, epsg=asked.epsg,
        surface=asked.surface, heights="lowest" if asked.lowest else "mean", window=_window(asked.window),
    )  # fmt: skip
    as_shots = (asked.take_as or reading.kind) == "shots"
    thinned = None if as_shots else surface_of(reading, before.shown_units, asked.points)
    taken = "Nothing was taken.  Add --yes to take it."
    if yes:
        if reading.far_off and not far:
            raise ImportRefused(f"{reading.far_off} Nothing was taken; add --far to take it as it lies.")
        edit = api.take_file(before, reading, asked.take_as, points=asked.points)
        api.save_job(api.edit(before, edit), out or job)
        taken = f"{edit.label}; written to {out or job}."
    plain = {**plain_reading(reading), "taken_into": str(out or job) if yes else None}
    output.answer(plain, text_of(reading, thinned, before.shown_units, taken), as_json=as_json)


def _window(text: str) -> tuple[float, float, float, float] | None:
    if not text:
        return None
    try:
        west, south, east, north = map(float, text.split(","))
    except ValueError:
        raise ImportRefused(
            f"`window` must be four numbers parted by commas, west, south, east, north, got {text[:40]!r}"
        ) from None
    return west, south, east, north


def plain_reading(reading: Reading) -> dict[str, Any]:
    """A reading as JSON tells it, without the points themselves.

    Parameters
    ----------
    reading : Reading

    Returns
    -------
    dict
    """
    hidden = ("points", "binned", "triangles", "outlines")
    told = {name: getattr(reading, name) for name in reading.__dataclass_fields__ if name not in hidden}
    plain: dict[str, Any] = output.plain_of(told)
    return plain


def text_of(reading: Reading, surface: Surface | None, shown: Shown, taken: str) -> str:
    """A reading as a person reads it.

    Parameters
    ----------
    reading : Reading
    surface : Surface or None
        What the job would hold, where it is taken as a surface.
    shown : Shown
        Units of the job.
    taken : str
        What was done with it, or what to do to take it.

    Returns
    -------
    str
    """
    blocks = [output.columns(_facts(reading, shown))]
    blocks += [_block("Left out", [f"{each.count}: {each.why}" for each in reading.left_out])]
    blocks += [_block("How it was read", [*reading.says, *(surface.says if surface else ())])]
    blocks += [_block("Look at this", reading.warnings)]
    blocks += [
        _block("To be confirmed", [f"{each.says} ({', '.join(each.choices)})" for each in reading.questions])
    ]
    return "\n\n".join([*filter(None, blocks), taken])


def _facts(reading: Reading, shown: Shown) -> Iterator[tuple[str, str]]:
    west, south, east, north = reading.extent
    yield "file", f"{reading.name}, {KINDS[reading.kind]}"
    yield "taken", f"{reading.taken} of {reading.count}"
    yield "from", f"{west:.2f} E {south:.2f} N, in metres"
    size = (format_value(value, LENGTH, shown) for value in (east - west, north - south))
    yield "size", " × ".join(size)
    heights = (format_value(value, ELEVATION, shown) for value in (reading.lowest, reading.highest))
    yield "heights", " to ".join(heights)
    yield "unit", f"{reading.unit or 'not told'}, heights in {reading.height_unit or 'not told'}"
    grid = f"{reading.epsg} {reading.grid_name}" if reading.epsg else reading.grid_name or "local, no code"
    yield "map grid", grid
    if reading.surfaces:
        yield "surfaces", ", ".join(reading.surfaces)
    yield "sha-256", reading.file


def _block(title: str, lines: list[str] | tuple[str, ...]) -> str:
    return "\n".join([title, *(f"  {line}" for line in lines)]) if lines else ""
