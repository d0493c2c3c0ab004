"""What a machine may lift: its own chart, slings, and the ground that it stands on.

A chart is only known at its rows.  Between them nothing is guessed upward: the least of the corners around
a radius and a height counts.  What hangs on the hook besides the stone is taken off first.

See Also
--------
pondwright.rooms.stone.reaching : from where a machine reaches the places of stones.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Angle, Area, Length, Lengths, Mass, Pressure, Ratio

GRAVITY = 9.80665
"""Standard acceleration of free fall. [m/s²]"""

TIPPING_SHARE: Ratio = 0.75
"""Share of the load at which a machine tips that it may lift: ISO 10567."""

HYDRAULIC_SHARE: Ratio = 0.87
"""Share of the load that its oil pressure holds that it may lift: ISO 10567."""

LEAST_SLING: Angle = math.radians(45.0)
"""Angle of a leg above the level below which a sling of two legs is refused; common practice, no source."""

WET: Ratio = 1.05
"""A stone as lifted, wet and caked with soil, against its own mass; common practice, no source."""

PEAK: Ratio = 3.0
"""Pressure below the edge of a track in a lift against its mean: 2 to 3; common practice, no source."""

TRACK_PRESSURE: Pressure = 30_000.0
"""Mean pressure below the tracks of an excavator; survey of machines by arborists."""

MACHINE_CLASSES: tuple[tuple[str, Mass, Length], ...] = (
    ("a 1.7 t excavator", 250.0, 3.5),
    ("a 2.7 t excavator", 450.0, 4.5),
    ("a 3.5 t excavator", 700.0, 5.0),
    ("a 5 t excavator", 1100.0, 5.5),
    ("an 8 t excavator", 2000.0, 6.5),
    ("a 14 t excavator", 4000.0, 8.0),
)
"""What lifts which mass at 3 m, and how far it reaches: for choosing a class, never for a lift; common
practice, no source."""

TOLD_AT: Length = 3.0
"""Radius of those masses. [m]"""

CRANE = "a crane"


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """A machine's lifting chart as a table: no row at a radius and a height is a capacity of 0.

    Attributes
    ----------
    radii : (n,) array           Ascending. [m], > 0
    heights : (k,) array         Of the hook above the ground, ascending. [m]
    capacities : (n, k) array    [kg], >= 0
    """

    radii: Lengths
    heights: Lengths
    capacities: Lengths

    @property
    def one_height(self) -> bool:
        """Whether it tells one height of the hook only, which then has to stand for all."""
        return len(self.heights) == 1


def rated_lift(tipping: Mass, hydraulic: Mass) -> Mass:
    """What a machine may lift where it would tip at one load, and stall at another.

    Parameters
    ----------
    tipping : Mass       Load at which it tips. [kg], >= 0
    hydraulic : Mass     Load that its oil pressure holds. [kg], >= 0

    Returns
    -------
    Mass                 [kg]

    Notes
    -----
    min(0.75 tipping, 0.87 hydraulic).

    Examples
    --------
    >>> rated_lift(1600.0, 1300.0)
    1131.0

    hand

    References
    ----------
    .. [1] ISO 10567, as quoted by operator's manuals of several makers.
    """
    return min(TIPPING_SHARE * tipping, HYDRAULIC_SHARE * hydraulic)


def chart_of(rows: Sequence[tuple[Length, Length, Mass]]) -> Chart:
    """Table of a chart's rows; the least counts where a radius and a height stand twice.

    Parameters
    ----------
    rows : tuples of radius, height and capacity     [m], [m], [kg]

    Returns
    -------
    Chart

    Raises
    ------
    DomainError                                      If there is no row.

    Examples
    --------
    >>> chart = chart_of([(3.0, 0.0, 1500.0), (4.0, 0.0, 1000.0), (4.0, 0.0, 900.0)])
    >>> chart.radii.tolist(), chart.capacities.ravel().tolist()
    ([3.0, 4.0], [1500.0, 900.0])

    hand

    References
    ----------
    .. [1] Derived: front and side are different rows, and the machine turns.
    """
    if len(rows) == 0:
        raise DomainError("`rows` must hold at least one row of a lifting chart")
    radius, height, capacity = np.array(rows, dtype=np.float64).T
    radii, row = np.unique(radius, return_inverse=True)
    heights, column = np.unique(height, return_inverse=True)
    table = np.full((len(radii), len(heights)), np.inf)
    np.minimum.at(table, (row, column), capacity)
    return Chart(radii, heights, np.where(np.isfinite(table), table, 0.0))


def lift_capacity(chart: Chart, radius: Lengths | Length, height: Lengths | Length, tool: Mass) -> Lengths:
    """Stone that a machine may hold at a radius and a height: the least of the chart's corners around it.

    Parameters
    ----------
    chart : Chart
    radius : (...) array or Length     From the middle of the machine. [m], >= 0
    height : (...) array or Length     Of the hook above the ground. [m]
    tool : Mass                        Bucket, grab and chains. [kg], >= 0

    Returns
    -------
    (...) array                        0 beyond the chart. [kg]

    Raises
    ------
    DomainError                        If the tool's mass is below 0.

    Notes
    -----
    min of the rows at the next radius inward and outward and at the next height below and above, less the
    tool.  Nearer than the first radius, the first counts.  A chart with one height holds it for all.

    Examples
    --------
    >>> chart = chart_of([(3.0, 0.0, 1500.0), (4.0, 0.0, 1000.0), (3.0, 2.0, 1200.0), (4.0, 2.0, 1100.0)])
    >>> [float(lift_capacity(chart, radius, 0.5, 100.0)) for radius in (2.0, 3.0, 3.1, 4.1)]
    [1100.0, 1100.0, 900.0, 0.0]

    hand

    References
    ----------
    .. [1] Derived: no number of a chart is raised by one beside it.
    """
    if tool < 0.0:
        raise DomainError(f"`tool` must be at least 0 kg, got {tool:g} kg")
    radius, height = np.broadcast_arrays(np.asarray(radius, float), np.asarray(height, float))
    rows = _corners(chart.radii, np.maximum(radius, chart.radii[0]))
    columns = _corners(chart.heights, np.full_like(height, chart.heights[0]) if chart.one_height else height)
    least = np.full(radius.shape, np.inf)
    for row in rows:
        for column in columns:
            told = (row >= 0) & (column >= 0)
            least = np.minimum(least, np.where(told, chart.capacities[row, column], 0.0))
    return np.maximum(least - tool, 0.0)


def _corners(knots: Lengths, values: Lengths) -> tuple[np.ndarray, np.ndarray]:
    """Indices of the knots before and after each value, both its own where it is one; -1 outside."""
    after = np.searchsorted(knots, values, side="left")
    before = np.searchsorted(knots, values, side="right") - 1
    outside = (after == len(knots)) | (before < 0)
    return np.where(outside, -1, before), np.where(outside, -1, after)


def greatest_radius(chart: Chart, mass: Mass, height: Length, tool: Mass) -> Length:
    """Radius out to which a machine may hold a stone, at every radius nearer too.

    Parameters
    ----------
    chart : Chart
    mass : Mass         Of the stone. [kg], >= 0
    height : Length     Of the hook above the ground. [m]
    tool : Mass         [kg], >= 0

    Returns
    -------
    Length              0 if it cannot at all. [m]

    Examples
    --------
    >>> chart = chart_of([(2.0, 0.0, 1800.0), (3.0, 0.0, 1500.0), (4.0, 0.0, 1000.0)])
    >>> greatest_radius(chart, 1200.0, 0.0, 0.0), greatest_radius(chart, 1900.0, 0.0, 0.0)
    (3.0, 0.0)

    hand

    References
    ----------
    .. [1] Derived from the rows of the chart.
    """
    holds = lift_capacity(chart, chart.radii, height, tool) >= mass
    count = len(holds) if holds.all() else int(np.argmin(holds))
    return float(chart.radii[count - 1]) if count else 0.0


def sling_angle(leg: Length, apart: Length) -> Angle:
    """Angle of the legs of a sling above the level, when they hold a stone at its two ends.

    Parameters
    ----------
    leg : Length       Of each leg. [m], > 0
    apart : Length     From one hold to the other. [m], >= 0

    Returns
    -------
    Angle              0 where the legs do not meet. [rad]

    Raises
    ------
    DomainError        If a leg has no length.

    Examples
    --------
    >>> round(math.degrees(sling_angle(1.2, 1.2)), 9)
    60.0

    hand

    References
    ----------
    .. [1] Derived: a triangle with two equal sides.
    """
    if not leg > 0.0:
        raise DomainError(f"`leg` must be above 0 m, got {leg:g} m")
    return math.acos(min(0.5 * apart / leg, 1.0))


def sling_leg(mass: Mass, angle: Angle) -> Mass:
    """What each of two legs of a sling carries.

    Parameters
    ----------
    mass : Mass       Of the stone. [kg], >= 0
    angle : Angle     Of a leg above the level. [rad], 45° to 90°

    Returns
    -------
    Mass              What each leg must be rated for. [kg]

    Raises
    ------
    DomainError       If the legs stand flatter than 45°.

    Notes
    -----
    m / (2 sin α).

    Examples
    --------
    One thousand pounds at 60 and at 45 degrees.

    >>> [round(sling_leg(1000.0, math.radians(degrees))) for degrees in (60.0, 45.0)]
    [577, 707]

    published

    References
    ----------
    .. [1] Tables of load factors of slings, 1.154 at 60° and 1.414 at 45°; confirmed.
    """
    if not LEAST_SLING - 1e-9 <= angle <= 0.5 * math.pi + 1e-9:
        raise DomainError(f"`angle` must be between 45° and 90°, got {math.degrees(angle):.0f}°")
    return 0.5 * mass / math.sin(angle)


def ground_pressure(mass: Mass, contact: Area) -> Pressure:
    """Mean pressure below a machine.

    Parameters
    ----------
    mass : Mass        Of the machine and what it lifts. [kg], >= 0
    contact : Area     Of its tracks, pads or tyres on the ground. [m²], > 0

    Returns
    -------
    Pressure           [Pa]

    Raises
    ------
    DomainError        If nothing touches the ground.

    Examples
    --------
    >>> round(ground_pressure(5000.0, 2 * 1.6 * 0.40)), round(ground_pressure(3000.0, 4 * 0.25 * 0.25))
    (38307, 117680)

    hand

    References
    ----------
    .. [1] Derived: force over area.
    """
    if not contact > 0.0:
        raise DomainError(f"`contact` must be above 0 m², got {contact:g} m²")
    return mass * GRAVITY / contact


def pads_area(mass: Mass, allowable: Pressure) -> Area:
    """Area of pads or mats below a machine that lifts, so that its worst edge presses no more than told.

    Parameters
    ----------
    mass : Mass                Of the machine and what it lifts. [kg], >= 0
    allowable : Pressure       That the ground bears. [Pa], > 0

    Returns
    -------
    Area                       [m²]

    Raises
    ------
    DomainError                If the ground bears nothing.

    Notes
    -----
    3 m g / p: in a lift one edge carries up to three times the mean.

    Examples
    --------
    >>> round(pads_area(5000.0, 75_000.0), 2)
    1.96

    hand

    References
    ----------
    .. [1] Common practice, no source: peaks of two to three times the mean.
    """
    if not allowable > 0.0:
        raise DomainError(f"`allowable` must be above 0 Pa, got {allowable:g} Pa")
    return PEAK * mass * GRAVITY / allowable


def machine_for(mass: Mass, radius: Length) -> str:
    """Kind of machine that sets a stone at a radius, in words: for choosing one, never for a lift.

    Parameters
    ----------
    mass : Mass         Of the stone. [kg]
    radius : Length     From the middle of the machine. [m]

    Returns
    -------
    str

    Notes
    -----
    Classes are told at 3 m; farther out the same moment lifts less, and none lifts beyond its reach.

    Examples
    --------
    >>> machine_for(900.0, 3.0), machine_for(900.0, 6.0), machine_for(50.0, 12.0)
    ('a 5 t excavator', 'an 8 t excavator', 'a crane')

    hand

    References
    ----------
    .. [1] Common practice, no source; wide scatter.
    """
    at_told = mass * max(radius / TOLD_AT, 1.0)
    return next((name for name, most, reach in MACHINE_CLASSES if at_told <= most and radius <= reach), CRANE)
