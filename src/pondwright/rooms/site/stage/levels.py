"""From the level books to heights: reduced, checked, adjusted.

``site.levels`` reads books and marks alone, so that it rests while a shot is moved; ``site.level_points``
holds its heights against the shots of the job, which settles.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import COUNT, LENGTH, Elevation, Length
from pondwright.job.fields import value_of
from pondwright.job.site import Book, Mark, Reading, Shot
from pondwright.rooms.site.checks import levels as level_checks
from pondwright.rooms.site.checks.levels import TwoHeights, allowed_of, times_allowed
from pondwright.rooms.site.instrument import collimation
from pondwright.rooms.site.level_network import KnownMark, LevelNet, adjusted_levels
from pondwright.rooms.site.levelling import (
    Arithmetic,
    Closure,
    LevelBook,
    Reduction,
    Role,
    SetUpKey,
    Sight,
    SightKey,
    allowed_misclosure,
    book_arithmetic,
    reduce_books,
)
from pondwright.rooms.site.stage.shared import limits_of


@dataclass(frozen=True, slots=True)
class BookLine:
    """One line of a book as it is read and as it comes out.

    `set_up` counts from 0; `instrument` and `elevation` are as the book runs, `adjusted` is elevation plus
    correction; what nothing known leads to is None.
    """

    set_up: int
    station: str
    point: str
    role: Role
    rod: Length
    distance: Length | None
    noted: Elevation | None
    instrument: Elevation | None
    elevation: Elevation | None
    correction: Length | None
    adjusted: Elevation | None


@dataclass(frozen=True, slots=True)
class BookLevels:
    """One level book, worked out."""

    lines: tuple[BookLine, ...]
    closures: tuple[Closure, ...]
    arithmetic: Arithmetic
    not_closed: tuple[int, ...]
    set_up_count: int = figure(COUNT, "Set-ups of this level book", uses=("site.books",))
    sum_back: Length = figure(LENGTH, "Sum of the backsights", by=book_arithmetic, uses=("site.books",))
    sum_fore: Length = figure(
        LENGTH, "Sum of the foresights along the line", by=book_arithmetic, uses=("site.books",)
    )
    misclosure: Length | None = figure(
        LENGTH,
        "Misclosure of its worst loop, high is positive; none where nothing closes",
        by=reduce_books,
        uses=("site.books", "site.marks.*.elevation"),
    )
    allowed: Length | None = figure(
        LENGTH, "Misclosure up to which that loop is good", by=allowed_misclosure, uses=("site.books",)
    )


@dataclass(frozen=True, slots=True, eq=False)
class LevelsResult:
    """Heights from all level books together, with their errors, and each book worked out."""

    heights: Mapping[str, Elevation]
    net: LevelNet
    books: Mapping[str, BookLevels]
    point_count: int = figure(COUNT, "Points whose height the level books tell", uses=("site.books",))
    sigma_worst: Length | None = figure(
        LENGTH,
        "Standard deviation of the least sure height from the level books",
        by=adjusted_levels,
        uses=("site.books", "site.marks.*.sigma"),
    )


@dataclass(frozen=True, slots=True)
class LevelPointsResult:
    """Which points of the books the job does not know, and how its typed heights agree with the books."""

    unknown: tuple[str, ...]
    shot_count: int = figure(COUNT, "Shots that the level books read", uses=("site.books",))
    typed_apart: Length | None = figure(
        LENGTH,
        "Largest difference of a typed elevation from the level books'; none where none was typed",
        uses=("site.shots.*.elevation", "site.books"),
    )


def levels_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[LevelsResult, tuple[Finding, ...]]:
    """Heights from the level books.

    Parameters
    ----------
    view : mapping        Reads `site.marks`, `site.books`, `rules`.
    results : mapping     Needs nothing.

    Returns
    -------
    LevelsResult and the checks of the books.  Whatever a book misses by, its heights are given.

    Raises
    ------
    DomainError           If there are more set-ups than can be adjusted together.
    """
    limits = limits_of(view)
    documents = view["site.books"]
    books = [_level_book(name, book) for name, book in documents.items()]
    marks = _known_marks(view["site.marks"])
    reduction = reduce_books(books, {name: mark.elevation for name, mark in marks.items()})
    net = adjusted_levels(books, marks, reduction)
    worked = {book.name: _worked(book, documents[book.name], reduction, net, marks, limits) for book in books}
    sigmas = [net.point_sigma(name) for name in net.points]
    result = LevelsResult(
        heights=MappingProxyType({name: point.elevation for name, point in sorted(net.points.items())}),
        net=net,
        books=MappingProxyType(worked),
        point_count=len(net.points),
        sigma_worst=max(sigmas, default=None),
    )
    return result, tuple(_findings(books, view, reduction, result, limits))


def level_points_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[LevelPointsResult, tuple[Finding, ...]]:
    """Heights from the level books against the shots of the job.

    Parameters
    ----------
    view : mapping        Reads `site.marks`, `site.books`, `site.shots`, `rules`.
    results : mapping     Needs `site.levels`.

    Returns
    -------
    LevelPointsResult and the checks of points that the job does not know, and of heights typed otherwise.
    """
    shots, heights = view["site.shots"], results["site.levels"].heights
    unknown = _unknown_points(view["site.books"], {*shots, *view["site.marks"]})
    typed = list(_typed_twice(shots, heights))
    findings = (
        *level_checks.check_unknown_points(unknown),
        *level_checks.check_two_heights(typed, limits_of(view)),
    )
    worst = max((abs(each.held - each.other) for each in typed), default=None)
    return LevelPointsResult(tuple(unknown), len(heights.keys() & shots.keys()), worst), findings


def _level_book(name: str, book: Book) -> LevelBook:
    return LevelBook(
        name,
        tuple(
            (
                *(_sight(reading, "back") for reading in set_up.backsights),
                *(_sight(reading, reading.kind) for reading in set_up.readings),
            )
            for set_up in book.set_ups
        ),
        up=book.reads == "up",
        by_distance=book.adjust == "distance",
    )


def _sight(reading: Reading, role: Role) -> Sight:
    return Sight(reading.point, reading.rod, role, reading.distance, reading.noted)


def _known_marks(marks: Mapping[str, Mark]) -> dict[str, KnownMark]:
    return {
        name: KnownMark(mark.elevation, value_of(mark, "sigma"))
        for name, mark in marks.items()
        if mark.elevation is not None
    }


def _worked(
    book: LevelBook,
    document: Book,
    reduction: Reduction,
    net: LevelNet,
    marks: Mapping[str, KnownMark],
    limits: Mapping[str, Limit],
) -> BookLevels:
    closures = tuple(each for each in reduction.closures if each.sight[0] == book.name)
    worst = max(closures, key=lambda each: times_allowed(each, limits), default=None)
    known = _told_elsewhere(book, reduction, marks)
    sums = book_arithmetic(book, known, limits["site.book_arithmetic"].value)
    return BookLevels(
        lines=tuple(_lines(book, document, reduction, net)),
        closures=closures,
        arithmetic=sums,
        not_closed=tuple(number for name, number in reduction.unchecked() if name == book.name),
        set_up_count=len(book.set_ups),
        sum_back=sums.sum_back,
        sum_fore=sums.sum_fore,
        misclosure=worst.misclosure if worst else None,
        allowed=allowed_of(worst, limits) if worst else None,
    )


def _told_elsewhere(
    book: LevelBook, reduction: Reduction, marks: Mapping[str, KnownMark]
) -> dict[str, Elevation]:
    """Elevations that a book's own sums start from: marks, and what only other books tell."""
    own = {sight.point for _, sight in book.sights() if sight.role != "back"} - marks.keys()
    return {name: height for name, height in reduction.elevations.items() if name not in own}


