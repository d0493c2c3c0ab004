"""Whatever comes in: a sound reading or one sentence, never anything else, and in bounded memory."""

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import Delaunay

from pondwright.base.errors import ImportRefused
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Around, Wanted
from pondwright.exchange.taking import surface_of
from tests.unit.exchange.files import (
    EAST,
    NORTH,
    geojson_text,
    landxml_text,
    las_bytes,
    places,
    tiff_bytes,
    xyz_text,
)
from tests.unit.exchange.test_geotiff import heights

ROWS = places(60).round(4)
ON_MAP = ROWS + np.array([EAST, NORTH, 0.0])
DEGREES = np.column_stack([7.6 + ROWS[:, 0] / 68_000, 51.9 + ROWS[:, 1] / 111_000, ROWS[:, 2]])
GOOD = {
    "cloud.las": las_bytes(ON_MAP),
    "new.las": las_bytes(ON_MAP, 6, "1.4", epsg=26915),
    "cloud.laz": las_bytes(ON_MAP, laz=True),
    "dem.tif": tiff_bytes(heights(12, 14)),
    "tiles.tif": tiff_bytes(heights(20, 20), tiled=True, blockxsize=16, blockysize=16, compress="deflate"),
    "site.xml": landxml_text(ROWS, Delaunay(ROWS[:, :2]).simplices.tolist()).encode(),
    "site.geojson": geojson_text(*(("Point", row.tolist(), {}) for row in DEGREES)).encode(),
    "cloud.xyz": xyz_text(ROWS).encode(),
    "shots.csv": b"point,north,east,elev (ft),code\n1,8,12.5,100.35,rim\n2,9,20,100.1,\nA,15,14,99.8,toe\n",
}
WISHES = st.builds(
    Wanted,
    unit=st.sampled_from([None, "m", "ft", "ftUS"]),
    height_unit=st.sampled_from([None, "m", "ft"]),
    order=st.sampled_from(
        [(), ("name", "north", "east", "elevation", "code"), ("east", "north", "elevation")]
    ),
    epsg=st.sampled_from([None, None, 4326, 26915, 2994]),
    heights=st.sampled_from(["mean", "lowest"]),
    window=st.sampled_from([None, None, (0.0, 0.0, 30.0, 30.0)]),
    spacing=st.sampled_from([None, 0.5]),
)
JOBS = st.sampled_from([
    Around(),
    Around("us", (0.0, 0.0, 60.0, 60.0), 99.0, 103.0),
    Around("metric", (0.0, 0.0, 60.0, 60.0), 99.0, 103.0, 26915, EAST, NORTH),
])  # fmt: skip


def is_sound(reading):
    west, south, east, north = reading.extent
    assert np.isfinite(reading.extent).all() and west <= east and south <= north
    assert max(map(abs, reading.extent)) <= 1.1e7
    assert -500.0 <= reading.lowest <= reading.highest <= 9000.0
    assert reading.taken >= 3 and len(reading.file) == 64
    assert (reading.points is None) <= (reading.binned is not None)
    if reading.binned is not None:
        assert max(reading.binned.grid.shape) <= 1501
        np.testing.assert_array_equal(np.isfinite(reading.binned.z), reading.binned.count > 0)
    for says in (*reading.says, *reading.warnings, *(each.why for each in reading.left_out)):
        assert says and "\n" not in says


def tried(content, name, wanted=None, around=None):
    try:
        reading = read_file(content, name, wanted, around)
        is_sound(reading)
        surface_of(reading, most=50)
    except ImportRefused as refused:
        assert str(refused) and "\n" not in str(refused) and len(str(refused)) < 700


@given(st.sampled_from(sorted(GOOD)), WISHES, JOBS)
@settings(max_examples=150)
def test_a_good_file_with_any_wish_is_read_or_refused(name, wanted, around):
    tried(GOOD[name], name, wanted, around)


@given(
    st.binary(max_size=300),
    st.sampled_from([b"", b"LASF", b"II*\0", b"MM\0*", b"II+\0", b"<", b"{", b"\xff\xfe"]),
)
@settings(max_examples=150)
def test_random_bytes_are_read_or_refused(content, begin):
    tried(begin + content, "random.bin", Wanted(unit="m"))


@st.composite
def spoiled(draw):
    """A good file of which some bytes were changed, cut out, doubled or cut off."""
    name = draw(st.sampled_from(sorted(GOOD)))
    content = bytearray(GOOD[name])
    head = draw(st.booleans())  # most of what can go wrong stands at the beginning
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, max(min(len(content) - 1, 600 if head else 10**9), 0)))
        put = draw(st.binary(min_size=1, max_size=8))
        how = draw(st.sampled_from(["put", "put", "cut", "double", "end"]))
        if how == "put":
            content[at : at + len(put)] = put
        elif how == "cut":
            del content[at : at + draw(st.integers(1, 40))]
        elif how == "double":
            content[at:at] = content[at : at + draw(st.integers(1, 200))]
        else:
            del content[max(at, 1) :]
    return name, bytes(content)


