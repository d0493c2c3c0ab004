"""Pasted tables of shots: how columns and units are understood, and what is said of each bad cell."""

import pytest

from pondwright.base.errors import ImportRefused
from pondwright.exchange.points import MOST_ROWS, read_points

FOOT = 0.3048


def values(row):
    return row.name, row.east, row.north, row.elevation, row.code


def test_without_a_header_the_order_is_east_north_elevation_code():
    table = read_points("12.5 8.0 100.35 rim\n13.5 8.5 100.4 rim", "metric")

    assert table.columns == ("east", "north", "elevation", "code")
    assert values(table.rows[0]) == ("", 12.5, 8.0, 100.35, "rim")


def test_a_first_column_of_numbers_one_each_is_the_name_of_the_shot():
    table = read_points("1,12.5,8.0,100.35,rim\n2,13.5,8.5,100.40,rim", "metric")

    assert [values(row) for row in table.rows] == [
        ("1", 12.5, 8.0, 100.35, "rim"),
        ("2", 13.5, 8.5, 100.40, "rim"),
    ]


def test_whole_numbers_before_a_code_are_places_and_no_names():
    table = read_points("20 9 99.62 rim\n28 12 high rim\n32 19 99.88 rim", "metric")

    assert values(table.rows[0]) == ("", 20.0, 9.0, 99.62, "rim")
    assert [sorted(row.errors) for row in table.rows] == [[], ["elevation"], []]


def test_four_numbers_are_a_name_and_a_shot():
    assert read_points("1 20 9 99.62\n2 28 12 99.7", "metric").columns[0] == "name"


def test_a_first_column_that_repeats_is_no_name():
    assert read_points("1,2,100,a\n1,3,101,b", "metric").columns[0] == "east"


@pytest.mark.parametrize("separator", ["\t", ";", ",", "  "])
def test_cells_may_be_parted_by_tabs_semicolons_commas_or_spaces(separator):
    rows = [("Point", "N", "E", "Z", "Desc"), ("7", "8.0", "12.5", "100.35", "rim")]

    table = read_points("\n".join(map(separator.join, rows)), "metric")

    assert values(table.rows[0]) == ("7", 12.5, 8.0, 100.35, "rim")


def test_a_header_may_state_the_unit_of_its_column():
    table = read_points("easting (ft), northing [m], elev. (ft)\n10, 10, 100", "metric")

    assert values(table.rows[0])[1:4] == pytest.approx((10 * FOOT, 10.0, 100 * FOOT))


def test_a_bare_number_takes_the_units_of_the_job_and_a_cell_may_state_its_own():
    row = read_points("x,y,z\n10,10 m,100'6\"", "us").rows[0]

    assert values(row)[1:4] == pytest.approx((10 * FOOT, 10.0, 100.5 * FOOT))


def test_a_decimal_comma_between_semicolons_is_read():
    assert values(read_points("x;y;z\n12,5;8,0;100,35", "metric").rows[0])[1:4] == (12.5, 8.0, 100.35)


def test_a_quoted_cell_may_hold_the_separator():
    assert read_points('x,y,z,code\n1,2,100,"rim, east"', "metric").rows[0].code == "rim, east"


def test_a_cell_that_cannot_be_read_says_so_and_the_others_stand():
    first, second = read_points("x,y,z\n1,oops,100\n,2,101", "metric").rows

    assert set(first.errors) == {"north"} and (first.east, first.elevation) == (1.0, 100.0)
    assert first.north is None and second.errors == {"east": "is missing"}


def test_a_shot_may_have_no_elevation_yet():
    row = read_points("x,y,z\n1,2,", "metric").rows[0]

    assert row.elevation is None and not row.errors


def test_a_row_keeps_the_number_of_its_line():
    assert [row.line for row in read_points("x,y,z\n\n1,2,3\n\n4,5,6\n", "metric").rows] == [3, 5]


def test_the_sentence_tells_columns_units_and_how_many_rows_are_not_whole():
    says = read_points("x,y,z\n1,oops,100\n1,2,101", "metric").says

    assert says.startswith("2 rows, read as east, north, elevation, bare numbers in m; 1 of them cannot")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "there are no rows"),
        (" \n\t\n", "there are no rows"),
        ("x,y,z", "a header but no row"),
        ("1,2\n3,4", "these have 2 columns"),
        ("1 2 3\n" * (MOST_ROWS + 1), "may have 50000 at most"),
    ],
)
def test_what_is_no_table_is_refused_in_one_sentence(text, why):
    with pytest.raises(ImportRefused, match=why):
        read_points(text, "metric")
