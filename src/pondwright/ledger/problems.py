"""Problems of the ledger: small shapes with a known answer that a row of numbers cannot tell.

Each function builds its shape, asks the methods of its case, and gives their answers by name.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from pondwright.base.kinds import FloatArray
from pondwright.geometry.contour import areas_above
from pondwright.geometry.coverage import covered_area
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import enclosed_area
from pondwright.geometry.surface import node_shares, node_units
from pondwright.geometry.tin import node_sigma, shot_weights, tin_to_grid, triangulate
from pondwright.geometry.volume import difference_volumes, richardson, stage_storage, volume_below
from pondwright.rooms.earth.balance import balanced_level, fill_surplus, narrowed, trials
from pondwright.rooms.earth.cutfill import (
    Moved,
    SoilColumn,
    SoilPlace,
    dig_volumes,
    moved,
    soil_map,
    volume_slopes,
)
from pondwright.rooms.earth.states import SoilStates, bank_volume, loose_volume, truck_loads
from pondwright.rooms.earth.subgrade import dig_depth, subgrade, thickness_of_parts
from pondwright.rooms.shape.grading import (
    Bank,
    Limits,
    blended,
    finish_limits,
    graded,
    stacked,
    whole_rows,
)
from pondwright.rooms.shape.profile import bank_profile, depth_at, riser_walls, wetted_area
from pondwright.rooms.shape.shoreline import lengths_below, misplaced_islands, stretch_line
from pondwright.rooms.shape.storage import storage
from pondwright.rooms.site.carried import volume_sigma
from pondwright.rooms.site.existing import beyond_survey, fits, guessed_share, hollow, low_rim
from pondwright.rooms.site.ground import (
    default_grid,
    existing_ground,
    ground_uncertainty,
    invented_triangles,
    survey_area,
    widened_grid,
)
from pondwright.rooms.site.level_network import KnownMark, adjusted_levels
from pondwright.rooms.site.levelling import LevelBook, Sight, book_arithmetic, reduce_books
from pondwright.rooms.site.uncertainty import interpolation_sigma, left_out, roughness

Answer = dict[str, Any]


def sloped_pit(ring: FloatArray, depth: float, slope: float, spacing: float, turn: float = 0.0) -> Answer:
    """Pit with one slope all round from a ring at level 0 to a flat floor, turned in the plane [°]."""
    corners = _turned(ring, math.radians(turn))
    fine, coarse = (_pit(corners, depth, slope, step) for step in (spacing, 2.0 * spacing))
    return {**fine, "richardson": richardson(fine["volume"], coarse["volume"])}


def polygon_frustum(radius: float, sides: int, depth: float, slope: float, spacing: float) -> Answer:
    """The same pit under a regular polygon."""
    angles = 2.0 * np.pi * np.arange(sides) / sides
    return sloped_pit(radius * np.column_stack([np.cos(angles), np.sin(angles)]), depth, slope, spacing)


def bowl(form: str, radius: float, depth: float, spacing: float, level: float) -> Answer:
    """Cone (its rim of a radius at a depth over the tip) or cap of a ball, filled to a level over the tip."""
    grid = _square(1.2 * radius if form == "cone" else 1.2 * math.sqrt(2.0 * radius * depth), spacing)
    away = _from_origin(grid)
    floor = (
        away * depth / radius if form == "cone" else radius - np.sqrt(np.maximum(radius**2 - away**2, 0.0))
    )
    below = volume_below(floor, level, grid)
    volumes, areas = stage_storage(floor, [0.5 * level, level], grid)
    return {"volume": below[0], "area": below[1], "volumes": volumes, "areas": areas}


def area_over(z: FloatArray, grid: Grid, level: float) -> Answer:
    """Plan area of what is above a level, by its outlines."""
    return {"area": sum(abs(enclosed_area(outline)) for outline in areas_above(z, grid, level))}


def place_from_shares(place: FloatArray, grid: Grid) -> Answer:
    """A place put together again from the nodes round it and their shares."""
    nodes, shares = node_shares(grid, node_units(grid, place))
    rows, columns = np.divmod(nodes[0], grid.columns)
    return {
        "sum": float(shares.sum()),
        "east": float(shares[0] @ grid.east[columns]),
        "north": float(shares[0] @ grid.north[rows]),
    }


def island_pond(outer: FloatArray, island: FloatArray, grid: Grid) -> Answer:
    """Water area of a pond with an island."""
    return {"area": covered_area(grid, [outer, island]), "rings": enclosed_area([outer, island])}


def plane_survey(shots: FloatArray, grid: Grid, east: float, north: float, sigma: float) -> Answer:
    """Survey of the plane z = east × x + north × y by shots of one sigma, with each of its answers."""
    heights = shots @ np.array([east, north])
    tin = triangulate(shots, heights)
    on_grid = tin_to_grid(tin, grid)
    inside = on_grid.triangle >= 0
    places = np.stack(np.meshgrid(grid.east, grid.north), axis=-1)
    sigmas = np.full(len(shots), sigma)
    left = left_out(tin, sigmas)
    ground = existing_ground(tin, grid)
    errors = ground_uncertainty(tin, grid, ground.triangle, sigmas, benchmark_sigma=sigma)
    weights = np.where(inside, grid.cell_area, 0.0)
    return {
        "triangles": len(tin.triangles),
        "worst_height": float(np.abs(on_grid.z - places @ np.array([east, north]))[inside].max()),
        "weight_of_shots": float(shot_weights(tin, grid, weights).sum() / weights.sum()),
        "sigma_at_shot": float(node_sigma(tin, grid, sigmas)[0, 0]),
        "worst_miss": float(np.abs(left.miss).max()),
        "roughness": roughness(left),
        "gap_at_shot": float(interpolation_sigma(tin, on_grid.triangle[:1, 0], places[:1, 0], 0.001)[0]),
        "ground": float(np.abs(ground.z - on_grid.z).max()),
        "ground_sigma_at_shot": float(errors.sigma[0, 0]),
        "area": survey_area(tin),
        "benchmark": volume_sigma(errors, weights).benchmark / weights.sum(),
    }


def crossed_ridge(half: float) -> Answer:
    """Four shots on the corners of a square, two opposite ones high: the breakline decides the middle."""
    points = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    heights, grid = np.array([1.0, 0.0, 1.0, 0.0]), Grid(-half, -half, half, 3, 3)
    along, across = (
        tin_to_grid(triangulate(points, heights, np.array([edge])), grid).z[1, 1] for edge in ([0, 2], [1, 3])
    )
    return {"along": float(along), "across": float(across)}


def regular_survey(shots: int, far: float) -> Answer:
    """Long thin triangles among the squares of a regular survey, and once one shot stands far off."""
    square = [(float(x), float(y)) for x in range(shots) for y in range(shots)]
    spread = [*square, (far, far)]
    return {
        "near": len(invented_triangles(triangulate(np.array(square), np.zeros(len(square))))),
        "far": len(invented_triangles(triangulate(np.array(spread), np.zeros(len(spread))))) > 0,
    }


def windows(points: FloatArray, place: FloatArray) -> Answer:
    """Grid that a survey has by itself, and the same grid once it must hold a place outside."""
    grid = default_grid(points)
    wide = widened_grid(grid, place)
    shift = (wide.origin_east - grid.origin_east) / grid.spacing
    return {
        "spacing": grid.spacing,
        "holds": fits(grid, points),
        "held_before": fits(grid, place),
        "holds_place": fits(wide, place),
        "same_nodes": abs(shift - round(shift)),
    }


def dip(depth: float, half: float, spacing: float, rim_fall: float) -> Answer:
    """Upside-down pyramid, its square rim falling evenly to the east: the low side is the lip."""
    grid = _square(2.0 * half, spacing)
    east, north = np.meshgrid(grid.east, grid.north)
    reach = np.maximum(np.abs(east), np.abs(north))
    z = np.where(reach <= half, depth * (reach / half - 1.0), 0.0) - rim_fall * east
    ring = half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    known = np.where(east > 0.0, 3, 1).astype(np.int8)
    found, rim = hollow(z, grid, ring), low_rim(z, grid, ring)
    inside = signed_distance(grid, [ring]) >= 0.0
    held = storage(z, inside, grid, -half * rim_fall - 0.5, (0.25,))
    return {
        "low_rim": rim.elevation,
        "lip": found.lip,
        "volume": found.volume,
        "area": found.area,
        "storage_lip": held.lip,
        "storage_volume": held.volume,
        "guessed": guessed_share(known, 3, grid, ring),
        "beyond": len(beyond_survey(known, 3, grid, ring)) * 0.5 * spacing,
        "below": float(lengths_below(z, grid, [ring], np.array([0.0]))[0]),
    }


def bank(points: FloatArray, half: float, spacing: float, at: float) -> Answer:
    """Bank type round a square pond: depth at a distance from the shore, walls and true wetted area."""
    profile = bank_profile([(float(distance), float(depth)) for distance, depth in points])
    grid = _square(1.2 * half, spacing)
    ring = half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    distance = signed_distance(grid, [ring])
    walls = riser_walls(profile, distance, grid, 0.0, [ring])
    return {
        "depth": float(depth_at(profile, np.array([at]))[0]),
        "floor_depth": profile.floor_depth,
        "wall_area": sum(wall.area for wall in walls),
        "wetted_area": wetted_area(profile, distance, grid, 4.0 * half**2, walls),
    }


def straight_bank(
    ground: float, level: float, freeboard: float, crest: float, slope: float, depth: float
) -> Answer:
    """Straight shore on level ground, lake to the east: sections of the finish per metre of shore."""
    grid = Grid(-20.0, 0.0, 0.05, 801, 3)
    distance = np.tile(grid.east, (grid.rows, 1))
    profile = bank_profile([(0.0, 0.0), (depth * slope, depth)])
    limits = finish_limits(profile, Bank(freeboard, slope, crest, slope, slope), distance, grid.spacing)
    half = blended(limits, limits, np.full(grid.shape, 0.5))
    earth = np.full(grid.shape, ground)
    finish = graded(earth, stacked([half]), [level])
    above, below = difference_volumes(finish.z, earth, grid)
    width = 2.0 * grid.spacing
    return {
        "placed": above / width,
        "dug": below / width,
        "lowest": float(finish.z.min()),
        "highest": float(finish.z.max()),
    }


def trench(depth: float, layer: float, cover: float, raised: float) -> Answer:
    """Square of 10 m dug evenly beside one of 10 m raised evenly, in two layers of soil, under a cover."""
    grid = Grid(0.0, 0.0, 10.0, 3, 2)
    ground, part = np.zeros(grid.shape), np.zeros(grid.shape, dtype=np.int8)
    part[:] = 10
    thickness = thickness_of_parts([([10], cover)])
    spans = whole_rows(grid.shape)
    dug_to, raised_to = (np.full(grid.shape, height) for height in (-depth, raised))
    soils = soil_map([SoilColumn(("clay", "gravel"), (layer,))], [SoilPlace(np.zeros((1, 2)))], grid)
    down = dig_depth(ground, subgrade(dug_to, part, thickness))
    found = dig_volumes(down, soils, spans, grid)
    up = dig_volumes(dig_depth(ground, subgrade(raised_to, part, thickness)), soils, spans, grid)
    slopes = volume_slopes(down, grid)
    below = found.dug["gravel"]
    again = moved(np.array([[found.total_dug, below, found.total_dug, 200.0]]), soils)
    return {
        "clay": found.dug["clay"],
        "gravel": found.dug["gravel"],
        "placed": up.placed,
        "under": float(subgrade(dug_to, part, thickness)[0, 0]),
        "dug_slope": float(slopes[0].sum()),
        "clay_again": again.dug["clay"],
    }


def level_of_balance(half: float, compaction: float, slope: float) -> Answer:
    """Ground that rises evenly eastward, levelled to a pad: dug and placed triangles of a metre's width."""
    grid = Grid(0.0, 0.0, 0.05, round(2.0 * half / 0.05) + 1, 2)
    ground = np.tile(slope * grid.east, (grid.rows, 1))
    flat = np.zeros(grid.shape)
    limits = stacked([Limits(flat, flat, np.full(grid.shape, 10, dtype=np.int8))])
    soils = soil_map([SoilColumn(("silt",), ())], [SoilPlace(np.zeros((1, 2)))], grid)
    run = trials(ground, limits, [0.0], 0, thickness_of_parts([]), soils, grid)
    states = {"silt": SoilStates(1.25, compaction, 1800.0)}
    highest = 2.0 * half * slope
    narrow = narrowed(run, 0.0, highest)
    levels = np.array([0.0, highest])
    known = [fill_surplus(run.at(float(level)), states) for level in levels]
    found = balanced_level(lambda level: fill_surplus(narrow.at(level), states), levels, known)
    return {"level": found}