@given(spoiled())
@settings(max_examples=400)
def test_a_spoiled_file_is_read_or_refused(file):
    name, content = file
    tried(content, name, Wanted(unit="m"))


NUMBERS = st.sampled_from(
    ["1", "2.5", "-3", "1e308", "nan", "inf", "-inf", "1e9", "", "x", "1,5", "٣", "0x10", "1_000"]
)


@given(
    st.lists(st.lists(NUMBERS, min_size=1, max_size=6), min_size=1, max_size=12),
    st.sampled_from([" ", ",", ";", "\t", "|"]), st.sampled_from(["", "# x\n", "x,y,z\n", "9\n"]),
    WISHES, JOBS,
)  # fmt: skip
@settings(max_examples=200)
def test_any_table_of_cells_is_read_or_refused(rows, separator, head, wanted, around):
    tried((head + "\n".join(separator.join(row) for row in rows)).encode(), "table.txt", wanted, around)


TAGS = st.sampled_from(
    ["LandXML", "Units", "Metric", "Surfaces", "Surface", "Pnts", "P", "Faces", "F", "CgPoint"]
)
XML = st.recursive(
    st.sampled_from(["", "1 2 3", "1 2", "nan 1 2", "1 1 1", "9 9 9", "&lt;", "&no;", "]]>"]),
    lambda inner: st.builds(
        lambda tag, at, parts: f'<{tag} id="{at}" linearUnit="meter">{"".join(parts)}</{tag}>',
        TAGS, st.integers(1, 4), st.lists(inner, max_size=4),
    ),
)  # fmt: skip


@given(st.lists(XML, max_size=4))
def test_any_xml_is_read_or_refused(parts):
    tried(f"<LandXML>{''.join(parts)}</LandXML>".encode(), "site.xml")


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(
                ["type", "features", "geometry", "geometries", "coordinates", "properties", "elevation"]
            ),
            inner
            | st.sampled_from(
                ["Feature", "FeatureCollection", "Point", "LineString", "Polygon", "MultiPoint"]
            ),
            max_size=5,
        )
    ),
    max_leaves=25,
)


@given(JSON)
def test_any_json_is_read_or_refused(document):
    import json

    tried(json.dumps(document).encode(), "site.geojson")
    tried(json.dumps({"type": "Feature", "geometry": document, "properties": {}}).encode(), "site.geojson")


HUGE = """
import resource, struct, sys
from pathlib import Path
from pondwright.base.errors import ImportRefused
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Wanted
import laspy, rasterio, pyproj
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
try:
    read_file(Path(sys.argv[1]), sys.argv[1], Wanted(unit="m"))
except ImportRefused as refused:
    print(refused)
print("more", (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)
"""


def memory_of(content):
    """Megabytes that a process needs beyond its libraries, whatever the file claims."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "claim.bin"
        path.write_bytes(content)
        said = subprocess.run([sys.executable, "-c", HUGE, str(path)], capture_output=True, text=True)
    assert said.returncode == 0, said.stderr
    return int(said.stdout.rpartition("more ")[2])


def claims():
    import struct

    las = bytearray(GOOD["new.las"])
    struct.pack_into("<Q", las, 247, 2**50)
    laz = bytearray(GOOD["cloud.laz"])
    table = struct.unpack_from("<q", laz, struct.unpack_from("<I", laz, 96)[0])[0]
    struct.pack_into("<I", laz, table + 4, 2**32 - 1)
    tiff = bytearray(GOOD["dem.tif"])
    at = struct.unpack_from("<I", tiff, 4)[0]
    for entry in range(struct.unpack_from("<H", tiff, at)[0]):
        tag = struct.unpack_from("<H", tiff, at + 2 + entry * 12)[0]
        if tag in (256, 257):
            struct.pack_into("<HII", tiff, at + 4 + entry * 12, 4, 1, 150_000)
    bomb = (
        b"<!DOCTYPE a [<!ENTITY a '"
        + b"a" * 1000
        + b"'><!ENTITY b '"
        + b"&a;" * 1000
        + b"'>]><LandXML>&b;</LandXML>"
    )
    return {"las": las, "laz": laz, "tiff": tiff, "xml": bomb, "one line": b"1 " * 3_000_000}


@pytest.mark.parametrize("kind", ["las", "laz", "tiff", "xml", "one line"])
def test_a_file_that_claims_to_be_huge_takes_no_memory(kind):
    assert memory_of(bytes(claims()[kind])) < 250
