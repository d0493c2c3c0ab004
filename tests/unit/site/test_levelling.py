"""Level notes as they run: heights, loops, sums, and what is left adrift."""

import pytest

from pondwright.base.errors import DomainError
from pondwright.rooms.site.instrument import collimation, curvature_refraction, laser_error, reading_sigma
from pondwright.rooms.site.level_network import EXACT, KnownMark, LevelNet, adjusted_levels
from pondwright.rooms.site.levelling import (
    LevelBook,
    Reduction,
    Sight,
    allowed_misclosure,
    book_arithmetic,
    reduce_books,
)

LOOP = (("bm", 1.655, "tp1", 0.912), ("tp1", 1.402, "tp2", 1.873), ("tp2", 0.985, "bm", 1.249))
LEGS = (80.0, 120.0, 100.0)


def back(point: str, rod: float, distance: float | None = None) -> Sight:
    return Sight(point, rod, "back", distance)


def turn(point: str, rod: float, distance: float | None = None, noted: float | None = None) -> Sight:
    return Sight(point, rod, "turn", distance, noted)


def side(point: str, rod: float) -> Sight:
    return Sight(point, rod, "side")


def loop(name: str = "one", *, legs: tuple[float, ...] = (), shots: tuple[Sight, ...] = ()) -> LevelBook:
    halves = [0.5 * leg for leg in legs] or [None] * len(LOOP)
    set_ups = tuple(
        (back(start, rod, half), *(shots if number == 1 else ()), turn(end, fore, half))
        for number, ((start, rod, end, fore), half) in enumerate(zip(LOOP, halves, strict=True))
    )
    return LevelBook(name, set_ups, by_distance=bool(legs))


def run(*books: LevelBook, bm: float = 100.0, **marks: float) -> Reduction:
    return reduce_books(books, {"bm": bm, **marks})


def adjusted(*books: LevelBook, sigma: float = 0.0, **marks: float) -> LevelNet:
    known = {"bm": KnownMark(100.0, sigma), **{name: KnownMark(height) for name, height in marks.items()}}
    return adjusted_levels(books, known, run(*books, **marks))


def test_a_loop_runs_as_the_book_does_and_tells_what_it_missed_with_its_sign():
    found = run(loop())

    assert [found.elevations[name] for name in ("tp1", "tp2")] == pytest.approx([100.743, 100.272])
    assert found.readings["one", 2, 1] == pytest.approx(100.008)
    (closure,) = found.closures
    assert closure.misclosure == pytest.approx(0.008)
    assert closure.set_ups == (("one", 0), ("one", 1), ("one", 2)) and closure.length is None
    assert found.unchecked() == () and found.adrift == ()


def test_the_length_of_a_loop_is_that_of_its_sights():
    assert run(loop(legs=LEGS)).closures[0].length == pytest.approx(300.0)


def test_the_misclosure_is_shared_out_by_set_ups():
    points = adjusted(loop()).points

    assert points["tp1"].elevation == pytest.approx(100.743 - 0.008 / 3)
    assert points["tp2"].elevation == pytest.approx(100.272 - 0.008 * 2 / 3)
    assert points["bm"].elevation == 100.0 and points["bm"].base == EXACT


def test_the_misclosure_is_shared_out_by_distance():
    curve = 2 * curvature_refraction(40.0)  # equal sights: what is taken off cancels, to the last figure
    points = adjusted(loop(legs=LEGS)).points

    assert curve > 0.0
    assert points["tp1"].elevation == pytest.approx(100.743 - 0.008 * 80 / 300, abs=1e-9)
    assert points["tp2"].elevation == pytest.approx(100.272 - 0.008 * 200 / 300, abs=1e-9)


def test_an_intermediate_shot_takes_the_correction_of_its_own_set_up():
    net = adjusted(loop(shots=(side("rim", 1.0),)))

    assert net.points["rim"].correction == pytest.approx(-0.008 * 1.5 / 3)
    assert net.points["rim"].elevation == pytest.approx(net.instruments["one", 1] - 1.0)
    assert net.points["rim"].set_up == ("one", 1)


