"""Steady heads against a direct solver and against finite elements, and what holds for every answer."""

import math
from dataclasses import replace

import numpy as np
import pytest
import skfem
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter
from scipy.sparse import coo_matrix, csc_matrix, diags
from scipy.sparse.linalg import splu
from skfem.helpers import dot, grad

from pondwright.base.errors import DomainError
from pondwright.rooms.groundwater.heads import (
    MASS_TOLERANCE,
    Border,
    Ground,
    OneWay,
    TwoWay,
    flow_arrows,
    linear_heads,
    steady_heads,
    transmissivity,
)

SOLVER = 1e-7  # what two settled answers may differ by; both are within 1e-5 m, in truth far nearer [m]


# Places to solve


def even_ground(shape, permeability=2e-5, thickness=4.0, spacing=0.5):
    layers = np.full((1, *shape), permeability)
    low = np.zeros(shape)
    return Ground(spacing, low[None] + thickness, low[None], layers, low, np.full(shape, np.inf))


def sides(shape, west, east):
    width = np.zeros(shape)
    width[:, 0] = 2.0
    west = Border(width, np.full(shape, west))
    width = np.zeros(shape)
    width[:, -1] = 2.0
    return [west, Border(width, np.full(shape, east))]


def spots(shape, places, amount, level):
    conductance = np.zeros(shape)
    for row, column in places:
        conductance[row % shape[0], column % shape[1]] = amount
    return OneWay(conductance, np.full(shape, level))


def hillside(cells, shift=0, recharge=3e-8):
    """Falling ground in two layers, a lined pond with a ring drain, a ditch, and seepage where it is open."""
    spacing = 40.0 / cells
    east, north = np.meshgrid(*(2 * [spacing * (np.arange(cells) + 0.5)]))
    surface = 106.0 - 0.05 * east + 0.3 * np.sin(east / 5.0) * np.cos(north / 7.0)
    away = np.hypot(east - 22.0, north - 20.0)
    pond = away < 9.0
    cap = np.where(pond, surface - np.minimum(1.5, 0.5 * (9.0 - away) + 0.3), np.inf)
    low = np.full(surface.shape, 100.0)
    ground = Ground(
        spacing,
        np.stack([surface, surface - 1.0]),
        np.stack([surface - 1.0, low]),
        np.stack([np.full(surface.shape, 1e-6), np.full(surface.shape, 2e-5)]),
        low,
        cap,
    )
    ring = np.abs(np.hypot(east - 22.0 - shift * spacing, north - 20.0) - 10.0) < 0.5 * spacing
    ditch = (np.abs(north - 5.0) < 0.5 * spacing) & (east > 30.0)
    borders = sides(surface.shape, 0.0, 0.0)
    return {
        "ground": ground,
        "two_way": [TwoWay(np.where(ditch, 1e-4 * spacing, 0.0), surface - 0.3)],
        "one_way": [
            OneWay(np.where(ring, 3.2e-5 * spacing, 0.0), surface - 1.4),
            OneWay(np.where(pond, 0.0, np.inf), surface),
        ],
        "source": np.where(pond, 0.0, recharge) * spacing**2,
        "borders": [replace(borders[0], level=surface - 0.6), replace(borders[1], level=surface - 0.4)],
    }


def same_water(place, **changes):
    return steady_heads(**{**place, **changes})


# A direct solver


def solved_directly(transmitted, extra, given):
    """Heads by sparse factors, with harmonic means between the cells."""
    index = np.arange(transmitted.size).reshape(transmitted.shape)
    rows, columns, values = [], [], []
    for one, other in (
        ((slice(None), slice(None, -1)), (slice(None), slice(1, None))),
        ((slice(None, -1), slice(None)), (slice(1, None), slice(None))),
    ):
        i, j = index[one].ravel(), index[other].ravel()
        a, b = transmitted[one].ravel(), transmitted[other].ravel()
        c = 2.0 * a * b / (a + b)
        rows += [i, j, i, j]
        columns += [i, j, j, i]
        values += [c, c, -c, -c]
    matrix = coo_matrix(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=2 * (index.size,)
    )
    factors = splu(csc_matrix(matrix + diags(extra.ravel())))
    return factors.solve(given.ravel()).reshape(transmitted.shape)


