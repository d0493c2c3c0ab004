"""Problems of the ledger about ordering, laying and holding a liner: small ones with a known answer."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.grid import Grid
from pondwright.rooms.lining import anchor, band, cushion, edge, joints, materials, offcuts, seams, tapes
from pondwright.rooms.lining.area import LinerGround
from pondwright.rooms.lining.filling import DAY, allowed_drop, detected_leak, first_shelf, leak
from pondwright.rooms.shape.profile import bank_profile
from pondwright.rooms.shape.sight import Eye

Answer = dict[str, Any]


def run_out(tension: float, slope: float, cover: float, friction: float) -> float:
    """Run-out of a sheet; the friction in degrees."""
    return anchor.run_out(tension, slope, cover, math.radians(friction))


def trench(
    level: float, cover: float, depth: float, slope: float, weight: float, shear: float, friction: float
) -> float:
    """Capacity of an anchor trench; the soil in N/m³, frictions in degrees."""
    soil = weight / anchor.GRAVITY
    return anchor.anchor_capacity(
        level, cover, depth, slope, soil, math.radians(shear), math.radians(friction)
    )


def veneer(thickness: float, length: float, slope: float, friction: float, shear: float) -> Answer:
    """Cover on a slope; frictions in degrees."""
    delta, phi = math.radians(friction), math.radians(shear)
    return {
        "toe": anchor.cover_safety(thickness, length, slope, delta, phi),
        "long": anchor.long_slope_safety(slope, delta),
        "angle": math.degrees(anchor.slope_angle(slope)),
    }


def friction(material: str, against: str) -> float:
    """Friction of a sheet in degrees."""
    return math.degrees(anchor.interface_friction(material, against))


def puncture(fabric: float, protrusion: float, pressure: float) -> Answer:
    """Short test with a safety of 3; fabric in g/m², pressure in kPa."""
    return {
        "allowed": cushion.allowed_pressure(1e-3 * fabric, protrusion, cushion.TESTED) / 1e3,
        "needed": 1e3 * cushion.needed_fabric(1e3 * pressure, protrusion, cushion.TESTED),
    }


def loads(water: float, rock: float, density: float, stone: float, footprint: float) -> Answer:
    """Pressure of water and rock, and of one stone, in kPa."""
    return {
        "cover": cushion.cover_pressure(water, ((rock, density),)) / 1e3,
        "stone": cushion.stone_pressure(stone, footprint) / 1e3,
    }


def sheet(thickness: float, material: str) -> Answer:
    """Sheet of a thickness, by the word for its material."""
    found = materials.membrane({"thickness": thickness}, material)
    return {"mass": found.mass, "material": materials.material_of(material), "unfold": found.unfold}


def rolls(cuts: list[float], roll: float) -> Answer:
    """Rolls for some cuts, and what is left on the last."""
    wanted = {f"c{index}": float(cut) for index, cut in enumerate(cuts)}
    found = seams.first_fit(wanted, roll)
    return {"count": len(found), "rest": found[-1].rest}


def cut_again(pieces: list[float], rests: list[list[float]]) -> list[float]:
    """Number of the rest that each square piece is cut from, in the order of the pieces; -1 is none."""
    wanted = {f"{index:02d}": seams.Rest(float(side), float(side)) for index, side in enumerate(pieces)}
    left = {f"{index}": seams.Rest(float(a), float(b)) for index, (a, b) in enumerate(rests)}
    uses = {use.wanted: use.rest for use in seams.reuse(wanted, left)}
    return [-1.0 if uses[name] is None else float(uses[name] or 0) for name in sorted(wanted)]


def ground(drop: float, riser: float) -> LinerGround:
    """Ground 10 m long that falls evenly, with one riser in its middle."""
    grid = Grid(0.0, -1.0, 0.5, 21, 5)
    east = np.broadcast_to(grid.east, grid.shape)
    return LinerGround(grid, -0.1 * drop * east, np.where(east >= 5.0, riser, 0.0), np.full(grid.shape, 1.0))


def taped(drop: float, riser: float) -> float:
    """Length of a tape along that ground."""
    return tapes.length_over_ground(ground(drop, riser), np.array([[0.0, 0.0], [10.0, 0.0]]))


def dumbbell(width: float) -> Answer:
    """Two squares of 4 m, joined by a channel 2 m long: its narrow, and what lies on both sides of it."""
    low, high = 2.0 - 0.5 * width, 2.0 + 0.5 * width
    shore = np.array(
        [[0, 0], [4, 0], [4, low], [6, low], [6, 0], [10, 0],
         [10, 4], [6, 4], [6, high], [4, high], [4, 4], [0, 4]], dtype=np.float64
    )  # fmt: skip
    (narrow, *_) = joints.narrows(shore)
    grid = Grid(-1.0, -1.0, 0.1, 121, 61)
    east, north = np.meshgrid(grid.east, grid.north)
    inside = (np.abs(north - 2.0) < 2.0) & (np.abs(east - 5.0) < 5.0)
    inside &= (np.abs(east - 5.0) > 1.0) | (np.abs(north - 2.0) < 0.5 * width)
    own = LinerGround(grid, np.zeros(grid.shape), np.zeros(grid.shape), np.where(inside, 1.0, -1.0))
    parts = joints.parted(own, 0.0, np.array([[5.0, low], [5.0, high]]))
    assert parts is not None
    pieces = [joints.kept_side(own, 0.0, part, 0.1).distance >= 0.0 for part in parts]
    flat = 0.01 * inside.sum()
    return {
        "width": narrow.width,
        "share_of_half": 0.01 * pieces[0].sum() / (0.5 * flat),
        "lapped": bool((pieces[0] & pieces[1]).any() and (pieces[0] | pieces[1])[inside].all()),
        "line": tapes.longest_line(shore, 0.0, 0.5),
        "on": tapes.lies_on(shore, np.array([[1.0, 2.0], [9.0, 2.0]])),
    }


def cut_away() -> Answer:
    """A level sheet of 10 m by 6 m, of which the liner needs the western 4 m alone."""
    grid = Grid(0.0, 0.0, 0.25, 41, 25)
    east, north = np.meshgrid(grid.east, grid.north)
    needed = (east <= 4.0) | ((east >= 10.0) & (north >= 6.0))
    flat = LinerGround(grid, np.zeros(grid.shape), np.zeros(grid.shape), np.where(needed, 1.0, -1.0))
    found = offcuts.leftovers(flat, 0.0, 0.0, 10.0, 6.0)
    return {"largest": found[0].length * found[0].width}


def reaches(stations: FloatArray, starts: FloatArray, ends: FloatArray) -> list[FloatArray]:
    """How far each station lies within each reach."""
    return list(joints.reach_sides(stations, starts, ends))


def bank(points: FloatArray, fall: float) -> Answer:
    """A bank: what lies dry of it when the water falls, and its first shelf."""
    profile = bank_profile([(float(distance), float(depth)) for distance, depth in points])
    found = edge.bank_band(profile, fall)
    return {
        "width": found.width,
        "offset": found.offset,
        "risers": found.risers,
        "shelf": first_shelf(profile),
    }


def lows(built: FloatArray, wanted: float) -> Answer:
    """Low places of an edge with a station every metre, that the ground lets stand no higher."""
    count = len(built)
    level = edge.edge_level(np.full(count, wanted), built, np.zeros(count))
    points = np.column_stack([np.arange(count, dtype=np.float64), np.zeros(count)])
    found = edge.low_places(level, np.full(count, wanted), points[:, 0], points, float(count), 1e-9)
    return {"count": len(found), "lack": found[0].lack, "length": found[0].length}


def rim(slope: float, reach: float) -> float:
    """Highest ground beside a shore whose bank rises evenly."""
    grid = Grid(0.0, 0.0, 0.5, 11, 5)
    finish = np.broadcast_to(grid.east / slope, grid.shape).copy()
    shore, outward = np.array([[1.0, 1.0]]), np.array([[1.0, 0.0]])
    return float(edge.rim_ground(finish, grid, shore, outward, reach)[0] - 1.0 / slope)


def upright(eye_east: float, eye_level: float, wall: float) -> Answer:
    """An upright bank 9 m east of the eye, that looks west, behind a screen 5 m from the eye."""
    grid = Grid(0.0, -1.0, 1.0, columns=13, rows=3)
    place, normal = np.array([[9.0, 0.0]]), np.array([[-1.0, 0.0]])
    eye = Eye(eye_east, 0.0, eye_level)
    own = (place, np.zeros(1), normal, np.ones(1))
    screens = np.array([[5.0, -9.0, wall, 5.0, 9.0, wall]])
    seen = band.band_seen(np.full(grid.shape, -0.2), grid, eye, *own, screens)
    square = np.array([[9.0, -1.0], [9.0, 1.0], [7.0, 1.0], [7.0, -1.0]])
    return {
        "faces": bool(band.faces_eye(*own, eye)[0]),
        "seen": band.seen_length(seen, np.array([2.0])),
        "inward": np.abs(band.inward_normals(square)[0] + band.inward_normals(square)[2]).max(),
    }


def bucket(drop: float, evaporation: float, days: float, area: float, reading: float) -> Answer:
    """Leak in litres a day: of a fall, that can be told, and the fall that is none. Lengths in mm."""
    time = days * DAY
    lost = 1e-3 * evaporation * days
    return {
        "leak": 1e3 * DAY * leak(1e-3 * drop, lost, area, time),
        "detects": 1e3 * DAY * detected_leak(1e-3 * reading, area, time),
        "allowed": 1e3 * allowed_drop(1e-3 * evaporation / DAY, time, 1e-3 * reading),
    }
