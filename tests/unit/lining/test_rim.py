"""The liner's edge on invented jobs: low places, anchors, bare liner, guards, and the test before stone."""

import datetime

import pytest

from pondwright.base.findings import Grade
from pondwright.examples import GARDEN, LARKMEADOW_SHAPED
from pondwright.job.log import AsBuiltEntry, BucketEntry, Log
from pondwright.job.places import Point
from tests.unit.lining.test_order import findings, run_of, told

NOON = datetime.datetime(2026, 5, 4, 12, tzinfo=datetime.UTC)


def rim_of(job, log=None):
    return run_of(job, "lining.rim", log=log)


@pytest.fixture(scope="module")
def garden():
    return rim_of(told(GARDEN))


def raised(run, by):
    """The level of the garden's pond, raised."""
    return run.results.shape.shore.bodies["pond"].level + by


def test_a_level_rim_has_no_low_place_and_its_edge_stands_as_drawn(garden):
    rim = garden.results.lining.rim.bodies["pond"]

    assert rim.lows == ()
    assert (rim.edge == rim.wanted).all()
    assert rim.length == pytest.approx(garden.results.shape.shore.bodies["pond"].length, rel=0.02)


def test_an_edge_drawn_higher_than_its_bank_is_low_all_round_and_says_where(garden):
    ring = [peg.id for peg in told(GARDEN).shape.bodies["pond"].outline.curve.pegs]
    place = {"at": "stretch", "body": "pond", "start": ring[0], "end": ring[2]}
    run = rim_of(told(GARDEN, lining__edges={"high": {"place": place, "height": 0.8}}))
    rim = run.results.lining.rim.bodies["pond"]

    assert rim.lows and rim.lack > 0.2
    assert "from its first peg" in rim.lows[0].place
    (finding,) = findings(run, "lining.rim", "lining.edge_low")
    assert finding.grade is Grade.LOOK and finding.where.points


def test_an_edge_that_is_drawn_too_low_over_placed_soil_is_a_low_place_as_its_check_says():
    run = rim_of(told(LARKMEADOW_SHAPED))
    rim = run.results.lining.rim.bodies["pond"]
    looks = [one for one in findings(run, "lining.rim", "lining.edge_berm") if one.grade is Grade.LOOK]

    assert [(one.value, one.where.paths[0]) for one in looks] == [(0.1, "shape.bodies.pond")]
    assert rim.lows and all(low.drawn for low in rim.lows)
    assert looks[0].where.points == tuple(low.point for low in rim.lows)
    assert looks[0].says.startswith(f"Along {sum(low.length for low in rim.lows):.2f} m")
    assert rim.lack == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("off", "grade"),
    [
        pytest.param(-0.01, Grade.STOP, id="10 mm too low"),
        pytest.param(0.04, Grade.GOOD, id="40 mm too high"),
        pytest.param(0.08, Grade.LOOK, id="80 mm too high"),
    ],
)
def test_shots_on_the_built_edge_are_held_to_a_one_sided_tolerance(garden, off, grade):
    rim = garden.results.lining.rim.bodies["pond"]
    east, north = rim.points[3]
    entry = AsBuiltEntry(
        id="s1",
        time=NOON,
        kind="as_built",
        place=Point(east=float(east), north=float(north)),
        elevation=float(rim.wanted[3]) + off,
        feature="Liner edge",
    )

    (finding,) = findings(rim_of(told(GARDEN), Log((entry,))), "lining.rim", "lining.edge_built")

    assert finding.grade is grade


@pytest.mark.parametrize(
    ("pan", "grade"),
    [pytest.param(0.0095, Grade.GOOD, id="it holds"), pytest.param(0.002, Grade.STOP, id="it leaks")],
)
def test_a_bucket_beside_the_pond_tells_a_leak_from_the_sun(garden, pan, grade):
    entry = BucketEntry(
        id="b1", time=NOON, kind="bucket", body="pond", pond_drop=0.010, bucket_drop=pan, duration=172_800.0
    )
    before = findings(garden, "lining.rim", "lining.bare_test")

    run = rim_of(told(GARDEN), Log((entry,)))

    assert before and not findings(run, "lining.rim", "lining.bare_test")
    assert findings(run, "lining.rim", "lining.leak")[0].grade is grade
    test = run.results.lining.rim.bodies["pond"].test
    assert (test.leak > test.detects) is (grade is Grade.STOP)