FIELDS = {
    "a gravel lens in clay": lambda x, y, z: np.where(np.hypot((x - 0.6) / 2.0, y - 0.4) < 0.12, 1e-3, 1e-7),
    "a clay lens in gravel": lambda x, y, z: np.where(np.hypot((x - 0.6) / 2.0, y - 0.4) < 0.12, 1e-7, 1e-3),
    "strips": lambda x, y, z: np.where(np.abs(np.sin(20.0 * x + 13.0 * y)) < 0.3, 1e-3, 1e-7),
    "a chessboard": lambda x, y, z: np.where((np.floor(9.0 * x) + np.floor(7.0 * y)) % 2, 1e-3, 1e-7),
    "chance": lambda x, y, z: (
        1e-5 * 10.0 ** (4.0 / 6.0 * gaussian_filter(z, 3) / gaussian_filter(z, 3).std())
    ),
}


@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS)
def test_ground_ten_thousand_times_more_permeable_beside_other_agrees_with_a_direct_solver(field):
    y, x = np.mgrid[:70, :83] / 80.0
    transmitted = field(x, y, np.random.default_rng(1).normal(size=x.shape))
    west, east = sides(x.shape, 3.0, 1.0)
    source = np.full(x.shape, 1e-9)
    ditch = TwoWay(np.where(np.abs(x - 0.5) < 0.01, 1e-5, 0.0), np.full(x.shape, 0.5))
    found = linear_heads(transmitted, [ditch], source=source, borders=[west, east])
    extra = (west.width + east.width) * transmitted + ditch.conductance
    given = source + (west.width * 3.0 + east.width) * transmitted + 0.5 * ditch.conductance
    assert found.settled
    assert np.abs(found.head - solved_directly(transmitted, extra, given)).max() < 1e-6


def test_a_wetted_hillside_agrees_with_a_direct_solver_at_its_own_transmissivity():
    shape = (40, 57)
    ground = even_ground(shape)
    found = steady_heads(ground, [], [spots(shape, [(9, 30)], 1e-5, 1.0)], borders=sides(shape, 3.0, 2.0))
    # With one even layer the flow is straight in the head squared, which makes it linear.
    extra, given = np.zeros(shape), np.zeros(shape)
    for border in sides(shape, 3.0, 2.0):
        extra += border.width * 1e-5
        given += border.width * 1e-5 * border.level**2
    given -= found.left[0]
    squared = solved_directly(np.full(shape, 1e-5), extra, given)
    assert np.abs(found.head - np.sqrt(squared)).max() < 1e-8


# Finite elements


