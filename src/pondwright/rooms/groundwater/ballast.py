"""Ballast: how heavy stone and gravel on a liner are, dry and under water.

All weights are told as the head of water that they hold down, to compare with heads in the ground.  The
liner's own weight is nothing, and is never counted.

See Also
--------
pondwright.rooms.groundwater.uplift : the balance of ballast and groundwater.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Density, Length, Lengths, Mass, Ratio, Ratios
from pondwright.geometry.kernels.grading import PARTS

WATER: Density = 1000.0
"""Density of water, as it is told in the weights of ballast. [kg/m³]"""

GRAINS: Ratio = 2.65
"""Weight of grains and stones for one of water where no density tells: common practice. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Ballast:
    """What lies on the liner: its thickness, and the head that it holds down dry and in water.

    Parameters
    ----------
    thickness : Lengths     Square to the bed. [m], >= 0
    dry : Lengths           Head of water that it holds down where it is dry. [m], >= `submerged`
    submerged : Lengths     Head of water that it holds down under water. [m], >= 0
    """

    thickness: Lengths
    dry: Lengths
    submerged: Lengths

    def resistance(self, water: Lengths, cosine: Ratios | Ratio = 1.0) -> Lengths:
        """Head that it holds down, with water standing so high over the liner.

        Parameters
        ----------
        water : Lengths     Over the liner. [m], >= 0
        cosine : Ratios     Cosine of the bed's slope: what of a weight acts square to it. [-], 0 to 1

        Returns
        -------
        ndarray             [m]
        """
        wet = np.minimum(water, self.thickness)
        lost = np.divide(self.dry - self.submerged, self.thickness, out=np.zeros_like(wet), where=wet > 0.0)
        return (self.dry - lost * wet) * cosine


def stone(thickness: Lengths, porosity: Ratio, grains: Ratio = GRAINS) -> Ballast:
    """Ballast of one kind of stone or gravel.

    Parameters
    ----------
    thickness : Lengths   Square to the bed. [m], >= 0
    porosity : Ratio      Share of voids. [-], 0 to below 1
    grains : Ratio        Weight of the grains for one of water. [-], > 1

    Returns
    -------
    Ballast

    Raises
    ------
    DomainError           If the porosity is not below 1, or the grains would float.

    Examples
    --------
    >>> rock = stone(np.array([0.3]), 0.35)
    >>> rock.dry.round(5).tolist(), rock.submerged.round(5).tolist()
    ([0.51675], [0.32175])

    hand

    References
    ----------
    .. [1] Derived: thickness times weight.
    """
    return Ballast(
        thickness, thickness * dry_weight(porosity, grains), thickness * submerged_weight(porosity, grains)
    )


def dry_weight(porosity: Ratio, grains: Ratio = GRAINS) -> Ratio:
    """Weight of dry stone or gravel as placed, for one of water.

    Parameters
    ----------
    porosity : Ratio    Share of voids. [-], 0 to below 1
    grains : Ratio      Weight of the grains for one of water. [-], > 1

    Returns
    -------
    Ratio               Head held down by one of thickness. [-]

    Raises
    ------
    DomainError         If the porosity is not below 1, or the grains would float.

    Notes
    -----
    (1 - n) Gs.

    Examples
    --------
    >>> round(dry_weight(0.35), 4)
    1.7225

    hand

    References
    ----------
    .. [1] Derived: weight of the solids of a unit of volume.
    """
    _require_stone(porosity, grains)
    return (1.0 - porosity) * grains


def submerged_weight(porosity: Ratio, grains: Ratio = GRAINS) -> Ratio:
    """Weight of stone or gravel as placed under water, for one of water.

    Parameters
    ----------
    porosity : Ratio    Share of voids. [-], 0 to below 1
    grains : Ratio      Weight of the grains for one of water. [-], > 1

    Returns
    -------
    Ratio               Head held down by one of thickness. [-]

    Raises
    ------
    DomainError         If the porosity is not below 1, or the grains would float.

    Notes
    -----
    (1 - n) (Gs - 1): with 40 % of voids a metre of submerged rock holds down a metre of excess head.

    Examples
    --------
    >>> round(9.81 * submerged_weight(0.35), 3), round(submerged_weight(0.40), 2)
    (10.521, 0.99)

    hand

    References
    ----------
    .. [1] Derived: Archimedes.
    """
    _require_stone(porosity, grains)
    return (1.0 - porosity) * (grains - 1.0)


def grain_weight(density: Density, porosity: Ratio) -> Ratio:
    """Weight of the grains for one of water, from the density of the dry layer as placed.

    Parameters
    ----------
    density : Density   Of the dry layer, voids and all. [kg/m³], > 0
    porosity : Ratio    Share of voids. [-], 0 to below 1

    Returns
    -------
    Ratio               [-]

    Raises
    ------
    DomainError         If the porosity is not below 1, or the grains would float.

    Examples
    --------
    >>> round(grain_weight(1650.0, 0.38), 3)
    2.661

    hand

    References
    ----------
    .. [1] Derived: mass of the solids over their volume.
    """
    if not 0.0 <= porosity < 1.0:
        raise DomainError(f"`porosity` must be at least 0 and below 1, got {porosity:g}")
    grains = density / (WATER * (1.0 - porosity))
    _require_stone(porosity, grains)
    return grains


