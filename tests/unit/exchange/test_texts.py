"""Text clouds: separators, comments, headers, further columns, and any length in the same memory."""

import io
import tracemalloc

import numpy as np
import pytest

from pondwright.base.errors import ImportRefused
from pondwright.exchange.columns import parse_order
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Around, Wanted
from pondwright.exchange.xyz import read_xyz
from tests.unit.exchange.files import FOOT, places, xyz_text

METRES = Wanted(unit="m")


def rows_of(text, wanted=METRES, around=None):
    found = read_xyz(io.BytesIO(text.encode()), "cloud.xyz", wanted, around or Around())
    read = found.spool.whole()
    found.spool.close()
    return found, read


@pytest.mark.parametrize("separator", [" ", "\t", ",", ";", "|", "   "])
def test_every_separator_gives_the_same_points(separator):
    rows = places(500).round(4)

    _found, read = rows_of(xyz_text(rows, separator))

    np.testing.assert_array_equal(read, rows)


@pytest.mark.parametrize(
    "text",
    [
        "# a comment\n// another\n1 2 3\n4 5 6\n",
        "X Y Z R G B\n1 2 3 9 9 9\n4 5 6 8 8 8\n",
        "2\n1.0 2 3 -500 1 1 1\n4.0 5 6 -500 1 1 1\n",
        "north,east,z\n2,1,3\n5,4,6\n",
        "1;2;3\r\n4;5;6\r\n",
        "1,0;2,0;3,0\n4,0;5,0;6,0",
        "1,0 2,0 3,0\n4,0 5,0 6,0",
        "\ufeff1 2 3\n\n\n4 5 6",
        "1.0e0 2 3\n4 5 .6E1",
        '"x","y","z"\n"1","2","3"\n"4","5","6"\n',
    ],
)
def test_every_usual_form_is_read(text):
    _found, read = rows_of(text)

    assert read.tolist() == [[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]]


def test_a_header_states_its_unit():
    found, read = rows_of("x (ft) y (ft) z (ft)\n".replace(" (", "(") + "10 20 30\n11 21 31\n", Wanted())

    assert found.unit == "ft" and read[0] == pytest.approx(np.array([10, 20, 30]) * FOOT)


def test_lines_that_are_no_points_are_counted_with_their_reasons():
    good = xyz_text(places(30))

    found, read = rows_of(good + "oops 1 2\n1 2\n1 2 nan\n1e9 2 3\n1 2 99999\n")

    assert len(read) == 30
    assert [(each.count, each.why.split(",")[0]) for each in found.left_out] == [
        (2, "no three numbers in the line"),
        (2, "coordinates beyond 10 000 000 m"),
        (1, "lower than −500 m or higher than 9000 m"),
    ]


def test_an_order_that_is_said_is_kept():
    _found, read = rows_of("1 2 3\n4 5 6\n", Wanted(unit="m", order=parse_order("nez")))

    assert read[0].tolist() == [2.0, 1.0, 3.0]


def test_a_long_cloud_goes_to_cells_and_needs_no_more_memory_than_a_short_one():
    rng = np.random.default_rng(5)
    block = "".join(f"{e:.2f} {n:.2f} 100.5\n" for e, n in rng.random((20_000, 2)) * 90)
    read_file((block * 2).encode(), "warm.xyz", METRES)
    peaks = []
    for times in (4, 16):
        stream = io.BytesIO((block * times).encode())
        tracemalloc.start()
        reading = read_file(stream, "cloud.xyz", METRES)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert reading.taken == 20_000 * times and reading.binned is not None

    assert peaks[1] < peaks[0] + 45 * 2**20


def test_degrees_in_a_text_are_laid_on_a_map_grid():
    rows = places(40)
    degrees = np.column_stack([7.6 + rows[:, 0] / 68_000, 51.9 + rows[:, 1] / 111_000, rows[:, 2]])
    text = "".join(f"{x:.9f} {y:.9f} {z:.3f}\n" for x, y, z in degrees)

    reading = read_file(text.encode(), "cloud.xyz", Wanted(epsg=4326))

    assert reading.epsg == 32632 and reading.taken == 40
    assert reading.extent[2] - reading.extent[0] == pytest.approx(np.ptp(rows[:, 0]), rel=0.02)


def test_degrees_that_come_as_metres_are_refused():
    text = "".join(f"{7.6 + at * 1e-5:.6f} {51.9 + at % 3 * 1e-5:.6f} 60.0\n" for at in range(9))

    with pytest.raises(ImportRefused, match="look like longitude and latitude in degrees"):
        read_file(text.encode(), "cloud.xyz", METRES)


def test_only_the_window_is_taken():
    reading = read_file(
        xyz_text(places()).encode(), "cloud.xyz", Wanted(unit="m", window=(10.0, 10.0, 30.0, 25.0))
    )

    assert reading.extent[0] >= 10.0 and reading.extent[3] <= 25.0
    assert reading.taken + sum(each.count for each in reading.left_out) == 3_000


def test_utf_16_is_read():
    assert read_file("x\ty\tz\n1\t2\t3\n4\t5\t6\n7\t1\t9\n".encode("utf-16"), "cells.txt", METRES).taken == 3