def test_drains_and_a_seepage_face_agree_with_finite_elements():
    cells, side, recharge, conductance = 60, 30.0, 1.5e-6, 4e-5
    spacing = side / cells

    def transmitted(x, y):
        return 1e-4 * np.exp(0.8 * np.sin(x / 6.0) * np.cos(y / 8.0))

    def surface(x, y):
        return 3.4 - 0.09 * x + 0.25 * np.sin(y / 5.0)

    def level(x, y):
        return 1.2 - 0.02 * x

    centres = spacing * (np.arange(cells) + 0.5)
    x, y = np.meshgrid(centres, centres)
    wall = (np.abs(x - 12.25) < 0.1) & (y > 6.0) & (y < 24.0)
    west, east = sides(x.shape, 3.0, 0.5)
    found = linear_heads(
        transmitted(x, y),
        [],
        [
            OneWay(np.where(wall, conductance * spacing, 0.0), level(x, y)),
            OneWay(np.full(x.shape, np.inf), surface(x, y)),
        ],
        np.full(x.shape, recharge * spacing**2),
        borders=[west, east],
    )

    lines = np.union1d(np.linspace(0.0, side, 91), [12.25])
    mesh = skfem.MeshTri.init_tensor(lines, np.linspace(0.0, side, 91))
    basis = skfem.Basis(mesh, skfem.ElementTriP1())
    middle = mesh.p[:, mesh.facets].mean(axis=1)
    along = np.flatnonzero((np.abs(middle[0] - 12.25) < 1e-9) & (middle[1] > 6.0) & (middle[1] < 24.0))
    drain = skfem.InteriorFacetBasis(mesh, skfem.ElementTriP1(), facets=along)
    stiff = skfem.BilinearForm(lambda u, v, w: transmitted(*w.x) * dot(grad(u), grad(v))).assemble(basis)
    rain = skfem.LinearForm(lambda v, w: recharge * v).assemble(basis)
    # Lumped, as on the cells: where the head would rise above the ground, it is held there.
    held = np.flatnonzero((mesh.p[0] < 1e-9) | (mesh.p[0] > side - 1e-9))
    top = surface(*mesh.p)
    head = np.where(mesh.p[0] < 1e-9, 3.0, 0.5)
    tied = skfem.BilinearForm(lambda u, v, w: conductance * (w.head > level(*w.x)) * u * v)
    pull = skfem.LinearForm(lambda v, w: conductance * (w.head > level(*w.x)) * level(*w.x) * v)
    on_top = np.zeros(head.size, dtype=bool)
    head[:] = 2.0
    for _ in range(60):
        matrix = stiff + tied.assemble(drain, head=drain.interpolate(head))
        load = rain + pull.assemble(drain, head=drain.interpolate(head))
        values = np.where(on_top, top, np.where(mesh.p[0] < 1e-9, 3.0, 0.5))
        fixed = np.union1d(held, np.flatnonzero(on_top))
        last, head = head, skfem.solve(*skfem.condense(matrix, load, x=values, D=fixed))
        over = load - matrix @ head
        free = np.ones(head.size, dtype=bool)
        free[held] = False
        now = free & (((over > 0.0) & on_top) | (head > top + 1e-12))
        if np.array_equal(now, on_top) and np.abs(head - last).max() < 1e-9:
            break
        on_top = now
    else:
        raise AssertionError("the finite elements did not come to rest")

    there = basis.interpolator(head)(np.stack([x.ravel(), y.ravel()])).reshape(x.shape)
    assert on_top.sum() > 300 and (found.left[1] > 0.0).sum() > 150
    assert found.left[0].sum() > 1e-5
    assert np.abs(found.head - there).max() < 0.01 * np.ptp(there)


# What holds for every answer


small = st.tuples(st.integers(2, 14), st.integers(2, 14))
cells = st.lists(st.tuples(st.integers(0, 13), st.integers(0, 13)), min_size=1, max_size=6)
levels = st.floats(0.5, 2.5)
amounts = st.sampled_from([1e-7, 1e-5, 1e-3, np.inf])


@settings(deadline=None)
@given(small, cells, cells, amounts, amounts, levels, levels, st.floats(0.0, 5e-8), st.booleans())
def test_more_drain_never_raises_a_head(shape, places, more, weak, strong, level, other, source, thick):
    ground = even_ground(shape, thickness=4.0 if thick else 40.0)
    put = np.full(shape, source)
    weak, strong = sorted((weak, strong))
    low, high = sorted((level, other))
    borders = sides(shape, 3.0, 2.0)
    first = steady_heads(ground, [], [spots(shape, places, weak, high)], put, borders=borders)
    for better in (
        [spots(shape, places, strong, high)],
        [spots(shape, places, weak, low)],
        [spots(shape, places, weak, high), spots(shape, more, strong, low)],
    ):
        then = steady_heads(ground, [], better, put, borders=borders)
        assert first.settled and then.settled
        assert (then.head - first.head).max() <= SOLVER


@settings(deadline=None)
@given(small, cells, st.sampled_from([1e-6, 1e-4]), levels, st.floats(1.0, 20.0))
def test_more_permeable_ground_never_sends_less_water_to_the_drains(shape, places, amount, level, times):
    drains = [spots(shape, places, amount, level)]
    flows = [
        steady_heads(even_ground(shape, 2e-6 * scale), [], drains, borders=sides(shape, 3.0, 3.0))
        for scale in (1.0, times)
    ]
    slow, fast = (found.left[0].sum() for found in flows)
    assert fast >= slow * (1.0 - 1e-6)


