"""Which column is which: by a header, by a person, or by where the job's own ground lies."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import ImportRefused
from pondwright.exchange.columns import LETTERS, height_doubt, parse_order, place_doubt
from pondwright.exchange.points import preview_points, read_points
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Around, Wanted
from tests.unit.exchange.files import FOOT, SURVEY_FOOT

JOB = Around("metric", (500.0, 100.0, 560.0, 140.0), 99.0, 102.0)
ROWS = "1,510.0,110.0,100.1,rim\n2,540.0,130.0,100.4,rim\n3,530.0,112.0,99.8,toe\n"
TURNED = "1,110.0,510.0,100.1,rim\n2,130.0,540.0,100.4,rim\n3,112.0,530.0,99.8,toe\n"


@pytest.mark.parametrize(
    ("typed", "columns"),
    [
        ("PNEZD", ("name", "north", "east", "elevation", "code")),
        ("enz", ("east", "north", "elevation")),
        ("xyz", ("east", "north", "elevation")),
        ("p-yxz", ("name", "", "north", "east", "elevation")),
        ("name,north,east,elevation,code", ("name", "north", "east", "elevation", "code")),
    ],
)
def test_an_order_is_read_from_letters_or_words(typed, columns):
    assert parse_order(typed) == columns


@given(st.text(alphabet=sorted({*LETTERS, "-", ",", "q", " "}), max_size=8))
def test_every_other_order_is_refused_in_one_sentence(typed):
    try:
        found = parse_order(typed)
    except ImportRefused as refused:
        assert "\n" not in str(refused) and "PNEZD" in str(refused)
    else:
        assert {"east", "north", "elevation"} <= set(found)


def test_north_before_east_is_seen_where_the_points_then_fall_on_the_jobs_ground():
    table = read_points(TURNED, "metric", JOB)

    assert table.columns == ("name", "north", "east", "elevation", "code")
    assert (table.rows[0].east, table.rows[0].north) == (510.0, 110.0)
    assert (
        "North comes first because with north first 3 of 3 points fall on the job's own ground" in table.says
    )


def test_a_header_is_believed_and_a_swap_is_suspected_in_one_sentence():
    table = read_points("point,east,north,elev,code\n" + TURNED, "metric", JOB)

    assert table.rows[0].east == 110.0
    assert table.warnings == (
        "East and north look swapped: the other way round, 3 of 3 points fall on the job's own ground.",
    )


def test_points_that_lie_right_raise_no_doubt():
    table = read_points(ROWS, "metric", JOB)

    assert table.columns[1:3] == ("east", "north") and table.warnings == ()


def test_without_a_job_large_first_numbers_are_northings():
    table = read_points("1,5150300.0,429300.0,400.0\n2,5150310.0,429310.0,401.0", "metric")

    assert table.columns[1:3] == ("north", "east") and "northings on the usual map grids" in table.says


def test_what_a_person_says_goes_before_what_the_numbers_say():
    wanted = Wanted(order=parse_order("PENZD"))

    assert read_points(TURNED, "metric", JOB, wanted).rows[0].east == 110.0


@pytest.mark.parametrize(("unit", "metres"), [("ft", FOOT), ("ftUS", SURVEY_FOOT), ("m", 1.0)])
def test_a_unit_that_is_said_holds_for_bare_numbers(unit, metres):
    row = read_points("x,y,z\n1000000,10,100", "metric", None, Wanted(unit=unit)).rows[0]

    assert (row.east, row.elevation) == pytest.approx((1e6 * metres, 100 * metres), rel=1e-12)


def test_feet_taken_for_metres_are_told_by_the_heights():
    heights = np.array([100.0, 101.0]) / FOOT

    said = height_doubt(heights, "m", Around("metric", None, 99.5, 101.5))

    assert said == (
        "The heights lie about 329.724 m, the job's own from 99.500 m to 101.500 m: they were read in metres,"
        " and in international feet they would fit. Are they?"
    )


def test_heights_that_fit_in_no_unit_are_told_too():
    assert "check the unit" in height_doubt(np.array([4000.0]), "m", Around("metric", None, 99.5, 101.5))


@pytest.mark.parametrize("heights", [[100.0, 105.0], [], [np.nan]])
def test_heights_near_the_jobs_own_raise_no_doubt(heights):
    assert height_doubt(np.array(heights), "m", Around("metric", None, 99.5, 101.5)) == ""


def test_a_table_without_header_asks_for_its_order_and_unit():
    reading = read_file(ROWS.encode(), "shots.csv", None, JOB)

    assert [question.about for question in reading.questions] == ["order", "unit"]
    assert reading.questions[0].choices == (
        "name,east,north,elevation,code",
        "name,north,east,elevation,code",
    )
    assert reading.kind == "shots" and reading.points.names == ("1", "2", "3")


def test_an_answered_question_is_not_asked_again():
    wanted = Wanted(unit="m", order=parse_order("PENZD"))

    assert read_file(ROWS.encode(), "shots.csv", wanted, JOB).questions == ()


def test_that_east_and_north_may_be_swapped_is_said_only_where_nothing_tells_that_they_are_not():
    square = Around("metric", (0.0, 0.0, 60.0, 60.0), 99.0, 102.0)
    both_ways = "10,30,100.1\n40,20,100.2"

    assert "not swapped" in preview_points("x,y,z\n" + both_ways, "metric").says
    assert "not swapped" in preview_points(both_ways, "metric", square).says
    assert "swapped" not in preview_points("x,y,z\n" + both_ways, "metric", square).says
    assert "swapped" not in preview_points(ROWS, "metric", JOB).says
    said = Wanted(order=("east", "north", "elevation"))
    assert "swapped" not in preview_points(both_ways, "metric", None, said).says


def test_a_row_that_lies_far_off_is_told_with_its_number():
    table = preview_points(ROWS + "4,5300.0,112.0,99.8,typo\n", "metric", JOB)

    assert table.warnings == (
        "Row 4 lies 4\u2009740.00 m from the job's own ground: check its east and north.",
    )
    assert table.says.endswith(table.warnings[0])


def test_several_rows_far_off_are_told_by_the_farthest():
    rows = ROWS + "4,5300.0,112.0,99.8,a\n5,9300.0,112.0,99.8,b\n"

    (told,) = preview_points(rows, "metric", JOB).warnings

    assert told.startswith(
        "2 of 5 rows lie far from the job's own ground, row 5 the farthest by 8\u2009740.00 m"
    )


def test_a_height_that_lies_far_off_is_told_with_its_row():
    (told,) = preview_points(ROWS + "4,530.0,112.0,998.0,typo\n", "metric", JOB).warnings

    assert told.startswith("Row 4 stands at 998.000 m, the job's own ground from 99.000 m to 102.000 m")


def test_metres_read_as_feet_are_told_by_the_places_where_the_unit_would_bring_them_there():
    metres = np.array([[510.0, 110.0], [540.0, 130.0]])
    far = Around("us", (500.0, 100.0, 560.0, 140.0))

    assert place_doubt(metres * FOOT, "ft", far) == (
        "Read in international feet, 2 of 2 rows lie far from the job's own ground, and in metres they would"
        " lie on it. Are they?"
    )
    assert place_doubt(metres, "m", far) == "" and place_doubt(metres, "m", Around("us")) == ""


def test_metres_pasted_into_a_job_in_feet_are_doubted_by_their_heights():
    (told,) = preview_points(ROWS, "us", JOB).warnings

    assert "they were read in international feet, and in metres they would fit" in told
    assert preview_points(ROWS, "us", JOB, Wanted(unit="m")).warnings == ()