@dataclass(frozen=True, slots=True)
class CoverLayer:
    """One layer of a build-up: its thickness, what is known of its weight, and whether it holds the water."""

    thickness: Length
    porosity: Ratio | None = None
    density: Density | None = None
    seals: bool = False


def layer_weights(porosity: Ratio | None, density: Density | None) -> tuple[Ratio, Ratio]:
    """Weight of a layer for one of water, dry and submerged, from what is known of it.

    Parameters
    ----------
    porosity : Ratio or None    Share of voids. [-], 0 to below 1
    density : Density or None   Of the dry layer as placed. [kg/m³], > 0

    Returns
    -------
    tuple of Ratio              Dry and submerged; nothing where neither is known. [-]

    Notes
    -----
    What is not known is taken from grains of 2.65.  A layer that would float holds nothing down under water.

    Examples
    --------
    >>> [round(weight, 3) for weight in layer_weights(0.38, 1650.0)]
    [1.65, 1.03]
    >>> layer_weights(None, None)
    (0.0, 0.0)

    hand

    References
    ----------
    .. [1] Derived: the solids push away their own volume of water.
    """
    if density is None:
        if porosity is None:
            return 0.0, 0.0
        return dry_weight(porosity), submerged_weight(porosity)
    dry = density / WATER
    solid = min(dry / GRAINS, 1.0) if porosity is None else 1.0 - porosity
    return dry, max(dry - solid, 0.0)


def ballast_of_parts(covers: Iterable[tuple[Iterable[int], Sequence[CoverLayer]]]) -> tuple[Lengths, Ballast]:
    """What lies below the liner and on it, at each part of the finish.

    Parameters
    ----------
    covers : (part codes, layers)     Layers from the bottom up; covers of one part lie on each other.

    Returns
    -------
    (128,) array                      From the subgrade up to the liner, the liner with it, by part code. [m]
    Ballast                           Above it, by part code.

    Notes
    -----
    A cover in which nothing seals lies on the liner of the others; where none seals, the liner is taken to
    lie on the subgrade.

    Examples
    --------
    >>> liner = [CoverLayer(0.004), CoverLayer(0.001, seals=True), CoverLayer(0.1, porosity=0.4)]
    >>> below, ballast = ballast_of_parts([([10, 11], liner), ([11], [CoverLayer(0.2, porosity=0.4)])])
    >>> below[10:13].round(3).tolist(), ballast.submerged[10:13].round(3).tolist()
    ([0.005, 0.005, 0.0], [0.099, 0.297, 0.0])

    hand

    References
    ----------
    .. [1] Derived: sums of layers.
    """
    below, thickness, dry, submerged = (np.zeros(PARTS) for _ in range(4))
    for parts, layers in covers:
        chosen = sorted(set(parts))
        sealing = [place for place, layer in enumerate(layers) if layer.seals]
        first = sealing[-1] + 1 if sealing else 0
        below[chosen] += sum(layer.thickness for layer in layers[:first])
        for layer in layers[first:]:
            weights = layer_weights(layer.porosity, layer.density)
            thickness[chosen] += layer.thickness
            dry[chosen] += layer.thickness * weights[0]
            submerged[chosen] += layer.thickness * weights[1]
    return below, Ballast(thickness, dry, submerged)


def lifting_head(mass: Mass, area: Area, grains: Ratio = GRAINS, *, submerged: bool = True) -> Length:
    """Excess head under a piece of liner that lifts a single stone lying on it.

    Parameters
    ----------
    mass : Mass         Of the stone. [kg], >= 0
    area : Area         Of the liner that it holds down. [m²], > 0
    grains : Ratio      Its weight for one of water. [-], > 1
    submerged : bool    Whether it lies under water.

    Returns
    -------
    Length              [m]

    Raises
    ------
    DomainError         If the area is not above 0, the mass below 0, or the stone would float.

    Notes
    -----
    h = m / (rho A), times (1 - 1 / Gs) under water.

    Examples
    --------
    A stone of 1.8 t on 1.5 m² of liner:

    >>> round(lifting_head(1800.0, 1.5), 2), round(lifting_head(1800.0, 1.5, submerged=False), 2)
    (0.75, 1.2)

    hand

    References
    ----------
    .. [1] Derived: Archimedes.
    """
    _require_stone(0.0, grains)
    if not area > 0.0:
        raise DomainError(f"`area` must be above 0 m², got {area:g} m²")
    if mass < 0.0:
        raise DomainError(f"`mass` must be at least 0 kg, got {mass:g} kg")
    share = 1.0 - 1.0 / grains if submerged else 1.0
    return share * mass / (WATER * area)


def _require_stone(porosity: Ratio, grains: Ratio) -> None:
    if not 0.0 <= porosity < 1.0:
        raise DomainError(f"`porosity` must be at least 0 and below 1, got {porosity:g}")
    if not grains > 1.0:
        raise DomainError(f"`grains` must be heavier than water, above 1, got {grains:g}")