@settings(deadline=None)
@given(small, cells, amounts, st.floats(0.5, 3.5), st.integers(0, 2**32 - 1))
def test_without_recharge_heads_stay_between_the_levels(shape, places, amount, level, seed):
    chance = np.random.default_rng(seed)
    transmitted = 10.0 ** chance.uniform(-8.0, -3.0, shape)
    found = linear_heads(
        transmitted, [], [spots(shape, places, amount, level)], borders=sides(shape, 3.0, 2.0)
    )
    assert found.head.max() <= 3.0 + SOLVER
    assert found.head.min() >= min(level, 2.0) - SOLVER
    assert found.mass_error <= MASS_TOLERANCE


@settings(deadline=None, max_examples=20)
@given(st.integers(0, 7), st.integers(0, 2**32 - 1))
def test_turned_and_mirrored_ground_gives_turned_and_mirrored_heads(symmetry, seed):
    chance = np.random.default_rng(seed)
    shape = (11, 14)

    def turned(array):
        array = np.rot90(array, symmetry % 4, axes=(-2, -1))
        return np.ascontiguousarray(array[..., ::-1] if symmetry > 3 else array)

    top = 4.0 + chance.uniform(0.0, 1.0, (1, *shape))
    permeability = 10.0 ** chance.uniform(-6.0, -4.0, (1, *shape))
    cap = np.where(chance.random(shape) < 0.3, 2.5, np.inf)
    low = chance.uniform(0.0, 0.5, shape)
    ground = Ground(0.5, top, low[None], permeability, low, cap)
    drain = OneWay(np.where(chance.random(shape) < 0.1, 1e-5, 0.0), np.full(shape, 1.5))
    seep = OneWay(np.where(np.isinf(cap), np.inf, 0.0), np.full(shape, 3.0))
    edge = np.zeros(shape)
    edge[:, 0] = 2.0
    border = Border(edge, np.full(shape, 3.5))
    source = chance.uniform(0.0, 1e-8, shape)
    found = steady_heads(ground, [], [drain, seep], source, borders=[border])
    other = steady_heads(
        Ground(0.5, turned(top), turned(low[None]), turned(permeability), turned(low), turned(cap)),
        [],
        [OneWay(turned(water.conductance), turned(water.level)) for water in (drain, seep)],
        turned(source),
        borders=[Border(turned(edge), turned(border.level))],
    )
    assert np.abs(turned(found.head) - other.head).max() < SOLVER
    assert np.abs(turned(found.left[1]) - other.left[1]).max() < 1e-12


@pytest.mark.parametrize("recharge", [0.0, 3e-8, 6e-7, 4e-6])
def test_every_start_ends_at_the_same_heads_and_no_water_is_lost(recharge):
    place = hillside(75, recharge=recharge)
    found = same_water(place)
    high = same_water(place, start=np.full(found.head.shape, 109.0))
    low = same_water(place, start=np.full(found.head.shape, 100.5))
    for other in (found, high, low):
        assert other.settled and other.error < 1e-5
        assert other.mass_error < MASS_TOLERANCE
        assert np.abs(other.head - found.head).max() < SOLVER
    into = found.source.sum() + sum(flow.sum() for flow in (*found.through, *found.across))
    assert into == pytest.approx(sum(flow.sum() for flow in found.left), rel=1e-9)
    assert all((flow >= 0.0).all() for flow in found.left)
    assert (found.head <= place["one_way"][1].level + 1e-9)[np.isinf(place["ground"].cap)].all()


@pytest.mark.parametrize("recharge", [3e-8, 6e-7, 4e-6])
@pytest.mark.parametrize("steps", [1, 2, 3, 6])
def test_a_fixed_number_of_steps_tells_how_far_it_is_from_the_settled_heads(steps, recharge):
    before = same_water(hillside(100, recharge=recharge))
    moved = hillside(100, shift=1, recharge=recharge)
    settled = same_water(moved, start=before.head)
    found = same_water(moved, start=before.head, steps=steps)
    off = np.abs(found.head - settled.head).max()
    assert found.steps <= steps and not found.settled
    assert off <= found.error
    assert found.error < 0.1
    if steps >= 3 and recharge < 1e-6:
        assert off < 1e-3


