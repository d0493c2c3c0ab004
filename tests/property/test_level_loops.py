"""What holds for any level notes: loops close, routes are weighed, and order does not matter."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.rooms.site.level_network import KnownMark, LevelNet, adjusted_levels
from pondwright.rooms.site.levelling import LevelBook, Sight, reduce_books

RODS = st.floats(0.05, 4.0).map(lambda value: round(value, 4))
LENGTHS = st.floats(2.0, 90.0).map(lambda value: round(value, 2))
LEVELS = st.floats(-50.0, 500.0).map(lambda value: round(value, 3))


@st.composite
def loops(draw):
    """A loop from the benchmark and back, with its legs, and shots from each set-up."""
    count = draw(st.integers(1, 8))
    names = ["bm", *(f"tp{number}" for number in range(1, count)), "bm"]
    set_ups = []
    for number in range(count):
        legs = draw(st.tuples(LENGTHS, LENGTHS))
        set_ups.append(
            (
                Sight(names[number], draw(RODS), "back", legs[0]),
                Sight(f"shot{number}", draw(RODS), "side"),
                Sight(names[number + 1], draw(RODS), "turn", legs[1]),
            )
        )
    return LevelBook("loop", tuple(set_ups), by_distance=draw(st.booleans()))


def net_of(books, known=None, sigma=0.0) -> LevelNet:
    known = {"bm": 100.0} if known is None else known
    marks = {name: KnownMark(height, sigma) for name, height in known.items()}
    return adjusted_levels(books, marks, reduce_books(books, known))


def heights(net: LevelNet):
    return {name: point.elevation for name, point in net.points.items()}


def without_lengths(book: LevelBook) -> LevelBook:
    """The same book, its lengths kept as weights only: nothing is taken off its readings."""
    set_ups = tuple(
        tuple(dataclasses.replace(sight, distance=None) for sight in sights) for sights in book.set_ups
    )
    return dataclasses.replace(book, set_ups=set_ups)


@given(loops(), LEVELS)
def test_the_readings_of_an_adjusted_loop_close_to_nothing(book, bm):
    net = net_of([book], {"bm": bm})
    residuals = net.residuals

    for number, (first, _, last) in enumerate(book.set_ups):
        rise = (first.straight(False) - residuals["loop", number, 0]) - (
            last.straight(False) - residuals["loop", number, 2]
        )
        assert net.points[last.point].elevation - net.points[first.point].elevation == pytest.approx(
            rise, abs=1e-9
        )
    closing = sum(
        (sights[0].straight(False) - residuals["loop", number, 0])
        - (sights[2].straight(False) - residuals["loop", number, 2])
        for number, sights in enumerate(book.set_ups)
    )
    assert closing == pytest.approx(0.0, abs=1e-9)


@given(loops())
def test_the_turning_points_of_a_loop_follow_the_rule_of_the_trade(book):
    running = reduce_books([book], {"bm": 100.0})
    points = net_of([book]).points
    missed = running.closures[-1].misclosure
    legs = [sights[0].distance + sights[2].distance for sights in book.set_ups]
    shares = np.cumsum(legs if book.by_distance else np.ones(len(legs)))

    for number, sights in enumerate(book.set_ups[:-1]):
        name = sights[2].point
        told = running.elevations[name] - missed * shares[number] / shares[-1]
        assert points[name].elevation == pytest.approx(told, abs=1e-9)


@st.composite
def networks(draw, worst=0.01):
    """Books over a few points, whose readings are true ones with errors; all lead to the benchmark."""
    points = [f"p{number}" for number in range(draw(st.integers(1, 5)))]
    true = {"bm": 100.0, **{name: draw(LEVELS) / 100.0 + 100.0 for name in points}}
    books = []
    for name in ("a", "b", "c")[: draw(st.integers(1, 3))]:
        set_ups = []
        up = draw(st.booleans())
        for _ in range(draw(st.integers(1, 4))):
            seen = draw(st.lists(st.sampled_from(["bm", *points]), min_size=2, max_size=4))
            level = draw(LEVELS) / 100.0 + 102.0
            sights = []
            for place, point in enumerate(seen):
                slip = draw(st.floats(-worst, worst))
                rod = (true[point] - level if up else level - true[point]) + slip
                sights.append(Sight(point, rod, "back" if place == 0 else "turn"))
            set_ups.append(tuple(sights))
        books.append(LevelBook(name, tuple(set_ups), up=up))
    return books


@given(networks())
def test_heights_agree_with_an_independent_least_squares(books):
    net = net_of(books)
    reached = list(net.instruments)
    names = sorted(
        {sight.point for book in books for key, sight in book.sights() if key[:2] in reached} - {"bm"}
    )
    columns = {key: number for number, key in enumerate([*reached, *names])}
    rows, told = [], []
    for book in books:
        for key, sight in book.sights():
            if key[:2] not in columns:
                continue
            row = np.zeros(len(columns))
            row[columns[key[:2]]] = -1.0
            height = 0.0
            if sight.point == "bm":
                height = 100.0
            else:
                row[columns[sight.point]] = 1.0
            rows.append(row)
            told.append((sight.rod if book.up else -sight.rod) - height)
    if not rows:
        assert net.points == {}
        return
    solved, *_ = np.linalg.lstsq(np.array(rows), np.array(told), rcond=None)

    assert [net.instruments[key] for key in reached] == pytest.approx(solved[: len(reached)], abs=1e-8)
    assert [net.points[name].elevation for name in names] == pytest.approx(solved[len(reached) :], abs=1e-8)


@given(networks(), st.randoms(use_true_random=False))
def test_the_order_of_books_does_not_matter(books, random):
    shuffled = random.sample(books, len(books))

    assert heights(net_of(shuffled)) == heights(net_of(books))


@given(networks(), st.floats(-20.0, 20.0))
def test_lifting_the_benchmark_lifts_every_height(books, lift):
    before, after = heights(net_of(books)), heights(net_of(books, {"bm": 100.0 + lift}))

    assert after == pytest.approx({name: height + lift for name, height in before.items()}, abs=1e-9)


@given(networks())
def test_readings_up_and_down_of_the_same_ground_agree(books):
    turned = [
        LevelBook(
            book.name,
            tuple(
                tuple(dataclasses.replace(sight, rod=-sight.rod) for sight in sights)
                for sights in book.set_ups
            ),
            up=not book.up,
        )
        for book in books
    ]

    assert heights(net_of(turned)) == heights(net_of(books))


@given(loops(), st.lists(LEVELS, min_size=8, max_size=8), st.booleans())
def test_perfect_readings_have_no_misclosure(book, levels, up):
    true = {"bm": 100.0, **{f"tp{number}": level for number, level in enumerate(levels)}}
    set_ups = []
    for number, sights in enumerate(without_lengths(book).set_ups):
        instrument = 103.0 + 0.1 * number
        set_ups.append(
            tuple(
                dataclasses.replace(
                    sight,
                    rod=(instrument - true[sight.point]) * (-1.0 if up else 1.0)
                    if sight.role != "side"
                    else sight.rod,
                )
                for sight in sights
            )
        )
    found = reduce_books([LevelBook("loop", tuple(set_ups), up=up)], {"bm": 100.0})

    assert max(abs(each.misclosure) for each in found.closures) < 1e-9


@given(st.lists(st.tuples(st.floats(9.9, 10.4), LENGTHS), min_size=2, max_size=5))
def test_a_point_reached_by_several_routes_is_their_weighted_mean(routes):
    books = [
        LevelBook(
            f"route{number}",
            ((Sight("bm", 1.0, "back", length), Sight("p", 101.0 - height, "turn", length)),),
            by_distance=True,
        )
        for number, (height, length) in enumerate(routes)
    ]
    point = net_of(books).points["p"].elevation
    weights = [1.0 / length for _, length in routes]
    mean = sum(weight * height for weight, (height, _) in zip(weights, routes, strict=True)) / sum(weights)

    assert point == pytest.approx(mean, abs=1e-9)


@given(networks(worst=0.0001), st.floats(0.001, 0.05))
def test_no_variance_is_negative_and_an_unsure_mark_never_makes_heights_surer(books, sigma):
    """Of readings that fit as well as their sigma foretells, so that nothing is scaled."""
    exact, unsure = net_of(books), net_of(books, sigma=sigma)

    assert {part.scale for part in (*exact.parts, *unsure.parts)} <= {1.0}
    assert np.all(np.linalg.eigvalsh(exact.covariance) > -1e-12) if exact.bases else True
    assert not exact.mark_covariance.any()
    for name in exact.points:
        assert unsure.point_sigma(name) >= exact.point_sigma(name) - 1e-9
        assert math.isfinite(unsure.point_sigma(name))