def test_an_intermediate_shot_never_closes_a_loop():
    again = LevelBook("two", ((back("tp1", 1.0), side("rim", 1.5)),))
    found = run(loop(shots=(side("rim", 1.0),)), again)

    assert len(found.closures) == 1
    assert found.elevations["rim"] == pytest.approx(101.145)
    assert found.readings["two", 0, 1] == pytest.approx(100.243)


def test_a_side_reading_on_a_known_mark_closes():
    assert [
        closure.point for closure in run(LevelBook("one", ((back("bm", 1.0), side("bm", 1.002)),))).closures
    ] == ["bm"]


def test_reading_the_benchmark_again_closes_a_single_set_up():
    found = run(LevelBook("one", ((back("bm", 1.0), side("rim", 1.5), Sight("bm", 1.002, "check")),)))

    assert found.closures[0].misclosure == pytest.approx(-0.002)
    assert found.closures[0].set_ups == (("one", 0),)


def test_a_second_backsight_on_something_known_closes_too():
    found = run(LevelBook("one", ((back("bm", 1.0), back("pin", 2.0)),)), pin=99.0)

    assert found.closures[0].misclosure == pytest.approx(0.0)


def test_a_set_up_that_ends_on_nothing_known_is_not_closed_and_still_gives_heights():
    book = LevelBook("one", (*loop().set_ups, (back("tp1", 1.0), side("rim", 1.5))))
    net = adjusted(book)

    assert run(book).unchecked() == (("one", 3),)
    assert net.points["rim"].elevation == pytest.approx(net.points["tp1"].elevation - 0.5)


def test_without_a_reading_to_spare_nothing_checks_the_heights():
    (part,) = adjusted(LevelBook("one", ((back("bm", 1.0), side("rim", 1.5)),))).parts

    assert part.redundancy == 0 and part.scale == 1.0


def test_a_set_up_that_nothing_known_leads_to_is_adrift_and_the_others_go_on():
    found = run(loop(), LevelBook("two", ((back("lost", 1.0), side("rim", 1.5)),)))

    assert found.adrift == (("two", 0),)
    assert "rim" not in found.elevations and len(found.closures) == 1


def test_a_set_up_is_reached_through_a_later_one_and_through_another_book():
    first = LevelBook("a", ((back("tp9", 1.0), turn("tp8", 1.2)), (back("tp2", 1.0), turn("tp9", 1.1))))
    found = run(first, loop("b"))

    assert found.adrift == ()
    assert found.elevations["tp8"] == pytest.approx(100.272 + 1.0 - 1.1 + 1.0 - 1.2)


def test_a_set_up_without_a_known_backsight_is_reached_by_the_mark_that_it_closes_on():
    found = run(LevelBook("one", ((back("tp1", 1.0), Sight("bm", 1.5, "check")),)))

    assert found.adrift == () and found.elevations["tp1"] == pytest.approx(100.5)


def test_readings_that_go_up_from_a_water_line_are_heights_over_it():
    book = LevelBook("one", ((back("water", 0.0), side("rim", 0.35), side("floor", -1.2)),), up=True)

    assert run(book, water=29.5).elevations == pytest.approx(
        {"bm": 100.0, "water": 29.5, "rim": 29.85, "floor": 28.3}
    )


def test_the_curve_of_the_earth_is_taken_off_where_a_sight_was_measured():
    down = LevelBook("one", ((back("bm", 1.0, 10.0), turn("far", 1.0, 300.0)),))
    up = LevelBook("one", ((back("bm", 1.0, 10.0), turn("far", 1.0, 300.0)),), up=True)
    curve = curvature_refraction(300.0) - curvature_refraction(10.0)

    assert run(down).elevations["far"] == pytest.approx(100.0 + curve)
    assert run(up).elevations["far"] == pytest.approx(100.0 + curve)
    assert curve == pytest.approx(0.00614, abs=1e-5)