def _lines(book: LevelBook, document: Book, reduction: Reduction, net: LevelNet) -> Iterator[BookLine]:
    for key, sight in book.sights():
        _, set_up, _ = key
        instrument, elevation = reduction.instruments.get(key[:2]), reduction.readings.get(key)
        point = None if elevation is None else net.points[sight.point]
        yield BookLine(
            set_up,
            document.set_ups[set_up].station,
            sight.point,
            sight.role,
            sight.rod,
            sight.distance,
            sight.noted,
            instrument,
            elevation,
            None if point is None or elevation is None else point.elevation - elevation,
            None if point is None else point.elevation,
        )


def _findings(
    books: Sequence[LevelBook],
    view: Mapping[str, Any],
    reduction: Reduction,
    result: LevelsResult,
    limits: Mapping[str, Limit],
) -> Iterator[Finding]:
    for book in books:
        worked, document = result.books[book.name], view["site.books"][book.name]
        unchecked = [(book.name, number) for number in worked.not_closed]
        yield from level_checks.check_misclosure(book.name, worked.closures, limits)
        if any(key[0] == book.name for key in reduction.instruments):
            yield level_checks.check_closed(book.name, unchecked, limits)
        if any(sight.noted is not None for _, sight in book.sights()):
            paths = {key: _path(document, key) for key, _ in book.sights()}
            yield from level_checks.check_arithmetic(book.name, worked.arithmetic, paths, limits)
        if document.two_peg is not None:
            yield _two_peg(book.name, document, limits)
        imbalance = _imbalance(book, reduction)
        if imbalance is not None:
            yield level_checks.check_sight_balance(book.name, imbalance, limits)
    yield from level_checks.check_adrift(reduction.adrift, _why_adrift(books, reduction))
    yield from level_checks.check_two_heights(_read_twice(books, view["site.books"], reduction), limits)


