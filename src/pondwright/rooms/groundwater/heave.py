"""Heave: tight soil that is left over ground with water under pressure.

See Also
--------
pondwright.rooms.groundwater.uplift : the same for a liner and what lies on it.
"""

from __future__ import annotations

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Density, FloatArray, Length, Lengths, Ratio, Ratios
from pondwright.rooms.groundwater.ballast import GRAINS, WATER, submerged_weight


def heave_factor(
    density: Density | FloatArray, thickness: Length | Lengths, pressure: Length | Lengths
) -> Ratios:
    """Factor against heave of tight soil that is left over ground with water under pressure.

    Parameters
    ----------
    density : Density       Of the tight soil, full of water. [kg/m³], > 0
    thickness : Lengths     Of the tight soil that is left. [m], >= 0
    pressure : Lengths      Head at its underside, above its underside. [m]

    Returns
    -------
    ndarray                 Infinite where there is no pressure. [-]

    Raises
    ------
    DomainError             If a density is not above 0.

    Notes
    -----
    FS = gamma d / (gw h_p).

    Examples
    --------
    1.5 m of clay of 19 kN/m³ over a head of 2.2 m:

    >>> round(float(heave_factor(19_000.0 / 9.81, 1.5, 2.2)), 4)
    1.3205

    hand

    References
    ----------
    .. [1] USBR and NAVFAC manuals, from memory; the factor wanted is 1.2 to 1.25 by common practice.
    """
    if not np.all(np.asarray(density) > 0.0):
        raise DomainError(f"`density` must be above 0 kg/m³, got {np.min(density):g} kg/m³")
    pressure = np.asarray(pressure, dtype=np.float64)
    weight = np.asarray(density * np.asarray(thickness, dtype=np.float64) / WATER)
    weight, pressure = np.broadcast_arrays(weight, pressure)
    return np.divide(weight, pressure, out=np.full(pressure.shape, np.inf), where=pressure > 0.0)


def critical_gradient(void_ratio: Ratio, grains: Ratio = GRAINS) -> Ratio:
    """Upward gradient at which soil begins to boil; a third of it is what one keeps to.

    Parameters
    ----------
    void_ratio : Ratio    Voids for one of solids. [-], >= 0
    grains : Ratio        Weight of the grains for one of water. [-], > 1

    Returns
    -------
    Ratio                 Head lost for one of way. [-]

    Raises
    ------
    DomainError           If the void ratio is below 0, or the grains would float.

    Notes
    -----
    i = (Gs - 1) / (1 + e).

    Examples
    --------
    >>> round(critical_gradient(0.65), 6)
    1.0

    hand

    References
    ----------
    .. [1] Terzaghi, from memory.
    """
    if void_ratio < 0.0:
        raise DomainError(f"`void_ratio` must be at least 0, got {void_ratio:g}")
    return submerged_weight(void_ratio / (1.0 + void_ratio), grains)
