"""From where the liner is seen that lies bare when the water has fallen.

See Also
--------
pondwright.rooms.shape.sight : lines of sight.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, FloatArray, Length, Lengths, Ratios
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import signed_area
from pondwright.rooms.shape.sight import NO_SCREENS, Eye, sight_lines

SHORT = 1.5
"""A line of sight ends this far before the bank, which would hide itself on a grid. [cells]"""


def inward_normals(ring: Lengths) -> FloatArray:
    """Direction into the water at every point of a shore.

    Parameters
    ----------
    ring : (n, 2) array     Outer shore, either way round. [m]

    Returns
    -------
    (n, 2) array            Of length 1.

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [2.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    >>> abs(inward_normals(square)[1]).tolist()
    [0.0, 1.0]

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    ahead = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    found = np.column_stack([-ahead[:, 1], ahead[:, 0]]) * np.sign(signed_area(ring))
    return np.asarray(found / np.maximum(np.hypot(found[:, 0], found[:, 1]), 1e-12)[:, None])


def faces_eye(
    points: Lengths, levels: Elevations, inward: FloatArray, steep: Ratios, eye: Eye
) -> NDArray[np.bool_]:
    """Whether a bank shows its face to an eye.

    Parameters
    ----------
    points : (n, 2) array     On the bank. [m]
    levels : (n,) array       Of these places. [m]
    inward : (n, 2) array     Into the water, of length 1.
    steep : (n,) array        Sine of the bank's angle from level: 1 is upright. [-]
    eye : Eye

    Returns
    -------
    (n,) bool array

    Raises
    ------
    DomainError               If a sine is not between 0 and 1.

    Examples
    --------
    An upright bank is seen from over the water alone, a gentle one from behind as well.

    >>> place, way = np.zeros((1, 2)), np.array([[1.0, 0.0]])
    >>> eyes = (Eye(5.0, 0.0, 1.5), Eye(-5.0, 0.0, 1.5))
    >>> [bool(faces_eye(place, np.zeros(1), way, np.ones(1), eye)[0]) for eye in eyes]
    [True, False]
    >>> bool(faces_eye(place, np.zeros(1), way, np.array([0.1]), eyes[1])[0])
    True

    hand

    References
    ----------
    .. [1] Derived: sign of a scalar product with the normal of the bank.
    """
    if ((steep < 0.0) | (steep > 1.0)).any():
        raise DomainError("`steep` must lie between 0 and 1")
    toward = np.array([eye.east, eye.north]) - points
    level = (toward * inward).sum(axis=1)
    return np.asarray(level * steep + (eye.elevation - levels) * np.sqrt(1.0 - steep**2) > 0.0)


def band_seen(
    cover: Elevations,
    grid: Grid,
    eye: Eye,
    points: Lengths,
    levels: Elevations,
    inward: FloatArray,
    steep: Ratios,
    walls: FloatArray = NO_SCREENS,
) -> NDArray[np.bool_]:
    """Places of a bank that an eye sees.

    Parameters
    ----------
    cover : (rows, columns) array     Ground with the fallen water on it. [m]
    grid : Grid                       Where the nodes are.
    eye : Eye
    points : (n, 2) array             In the middle of the bare band. [m]
    levels : (n,) array               Of these places. [m]
    inward : (n, 2) array             Into the water, of length 1.
    steep : (n,) array                Sine of the bank's angle from level. [-]
    walls : (k, 6) array              Screens. [m]

    Returns
    -------
    (n,) bool array

    Raises
    ------
    DomainError                       If the eye or a place is not on the grid.

    Examples
    --------
    >>> grid = Grid(0.0, 0.0, 1.0, columns=13, rows=3)
    >>> bank = np.array([[9.0, 1.0]]), np.array([0.0]), np.array([[-1.0, 0.0]]), np.ones(1)
    >>> band_seen(np.zeros(grid.shape) - 0.2, grid, Eye(0.0, 1.0, 1.5), *bank).tolist()
    [True]

    hand

    References
    ----------
    .. [1] Derived: a line of sight, and the side that the bank shows.
    """
    faces = faces_eye(points, levels, inward, steep, eye)
    seen = np.zeros(len(points), dtype=np.bool_)
    if faces.any():
        found = sight_lines(cover, grid, eye, points[faces], levels[faces], walls, SHORT)
        seen[faces] = found.horizon <= levels[faces]
    return seen


def seen_length(seen: NDArray[np.bool_], steps: Lengths) -> Length:
    """Length of the places that are seen.

    Parameters
    ----------
    seen : (n,) bool array
    steps : (n,) array         Length of each. [m]

    Returns
    -------
    Length                     [m]

    Examples
    --------
    >>> seen_length(np.array([True, False, True]), np.array([1.0, 2.0, 0.5]))
    1.5

    hand

    References
    ----------
    .. [1] Derived: sum.
    """
    return float(steps[seen].sum())
