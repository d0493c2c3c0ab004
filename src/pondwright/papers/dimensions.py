"""What is measured along a section: its corners, shelves, slopes, water depths and crests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from pondwright.base.kinds import Elevation, Length
from pondwright.papers.cuts import Points, Profile, Water

SMOOTH, FINE = 0.025, 0.1  # m, and cells, by which a bend of the finish stands out at least to be a corner
Surface = tuple[Points, Points]

UPRIGHT = 0.005  # m along within which two corners stand over each other
SHELF = 1.0 / 8.0  # fall of a shelf at most, as banks are told elsewhere
NARROWEST = 0.15  # m of a shelf that is worth the word
FLOOR = 0.8  # of the greatest depth, beyond which level ground is the floor and no shelf
LEVEL = 1.0 / 20.0  # fall of a crest at most
NEAR = 0.03  # m between a crest and its level, between a floor and the deepest water
TOUCHED = 0.01  # m by which the finish must leave the ground to be work


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of the finish: where it is, how deep under water, and how much it counts; 0 counts most."""

    at: Length
    level: Elevation
    depth: Length | None
    weight: int


@dataclass(frozen=True, slots=True)
class Run:
    """A straight piece of the finish between two corners."""

    start: Length
    end: Length
    first: Elevation
    last: Elevation
    kind: str  # shelf, floor, face, crest, slope

    @property
    def width(self) -> Length:
        """Along the section. [m]"""
        return self.end - self.start

    @property
    def slope(self) -> float:
        """Level for one upright; infinite where it is level."""
        rise = abs(self.last - self.first)
        return self.width / rise if rise > 0.0 else float("inf")


@dataclass(frozen=True, slots=True)
class Crest:
    """A level crest beside a water: from where to where, its level, and how far it stands over the water."""

    start: Length
    end: Length
    level: Elevation
    over: Length


@dataclass(frozen=True, slots=True)
class Deepest:
    """The deepest place of a water along a section: where, its depth, the level of the water."""

    at: Length
    depth: Length
    water: Elevation


@dataclass(frozen=True, slots=True)
class Measured:
    """All that is measured along a section."""

    corners: tuple[Corner, ...]
    runs: tuple[Run, ...]
    crests: tuple[Crest, ...]
    deepest: tuple[Deepest, ...]


def measured(profile: Profile) -> Measured:
    """Measure a section.

    Parameters
    ----------
    profile : Profile

    Returns
    -------
    Measured     Only of what is dug, placed or under water: ground that stays has no dimensions.
    """
    bends = _bends(profile)
    runs = tuple(_run(profile, one, other) for one, other in pairwise(bends) if _is_work(profile, one, other))
    crests = tuple(_crests(profile, runs))
    deepest = tuple(one for water in profile.waters if (one := _deepest(profile, water)) is not None)
    return Measured(_corners(profile, runs, deepest), runs, crests, deepest)


def _bends(profile: Profile) -> list[tuple[float, float]]:
    """Corners of the finish, steps upright."""
    line = shapely.LineString(np.column_stack(profile.finish))
    found = shapely.get_coordinates(
        line.simplify(min(SMOOTH, FINE * profile.spacing), preserve_topology=False)
    )
    return [(float(at), float(level)) for at, level in found]


