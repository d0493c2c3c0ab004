"""Problems of the ledger about setting stones: charts, slings, machines and the yard list, by hand."""

from __future__ import annotations

import math
from itertools import product
from typing import Any

import numpy as np

from pondwright.rooms.stone.lifting import (
    chart_of,
    greatest_radius,
    lift_capacity,
    machine_for,
    pads_area,
    rated_lift,
    sling_angle,
    sling_leg,
)
from pondwright.rooms.stone.loads import arrival_order, staging_area
from pondwright.rooms.stone.pieces import size_of_mass
from pondwright.rooms.stone.reaching import best_stands, from_outside, nearest_stands, outside_line
from pondwright.rooms.stone.stability import stone_in_waves, wave_height
from pondwright.rooms.stone.yard import Spot, Taped, deal, misfit

Answer = dict[str, Any]

MACHINE = ((2.0, 0.0, 1800.0), (3.0, 0.0, 1131.0), (4.0, 0.0, 800.0), (3.0, 2.0, 1000.0), (4.0, 2.0, 900.0))
"""Rows of an invented chart, with a corner that is not told."""


def chart(radius: float, height: float, tool: float = 0.0, mass: float = 0.0) -> Answer:
    """Capacity of the invented chart at a radius and a height, and how far out it holds a mass."""
    table = chart_of(MACHINE)
    return {
        "capacity": float(lift_capacity(table, radius, height, tool)),
        "reach": greatest_radius(table, mass, height, tool),
    }


def lift(tipping: float, hydraulic: float, density: float) -> Answer:
    """Rated lift and the largest blocky stone of that mass."""
    mass = rated_lift(tipping, hydraulic)
    return {"mass": mass, "size": size_of_mass(mass, "blocky", density), "machine": machine_for(mass, 3.0)}


def sling(mass: float, degrees: float) -> Answer:
    """Leg of a sling at an angle, and the angle again of a leg of length one round what it spans."""
    return {
        "leg": sling_leg(mass, math.radians(degrees)),
        "angle": math.degrees(sling_angle(1.0, 2.0 * math.cos(math.radians(degrees)))),
    }


def beside_a_pond(radius: float, back: float, inside: float) -> Answer:
    """Machine beside a round pond that sets a stone some way inside its edge."""
    around = np.linspace(0.0, 2.0 * math.pi, 721)[:-1]
    lines = outside_line([radius * np.column_stack([np.cos(around), np.sin(around)])], back)
    point = np.array([[radius - inside, 0.0]])
    stands = nearest_stands(point, lines)
    table = chart_of(MACHINE[:3])
    own = from_outside(table, 0.0, point, 0.0, stands, np.zeros(1))
    told = best_stands(table, 0.0, point, 0.0, np.vstack([stands, [[0.0, 0.0]]]), np.zeros(2))
    return {
        "radius": float(own.radii[0]),
        "capacity": float(own.capacities[0]),
        "same": float(told.radii[0]),
    }


def staged(classes: list[tuple[float, float]], covered: float) -> Answer:
    """Ground on which stones wait, by count and size."""
    return {"area": sum(staging_area(count, size, covered) for count, size in classes)}


def arrival(classes: list[tuple[str, str, float]]) -> Answer:
    """Order of classes, each with its use and its largest size."""
    uses = {name: [use] for name, use, _ in classes}
    return {"order": " ".join(arrival_order(uses, {name: size for name, _, size in classes}))}


def waves(fetch: float, wind: float, density: float, slope: float) -> Answer:
    """Wave of a wind over a fetch, and the stone that it does not move."""
    height = wave_height(fetch, wind)
    return {"height": height, "mass": stone_in_waves(height, density, slope)}


def wrong_truck(large: float) -> Answer:
    """Three stones have their places; a truck brings one of them larger than it was ordered."""
    spots = {"spill": Spot("spill", 1, 0.5, 0.7), "edge": Spot("edge", 2, 0.4, 0.6)}
    kept = {
        "a": Taped(0.65, 0.4, reserved="spill"),
        "b": Taped(0.55, 0.4, reserved="edge"),
        "c": Taped(0.45, 0.4, reserved="edge"),
    }
    again, came = deal(kept, spots), deal(kept | {"a": Taped(large, 0.4, reserved="spill")}, spots)
    return {
        "unchanged": len(again.changed),
        "changed": sorted(came.changed),
        "places": " ".join(f"{name}:{place}" for name, place in sorted(came.places.items())),
        "left": " ".join(f"{name}: {why}" for name, why in came.left_over.items()),
        "misfit": misfit(Taped(large, 0.4), spots["spill"]),
    }


def best_deal(sizes: list[float]) -> Answer:
    """Stones dealt to three places, and the least misfit of all deals that place as many, by trying each."""
    spots = {
        "low": Spot("edge", 1, 0.3, 0.4),
        "mid": Spot("edge", 1, 0.38, 0.5),
        "high": Spot("edge", 1, 0.5, 0.6),
    }
    stones = {f"s{place}": Taped(size, 1.0) for place, size in enumerate(sizes)}
    found = deal(stones, spots)
    best = (0, 0.0)
    for tried in product((None, *spots), repeat=len(stones)):
        named = [name for name in tried if name]
        away = [misfit(stone, spots[to]) for stone, to in zip(stones.values(), tried, strict=True) if to]
        if len(named) == len(set(named)) and None not in away:
            best = max(best, (len(named), -sum(one for one in away if one)))
    ours = sum(misfit(stones[name], spots[to]) or 0.0 for name, to in found.places.items())
    return {"placed": len(found.places), "most": best[0], "misfit": ours, "least": -best[1]}


def pads(machine: float, stone: float, bears: float) -> Answer:
    """Pads below a machine and its stone."""
    return {"area": pads_area(machine + stone, bears)}
