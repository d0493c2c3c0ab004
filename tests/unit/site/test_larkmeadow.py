"""The example job Larkmeadow: made by its script to the byte, and true to its invented facts."""

import importlib.util
import json
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from pondwright.examples import DOZEN_SHOTS, LARKMEADOW, example_text
from pondwright.geometry.curve import closed_curve
from pondwright.geometry.polygon import self_crossings, signed_area
from pondwright.job.codec import dumps, loads
from pondwright.rooms.site.stage import ground_stage, uncertainty_stage
from pondwright.rooms.site.uncertainty import volume_sigma

FOOT = 0.3048
SCRIPT = Path(__file__).resolve().parents[3] / "examples" / "make_larkmeadow.py"


@pytest.fixture(scope="module")
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_larkmeadow", SCRIPT)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


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
        "rules": larkmeadow.rules,
    }


@pytest.fixture(scope="module")
def ground(view):  # type: ignore[no-untyped-def]
    return ground_stage(view, {})[0]


@pytest.fixture(scope="module")
def errors(view, ground):  # type: ignore[no-untyped-def]
    return uncertainty_stage(view, {"site.ground": ground})[0].errors


def test_the_script_makes_the_committed_file_to_the_byte(script: ModuleType) -> None:
    assert dumps(loads(json.dumps(script.job()))) == example_text(LARKMEADOW)


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


def test_the_floor_was_shot_near_90_6_feet(ground, larkmeadow) -> None:  # type: ignore[no-untyped-def]
    floor = [shot.elevation / FOOT for shot in larkmeadow.site.shots.values() if shot.code == "floor"]

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
