"""Plain numbers as people write them."""

from decimal import Decimal

import pytest

from pondwright.base.errors import DomainError
from pondwright.base.numbers import read_number, write_number


@pytest.mark.parametrize(
    ("text", "value", "normal"),
    [
        ("007", "7", "7"),
        (".5", "0.5", "0.5"),
        ("5.", "5", "5"),
        (",5", "0.5", "0.5"),
        ("12,5", "12.5", "12.5"),
        ("1.234.567", "1234567", "1\u2009234\u2009567"),
        ("1,234,567", "1234567", "1\u2009234\u2009567"),
        ("1\u2009234,5", "1234.5", "1\u2009234.5"),
        ("1e3", "1000", "1×10³"),
        ("2.50e-06", "0.0000025", "2.50×10⁻⁶"),
        ("1/2", "0.5", "1/2"),
        ("4-1/2", "4.5", "4 1/2"),
    ],
)
def test_an_unambiguous_number_is_read_exactly(text, value, normal):
    number = read_number(text)

    assert number is not None
    assert number.value == Decimal(value)
    assert number.text == normal


@pytest.mark.parametrize("text", ["", "abc", "1,2,3", "1.2.3", "1/0", "12,34.5", "1\u200923", "--1", "1e"])
def test_a_text_that_is_no_number_is_not_read(text):
    assert read_number(text) is None


def test_a_comma_before_three_digits_is_refused_with_both_readings():
    with pytest.raises(DomainError, match=r"`1,200` can be read in two ways: write `1200` or `1\.200`"):
        read_number("1,200")


def test_a_comma_before_three_digits_parts_thousands_in_a_us_job():
    number = read_number("1,200", thousands_comma=True)

    assert number is not None
    assert number.value == 1200


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.5, 0, "1"),
        (2.5, 0, "3"),
        (-2.5, 0, "−3"),
        (-0.4, 0, "0"),
        (1234567.891, 2, "1\u2009234\u2009567.89"),
        (999.995, 2, "1\u2009000.00"),
        (0.3 / 0.1, 0, "3"),
        (1e15, 0, "1×10¹⁵"),
        (1.0, 40, "1.000000000000"),
    ],
)
def test_a_number_is_rounded_half_away_from_zero(value, digits, text):
    assert write_number(value, digits) == text
