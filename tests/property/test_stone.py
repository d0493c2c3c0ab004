"""Stone of any size: tons grow with it, what is on hand is not bought, net is never above gross."""

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.rooms.shape.profile import bank_profile
from pondwright.rooms.stone.courses import counted, courses_of, stones_along
from pondwright.rooms.stone.displacement import net_volumes, share_under
from pondwright.rooms.stone.layers import layer_mass
from pondwright.rooms.stone.on_hand import Measured, Need, stand_ins
from pondwright.rooms.stone.pieces import forms, mass_by_axes, mass_by_size, mean_mass, size_of_mass
from tests.unit.stone.shelved import POND, net_storage, part, stone_class, treatment, values

sizes = st.floats(0.05, 2.0)
shapes = st.sampled_from(sorted(forms()))


def tons(length, size):
    """Stone of one size along a shore, before whole stones are counted."""
    return stones_along(length, size, 0.05) * mass_by_size(size)


@given(st.floats(0.0, 500.0), st.floats(0.0, 500.0), sizes, sizes)
def test_tons_grow_with_the_length_and_with_the_size(length, more, size, other):
    small, large = sorted((size, other))

    assert tons(length, small) <= tons(length, large) * (1.0 + 1e-12)
    assert counted([stones_along(length, size, 0.05)]) <= counted([stones_along(length + more, size, 0.05)])


@given(sizes, sizes, shapes)
def test_a_larger_stone_is_heavier_and_a_class_lies_between_its_ends(size, other, shape):
    low, high = sorted((size, other))
    light, mean, heavy = mass_by_size(low, shape), mean_mass(low, high, shape), mass_by_size(high, shape)

    assert light * (1.0 - 1e-12) <= mean <= heavy * (1.0 + 1e-12)
    assert size_of_mass(light, shape) == pytest.approx(low)


@given(sizes, sizes, sizes, shapes)
def test_no_stone_is_heavier_than_the_box_of_its_tapes(length, width, height, shape):
    assert 0.0 < mass_by_axes(length, width, height, shape, 1.0) <= length * width * height * (1.0 + 1e-12)


@given(st.floats(0.0, 1e4), st.floats(0.0, 3.0), st.floats(0.0, 0.9), st.floats(0.0, 0.9))
def test_more_voids_make_a_layer_lighter(area, thickness, one, other):
    dense, loose = sorted((one, other))

    assert layer_mass(area, thickness, 2650.0, dense) >= layer_mass(area, thickness, 2650.0, loose)


@given(st.lists(st.floats(0.0, 60.0), max_size=8))
def test_whole_stones_are_their_sum_rounded_up_and_each_within_one_of_its_part(parts):
    found = counted(parts)

    assert sum(found) == math.ceil(sum(parts) - 1e-9)
    assert all(abs(whole - part) < 1.0 + 1e-6 for whole, part in zip(found, parts, strict=True))


@given(
    st.lists(st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 0.8)), min_size=1, max_size=5),
    st.integers(1, 8),
    st.floats(0.1, 1.0),
)
def test_no_course_is_lost_between_the_steps(steps, courses, height):
    points = [(0.0, 0.0)]
    for across, down in steps:
        points.append((points[-1][0] + across, points[-1][1] + down))

    assert sum(course.rows for course in courses_of(bank_profile(points), courses, height)) == courses


needs = st.lists(
    st.tuples(st.sampled_from(["course", "spill", "frame"]), sizes, sizes, st.integers(0, 4)), max_size=4
)
pieces = st.lists(st.tuples(sizes, st.sampled_from(["any", "edge", "spill", "seat"])), max_size=8)


@given(needs, pieces)
def test_no_stone_on_hand_is_left_over_while_one_like_it_would_be_bought(needs, pieces):
    wanted = [
        Need(f"c{place}", use, min(ends), max(ends), count) for place, (use, *ends, count) in enumerate(needs)
    ]
    had = {f"p{place}": Measured(*piece) for place, piece in enumerate(pieces)}

    used = stand_ins(wanted, had)

    for place, need in enumerate(wanted):
        fits = {
            name
            for name in had
            if stand_ins([Need("n", need.use, need.low, need.high, 1)], {name: had[name]})
        }
        mine = [name for name, at in used.items() if at == place]
        assert len(mine) <= need.count and set(mine) <= fits
        assert len(mine) == need.count or fits <= set(used)


@given(
    st.lists(st.floats(0.0, 5.0), min_size=2, max_size=12),
    st.floats(0.1, 3.0),
    st.floats(0.0, 40.0),
)
def test_net_water_is_never_above_gross_never_below_nothing_and_never_falls(depths, height, solid):
    levels = np.sort(depths)
    gross = 4.0 * levels

    net = net_volumes(gross, solid * share_under(levels, 0.5, height))

    assert (net <= gross).all() and (net >= 0.0).all() and (np.diff(net) >= 0.0).all()


@given(st.floats(0.2, 1.2), st.integers(1, 4), st.floats(0.05, 0.6), st.floats(0.0, 60_000.0))
def test_a_job_buys_what_is_not_on_hand_and_holds_no_more_than_without_stone(size, courses, thick, pile):
    told = {
        "classes": {"edge": stone_class(size, size)},
        "treatments": {
            "edge": treatment("courses", POND, ("edge", 1.0), courses=courses),
            "floor": treatment("gravel", part(5), thickness=thick),
        },
    }
    job = values(**json.loads(json.dumps(told)), piles={"heap": {"mass": max(pile, 1.0), "stone": "edge"}})
    job["site"]["frame"]["grid"].update(spacing=0.5, columns=61, rows=61)
    found = net_storage(job)
    takeoff, net = found["stone.takeoff"], found["stone.net_storage"].bodies["pond"]

    edge = takeoff.classes["edge"]
    assert edge.buy_count == math.ceil(1.1 * (edge.count - edge.on_hand_count) - 1e-9)
    assert edge.on_hand <= min(max(pile, 1.0), edge.mass) * (1.0 + 1e-9)
    assert takeoff.spare == pytest.approx(max(pile, 1.0) - edge.on_hand)
    assert 0.0 <= net.volume <= net.gross
    assert (net.volumes <= net.gross_volumes).all()
