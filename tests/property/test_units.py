"""Units against a general library, generated entries, and junk."""

import math

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pondwright.base.errors import DomainError
from pondwright.base.kinds import ELEVATION, KINDS, LENGTH
from pondwright.base.numbers import MINUS, THIN_SPACE
from pondwright.base.unit_table import units
from pondwright.base.units import format_value, parse, show

REGISTRY = pint.UnitRegistry()
# The library's own acre is of survey feet, and its plain thermal unit is rounded.
REGISTRY.define("land_acre = 43560 * foot ** 2")
BTU = "international_british_thermal_unit"
IN_LIBRARY = {
    "°": "degree", "°C": "degC", "°F": "degF", "K": "kelvin", "-": "dimensionless", "%": "percent",
    "ftUS": "survey_foot", "mil": "thou", "gpm": "gallon/minute", "gph": "gallon/hour", "gpd": "gallon/day",
    "imp gal": "imperial_gallon", "imp gpm": "imperial_gallon/minute", "imp gph": "imperial_gallon/hour",
    "cfs": "ft^3/s", "cfm": "ft^3/min", "acre": "land_acre", "acre-ft": "land_acre*ft",
    "acre-ft/day": "land_acre*ft/day",
    "gal/acre/day": "gallon/land_acre/day", "BTU": BTU, "BTU/h": f"{BTU}/hour",
    "short ton": "short_ton", "long ton": "long_ton", "short ton/yd³": "short_ton/yd^3",
    "psf": "lbf/ft^2", "m water": "kg/L*g_0*m", "ft water": "kg/L*g_0*ft", "in water": "kg/L*g_0*inch",
    "hp": "horsepower", "ppm": "mg/L", "ppb": "ug/L", "in": "inch", "t": "metric_ton", "gon": "grade",
    "h": "hour", "mile": "mile", "mph": "mile/hour", "lb": "lb", "oz": "ounce", "atm": "atm",
}  # fmt: skip
IN_WORDS = {
    "in": "inch", "gal": "gallon", "t": "metric_ton", "h": "hour", "m³": "m^3", "m²": "m^2", "ft²": "ft^2",
    "ft³": "ft^3", "yd²": "yd^2", "yd³": "yd^3", "cm³": "cm^3", "cm²": "cm^2", "mm²": "mm^2", "km²": "km^2",
    "in²": "inch^2", "in³": "inch^3", "oz": "ounce",
}  # fmt: skip
HOUSE = {"°C": "degC", "-": "dimensionless", "m³/s": "m^3/s", "kg/m³": "kg/m^3", "kg/m²": "kg/m^2",
         "g/m³": "g/m^3", "m²": "m^2", "m³": "m^3"}  # fmt: skip


def library_name(name):
    return IN_LIBRARY.get(name) or "/".join(IN_WORDS.get(piece, piece) for piece in name.split("/"))


@pytest.mark.parametrize("unit", units().values(), ids=lambda unit: unit.name)
@pytest.mark.parametrize("number", [1.0, 37.25])
def test_every_factor_agrees_with_a_general_library(unit, number):
    house = KINDS[unit.kind].unit
    expected = REGISTRY.Quantity(number, library_name(unit.name)).to(HOUSE.get(house, house)).magnitude

    actual = number * float(unit.factor) + float(unit.offset)

    assert actual == pytest.approx(expected, rel=1e-12, abs=1e-12 * abs(float(unit.offset)))


def grouped(number):
    return f"{number:,}".replace(",", THIN_SPACE)


signs = st.sampled_from(["", MINUS])
wholes = st.integers(0, 99_999).map(grouped)
decimals = st.tuples(wholes, st.text("0123456789", min_size=1, max_size=6)).map(".".join)
fractions = st.tuples(st.integers(1, 99), st.sampled_from([2, 4, 8, 16, 32])).flatmap(
    lambda pair: st.integers(1, pair[1] - 1).map(lambda over: f"{pair[0]} {over}/{pair[1]}")
)
powers = st.tuples(decimals, st.sampled_from(["×10⁻⁶", "×10³", "×10⁻¹²"])).map("".join)
numbers = wholes | decimals | fractions | powers
plain_units = [unit for unit in units().values() if unit.name != "-"]


