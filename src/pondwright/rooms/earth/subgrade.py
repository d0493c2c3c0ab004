"""The subgrade: the surface that is dug and placed to, below everything that covers it.

Leaving the liner, fabric, gravel and stone out of the dig is the classic omission of a takeoff.

See Also
--------
pondwright.rooms.earth.cutfill : volumes between the ground and this surface.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from pondwright.base.kinds import Elevations, Length, Lengths
from pondwright.geometry.kernels import grading as kernels
from pondwright.rooms.shape.grading import PARTS, Parts


def thickness_of_parts(covers: Iterable[tuple[Iterable[int], Length]]) -> Lengths:
    """Thickness of everything that covers each part of the finish.

    Parameters
    ----------
    covers : (part codes, thickness)     Covers add up where they lie on each other. [m], >= 0

    Returns
    -------
    (128,) array                         By part code, read-only. [m]

    Examples
    --------
    >>> thickness = thickness_of_parts([([10, 11], 0.05), ([11], 0.15)])
    >>> thickness[10:13].round(2).tolist()
    [0.05, 0.2, 0.0]

    hand

    References
    ----------
    .. [1] Derived: sum of layers.
    """
    thickness = np.zeros(PARTS)
    for parts, cover in covers:
        thickness[sorted(set(parts))] += cover
    thickness.flags.writeable = False
    return thickness


def subgrade(z: Elevations, part: Parts, thickness: Lengths) -> Elevations:
    """Surface that is dug and placed to.

    Parameters
    ----------
    z : (rows, columns) array            The finish. [m]
    part : (rows, columns) int array     Parts of the finish.
    thickness : (128,) array             Of the covers, by part code. [m]

    Returns
    -------
    (rows, columns) array                Read-only. [m]

    References
    ----------
    .. [1] Derived: finish less cover, measured upright.
    """
    under = np.empty_like(z)
    kernels.subgrade(z, part, thickness, under)
    under.flags.writeable = False
    return under


def dig_depth(ground: Elevations, subgrade: Elevations) -> Lengths:
    """Ground less subgrade at every node: dug where above zero, placed where below.

    Parameters
    ----------
    ground : (rows, columns) array       The existing ground. [m]
    subgrade : (rows, columns) array     From :func:`subgrade`. [m]

    Returns
    -------
    (rows, columns) array                [m]

    References
    ----------
    .. [1] Derived: difference of two surfaces.
    """
    return ground - subgrade
