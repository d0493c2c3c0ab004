"""GeoJSON: longitude, latitude and height onto the job's map grid; beside pyproj."""

import numpy as np
import pytest
from pyproj import Transformer

from pondwright.base.errors import ImportRefused
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Around, Wanted
from tests.unit.exchange.files import FOOT, geojson_text, places

ROWS = places(50)
DEGREES = np.column_stack([7.6 + ROWS[:, 0] / 68_000, 51.9 + ROWS[:, 1] / 111_000, ROWS[:, 2]])
SPOTS = [("Point", row.tolist(), {"code": "rim"}) for row in DEGREES]


def read(text, wanted=None, around=None):
    return read_file(text.encode(), "site.geojson", wanted, around)


@pytest.mark.parametrize(("job", "grid"), [(None, 32632), (25832, 25832), (3857, 3857)])
def test_places_are_those_of_pyproj(job, grid):
    reading = read(geojson_text(*SPOTS), None, Around(epsg=job))

    east, north = Transformer.from_crs(4326, grid, always_xy=True).transform(DEGREES[:, 0], DEGREES[:, 1])
    np.testing.assert_allclose(reading.points.east, east, atol=1e-6)
    np.testing.assert_allclose(reading.points.north, north, atol=1e-6)
    np.testing.assert_allclose(reading.points.elevation, ROWS[:, 2])
    assert reading.epsg == grid and set(reading.points.codes) == {"rim"}


def test_a_grid_in_feet_gives_metres():
    degrees = [("Point", [-123.0 + at % 5 * 1e-4, 44.0 + at * 1e-5, 100.0], {}) for at in range(20)]

    reading = read(geojson_text(*degrees), None, Around(epsg=2994))

    feet, _north = Transformer.from_crs(4326, 2994, always_xy=True).transform(-123.0, 44.0)
    assert reading.points.east[0] == pytest.approx(feet * FOOT, abs=1e-4)


def test_contour_lines_take_their_height_from_a_property():
    line = DEGREES[:10, :2].tolist()

    reading = read(
        geojson_text(("LineString", line, {"ELEV": 101.5}), ("LineString", line[::-1], {"elevation": 102}))
    )

    assert set(reading.points.elevation) == {101.5, 102.0} and reading.taken == 20


def test_a_ring_without_heights_is_an_outline_and_no_ground():
    ring = [[7.6, 51.9], [7.601, 51.9], [7.601, 51.901], [7.6, 51.9]]

    reading = read(geojson_text(*SPOTS, ("Polygon", [ring], {"name": "boundary"})))

    assert reading.taken == 50 and reading.outlines[0].name == "boundary"
    assert reading.outlines[0].closed and reading.outlines[0].line.shape == (3, 2)
    assert "1 lines or rings have no heights: they are no ground." in reading.says


def test_the_unit_of_heights_is_asked_and_may_be_said():
    assert read(geojson_text(*SPOTS)).questions[0].about == "height_unit"
    in_feet = read(geojson_text(*SPOTS), Wanted(height_unit="ft"))

    np.testing.assert_allclose(in_feet.points.elevation, ROWS[:, 2] * FOOT)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (geojson_text(("Point", [429_000.0, 5_150_000.0, 3.0], {})), "no longitude and latitude"),
        (geojson_text(("Point", [7.6, 51.9], {})), "no place that can be read"),
        (geojson_text(*SPOTS[:2]), "2 places with a height"),
        (geojson_text(*SPOTS)[:500], "no whole JSON"),
        ('{"type": "Point", "coordinates": [NaN, 1, 2]}', "NaN, which is no number"),
        ('{"type": "FeatureCollection", "features": ' + "[" * 100_000, "nested without end"),
        ('{"no": 1}', "JSON of another kind"),
        ("[1, 2]", "JSON of another kind"),
        ('{"type": "Topology"}', "no place that can be read"),
        (geojson_text(*[("Point", [7.6 + at * 1e-6, 51.9, 5.0], {}) for at in range(5)]), "on one line"),
    ],
)
def test_what_is_no_sound_geojson_is_refused_with_its_reason(text, why):
    with pytest.raises(ImportRefused, match=why):
        read(text)