def test_ground_does_not_feel_where_its_datum_is():
    place = hillside(40, recharge=6e-7)
    ground = place["ground"]
    raised = {
        **place,
        "ground": replace(
            ground,
            layers_top=ground.layers_top + 3000.0,
            layers_bottom=ground.layers_bottom + 3000.0,
            base=ground.base + 3000.0,
            cap=ground.cap + 3000.0,
        ),
    }
    for name in ("two_way", "one_way", "borders"):
        raised[name] = [replace(water, level=water.level + 3000.0) for water in place[name]]
    assert np.abs(same_water(raised).head - 3000.0 - same_water(place).head).max() < SOLVER


def test_ground_so_thin_and_steep_that_it_does_not_come_to_rest_is_told_and_loses_no_water():
    shape = (20, 30)
    base = np.tile(20.0 - 0.6 * np.arange(30), (20, 1)) + 0.2 * np.sin(np.arange(20))[:, None]
    ground = Ground(
        2.0, base[None] + 0.3, base[None], np.full((1, *shape), 1e-3), base, np.full(shape, np.inf)
    )
    borders = sides(shape, 0.0, 0.0)
    borders = [replace(borders[0], level=base + 0.25), replace(borders[1], level=base - 1.0)]
    found = steady_heads(ground, [], [], np.full(shape, 1e-6), borders=borders)
    assert found.mass_error < MASS_TOLERANCE
    assert found.dry.any()
    again = steady_heads(ground, [], [], np.full(shape, 1e-6), borders=borders, start=found.head + 0.1)
    assert np.abs(again.head - found.head).max() <= max(SOLVER, 20.0 * found.error)


def test_a_drain_alone_takes_all_that_soaks_in_and_none_where_nothing_does():
    shape = (9, 9)
    drain = spots(shape, [(4, 4)], 1e-5, 1.0)
    wet = steady_heads(even_ground(shape), [], [drain], np.full(shape, 1e-8))
    dry = steady_heads(even_ground(shape), [], [drain])
    assert wet.left[0].sum() == pytest.approx(81e-8, rel=1e-9)
    assert wet.head.min() > 1.0
    assert dry.left[0].sum() == pytest.approx(0.0, abs=1e-12)


def test_a_pond_feeds_a_drain_through_one_cell_and_a_held_cell_keeps_its_level():
    level = np.array([[2.0, 0.0, 0.0]])
    pond = TwoWay(np.array([[np.inf, 0.0, 0.0]]), level)
    ditch = TwoWay(np.array([[0.0, 1e-4, 0.0]]), np.array([[0.0, 1.0, 0.0]]))
    drain = OneWay(np.array([[0.0, 0.0, 1e-4]]), np.zeros((1, 3)))
    found = linear_heads(np.full((1, 3), 1e-4), [pond, ditch], [drain])
    # Three conductances of 1e-4: (2 - h1) + (1 - h1) = h1 - h2, and h1 - h2 = h2.
    assert found.head[0] == pytest.approx([2.0, 1.2, 0.6])
    assert found.through[0].sum() == pytest.approx(0.8e-4)
    assert found.through[1].sum() == pytest.approx(-0.2e-4)
    assert found.left[0].sum() == pytest.approx(0.6e-4)


def test_flow_arrows_follow_the_fall_of_the_heads():
    shape = (6, 8)
    east, north = flow_arrows(even_ground(shape, 1e-4), np.tile(3.0 - 0.1 * np.arange(8), (6, 1)))
    wet = 3.0 - 0.1 * np.arange(8)
    assert east[2, 3] == pytest.approx(1e-4 * wet[3] * 0.2)
    assert np.abs(north).max() == 0.0
    assert (np.diff(east[0][1:-1]) < 0.0).all()


def test_below_a_liner_the_ground_counts_no_higher_than_the_liner():
    ground = even_ground((1, 2))
    ground = replace(ground, cap=np.array([[1.5, np.inf]]))
    assert transmissivity(ground, np.full((1, 2), 3.0))[0] == pytest.approx([3e-5, 6e-5])


# What is refused

