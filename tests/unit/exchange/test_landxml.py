"""LandXML: units, several surfaces, invisible faces, points; and XML that is a trap."""

import numpy as np
import pytest
from scipy.spatial import Delaunay

from pondwright.base.errors import ImportRefused
from pondwright.exchange.read import read_file
from pondwright.exchange.reading import Wanted
from pondwright.exchange.taking import surface_of
from pondwright.geometry.tin import tin_to_grid, triangulate
from tests.unit.exchange.files import FOOT, SURVEY_FOOT, landxml_text, places

ROWS = places(120).round(4)
FACES = Delaunay(ROWS[:, :2]).simplices.tolist()


def read(text, wanted=None):
    return read_file(text.encode() if isinstance(text, str) else text, "site.xml", wanted)


def test_points_are_north_east_and_elevation_in_the_file():
    reading = read(landxml_text(ROWS, FACES))

    np.testing.assert_allclose(reading.points.east, ROWS[:, 0])
    np.testing.assert_allclose(reading.points.north, ROWS[:, 1])
    np.testing.assert_allclose(reading.points.elevation, ROWS[:, 2])
    assert (reading.kind, reading.unit, len(reading.triangles)) == ("surface", "m", len(FACES))


def test_the_cells_lie_on_the_faces():
    reading = read(landxml_text(ROWS, FACES))

    tin = triangulate(ROWS[:, :2], ROWS[:, 2])
    ours = tin_to_grid(tin, reading.binned.grid)
    np.testing.assert_allclose(
        np.where(ours.triangle >= 0, reading.binned.z, np.nan),
        np.where(ours.triangle >= 0, ours.z, np.nan),
        atol=1e-6,
    )


@pytest.mark.parametrize(
    ("unit", "metres", "name"),
    [
        ('<Imperial linearUnit="foot"/>', FOOT, "ft"),
        ('<Imperial linearUnit="USSurveyFoot"/>', SURVEY_FOOT, "ftUS"),
        ('<Metric linearUnit="millimeter"/>', 0.001, "m"),
        ('<Metric linearUnit="meter"/>', 1.0, "m"),
    ],
)
def test_the_unit_of_the_file_counts(unit, metres, name):
    reading = read(landxml_text(ROWS / metres, FACES, unit))

    np.testing.assert_allclose(reading.points.east, ROWS[:, 0], atol=1e-3)
    assert reading.unit == name and reading.questions == ()


def test_a_file_without_a_unit_asks_for_it():
    assert read(landxml_text(ROWS, FACES, "")).questions[0].about == "unit"


def test_invisible_faces_are_no_ground():
    hidden = [at for at, face in enumerate(FACES) if ROWS[face, 0].mean() < 30.0]

    reading = read(landxml_text(ROWS, FACES, invisible=hidden))

    assert len(reading.triangles) == len(FACES) - len(hidden)
    assert (len(hidden), "faces marked as invisible") in [(each.count, each.why) for each in reading.left_out]
    middle = np.ix_(
        np.abs(reading.binned.grid.north - 30.0) < 15.0, np.abs(reading.binned.grid.east - 10.0) < 5.0
    )
    assert np.isnan(reading.binned.z[middle]).all()


def two_surfaces():
    second = landxml_text(
        ROWS[:40] + np.array([0, 0, 50.0]), Delaunay(ROWS[:40, :2]).simplices.tolist(), name="old & lower"
    )
    second = second[second.index("<Surface ") : second.index("</Surfaces>")].replace(
        "old & lower", "old &amp; lower"
    )
    return landxml_text(ROWS, FACES).replace("</Surfaces>", second + "</Surfaces>")


def test_one_of_several_surfaces_is_chosen():
    first = read(two_surfaces())
    second = read(two_surfaces(), Wanted(surface="old & lower"))

    assert first.surfaces == ("ground", "old & lower") and first.taken == 120
    assert first.questions[-1].about == "surface" and first.questions[-1].assumed == "ground"
    assert second.taken == 40 and second.lowest > 140.0 and second.questions == ()
    with pytest.raises(ImportRefused, match="no surface `third`; it has: ground, old & lower"):
        read(two_surfaces(), Wanted(surface="third"))


