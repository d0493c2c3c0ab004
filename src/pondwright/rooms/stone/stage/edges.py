"""Courses of stones along the shores, each before its step; where stone stands, and what shows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from pondwright.base.kinds import Length, Lengths, Mass, Ratio, Volume
from pondwright.job.fields import value_of
from pondwright.job.places import PartPlace
from pondwright.job.stone import GAP, Treatment
from pondwright.rooms.stone.courses import (
    Course,
    counted,
    courses_of,
    foot_depth,
    hides,
    steps_of,
    stones_along,
)
from pondwright.rooms.stone.displacement import solid_volume
from pondwright.rooms.stone.layers import bulk_density
from pondwright.rooms.stone.stage.classes import Classes
from pondwright.rooms.stone.stage.ground import BankKind, BodyGround, Pieces
from pondwright.rooms.stone.stage.takeoff_results import CourseRun, StoneLine, StoneTop

COUNTED = ("courses", "wall")
NAMES_THE_EDGE = (*COUNTED, "planted", "deck", "bare")
"""Kinds of treatments that say what becomes of an edge; without one it has its default."""

SAME: Length = 1e-6
"""Offsets that differ by less are one. [m]"""


@dataclass(frozen=True, eq=False)
class Row:
    """One course of one bank, before its stones are counted."""

    ground: BodyGround
    name: str
    bank: int
    number: int
    course: Course
    classes: tuple[tuple[str, Ratio], ...]
    gap: Ratio
    pieces: Pieces
    points: Lengths
    inward: Lengths
    lengths: Lengths

    @cached_property
    def length(self) -> Length:
        """Of its line. [m]"""
        return float(self.lengths.sum())


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A course with its stones: run, lines, row, depth of its foot below the water [m], solid [m³]."""

    run: CourseRun
    lines: tuple[StoneLine, ...]
    row: Row
    depth: Length
    solid: Volume


def rows_of(ground: BodyGround, treatments: Mapping[str, Treatment], classes: Classes) -> Iterator[Row]:
    """Courses of a body: those of its treatments, then one before every step that none of them names.

    Parameters
    ----------
    ground : BodyGround
    treatments : mapping     Of the document.
    classes : Classes        Courses without a class add theirs.

    Yields
    ------
    Row
    """
    named = {
        name: row
        for name, row in treatments.items()
        if row.kind in NAMES_THE_EDGE and row.place.body in (None, ground.name)
    }
    for name, row in named.items():
        if row.kind in COUNTED:
            yield from _told(ground, name, row, classes)
    yield from _untold(ground, list(named.values()), classes)


def laid_out(rows: Sequence[Row], classes: Classes) -> list[Laid]:
    """Courses with their stones: each class is rounded up once, over all courses of the job.

    Parameters
    ----------
    rows : Row
    classes : Classes

    Returns
    -------
    list of Laid     In the same order.
    """
    wanted: dict[str, list[tuple[int, float]]] = defaultdict(list)
    for place, row in enumerate(rows):
        for stone, share in row.classes:
            along = stones_along(share * row.length, classes[stone].mean, row.gap)
            wanted[stone].append((place, row.course.rows * along))
    counts: dict[tuple[int, str], int] = defaultdict(int)
    for stone, parts in wanted.items():
        for (place, _), count in zip(parts, counted([part for _, part in parts]), strict=True):
            counts[place, stone] += count
    return [
        _laid(row, [counts[place, stone] for stone, _ in row.classes], classes)
        for place, row in enumerate(rows)
    ]


def top_of(ground: BodyGround, laid: Sequence[Laid]) -> StoneTop:
    """Where stone stands along the shore of a body.

    Parameters
    ----------
    ground : BodyGround
    laid : Laid          Courses of the body.

    Returns
    -------
    StoneTop
    """
    walk, count = ground.walk, len(ground.bank)
    top, least = np.full(count, np.nan), np.full(count, np.nan)
    hidden = np.zeros(count, dtype=np.intp)
    for each in laid:
        along = each.row.pieces
        if each.run.riser > 0.0 and each.run.hidden:
            hidden[along] += 1
        if each.run.offset > 0.0:
            continue
        # Rows behind the edge stand no higher than it; those that hide a step stand on one another.
        rows = each.run.rows if each.run.riser > each.run.least else 1
        for heights, height in ((top, each.run.height), (least, each.run.least)):
            stands = ground.water[along] - each.depth + rows * height
            heights[along] = np.fmax(heights[along], stands)
    steps = [steps_of(bank.profile) for bank in ground.banks]
    edge = np.array([own[0][1] if own and own[0][0] <= SAME else 0.0 for own in steps])
    needed = np.array([len(own) for own in steps])
    return StoneTop(
        ring=walk.ring,
        station=walk.station,
        points=walk.points,
        water=ground.water,
        top=top,
        least=least,
        riser=edge[ground.bank],
        hidden=hidden >= needed[ground.bank],
    )


def edge_pieces(laid: Sequence[Laid], count: int) -> Pieces:
    """Pieces of shore that have a course.

    Parameters
    ----------
    laid : Laid     Courses of one body.
    count : int     Pieces of its shore.

    Returns
    -------
    (n,) bool array
    """
    found = np.zeros(count, dtype=np.bool_)
    for each in laid:
        found |= each.row.pieces
    return found


def spoken_for(ground: BodyGround, named: Sequence[Treatment]) -> Pieces:
    """Pieces of shore for which some treatments, other than those of one zone, say what becomes of the edge.

    Parameters
    ----------
    ground : BodyGround
    named : Treatment

    Returns
    -------
    (n,) bool array
    """
    found = np.zeros(len(ground.bank), dtype=np.bool_)
    for row in named:
        if not isinstance(row.place, PartPlace):
            found |= ground.along(row.place)
    return found


