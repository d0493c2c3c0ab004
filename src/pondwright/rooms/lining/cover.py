"""The cover check: proof that a flat piece covers the ground without being stretched.

A flat sheet covers the ground (folds allowed) if every point of the ground can be given a place on the
sheet so that no two are nearer to each other on the sheet than over the ground. Here every corner of the
mesh gets such a place. Over one triangle the map from the sheet to the ground is linear, and it stretches
nothing if its largest stretch is at most 1; if no triangle is turned over and the edge crosses itself
nowhere, no two parts of the ground claim the same part of the sheet. Lengths of tapes along rows alone are
no proof where the ground slopes in both directions of the sheet at once.

The places are found by turns: each triangle wants to be no smaller than the ground in any direction, each
corner wants to lie on the piece, and one linear solve brings both together (alternating directions of
multipliers). What is left over is taken away by making the whole map larger, so the answer is proved
however far the search got.

See Also
--------
pondwright.rooms.lining.panels : the sizes that are checked here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.sparse import csc_array, csr_array, diags_array, eye_array
from scipy.sparse.linalg import splu

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Area, FloatArray, Length, Lengths, Ratio
from pondwright.rooms.lining.area import LinerMesh

ROUNDS: int = 400
"""Turns of the search at most."""

WORK: int = 4_000_000
"""Turns of all searches together at most, times triangles: keeps large meshes within seconds."""

LEAST_ROUNDS: int = 100
"""Turns that every search may take, however large the mesh."""

GAIN: float = 1e-3
IDLE: int = 4
"""The search ends where so many looks in turn made the piece smaller by less than this share."""

LOOK: int = 25
"""Turns between two looks at what is proved."""

HOLD: float = 0.02
"""How strongly corners are held on the piece, against how strongly triangles keep their size. [-]"""

GROWN = (1.0, 1.02, 1.04, 1.07, 1.12, 1.2, 1.35, 1.6)
"""Sizes of piece that are searched, against the first one: a piece that is too small finds no peace."""

NEARLY: float = 0.004
"""No larger size is searched where triangles are stretched by no more than this. [-]"""

ENOUGH: float = 1e-6
"""The search ends where no triangle is stretched by more than this. [-]"""

ROUNDING: float = 1e-12
"""The map is made larger by this much more than needed, so that rounding cannot undo the proof. [-]"""

Cancelled = Callable[[], bool]


@dataclass(frozen=True, slots=True, eq=False)
class Cover:
    """A map from a flat piece onto the ground.

    Attributes
    ----------
    places : (n, 2) array      Of each point of the mesh on the piece, along and across, from a corner. [m]
    length, width : Length     Piece that the map needs. [m]
    stretch : Ratio            Largest stretch of any triangle before the map was made larger. [-]
    rounds : int               Turns of the search.
    """

    places: Lengths
    length: Length
    width: Length
    stretch: Ratio
    rounds: int

    @property
    def area(self) -> Area:
        """Area of the piece. [m²]"""
        return self.length * self.width


def cover(
    mesh: LinerMesh, turned: Angle, length: Length, width: Length, cancelled: Cancelled | None = None
) -> Cover:
    """Smallest proved piece that the search found, starting from one of a given size.

    Parameters
    ----------
    mesh : LinerMesh           Ground with the true lengths of its sides.
    turned : Angle             Direction of the piece's length, anticlockwise from east. [rad]
    length, width : Length     Size to start from: that of the row arcs. [m], > 0
    cancelled : callable       Asked between the looks; once true, what is proved so far is given.

    Returns
    -------
    Cover

    Raises
    ------
    DomainError                If the size is not above 0, or the mesh is turned over on the plan.

    Notes
    -----
    With J the map of a triangle from the ground to the sheet, the stretch from the sheet to the ground is
    1 / σ_min(J).  Each turn projects J onto σ ≥ 1 and the corners onto the piece, and solves
    (GᵀAG + μI) w = GᵀA(J* - λ) + μ(w* - κ), whose matrix is factored once.

    References
    ----------
    .. [1] Derived: a map that lengthens nothing, triangle by triangle; Gram determinant of a linear map.
    """
    if not (length > 0.0 and width > 0.0):
        raise DomainError(f"`length` and `width` must be above 0 m, got {length} and {width} m")
    best = _plan(mesh, turned)
    left = max(LEAST_ROUNDS, WORK // len(mesh.triangles))
    for grown in GROWN:
        found, rounds = _searched(mesh, turned, grown * length, grown * width, min(left, ROUNDS), cancelled)
        left -= rounds
        if found is not None and found.area < best.area:
            best = found
        enough = best.stretch <= 1.0 + NEARLY or left < LOOK
        if enough or (cancelled is not None and cancelled()):
            break
    return best


def _plan(mesh: LinerMesh, turned: Angle) -> Cover:
    """The plan itself, made larger: always a proof, and never a good one."""
    found = _made_larger(_turned(mesh, turned), _values(_jacobians(mesh, _turned(mesh, turned)))[1].min(), 0)
    if found is None:
        raise DomainError("`mesh` must have its triangles anticlockwise on the plan")
    return found


def _turned(mesh: LinerMesh, turned: Angle) -> Lengths:
    """Points of the plan along and across a direction."""
    c, s = np.cos(turned), np.sin(turned)
    return np.asarray(mesh.points @ np.array([[c, -s], [s, c]]))


def _searched(
    mesh: LinerMesh, turned: Angle, length: Length, width: Length, most: int, cancelled: Cancelled | None
) -> tuple[Cover | None, int]:
    """Smallest cover on the way to a piece of one size, or None if each turned a part over; and the turns."""
    search = _Search(mesh, turned, 0.5 * length, 0.5 * width)
    best: Cover | None = None
    idle = rounds = 0
    while rounds + LOOK <= most:
        for _ in range(LOOK):
            search.turn()
        rounds += LOOK
        found = _made_larger(search.places, search.least_size(), rounds)
        idle += best is not None
        if found is not None and (best is None or found.area < best.area) and _edge_apart(mesh, found.places):
            gained = best is None or found.area < (1.0 - GAIN) * best.area
            best, idle = found, 0 if gained else idle
        if idle >= IDLE or (best is not None and best.stretch <= 1.0 + ENOUGH):
            break
        if cancelled is not None and cancelled():
            break
    return best, rounds


def least_sizes(mesh: LinerMesh, places: Lengths) -> FloatArray:
    """Least stretch from the ground to the sheet, triangle by triangle: 1 or more proves a triangle.

    Parameters
    ----------
    mesh : LinerMesh
    places : (n, 2) array     Of each point on the sheet. [m]

    Returns
    -------
    (m,) array                Negative where a triangle is turned over. [-]

    Examples
    --------
    >>> mesh = LinerMesh(np.zeros((3, 2)), np.array([[0, 1, 2]]), np.array([[3.0, 4.0, 5.0]]))
    >>> least_sizes(mesh, np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 4.0]])).round(9).tolist()
    [1.0]

    hand

    References
    ----------
    .. [1] Derived: smaller singular value of a 2 by 2 matrix.
    """
    return _values(_jacobians(mesh, places))[1]


def _made_larger(places: Lengths, least: float, rounds: int) -> Cover | None:
    """Cover from places, made larger until nothing is stretched; None if a triangle is turned over."""
    if not least > 0.0:
        return None
    larger = (1.0 + ROUNDING) / least if least < 1.0 else 1.0
    laid = (places - places.min(axis=0)) * larger
    length, width = laid.max(axis=0)
    return Cover(laid, float(length), float(width), max(1.0, 1.0 / least), rounds)


def _edge_apart(mesh: LinerMesh, places: Lengths) -> bool:
    """Whether the edge of the mesh, laid flat, crosses itself nowhere."""
    starts, ends = mesh.triangles.ravel(), np.roll(mesh.triangles, -1, axis=1).ravel()
    count = len(places)
    lone = ~np.isin(starts * count + ends, ends * count + starts)
    sides = shapely.linestrings(places[np.stack([starts[lone], ends[lone]], axis=1)])
    return bool(shapely.STRtree(sides).query(sides, predicate="crosses").size == 0)


class _Search:
    """Places of the corners and what each triangle and corner still wants of them."""

    def __init__(self, mesh: LinerMesh, turned: Angle, half_length: Length, half_width: Length) -> None:
        flat = mesh.flat
        self._mesh, self._half = mesh, np.array([half_length, half_width])
        self._slopes = _slopes(mesh, flat)
        area = 0.5 * flat[:, 0] * flat[:, 2]
        self._weights = np.repeat(area, 2)[:, None]
        self._hold = HOLD * float(area.mean())
        points = eye_array(len(mesh.points))
        matrix = self._slopes.T @ diags_array(self._weights[:, 0]) @ self._slopes + self._hold * points
        self._solve = splu(
            csc_array(matrix),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        ).solve
        self.places = self._start(turned)
        self._owed = np.zeros((len(mesh.triangles), 2, 2))
        self._owed_places = np.zeros_like(self.places)

    def turn(self) -> None:
        """One turn: what the triangles want, what the piece wants, and the nearest places to both."""
        maps = self._maps()
        wanted = _no_smaller(maps + self._owed)
        held = np.clip(self.places + self._owed_places, -self._half, self._half)
        self._owed += maps - wanted
        self._owed_places += self.places - held
        aim = (wanted - self._owed).transpose(0, 2, 1).reshape(-1, 2)
        right = self._slopes.T @ (self._weights * aim) + self._hold * (held - self._owed_places)
        self.places = self._solve(right)

    def least_size(self) -> float:
        """Smallest size of any triangle against the ground."""
        return float(_values(self._maps())[1].min())

    def _maps(self) -> FloatArray:
        return np.asarray(self._slopes @ self.places).reshape(-1, 2, 2).transpose(0, 2, 1)

    def _start(self, turned: Angle) -> Lengths:
        """The plan, turned and made as large as the piece."""
        own = _turned(self._mesh, turned)
        own = own - 0.5 * (own.max(axis=0) + own.min(axis=0))
        return np.asarray(own * (self._half / np.abs(own).max(axis=0)))


def _slopes(mesh: LinerMesh, flat: FloatArray) -> csr_array:
    """From places of the points to the maps of the triangles: two rows a triangle."""
    base, along, height = flat.T
    inverse = [(1.0 / base, np.zeros_like(base)), (-along / (base * height), 1.0 / height)]
    rows, columns, values = [], [], []
    for direction, (of_first, of_second) in enumerate(inverse):
        row = 2 * np.arange(len(flat)) + direction
        rows += [row] * 3
        columns += list(mesh.triangles.T)
        values += [-(of_first + of_second), of_first, of_second]
    shape = (2 * len(flat), len(mesh.points))
    return csr_array((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape)


def _jacobians(mesh: LinerMesh, places: Lengths) -> FloatArray:
    """Map of each triangle from the ground to the sheet. (m, 2, 2)"""
    maps = _slopes(mesh, mesh.flat) @ places
    return np.asarray(maps).reshape(-1, 2, 2).transpose(0, 2, 1)


def _values(maps: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Larger and smaller singular value of each map, the smaller one with the sign of the determinant."""
    turn, mirror = _parts(maps)
    return turn + mirror, turn - mirror


