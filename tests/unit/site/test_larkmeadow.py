"""The example job Larkmeadow: made by its script to the byte, and true to its invented facts."""

import json
from types import ModuleType

import numpy as np
import pytest

from examples.make import larkmeadow as maker
from examples.make import larkmeadow_books, larkmeadow_ground
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW, example_text
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.polygon import self_crossings, signed_area
from pondwright.job.codec import dumps, loads
from pondwright.rooms.site.carried import volume_sigma
from pondwright.rooms.site.stage import ground_stage, levels_stage, uncertainty_stage

FOOT = 0.3048


@pytest.fixture(scope="module")
def script() -> ModuleType:
    return larkmeadow_ground


@pytest.fixture(scope="module")
def larkmeadow():  # type: ignore[no-untyped-def]
    return loads(example_text(LARKMEADOW))


@pytest.fixture(scope="module")
def view(larkmeadow):  # type: ignore[no-untyped-def]
    site = larkmeadow.site
    return {
        "site.frame": site.frame,
        "site.marks": site.marks,
        "site.shots": site.shots,
        "site.lines": site.lines,
        "site.books": site.books,
        "site.surveys": site.surveys,
        "site.clouds": site.clouds,
        "rules": larkmeadow.rules,
    }


@pytest.fixture(scope="module")
def levels(view):  # type: ignore[no-untyped-def]
    return levels_stage(view, {})[0]


@pytest.fixture(scope="module")
def ground(view, levels):  # type: ignore[no-untyped-def]
    return ground_stage(view, {"site.levels": levels})[0]


@pytest.fixture(scope="module")
def errors(view, levels, ground):  # type: ignore[no-untyped-def]
    return uncertainty_stage(view, {"site.levels": levels, "site.ground": ground})[0].errors


def test_the_script_makes_the_committed_file_to_the_byte() -> None:
    assert dumps(loads(json.dumps(maker.job()))) == example_text(LARKMEADOW)


@pytest.mark.parametrize("name", [LARKMEADOW, DOZEN_SHOTS])
def test_an_example_is_canonical_and_says_that_it_is_invented(name: str) -> None:
    job = loads(example_text(name))

    assert dumps(job) == example_text(name)
    assert job.demo
    assert "invented" in example_text(name).lower()


def test_the_minimal_job_is_twelve_shots_and_one_ring() -> None:
    job = loads(example_text(DOZEN_SHOTS))

    assert len(job.site.shots) == 12
    assert len(job.shape.bodies) == 1
    assert not job.shape.bank_types and not job.shape.berms and not job.build_up


def test_larkmeadow_has_about_a_hundred_and_fifty_shots(larkmeadow) -> None:  # type: ignore[no-untyped-def]
    assert 130 <= len(larkmeadow.site.shots) <= 160


@pytest.mark.parametrize(
    ("bearing", "elevation"), [(25.0, 101.9), (95.0, 99.8), (205.0, 97.4), (275.0, 99.1)]
)
def test_the_rim_stands_at_its_told_height(
    ground, script: ModuleType, bearing: float, elevation: float
) -> None:  # type: ignore[no-untyped-def]
    east, north = script.place_at(bearing)
    away = np.hypot(*(ground.shots.points / FOOT - 400.0 - [east, north]).T)
    rim = float(ground.shots.elevations[np.argmin(away)]) / FOOT

    assert rim == pytest.approx(elevation, abs=0.2)


def test_the_low_stretch_of_the_old_bank_is_twenty_one_feet_long(script: ModuleType) -> None:
    first, last = script.place_at(195.0), script.place_at(215.0)
    length = np.hypot(first[0] - last[0], first[1] - last[1])

    assert length == pytest.approx(21.0, abs=1.0)


def test_the_old_pond_measures_124_by_71_feet(script: ModuleType) -> None:
    turn = np.radians(np.arange(0.0, 360.0, 0.5))
    rim = np.array([script.place_at(float(bearing)) for bearing in np.degrees(turn)])
    along, across = rim @ np.array([1.0, 1.0]) / np.sqrt(2.0), rim @ np.array([1.0, -1.0]) / np.sqrt(2.0)

    assert np.ptp(along) == pytest.approx(124.0, abs=0.2)
    assert np.ptp(across) == pytest.approx(71.0, abs=0.2)


