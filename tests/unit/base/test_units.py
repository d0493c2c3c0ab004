"""Units at the edges: shared vectors, and what the vectors cannot say."""

import json
import math
import subprocess
import sys
from pathlib import Path

import pytest

from pondwright.base.errors import DomainError
from pondwright.base.kinds import AREA, ELEVATION, FLOW, KINDS, LENGTH, MASS, SLOPE, SPEED, VOLUME
from pondwright.base.unit_table import units, words_of
from pondwright.base.units import Style, format_value, parse, show, unit_of

ROOT = Path(__file__).parents[3]
VECTORS = json.loads((ROOT / "tests/vectors/units.json").read_text(encoding="utf-8"))


def read(case):
    options = {key: case[key] for key in ("unit", "water_line", "relative") if key in case}
    return parse(case["text"], KINDS[case["kind"]], case["shown"], **options)


@pytest.mark.parametrize("case", VECTORS["read"], ids=lambda case: case["text"])
def test_a_text_is_read_as_its_value_and_shown_in_its_normal_form(case):
    typed = read(case)

    assert typed.value == pytest.approx(case["value"], rel=1e-12, abs=1e-15)
    assert show(typed) == case["shows"]


@pytest.mark.parametrize("case", VECTORS["read"], ids=lambda case: case["text"])
def test_the_normal_form_reads_back_as_the_very_same_value(case):
    typed = read(case)

    assert read({**case, "text": show(typed)}) == typed


@pytest.mark.parametrize("case", VECTORS["refused"], ids=lambda case: case["text"])
def test_a_doubtful_text_is_refused_in_one_sentence_with_an_example(case):
    with pytest.raises(DomainError) as refused:
        read(case)

    says = str(refused.value)
    assert "\n" not in says
    assert "write" in says
    assert says.count("`") >= 4


@pytest.mark.parametrize("case", VECTORS["written"], ids=lambda case: case["text"])
def test_a_value_is_written_for_people(case):
    options = {key: case[key] for key in ("digits", "relative_to") if key in case}

    assert format_value(case["value"], KINDS[case["kind"]], case["shown"], **options) == case["text"]


def test_a_bare_ton_in_a_metric_job_is_told_both_tons():
    with pytest.raises(DomainError, match=r"`t` \(1000 kg\) or `short ton` \(2000 lb\)"):
        parse("3 ton", MASS, "metric")


def test_a_bare_ton_in_a_us_job_is_said_to_be_short():
    assert show(parse("3 ton", MASS, "us")) == "3 short ton"


def test_a_survey_foot_is_not_a_foot():
    survey, international = parse("1e6 ftUS", LENGTH), parse("1e6 ft", LENGTH)

    assert survey.value - international.value == pytest.approx(0.6096, abs=1e-4)


def test_us_and_imperial_gallons_differ():
    imperial, american = parse("1 imp gal", VOLUME), parse("1 gal", VOLUME)

    assert imperial.value / american.value == pytest.approx(1.200950, abs=1e-6)


def test_acres_and_yards_have_their_customary_rounded_metric_values():
    acre_foot = parse("1 acre-ft", VOLUME).value

    assert acre_foot / parse("1 ft³", VOLUME).value == pytest.approx(43560, rel=1e-12)
    assert acre_foot == pytest.approx(1233.48, abs=0.005)
    assert acre_foot / parse("1 gal", VOLUME).value == pytest.approx(325851, abs=0.5)
    assert parse("1 acre", AREA).value == pytest.approx(4046.86, abs=0.005)
    assert parse("1 yd3", VOLUME).value == pytest.approx(0.764555, abs=5e-7)


def test_a_changed_value_is_written_as_the_old_one_was_typed():
    typed = parse("3' 6 1/2\"", LENGTH)

    assert format_value(typed.value + 0.0254, LENGTH, "metric", style=typed.style) == "3' 7 1/2\""


def test_a_height_from_the_water_line_moves_with_it():
    typed = parse("+2 in wl", ELEVATION, "us", water_line=100.0)

    assert typed.style.relative
    assert format_value(typed.value, ELEVATION, "us", style=typed.style, relative_to=100.0) == "+2 in wl"


def test_a_relative_style_without_a_water_line_is_refused():
    with pytest.raises(DomainError, match="`relative_to` must be the level of the water line"):
        format_value(100.0, ELEVATION, "us", style=Style(("in",), relative=True))


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_value_that_is_no_number_is_not_written(value):
    with pytest.raises(DomainError, match="`value` must be a finite number"):
        format_value(value, LENGTH, "metric")


def test_a_level_slope_has_no_percentage():
    with pytest.raises(DomainError, match="must not be 0"):
        format_value(0.0, SLOPE, "metric", style=Style(("%",)))


@pytest.mark.parametrize("bearing", ["N 0° E", "N 90° E", "S 45° E", "S 45° W", "N 1° W"])
def test_a_bearing_is_written_in_its_quadrant(bearing):
    typed = parse(bearing, KINDS["angle"])

    assert format_value(typed.value, KINDS["angle"], "us", style=typed.style) in (bearing, "S 90° E")


def test_a_very_long_text_is_refused_without_reading_it():
    with pytest.raises(DomainError, match="must have at most 80 characters"):
        parse("9" * 100_000, LENGTH, "us")


def test_a_column_with_an_unknown_unit_is_refused():
    with pytest.raises(DomainError, match="`furlong` must be a unit of a length"):
        parse("3", LENGTH, None, unit="furlong")


def test_the_unit_of_a_column_is_that_of_a_bare_number():
    assert [unit_of(LENGTH, shown) for shown in ("metric", "us", "us_inch")] == ["m", "ft", "ft-in"]
    assert unit_of(FLOW, "us") == "gpm"


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
@pytest.mark.parametrize("shown", ["metric", "us", "us_inch"])
def test_every_kind_is_shown_and_read_back(kind, shown):
    typed = parse("2", kind, shown)

    text = format_value(typed.value, kind, shown)

    assert parse(text, kind, shown).value == pytest.approx(typed.value, rel=1e-12)


def test_every_name_and_every_spelling_means_one_unit():
    names = [name for _, name in units()]
    measures = {unit.kind for unit in units().values()}

    assert len(names) == len(set(names))
    for measure in measures:
        words = words_of(measure)
        assert all(words.unit(word) is unit for word, unit in words.exact.items())
        assert not set(words.us_only) & set(words.exact)


@pytest.mark.parametrize("unit", units().values(), ids=lambda unit: unit.name)
def test_every_unit_is_listed_in_the_reference(unit):
    page = (ROOT / "docs/reference/units.md").read_text(encoding="utf-8")

    assert f"| `{unit.name}` |" in page


def test_units_are_imported_without_numpy():
    program = "import sys, pondwright.base.units, pondwright.base.kinds; print('numpy' in sys.modules)"
    answer = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)

    assert answer.stdout.strip() == "False"


def test_a_slow_speed_keeps_three_figures():
    assert format_value(1.23456e-9, SPEED, "metric") == "1.23×10⁻⁹ m/s"