def _parts(maps: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Sizes of the turning and of the mirroring part of each map."""
    a, b, c, d = maps[:, 0, 0], maps[:, 0, 1], maps[:, 1, 0], maps[:, 1, 1]
    return np.hypot(0.5 * (a + d), 0.5 * (c - b)), np.hypot(0.5 * (a - d), 0.5 * (c + b))


def _no_smaller(maps: FloatArray) -> FloatArray:
    """Nearest maps that make nothing smaller."""
    turn, mirror = _parts(maps)
    large, small = np.maximum(turn + mirror, 1.0), np.maximum(turn - mirror, 1.0)
    turned = 0.5 * (large + small) / np.maximum(turn, 1e-12)
    mirrored = 0.5 * (large - small) / np.maximum(mirror, 1e-12)
    a, b, c, d = maps[:, 0, 0], maps[:, 0, 1], maps[:, 1, 0], maps[:, 1, 1]
    even, odd = 0.5 * (a + d) * turned, 0.5 * (a - d) * mirrored
    cross, spin = 0.5 * (c + b) * mirrored, 0.5 * (c - b) * turned
    found = np.empty_like(maps)
    found[:, 0, 0], found[:, 0, 1] = even + odd, cross - spin
    found[:, 1, 0], found[:, 1, 1] = cross + spin, even - odd
    return found
