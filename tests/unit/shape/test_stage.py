"""The shape's stages on a small job: figures, checks, and the ways out that they offer."""

import math

import numpy as np
import pytest

from pondwright.base.errors import DomainError
from pondwright.base.figures import figures_of
from pondwright.base.findings import Grade
from pondwright.rooms.shape.grading import part_code
from pondwright.rooms.shape.stage import BodyShore
from tests.unit.shape.ponds import Computed, job_values, pegs

STORAGE = "shape.storage"


def computed(change=lambda values: None, upto=STORAGE, **settings):
    values = job_values(**settings)
    change(values)
    return Computed(values, upto)


def pond_of(values):
    return values["shape"]["bodies"]["pond"]


def test_a_round_shore_has_the_figures_of_a_circle():
    shore = computed(upto="shape.shore")["shape.shore"].bodies["pond"]

    assert shore.area == pytest.approx(math.pi * 36.0, rel=2e-3)
    assert shore.length == pytest.approx(12.0 * math.pi, rel=2e-3)
    assert shore.development == pytest.approx(1.0, abs=3e-3)
    assert shore.fetch == pytest.approx(12.0, rel=2e-3)


def test_the_low_rim_is_on_the_low_side():
    shore = computed(upto="shape.shore")["shape.shore"].bodies["pond"]

    assert shore.rim_low == pytest.approx(100.0 - 0.03 * 6.0, abs=1e-3)
    assert shore.rim_low_point == pytest.approx((15.0, 9.0), abs=0.1)


def test_a_pond_without_a_level_stands_the_freeboard_below_its_low_rim():
    shore = computed(upto="shape.shore", level=None)["shape.shore"].bodies["pond"]

    assert shore.level == pytest.approx(shore.rim_low - 0.30)
    assert shore.crest_level == pytest.approx(shore.rim_low)


def test_an_island_takes_area_and_adds_shore():
    plain = computed(upto="shape.shore")["shape.shore"].bodies["pond"]

    with_island = computed(
        lambda values: pond_of(values).update(islands={"isle": {"pegs": pegs(1.5, count=12, prefix="i")}})
    )
    shore = with_island["shape.shore"].bodies["pond"]

    assert plain.area - shore.area == pytest.approx(math.pi * 2.25, rel=1e-2)
    assert shore.length - plain.length == pytest.approx(3.0 * math.pi, rel=1e-2)
    assert with_island[STORAGE].bodies["pond"].lip == pytest.approx(100.3)
    assert with_island.finding("shape.island").grade is Grade.GOOD


def test_an_island_outside_the_shore_stops():
    outside = {"isle": {"pegs": pegs(1.0, east=25.0, count=8, prefix="i")}}

    found = computed(lambda values: pond_of(values).update(islands=outside)).finding("shape.island")

    assert found.grade is Grade.STOP
    assert found.where.paths == ("shape.bodies.pond.islands.isle",)


def test_a_shore_that_crosses_itself_stops_and_shows_where():
    def crossed(values):
        ring = pond_of(values)["outline"]["curve"]["pegs"]
        ring[3], ring[9] = ring[9], ring[3]

    found = computed(crossed, upto="shape.shore").finding("shape.shore_crossing")

    assert found.grade is Grade.STOP
    assert len(found.where.points) == found.value > 0


def test_a_shore_off_the_grid_has_no_answer():
    with pytest.raises(DomainError, match="must lie inside the grid"):
        computed(upto="shape.shore", radius=16.0)


def test_bodies_are_laid_in_order_of_rank():
    def second(values):
        ring = {"form": "ring", "curve": {"pegs": pegs(2.0, east=25.0)}}
        values["shape"]["bodies"]["early"] = {"outline": ring, "rank": 5, "level": 100.0}

    found = computed(second)["shape.grading"]

    assert list(found.bodies) == ["pond", "early"]
    assert found.bodies["early"].first_part == part_code(1, 0)


def test_the_water_of_a_round_pond_with_a_vertical_bank():
    """A tank of 0.4 m: volume, mean depth and walls follow from area and length."""

    def tank(values):
        points = [{"distance": 0.0, "depth": 0.0}, {"distance": 0.0, "depth": 0.4}]
        values["shape"]["bank_types"] = {"wall": {"points": points}}
        pond_of(values)["bank_type"] = "wall"

    found = computed(tank, nodes=301)

    shore, storage = found["shape.shore"].bodies["pond"], found[STORAGE].bodies["pond"]
    assert storage.volume == pytest.approx(0.4 * shore.area, rel=2e-3)
    assert storage.mean_depth == pytest.approx(0.4, rel=2e-3)
    assert found["shape.grading"].bodies["pond"].wall_area == pytest.approx(0.4 * shore.length, rel=1e-9)
    assert found["shape.grading"].bodies["pond"].wetted_area == pytest.approx(
        shore.area + 0.4 * shore.length, rel=1e-9
    )