@pytest.mark.parametrize(
    ("set_ups", "length", "allowed"),
    [(3, 300.0, 0.0065727), (3, 100.0, 0.005), (3, None, 0.0086603), (1, 1000.0, 0.012)],
)
def test_the_allowed_misclosure_grows_with_the_root_of_the_way(set_ups, length, allowed):
    assert allowed_misclosure(set_ups, length) == pytest.approx(allowed, abs=1e-7)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: allowed_misclosure(0),
        lambda: allowed_misclosure(1, -1.0),
        lambda: curvature_refraction(-1.0),
        lambda: laser_error(-1.0),
        lambda: collimation(1.0, 1.0, 1.0, 1.0, 0.0),
    ],
)
def test_what_has_no_answer_is_refused_in_one_sentence(asked):
    with pytest.raises(DomainError, match=r"^`\w+` must"):
        asked()


def test_a_noted_elevation_that_its_readings_do_not_give_is_told_once():
    book = LevelBook(
        "one",
        (
            (back("bm", 1.655), turn("tp1", 0.912, noted=100.743)),
            (back("tp1", 1.402), turn("tp2", 1.873, noted=100.372)),
            (back("tp2", 0.985), turn("bm2", 1.249, noted=100.108)),
        ),
    )
    sums = book_arithmetic(book, {"bm": 100.0})

    assert [(slip.sight, slip.noted) for slip in sums.slips] == [(("one", 1, 1), 100.372)]
    assert sums.slips[0].reckoned == pytest.approx(100.272)
    assert sums.rise == pytest.approx(0.008) and sums.noted_rise == pytest.approx(0.108)


def test_sums_of_readings_that_go_up_are_turned_round():
    book = LevelBook("one", ((back("bm", 1.0), turn("tp1", 1.5, noted=100.5)),), up=True)
    sums = book_arithmetic(book, {"bm": 100.0})

    assert sums.rise == sums.noted_rise == pytest.approx(0.5) and sums.slips == ()


def test_the_line_of_a_book_ends_where_the_next_set_up_does_not_go_on():
    book = LevelBook("one", ((back("bm", 1.0), turn("tp1", 1.5)), (back("pin", 9.0), turn("tp3", 3.0))))
    sums = book_arithmetic(book, {"bm": 100.0})

    assert (sums.sum_back, sums.sum_fore, sums.noted_rise) == (1.0, 1.5, None)


def test_an_empty_book_has_empty_sums():
    assert book_arithmetic(LevelBook("one", ()), {}).rise == 0.0


def test_an_uncertain_mark_gives_way_to_a_sure_one():
    book = LevelBook("one", ((back("bm", 1.0), Sight("pin", 1.0, "check")),))
    net = adjusted(book, sigma=10.0, pin=100.5)

    assert net.points["bm"].elevation == pytest.approx(100.5, abs=1e-6)
    assert net.points["pin"].elevation == 100.5


def test_heights_from_one_uncertain_mark_are_as_unsure_as_it_is_at_least():
    net = adjusted(LevelBook("one", ((back("bm", 1.0), side("rim", 1.5)),)), sigma=0.03)

    assert net.points["rim"].elevation == pytest.approx(99.5)
    assert net.mark_covariance == pytest.approx(0.03**2)
    assert net.point_sigma("rim") == pytest.approx(
        (0.03**2 + net.covariance[0, 0] + net.points["rim"].sigma ** 2) ** 0.5
    )
    assert net.covariance[0, 0] == pytest.approx(reading_sigma() ** 2)


def test_readings_that_fit_badly_are_told_to_be_less_sure_and_good_ones_not_to_be_surer():
    bad = LevelBook("one", ((back("bm", 1.0), Sight("bm", 1.05, "check")),))
    good = LevelBook("one", ((back("bm", 1.0), Sight("bm", 1.0, "check")),))

    assert adjusted(good).covariance[0, 0] == pytest.approx(reading_sigma() ** 2 / 2)
    assert adjusted(bad).covariance[0, 0] == pytest.approx(0.05**2 / 4)


def test_books_without_readings_have_no_heights():
    net = adjusted(LevelBook("one", ()))

    assert net.points == {} and net.parts == () and net.covariance.shape == (0, 0)


def test_too_many_set_ups_are_refused():
    book = LevelBook("one", tuple(((back("bm", 1.0)),) for _ in range(4_001)))

    with pytest.raises(DomainError, match="4000 set-ups"):
        adjusted(book)