def test_the_floor_was_shot_near_90_6_feet(levels, larkmeadow) -> None:  # type: ignore[no-untyped-def]
    named = [name for name, shot in larkmeadow.site.shots.items() if shot.code == "floor"]
    floor = [levels.heights[name] / FOOT for name in named]

    assert len(floor) == 7
    assert floor == pytest.approx([90.6] * len(floor), abs=0.2)


def test_muck_lies_0_8_to_1_6_feet_deep(larkmeadow) -> None:  # type: ignore[no-untyped-def]
    shots = larkmeadow.site.shots
    depths = [
        (shot.elevation - shots[f"f{name[1:]}"].elevation) / FOOT
        for name, shot in shots.items()
        if shot.surface == "muck"
    ]

    assert len(depths) == 8
    assert min(depths) >= 0.78 and max(depths) <= 1.62


def test_the_shore_is_one_ring_of_about_5400_square_feet(larkmeadow) -> None:  # type: ignore[no-untyped-def]
    pegs = larkmeadow.shape.bodies["pond"].outline.curve.pegs
    places = np.array([(peg.east, peg.north) for peg in pegs])
    ring = closed_curve(places, np.zeros(len(pegs), dtype=bool)).points

    assert abs(signed_area(ring)) / FOOT**2 == pytest.approx(5400.0, rel=0.01)
    assert len(self_crossings(ring)) == 0


def test_both_banks_reach_a_depth_of_five_and_a_half_feet(larkmeadow) -> None:  # type: ignore[no-untyped-def]
    deepest = [bank.points[-1].depth / FOOT for bank in larkmeadow.shape.bank_types.values()]

    assert deepest == pytest.approx([5.5, 5.5], abs=1e-3)


def test_more_than_half_of_the_shots_have_their_heights_from_two_closed_level_books(
    levels, larkmeadow
) -> None:  # type: ignore[no-untyped-def]
    shots = larkmeadow.site.shots
    by_book = [name for name, shot in shots.items() if shot.elevation is None]

    assert len(by_book) > len(shots) / 2
    assert set(by_book) <= set(levels.heights)
    assert len(levels.books) == 2
    for book in levels.books.values():
        assert book.closures and not book.arithmetic.slips and not book.not_closed
        assert abs(book.misclosure) <= book.allowed


def test_levelled_heights_are_true_within_a_few_of_their_errors(levels, larkmeadow) -> None:  # type: ignore[no-untyped-def]
    truth = {name: height * FOOT for name, height in larkmeadow_books.TURNS.items()}

    for name, height in truth.items():
        assert levels.heights[name] == pytest.approx(height, abs=4.0 * levels.net.point_sigma(name))


def test_probes_tell_the_muck_of_the_facts_and_none_at_its_edge(larkmeadow) -> None:  # type: ignore[no-untyped-def]
    rods = [probe for probe in larkmeadow.site.probes.values() if probe.how == "rod"]
    muck = [sum(layer.thickness for layer in probe.layers if layer.kind == "muck") / FOOT for probe in rods]

    assert all(thickness == 0.0 or 0.78 <= thickness <= 1.62 for thickness in muck)
    assert 0.0 in muck and max(muck) > 1.5


def test_the_surveyed_ground_is_as_sure_as_it_says(ground, errors, script: ModuleType) -> None:  # type: ignore[no-untyped-def]
    east, north = np.meshgrid(ground.grid.east[::6], ground.grid.north[::6])
    surveyed = ground.known[::6, ::6] != 3
    true = [
        FOOT * script.true_ground(*place)
        for place in zip(east[surveyed] / FOOT - 400.0, north[surveyed] / FOOT - 400.0, strict=True)
    ]
    error = np.abs(ground.z[::6, ::6][surveyed] - true) / errors.sigma[::6, ::6][surveyed]

    assert 0.55 < np.mean(error < 1.0) < 0.80


def test_the_volume_of_the_old_hollow_is_as_sure_as_it_says(ground, errors, script: ModuleType) -> None:  # type: ignore[no-untyped-def]
    east, north = np.meshgrid(ground.grid.east / FOOT - 400.0, ground.grid.north / FOOT - 400.0)
    inside = np.hypot(east, north) < 40.0
    weight = np.where(inside, ground.grid.cell_area, 0.0)
    true = [FOOT * script.true_ground(*place) for place in zip(east[inside], north[inside], strict=True)]
    error = float((ground.z[inside] - true).sum()) * ground.grid.cell_area

    assert abs(error) < 3.0 * volume_sigma(errors, weight).total