@st.composite
def entries(draw):
    """A kind and a text in normal form."""
    form = draw(st.sampled_from(["unit", "feet", "marks", "relative", "slope", "bearing"]))
    inches = draw(st.integers(0, 11).map(str) | st.integers(1, 11).map(lambda whole: f"{whole} 3/16"))
    if form == "feet":
        return LENGTH, draw(signs) + f"{draw(wholes)} ft {inches} in"
    if form == "marks":
        return LENGTH, draw(signs) + f"{draw(wholes)}' {inches}\""
    if form == "relative":
        return ELEVATION, draw(st.sampled_from(["+", MINUS])) + f"{draw(numbers)} in wl"
    if form == "slope":
        run = draw(st.integers(1, 99))
        return KINDS["slope"], draw(st.sampled_from([f"{run}:1", f"{run} %", f"1 in {run}"]))
    if form == "bearing":
        turn = f"{draw(st.integers(0, 89))}° {draw(st.integers(0, 59))}' {draw(st.integers(0, 59))}\""
        return KINDS["angle"], f"{draw(st.sampled_from('NS'))} {turn} {draw(st.sampled_from('EW'))}"
    unit = draw(st.sampled_from(plain_units))
    space = "" if unit.name == "°" else " "
    return KINDS[unit.kind], draw(signs) + draw(numbers) + space + (unit.name)


@settings(max_examples=500, deadline=None)
@given(entries())
def test_what_was_typed_is_shown_and_reads_back_as_the_same_value(entry):
    kind, text = entry
    typed = parse(text, kind, "us", 100.0)

    again = parse(show(typed), kind, "us", 100.0)

    assert show(typed) == text
    assert again == typed


@settings(max_examples=300, deadline=None)
@given(entries())
def test_a_value_written_in_the_style_it_was_typed_in_is_what_was_typed(entry):
    kind, text = entry
    typed = parse(text, kind, "us", 100.0)

    written = format_value(typed.value, kind, "us", style=typed.style, relative_to=100.0)

    again = parse(written, kind, "us", 100.0)
    assert again.value == pytest.approx(typed.value, rel=0.06, abs=10 ** -(typed.style.digits or 0) * 1e3)
    if typed.style.denominator and kind == LENGTH and text[:2] != "0'":
        assert again.value == pytest.approx(typed.value, rel=1e-9)


alphabet = "0123456789 .,-+/'\"½¼⅛°′″×²³⁻^:%eEftinmlgaNSEWwVH\u2009\u00a0−"
typed_signs = st.text(st.sampled_from(alphabet), max_size=20)
kinds = st.sampled_from(list(KINDS.values()))
jobs = st.sampled_from(["us", "us_inch", "metric"])


@settings(max_examples=1500, deadline=None)
@given(st.text(max_size=90) | typed_signs, kinds, st.none() | jobs, st.booleans())
@example("1e999", KINDS["count"], None, False)
@example("1/" + "9" * 60, LENGTH, "us", False)
def test_junk_is_refused_in_one_sentence_or_read_as_a_number(text, kind, shown, relative):
    try:
        typed = parse(text, kind, shown, 100.0, relative=relative)
    except DomainError as refused:
        assert "\n" not in str(refused)
        return

    assert math.isfinite(typed.value)
    assert parse(show(typed), kind, shown, 100.0).value == typed.value
    format_value(typed.value, kind, shown or "metric", style=typed.style, relative_to=100.0)


@settings(max_examples=500, deadline=None)
@given(st.floats(-1e290, 1e290), kinds, jobs)
def test_any_finite_value_can_be_written(value, kind, shown):
    text = format_value(value, kind, shown)

    assert text
    assert "-" not in text
    assert "nan" not in text


@given(st.integers(-16 * 12 * 5000, 16 * 12 * 5000))
def test_sixteenths_of_an_inch_are_exact_in_feet_and_inches(sixteenths):
    length = sixteenths * 0.0254 / 16

    text = format_value(length, LENGTH, "us_inch")

    assert parse(text, LENGTH, "us_inch").value == pytest.approx(length, rel=1e-12, abs=1e-15)
