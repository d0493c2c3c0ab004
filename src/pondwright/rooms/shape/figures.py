"""Form numbers of a body of water: few numbers that tell shapes apart.

See Also
--------
pondwright.geometry.polygon : shoreline development, on the shore resampled at 0.5 m.
pondwright.rooms.shape.storage : volume and area by level.
"""

from __future__ import annotations

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Area, Length, Ratio, Volume

LITTORAL_DEPTH: Length = 0.6
"""Depth down to which the water counts as littoral; common practice is 0.6 to 1.0. [m]"""


def mean_depth(volume: Volume, area: Area) -> Length:
    """Depth of the same water in a tank of the same area.

    Parameters
    ----------
    volume : Volume     [m³], >= 0
    area : Area         [m²], > 0

    Returns
    -------
    Length              [m]

    Raises
    ------
    DomainError         If the area is not above 0.

    Examples
    --------
    >>> mean_depth(276.0, 300.0)
    0.92

    hand

    References
    ----------
    .. [1] Wetzel, Limnology; from memory.
    """
    _above_zero(area=area)
    return volume / area


def volume_development(mean: Length, greatest: Length) -> Ratio:
    """Volume against a cone of the same area and greatest depth.

    Parameters
    ----------
    mean : Length         Mean depth. [m], >= 0
    greatest : Length     Greatest depth. [m], > 0

    Returns
    -------
    Ratio                 Cone 1, paraboloid 1.5, half ellipsoid 2. [-]

    Raises
    ------
    DomainError           If the greatest depth is not above 0.

    Notes
    -----
    3 mean / greatest.

    Examples
    --------
    >>> volume_development(0.75, 1.5)
    1.5

    hand

    References
    ----------
    .. [1] Hutchinson, A Treatise on Limnology I, 1957; from memory.
    """
    _above_zero(greatest=greatest)
    return 3.0 * mean / greatest


def littoral_share(deeper: Area, area: Area) -> Ratio:
    """Share of the water that is no deeper than the littoral depth.

    Parameters
    ----------
    deeper : Area     Area deeper than the littoral depth. [m²], >= 0
    area : Area       Area of the water. [m²], > 0

    Returns
    -------
    Ratio             [-]

    Raises
    ------
    DomainError       If the area is not above 0.

    Examples
    --------
    >>> littoral_share(75.0, 300.0)
    0.75

    hand

    References
    ----------
    .. [1] Common practice, no source: 0.6 to 1.0 m is where planting and a safe ledge lie.
    """
    _above_zero(area=area)
    return 1.0 - deeper / area


def _above_zero(**numbers: float) -> None:
    for name, value in numbers.items():
        if not value > 0.0:
            unit = "m²" if name == "area" else "m"
            raise DomainError(f"`{name}` must be above 0 {unit}, got {value} {unit}")