def test_points_alone_become_shots_with_names_and_codes():
    body = "".join(
        f'<CgPoint name="A{at}" code="rim">{n} {e} {z}</CgPoint>' for at, (e, n, z) in enumerate(ROWS[:5])
    )
    text = f'<LandXML><Units><Metric linearUnit="meter"/></Units><CgPoints>{body}</CgPoints></LandXML>'

    reading = read(text)

    assert reading.kind == "shots" and reading.points.names[0] == "A0" and reading.points.codes[4] == "rim"
    np.testing.assert_allclose(reading.points.north, ROWS[:5, 1])


def test_the_map_grid_is_read():
    more = '<CoordinateSystem name="UTM" epsgCode="26915"/>'

    assert read(landxml_text(ROWS + np.array([429_000.0, 5_150_000.0, 0.0]), FACES, more=more)).epsg == 26915


def test_what_is_not_whole_is_left_out_with_its_reason():
    text = landxml_text(ROWS, [*FACES, (0, 1, 500), (0, 0, 1)])
    text = text.replace("</Pnts>", '<P id="900">1 2</P><P id="1">1 2 3</P><P id="901">nan 2 3</P></Pnts>')

    told = {each.why: each.count for each in read(text).left_out}

    assert told == {
        "points beyond 10 000 000 m, or lower than −500 m or higher than 9000 m": 1,
        "points that are no three numbers, or come twice": 2,
        "faces without three sound points": 2,
    }


def test_the_jobs_surface_keeps_all_corners_of_a_small_surface():
    reading = read(landxml_text(ROWS, FACES))

    found = surface_of(reading).thinned

    assert found.tolerance < 1e-6 and len(found.east) == len(ROWS)


def test_edges_that_the_jobs_triangles_would_turn_are_made_up_for():
    # A ridge across the short diagonal: Delaunay turns it, and points on it must bring it back.
    rows = np.array(
        [[0.0, 0.0, 0.0], [40.0, 0.0, 5.0], [40.0, 8.0, 0.0], [0.0, 8.0, 5.0], [20.0, -30.0, 0.0]]
    )
    faces = [(0, 1, 3), (1, 2, 3), (0, 4, 1)]

    found = surface_of(read(landxml_text(rows, faces)), tolerance=0.02).thinned

    assert len(found.east) >= len(rows) and found.tolerance <= 0.02


BILLION = '<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa">' + "".join(
    f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True)
)
TRAPS = [
    BILLION + "]><LandXML>&i;</LandXML>",
    '<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><LandXML>&x;</LandXML>',
    '<!DOCTYPE LandXML SYSTEM "file:///etc/passwd"><LandXML/>',
    '<!DOCTYPE a [<!ENTITY % p SYSTEM "file:///etc/passwd">%p;]><LandXML/>',
    '<?xml version="1.0" encoding="utf-16"?><!DOCTYPE a><LandXML/>'.encode("utf-16"),
]


@pytest.mark.parametrize("trap", TRAPS)
def test_xml_that_is_a_trap_is_refused_at_its_first_sign(trap):
    with pytest.raises(ImportRefused, match="document type or entities of its own"):
        read(trap)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("<LandXML>" + "<a>" * 100, "more than 32 deep"),
        ("<svg/>", "XML of another kind"),
        ("<LandXML>", "no whole XML"),
        ("<LandXML></Other>", "no whole XML"),
        ("<LandXML/>", "without a surface of triangles and without points"),
        (landxml_text(ROWS, FACES)[:3000], "no whole XML"),
        ("<LandXML>&nope;</LandXML>", "no whole XML"),
        ('<?xml version="1.0" encoding="no-such"?><LandXML/>', "site.xml"),
        (landxml_text(ROWS[:3], [(0, 1, 2)]).replace("</P>", " 1" * 600_000 + "</P>", 1), "more text"),
        (landxml_text(np.column_stack([ROWS[:, 0], ROWS[:, 0], ROWS[:, 2]]), FACES), "on one line"),
        ("<LandXML><Surfaces>" + '<Surface name="a"/>' * 300, "more than 200 surfaces"),
    ],
)
def test_what_is_no_sound_landxml_is_refused_with_its_reason(text, why):
    with pytest.raises(ImportRefused, match=why):
        read(text)
