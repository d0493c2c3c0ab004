"""How far and how soon pumping lowers the water in the ground: Thiem, Theis, Cooper and Jacob.

See Also
--------
pondwright.rooms.groundwater.dewatering : how much water a pit brings in the end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq
from scipy.special import exp1

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Flow, Length, Ratio, Time
from pondwright.base.tables import read_table

COOPER_JACOB_FITS: Ratio = 0.05
"""Up to this argument u the formula of Cooper and Jacob stands for that of Theis. [-]"""

_EULER = 0.5772156649015329


@dataclass(frozen=True, slots=True)
class TimedDrawdown:
    """Drawdown after a time [m], the argument u of the well function [-], and whether the formula holds."""

    drawdown: Length
    argument: Ratio
    holds: bool


def thiem_difference(flow: Flow, transmissivity: float, near: Length, far: Length) -> Length:
    """By how much the water stands higher at the farther of two distances from a pumped well.

    Parameters
    ----------
    flow : Flow                What is pumped. [m³/s]
    transmissivity : float     Of the ground [m²/s], > 0.
    near, far : Length         Distances from the well's middle. [m], > 0

    Returns
    -------
    Length                     [m]

    Raises
    ------
    DomainError                If the transmissivity or a distance is not above zero.

    Notes
    -----
    s = Q ln(r2 / r1) / (2 π T).

    Examples
    --------
    >>> round(thiem_difference(0.01, 0.005, 10.0, 50.0), 4)
    0.5123

    hand

    References
    ----------
    .. [1] Thiem's formula, from memory.
    """
    if min(transmissivity, near, far) <= 0.0:
        raise DomainError("`transmissivity`, `near` and `far` must be above 0")
    return flow * math.log(far / near) / (2.0 * math.pi * transmissivity)


def theis_drawdown(
    flow: Flow, transmissivity: float, drainable: Ratio, distance: Length, time: Time
) -> TimedDrawdown:
    """Drawdown at a distance from a pumped well after a time, by Theis.

    Parameters
    ----------
    flow : Flow                What is pumped, evenly. [m³/s]
    transmissivity : float     Of the ground [m²/s], > 0.
    drainable : Ratio          Share of the ground's volume that drains. [-], > 0
    distance : Length          From the well's middle. [m], > 0
    time : Time                Since pumping began. [s], > 0

    Returns
    -------
    TimedDrawdown              [m]

    Raises
    ------
    DomainError                If a number is not above zero.

    Notes
    -----
    s = Q W(u) / (4 π T), u = r² S / (4 T t), W the exponential integral E1.  In open ground it holds while
    the drawdown is a small share of the wetted depth.

    Examples
    --------
    >>> round(theis_drawdown(4e-3, 8e-4, 0.15, 10.0, 86_400.0).drawdown, 4)
    0.9511

    hand

    References
    ----------
    .. [1] Theis, Transactions of the American Geophysical Union 16, 1935, from memory.
    """
    argument = _argument(transmissivity, drainable, distance, time)
    return TimedDrawdown(flow * float(exp1(argument)) / (4.0 * math.pi * transmissivity), argument, True)


def cooper_jacob_drawdown(
    flow: Flow, transmissivity: float, drainable: Ratio, distance: Length, time: Time
) -> TimedDrawdown:
    """The same by the straight line of Cooper and Jacob, which holds near the well and late.

    Parameters
    ----------
    flow : Flow                What is pumped, evenly. [m³/s]
    transmissivity : float     Of the ground [m²/s], > 0.
    drainable : Ratio          Share of the ground's volume that drains. [-], > 0
    distance : Length          From the well's middle. [m], > 0
    time : Time                Since pumping began. [s], > 0

    Returns
    -------
    TimedDrawdown              `holds` is false above u = 0.05. [m]

    Raises
    ------
    DomainError                If a number is not above zero.

    Notes
    -----
    s = 2.303 Q log10(2.25 T t / (r² S)) / (4 π T).

    Examples
    --------
    >>> found = cooper_jacob_drawdown(4e-3, 8e-4, 0.15, 10.0, 86_400.0)
    >>> round(found.drawdown, 4), round(found.argument, 3), found.holds
    (0.9305, 0.054, False)

    hand

    References
    ----------
    .. [1] Cooper and Jacob, Transactions of the American Geophysical Union 27, 1946, from memory.
    """
    argument = _argument(transmissivity, drainable, distance, time)
    drawdown = flow * math.log(2.25 / (4.0 * argument)) / (4.0 * math.pi * transmissivity)
    return TimedDrawdown(drawdown, argument, argument <= COOPER_JACOB_FITS)


def time_to_lower(
    drawdown: Length, flow: Flow, transmissivity: float, drainable: Ratio, radius: Length
) -> Time:
    """How long it takes to lower the groundwater at the rim of a pit, pumping evenly.

    Parameters
    ----------
    drawdown : Length          That is wanted at the rim. [m], >= 0
    flow : Flow                What is pumped. [m³/s]
    transmissivity : float     Of the ground [m²/s], > 0.
    drainable : Ratio          Share of the ground's volume that drains. [-], > 0
    radius : Length            Equivalent radius of the pit. [m], > 0

    Returns
    -------
    Time                       Infinite where nothing is pumped. [s]

    Raises
    ------
    DomainError                If a number is out of its range.

    Notes
    -----
    The formula of Theis turned round: W(u) = 4 π T s / Q, t = r² S / (4 T u); water inside the pit itself
    is counted as if it stood in the ground.

    Examples
    --------
    >>> time = time_to_lower(0.9511, 4e-3, 8e-4, 0.15, 10.0)
    >>> round(time / 86_400.0, 3)
    1.0

    hand

    References
    ----------
    .. [1] Theis, Transactions of the American Geophysical Union 16, 1935, from memory.
    """
    if drawdown < 0.0 or min(transmissivity, drainable, radius) <= 0.0:
        raise DomainError("`drawdown` must not be below 0; transmissivity, drainable share and radius above")
    if drawdown == 0.0:
        return 0.0
    if flow <= 0.0:
        return math.inf
    wanted = 4.0 * math.pi * transmissivity * drawdown / flow
    # E1(u) lies between -ln(u) - 0.5772 and that plus u: the root is bracketed in ln(u) without a search.
    low, high = -wanted - _EULER - 1.0, 6.0
    if low < math.log(1e-300):
        return math.inf
    if wanted <= float(exp1(math.exp(high))):
        return radius**2 * drainable / (4.0 * transmissivity * math.exp(high))
    root = brentq(lambda power: float(exp1(math.exp(power))) - wanted, low, high, xtol=1e-13)
    return radius**2 * drainable / (4.0 * transmissivity * math.exp(root))


def drainable_share(kind: str) -> Ratio:
    """Share of the volume of a kind of soil that drains when the water in it falls.

    Parameters
    ----------
    kind : str       For example ``sand``.

    Returns
    -------
    Ratio            [-]

    Raises
    ------
    DomainError      If there is no such kind of soil.

    Examples
    --------
    >>> drainable_share("silt"), drainable_share("sand")
    (0.08, 0.23)

    published

    References
    ----------
    .. [1] Johnson, USGS Water-Supply Paper 1662-D, from memory: averages by texture in ``drainable.csv``.
    """
    for row in read_table("pondwright.rooms.groundwater", "drainable.csv").rows:
        if row["kind"] == kind:
            return float(row["share"])
    raise DomainError(f"`kind` must be a kind of soil, got `{kind}`")


def _argument(transmissivity: float, drainable: Ratio, distance: Length, time: Time) -> Ratio:
    if min(transmissivity, drainable, distance, time) <= 0.0:
        raise DomainError("`transmissivity`, `drainable`, `distance` and `time` must be above 0")
    return distance**2 * drainable / (4.0 * transmissivity * time)
