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
from numpy.typing import NDArray
from scipy.sparse import csc_array, csr_array, diags_array, eye_array
from scipy.sparse.linalg import splu

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Area, FloatArray, Length, Lengths, Ratio
from pondwright.geometry.kernels import drape as kernels
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

LOOK: int = 10
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

RELAXED: float = 1.7
"""How far a turn goes: 1 is to the places, more is beyond them. [-]"""

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
    own = _turned(mesh, turned)
    found = _made_larger(own, float(least_sizes(mesh, own).min()), 0)
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
    found: list[Cover] = []
    idle = rounds = 0
    while rounds + LOOK <= most and idle < IDLE:
        for _ in range(LOOK):
            search.turn()
        rounds += LOOK
        one = _made_larger(search.places, float(least_sizes(mesh, search.places).min()), rounds)
        if one is not None:
            gained = not found or one.area < (1.0 - GAIN) * min(each.area for each in found)
            idle = 0 if gained else idle + 1
            found.append(one)
            if one.stretch <= 1.0 + ENOUGH:
                break
        if cancelled is not None and cancelled():
            break
    edge = _edge(mesh)
    best = (one for one in sorted(found, key=lambda one: one.area) if _apart(one.places[edge]))
    return next(best, None), rounds


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
    sizes = np.empty(len(mesh.triangles))
    kernels.least_sizes(np.ascontiguousarray(places), mesh.triangles.astype(np.int32), mesh.flat, sizes)
    return sizes


def _made_larger(places: Lengths, least: float, rounds: int) -> Cover | None:
    """Cover from places, made larger until nothing is stretched; None if a triangle is turned over."""
    if not least > 0.0:
        return None
    larger = (1.0 + ROUNDING) / least if least < 1.0 else 1.0
    laid = (places - places.min(axis=0)) * larger
    length, width = laid.max(axis=0)
    return Cover(laid, float(length), float(width), max(1.0, 1.0 / least), rounds)


def _edge(mesh: LinerMesh) -> NDArray[np.int64]:
    """Points of each side that is the side of one triangle alone. (k, 2)"""
    starts, ends = mesh.triangles.ravel(), np.roll(mesh.triangles, -1, axis=1).ravel()
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    _, first, times = np.unique(low * len(mesh.points) + high, return_index=True, return_counts=True)
    lone = first[times == 1]
    return np.stack([starts[lone], ends[lone]], axis=1)


def _apart(sides: Lengths) -> bool:
    """Whether no two lines cross, each told by its ends. (k, 2, 2)"""
    lines = shapely.linestrings(sides)
    return bool(shapely.STRtree(lines).query(lines, predicate="crosses").size == 0)


class _Search:
    """Places of the corners and what each triangle and corner still wants of them."""

    def __init__(self, mesh: LinerMesh, turned: Angle, half_length: Length, half_width: Length) -> None:
        self._flat = mesh.flat
        self._triangles = mesh.triangles.astype(np.int32)
        self._weights = 0.5 * self._flat[:, 0] * self._flat[:, 2]
        self._half = np.array([half_length, half_width])
        self._hold = HOLD * float(self._weights.mean())
        slopes = _slopes(mesh, self._flat)
        held = self._hold * eye_array(len(mesh.points))
        matrix = slopes.T @ diags_array(np.repeat(self._weights, 2)) @ slopes + held
        self._solve = splu(
            csc_array(matrix),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        ).solve
        self.places = self._start(mesh, turned)
        self._held = self.places.copy()
        self._wanted = (slopes @ self.places).reshape(-1, 2, 2).transpose(0, 2, 1).reshape(-1, 4).copy()
        self._owed = np.zeros_like(self._wanted)
        self._owed_places = np.zeros_like(self.places)
        self._right = np.zeros_like(self.places)

    def turn(self) -> None:
        """What triangles and piece want, and the nearest places to both."""
        kernels.turn(
            self.places,
            self._triangles,
            self._flat,
            self._weights,
            self._half,
            self._hold,
            RELAXED,
            self._wanted,
            self._held,
            self._owed,
            self._owed_places,
            self._right,
        )
        self.places = np.ascontiguousarray(self._solve(self._right))

    def _start(self, mesh: LinerMesh, turned: Angle) -> Lengths:
        """The plan, turned and made as large as the piece."""
        own = _turned(mesh, turned)
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
