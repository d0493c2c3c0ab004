"""Water that each body holds beside its stone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import VOLUME, Elevations, Lengths, Volume, Volumes
from pondwright.rooms.stone.checks import takeoff as checks
from pondwright.rooms.stone.displacement import net_volumes, share_under, solid_volume
from pondwright.rooms.stone.stage.shared import limits_of
from pondwright.rooms.stone.stage.takeoff_results import BodyStone

GROSS = ("shape.storage.bodies.*.volume",)
STANDS = ("stone.takeoff.bodies.*.mass",)


@dataclass(frozen=True, slots=True, eq=False)
class BodyNet:
    """One body, with its curve by level: gross and net of stone. [m], [m³]"""

    levels: Elevations
    gross_volumes: Volumes
    volumes: Volumes
    gross: Volume = figure(VOLUME, "Water at rest, as if there were no stone", uses=GROSS)
    displaced: Volume = figure(VOLUME, "Solid stone under water", by=solid_volume, uses=STANDS)
    volume: Volume = figure(VOLUME, "Water at rest beside the stone", by=net_volumes, uses=(*GROSS, *STANDS))
    voids: Volume = figure(
        VOLUME, "Water in the gravel below the finish, in no other figure", uses=("build_up",)
    )


@dataclass(frozen=True, slots=True, eq=False)
class NetStorageResult:
    """All bodies."""

    bodies: Mapping[str, BodyNet]
    volume: Volume = figure(VOLUME, "All water beside the stone", uses=("stone.net_storage.bodies.*.volume",))


def net_storage_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[NetStorageResult, tuple[Finding, ...]]:
    """Water that each body holds beside its stone.

    Parameters
    ----------
    view : mapping        Reads `rules`.
    results : mapping     Needs `shape.shore`, `shape.storage`, `stone.takeoff`.

    Returns
    -------
    NetStorageResult and the check of how much stone takes away.
    """
    limits = limits_of(view)
    shores = results["shape.shore"].bodies
    bodies: dict[str, BodyNet] = {}
    findings: list[Finding] = []
    for name, stone in results["stone.takeoff"].bodies.items():
        held = results["shape.storage"].bodies[name]
        level = shores[name].level
        rest = np.array([level])
        displaced = float(displaced_at(rest - level, stone)[0])
        net = net_volumes(held.volumes, displaced_at(held.levels - level, stone))
        at_rest = float(net_volumes(np.array([held.volume]), np.array([displaced]))[0])
        bodies[name] = BodyNet(
            levels=held.levels,
            gross_volumes=held.volumes,
            volumes=net,
            gross=held.volume,
            displaced=held.volume - at_rest,
            volume=at_rest,
            voids=stone.voids,
        )
        if held.volume > 0.0 and displaced > 0.0:
            findings.append(checks.check_displaced(name, displaced / held.volume, limits))
    total = sum(body.volume for body in bodies.values())
    return NetStorageResult(MappingProxyType(bodies), total), tuple(findings)


def displaced_at(heights: Lengths, stone: BodyStone) -> Volumes:
    """Solid stone of a body below levels.

    Parameters
    ----------
    heights : (n,) array     Of the levels above the water at rest. [m]
    stone : BodyStone

    Returns
    -------
    (n,) array               [m³]
    """
    found = np.zeros(len(heights))
    for depth, height, solid in stone.depths:
        found += solid * share_under(heights, -depth, height)
    for layer in stone.standing:
        found += layer.solid * share_under(heights, -layer.feet, layer.thickness).mean(axis=1)
    return found