def export(cut: float, fill: float, compaction: float, bulking: float, density: float) -> Answer:
    """What is hauled away, in the bank, loose, in tonnes, and in loads of the standard truck."""
    states = {"silt": SoilStates(bulking, compaction, density)}
    left = cut - bank_volume(fill, compaction)
    loose, mass = loose_volume(left, bulking), left * density
    loads = truck_loads(loose, mass)
    return {
        "bank": left,
        "loose": loose,
        "mass": mass,
        "by_volume": loads.by_volume,
        "by_mass": loads.by_mass,
        "count": loads.count,
        "surplus": fill_surplus(Moved({"silt": cut}, {}, fill), states),
    }


def loads_by_box(compacted: float, compaction: float, bulking: float, box: float) -> Answer:
    """Loads of a box for a compacted volume, all in one unit of volume."""
    loose = loose_volume(bank_volume(compacted, compaction), bulking)
    return {"bank": bank_volume(compacted, compaction), "loose": loose, "loads": math.ceil(loose / box)}


def level_run(
    legs: Sequence[tuple[str, float, str, float, float]], known: float, by_distance: bool = False
) -> Answer:
    """Level notes from `bm`, a set-up a leg: backsight on, its reading, foresight on, its reading, length.

    Several legs from `bm` are several routes; half of a leg's length is to each side, nothing where it is 0.
    """
    set_ups = tuple(
        (
            Sight(start, back, "back", 0.5 * length or None),
            Sight(end, fore, "turn", 0.5 * length or None),
        )
        for start, back, end, fore, length in legs
    )
    book = LevelBook("book", set_ups, by_distance=by_distance)
    found = reduce_books([book], {"bm": known})
    net = adjusted_levels([book], {"bm": KnownMark(known)}, found)
    sums = book_arithmetic(book, {"bm": known})
    points = [end for _, _, end, _, _ in legs]
    return {
        "instruments": list(found.instruments.values()),
        "runs": [found.readings["book", number, 1] for number in range(len(legs))],
        "adjusted": [net.points[point].elevation for point in points],
        "misclosure": found.closures[-1].misclosure if found.closures else None,
        "length": found.closures[-1].length if found.closures else None,
        "sum_back": sums.sum_back,
        "sum_fore": sums.sum_fore,
        "rise": sums.rise,
    }


