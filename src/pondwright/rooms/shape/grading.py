"""The graded surface: pond, berm and slopes laid into the existing ground.

A body allows the finish only between two surfaces, told relative to its water level: inside the
shore both are the bed; outside, the lower one is the bank, the crest and the falling outer
slope, and the upper one is the bank and the rising cut slope.  The finish is the ground held
between the two.  That is one maximum and one minimum a node, continuous in every
parameter, with no search for where a slope meets the ground; and another water level only
lifts both surfaces, so trial levels cost almost nothing.

Slopes that come back behind a hill, not connected with their berm, are let go.  Bodies are laid
in order of rank, each into what the earlier ones left.

See Also
--------
pondwright.rooms.earth.balance : tries levels with the same compiled rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, FloatArray, Length, Lengths, Ratios, Slope
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import grading as kernels
from pondwright.geometry.kernels import placed
from pondwright.geometry.kernels.grading import (
    BERM,
    CUT_SLOPE,
    EXISTING,
    FIRST_ZONE,
    PARTS,
    PATH,
    PLACED_SLOPE,
    ZONES_PER_BODY,
)
from pondwright.geometry.scratch import SCRATCH
from pondwright.geometry.window import Window, nodes_in, whole
from pondwright.rooms.shape.profile import Profile

__all__ = [
    "BERM",
    "CUT_SLOPE",
    "EXISTING",
    "FIRST_ZONE",
    "PARTS",
    "PATH",
    "PLACED_SLOPE",
    "ZONES_PER_BODY",
    "Bank",
    "BankStretch",
    "Feet",
    "Graded",
    "Laid",
    "Limits",
    "blended",
    "connected",
    "covered_parts",
    "fallen_floor",
    "finish_limits",
    "graded",
    "laid",
    "open_edge",
    "part_code",
    "placed_feet",
    "stacked",
    "stream_limits",
    "stretch_share",
    "whole_rows",
]

Parts = NDArray[np.int8]

MOST_BODIES = (PARTS - FIRST_ZONE) // ZONES_PER_BODY
"""Bodies whose zones fit into the part codes of one surface."""


@dataclass(frozen=True, slots=True)
class Bank:
    """The bank above the water and the slopes that join it with the ground.

    Attributes
    ----------
    freeboard : Length        Height of the crest above the water. [m], >= 0
    slope_in : Slope          Wet side, level for one upright. [m/m], > 0
    crest_width : Length      Level top. [m], >= 0
    cut, fill : Slope         Dug and placed slopes, level for one upright. [m/m], > 0
    """

    freeboard: Length
    slope_in: Slope
    crest_width: Length
    cut: Slope
    fill: Slope

    @property
    def crest_end(self) -> Length:
        """Distance from the shore to the outer edge of the crest. [m]"""
        return self.freeboard * self.slope_in + self.crest_width


@dataclass(frozen=True, slots=True, eq=False)
class BankStretch:
    """A stretch of a shore with a bank of its own.

    Attributes
    ----------
    profile : Profile        Its bank.
    line : (n, 2) array      Along the shore. [m]
    blend : Length           Length over which it runs over at its ends. [m], >= 0
    """

    profile: Profile
    line: Lengths
    blend: Length


@dataclass(frozen=True, slots=True, eq=False)
class Limits:
    """Lowest and highest finish of one body above its water level, and the region of each node.

    Attributes
    ----------
    lower, upper : (rows, columns) arrays      Equal inside the shore. [m]
    region : (rows, columns) int array         Part code where the body decides.
    """

    lower: Lengths
    upper: Lengths
    region: Parts


@dataclass(frozen=True, slots=True, eq=False)
class Graded:
    """The finish: elevations and parts of all nodes, and how many nodes were let go."""

    z: Elevations
    part: Parts
    let_go: int


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """The finish before slopes are let go: elevations, parts, and which nodes need a connection."""

    z: Elevations
    part: Parts
    state: Parts


def part_code(body: int, zone: int) -> int:
    """Part code of a zone of the body at one place in the order.

    Parameters
    ----------
    body : int     Place of the body in the order of laying, from 0.
    zone : int     Zone of its bank; zones past the tenth share the last code.

    Returns
    -------
    int

    Examples
    --------
    >>> part_code(0, 2), part_code(1, 0)
    (12, 20)

    hand

    References
    ----------
    .. [1] Convention of the carrier.
    """
    return FIRST_ZONE + ZONES_PER_BODY * body + min(zone, ZONES_PER_BODY - 1)


def covered_parts(bodies: Sequence[str], body: str | None = None, zone: int | None = None) -> list[int]:
    """Part codes of one zone of a body, of a whole body, or of all of them.

    Parameters
    ----------
    bodies : sequence of str     All bodies, in the order of laying.
    body : str                   None is all of them.
    zone : int                   None is every zone.

    Returns
    -------
    list of int                  Empty where the body is none of them.

    Examples
    --------
    >>> covered_parts(["pond", "brook"], "brook", 2), len(covered_parts(["pond", "brook"], "pond"))
    ([22], 10)

    hand

    References
    ----------
    .. [1] Convention of the carrier.
    """
    places = [place for place, name in enumerate(bodies) if body in (None, name)]
    zones = range(ZONES_PER_BODY) if zone is None else (zone,)
    return [part_code(place, each) for place in places for each in zones]


def finish_limits(
    profile: Profile,
    bank: Bank,
    distance: Lengths,
    spacing: Length,
    body: int = 0,
    known: tuple[Limits, Window] | None = None,
) -> Limits:
    """Lowest and highest finish that a body allows at every node, above its water level.

    Parameters
    ----------
    profile : Profile
    bank : Bank
    distance : (rows, columns) array     Signed distance to the shore, positive inside. [m]
    spacing : Length                     Of the grid; a riser is spread over it. [m], > 0
    body : int                           Place of the body in the order of laying.
    known : Limits and Window            Of last time, and where the distance is another one since; the rest
                                         must be the same.

    Returns
    -------
    Limits

    Raises
    ------
    DomainError                          If a slope is not above 0, or there are too many bodies.

    References
    ----------
    .. [1] Derived: the clamp form of daylight, ``z = min(max(ground, lower), upper)``.
    """
    if body >= MOST_BODIES:
        raise DomainError(f"`bodies` must be at most {MOST_BODIES}, got {body + 1}")
    for name in ("slope_in", "cut", "fill"):
        if not getattr(bank, name) > 0.0:
            raise DomainError(f"`{name}` must be above 0 m/m, got {getattr(bank, name)} m/m")
    if known is None:
        window = whole(distance.shape)
        lower, upper = np.empty_like(distance), np.empty_like(distance)
        region = np.empty(distance.shape, dtype=np.int8)
    else:
        before, window = known
        lower, upper, region = before.lower.copy(), before.upper.copy(), before.region.copy()
    kernels.finish_limits(
        distance,
        profile.knots,
        profile.depths,
        np.array([part_code(body, int(zone)) for zone in profile.zones], dtype=np.int8),
        profile.risers,
        profile.heights,
        spacing,
        np.array([bank.freeboard, 1 / bank.slope_in, bank.crest_end, 1 / bank.cut, 1 / bank.fill]),
        window,
        lower,
        upper,
        region,
    )
    return Limits(lower, upper, region)


def blended(base: Limits, other: Limits, share: Ratios) -> Limits:
    """Limits that run over from one bank type into another.

    Parameters
    ----------
    base, other : Limits               Of the same body, with the same bank.
    share : (rows, columns) array      How much the other one counts, 0 to 1. [-]

    Returns
    -------
    Limits

    References
    ----------
    .. [1] Derived: linear blend; continuous because all three fields are.
    """
    return Limits(
        base.lower + share * (other.lower - base.lower),
        base.upper + share * (other.upper - base.upper),
        np.where(share >= 0.5, other.region, base.region),
    )


def stream_limits(
    limits: Limits, distance: Lengths, drop: Lengths, share: Ratios, bed: Lengths | None = None
) -> Limits:
    """Limits of a stream: its bed rises to the sills, and each reach lies lower than the one before.

    Parameters
    ----------
    limits : Limits                      As if all of it stood at the level of its first reach.
    distance : (rows, columns) array     Signed distance to the banks, positive inside. [m]
    drop : (rows, columns) array         How far the reach of each node lies below the first. [m], >= 0
    share : (rows, columns) array        How much of its depth the bed has: 0 on a sill. [-]
    bed : (rows, columns) array          Depth of the bed where it is told; else the bank type's. [m]

    Returns
    -------
    Limits

    References
    ----------
    .. [1] Derived: the same surface, lowered reach by reach.
    """
    depth = -limits.lower if bed is None else np.minimum(-limits.lower, bed)
    sill = np.where(distance > 0.0, -np.maximum(depth, 0.0) * share, 0.0)
    lower = np.where(distance > 0.0, sill, limits.lower) - drop
    upper = np.where(distance > 0.0, sill, limits.upper) - drop
    return Limits(lower, upper, limits.region)


def fallen_floor(
    limits: Limits, distance: Lengths, reach: Length, fall: Slope, spot: tuple[Length, Length], grid: Grid
) -> Limits:
    """Limits of a body whose floor falls towards a low spot, so that it can be drained and cleaned.

    Parameters
    ----------
    limits : Limits                      With a level floor.
    distance : (rows, columns) array     Signed distance to the shore, positive inside. [m]
    reach : Length                       Distance from the shore at which the floor begins. [m]
    fall : Slope                         Of the floor, upright for one level. [m/m], > 0
    spot : (east, north)                 The low spot. [m]
    grid : Grid                          Where the nodes are.

    Returns
    -------
    Limits

    Notes
    -----
    The floor drops by fall × (R - r), with r the distance from the spot and R that of the farthest floor;
    beside the bank no steeper than 1 in 3, so that it stays one surface.

    References
    ----------
    .. [1] Derived; the fall is common practice, no source.
    """
    on_floor = distance > reach
    if not on_floor.any():
        return limits
    away = np.hypot(grid.east[None, :] - spot[0], grid.north[:, None] - spot[1])
    extra = np.minimum(fall * (away[on_floor].max() - away), (distance - reach) / 3.0)
    extra = np.where(on_floor, np.maximum(extra, 0.0), 0.0)
    return Limits(limits.lower - extra, limits.upper - extra, limits.region)


def stretch_share(distance: Lengths, line_distance: Lengths, blend: Length) -> Ratios:
    """How much a stretch of the shore counts at every node.

    Parameters
    ----------
    distance : (rows, columns) array          Signed distance to the whole shore. [m]
    line_distance : (rows, columns) array     Distance to the stretch alone. [m]
    blend : Length                            Length over which it runs over at its ends. [m], >= 0

    Returns
    -------
    (rows, columns) array                     1 where the stretch is the nearest shore. [-]

    Notes
    -----
    1 - (distance to the stretch less distance to the shore) / blend, held between 0 and 1.

    References
    ----------
    .. [1] Derived: continuous because both distances are.
    """
    behind = line_distance - np.abs(distance)
    if blend <= 0.0:
        # Equal distances from two computations may differ in the last bits.
        return (behind <= 1e-9).astype(np.float64)
    return np.clip(1.0 - behind / blend, 0.0, 1.0)


def stacked(limits: Sequence[Limits], window: Window | None = None) -> tuple[FloatArray, FloatArray, Parts]:
    """Limits of all bodies as three arrays, body first.

    Parameters
    ----------
    limits : Limits               In the order of laying.
    window : Window, optional     First and end row, first and end column of the nodes that are wanted.

    Returns
    -------
    tuple of arrays     Lower, upper and region, each (bodies, rows, columns) of the window or of the whole
                        grid; read-only if of one body on the whole grid.

    References
    ----------
    .. [1] Convention of the compiled loops.
    """
    if len(limits) == 1 and window is None:
        # Most jobs have one body, and a frame should not copy its surfaces.
        lower, upper, region = limits[0].lower[None], limits[0].upper[None], limits[0].region[None]
        for array in (lower, upper, region):
            array.flags.writeable = False
        return lower, upper, region
    nodes = np.s_[:, :] if window is None else nodes_in(window)
    return (
        np.stack([each.lower[nodes] for each in limits]),
        np.stack([each.upper[nodes] for each in limits]),
        np.stack([each.region[nodes] for each in limits]),
    )


def graded(
    ground: Elevations, limits: tuple[FloatArray, FloatArray, Parts], levels: Sequence[Elevation]
) -> Graded:
    """Finish of all bodies at their water levels.

    Parameters
    ----------
    ground : (rows, columns) array     The existing ground. [m]
    limits : arrays                    From :func:`stacked`.
    levels : Elevation                 Water level of each body. [m]

    Returns
    -------
    Graded                             Read-only arrays.

    Notes
    -----
    ``z = min(max(ground, level + lower), level + upper)``, body after body.

    References
    ----------
    .. [1] Derived: the clamp form of daylight.
    """
    return connected(laid(ground, limits, levels), ground)


def laid(
    ground: Elevations,
    limits: tuple[FloatArray, FloatArray, Parts],
    levels: Sequence[Elevation],
    window: Window | None = None,
    under: Laid | None = None,
) -> Laid:
    """Finish of all bodies before slopes without a connection are let go: each node by itself.

    Parameters
    ----------
    ground : (rows, columns) array     The existing ground. [m]
    limits : arrays                    From :func:`stacked`, of the window if there is one.
    levels : Elevation                 Water level of each body. [m]
    window : Window, optional          First and end row, first and end column of the nodes to lay.
    under : Laid, optional             What all other nodes are taken from.

    Returns
    -------
    Laid                               Read-only arrays.

    References
    ----------
    .. [1] Derived: the clamp form of daylight.
    """
    if under is not None and window is not None:
        nodes = nodes_in(window)
        anew = laid(np.ascontiguousarray(ground[nodes]), limits, levels)
        z, part, state = under.z.copy(), under.part.copy(), under.state.copy()
        z[nodes], part[nodes], state[nodes] = anew.z, anew.part, anew.state
    else:
        z, part = np.empty(ground.shape), np.empty(ground.shape, dtype=np.int8)
        state = np.empty(ground.shape, dtype=np.int8)
        heights = np.array(levels, dtype=np.float64)
        kernels.laid_surface(ground, *limits, heights, whole_rows(ground.shape), True, z, part, state)
    for array in (z, part, state):
        array.flags.writeable = False
    return Laid(z, part, state)


def connected(finish: Laid, ground: Elevations) -> Graded:
    """Finish without the slopes that come back behind a hill, not connected with their berm.

    Parameters
    ----------
    finish : Laid
    ground : (rows, columns) array     The existing ground. [m]

    Returns
    -------
    Graded                             Read-only arrays; where nothing is let go, those of `finish`.

    References
    ----------
    .. [1] Derived: nodes that are reached over neighbours from a node that a body holds.
    """
    state, spans = finish.state.copy(), whole_rows(ground.shape)
    gone = int(kernels.anchored(spans, state))
    if not gone:
        return Graded(finish.z, finish.part, 0)
    z, part = finish.z.copy(), finish.part.copy()
    kernels.let_go(ground, spans, state, z, part)
    z.flags.writeable = part.flags.writeable = False
    return Graded(z, part, gone)


@dataclass(frozen=True, slots=True, eq=False)
class Feet:
    """Where the placed soil of each body ends lowest, row by row of the grid.

    Attributes
    ----------
    nodes : (rows, bodies) int array     Flat node of placed soil beside untouched ground; -1 where none is.
    under_berm : (rows, bodies) array    Lowest ground under its berm; infinity where there is none. [m]
    """

    nodes: NDArray[np.int32]
    under_berm: Elevations

    def lowest(self, ground: Elevations) -> tuple[NDArray[np.int32], Elevations]:
        """Lowest foot of each body on the whole grid, and the lowest ground under its berm.

        Parameters
        ----------
        ground : (rows, columns) array     The existing ground. [m]

        Returns
        -------
        (bodies,) int array                Flat node; -1 where none is.
        (bodies,) array                    Infinity where there is no berm. [m]
        """
        # Of feet of one height the first row's is taken.
        rows = np.where(self.nodes < 0, np.inf, ground.ravel()[self.nodes]).argmin(axis=0)
        return self.nodes[rows, np.arange(len(rows))], self.under_berm.min(axis=0)


def placed_feet(
    z: Elevations,
    part: Parts,
    ground: Elevations,
    distances: Sequence[Lengths],
    before: tuple[Feet, tuple[int, int]] | None = None,
) -> Feet:
    """Where the placed soil of each body ends lowest, and the lowest ground under its berm.

    Parameters
    ----------
    z : (rows, columns) array              The finish. [m]
    part : (rows, columns) int array       Its parts.
    ground : (rows, columns) array         The existing ground. [m]
    distances : (rows, columns) arrays     Signed distance to the shore of each body, positive inside. [m]
    before : Feet and (int, int)           Of last time on the same ground, and the first and end row outside
                                           which nothing is another than it was.

    Returns
    -------
    Feet

    Notes
    -----
    Placed soil is that of the body whose shore is nearest.

    References
    ----------
    .. [1] Derived: lowest of the nodes.
    """
    rows = z.shape[0]
    if before is None:
        first, end = 0, rows
        # Without any body there is still one owner: nobody asks for it.
        feet, under_berm = (
            np.empty((rows, max(len(distances), 1)), dtype=kind) for kind in (np.int32, float)
        )
    else:
        # Whether a node is a foot is told by the rows beside it too.
        first, end = max(before[1][0] - 1, 0), min(before[1][1] + 1, rows)
        feet, under_berm = before[0].nodes.copy(), before[0].under_berm.copy()
    feet[first:end], under_berm[first:end] = -1, np.inf
    nodes, at_foot = (
        SCRATCH.room("placed_nodes", z.size, np.int32),
        SCRATCH.room("placed_at_foot", z.size, np.int8),
    )
    count = placed.placed_nodes(z, part, ground, first, end, nodes, at_foot)
    nodes, at_foot = nodes[:count], at_foot[:count]
    nearest, owner = np.full(count, -np.inf), np.zeros(count, dtype=np.int8)
    for body, distance in enumerate(distances):
        placed.claim(distance.ravel(), nodes, body, nearest, owner)
    placed.lowest_feet(ground, part, nodes, at_foot, owner, feet, under_berm)
    return Feet(feet, under_berm)


def whole_rows(shape: tuple[int, int]) -> NDArray[np.int32]:
    """First and end column of every row, for loops over all nodes.

    Parameters
    ----------
    shape : (int, int)     Rows and columns of nodes.

    Returns
    -------
    (rows, 2) int array    Read-only.

    References
    ----------
    .. [1] Convention of the compiled loops.
    """
    return _spans(*shape)


@lru_cache(maxsize=16)
def _spans(rows: int, columns: int) -> NDArray[np.int32]:
    """First and end column of every row: each frame asks for them several times."""
    spans = np.tile(np.array([0, columns], dtype=np.int32), (rows, 1))
    spans.flags.writeable = False
    return spans


def open_edge(part: Parts, grid: Grid) -> tuple[tuple[Length, Length], ...]:
    """Places where the design runs into the edge of the grid.

    Parameters
    ----------
    part : (rows, columns) int array     Parts of the finish.
    grid : Grid                          Where the nodes are.

    Returns
    -------
    tuple of (east, north)               The middle of each touched run along the edge. [m]

    References
    ----------
    .. [1] Derived: runs of changed nodes on the border.
    """
    # Around the grid from its first node: along the south, the east, the north and the west.
    border = np.concatenate([part[0], part[1:, -1], part[-1, -2::-1], part[-2:0:-1, 0]])
    touched = np.flatnonzero(border != EXISTING)
    if not len(touched):
        return ()
    breaks = np.flatnonzero(np.diff(touched) > 1) + 1
    starts, ends = np.concatenate([[0], breaks]), np.concatenate([breaks, [len(touched)]])
    middles = [_node_around(int(place), *part.shape) for place in touched[(starts + ends) // 2]]
    return tuple(
        (grid.origin_east + float(column) * grid.spacing, grid.origin_north + float(row) * grid.spacing)
        for row, column in middles
    )


def _node_around(place: int, rows: int, columns: int) -> tuple[int, int]:
    """Row and column of a node on the edge of a grid, counted around it from the first one on."""
    for side, (row, column, up, along) in (
        (columns - 1, (0, 0, 0, 1)),
        (rows - 1, (0, columns - 1, 1, 0)),
        (columns - 1, (rows - 1, columns - 1, 0, -1)),
    ):
        if place <= side:
            return row + up * place, column + along * place
        place -= side
    return rows - 1 - place, 0
