"""Findings of the takeoff of stone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from pondwright.base.findings import Finding, Limit, Op
from pondwright.base.kinds import Area, Length, Mass, Ratio
from pondwright.job.places import PartPlace, StretchPlace
from pondwright.job.shape import Body
from pondwright.job.stone import FallStone, Pile, Treatment
from pondwright.rooms.shape.profile import zone_words
from pondwright.rooms.stone.checks import takeoff as checks
from pondwright.rooms.stone.courses import steps_of
from pondwright.rooms.stone.stage.classes import Classes
from pondwright.rooms.stone.stage.covers import COVERS, NOTHING, Cover, Zone
from pondwright.rooms.stone.stage.edges import (
    COUNTED,
    NAMES_THE_EDGE,
    SAME,
    Laid,
    course_mass,
    edge_pieces,
    spoken_for,
)
from pondwright.rooms.stone.stage.falls import drops_of
from pondwright.rooms.stone.stage.ground import BankKind, BodyGround
from pondwright.rooms.stone.stage.stock import Stock
from pondwright.rooms.stone.stage.takeoff_results import StoneLine

Limits = Mapping[str, Limit]

LITTLE_AREA: Area = 0.01
"""Smaller than this is no zone: its line is left out. [m²]"""

LITTLE_LEFT: Ratio = 0.05
"""Share of a pile that is lost in picking and weighing: less is not left over. [-]; practice, no source."""


def edge_findings(
    ground: BodyGround,
    treatments: Mapping[str, Treatment],
    laid: Sequence[Laid],
    classes: Classes,
    limits: Limits,
) -> Iterator[Finding]:
    """What is checked about the courses of one body.

    Parameters
    ----------
    ground : BodyGround
    treatments : mapping     Of the document.
    laid : Laid              Courses of the body.
    classes : Classes
    limits : mapping of Limit

    Yields
    ------
    Finding
    """
    if steps := list(_steps(ground, treatments, laid)):
        yield checks.check_hides(ground.name, steps, limits)
    if default := [each for each in laid if not each.run.row]:
        count = sum(sum(each.run.counts) for each in default)
        risers = [each.run.riser for each in default]
        taken = _taken(ground, treatments, default, classes)
        yield checks.by_default(ground.name, risers, count, course_mass(default), taken)
    # What is taken by default is no choice that could be light or heavy.
    if any(each.run.row for each in laid):
        length = float(ground.walk.lengths[edge_pieces(laid, len(ground.bank))].sum())
        yield checks.check_edge(ground.name, course_mass(laid) / length, limits)


def layer_findings(covers: Sequence[Cover], limits: Limits) -> Iterator[Finding]:
    """Whether each layer whose thickness is told is thick enough.

    Parameters
    ----------
    covers : Cover
    limits : mapping of Limit

    Yields
    ------
    Finding
    """
    for cover in covers:
        if cover.row.thickness is not None:
            yield checks.check_thickness(cover.name, cover.thickness, cover.largest, limits)


def zone_findings(
    ground: BodyGround,
    treatments: Mapping[str, Treatment],
    zones: Sequence[Zone],
    classes: Classes,
    limits: Limits,
) -> Iterator[Finding]:
    """What is checked about the zones of one body: what slides, what stands above the finish, what lies bare.

    Parameters
    ----------
    ground : BodyGround
    treatments : mapping     Of the document.
    zones : Zone             Of the body.
    classes : Classes
    limits : mapping of Limit

    Yields
    ------
    Finding
    """
    here = [zone for zone in zones if zone.area > LITTLE_AREA]
    for broken in (False, True):
        lain = [
            zone
            for zone in here
            if any((classes[line.stone].shape != "rounded") == broken for line in zone.lines)
        ]
        if lain:
            steepest = max(lain, key=lambda zone: abs(zone.slope))
            yield checks.check_repose(
                "broken stone" if broken else "round gravel and cobble",
                ground.name,
                steepest.zone,
                _words(ground, steepest),
                math.atan(abs(steepest.slope)),
                _point(ground, steepest),
                limits,
                broken=broken,
            )
    over = [zone for zone in here if zone.over > NOTHING and zone.room > NOTHING]
    if over:
        worst = max(over, key=lambda zone: zone.over)
        yield checks.check_build_up(ground.name, worst.zone, _words(ground, worst), worst.over, worst.room)
    if any(zone.lines for zone in here):
        bare = [zone for zone in here if not zone.lines and not _is_meant_bare(zone, treatments)]
        points = tuple(_point(ground, zone) for zone in bare)
        words = list(dict.fromkeys(_words(ground, zone) for zone in sorted(bare, key=lambda zone: zone.zone)))
        yield checks.check_bare(ground.name, words, sum(zone.area for zone in bare), points)


def fall_findings(falls: Mapping[str, FallStone], bodies: Mapping[str, Body]) -> Iterator[Finding]:
    """Whether stone is told for every fall.

    Parameters
    ----------
    falls, bodies : mapping     Of the document.

    Yields
    ------
    Finding
    """
    for name, body in bodies.items():
        drops = drops_of(body)
        own = {fall: row for fall, row in falls.items() if row.body == name}
        if not drops and not own:
            continue
        told = {row.step for row in own.values()}
        yield checks.check_falls(
            name,
            [step for step in range(len(drops)) if step not in told],
            [fall for fall, row in own.items() if row.step >= len(drops)],
            [fall for fall, row in own.items() if row.spill is None or row.frame is None],
        )


def nowhere_findings(treatments: Mapping[str, Treatment], lines: Sequence[StoneLine]) -> Iterator[Finding]:
    """Treatments that cover nothing.

    Parameters
    ----------
    treatments : mapping     Of the document.
    lines : StoneLine

    Yields
    ------
    Finding
    """
    rows = {line.row for line in lines if line.source == "treatment"}
    for name, row in treatments.items():
        if row.kind in (*COVERS, *COUNTED) and name not in rows:
            yield checks.nowhere(name)


def spare_findings(stock: Stock, piles: Mapping[str, Pile], classes: Classes) -> Iterator[Finding]:
    """Stone of piles that nothing takes; measured stones without a place are told by the yard list.

    What no whole stone is made of, or what is lost in picking anyway, is not left over.

    Parameters
    ----------
    stock : Stock
    piles : mapping     Of the document.
    classes : Classes

    Yields
    ------
    Finding
    """
    rest = {
        name: piles[name].mass - used for name, used in stock.piles.items() if piles[name].status != "remove"
    }
    spare = [
        checks.Spare(name, mass, _why(piles[name], stock))
        for name, mass in rest.items()
        if mass > _unused(piles[name], stock, classes)
    ]
    if spare:
        yield checks.left_over(spare)


def _unused(pile: Pile, stock: Stock, classes: Classes) -> Mass:
    """What may stay of a pile without a word: a few parts in a hundred, or less than a whole stone."""
    counted = pile.stone is not None and pile.stone in stock.classes and stock.classes[pile.stone].count
    stone = classes[pile.stone].mass if counted and pile.stone is not None else 0.0
    return max(LITTLE_LEFT * pile.mass, stone)


def _why(pile: Pile, stock: Stock) -> str:
    """Why stone of a pile stays."""
    if pile.stone is None:
        return checks.MIXED
    return checks.ENOUGH if pile.stone in stock.classes else checks.UNWANTED


def _taken(
    ground: BodyGround, treatments: Mapping[str, Treatment], default: Sequence[Laid], classes: Classes
) -> tuple[Op, ...]:
    """Classes and treatments, one for each step, that make the default a choice.

    None where a stretch has a treatment of its own: a course of a zone runs all round.
    """
    named = [row for row in treatments.values() if row.kind in NAMES_THE_EDGE]
    if spoken_for(ground, named).any():
        return ()
    tallest: dict[int, Laid] = {}
    for each in default:
        zone = _zone_of(ground.banks[each.row.bank], each.run.offset)
        if zone not in tallest or tallest[zone].run.riser < each.run.riser:
            tallest[zone] = each
    ops: dict[str, Op] = {}
    for zone, each in tallest.items():
        key = each.run.classes[0][0]
        kind, row = classes[key], f"{ground.name[:30]}_step_{zone}"
        if not kind.told:
            sizes = {"low": round(kind.low, 4), "high": round(kind.high, 4), "shape": kind.shape}
            ops[key] = Op("add", f"/stone/classes/{key}", sizes)
        place = {"at": "part", "body": ground.name, "zone": zone}
        told = {"place": place, "kind": "courses", "classes": [{"stone": key, "share": 1.0}]}
        ops[row] = Op("add", f"/stone/treatments/{row}", told)
    return () if ops.keys() & treatments.keys() else tuple(ops.values())


def _zone_of(bank: BankKind, offset: Length) -> int:
    """Number of the zone that is the step at an offset."""
    return next(zone for zone, start in enumerate(bank.offsets) if abs(start - offset) < SAME)


def _is_meant_bare(zone: Zone, treatments: Mapping[str, Treatment]) -> bool:
    """Whether a treatment says that nothing loose lies on a zone."""
    return any(
        row.kind not in COVERS
        and not isinstance(row.place, StretchPlace)
        and row.place.body in (None, zone.body)
        and (row.place.zone == zone.zone if isinstance(row.place, PartPlace) else row.kind not in COUNTED)
        for row in treatments.values()
    )


def _steps(
    ground: BodyGround, treatments: Mapping[str, Treatment], laid: Sequence[Laid]
) -> Iterator[checks.Step]:
    """Steps of each bank with the smallest stone before them; an edge to be planted or bare is left out."""
    spoken = spoken_for(
        ground, [row for row in treatments.values() if row.kind in NAMES_THE_EDGE and row.kind not in COUNTED]
    )
    for number, bank in enumerate(ground.banks):
        wanted = (ground.bank == number) & ground.shore & ~spoken
        for offset, riser in steps_of(bank.profile):
            stands = np.zeros(len(wanted))
            for each in laid:
                if each.row.bank == number and abs(each.run.offset - offset) < SAME:
                    height = each.run.rows * each.run.least
                    stands[each.row.pieces] = np.maximum(stands[each.row.pieces], height)
            if wanted.any():
                worst = int(np.argmin(np.where(wanted, stands, np.inf)))
                point = ground.walk.points[worst]
                yield checks.Step(
                    bank.stretch, riser, float(stands[worst]), (float(point[0]), float(point[1]))
                )


def _words(ground: BodyGround, zone: Zone) -> str:
    """A zone of a bank in words."""
    return zone_words(next(bank for bank in ground.banks if bank.stretch == zone.bank).profile, zone.zone)


def _point(ground: BodyGround, zone: Zone) -> tuple[float, float]:
    """Some place of a zone of a bank: inward from the first piece of shore that has it."""
    number = next(place for place, bank in enumerate(ground.banks) if bank.stretch == zone.bank)
    piece = int(np.argmax(ground.bank == number))
    east, north = ground.walk.points[piece] + zone.start * ground.walk.inward[piece]
    return float(east), float(north)
