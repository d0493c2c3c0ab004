"""Read what a person types: a table of words, and a few forms that are not number and unit.

Called through :func:`pondwright.base.units.parse`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from pondwright.base.errors import DomainError
from pondwright.base.kinds import ANGLE, COUNT, ELEVATION, RATIO, SLOPE, Kind
from pondwright.base.numbers import MINUS, NUMBER, Number, read_number
from pondwright.base.unit_table import (
    Shown,
    Unit,
    cleaned,
    measure_of,
    shown_row,
    unit_named,
    with_article,
    words_of,
)
from pondwright.base.unit_writing import ONE_IN, PERCENT, QUADRANTS, RUN_PER_RISE, Style, with_unit

_LONGEST = 80
_FINEST_FRACTION = 64
_WATER_LINE = re.compile(r"wl (?P<after>[+-].*)|(?P<before>[+-].*) wl|(?P<at>wl)", re.IGNORECASE)
_QUADRANT = re.compile(r"([NS]) ?(.+?) ?([EW])", re.IGNORECASE)
_GRADES = {
    RUN_PER_RISE: re.compile(rf"({NUMBER}) ?(H?) ?: ?({NUMBER}) ?(V?)", re.IGNORECASE),
    "V:H": re.compile(rf"({NUMBER}) ?V ?: ?({NUMBER}) ?H", re.IGNORECASE),
    PERCENT: re.compile(rf"({NUMBER}) ?(?:%|percent)", re.IGNORECASE),
    ONE_IN: re.compile(rf"1 in ({NUMBER})", re.IGNORECASE),
}


@dataclass(frozen=True, slots=True)
class Typed:
    """A value in the house unit, the style it was typed in, and the typed text in its normal form."""

    value: float
    style: Style
    text: str


@dataclass(frozen=True, slots=True)
class Box:
    """Where a text was typed: all that decides how it is read."""

    typed: str
    kind: Kind
    shown: Shown | None
    unit: str | None
    water_line: float | None
    relative: bool

    @property
    def in_us(self) -> bool:
        """Whether the job is shown in US units."""
        return self.shown in ("us", "us_inch")

    @property
    def stated_unit(self) -> str:
        """Unit of a bare number: the column's, else the job's; a file has none."""
        if self.unit is None and self.shown is None:
            raise self.refused("has no unit, and its column states none")
        return self.unit or shown_row(self.kind)[self.shown or "metric"]

    def refused(self, rule: str = "") -> DomainError:
        """Error that names the text, the rule and an example."""
        typed = self.typed if len(self.typed) <= _LONGEST else self.typed[:_LONGEST] + "…"
        rule = rule or f"cannot be read as {with_article(self.kind.name)}"
        return DomainError(
            f"`{' '.join(typed.split())}` {rule}: write for example {shown_row(self.kind)['examples']}"
        )


def read_value(box: Box) -> Typed:
    """Value, style and normal text of what was typed at a box."""
    if len(box.typed) > _LONGEST:
        raise box.refused(f"must have at most {_LONGEST} characters")
    read = _READERS.get(box.kind.name, _read_measure)(box, cleaned(box.typed))
    if not math.isfinite(read.value):
        raise box.refused("is too large")
    return read


def _read_measure(box: Box, text: str) -> Typed:
    """Sign and parts, each part a number and a unit that goes into the one before: ``3 ft 6 1/2 in``."""
    sign, text = ("", text) if text[:1] not in ("+", "-") else (text[0], text[1:].lstrip())
    parts = _parts(box, text)
    size = sum((number.value * unit.factor for number, unit in parts), Decimal(0))
    value = float((-size if sign == "-" else size) + parts[0][1].offset)
    last = parts[-1][0]
    mark = parts[0][1].mark
    # Degrees are always written with marks, feet when any mark was typed.
    marks = bool(mark) and (mark == parts[0][1].name or "'" in text or '"' in text)
    style = Style(tuple(unit.name for _, unit in parts), last.digits, _denominator(last), marks)
    written = " ".join(with_unit(number.text, unit, marks) for number, unit in parts)
    return Typed(value, style, (MINUS if sign == "-" else "") + written)


def _denominator(number: Number) -> int | None:
    return number.denominator if number.denominator and number.denominator <= _FINEST_FRACTION else None


def _parts(box: Box, text: str) -> list[tuple[Number, Unit]]:
    """Numbers with their units, the largest first."""
    pattern = words_of(measure_of(box.kind)).part
    parts: list[tuple[Number, Unit]] = []
    at = 0
    while at < len(text) or not parts:
        found = pattern.match(text, at)
        number = read_number(found[1].lower(), box.in_us) if found else None
        if found is None or number is None:
            raise box.refused()
        at = found.end()
        unit = _unit_of_part(box, found[2], number, parts, ends=at == len(text))
        if parts:
            _check_follows(box, parts[-1], (number, unit))
        parts.append((number, unit))
        # One space or one hyphen may part them (3'-6"), and none may stand at the end.
        at += text[at : at + 1] in (" ", "-") and at + 1 < len(text)
    return parts


def _unit_of_part(
    box: Box, word: str | None, number: Number, before: list[tuple[Number, Unit]], ends: bool
) -> Unit:
    """Unit that a part says, or that goes without saying: after the feet come inches."""
    if word is None:
        if not ends:
            raise box.refused()
        follows = before[-1][1].then if before else ""
        return unit_named(box.kind, follows) if follows else _bare_unit(box, number)
    words = words_of(measure_of(box.kind))
    if unit := words.unit(word):
        return unit
    us_only = words.us_only.get(word.casefold())
    if us_only and box.in_us:
        return us_only
    open_ton = us_only or word == "T"
    raise box.refused(
        f"leaves open whether `{word}` is `t` (1000 kg) or `short ton` (2000 lb)" if open_ton else ""
    )


def _bare_unit(box: Box, number: Number) -> Unit:
    """Unit of a number typed without one."""
    if box.kind == RATIO and box.unit is None:
        return unit_named(box.kind, "-")
    stated = box.stated_unit
    if stated == "ft-in" and number.denominator:
        raise box.refused("leaves open whether feet or inches are meant")
    return unit_named(box.kind, stated)


def _check_follows(box: Box, before: tuple[Number, Unit], part: tuple[Number, Unit]) -> None:
    """Refuse ``6.5 ft 2 in`` (a broken number before the last), ``3 ft 14 in`` and ``3 ft 5 cm``."""
    (larger, unit), (smaller, next_unit) = before, part
    step = unit.factor / next_unit.factor
    fits = unit.then == next_unit.name or (
        unit.then and unit_named(box.kind, unit.then).then == next_unit.name
    )
    if not fits or larger.digits != 0:
        raise box.refused()
    if smaller.value >= round(step):
        raise box.refused(f"must have less than {step:.0f} {next_unit.name} after the {unit.name}")


def _read_elevation(box: Box, text: str) -> Typed:
    """A level, or a height from the water line: ``+2 in wl``, ``wl - 6 in``, ``wl``."""
    found = _WATER_LINE.fullmatch(re.sub(r" ?\bwl\b ?", " wl ", text, flags=re.IGNORECASE).strip())
    signed = text[:1] in ("+", "-")
    if found is None and not (box.relative and signed):
        return _read_measure(box, text)
    if box.water_line is None:
        raise box.refused("counts from the water line, which has no level yet")
    if found and found["at"]:
        found, text = None, f"+0 {unit_named(box.kind, shown_row(box.kind)[box.shown or 'metric']).name}"
    offset = found["after"] or found["before"] if found else text
    height = _read_measure(box, offset)
    text = height.text if height.text.startswith(MINUS) else f"+{height.text}"
    return Typed(box.water_line + height.value, replace(height.style, relative=True), f"{text} wl")


def _read_angle(box: Box, text: str) -> Typed:
    """An angle, or a quadrant bearing (``N 37° 30' E``) as the angle clockwise from north."""
    found = _QUADRANT.fullmatch(text)
    if found is None:
        return _read_measure(box, text)
    start, turn, end = found[1].upper(), _read_measure(replace(box, unit="°"), found[2]), found[3].upper()
    if not 0 <= turn.value <= math.pi / 2:
        raise box.refused("must turn between 0° and 90° from north or south")
    base, sign = QUADRANTS[start, end]
    return Typed(
        base * math.pi + sign * turn.value, replace(turn.style, bearing=True), f"{start} {turn.text} {end}"
    )


def _read_slope(box: Box, text: str) -> Typed:
    """Run per rise, from ``3:1`` (run:rise), ``1V:3H``, ``2 %`` or ``1 in 50``."""
    if re.fullmatch(NUMBER, text, re.IGNORECASE):
        stated = box.stated_unit
        text = {RUN_PER_RISE: f"{text}:1", PERCENT: f"{text} %", ONE_IN: f"1 in {text}"}.get(stated, "")
    for form, pattern in _GRADES.items():
        if found := pattern.fullmatch(text):
            numbers = [
                read_number(group.lower(), box.in_us)
                for group in found.groups()
                if group and group[0] not in "HhVv"
            ]
            return _slope(box, form, numbers, lettered=bool(re.search("[hv]", text, re.IGNORECASE)))
    raise box.refused()


def _slope(box: Box, form: str, numbers: list[Number | None], lettered: bool) -> Typed:
    first, second = numbers[0], numbers[-1]
    if first is None or second is None or first.value == 0 or second.value == 0:
        raise box.refused("has no run per rise" if first and second else "")
    if form == PERCENT:
        return Typed(float(100 / first.value), Style((PERCENT,), first.digits), f"{first.text} %")
    if form == ONE_IN:
        return Typed(float(first.value), Style((ONE_IN,), first.digits), f"1 in {first.text}")
    run, rise = (second, first) if form == "V:H" else (first, second)
    if run.value < rise.value and rise.value != 1 and not lettered:
        raise box.refused("leaves open which side is the run")
    text = f"{run.text}:1" if rise.value == 1 else f"{run.text}H:{rise.text}V"
    return Typed(float(run.value / rise.value), Style((RUN_PER_RISE,), run.digits), text)


def _read_ratio(box: Box, text: str) -> Typed:
    """A plain number, a fraction, a percentage or ``1 in 50``."""
    found = _GRADES[ONE_IN].fullmatch(text)
    if found is None:
        return _read_measure(box, text)
    number = read_number(found[1].lower(), box.in_us)
    if number is None or number.value == 0:
        raise box.refused()
    return Typed(float(1 / number.value), Style((ONE_IN,), number.digits), f"1 in {number.text}")


def _read_count(box: Box, text: str) -> Typed:
    """A whole number."""
    number = read_number(text, box.in_us)
    if number is None:
        raise box.refused()
    if number.value != number.value.to_integral_value():
        raise box.refused("must be a whole number")
    return Typed(float(number.value), Style(("-",), 0), number.text)


_READERS: Mapping[str, Callable[[Box, str], Typed]] = {
    ELEVATION.name: _read_elevation,
    ANGLE.name: _read_angle,
    SLOPE.name: _read_slope,
    RATIO.name: _read_ratio,
    COUNT.name: _read_count,
}