def test_bare_liner_shows_when_the_water_falls_and_stone_before_it_hides_it():
    level = rim_of(told(LARKMEADOW_SHAPED)).results.shape.shore.bodies["pond"].level
    low = {"shape__bodies__pond__low_level": level - 0.25}

    stoned = rim_of(told(LARKMEADOW_SHAPED, **low)).results.lining.rim.bodies["pond"]
    bare = rim_of(told(LARKMEADOW_SHAPED, **low, stone__treatments={})).results.lining.rim.bodies["pond"]

    assert stoned.band.height == pytest.approx(0.25)
    assert bare.band.bare > stoned.band.bare
    assert bare.band.seen.any() and set(bare.views) >= {"memorial", "bridge"}
    assert all(0.0 <= view.share <= 1.0 for view in bare.views.values())


def test_a_liner_too_short_for_its_trench_is_stopped_and_the_offered_margin_cures_it():
    liner = {"bodies": ["pond"], "margin": 0.6}
    ring = [peg.id for peg in told(GARDEN).shape.bodies["pond"].outline.curve.pegs]
    place = {"at": "stretch", "body": "pond", "start": ring[0], "end": ring[2]}
    edges = {"trench": {"place": place, "detail": "anchor", "height": 0.15, "upturn": 0.61}}

    run = rim_of(told(GARDEN, lining__liners={"pond": liner}, lining__edges=edges))
    (finding,) = findings(run, "lining.rim", "lining.reach")
    (op,) = finding.advice[0].ops
    cured = rim_of(told(GARDEN, lining__liners={"pond": {**liner, "margin": op.value}}, lining__edges=edges))

    assert finding.grade is Grade.STOP
    assert findings(cured, "lining.rim", "lining.reach")[0].grade is Grade.GOOD
    anchor = run.results.lining.rim.bodies["pond"].anchor["trench"]
    assert 0.0 < anchor.capacity < anchor.strength


def test_a_shore_without_a_capillary_break_is_told_with_its_length(garden):
    ring = [peg.id for peg in told(GARDEN).shape.bodies["pond"].outline.curve.pegs]
    place = {"at": "stretch", "body": "pond", "start": ring[0], "end": ring[2]}
    run = rim_of(told(GARDEN, lining__edges={"lawn": {"place": place, "capillary_break": False}}))

    rim = run.results.lining.rim.bodies["pond"]
    assert rim.no_break == pytest.approx(rim.stretches["lawn"].length) and rim.no_break > 1.0
    assert findings(run, "lining.rim", "lining.capillary")[0].grade is Grade.LOOK


def test_a_guard_between_keeps_roots_off(garden):
    tree = told(GARDEN).site.things["apple"].place
    shore = garden.results.shape.shore.bodies["pond"].rings[0].mean(axis=0)
    middle = 0.5 * (shore[0] + tree.east), 0.5 * (shore[1] + tree.north)
    way = shore[1] - tree.north, tree.east - shore[0]
    points = [
        {"east": float(middle[0] + side * way[0]), "north": float(middle[1] + side * way[1])}
        for side in (-1, 1)
    ]
    guard = {"kind": "root", "depth": 0.7, "place": {"at": "line", "points": points}}

    run = rim_of(told(GARDEN, lining__guards={"barrier": guard}))

    assert findings(garden, "lining.rim", "lining.roots")[0].grade is Grade.LOOK
    found = run.results.lining.rim.guards["barrier"]
    assert found.area == pytest.approx(0.7 * found.length)
    assert findings(run, "lining.rim", "lining.root_guard")[0].grade is Grade.GOOD


def test_a_steep_covered_slope_slides_and_a_flat_one_does_not():
    slopes = rim_of(told(LARKMEADOW_SHAPED)).results.lining.rim.bodies["pond"].slopes

    long = [slope for slope in slopes if slope.safety_toe is not None]
    assert long and all(slope.safety_toe >= slope.safety - 1e-9 for slope in long)
    assert sorted(slope.slope for slope in slopes) == [
        slope.slope for slope in sorted(slopes, key=lambda each: each.safety)
    ]
