"""Single stones: mass by three tapes, by the size of the middle axis, and size from mass.

A size means the middle axis of a stone.  Quarries quote sizes in two ways: as the middle axis (a blocky
stone then has 0.85 of the cube), or as the sphere of the same mass (0.524 of the cube); for the same number
the first is 62 % heavier, so ask which one is meant.

See Also
--------
pondwright.rooms.stone.courses : stones along a shore.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Density, Length, Mass, Ratio
from pondwright.base.tables import read_table

SOLID: Density = 2650.0
"""Density of solid stone where none is told; common practice. [kg/m³]"""


@dataclass(frozen=True, slots=True)
class Form:
    """A shape of stones.

    Attributes
    ----------
    fills : Ratio           Share of the box of its three tapes that it fills. [-]
    long, short : Ratio     Its longest and shortest axis against the middle one. [-]
    of_cube : Ratio         Its solid against the cube of the middle axis. [-]
    """

    fills: Ratio
    long: Ratio
    short: Ratio
    of_cube: Ratio


@cache
def forms() -> dict[str, Form]:
    """Shapes of stones by name.

    Returns
    -------
    dict of Form

    Examples
    --------
    >>> list(forms()), forms()["blocky"].of_cube
    (['rounded', 'blocky', 'slab', 'box'], 0.85)

    published

    References
    ----------
    .. [1] FHWA FP-14, table 705-1 (0.85 of the cube of the middle axis).
    .. [2] Common practice, no source: the shares of blocky stones and slabs by three tapes.
    """
    return {
        row["shape"]: Form(*(float(row[name]) for name in ("fills", "long", "short", "of_cube")))
        for row in read_table(__package__, "shapes.csv").rows
    }


def mass_by_axes(
    length: Length, width: Length, height: Length, shape: str = "blocky", solid: Density = SOLID
) -> Mass:
    """Mass of a stone by three tapes.

    Parameters
    ----------
    length, width, height : Length     Longest, middle and shortest axis. [m], > 0
    shape : str                        `rounded`, `blocky`, `slab` or `box`.
    solid : Density                    Of the solid stone. [kg/m³], > 0

    Returns
    -------
    Mass                               [kg]

    Raises
    ------
    DomainError                        If an axis or the density is not above 0, or there is no such shape.

    Notes
    -----
    m = k ρ a b c, with k = π/6 of an ellipsoid, 0.70 of a blocky stone, 0.80 of a slab, 1 of a box.

    Examples
    --------
    >>> round(mass_by_axes(1.2, 0.9, 0.6), 1)
    1202.0

    hand

    References
    ----------
    .. [1] Derived: volume of an ellipsoid and of a box; common practice, no source, between them.
    """
    for name, axis in (("length", length), ("width", width), ("height", height)):
        _require_above_zero(name, axis, "m")
    _require_above_zero("solid", solid, "kg/m³")
    return _form(shape).fills * solid * length * width * height


def mass_by_size(size: Length, shape: str = "blocky", solid: Density = SOLID) -> Mass:
    """Mass of a stone by its middle axis.

    Parameters
    ----------
    size : Length       Middle axis. [m], > 0
    shape : str         `rounded`, `blocky`, `slab` or `box`.
    solid : Density     Of the solid stone. [kg/m³], > 0

    Returns
    -------
    Mass                [kg]

    Raises
    ------
    DomainError         If the size or the density is not above 0, or there is no such shape.

    Notes
    -----
    m = f ρ b³, with f = 0.85 of a blocky stone and π/6 of a sphere.

    Examples
    --------
    >>> [round(mass_by_size(0.6, shape)) for shape in ("blocky", "rounded")]
    [487, 300]

    published

    References
    ----------
    .. [1] FHWA FP-14, table 705-1: 64 pairs of dimension and mass.
    .. [2] EM 1110-2-1601, table 3-1: spheres; from memory.
    """
    _require_above_zero("size", size, "m")
    _require_above_zero("solid", solid, "kg/m³")
    return _form(shape).of_cube * solid * size**3


def size_of_mass(mass: Mass, shape: str = "blocky", solid: Density = SOLID) -> Length:
    """Middle axis of a stone of some mass.

    Parameters
    ----------
    mass : Mass         [kg], > 0
    shape : str         `rounded`, `blocky`, `slab` or `box`.
    solid : Density     Of the solid stone. [kg/m³], > 0

    Returns
    -------
    Length              [m]

    Raises
    ------
    DomainError         If the mass or the density is not above 0, or there is no such shape.

    Examples
    --------
    >>> round(size_of_mass(1131.0), 3)
    0.795

    hand

    References
    ----------
    .. [1] Derived: the cube root of the mass by size.
    """
    _require_above_zero("mass", mass, "kg")
    return float((mass / mass_by_size(1.0, shape, solid)) ** (1.0 / 3.0))


def mean_mass(low: Length, high: Length, shape: str = "blocky", solid: Density = SOLID) -> Mass:
    """Mass of a stone of a class on average, all sizes from the smallest to the largest alike frequent.

    Parameters
    ----------
    low, high : Length     Smallest and largest middle axis. [m], > 0
    shape : str            `rounded`, `blocky`, `slab` or `box`.
    solid : Density        Of the solid stone. [kg/m³], > 0

    Returns
    -------
    Mass                   [kg]

    Raises
    ------
    DomainError            If a size or the density is not above 0, the sizes fall, or there is no such shape.

    Notes
    -----
    The mean of b³ is (low + high) (low² + high²) / 4: more than the cube of the mean size.

    Examples
    --------
    >>> round(mean_mass(0.4, 0.6)), round(mass_by_size(0.5))
    (293, 282)

    hand

    References
    ----------
    .. [1] Derived: the mean of a cube over an interval.
    """
    if low > high:
        raise DomainError(f"`low` must be at most `high`, {high:g} m, got {low:g} m")
    _require_above_zero("low", low, "m")
    return mass_by_size(1.0, shape, solid) * 0.25 * (low + high) * (low**2 + high**2)


def standing_height(size: Length, shape: str = "blocky") -> Length:
    """Height of a stone as it is set before a step: its middle axis upright; a slab lies flat.

    Parameters
    ----------
    size : Length     Middle axis. [m], > 0
    shape : str       `rounded`, `blocky`, `slab` or `box`.

    Returns
    -------
    Length            [m]

    Raises
    ------
    DomainError       If the size is not above 0, or there is no such shape.

    Examples
    --------
    >>> standing_height(0.5), standing_height(0.5, "slab")
    (0.5, 0.2)

    hand

    References
    ----------
    .. [1] Common practice, no source.
    """
    _require_above_zero("size", size, "m")
    return _form(shape).short * size if shape == "slab" else size


@dataclass(frozen=True, slots=True)
class RiprapRow:
    """One row of the published classes of riprap.

    Attributes
    ----------
    number, finer : int       The class, and how many of a hundred stones are smaller.
    low, high : Length        Middle axis. [m]
    light, heavy : Mass       Mass of stones of these sizes. [kg]
    """

    number: int
    finer: int
    low: Length
    high: Length
    light: Mass
    heavy: Mass


@cache
def riprap_rows() -> tuple[RiprapRow, ...]:
    """Published classes of riprap, by the middle axis of their stones.

    Returns
    -------
    tuple of RiprapRow

    Examples
    --------
    >>> riprap_rows()[0]
    RiprapRow(number=1, finer=100, low=0.23, high=0.38, light=27.0, heavy=120.0)

    published

    References
    ----------
    .. [1] FHWA FP-14, table 705-1.
    """
    return tuple(
        RiprapRow(
            int(row["class"]),
            int(row["finer"]),
            float(row["low_mm"]) / 1e3,
            float(row["high_mm"]) / 1e3,
            float(row["low_kg"]),
            float(row["high_kg"]),
        )
        for row in read_table(__package__, "riprap.csv").rows
    )


def _form(shape: str) -> Form:
    if shape not in forms():
        raise DomainError(f"`shape` must be one of {', '.join(forms())}, got `{shape}`")
    return forms()[shape]


def _require_above_zero(name: str, value: float, unit: str) -> None:
    if not value > 0.0:
        raise DomainError(f"`{name}` must be above 0 {unit}, got {value:g} {unit}")
