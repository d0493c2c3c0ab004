"""What must hold for any pond on any ground."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.volume import difference_volumes
from pondwright.rooms.earth.balance import fill_surplus, narrowed, trials
from pondwright.rooms.earth.cutfill import SoilColumn, SoilPlace, dig_volumes, soil_map
from pondwright.rooms.earth.states import SoilStates
from pondwright.rooms.earth.subgrade import dig_depth, subgrade, thickness_of_parts
from pondwright.rooms.shape.grading import Bank, finish_limits, graded, stacked, whole_rows
from pondwright.rooms.shape.profile import bank_profile
from tests.strategies import bank_types, numbers, rings

GRID = Grid(-15.0, -15.0, 0.5, 61, 61)
STATES = {kind: SoilStates(1.25, 0.9, 1800.0) for kind in ("topsoil", "silt", "clay")}
SOILS = soil_map([SoilColumn(("topsoil", "silt", "clay"), (0.2, 1.0))], [SoilPlace(np.empty((0, 2)))], GRID)


@st.composite
def ponds(draw):
    """Limits of a pond within any ring with any bank, and rough ground under it."""
    ring = np.array([[peg["east"], peg["north"]] for peg in draw(rings())])
    points = [(point["distance"], point["depth"]) for point in draw(bank_types())["points"]]
    bank = Bank(draw(numbers(0.0, 0.6)), draw(numbers(0.5, 4.0)), draw(numbers(0.0, 2.0)), 2.0, 3.0)
    limits = finish_limits(bank_profile(points), bank, signed_distance(GRID, [ring]), GRID.spacing)
    generator = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    east, north = np.meshgrid(GRID.east, GRID.north)
    tilt, waves = generator.uniform(-0.1, 0.1, 2), generator.uniform(0.0, 0.3)
    return limits, tilt[0] * east + tilt[1] * north + waves * np.sin(east) * np.cos(north)


LEVELS = st.floats(-1.0, 1.0)


@given(ponds(), LEVELS)
def test_dug_less_placed_is_the_change_of_the_ground(pond, level):
    limits, ground = pond
    spans = whole_rows(GRID.shape)
    finish = graded(ground, stacked([limits]), [level])
    thickness = thickness_of_parts([(range(10, 20), 0.1)])
    difference = dig_depth(ground, subgrade(finish.z, finish.part, thickness))

    soil = dig_volumes(difference, SOILS, spans, GRID)

    above, below = difference_volumes(difference, np.zeros(GRID.shape), GRID)
    assert abs(sum(soil.dug.values()) - above) <= 1e-9 * (1.0 + above)
    assert abs(soil.raised - below) <= 1e-9 * (1.0 + below)
    assert min(soil.dug.values()) >= -1e-9
    assert -1e-9 <= soil.stripped["topsoil"] <= soil.raised + 1e-9


@given(ponds(), LEVELS, LEVELS)
def test_a_higher_level_digs_no_more_and_places_no_less(pond, one, other):
    limits, ground = pond
    low, high = sorted([one, other])
    run = trials(ground, stacked([limits]), [0.0], 0, thickness_of_parts([]), SOILS, GRID)

    below, above = run.at(low), run.at(high)

    # Slopes behind a hill may be let go at one level and not at the other.
    if graded(ground, stacked([limits]), [low]).let_go or graded(ground, stacked([limits]), [high]).let_go:
        return
    assert sum(above.dug.values()) <= sum(below.dug.values()) + 1e-9
    assert above.raised >= below.raised - 1e-9
    assert fill_surplus(above, STATES) <= fill_surplus(below, STATES) + 1e-9


@given(ponds(), LEVELS)
def test_visiting_only_what_the_levels_touch_changes_nothing(pond, level):
    limits, ground = pond
    run = trials(ground, stacked([limits]), [0.0], 0, thickness_of_parts([]), SOILS, GRID)

    assert narrowed(run, -1.0, 1.0).at(level) == run.at(level)


@given(ponds(), LEVELS, st.floats(-1e-4, 1e-4))
def test_a_small_change_of_level_moves_no_node_by_more(pond, level, change):
    limits, ground = pond
    before = graded(ground, stacked([limits]), [level])

    after = graded(ground, stacked([limits]), [level + change])

    if before.let_go == after.let_go == 0:
        assert np.abs(after.z - before.z).max() <= abs(change) + 1e-12


@given(ponds(), LEVELS)
def test_the_finish_lies_between_its_limits_or_is_the_ground(pond, level):
    limits, ground = pond

    finish = graded(ground, stacked([limits]), [level])

    between = (finish.z >= level + limits.lower - 1e-12) & (finish.z <= level + limits.upper + 1e-12)
    assert (between | (finish.z == ground)).all()
    assert ((finish.part == 0) <= (finish.z == ground)).all()
