"""Problems of the ledger about uplift: one spot of a bed, and what holds or lifts it."""

from __future__ import annotations

from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.rooms.groundwater.ballast import CoverLayer, ballast_of_parts, stone, submerged_weight
from pondwright.rooms.groundwater.beds import (
    bed_uplift,
    lack_of_weight,
    lined_bed,
    pressed_clay,
    safe_mark,
    worst_spot,
)
from pondwright.rooms.groundwater.gas import bed_rise, gas_pockets, vent_gap
from pondwright.rooms.groundwater.heave import heave_factor
from pondwright.rooms.groundwater.uplift import (
    bed_cosine,
    excess_head,
    gross_factor,
    lowest_safe_level,
    lowest_safe_level_gross,
    net_factor,
    stone_thickness,
)

Answer = dict[str, Any]
WEIGHT_OF_WATER = 9.81
"""kN/m³"""


def spot(
    liner: float,
    head: float,
    level: float | None,
    thickness: float,
    porosity: float,
    grains: float,
    factor: float,
    slope: float = 0.0,
) -> Answer:
    """One spot of a bed under stone, the pond at a level or empty, its bed sloping so much for one level."""
    at = np.array([head]), np.array([-np.inf if level is None else level]), np.array([liner])
    rock = stone(np.array([thickness]), porosity, grains)
    cosine = bed_cosine(slope * np.tile(np.arange(3.0), (3, 1)), 1.0)[1, 1]
    lift = at[0], at[2], rock, factor, cosine
    return {
        "submerged": WEIGHT_OF_WATER * submerged_weight(porosity, grains),
        "excess": float(excess_head(*at)[0]),
        "net": float(net_factor(*at, rock, cosine)[0]),
        "gross": float(gross_factor(*at, rock, cosine)[0]),
        "stone": float(stone_thickness(*at, factor, porosity, grains, cosine)[0]),
        "level": float(lowest_safe_level(*lift)[0]),
        "gross_level": float(lowest_safe_level_gross(*lift)[0]),
        "dry": rock.dry[0],
    }


def clay(weight: float, thickness: float, pressure: float) -> Answer:
    """Clay of a unit weight [kN/m³] left over a head."""
    density = 1000.0 * weight / WEIGHT_OF_WATER
    return {"heave": float(heave_factor(density, thickness, pressure))}


def domed_floor(rise: float, dome: float, vents: FloatArray) -> Answer:
    """Square bed of 20 m that rises evenly from a low line along its middle, a bump in one half of it."""
    east, _north = np.meshgrid(np.arange(-10.0, 11.0), np.arange(-10.0, 11.0))
    z = rise * np.abs(east)
    under = np.ones(z.shape, dtype=np.bool_)
    under[[0, -1], :] = under[:, [0, -1]] = False
    level = bed_rise(z, under & (np.abs(east) > 1.0), 1.0)
    z[10, 5] += dome
    corners = 10.0 * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return {"rise": level, "pocket": float(gas_pockets(z, under).max()), "gap": vent_gap(corners, vents)}


def bed(
    liners: FloatArray, heads: FloatArray, level: float, thickness: float, porosity: float, factor: float
) -> Answer:
    """Level bed of a few spots under one kind of stone on a liner of 1 mm on a cushion of 4 mm."""
    layers = [CoverLayer(0.004), CoverLayer(0.001, seals=True), CoverLayer(thickness, porosity=porosity)]
    below, ballast = ballast_of_parts([([10], layers)])
    own = np.ones((1, len(liners)), dtype=np.bool_)
    part = np.full(own.shape, 10, dtype=np.int8)
    subgrade = liners[np.newaxis] - 0.005
    found = lined_bed(own, subgrade, part, np.ones(own.shape), below, ballast)
    uplift = bed_uplift(found, heads, level)
    worst = worst_spot(found, uplift, heads, level, factor)
    return {
        "below": below[10],
        "held": ballast.submerged[10],
        "liner": found.liner[0],
        "net": uplift.net[worst.spot],
        "spot": worst.spot,
        "mark": safe_mark(found, heads, factor),
        "lack": lack_of_weight(found, heads, level, factor),
    }


def layers(subgrade: float, top: FloatArray, bottom: FloatArray, permeability: FloatArray) -> Answer:
    """Dig that ends in one layer over another."""
    tops, bottoms, rates = (values[:, np.newaxis] for values in (top, bottom, permeability))
    left, sand = pressed_clay(np.array([subgrade]), tops, bottoms, rates, contrast=10.0)
    return {"left": left[0], "sand": sand[0]}
