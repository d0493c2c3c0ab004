"""Gas under a liner: whether it gets to the edge, and out.

Trapped air and gas of rotting soil lift a liner from below in bubbles.  A layer that lets gas along, a bed
that rises all the way to the edge, and vents there lead it away; muck that is left makes gas for years.

See Also
--------
pondwright.rooms.groundwater.uplift : water that lifts the liner.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevations, Length, Lengths, Slope
from pondwright.geometry.kernels.fill import fill

FLATTEST = 0.10
"""Part of the bed by whose rise it is judged: single level nodes trap nothing. [-]"""


def bed_rise(z: Elevations, under: NDArray[np.bool_], spacing: Length) -> Slope | None:
    """Rise of the flattest tenth of the bed under a liner.

    Parameters
    ----------
    z : (rows, columns) array             The bed. [m]
    under : (rows, columns) bool array    Nodes under the liner.
    spacing : Length                      Of the nodes. [m], > 0

    Returns
    -------
    Slope or None                         A tenth of the bed rises less; none without a node. [m/m]

    Notes
    -----
    The tenth part in the order of |grad z|.

    Examples
    --------
    >>> round(bed_rise(np.tile(0.03 * np.arange(5.0), (4, 1)), np.ones((4, 5), dtype=bool), 1.0), 9)
    0.03

    hand

    References
    ----------
    .. [1] Derived: slope of a surface.
    """
    if not under.any():
        return None
    north, east = np.gradient(z, spacing)
    return float(np.quantile(np.hypot(north, east)[under], FLATTEST))


def gas_pockets(z: Elevations, under: NDArray[np.bool_]) -> Lengths:
    """Height of the pockets in which gas is trapped: rises of the bed that do not reach the edge.

    Parameters
    ----------
    z : (rows, columns) array             The bed. [m]
    under : (rows, columns) bool array    Nodes under the liner; at all others gas gets out.

    Returns
    -------
    (rows, columns) array                 Of the gas that stays at each node, 0 where none does. [m], >= 0

    Notes
    -----
    Gas climbs: the bed upside down holds it as a hollow holds water.

    Examples
    --------
    >>> z = np.array([[0.0] * 5, [0.0, -0.5, -0.2, -0.5, 0.0], [0.0] * 5])
    >>> under = np.zeros((3, 5), dtype=bool)
    >>> under[1, 1:4] = True
    >>> float(gas_pockets(z, under).max())
    0.0
    >>> z[1, 2] = 0.1
    >>> float(gas_pockets(np.pad(z, 1, constant_values=-0.4), np.ones((5, 7), dtype=bool)).max().round(9))
    0.5

    hand

    References
    ----------
    .. [1] Derived: priority flood of the surface turned over.
    """
    upside_down = np.where(under, -z, -1e9)
    filled = np.empty_like(upside_down)
    fill(upside_down, filled)
    return np.where(under, filled - upside_down, 0.0)


def vents_needed(length: Length, apart: Length) -> int:
    """Vents that stand no farther apart than told along a closed edge.

    Parameters
    ----------
    length : Length     Of the edge. [m], >= 0
    apart : Length      From one vent to the next, at most. [m], > 0

    Returns
    -------
    int

    Raises
    ------
    DomainError         If the distance is not above 0.

    Examples
    --------
    >>> vents_needed(100.0, 7.6)
    14

    hand

    References
    ----------
    .. [1] Derived: division.
    """
    if not apart > 0.0:
        raise DomainError(f"`apart` must be above 0 m, got {apart:g} m")
    return math.ceil(length / apart - 1e-9)


def vent_gap(ring: Lengths, vents: Lengths) -> Length:
    """Longest way along a closed edge from one vent to the next.

    Parameters
    ----------
    ring : (n, 2) array      The edge: points in order. [m]
    vents : (k, 2) array     Each counts where it is nearest to the edge. [m]

    Returns
    -------
    Length                   The whole edge with one vent or none. [m]

    Examples
    --------
    >>> square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    >>> vent_gap(square, np.array([[5.0, -0.5], [10.5, 5.0], [0.0, 5.0]]))
    20.0

    hand

    References
    ----------
    .. [1] Derived: plane geometry.
    """
    steps = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    whole = float(lengths.sum())
    if len(vents) < 2:
        return whole
    starts = np.concatenate([[0.0], np.cumsum(lengths)[:-1]])
    squares = np.maximum(lengths**2, 1e-30)
    stations = []
    for vent in vents:
        along = np.clip(((vent - ring) * steps).sum(axis=1) / squares, 0.0, 1.0)
        off = ring + along[:, np.newaxis] * steps - vent
        nearest = int(np.argmin(np.hypot(off[:, 0], off[:, 1])))
        stations.append(starts[nearest] + along[nearest] * lengths[nearest])
    stations.sort()
    return float(np.diff([*stations, stations[0] + whole]).max())
