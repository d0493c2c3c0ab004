"""What is no survey file is refused in one sentence that says what it is and what would help."""

import gzip
import io
import zipfile

import numpy as np
import pytest

from pondwright.base.errors import ImportRefused
from pondwright.exchange import read
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Wanted
from tests.unit.exchange.files import las_bytes, places, xyz_text

METRES = Wanted(unit="m")


def zipped():
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("points.txt", "1 2 3")
    return stream.getvalue()


LINE = np.column_stack([np.arange(9.0), np.arange(9.0) * 2, np.arange(9.0)])


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "is empty"),
        (b" \n\t\n ", "is empty"),
        (zipped(), "a zip archive or a spreadsheet"),
        (gzip.compress(b"1 2 3\n", mtime=0), "a packed file"),
        (b"\xd0\xcf\x11\xe0" + bytes(60), "an old office document, or an encrypted one"),
        (b"%PDF-1.7\n", "a PDF"),
        (b"\x89PNG\r\n\x1a\n", "a picture"),
        (b"SQLite format 3\0", "a database"),
        (bytes(range(256)), "no text and no file of points"),
        (b"dear builder,\nhere are the heights\nregards\n", "a row needs east, north and elevation"),
        (b"1 2 3\n4 5 6\n", "2 points"),
        (xyz_text(LINE).encode(), "on one line"),
        (b"1 2 nan\n2 3 inf\n3 4 -inf\n", "most are none|cannot be read"),
        (b"1 2 99999\n5 3 99999\n3 9 99999\n", "most are none|0 points"),
        (b"1e9 2 3\n5 3e9 4\n3 9e8 9\n", "most are none|0 points"),
        (
            b"7.60001 51.90002 60\n7.60003 51.90001 61\n7.60002 51.90005 60\n",
            "longitude and latitude in degrees",
        ),
        (las_bytes(places(2)), "has 2 points"),
        (las_bytes(np.column_stack([np.arange(5_000.0), np.arange(5_000.0), np.ones(5_000)])), "on one line"),
        (b"LASF", "cut off"),
        (b"II*\0", "damaged, cut off"),
        (b"<", "no whole XML"),
        (b"{", "no whole JSON"),
    ],
)
def test_it_is_refused_with_its_reason(content, why):
    with pytest.raises(ImportRefused, match=why) as refused:
        read_file(content, "brought.bin", METRES)

    assert "\n" not in str(refused.value) and "brought.bin" in str(refused.value)


def test_the_content_counts_and_not_the_name():
    assert read_file(las_bytes(places(50)), "shots.csv", METRES).form == "las"


def test_a_name_cannot_break_what_is_said():
    with pytest.raises(ImportRefused) as refused:
        read_file(b"", "../../etc/\npass\x07wd" + "x" * 500)

    assert str(refused.value).startswith("?pass?wd") and len(str(refused.value)) < 200


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(ImportRefused, match="is not there"):
        read_file(tmp_path / "none.las", "none.las")


def test_a_file_that_is_too_large_is_refused(monkeypatch):
    monkeypatch.setitem(read.LARGEST, "las", 500)

    with pytest.raises(ImportRefused, match="at most 0 MB are read"):
        read_file(las_bytes(places(500)), "cloud.las", METRES)


@pytest.mark.parametrize(
    ("wanted", "why"),
    [
        ({"window": (5.0, 0.0, 5.0, 9.0)}, "`window` must be west, south, east and north"),
        ({"window": (float("nan"), 0.0, 5.0, 9.0)}, "`window` must be"),
        ({"spacing": 0.0}, "`spacing` must be from 0.01 to 1000 m"),
        ({"epsg": 99_998}, "`epsg` must be the code of a map grid"),
        ({"window": (1e6, 1e6, 1e6 + 9, 1e6 + 9)}, "outside the window"),
    ],
)
def test_a_wish_that_makes_no_sense_is_refused(wanted, why):
    with pytest.raises(ImportRefused, match=why):
        read_file(las_bytes(places(500)), "cloud.las", Wanted(**wanted))
