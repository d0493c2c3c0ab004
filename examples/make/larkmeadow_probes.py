"""Where the ground of Larkmeadow was probed, and how high water stood there."""

from __future__ import annotations

from typing import Any

from examples.make.larkmeadow_ground import TOE, metres, place_at, point, true_ground

MUCK = {
    (0.0, 0.0): 1.4, (0.0, 9.0): 1.3, (10.0, 6.0): 1.3, (6.5, -3.7): 1.1, (0.0, -8.5): 0.9, (-9.8, -5.7): 1.0,
    (-6.0, 3.5): 1.2, (15.5, 11.5): 1.0, (7.0, 15.5): 1.1, (14.0, 0.0): 0.8, (-12.0, -14.0): 0.8,
    (5.5, 1.6): 1.6,
}  # fmt: skip
"""Thickness of the muck by place, east and north of the middle, with a rod from a raft [ft]."""
PIPES = {
    "sp1": ("Standpipe 1, north-west", (315.0, 20.0), 97.8, [("silt", 4.4), ("sand", 2.0), ("silt", 4.0)]),
    "sp2": ("Standpipe 2, east", (95.0, 14.0), 94.9, [("silt", 10.4)]),
    "sp3": ("Standpipe 3, below the bank", (195.0, 24.0), 90.2, [("silt", 10.4)]),
}
"""Standpipes: bearing and distance beyond the rim, where water stood in the dry season, and layers [ft]."""
DAY = "2026-10-21"


def probes() -> dict[str, Any]:
    """Muck by a rod, its edge where there is none, three standpipes, and two pits in which water rose."""
    rods = {
        f"r{number:02d}": _probe("rod", point(*place), [("muck", thickness), ("silt", 0.3)])
        for number, (place, thickness) in enumerate(MUCK.items(), start=1)
    }
    edges = {
        f"e{number:02d}": _probe(
            "rod",
            point(*place_at(45.0 * number, TOE)),
            [("silt", 0.3)],
            name=f"Foot of the bank {number}: no muck",
        )
        for number in range(1, 9)
    }
    pipes = {
        name: _probe(
            "bore",
            point(*place_at(bearing, beyond=beyond)),
            [("topsoil", 0.6), *below],
            name=says,
            water=true_ground(*place_at(bearing, beyond=beyond)) - water,
        )
        for name, (says, (bearing, beyond), water, below) in PIPES.items()
    }
    return {**rods, **edges, **pipes, **_pits()}


def _pits() -> dict[str, Any]:
    """Two pits; the times are in hours."""
    return {
        "pit_nw": _probe(
            "pit",
            point(-27.6, 44.6),
            [("topsoil", 0.6), ("silt", 4.6), ("sand", 1.9), ("silt", 0.6)],
            name="Pit above the seep",
            note="Water runs in out of the sand.",
            water=3.7,
            rises=((1 / 6, 6.3), (1.0, 4.9), (4.0, 3.9), (24.0, 3.7)),
        ),
        "pit_e": _probe(
            "pit",
            point(47.8, -3.0),
            [("topsoil", 0.7), ("silt", 5.6)],
            name="Pit on the east side",
            note="Fills slowly.",
            water=4.9,
            rises=((1.0, 6.1), (24.0, 5.2), (48.0, 4.9)),
        ),
    }


def _probe(
    how: str,
    place: dict[str, Any],
    layers: list[tuple[str, float]],
    *,
    water: float | None = None,
    rises: tuple[tuple[float, float], ...] = (),
    **words: str,
) -> dict[str, Any]:
    """One probe, with thicknesses and depths in feet and times in hours."""
    standing = {} if water is None else {"water_depth": metres(water)}
    return {
        "how": how,
        "place": place,
        "date": DAY,
        "status": "existing",
        "layers": [{"kind": kind, "thickness": metres(thickness)} for kind, thickness in layers],
        "rises": [{"time": round(3600.0 * hours, 1), "depth": metres(depth)} for hours, depth in rises],
        **standing,
        **words,
    }


def water_marks() -> dict[str, Any]:
    """How high water stood in the old pond, by season."""

    def mark(name: str, elevation: float, season: str, how: str) -> dict[str, Any]:
        return {
            "name": name,
            "elevation": metres(elevation),
            "season": season,
            "how": how,
            "status": "existing",
        }

    return {
        "dry": mark("Stain on the bank, late summer", 92.6, "dry", "seen"),
        "usual": mark("As the gardener tells it", 93.7, "usual", "told"),
        "wet": mark("Highest line on the bank: never above it", 94.3, "wet", "seen"),
    }
