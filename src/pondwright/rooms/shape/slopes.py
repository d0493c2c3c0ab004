"""How steep soil stands: the slope that each kind is given without a design.

A dug slope is made in whatever layers it crosses, so the one that asks for the flattest slope decides.

See Also
--------
pondwright.rooms.earth.checks.soil : checks of finished slopes.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from pondwright.base.kinds import Slope
from pondwright.base.sources import Source, Standing, from_memory

NO_SLOPES = frozenset({"topsoil", "muck"})
"""Kinds of soil that are stripped off before a slope is made."""

UNTOLD: Slope = 2.0
"""Dug slope where no soil is told: the steep end for clayey and silty ground. [m/m]"""

UNTOLD_SOURCE = from_memory("USDA SCS, Agriculture Handbook 590, Ponds", "table 16")


def steepest_slope(kind: str) -> tuple[Slope, Source]:
    """Steepest finished slope that a kind of soil is given without a design.

    Parameters
    ----------
    kind : str               For example ``clay``.

    Returns
    -------
    tuple of Slope, Source   Level for one upright. [m/m]

    Examples
    --------
    >>> steepest_slope("clay")[0]
    3.0

    hand

    References
    ----------
    .. [1] Table ``soils.csv`` of this folder names the source of each row.
    """
    return _steepest_slopes()[kind]


def dug_slope(kinds: Iterable[str]) -> tuple[Slope, Source]:
    """Slope of dug ground in layers of soil, where nobody has told another.

    Parameters
    ----------
    kinds : str              Kinds of the layers; topsoil and muck do not count.

    Returns
    -------
    tuple of Slope, Source   The flattest that a layer asks for, level for one upright; 2 without one. [m/m]

    Examples
    --------
    >>> dug_slope(["topsoil", "gravel", "silt"])[0], dug_slope(["topsoil", "gravel"])[0], dug_slope([])[0]
    (3.0, 2.0, 2.0)

    hand

    References
    ----------
    .. [1] Table ``soils.csv`` of this folder names the source of each row.
    .. [2] USDA SCS, Agriculture Handbook 590, Ponds, table 16, for soil that is not told; from memory.
    """
    asked = [steepest_slope(kind) for kind in sorted(set(kinds) - NO_SLOPES)]
    return max(asked, key=lambda each: each[0], default=(UNTOLD, UNTOLD_SOURCE))


@cache
def _steepest_slopes() -> dict[str, tuple[Slope, Source]]:
    text = files("pondwright.rooms.shape").joinpath("soils.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {
        row["kind"]: (
            float(row["steepest_slope"]),
            Source(row["document"], row["place"], Standing(row["standing"])),
        )
        for row in rows
    }