SHAPE = (4, 5)
EVEN = even_ground(SHAPE)
SIDES = sides(SHAPE, 3.0, 2.0)
NUMBER = np.zeros(SHAPE)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"borders": []}, "must tie the water to a level somewhere"),
        ({"source": np.zeros((2, 2))}, "`source` must have the shape (4, 5), got (2, 2)"),
        ({"source": NUMBER + np.nan}, "`source` must be a finite flow"),
        ({"start": np.zeros(3)}, "`start` must have the shape (4, 5), got (3,)"),
        ({"start": NUMBER + np.inf}, "`start` must be a finite head"),
        ({"steps": 3}, "`steps` at least 1 from a `start`"),
        ({"steps": 0, "start": NUMBER}, "`steps` at least 1 from a `start`"),
        ({"tolerance": 0.0}, "`tolerance` must be above 0 m"),
        (
            {"one_way": [OneWay(NUMBER - 1.0, NUMBER)]},
            "`conductance` must be at least 0 in every cell, got -1",
        ),
        ({"two_way": [TwoWay(NUMBER + np.nan, NUMBER)]}, "`conductance` must be at least 0 in every cell"),
        ({"two_way": [TwoWay(NUMBER + 1.0, NUMBER + np.nan)]}, "`level` must be a finite elevation"),
        ({"two_way": [TwoWay(np.ones(3), NUMBER)]}, "`conductance` must have the shape"),
        ({"borders": [Border(NUMBER + np.inf, NUMBER)]}, "`width` must be finite"),
        (
            {"ground": replace(EVEN, permeability=0.0 * EVEN.permeability)},
            "`permeability` must be above 0 m/s",
        ),
        ({"ground": replace(EVEN, permeability=np.ones((2, *SHAPE)))}, "`permeability` must have the shape"),
        ({"ground": replace(EVEN, cap=np.zeros(3))}, "`cap` must have the shape"),
        ({"ground": replace(EVEN, cap=NUMBER + np.nan)}, "`cap` must be a number"),
        ({"ground": replace(EVEN, base=NUMBER + 4.0)}, "`base` must be below the top of the layers"),
        ({"ground": replace(EVEN, base=NUMBER - 1.0)}, "`layers_bottom` must reach down to the base"),
        ({"ground": replace(EVEN, base=np.zeros(3))}, "`base` must have rows and columns"),
        (
            {"borders": [], "one_way": [OneWay(NUMBER + 1e-6, NUMBER)], "source": NUMBER - 1e-9},
            "`source` must not take more than comes in",
        ),
    ],
)
def test_what_has_no_answer_is_refused_in_one_sentence(changes, says):
    with pytest.raises(DomainError) as refused:
        steady_heads(**{"ground": EVEN, "borders": SIDES, **changes})
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("full", "says"),
    [
        (np.zeros(SHAPE), "`transmissivity` must be above 0 m²/s"),
        (np.full(SHAPE, np.inf), "`transmissivity` must be above 0 m²/s"),
        (np.ones(4), "`transmissivity` must have rows and columns"),
    ],
)
def test_a_transmissivity_that_is_none_is_refused(full, says):
    with pytest.raises(DomainError) as refused:
        linear_heads(full, borders=SIDES)
    assert says in str(refused.value)


@settings(deadline=None)
@given(st.integers(1, 40), st.integers(1, 40), st.integers(0, 2**32 - 1))
def test_any_size_of_grid_is_solved_like_by_a_direct_solver(rows, columns, seed):
    chance = np.random.default_rng(seed)
    transmitted = 10.0 ** chance.uniform(-6.0, -3.0, (rows, columns))
    conductance = np.where(chance.random((rows, columns)) < 0.2, 1e-5, 0.0)
    conductance[0, 0] = 1e-4
    level = chance.uniform(0.0, 3.0, (rows, columns))
    source = chance.uniform(0.0, 1e-7, (rows, columns))
    found = linear_heads(transmitted, [TwoWay(conductance, level)], source=source)
    direct = solved_directly(transmitted, conductance, source + conductance * level)
    assert np.abs(found.head - direct).max() < 1e-6 * max(1.0, math.ceil(np.abs(direct).max()))
