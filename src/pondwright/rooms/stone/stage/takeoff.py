"""Stone of the whole job: lines, classes, bodies, falls, what is on hand and what is to be bought."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from pondwright.base.findings import Finding
from pondwright.job.stone import FallStone, Treatment
from pondwright.rooms.stone.stage.classes import Classes
from pondwright.rooms.stone.stage.covers import Zone, covers_of, loose_layers, zones_of
from pondwright.rooms.stone.stage.edges import Laid, course_mass, edge_pieces, laid_out, rows_of, top_of
from pondwright.rooms.stone.stage.falls import fall_lines
from pondwright.rooms.stone.stage.findings import (
    LITTLE_AREA,
    edge_findings,
    fall_findings,
    layer_findings,
    nowhere_findings,
    spare_findings,
    zone_findings,
)
from pondwright.rooms.stone.stage.ground import BodyGround, grounds_of
from pondwright.rooms.stone.stage.shared import limits_of
from pondwright.rooms.stone.stage.stock import stock_of
from pondwright.rooms.stone.stage.takeoff_results import (
    BodyStone,
    StoneLine,
    TakeoffResult,
    TreatmentStone,
    ZoneStone,
)


def takeoff_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[TakeoffResult, tuple[Finding, ...]]:
    """Stone of the whole job.

    Parameters
    ----------
    view : mapping        Reads `stone.classes`, `stone.treatments`, `stone.pieces`, `stone.piles`,
                          `stone.falls`, `build_up`, `catalogue`, `shape.bodies`, `shape.bank_types`, `rules`.
    results : mapping     Needs `shape.shore`.

    Returns
    -------
    TakeoffResult and the checks of stone as it is counted.
    """
    limits = limits_of(view)
    told = told_rows(view)
    classes = Classes(view["stone.classes"], view["catalogue"])
    grounds = grounds_of(view, results, [row.place for row in told.treatments.values()])
    covers, loose = covers_of(told.treatments, classes), loose_layers(view["build_up"], classes)
    rows = [row for ground in grounds.values() for row in rows_of(ground, told.treatments, classes)]
    laid = laid_out(rows, classes)
    zones = {name: list(zones_of(ground, covers, loose, classes)) for name, ground in grounds.items()}
    falls, of_falls = fall_lines(told.falls, view["shape.bodies"], classes)
    lines = (
        *(line for each in laid for line in each.lines),
        *(line for own in zones.values() for zone in own for line in zone.lines if zone.area > LITTLE_AREA),
        *of_falls,
    )
    stock = stock_of(
        [line for line in lines if (line.source, line.row) not in told.built],
        classes,
        view["stone.pieces"],
        view["stone.piles"],
        limits["stone.waste"].value,
        limits["stone.waste_cover"].value,
    )
    by_body = {name: [each for each in laid if each.row.ground is ground] for name, ground in grounds.items()}
    bodies = {name: _body(ground, by_body[name], zones[name], lines) for name, ground in grounds.items()}
    totals = stock.classes.values()
    result = TakeoffResult(
        lines=lines,
        classes=MappingProxyType(stock.classes),
        treatments=MappingProxyType({name: _treatment(name, lines, zones) for name in told.treatments}),
        bodies=MappingProxyType(bodies),
        falls=MappingProxyType(falls),
        pieces=MappingProxyType(stock.pieces),
        piles=MappingProxyType(stock.piles),
        count=sum(total.count for total in totals),
        mass=sum(total.mass for total in totals),
        on_hand=sum(total.on_hand for total in totals),
        buy=sum(total.buy for total in totals),
        spare=stock.spare,
    )
    findings: list[Finding] = []
    for name, ground in grounds.items():
        findings += edge_findings(ground, told.treatments, by_body[name], classes, limits)
        findings += zone_findings(ground, told.treatments, zones[name], classes, limits)
    findings += layer_findings(covers, limits)
    findings += fall_findings(told.falls, view["shape.bodies"])
    findings += nowhere_findings(told.treatments, lines)
    findings += spare_findings(stock, view["stone.piles"], classes)
    return result, tuple(findings)


@dataclass(frozen=True, slots=True)
class Told:
    """Rows that are not to be removed; `built` are source and id of those that are there already."""

    treatments: Mapping[str, Treatment]
    falls: Mapping[str, FallStone]
    built: frozenset[tuple[str, str]]


def told_rows(view: Mapping[str, Any]) -> Told:
    """Treatments and falls without those to be removed; what is there already is placed, but never bought.

    Parameters
    ----------
    view : mapping     Reads `stone.treatments`, `stone.falls`.

    Returns
    -------
    Told
    """
    kept = {
        source: {name: row for name, row in view[f"stone.{section}"].items() if row.status != "remove"}
        for source, section in (("treatment", "treatments"), ("fall", "falls"))
    }
    built = frozenset(
        (source, name)
        for source, rows in kept.items()
        for name, row in rows.items()
        if row.status in ("existing", "keep")
    )
    return Told(kept["treatment"], kept["fall"], built)


def _body(
    ground: BodyGround, laid: Sequence[Laid], zones: Sequence[Zone], lines: Sequence[StoneLine]
) -> BodyStone:
    own = [line for line in lines if line.body == ground.name]
    edge = edge_pieces(laid, len(ground.bank))
    length = float(ground.walk.lengths[edge].sum())
    return BodyStone(
        ground=ground,
        runs=tuple(each.run for each in laid),
        top=top_of(ground, laid),
        zones=MappingProxyType(dict(_zones(zones))),
        standing=tuple(zone.standing for zone in zones if zone.standing is not None),
        depths=tuple((each.depth, each.run.height, each.solid) for each in laid),
        voids=sum(zone.voids for zone in zones),
        count=sum(line.count for line in own),
        mass=sum(line.mass for line in own),
        edge_length=length,
        edge_mass=course_mass(laid) / length if length > 0.0 else 0.0,
    )


def _zones(zones: Sequence[Zone]) -> Iterator[tuple[str, ZoneStone]]:
    for number in sorted({zone.zone for zone in zones}):
        own = [zone for zone in zones if zone.zone == number]
        area = sum(zone.area for zone in own)
        volume = sum(zone.area * zone.thickness for zone in own)
        yield (
            str(number),
            ZoneStone(
                thickness=volume / area if area > 0.0 else 0.0,
                slope=max(zone.slope for zone in own),
                area=area,
                mass=sum(line.mass for zone in own for line in zone.lines),
            ),
        )


def _treatment(name: str, lines: Sequence[StoneLine], zones: Mapping[str, Sequence[Zone]]) -> TreatmentStone:
    own = [line for line in lines if line.source == "treatment" and line.row == name]
    return TreatmentStone(
        count=sum(line.count for line in own),
        mass=sum(line.mass for line in own),
        length=sum(line.length for line in own),
        area=sum(
            zone.area
            for each in zones.values()
            for zone in each
            if any(cover.name == name for cover in zone.covers)
        ),
    )