def test_a_stretch_has_its_own_bank():
    def stretched(values):
        beach = [{"distance": 0.0, "depth": 0.0}, {"distance": 6.0, "depth": 0.6}]
        values["shape"]["bank_types"] = {"beach": {"points": beach}}
        pond_of(values)["stretches"] = {"one": {"start": "p14", "end": "p2", "bank_type": "beach"}}

    found = computed(stretched)["shape.grading"]

    plain = computed()["shape.grading"]
    row, east_side, west_side = 60, 80, 40
    assert found.z[row, east_side] == pytest.approx(100.0 - 0.1, abs=0.01)
    assert found.z[row, west_side] == plain.z[row, west_side]


def test_a_low_bank_is_no_embankment():
    found = computed()

    assert found.finding("shape.embankment").grade is Grade.GOOD
    assert found["shape.grading"].bodies["pond"].held == pytest.approx(0.18 + 0.03 * 1.5, abs=0.02)
    assert "shape.dam_height" not in found.findings


def test_water_high_above_the_ground_makes_an_embankment_and_a_dam():
    found = computed(level=101.6)

    assert found.finding("shape.embankment").grade is Grade.LOOK
    assert found.finding("shape.dam_height").grade is Grade.STOP
    assert found.finding("shape.crest_width").grade is Grade.LOOK


def test_a_rim_below_the_water_stops_and_offers_two_ways_out():
    def no_berm(values):
        values["shape"]["berms"] = {
            "low": {"body": "pond", "crest_width": 0.0, "freeboard": 0.0, "slope_in": 50.0, "slope_out": 0.1}
        }

    found = computed(no_berm, level=100.5).finding("shape.rim")

    assert found.grade is Grade.STOP
    assert [way.ops[0].path for way in found.advice] == [
        "/shape/bodies/pond/level", "/shape/berms/low/freeboard"
    ]  # fmt: skip
    assert found.advice[0].ops[0].value < 100.5


def test_a_pond_too_narrow_for_its_shelves_never_reaches_its_floor():
    found = computed(radius=2.0)

    assert found.finding("shape.design_depth").grade is Grade.LOOK
    storage, grading = found[STORAGE].bodies["pond"], found["shape.grading"].bodies["pond"]
    assert storage.greatest_depth < grading.design_depth - 0.02


def test_the_standard_bank_has_its_ledge_and_low_risers():
    found = computed()

    assert found.finding("shape.riser").grade is Grade.GOOD
    assert found.finding("shape.ledge").grade is Grade.GOOD


def test_a_steep_wall_without_a_ledge_is_told():
    def wall(values):
        points = [{"distance": 0.0, "depth": 0.0}, {"distance": 0.0, "depth": 1.0}]
        values["shape"]["bank_types"] = {"wall": {"points": points}}
        pond_of(values)["bank_type"] = "wall"

    found = computed(wall)

    assert found.finding("shape.riser").grade is Grade.LOOK
    assert found.finding("shape.ledge").grade is Grade.LOOK


def test_slopes_that_leave_the_window_are_told():
    assert computed(radius=11.0, level=101.0).finding("shape.window").grade is Grade.LOOK
    assert computed().finding("shape.window").grade is Grade.GOOD


def test_deep_water_carries_the_caution_and_a_job_may_replace_the_limit():
    def replaced(values):
        values["rules"] = {"shape.drowning": {"limit": 2.0, "reason": "fenced garden", "by": "the builder"}}

    assert computed().finding("shape.drowning").grade is Grade.LOOK
    assert computed(replaced).finding("shape.drowning").grade is Grade.GOOD


def test_a_shallow_pond_is_told_to_be_no_place_for_fish_in_winter():
    def shallow(values):
        points = [{"distance": 0.0, "depth": 0.0}, {"distance": 1.0, "depth": 0.5}]
        values["shape"]["bank_types"] = {"saucer": {"points": points}}
        pond_of(values)["bank_type"] = "saucer"

    assert computed(shallow).finding("shape.wintering").grade is Grade.LOOK
    assert computed().finding("shape.wintering").grade is Grade.GOOD


def test_a_job_without_water_leaves_the_ground_as_it_is():
    found = computed(lambda values: values["shape"].update(bodies={}), upto="earth.balance")

    assert np.array_equal(found["shape.grading"].z, found["site.ground"].z)
    assert found["earth.soil"].dug == 0.0
    assert found["earth.balance"].balanced_level is None


def test_every_check_names_its_source():
    found = computed(level=101.6)

    assert all(finding.source for group in found.findings.values() for finding in group)


def test_every_number_of_a_shore_says_what_it_is():
    figures = figures_of(BodyShore)

    assert set(figures) >= {"area", "length", "development", "fetch", "rim_low", "level", "crest_level"}
    assert all(each.says for each in figures.values())


def test_the_window_has_the_same_triangles_as_the_whole_grid():
    found = computed()["shape.shore"]
    body = found.bodies["pond"]

    window, distance = body.windowed(found.grid)

    assert distance.shape == window.shape
    assert (distance > 0.0).sum() == (body.distance > 0.0).sum()
    assert body.window[0] % 2 == body.window[2] % 2 == 0
