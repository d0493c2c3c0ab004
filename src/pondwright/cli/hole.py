"""What ``pondwright hole`` prints: the old hole, its water marks, its storage, and the muck in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import (
    AREA,
    BULK_MASS,
    ELEVATION,
    LENGTH,
    SOIL_VOLUME,
    VOLUME,
    Kind,
)
from pondwright.base.units import Shown
from pondwright.cli import output
from pondwright.flow.words import in_words

TABLE_LEVELS = 9
"""Levels of the printed storage table, from the floor to the lip."""


def print_hole(hole: Any, layers: Any, findings: Sequence[Finding], shown: Shown, *, as_json: bool) -> None:
    """Print the old hole, and the muck and water in its ground.

    Parameters
    ----------
    hole : OldHoleResult
    layers : LayersResult
    findings : sequence of Finding
        Checks of both.
    shown : Shown
        Units of the job.
    as_json : bool
    """
    if as_json:
        output.print_json(_plain(hole, layers, findings))
        return
    blocks = ["\n".join(_hole(hole, shown)), *_tables(hole, shown), *_muck(layers.muck, shown)]
    if layers.highest_water is not None:
        water = in_words(layers.highest_water, ELEVATION, shown)
        blocks.append(f"highest water in the ground   {water}   at probe {layers.highest_water_probe}")
    told = [finding for finding in findings if finding.grade is not Grade.GOOD]
    blocks += ["\n".join(_told(finding)) for finding in told]
    output.answer(None, "\n\n".join(blocks), as_json=False)


def _hole(hole: Any, shown: Shown) -> Iterator[str]:
    if hole.floor is None:
        yield "The surveyed ground has no hollow that would hold water."
        return
    yield "the old hole"
    rows = [
        ("floor", in_words(hole.floor, ELEVATION, shown), _at(hole.floor_point, shown)),
        ("lip", in_words(hole.lip, ELEVATION, shown), _at(hole.lip_point, shown)),
        ("depth", in_words(hole.depth, LENGTH, shown), ""),
        ("area at the lip", in_words(hole.area, AREA, shown), ""),
        ("volume to the lip", in_words(hole.volume, VOLUME, shown), ""),
    ]
    if hole.fills_to is not None:
        rows.append(("fills to", in_words(hole.fills_to, ELEVATION, shown), "highest mark outside floods"))
    yield output.columns(rows, indent="  ", right=frozenset({1}))


def _tables(hole: Any, shown: Shown) -> Iterator[str]:
    if hole.marks:
        rows = [
            (
                name,
                mark.season,
                *_numbers((mark.depth, LENGTH), (mark.area, AREA), (mark.volume, VOLUME), shown=shown),
            )
            for name, mark in hole.marks.items()
        ]
        head = ("mark", "season", "depth", "area", "volume")
        yield output.columns([head, *rows], indent="  ", right=frozenset({2, 3, 4}))
    if len(hole.levels):
        step = (len(hole.levels) - 1) // (TABLE_LEVELS - 1)
        rows = [
            _numbers((level, ELEVATION), (area, AREA), (volume, VOLUME), shown=shown)
            for level, area, volume in zip(
                hole.levels[::step], hole.areas[::step], hole.volumes[::step], strict=True
            )
        ]
        yield output.columns([("level", "area", "volume"), *rows], indent="  ", right=frozenset({0, 1, 2}))


def _muck(muck: Any, shown: Shown) -> Iterator[str]:
    if muck.volume is None:
        return
    volume, sigma = _numbers((muck.volume, SOIL_VOLUME), (muck.sigma, SOIL_VOLUME), shown=shown)
    rows = [
        ("volume in place", volume, f"give or take {sigma}, from {muck.spot_count} places"),
        ("wet mass", in_words(muck.mass, BULK_MASS, shown), ""),
        ("on an area of", in_words(muck.area, AREA, shown), ""),
        ("thick on average", in_words(muck.mean, LENGTH, shown), ""),
        ("at its thickest", in_words(muck.deepest, LENGTH, shown), _at(muck.deepest_point, shown)),
        ("lowest firm floor", in_words(muck.firm_floor, ELEVATION, shown), ""),
    ]
    yield "muck\n" + output.columns(rows, indent="  ", right=frozenset({1}))


def _numbers(*values: tuple[float, Kind], shown: Shown) -> tuple[str, ...]:
    return tuple(in_words(float(value), kind, shown) for value, kind in values)


def _at(point: tuple[float, float], shown: Shown) -> str:
    east, north = (in_words(place, LENGTH, shown) for place in point)
    return f"at east {east}, north {north}"


def _told(finding: Finding) -> Iterator[str]:
    yield f"{output.graded(finding.grade.value)}  {finding.says}"
    yield from (f"      → {advice.says}" for advice in finding.advice)


def _plain(hole: Any, layers: Any, findings: Sequence[Finding]) -> dict[str, Any]:
    """What a program wants: figures and tables, without the nodes of the plan."""
    of_hole = (
        "floor", "floor_point", "lip", "lip_point", "depth", "volume", "area", "guessed_share", "fills_to",
        "drawdown", "drawdown_volume", "levels", "areas", "volumes", "marks",
    )  # fmt: skip
    of_muck = (
        "spot_count", "volume", "sigma", "area", "mean", "deepest", "deepest_point", "carried_share",
        "density", "mass", "firm_floor",
    )  # fmt: skip
    return {
        "hole": {name: getattr(hole, name) for name in of_hole},
        "muck": {name: getattr(layers.muck, name) for name in of_muck},
        "probes": layers.probes,
        "highest_water": layers.highest_water,
        "checks": findings,
    }