def islands(outer: FloatArray, inside: FloatArray, outside: FloatArray) -> Answer:
    """Which of two islands is misplaced."""
    found = misplaced_islands(outer, {"inside": inside, "outside": outside})
    return {"count": len(found), "first": found[0] if found else ""}


def stretch(ring: FloatArray, pegs: Sequence[str], start: str, end: str) -> Answer:
    """Length of a stretch of a ring whose points are its pegs."""
    line = stretch_line(ring, np.arange(len(ring), dtype=np.int32), list(pegs), start, end)
    steps = np.diff(line, axis=0)
    return {"length": float(np.hypot(steps[:, 0], steps[:, 1]).sum())}


def _pit(ring: FloatArray, depth: float, slope: float, spacing: float) -> Answer:
    grid = _square(1.1 * float(np.abs(ring).max()), spacing)
    distance = signed_distance(grid, [ring])
    profile = bank_profile([(0.0, 0.0), (depth * slope, depth)])
    floor = -np.clip(distance / slope, -depth, depth)
    area = covered_area(grid, [ring])
    return {
        "volume": volume_below(floor, 0.0, grid)[0],
        "area": area,
        "wetted_area": wetted_area(profile, distance, grid, area, ()),
    }


def _square(half: float, spacing: float) -> Grid:
    """Grid round the origin that has a node on it."""
    nodes = math.ceil(half / spacing)
    return Grid(-nodes * spacing, -nodes * spacing, spacing, 2 * nodes + 1, 2 * nodes + 1)


def _from_origin(grid: Grid) -> FloatArray:
    east, north = np.meshgrid(grid.east, grid.north)
    return np.hypot(east, north)


def _turned(ring: FloatArray, angle: float) -> FloatArray:
    turn = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])
    return np.asarray(ring @ turn)
