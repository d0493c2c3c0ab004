"""Units at the edges: read what a person types at a box, and write what a person reads.

Inside, every number is a plain float in the house unit of its kind; only this module (and its twin in
the browser) knows other units.  :func:`parse` reads a text, :func:`show` gives back what was typed in
its normal form, :func:`format_value` writes any value, and :func:`unit_of` tells the unit of a column.
Which units there are is told in :mod:`pondwright.base.unit_table`.
"""

from __future__ import annotations

import math
from dataclasses import replace

from pondwright.base.errors import DomainError
from pondwright.base.kinds import SPEED, Kind
from pondwright.base.numbers import MINUS, THIN_SPACE
from pondwright.base.unit_reading import Box, Typed, read_value
from pondwright.base.unit_table import Shown, shown_row
from pondwright.base.unit_writing import Style, write_value

__all__ = ["Shown", "Style", "Typed", "format_value", "parse", "show", "unit_of"]


def parse(
    text: str,
    kind: Kind,
    shown: Shown | None = None,
    water_line: float | None = None,
    *,
    unit: str | None = None,
    relative: bool = False,
) -> Typed:
    r"""Value that a person typed, in the house unit of its kind.

    Parameters
    ----------
    text : str
        For example ``14 1/2 in``, ``4.42 m``, ``3' 6"``, ``120 gpm``, ``3:1`` or ``+2 in wl``.
    kind : Kind
        What is asked for.  A slope is run per rise (``3:1`` is 3), an angle of a quadrant bearing is
        clockwise from north.
    shown : Shown or None
        Units of the job, whose unit a bare number takes; None for a text from a file, where a bare
        number is refused.
    water_line : Elevation or None
        Level that heights marked ``wl`` are counted from. [m]
    unit : str or None
        Unit that the box or column states; a bare number takes it.
    relative : bool
        Whether heights that begin with a sign count from the water line without saying ``wl``.

    Returns
    -------
    Typed
        Value, style and normal text.

    Raises
    ------
    DomainError
        If the text is not such a value, or can be read in two ways.

    Examples
    --------
    >>> from pondwright.base.kinds import FLOW, LENGTH
    >>> parse("14 1/2 in", LENGTH).value
    0.3683
    >>> parse("3'6", LENGTH).text
    '3\' 6"'
    >>> parse("7.5 l/s", FLOW, "us").text
    '7.5 L/s'
    """
    return read_value(Box(text, kind, shown, unit, water_line, relative))


def show(typed: Typed) -> str:
    """Text that was typed, in its normal form; it reads back as the very same value."""
    return typed.text


def unit_of(kind: Kind, shown: Shown) -> str:
    """Unit that a kind is shown in, and that a bare number takes; ``ft-in`` is feet and inches."""
    return shown_row(kind)[shown]


def format_value(
    value: float,
    kind: Kind,
    shown: Shown,
    *,
    style: Style | None = None,
    digits: int | None = None,
    relative_to: float | None = None,
) -> str:
    r"""Text of a value for people, with its unit.

    Parameters
    ----------
    value : float
        Value in the house unit of its kind.
    kind : Kind
        What it is.
    shown : Shown
        Units of the job.
    style : Style or None
        How to write it, for example as it was typed; None for the unit of the job.
    digits : int or None
        Decimals; None for what suits the kind and unit.
    relative_to : Elevation or None
        Water line to count a height from. [m]

    Returns
    -------
    str
        For example ``1 234.5 m³``, ``43,560 ft²`` or ``4' 6 1/2"``: a true minus, and between thousands
        a thin space, or a comma where the units are those of the United States.

    Raises
    ------
    DomainError
        If the value is not finite, or a relative style has no water line.

    Examples
    --------
    >>> from pondwright.base.kinds import ELEVATION, LENGTH
    >>> format_value(1.3843, LENGTH, "us_inch"), format_value(-0.5, LENGTH, "metric")
    ('4\' 6 1/2"', '−0.50 m')
    >>> format_value(100.0508, ELEVATION, "us_inch", relative_to=100.0)
    '+2" wl'
    """
    style = style or replace(_default_style(kind, shown), relative=relative_to is not None)
    if digits is not None:
        style = replace(style, digits=digits, denominator=None)
    if not math.isfinite(value):
        raise DomainError(f"`value` must be a finite number, got {value}")
    if not style.relative:
        return _grouped(write_value(value, kind, style), shown)
    if relative_to is None:
        raise DomainError("`relative_to` must be the level of the water line [m], got none")
    text = _grouped(write_value(value - relative_to, kind, style), shown)
    return f"{text if text.startswith(MINUS) else '+' + text} wl"


def format_wind(value: float, shown: Shown) -> str:
    """Text of a wind in whole units of the weather report: people judge it by those.

    Parameters
    ----------
    value : float
        Its speed. [m/s]
    shown : Shown
        Units of the job.

    Returns
    -------
    str

    Raises
    ------
    DomainError
        If the value is not finite.

    Examples
    --------
    >>> format_wind(8.0, "us"), format_wind(8.0, "metric")
    ('18 mph', '29 km/h')
    """
    unit = "km/h" if shown == "metric" else "mph"
    return format_value(value, SPEED, shown, style=Style((unit,)), digits=0)


def _grouped(text: str, shown: Shown) -> str:
    return text if shown == "metric" else text.replace(THIN_SPACE, ",")


def _default_style(kind: Kind, shown: Shown) -> Style:
    unit = unit_of(kind, shown)
    if unit == "ft-in":
        return Style(("ft", "in"), denominator=16, marks=True)
    return Style((unit,))
