"""Water that stone takes away: the solid of what stands below the level; voids hold water.

See Also
--------
pondwright.rooms.shape.storage : what a body holds without stone.
"""

from __future__ import annotations

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import (
    Density,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Mass,
    Ratios,
    Volume,
    Volumes,
)


def solid_volume(mass: Mass, solid: Density) -> Volume:
    """Volume of solid stone.

    Parameters
    ----------
    mass : Mass         [kg], >= 0
    solid : Density     Of the solid stone. [kg/m³], > 0

    Returns
    -------
    Volume              [m³]

    Raises
    ------
    DomainError         If the mass is below 0 or the density not above 0.

    Examples
    --------
    Half of 115.43 t of edge stone stands in the water:

    >>> round(solid_volume(0.5 * 115430.0, 2650.0), 1)
    21.8

    hand

    References
    ----------
    .. [1] Derived: mass over density.
    """
    if mass < 0.0:
        raise DomainError(f"`mass` must be at least 0 kg, got {mass:g} kg")
    if not solid > 0.0:
        raise DomainError(f"`solid` must be above 0 kg/m³, got {solid:g} kg/m³")
    return mass / solid


def share_under(levels: Elevations, foot: Elevation | Elevations, height: Length) -> Ratios:
    """Share of a stone or of a layer that stands below each level.

    Parameters
    ----------
    levels : (n,) array     Of the water. [m]
    foot : (...) array      On which it stands. [m]
    height : Length         Of the stone, or thickness of the layer. [m], > 0

    Returns
    -------
    (n, ...) array          0 to 1. [-]

    Raises
    ------
    DomainError             If it has no height.

    Notes
    -----
    A stone is taken to be as wide at the top as at the foot.

    Examples
    --------
    >>> share_under(np.array([9.0, 10.2, 11.0]), 10.0, 0.4).round(3).tolist()
    [0.0, 0.5, 1.0]

    hand

    References
    ----------
    .. [1] Derived: prism.
    """
    if not height > 0.0:
        raise DomainError(f"`height` must be above 0 m, got {height:g} m")
    at = np.asarray(levels, dtype=np.float64).reshape(-1, *(1,) * np.ndim(foot))
    return np.asarray(np.clip((at - np.asarray(foot)) / height, 0.0, 1.0))


def net_volumes(gross: Volumes, displaced: Volumes) -> Volumes:
    """Water that a body holds beside its stone, by level.

    Parameters
    ----------
    gross : (n,) array         Without stone, by rising level. [m³], >= 0
    displaced : (n,) array     Solid stone below each level. [m³], >= 0

    Returns
    -------
    (n,) array                 Never above gross, never below 0, never falling. [m³]

    Raises
    ------
    DomainError                If the arrays are not alike, or stone is below 0.

    Notes
    -----
    Stone cannot take more than there is, and more water never means less of it: where it would, the level
    before counts.

    Examples
    --------
    >>> net_volumes(np.array([0.0, 4.0, 10.0]), np.array([0.0, 1.5, 2.0])).tolist()
    [0.0, 2.5, 8.0]

    hand

    References
    ----------
    .. [1] Derived: balance of volumes.
    """
    if gross.shape != displaced.shape:
        raise DomainError(f"`gross` and `displaced` must be alike, got {gross.shape} and {displaced.shape}")
    if (displaced < 0.0).any():
        raise DomainError(f"`displaced` must be at least 0 m³, got {displaced.min():g} m³")
    return np.asarray(np.minimum(np.maximum.accumulate(np.maximum(gross - displaced, 0.0)), gross))


def layer_feet(start: Length, end: Length, slope: float, depth: Length, parts: int = 8) -> Lengths:
    """Depths of a zone of a bank in the middle of equal strips across it.

    Parameters
    ----------
    start, end : Length     Inward from the shore. [m]
    slope : float           Upright for one level; downward is above 0.
    depth : Length          At its start, below the water. [m]
    parts : int             Strips.

    Returns
    -------
    (parts,) array          Below the water. [m]

    Raises
    ------
    DomainError             If the zone ends before it starts.

    Examples
    --------
    >>> layer_feet(0.0, 2.0, 0.5, 0.1, 2).tolist()
    [0.35, 0.85]

    hand

    References
    ----------
    .. [1] Derived: straight line.
    """
    if end < start:
        raise DomainError(f"`end` must be at least `start`, {start:g} m, got {end:g} m")
    return depth + slope * (end - start) * (np.arange(parts) + 0.5) / parts
