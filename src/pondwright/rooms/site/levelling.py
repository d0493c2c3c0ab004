"""Level notes: from rod readings to heights, as the field book runs, and what it closes by.

A set-up gives one height of instrument; every reading of it is a height.  Turning points carry the level
on from set-up to set-up, and where it comes back to something known, the *misclosure* tells how good it
all was.  The running heights here are those of the book; :mod:`pondwright.rooms.site.level_network` adjusts
them.

Readings go *down* on the usual rod (a larger reading is lower ground) or *up*: on a direct-reading rod, or
as plus or minus from a water line, whose mark is read as 0.

What is not modelled: the level's own error along unequal sights (the two-peg test tells it), settling of
the instrument, and a rod that is not as long as it says.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Length
from pondwright.rooms.site.instrument import curvature_refraction

Role = Literal["back", "side", "turn", "check"]
SetUpKey = tuple[str, int]
"""A set-up by its book and its number in it, from 0."""

SightKey = tuple[str, int, int]
"""A reading by its book, set-up and number in it, from 0."""

THIRD_ORDER = 0.012
"""Misclosure allowed for a loop of one kilometre [m]: third order, FGCC 1984, from memory."""

LEAST_ALLOWED = 0.005
"""Misclosure that is always allowed [m]: a short loop would be held below the step of the rod."""

ALLOWED_PER_SET_UP = 0.005
"""Misclosure allowed for one set-up where no distances were noted [m]."""


@dataclass(frozen=True, slots=True)
class Sight:
    """One reading: on which point, how much and to what end; its length and height where they were noted."""

    point: str
    rod: Length
    role: Role
    distance: Length | None = None
    noted: Elevation | None = None

    def straight(self, up: bool) -> Length:
        """Reading with curvature and refraction taken off, where the length of the sight was noted [m].

        Where readings go up, the curve of the earth makes them too small.
        """
        curve = 0.0 if self.distance is None else curvature_refraction(self.distance)
        return self.rod + curve if up else self.rod - curve


@dataclass(frozen=True, slots=True)
class LevelBook:
    """Readings by set-up, in order; backsights stand first in each."""

    name: str
    set_ups: tuple[tuple[Sight, ...], ...]
    up: bool = False
    by_distance: bool = False

    def sights(self) -> Iterator[tuple[SightKey, Sight]]:
        """All readings of the book, each with its key."""
        for set_up, sights in enumerate(self.set_ups):
            for number, sight in enumerate(sights):
                yield (self.name, set_up, number), sight


@dataclass(frozen=True, slots=True)
class Closure:
    """Where the level came back to something known: what was missed, and round which set-ups.

    `length` is None where a sight of the loop has no noted length.
    """

    sight: SightKey
    point: str
    misclosure: Length
    set_ups: tuple[SetUpKey, ...]
    length: Length | None


@dataclass(frozen=True, slots=True)
class Reduction:
    """Books as they run, nothing adjusted.

    `instruments` and `elevations` hold what the level reached; `carrying` the readings that carry the level
    or close it (all others only tell a height), `adrift` the set-ups that nothing known leads to.
    """

    instruments: Mapping[SetUpKey, Elevation]
    readings: Mapping[SightKey, Elevation]
    elevations: Mapping[str, Elevation]
    carrying: Mapping[SightKey, Sight]
    closures: tuple[Closure, ...]
    adrift: tuple[SetUpKey, ...]

    def unchecked(self) -> tuple[SetUpKey, ...]:
        """Set-ups whose height no loop checks."""
        checked = {set_up for closure in self.closures for set_up in closure.set_ups}
        return tuple(set_up for set_up in self.instruments if set_up not in checked)


@dataclass(frozen=True, slots=True)
class Slip:
    """A height noted in the book that its readings do not give."""

    sight: SightKey
    point: str
    noted: Elevation
    reckoned: Elevation


@dataclass(frozen=True, slots=True)
class Arithmetic:
    """The book's own sums: backsights less foresights along the line, and the rise that is noted.

    `noted_rise` is None where the last height of the line is not noted.
    """

    sum_back: Length
    sum_fore: Length
    rise: Length
    noted_rise: Length | None
    slips: tuple[Slip, ...]


def instrument_height(elevation: Elevation, backsight: Length, *, up: bool = False) -> Elevation:
    """Height of instrument from a backsight.

    Parameters
    ----------
    elevation : Elevation     Of the point that the rod stands on. [m]
    backsight : Length        Reading on it. [m]
    up : bool                 A larger reading is higher ground; the height is then that of a reading of 0.

    Returns
    -------
    Elevation                 [m]

    Examples
    --------
    >>> round(instrument_height(452.78, 4.82), 2), instrument_height(30.0, 0.0, up=True)
    (457.6, 30.0)

    published

    References
    ----------
    .. [1] Study guide for a surveyor's examination, differential levelling.
    """
    return elevation - backsight if up else elevation + backsight


def point_elevation(instrument: Elevation, rod: Length, *, up: bool = False) -> Elevation:
    """Elevation under the rod.

    Parameters
    ----------
    instrument : Elevation     Height of instrument. [m]
    rod : Length               Reading. [m]
    up : bool                  A larger reading is higher ground.

    Returns
    -------
    Elevation                  [m]

    Examples
    --------
    >>> round(point_elevation(457.60, 6.14), 2), point_elevation(30.0, -0.2, up=True)
    (451.46, 29.8)

    published

    References
    ----------
    .. [1] Study guide for a surveyor's examination, differential levelling.
    """
    return instrument + rod if up else instrument - rod


def grade_rod(instrument: Elevation, design: Elevation) -> Length:
    """Reading that puts the foot of the rod on the design.

    Parameters
    ----------
    instrument : Elevation     Height of instrument. [m]
    design : Elevation         Level wanted; say of which surface. [m]

    Returns
    -------
    Length                     [m]

    Examples
    --------
    >>> round(grade_rod(101.655, 99.200), 3)
    2.455

    hand

    References
    ----------
    .. [1] Derived: difference of two heights.
    """
    return instrument - design


def cut_depth(grade_rod: Length, rod: Length) -> Length:
    """How much to dig where the rod stands on the ground.

    Parameters
    ----------
    grade_rod : Length     Reading that puts the rod on the design. [m]
    rod : Length           Reading on the ground. [m]

    Returns
    -------
    Length                 Dig if positive, fill if negative. [m]

    Examples
    --------
    >>> round(cut_depth(1.92, 2.15), 2)
    -0.23

    published

    References
    ----------
    .. [1] Study guide for a surveyor's examination, grade rod.
    """
    return grade_rod - rod


def allowed_misclosure(
    set_ups: int,
    length: Length | None = None,
    *,
    per_kilometre: Length = THIRD_ORDER,
    least: Length = LEAST_ALLOWED,
    per_set_up: Length = ALLOWED_PER_SET_UP,
) -> Length:
    """Misclosure up to which a loop is good; up to twice as much it needs a look.

    Parameters
    ----------
    set_ups : int                 Set-ups of the loop. [-], >= 1
    length : Length or None       Length of the loop; None where it was not noted. [m]
    per_kilometre : Length        Allowed for one kilometre. [m]
    least : Length                Allowed whatever the length. [m]
    per_set_up : Length           Allowed for one set-up, where no length was noted. [m]

    Returns
    -------
    Length                        [m]

    Raises
    ------
    DomainError                   If there is no set-up, or the length is negative.

    Notes
    -----
    12 mm √K, with K in kilometres, or 5 mm, whichever is larger; 5 mm √n by set-ups.

    Examples
    --------
    >>> round(1000.0 * allowed_misclosure(3, 300.0), 2), round(1000.0 * allowed_misclosure(3), 2)
    (6.57, 8.66)

    hand

    References
    ----------
    .. [1] FGCC 1984, Standards and Specifications for Geodetic Control Networks, third order; from memory.
    .. [2] Teaching notes on levelling, 5 mm √n.
    """
    if set_ups < 1:
        raise DomainError(f"`set_ups` must be at least 1, got {set_ups}")
    if length is None:
        return per_set_up * math.sqrt(set_ups)
    if length < 0.0:
        raise DomainError(f"`length` must be at least 0 m, got {length:g} m")
    return max(per_kilometre * math.sqrt(length / 1000.0), least)


def reduce_books(books: Sequence[LevelBook], marks: Mapping[str, Elevation]) -> Reduction:
    """Heights of books as they run, from what is known on, with every misclosure.

    A point that is known from one book carries another; a set-up that nothing known leads to is left adrift.

    Parameters
    ----------
    books : sequence of LevelBook     In any order.
    marks : mapping to Elevation      Known elevation of marks. [m]

    Returns
    -------
    Reduction                         Heights [m]; curvature and refraction are taken off where a sight's
                                      length was noted.

    Notes
    -----
    The first backsight on something known gives the height of instrument; each further reading on
    something known closes a loop: misclosure = observed less known, sign kept.  A `side` reading takes part
    only where it stands on a known mark, or on a point that nothing but it leads to.

    Examples
    --------
    >>> rows = [("bm", 1.655, "tp1", 0.912), ("tp1", 1.402, "tp2", 1.873), ("tp2", 0.985, "bm", 1.249)]
    >>> set_ups = tuple((Sight(b, r, "back"), Sight(f, s, "turn")) for b, r, f, s in rows)
    >>> found = reduce_books([LevelBook("one", set_ups)], {"bm": 100.0})
    >>> [round(found.elevations[name], 3) for name in ("tp1", "tp2")], round(found.closures[0].misclosure, 3)
    ([100.743, 100.272], 0.008)

    hand

    References
    ----------
    .. [1] Derived: differences of readings along a spanning tree; each reading beyond it closes a loop.
    """
    run = _Run(sorted(books, key=lambda book: book.name), marks)
    run.follow(backsights_only=True)
    while run.waiting and run.follow(backsights_only=False):
        run.follow(backsights_only=True)
    return run.reduction()


def book_arithmetic(book: LevelBook, known: Mapping[str, Elevation], slack: Length = 0.002) -> Arithmetic:
    """Sums of a book, and the heights noted in it against its own readings.

    Checks the sums only, not the work in the field.

    Parameters
    ----------
    book : LevelBook
    known : mapping to Elevation     Elevation of marks, and of points that other books tell. [m]
    slack : Length                   Difference that is still rounding. [m]

    Returns
    -------
    Arithmetic                       Each slip is told once: the book is followed with what it notes. [m]

    Notes
    -----
    Sum of backsights less sum of foresights (of the readings that carry the line, and the last) = last
    elevation less first; the other way round where readings go up.

    Examples
    --------
    >>> rows = [("bm", 4.2, "a", 2.5, 101.7), ("a", 5.15, "b", 3.5, 103.35), ("b", 3.05, "c", 4.1, 102.3)]
    >>> set_ups = tuple((Sight(b, r, "back"), Sight(f, s, "turn", None, z)) for b, r, f, s, z in rows)
    >>> sums = book_arithmetic(LevelBook("one", set_ups), {"bm": 100.0})
    >>> [round(number, 2) for number in (sums.sum_back, sums.sum_fore, sums.rise, sums.noted_rise)]
    [12.4, 10.1, 2.3, 2.3]
    >>> sums.slips
    ()

    published

    References
    ----------
    .. [1] Navy Engineering Aid training manual 14071, p. 7-4.
    """
    line = _line(book)
    backs, fores = [back for back, _ in line], [fore for _, fore in line]
    sum_back, sum_fore = (math.fsum(sight.rod for sight in sights) for sights in (backs, fores))
    rise = sum_fore - sum_back if book.up else sum_back - sum_fore
    first = known.get(backs[0].point, backs[0].noted) if backs else None
    last = fores[-1].noted if fores else None
    noted_rise = None if first is None or last is None else last - first
    return Arithmetic(sum_back, sum_fore, rise, noted_rise, tuple(_slips(book, known, slack)))


class _Run:
    """Books while they are followed: what is known so far, and the readings that led to it."""

    def __init__(self, books: Sequence[LevelBook], marks: Mapping[str, Elevation]) -> None:
        self.books = {book.name: book for book in books}
        self.marks = marks
        self.carrying = dict(_carrying(books, marks))
        self.waiting = [(book.name, number) for book in books for number in range(len(book.set_ups))]
        self.instruments: dict[SetUpKey, Elevation] = {}
        self.elevations: dict[str, Elevation] = dict(marks)
        self.trails: dict[str, frozenset[SightKey]] = {name: frozenset() for name in marks}
        self.closures: list[Closure] = []
        self._stands_on: dict[SetUpKey, list[tuple[SightKey, Sight]]] = {key: [] for key in self.waiting}
        self._seen_from: dict[str, list[SetUpKey]] = {}
        for key, sight in self.carrying.items():
            self._stands_on[key[:2]].append((key, sight))
            self._seen_from.setdefault(sight.point, []).append(key[:2])

    def follow(self, *, backsights_only: bool) -> bool:
        """Set up wherever something known was read; whether any set-up was reached.

        In the order of the books; what becomes known may lead to set-ups that stand before.  Where only a
        foresight closes on something known, one set-up is reached by it at a time.
        """
        ready = deque(self.waiting)
        queued, reached = set(ready), set()
        while ready:
            set_up = ready.popleft()
            queued.discard(set_up)
            start = None if set_up in reached else self._start(set_up, backsights_only)
            if start is None:
                continue
            reached.add(set_up)
            for point in self._read(set_up, start):
                again = [
                    each
                    for each in self._seen_from[point]
                    if each not in reached and each not in queued and each not in self.instruments
                ]
                ready.extend(again)
                queued.update(again)
            if not backsights_only:
                break
        self.waiting = [set_up for set_up in self.waiting if set_up not in reached]
        return bool(reached)

    def _start(self, set_up: SetUpKey, backsights_only: bool) -> SightKey | None:
        for key, sight in self._stands_on[set_up]:
            if sight.point in self.elevations and (sight.role == "back" or not backsights_only):
                return key
        return None

    def _read(self, set_up: SetUpKey, start: SightKey) -> Iterator[str]:
        """Set up on one reading; all others tell a new point, which is given back, or close a loop."""
        first, up = self.carrying[start], self.books[set_up[0]].up
        instrument = instrument_height(self.elevations[first.point], first.straight(up), up=up)
        self.instruments[set_up] = instrument
        behind = self.trails[first.point] ^ {start}
        for key, sight in self._stands_on[set_up]:
            if key == start:
                continue
            observed = point_elevation(instrument, sight.straight(up), up=up)
            trail = behind ^ {key}
            if sight.point in self.elevations:
                self.closures.append(self._closure(key, sight, observed, trail))
            else:
                self.elevations[sight.point], self.trails[sight.point] = observed, trail
                yield sight.point

    def _closure(
        self, key: SightKey, sight: Sight, observed: Elevation, trail: frozenset[SightKey]
    ) -> Closure:
        loop = sorted(trail ^ self.trails[sight.point])
        lengths = [self.carrying[each].distance for each in loop]
        noted = [length for length in lengths if length is not None]
        return Closure(
            key,
            sight.point,
            observed - self.elevations[sight.point],
            tuple(dict.fromkeys(each[:2] for each in loop)),
            math.fsum(noted) if len(noted) == len(lengths) else None,
        )

    def reduction(self) -> Reduction:
        readings = {
            key: point_elevation(self.instruments[key[:2]], sight.straight(book.up), up=book.up)
            for book in self.books.values()
            for key, sight in book.sights()
            if key[:2] in self.instruments
        }
        elevations = dict(self.elevations)
        for book in self.books.values():
            for key, sight in book.sights():
                if key in readings:
                    elevations.setdefault(sight.point, readings[key])
        carrying = {key: sight for key, sight in self.carrying.items() if key[:2] in self.instruments}
        instruments = {key: self.instruments[key] for key in sorted(self.instruments)}
        closures = tuple(sorted(self.closures, key=lambda closure: closure.sight))
        return Reduction(instruments, readings, elevations, carrying, closures, tuple(self.waiting))


def _carrying(books: Sequence[LevelBook], marks: Mapping[str, Elevation]) -> Iterator[tuple[SightKey, Sight]]:
    """Readings that carry the level or close it."""
    everything = [each for book in books for each in book.sights()]
    backs = {sight.point for _, sight in everything if sight.role == "back"}
    turns = {sight.point for _, sight in everything if sight.role in ("turn", "check")}
    on = set(marks) | (backs - turns)
    for key, sight in everything:
        if sight.role != "side" or sight.point in on:
            yield key, sight


def _line(book: LevelBook) -> list[tuple[Sight, Sight]]:
    """Backsight and foresight of each set-up along the line of the book, as far as it goes without a gap."""
    line: list[tuple[Sight, Sight]] = []
    for number, sights in enumerate(book.set_ups):
        back = next((sight for sight in sights if sight.role == "back"), None)
        following = book.set_ups[number + 1] if number + 1 < len(book.set_ups) else ()
        leads_to = {sight.point for sight in following if sight.role == "back"}
        fores = [sight for sight in sights if sight.role in ("turn", "check")]
        fore = next((sight for sight in reversed(fores) if sight.point in leads_to), None)
        if back is None or not fores:
            break
        line.append((back, fore or fores[-1]))
        if fore is None:
            break
    return line


def _slips(book: LevelBook, known: Mapping[str, Elevation], slack: Length) -> Iterator[Slip]:
    """Heights that the book notes and its readings do not give."""
    written: dict[str, Elevation] = {}
    for set_up, sights in enumerate(book.set_ups):
        instrument = None
        for number, sight in enumerate(sights):
            key, noted = (book.name, set_up, number), sight.noted
            told = written.get(sight.point, known.get(sight.point)) if sight.role == "back" else None
            reckoned = told if instrument is None else point_elevation(instrument, sight.rod, up=book.up)
            if reckoned is not None and noted is not None and abs(noted - reckoned) > slack:
                yield Slip(key, sight.point, noted, reckoned)
            held = reckoned if noted is None else noted
            if sight.role == "back":
                start = noted if told is None else told
                if instrument is None and start is not None:
                    instrument = instrument_height(start, sight.rod, up=book.up)
            elif held is not None and sight.point not in known:
                written[sight.point] = held