def _is_work(profile: Profile, one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether a piece of the finish is dug, placed or under water."""
    middle = 0.5 * (one[0] + other[0])
    if _water_at(profile, middle, min(one[1], other[1])) is not None:
        return True
    level = 0.5 * (one[1] + other[1])
    return abs(level - float(np.interp(middle, profile.chainage, profile.ground))) > TOUCHED


def _water_at(profile: Profile, at: Length, level: Elevation) -> Water | None:
    """Water over a place of the finish; at a fall that of the lower reach has its foot."""
    over = [
        one
        for one in profile.waters
        if one.start - NEAR <= at <= one.end + NEAR and level < one.level - 0.2 * NEAR
    ]
    return min(over, key=lambda one: one.level, default=None)


def _deepest(profile: Profile, water: Water) -> Deepest | None:
    """Deepest place of a water: of a level floor its middle."""
    at, level = profile.finish
    inside = (at > water.start + NEAR) & (at < water.end - NEAR)
    if not inside.any() or float(level[inside].min()) >= water.level:
        return None
    low = float(level[inside].min())
    floor = np.flatnonzero(inside & (level <= low + 0.2 * NEAR))
    first = np.split(floor, np.flatnonzero(np.diff(floor) > 1) + 1)
    longest = max(first, key=lambda run: at[run[-1]] - at[run[0]])
    middle = 0.5 * float(at[longest[0]] + at[longest[-1]])
    return Deepest(middle, water.level - low, water.level)


def _run(profile: Profile, one: tuple[float, float], other: tuple[float, float]) -> Run:
    (start, first), (end, last) = one, other
    run = Run(start, end, first, last, "slope")
    return Run(start, end, first, last, _kind(profile, run))


def _kind(profile: Profile, run: Run) -> str:
    """What a piece of the finish is."""
    if run.width <= UPRIGHT:
        return "face"
    water = _water_at(profile, 0.5 * (run.start + run.end), min(run.first, run.last))
    if water is None:
        return "slope"
    flat = run.slope * SHELF >= 1.0
    deepest = _deepest(profile, water)
    if flat and deepest is not None and water.level - min(run.first, run.last) > FLOOR * deepest.depth:
        return "floor"
    return "shelf" if flat and run.width >= NARROWEST else "slope"


def _crests(profile: Profile, runs: Sequence[Run]) -> Iterator[Crest]:
    """Level pieces at the level of a crest, on either side of each water; of two that join, one."""
    found: list[Crest] = []
    for water in profile.waters:
        for outward, shore in ((-1, water.start), (1, water.end)):
            flat = [run for run in runs if _is_crest(run, water) and outward * (run.start - shore) >= -NEAR]
            if not flat:
                continue
            nearest = min(flat, key=lambda run: abs(0.5 * (run.start + run.end) - shore))
            # A section that meets the shore aslant has farther to go.
            if min(abs(nearest.start - shore), abs(nearest.end - shore)) <= 1.5 * water.bank:
                found.append(Crest(nearest.start, nearest.end, water.crest, water.crest - water.level))
    found.sort(key=lambda one: one.start)
    for number, one in enumerate(found):
        before = found[number - 1] if number else None
        # Two waters share a bank: it is told once.
        if before is None or one.start - before.end > NEAR or abs(one.level - before.level) > NEAR:
            yield one


def _is_crest(run: Run, water: Water) -> bool:
    ends = abs(run.first - water.crest), abs(run.last - water.crest)
    return run.kind == "slope" and run.slope * LEVEL >= 1.0 and max(ends) < 2.0 * NEAR


def _corners(profile: Profile, runs: Sequence[Run], deepest: Sequence[Deepest]) -> tuple[Corner, ...]:
    """Corners of all pieces, and the deepest places, from the left end on."""
    found: dict[tuple[float, float], int] = {}
    weights = {"face": 0, "shelf": 0}
    for run in runs:
        for place in ((run.start, run.first), (run.end, run.last)):
            found[place] = min(found.get(place, 3), weights.get(run.kind, 2))
    for one in deepest:
        # A floor has its depth at its ends already.
        if not any(abs(level - (one.water - one.depth)) < NEAR for _at, level in found):
            found[(one.at, one.water - one.depth)] = 0
    return tuple(
        Corner(at, level, _depth(profile, at, level), weight)
        for (at, level), weight in sorted(found.items(), key=lambda item: item[0][0])
    )


def _depth(profile: Profile, at: Length, level: Elevation) -> Length | None:
    water = _water_at(profile, at, level)
    return None if water is None else water.level - level


def part_of(profile: Profile, start: Length, end: Length) -> tuple[Surface, Surface, Surface]:
    """Ground, finish and dig of a part of a section, each as chainage and elevations.

    Parameters
    ----------
    profile : Profile
    start, end : Length     Where the part lies. [m]

    Returns
    -------
    tuple of ((n,), (n,)) arrays
    """
    ground, finish, dug_to = (
        _between(*each, start, end)
        for each in ((profile.chainage, profile.ground), profile.finish, profile.dug_to)
    )
    return ground, finish, dug_to


def _between(at: Points, level: Points, start: Length, end: Length) -> Surface:
    inside = (at > start) & (at < end)
    ends = np.clip(np.array([start, end]), at[0], at[-1])
    levels = np.interp(ends, at, level)
    return (
        np.concatenate([ends[:1], at[inside], ends[1:]]),
        np.concatenate([levels[:1], level[inside], levels[1:]]),
    )