def course_mass(laid: Sequence[Laid]) -> Mass:
    """Mass of all stones of some courses. [kg]"""
    return sum(line.mass for each in laid for line in each.lines)


def _told(ground: BodyGround, name: str, row: Treatment, classes: Classes) -> Iterator[Row]:
    along = ground.along(row.place)
    shares = tuple((share.stone, share.share) for share in row.classes)
    least = min((classes[stone].least for stone, _ in shares), default=None)
    for number, bank in enumerate(ground.banks):
        if not (along & (ground.bank == number)).any():
            continue
        if isinstance(row.place, PartPlace):
            courses = _in_zone(ground, number, row.place.zone, row.courses)
        elif least is None:
            steps = steps_of(bank.profile) or ((0.0, 0.0),)
            courses = tuple(Course(*step) for step in steps[: row.courses])
        else:
            courses = courses_of(bank.profile, row.courses, least)
        for course in courses:
            own = shares or ((classes.for_step(course.riser), 1.0),)
            yield from _row(ground, name, number, course, own, value_of(row, "gap"), along)


def _untold(ground: BodyGround, named: Sequence[Treatment], classes: Classes) -> Iterator[Row]:
    """One course before every step that no treatment names."""
    spoken = spoken_for(ground, named)
    assert GAP.value is not None
    for number, bank in enumerate(ground.banks):
        taken = [
            bank.offsets[row.place.zone]
            for row in named
            if isinstance(row.place, PartPlace) and _is_named(row, row.place.zone, bank)
        ]
        for step in steps_of(bank.profile):
            if any(abs(step[0] - offset) < SAME for offset in taken):
                continue
            own = ((classes.for_step(step[1]), 1.0),)
            yield from _row(ground, "", number, Course(*step), own, GAP.value, ~spoken)


def _is_named(row: Treatment, zone: int, bank: BankKind) -> bool:
    """Whether a treatment of one zone says what becomes of the step there: courses do, others on the step."""
    if zone >= len(bank.offsets):
        return False
    is_step = zone + 1 < len(bank.offsets) and bank.offsets[zone + 1] - bank.offsets[zone] < SAME
    return row.kind in COUNTED or is_step


def _in_zone(ground: BodyGround, bank: int, zone: int, courses: int) -> tuple[Course, ...]:
    """All courses of a treatment of one zone: before the step at its outer end.

    A zone has its number in every kind of bank: where one of them has a step there, those that have none have
    no such course.
    """
    steps = [_step_at(kind, zone) for kind in ground.banks]
    own = steps[bank]
    if own is None or (own[1] == 0.0 and any(step is not None and step[1] > 0.0 for step in steps)):
        return ()
    return (Course(*own, courses),)


def _step_at(bank: BankKind, zone: int) -> tuple[Length, Length] | None:
    """Where a zone begins, and the step there; none where the bank has no such zone. [m]"""
    if zone >= len(bank.offsets):
        return None
    offset = bank.offsets[zone]
    drops = [drop for at, drop in steps_of(bank.profile) if abs(at - offset) < SAME]
    return offset, drops[0] if drops else 0.0


def _row(
    ground: BodyGround,
    name: str,
    bank: int,
    course: Course,
    classes: tuple[tuple[str, Ratio], ...],
    gap: Ratio,
    along: Pieces,
) -> Iterator[Row]:
    """A course along those pieces of shore that have this bank; none where it has no length."""
    pieces = along & (ground.bank == bank) & ground.shore
    walk = ground.walk
    if course.offset <= SAME:
        points, lengths, inward = walk.points[pieces], walk.lengths[pieces], walk.inward[pieces]
    else:
        points, lengths, owner = ground.line(course.offset)
        here = pieces[owner]
        points, lengths, inward = points[here], lengths[here], walk.inward[owner[here]]
    if len(lengths):
        offsets = [offset for offset, _ in steps_of(ground.banks[bank].profile)]
        number = 1 + sum(offset < course.offset - SAME for offset in offsets)
        yield Row(ground, name, bank, number, course, classes, gap, pieces, points, inward, lengths)


def _laid(row: Row, counts: Sequence[int], classes: Classes) -> Laid:
    shares = [share for _, share in row.classes]
    kinds = [classes[stone] for stone, _ in row.classes]
    height = float(np.average([kind.height for kind in kinds], weights=shares))
    least = min(kind.least for kind in kinds)
    depth = foot_depth(row.ground.banks[row.bank].profile, row.course.offset, height)
    source = "treatment" if row.name else "default"
    bank = row.ground.banks[row.bank].stretch
    lines = tuple(
        StoneLine(
            source=source,
            row=row.name,
            use="course",
            stone=stone,
            body=row.ground.name,
            bank=bank,
            course=row.number,
            length=share * row.length,
            count=count,
            mass=count * kind.mass,
            volume=count * kind.mass / bulk_density(kind.solid, kind.loose),
        )
        for (stone, share), kind, count in zip(row.classes, kinds, counts, strict=True)
    )
    run = CourseRun(
        row=row.name,
        bank=bank,
        course=row.number,
        rows=row.course.rows,
        offset=row.course.offset,
        riser=row.course.riser,
        foot=float(row.ground.water[row.pieces].mean()) - depth,
        height=height,
        least=least,
        hidden=hides(least, row.course.riser, row.course.rows) if row.course.riser > 0.0 else True,
        classes=row.classes,
        counts=tuple(counts),
        length=row.length,
        points=row.points,
        inward=row.inward,
        lengths=row.lengths,
    )
    solid = sum(solid_volume(line.mass, kind.solid) for line, kind in zip(lines, kinds, strict=True))
    return Laid(run, lines, row, depth, solid)
