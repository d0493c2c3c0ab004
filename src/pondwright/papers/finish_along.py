"""Finish and dig along a line, with every step of the design upright.

A grid of heights spreads an upright face over a cell.  The model knows where the face stands: a riser of a
bank at its distance from the shore, a fall at its station along the stream.  So along a line the continuous
part of the finish is read between the nodes, and the steps are put back where they stand.

See Also
--------
pondwright.rooms.shape.profile : splits the risers off a bank.
pondwright.rooms.shape.stream : falls, reaches and sills.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside
from pondwright.geometry.section import section_along
from pondwright.geometry.surface import surface_at
from pondwright.job.curves import line_of as sampled_line
from pondwright.job.document import Job
from pondwright.job.fields import value_of
from pondwright.job.shape import Way
from pondwright.papers.ground_map import line_of
from pondwright.rooms.shape.grading import blended, finish_limits, stream_limits, stretch_share
from pondwright.rooms.shape.laid import run_levels
from pondwright.rooms.shape.profile import Profile
from pondwright.rooms.shape.shoreline import line_distance
from pondwright.rooms.shape.stream import bed_share
from pondwright.rooms.shape.upright import flight

SAME = 1e-6  # m within which a node stands where a body alone would put it
CLOSE = 0.04  # m between stations at most; two steps that stand closer are drawn as one
UPRIGHT = 1e-9  # m over which a riser is spread where it should stand upright
NUDGE = 1e-6  # m to either side of a step, where its head and its foot are read
HALVINGS = 20  # of a gap between two stations, to find the step in it

Points = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Along:
    """Surfaces by chainage [m]; a step is two heights at one chainage."""

    chainage: Points
    finish: Points
    dug_to: Points


class UprightFinish:
    """The finish of a job between its nodes, with upright steps; made once for all lines."""

    def __init__(self, job: Job, results: Mapping[str, Any]) -> None:
        self.grid: Grid = results["shape.shore"].grid
        self.z: Points = results["shape.grading"].z
        subgrade = results["earth.subgrade"]
        self.thickness: Points = subgrade.thickness[results["shape.grading"].part]
        grading = results["shape.grading"]
        self.ground: Points = results["site.ground"].z
        self.bodies = [
            _Steps(job.shape.bodies[name], body, grading, name, self.ground, self.grid)
            for name, body in results["shape.shore"].bodies.items()
        ]
        self.flights = [
            found
            for way in job.shape.ways.values()
            if (found := _flight_of(way, self.z, self.grid)) is not None
        ]
        taken = sum((one.spread for one in self.bodies), np.zeros(self.grid.shape))
        self.continuous: Points = self.z + taken

    def along(self, line: Points) -> Along:
        """Finish and dig along a line that lies on the grid.

        Parameters
        ----------
        line : (n, 2) array     Its bends. [m]

        Returns
        -------
        Along
        """
        found = section_along(self.z, self.grid, line, min(CLOSE, self.grid.spacing / 3.0))
        stations, marks = np.asarray(found.chainage), self._marks(np.asarray(found.points))
        gaps = np.flatnonzero((marks[1:] != marks[:-1]).any(axis=1))
        low, high = stations[gaps].copy(), stations[gaps + 1].copy()
        path = shapely.LineString(line)
        for _ in range(HALVINGS if len(gaps) else 0):
            middle = 0.5 * (low + high)
            before = (self._marks(_places(path, middle)) == marks[gaps]).all(axis=1)
            low, high = np.where(before, middle, low), np.where(before, high, middle)
        # A station right on a step would stand between its head and its foot.
        stations = stations[(np.abs(stations[:, None] - high) > 3.0 * NUDGE).all(axis=1)]
        every = np.concatenate([stations, low - NUDGE, high + NUDGE])
        shown = np.concatenate([stations, high, high])
        order = np.argsort(every, kind="stable")
        finish, dug_to = self.heights(_places(path, np.clip(every[order], 0.0, path.length)))
        return Along(shown[order], finish, dug_to)

    def heights(self, points: Points) -> tuple[Points, Points]:
        """Finish and dig at places. [m]"""
        corners, shares = _corners(self.grid, points)
        ground = np.asarray(surface_at(self.ground, self.grid, points))
        finish = np.array(surface_at(self.continuous, self.grid, points))
        alike: Flags = np.ones(corners.shape, dtype=bool)
        places = [body.at(points) for body in self.bodies]
        for body, at in zip(self.bodies, places, strict=True):
            finish -= np.where(body.rules.ravel()[corners].any(axis=1), at.steps, 0.0)
            alike = np.logical_and(alike, body.marks[corners] == at.marks[:, None])
        for inside in (False, True):
            for body, at in zip(self.bodies, places, strict=True):
                wet: Flags = at.distance > 0.0
                there = body.alone_at(at, corners) & (wet if inside else ~wet)
                np.copyto(finish, body.exact(at, ground), where=there)
        for stairs in self.flights:
            steps, there = stairs.at(points, corners)
            np.copyto(finish, steps, where=there)
        weights = alike * shares
        weights = np.where(weights.sum(axis=1)[:, None] > 0.0, weights, shares)
        cover = (self.thickness.ravel()[corners] * weights).sum(axis=1) / weights.sum(axis=1)
        return finish, finish - cover

    def _marks(self, points: Points) -> NDArray[np.int64]:
        """How many steps lie behind each place, body by body."""
        corners, _shares = _corners(self.grid, points)
        columns = [
            np.where(body.rules.ravel()[corners].any(axis=1), body.at(points).marks, 0)
            for body in self.bodies
        ]
        for stairs in self.flights:
            steps, there = stairs.at(points, corners)
            # Treads by their height: whole millimetres tell them apart.
            columns.append(np.where(there, np.rint(steps * 1000.0), 0.0).astype(np.int64))
        return np.column_stack(columns) if columns else np.zeros((len(points), 1), dtype=np.int64)


@dataclass(frozen=True, slots=True)
class _At:
    """How places lie to a body.

    They have their distance from its shore [m], the share of each stretch, the station on a stream [m], how
    far its steps lie below the continuous part [m], and how many of them were passed.
    """

    distance: Points
    shares: tuple[Points, ...]
    station: Points | None
    steps: Points
    marks: NDArray[np.int64]


class _Steps:
    """Steps of one body: the risers of its banks, and the falls of a stream."""

    def __init__(self, row: Any, body: Any, grading: Any, name: str, ground: Points, grid: Grid) -> None:
        own, own_grading = grading.layers.own[name], grading.bodies[name]
        self.row, self.body, self.grid = row, body, grid
        self.stream, self.bank = body.stream, own_grading.bank
        self.profile: Profile = own_grading.profile
        self.stretches: Sequence[Any] = own_grading.stretches
        by_itself = np.clip(ground, body.level + own.lower, body.level + own.upper)
        self.alone: Flags = np.abs(by_itself - grading.z) < SAME
        # Ground that this body leaves as it is has none of its steps.
        self.rules: Flags = self.alone & ((body.distance > 0.0) | (np.abs(grading.z - ground) > SAME))
        shares = tuple(
            stretch_share(body.distance, line_distance(grid, one.line), one.blend) for one in self.stretches
        )
        station = None if self.stream is None else self.stream.station
        steps = self._steps(body.distance, shares, station, grid.spacing)
        self.spread: Points = np.where(self.rules, steps, 0.0)
        self.marks: NDArray[np.int64] = self._passed(body.distance, station).ravel()

    @cached_property
    def _shore(self) -> shapely.Geometry:
        lines = shapely.MultiLineString([np.vstack([ring, ring[:1]]) for ring in self.body.rings])
        shapely.prepare(lines)
        return lines

    def at(self, points: Points) -> _At:
        """How places lie to this body, its steps upright."""
        distance, station = self._distance(points), self._station(points)
        spots = shapely.points(points)
        shares = tuple(
            stretch_share(distance, shapely.distance(shapely.LineString(one.line), spots), one.blend)
            for one in self.stretches
        )
        steps = self._steps(distance, shares, station, None)
        return _At(distance, shares, station, steps, self._passed(distance, station))

    def alone_at(self, at: _At, corners: NDArray[np.int64]) -> Flags:
        """Places round which this body alone makes the finish, on their side of the shore."""
        beside = (self.body.distance.ravel()[corners] > 0.0) == (at.distance > 0.0)[:, None]
        alone = (self.alone.ravel()[corners] | ~beside).all(axis=1)
        touched = (self.rules.ravel()[corners] & beside).any(axis=1)
        # A floor that falls to its low spot has no steps: the nodes are good enough.
        falling = self.row.floor_fall is not None and self.stream is None
        reach = max(one.reach for one in (self.profile, *(one.profile for one in self.stretches)))
        return np.asarray(alone & touched & ~(falling & (at.distance > reach)))

    def exact(self, at: _At, ground: Points) -> Points:
        """Finish that this body alone makes at places. [m]"""
        distance = at.distance[None, :]
        limits = finish_limits(self.profile, self.bank, distance, UPRIGHT)
        for one, share in zip(self.stretches, at.shares, strict=True):
            limits = blended(limits, finish_limits(one.profile, self.bank, distance, UPRIGHT), share[None, :])
        if at.station is not None:
            reaches = self.stream.reaches
            drop = reaches.drops[reaches.reach_at(at.station)]
            bed = self._told_bed(at.station, self.body.level - drop)
            limits = stream_limits(limits, distance, drop, self._sill_share(at.station), bed)
        level = self.body.level
        return np.asarray(np.clip(ground, level + limits.lower[0], level + limits.upper[0]))

    def _told_bed(self, station: Points, water: Points) -> Points | None:
        """Depth of the bed that the job tells, between the pegs. [m]"""
        if not self.row.outline.bed:
            return None
        line = sampled_line(self.row.outline.curve)
        told = self.row.outline.bed
        bed = np.interp(line.span + line.parameter, np.arange(len(told)), told)
        return np.asarray(water - np.interp(station, self.stream.corridor.station, bed))

    def _distance(self, points: Points) -> Points:
        """Distance from the shore, positive inside. [m]"""
        away = shapely.distance(self._shore, shapely.points(points))
        return np.where(points_inside(list(self.body.rings), points), away, -away)

    def _station(self, points: Points) -> Points | None:
        if self.stream is None:
            return None
        middle = shapely.LineString(self.stream.corridor.line)
        return np.asarray(shapely.line_locate_point(middle, shapely.points(points)))

    def _sill_share(self, station: Points) -> Points:
        return np.asarray(bed_share(station, self.stream.reaches, self.grid.spacing))

    def _steps(
        self, distance: Points, shares: Sequence[Points], station: Points | None, spread: float | None
    ) -> Points:
        """Height of all risers passed, blended like the banks; spread over a cell as on the grid. [m]"""
        steps = _risers(self.profile, distance, spread)
        for one, share in zip(self.stretches, shares, strict=True):
            steps = steps + share * (_risers(one.profile, distance, spread) - steps)
        if station is None:
            return steps
        return np.where(distance > 0.0, steps * self._sill_share(station), steps)

    def _passed(self, distance: Points, station: Points | None) -> NDArray[np.int64]:
        """One number for how many risers lie between a place and the shore, and how many falls above it."""
        marks = np.where(distance > 0.0, 1, 0)
        for profile in (self.profile, *(one.profile for one in self.stretches)):
            marks = marks * 16 + (distance[..., None] >= profile.risers).sum(axis=-1)
        if station is not None:
            marks = marks * 64 + self.stream.reaches.reach_at(station)
        return np.asarray(marks, dtype=np.int64)


class _Flight:
    """Steps of a way, where they are the finish."""

    def __init__(self, way: Way, line: Points, z: Points, grid: Grid) -> None:
        assert way.level is not None and way.end_level is not None
        self.path, self.half = shapely.LineString(line), 0.5 * value_of(way, "width")
        self.start, self.end = way.level, way.end_level
        rise = way.end_level - way.level
        self.risers = flight(rise, self.path.length, value_of(way, "most_riser")).risers
        east, north = np.meshgrid(grid.east, grid.north)
        nodes = np.column_stack([east.ravel(), north.ravel()])
        steps, beside = self._steps(nodes)
        self.rules: Flags = beside & (np.abs(steps - z.ravel()) < SAME)

    def at(self, points: Points, corners: NDArray[np.int64]) -> tuple[Points, Flags]:
        """Treads at places, and where they are the finish. [m]"""
        steps, beside = self._steps(points)
        return steps, beside & self.rules[corners].all(axis=1)

    def _steps(self, points: Points) -> tuple[Points, Flags]:
        spots = shapely.points(points)
        station = np.asarray(shapely.line_locate_point(self.path, spots))
        steps = run_levels(station, self.path.length, self.start, self.end, self.risers)
        return steps, np.asarray(shapely.distance(self.path, spots) <= self.half)


def _flight_of(way: Way, z: Points, grid: Grid) -> _Flight | None:
    """Steps of a way that climbs from one level to another along a line."""
    line = line_of(way.place)
    if way.kind != "steps" or line is None or way.level is None or way.end_level is None:
        return None
    return None if way.status == "remove" else _Flight(way, line, z, grid)


def _risers(profile: Profile, distance: Points, spread: float | None) -> Points:
    if spread is None:
        passed = (distance[..., None] >= profile.risers).astype(np.float64)
    else:
        passed = np.clip((distance[..., None] - profile.risers) / spread + 0.5, 0.0, 1.0)
    return np.asarray(passed @ profile.heights)


def _places(path: shapely.LineString, stations: Points) -> Points:
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(path, stations)))


def _corners(grid: Grid, points: Points) -> tuple[NDArray[np.int64], Points]:
    """Nodes round each place, as flat indices (n, 4), and their shares."""
    column, row = ((points - (grid.origin_east, grid.origin_north)) / grid.spacing).T
    first_column = np.clip(np.floor(column).astype(np.int64), 0, grid.columns - 2)
    first_row = np.clip(np.floor(row).astype(np.int64), 0, grid.rows - 2)
    right, up = np.clip(column - first_column, 0.0, 1.0), np.clip(row - first_row, 0.0, 1.0)
    first = first_row * grid.columns + first_column
    corners = first[:, None] + np.array([0, 1, grid.columns, grid.columns + 1])
    shares = np.column_stack([(1 - right) * (1 - up), right * (1 - up), (1 - right) * up, right * up])
    return corners, shares
