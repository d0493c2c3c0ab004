"""Write values for people: one normal form for each way of writing.

Called through :func:`pondwright.base.units.format_value`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from pondwright.base.errors import DomainError
from pondwright.base.kinds import ANGLE, COUNT, ELEVATION, RATIO, ROAD_LENGTH, SLOPE, SPEED, Kind
from pondwright.base.numbers import MINUS, MOST_DIGITS, rounded, write_number
from pondwright.base.unit_table import Unit, unit_named

RUN_PER_RISE, PERCENT, ONE_IN = "H:V", "%", "1 in"
# Bearing of a quadrant = start [half turns] + sign × angle from north or south.
QUADRANTS = {("N", "E"): (0, 1), ("S", "E"): (1, -1), ("S", "W"): (1, 1), ("N", "W"): (2, -1)}


@dataclass(frozen=True, slots=True)
class Style:
    """How a value is written: in which units (largest first), and how finely.

    `marks` writes ``3' 6"`` for ``3 ft 6 in``; `relative` writes a height as plus or minus from the
    water line; `bearing` writes an angle as a quadrant bearing.
    """

    units: tuple[str, ...]
    digits: int | None = None
    denominator: int | None = None
    marks: bool = False
    relative: bool = False
    bearing: bool = False


def write_value(value: float, kind: Kind, style: Style) -> str:
    """Text of a finite value in a style, whatever its kind."""
    return _WRITERS.get(kind.name, _write_measure)(value, kind, style)


def with_unit(number: str, unit: Unit, marks: bool) -> str:
    """Text of a number with its unit, or with the mark of the unit: ``3 ft``, ``3'``."""
    if unit.mark and (marks or unit.mark == unit.name):
        return number + unit.mark
    return number if unit.name == "-" else f"{number} {unit.name}"


# A level is read to the millimetre, other lengths are not; a way by road is told roughly.
_DIGITS = {(ELEVATION, "m"): 3, (ROAD_LENGTH, "km"): 1, (ROAD_LENGTH, "miles"): 1}


def _write_measure(value: float, kind: Kind, style: Style) -> str:
    chosen = [unit_named(kind, name) for name in style.units]
    last = chosen[-1]
    number = (value - float(last.offset)) / float(last.factor)
    if (len(chosen) > 1 or style.denominator) and abs(number) < 1e15:
        return _write_parts(number, chosen, style)
    if style.digits is not None:
        text = write_number(number, style.digits)
    elif kind == SPEED:
        text = write_number(number, 3, significant=True)
    else:
        text = write_number(number, _DIGITS.get((kind, last.name), last.digits), trimmed=kind == RATIO)
    return with_unit(text, last, style.marks)


def _write_parts(number: float, chosen: list[Unit], style: Style) -> str:
    """Whole numbers of the larger units, and a fraction or decimals of the last."""
    digits = chosen[-1].digits if style.digits is None else min(style.digits, MOST_DIGITS)
    steps = style.denominator or 10**digits
    left, rest = divmod(int(rounded(abs(number) * steps, 0)), steps)
    counts: list[int] = []
    for larger, smaller in reversed(list(pairwise(chosen))):
        left, count = divmod(left, round(larger.factor / smaller.factor))
        counts.append(count)
    *above, last = [left, *reversed(counts)]
    final = _mixed(last, rest, steps) if style.denominator else write_number(last + rest / steps, digits)
    texts = [*(write_number(count, 0) for count in above), final]
    # Nothing in the larger units is not written: 6 1/2", not 0' 6 1/2".
    first = next((at for at, count in enumerate(above) if count), len(above))
    written = [with_unit(text, unit, style.marks) for text, unit in zip(texts, chosen, strict=True)]
    negative = number < 0 and (left or rest or any(counts))
    return (MINUS if negative else "") + " ".join(written[first:])


def _mixed(whole: int, rest: int, steps: int) -> str:
    """Whole number and fraction in lowest terms: ``6 1/2``, ``1/2``, ``6``."""
    if not rest:
        return write_number(whole, 0)
    broken = Fraction(rest, steps)
    return f"{write_number(whole, 0)} {broken}" if whole else str(broken)


def _write_angle(value: float, kind: Kind, style: Style) -> str:
    if not style.bearing:
        return _write_measure(value, kind, style)
    half_turns = value / math.pi % 2
    start, end = [("N", "E"), ("S", "E"), ("S", "W"), ("N", "W")][min(int(half_turns * 2), 3)]
    base, sign = QUADRANTS[start, end]
    turn = sign * (half_turns - base) * math.pi
    return f"{start} {_write_measure(turn, kind, style)} {end}"


def _write_slope(value: float, kind: Kind, style: Style) -> str:
    form = style.units[0]
    digits, trimmed = (2, True) if style.digits is None else (style.digits, False)
    if form == PERCENT:
        if value == 0:
            raise DomainError("`value` must not be 0 (run per rise) to be written in %, got 0")
        return f"{write_number(100 / value, digits, trimmed=trimmed)} %"
    text = write_number(value, digits, trimmed=trimmed)
    return f"1 in {text}" if form == ONE_IN else f"{text}:1"


def _write_ratio(value: float, kind: Kind, style: Style) -> str:
    if style.units == (ONE_IN,) and value:
        return _write_slope(1 / value, kind, style)
    return _write_measure(value, kind, style if style.units != (ONE_IN,) else Style(("-",)))


def _write_count(value: float, kind: Kind, style: Style) -> str:
    return write_number(value, style.digits or 0)


_WRITERS: Mapping[str, Callable[[float, Kind, Style], str]] = {
    ANGLE.name: _write_angle,
    SLOPE.name: _write_slope,
    RATIO.name: _write_ratio,
    COUNT.name: _write_count,
}
