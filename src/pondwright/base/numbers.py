"""Plain numbers as people write them: fractions, decimal commas, powers of ten, thin spaces.

Reading accepts what is unambiguous and nothing else; writing gives one normal form, which reads back as
the very same number: true minus, thin space between thousands, point before decimals.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from pondwright.base.errors import DomainError

MINUS = "\u2212"
THIN_SPACE = "\u2009"
MOST_DIGITS = 12

NUMBER = (
    r"(?:(?:[0-9]+(?:[ ]|-))?[0-9]+/[0-9]+"
    rf"|(?:[0-9]+(?:[.,{THIN_SPACE}][0-9]+)*[.,]?|[.,][0-9]+)(?:e[+-]?[0-9]{{1,3}})?)"
)
"""Pattern of an unsigned number; what it matches still has to pass :func:`read_number`."""

_FRACTION = re.compile(r"(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)")
_DECIMAL = re.compile(rf"([0-9.,{THIN_SPACE}]+)(?:e([+-]?[0-9]+))?", re.IGNORECASE)
_AMBIGUOUS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
# How whole numbers and decimals may be set: pattern, sign between thousands, sign before decimals.
_SETTINGS = (
    (re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+"), "", "."),
    (re.compile(rf"[0-9]{{1,3}}(?:{THIN_SPACE}[0-9]{{3}})+(?:\.[0-9]+)?"), THIN_SPACE, "."),
    (re.compile(rf"[0-9]{{1,3}}(?:{THIN_SPACE}[0-9]{{3}})+,[0-9]+"), THIN_SPACE, ","),
    (re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+|[0-9]{1,3}(?:,[0-9]{3}){2,}"), ",", "."),
    (re.compile(r"[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+|[0-9]{1,3}(?:\.[0-9]{3}){2,}"), ".", ","),
    (re.compile(r"[0-9]*,[0-9]+"), "", ","),
)
_RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")


@dataclass(frozen=True, slots=True)
class Number:
    """An unsigned number as it was read: its exact value, its normal text, and how it was set."""

    value: Decimal
    text: str
    digits: int | None = None
    denominator: int | None = None


def read_number(text: str, thousands_comma: bool = False) -> Number | None:
    """Unsigned number in a text, or None when the text is not a number.

    Parameters
    ----------
    text : str
        For example ``4.42``, ``14 1/2``, ``4-1/2``, ``12,5`` or ``2.5e-6``.
    thousands_comma : bool
        Whether ``1,200`` is twelve hundred (as in US jobs).

    Returns
    -------
    Number or None
        The number and how it was set.

    Raises
    ------
    DomainError
        If a comma before three digits may be read in two ways.

    Examples
    --------
    >>> read_number("4-1/2")
    Number(value=Decimal('4.5'), text='4 1/2', digits=None, denominator=2)
    """
    if fraction := _FRACTION.fullmatch(text):
        return _fraction(*fraction.groups())
    decimal = _DECIMAL.fullmatch(text)
    if decimal is None:
        return None
    mantissa, power = decimal.groups()
    if _AMBIGUOUS.fullmatch(mantissa):
        if not thousands_comma:
            without, point = mantissa.replace(",", ""), mantissa.replace(",", ".")
            raise DomainError(f"`{mantissa}` can be read in two ways: write `{without}` or `{point}`")
        mantissa = mantissa.replace(",", "")
    for pattern, thousands, point in _SETTINGS:
        if pattern.fullmatch(mantissa):
            plain = mantissa.replace(thousands, "") if thousands else mantissa
            return _decimal(plain.replace(point, "."), power)
    return None


def _fraction(whole: str | None, over: str, under: str) -> Number | None:
    if int(under) == 0:
        return None
    value = int(whole or 0) + Decimal(over) / Decimal(under)
    text = f"{int(over)}/{int(under)}"
    return Number(value, f"{int(whole)} {text}" if whole else text, denominator=int(under))


def _decimal(plain: str, power: str | None) -> Number:
    whole, _, decimals = plain.partition(".")
    text = _grouped(whole.lstrip("0") or "0") + (f".{decimals}" if decimals else "")
    if power is None:
        return Number(Decimal(plain), text, digits=len(decimals))
    return Number(Decimal(f"{plain}e{power}"), text + _power_text(int(power)))


def write_number(value: float, digits: int, *, significant: bool = False, trimmed: bool = False) -> str:
    """Normal text of a number, rounded half away from zero.

    Parameters
    ----------
    value : float
        Any finite number.
    digits : int
        Decimals, or significant digits when `significant`.
    significant : bool
        Whether `digits` counts significant digits; small numbers then get a power of ten.
    trimmed : bool
        Whether zeros at the end of the decimals are left out.

    Returns
    -------
    str
        For example ``−1 234.50`` (true minus, thin space).

    Raises
    ------
    DomainError
        If the number is not finite.

    Examples
    --------
    >>> write_number(-0.5, 0), write_number(2.5e-6, 3, significant=True)
    ('−1', '2.5×10⁻⁶')
    """
    if not math.isfinite(value):
        raise DomainError("`value` must not be too large to be written in its unit")
    size = abs(value)
    digits = min(digits, MOST_DIGITS)
    if size >= 1e15 or (significant and 0 < size < 1e-3):
        mantissa, power = f"{size:.{max(digits, 3) - 1}e}".split("e")
        text = mantissa.rstrip("0").rstrip(".") + _power_text(int(power))
    else:
        decimals = _decimals_of(size, digits) if significant else digits
        whole, _, rest = f"{rounded(size, decimals):f}".partition(".")
        rest = rest.rstrip("0") if trimmed else rest
        text = _grouped(whole) + (f".{rest}" if rest else "")
    return MINUS + text if value < 0 and re.search("[1-9]", text) else text


def rounded(size: float, digits: int) -> Decimal:
    """Number rounded half up to some decimals, freed of noise beyond twelve significant digits."""
    return Decimal(float(f"{size:.{MOST_DIGITS}g}")).quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)


def _decimals_of(size: float, significant: int) -> int:
    return max(0, significant - 1 - math.floor(math.log10(size))) if size else 0


def _grouped(whole: str) -> str:
    return re.sub(r"(?<=[0-9])(?=(?:[0-9]{3})+$)", THIN_SPACE, whole)


def _power_text(power: int) -> str:
    return "×10" + str(power).translate(_RAISED)