def _two_peg(name: str, book: Book, limits: Mapping[str, Limit]) -> Finding:
    test = book.two_peg
    assert test is not None
    try:
        error = collimation(test.middle_a, test.middle_b, test.near_a, test.near_b, test.sight_difference)
    except DomainError as reason:
        return level_checks.two_peg_untested(name, str(reason))
    return level_checks.check_two_peg(name, error, limits)


def _imbalance(book: LevelBook, reduction: Reduction) -> Length | None:
    """Backsights less foresights that carry the level, if the length of each was noted."""
    carrying = [sight for key, sight in book.sights() if key in reduction.carrying]
    lengths = [sight.distance for sight in carrying if sight.distance is not None]
    if not carrying or len(lengths) < len(carrying):
        return None
    signs = [1.0 if sight.role == "back" else -1.0 for sight in carrying]
    return math.fsum(sign * length for sign, length in zip(signs, lengths, strict=True))


def _why_adrift(books: Sequence[LevelBook], reduction: Reduction) -> dict[SetUpKey, str]:
    why: dict[SetUpKey, str] = {}
    for book in books:
        for number, sights in enumerate(book.set_ups):
            backs = [f"`{sight.point}`" for sight in sights if sight.role == "back"]
            why[book.name, number] = (
                f"nothing known leads to {' or '.join(backs)}" if backs else "it has no backsight"
            )
    return why


def _unknown_points(documents: Mapping[str, Book], known: set[str]) -> dict[str, str]:
    """Points that are only shot, and are neither a shot nor a mark; turning points need no row."""
    books = [_level_book(name, book) for name, book in documents.items()]
    everything = [each for book in books for each in book.sights()]
    turned = {sight.point for _, sight in everything if sight.role in ("back", "turn")}
    found: dict[str, str] = {}
    for key, sight in everything:
        if sight.point not in known and sight.point not in turned:
            found.setdefault(sight.point, _path(documents[key[0]], key))
    return found


def _typed_twice(shots: Mapping[str, Shot], heights: Mapping[str, Elevation]) -> Iterator[TwoHeights]:
    for name, height in heights.items():
        shot = shots.get(name)
        if shot is not None and shot.elevation is not None:
            yield TwoHeights(name, shot.elevation, height, True, f"site.shots.{name}.elevation")


def _read_twice(
    books: Sequence[LevelBook], documents: Mapping[str, Book], reduction: Reduction
) -> list[TwoHeights]:
    """Readings that only tell a height, on points that have another from another reading."""
    found = []
    for book in books:
        for key, sight in book.sights():
            other = reduction.readings.get(key)
            if other is None or key in reduction.carrying or other == reduction.elevations[sight.point]:
                continue
            held, path = reduction.elevations[sight.point], _path(documents[book.name], key)
            found.append(TwoHeights(sight.point, held, other, False, path))
    return found


def _path(book: Book, key: SightKey) -> str:
    """Dotted path of a reading in the document."""
    name, set_up, number = key
    backs = len(book.set_ups[set_up].backsights)
    place = f"backsights.{number}" if number < backs else f"readings.{number - backs}"
    return f"site.books.{name}.set_ups.{set_up}.{place}"
