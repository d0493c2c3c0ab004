"""The order of each liner: pieces, seams, boots, patches, cushion, weight, and the day of the pull."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil
from types import MappingProxyType
from typing import Any

import numpy as np
import shapely

from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import Area, Length
from pondwright.geometry.surface import surface_at
from pondwright.job.lining import Liner, PullDay
from pondwright.rooms.lining.checks import order as checks
from pondwright.rooms.lining.checks import pull as pull_checks
from pondwright.rooms.lining.materials import Membrane, slack
from pondwright.rooms.lining.offcuts import SMALLEST, leftovers
from pondwright.rooms.lining.seams import Rest, reuse, seam_strength
from pondwright.rooms.lining.stage.area import LinerArea
from pondwright.rooms.lining.stage.bought import seam_of, sheet_of
from pondwright.rooms.lining.stage.cushioned import cushion_findings, cushion_order
from pondwright.rooms.lining.stage.layout import LinerLayout
from pondwright.rooms.lining.stage.order_results import (
    BootOrder,
    Form,
    Hole,
    Joint,
    LinerOrder,
    Offcut,
    OrderPiece,
    OrderResult,
    PartPiece,
    PatchOrder,
    RollCut,
    Several,
)
from pondwright.rooms.lining.stage.pieces import Added, roll_length, several, sheet_pieces, strip_pieces
from pondwright.rooms.lining.stage.shared import limits_of, liners_of
from pondwright.rooms.lining.stage.taping import tape_findings, tapes_of
from pondwright.rooms.lining.stage.unfolding import steps_of
from pondwright.rooms.lining.tapes import length_over_ground
from pondwright.rooms.lining.weight import lifting_wind, sandbags, wind_ballast

COLLAR: Length = 0.3
"""Liner round a pipe on each side, that its boot is joined to. [m]"""

COOLS: float = 20.0
"""By how many kelvin a sheet may cool after it is laid."""

SPARE_PATCH: Length = 0.3
"""Side of a patch that is kept for what goes wrong. [m]"""

PATCHED: Area = 100.0
"""One such patch for so much liner; common practice. [m²]"""

Limits = Mapping[str, Limit]


@dataclass(frozen=True, slots=True)
class _Laid:
    """Pieces of a liner, however it is laid."""

    form: Form
    pieces: Mapping[str, OrderPiece]
    joints: tuple[Joint, ...]
    rolls: tuple[RollCut, ...]
    several: Several | None

    @property
    def area(self) -> Area:
        """Area to order: of rolls the whole rolls."""
        if self.rolls:
            return sum(roll.width * roll.length for roll in self.rolls)
        return sum(piece.area for piece in self.pieces.values())


def order_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[OrderResult, tuple[Finding, ...]]:
    """Order of each liner.

    Parameters
    ----------
    view : mapping        Reads `lining.liners`, `lining.penetrations`, `lining.patches`, `lining.tapes`,
                          `lining.pull`, `build_up`, `catalogue`, `stone.classes`, `stone.treatments`,
                          `rules`.
    results : mapping     Needs `shape.shore`, `shape.grading`, `earth.subgrade`, `lining.area`,
                          `lining.layout`.

    Returns
    -------
    OrderResult and the checks of pieces, tapes, holes, cushion and the pull.
    """
    limits = limits_of(view)
    told = liners_of(view["lining.liners"], results["shape.shore"].bodies)
    layouts: Mapping[str, LinerLayout] = results["lining.layout"].liners
    orders: dict[str, LinerOrder] = {}
    findings: list[Finding] = []
    for name, area in results["lining.area"].liners.items():
        sheet_name, sheet = sheet_of(told[name], view)
        order = _order(name, told[name], area, layouts[name], (sheet_name, sheet), view, results, limits)
        orders[name] = order
        findings += _findings(name, told[name], order, sheet, view, limits)
    findings += tape_findings(orders, limits)
    findings += pull_checks.check_pull(orders, view["lining.pull"], limits)
    result = OrderResult(
        MappingProxyType(orders),
        sum(order.ordered_area for order in orders.values()),
        sum(order.mass for order in orders.values()),
        sum(order.seams for order in orders.values()),
    )
    return result, tuple(findings)


def _order(
    name: str,
    liner: Liner,
    area: LinerArea,
    layout: LinerLayout,
    bought: tuple[str | None, Membrane],
    view: Mapping[str, Any],
    results: Mapping[str, Any],
    limits: Limits,
) -> LinerOrder:
    sheet_name, sheet = bought
    added = Added(liner, limits)
    laid = _laid(liner, area, layout, sheet, added, results)
    pull: PullDay = view["lining.pull"]
    boots = dict(_boots(name, area, view, results))
    offcuts = dict(_rests(laid, area, layout))
    wanted = dict(_wanted(name, area, boots, laid.area, view, results))
    uses = reuse(
        {key: Rest(size, size) for key, (_, size) in wanted.items()},
        {key: Rest(rest.length, rest.width) for key, rest in offcuts.items()},
    )
    cut_from = {use.wanted: use.rest for use in uses}
    patches = {key: PatchOrder(place, cut_from.get(key), size) for key, (place, size) in wanted.items()}
    offcuts = {key: _used(rest, key, patches) for key, rest in offcuts.items()}
    heaviest = max((piece.mass for piece in laid.pieces.values()), default=0.0)
    longest = max(laid.pieces.values(), key=lambda piece: piece.length)
    seams = sum(joint.length for joint in laid.joints)
    around = sum(results["shape.shore"].bodies[body].length for body in area.bodies)
    wind = limits["lining.wind"].value
    welded = sheet.seam == "weld" and sheet.strength is not None and bool(laid.joints)
    welds = seam_strength((sheet.strength or 0.0) * sheet.thickness) if welded else {}
    ballast = wind_ballast(pull.wind if pull.wind is not None else wind, sheet.mass)
    return LinerOrder(
        bodies=area.bodies,
        membrane=sheet_name,
        material=sheet.material,
        ordered=liner.ordered,
        form=laid.form,
        steps=steps_of(laid.form, laid.pieces, laid.joints, sheet, liner.ordered, pull.machine),
        pieces=laid.pieces,
        joints=laid.joints,
        rolls=laid.rolls,
        holes=tuple(_holes(area, results)),
        boots=MappingProxyType(boots),
        patches=MappingProxyType(patches),
        offcuts=MappingProxyType(offcuts),
        tapes=tapes_of(name, area, layout, added, view, results),
        several=laid.several,
        cushion=cushion_order(liner, area, view, results, limits),
        ordered_area=laid.area,
        mass=laid.area * sheet.mass,
        area_mass=sheet.mass,
        count=len(laid.pieces),
        margin=added.margin(longest.needed_length),
        folds=added.folds * longest.needed_length,
        spare=0.5 * (longest.length - longest.needed_length),
        seams=seams,
        tape=seams + sum(4.0 * patch.size for patch in patches.values()),
        seam_shear=welds.get("shear"),
        seam_peel=welds.get("peel"),
        slack=slack(longest.length, COOLS, sheet.expansion),
        patch_area=sum(patch.size**2 for patch in patches.values()),
        offcut_area=sum(rest.length * rest.width for rest in offcuts.values()),
        reused_area=sum(rest.used for rest in offcuts.values()),
        heaviest=heaviest,
        carriers=max((piece.carriers for piece in laid.pieces.values()), default=0),
        pullers=max((piece.pullers for piece in laid.pieces.values()), default=0),
        lifting_wind=lifting_wind(sheet.mass),
        stop_wind=wind,
        sandbags=sandbags(
            area.area, around, limits["lining.bag_gap"].value, ballast, limits["lining.bag"].value
        ),
        least_temperature=sheet.unfold,
    )


def _laid(
    liner: Liner,
    area: LinerArea,
    layout: LinerLayout,
    sheet: Membrane,
    added: Added,
    results: Mapping[str, Any],
) -> _Laid:
    """Pieces as the liner is to be laid."""
    if not layout.one_piece:
        longest = max(added.ordered(piece.length) for piece in layout.laid)
        roll = roll_length(liner, layout.width, longest)
        pieces, joints, rolls = strip_pieces(layout, roll, added, sheet)
        return _Laid("rolls", pieces, joints, rolls, None)
    one = PartPiece("A", layout.length, layout.width, layout.turned, layout.pieces[0])
    whole = sheet_pieces((one,), added, sheet)
    shore = results["shape.shore"]
    bodies = {body: shore.bodies[body] for body in area.bodies}
    other = several(bodies, area, whole["A"].area, shore.grid, added)
    if liner.parts and other is not None:
        return _Laid("parts", sheet_pieces(other.pieces, added, sheet), other.joints, (), other)
    return _Laid("one", whole, (), (), other)


def _rests(laid: _Laid, area: LinerArea, layout: LinerLayout) -> Iterator[tuple[str, Offcut]]:
    """What is left over: ends of rolls, or what is cut away of a sheet in one piece."""
    for number, roll in enumerate(laid.rolls, start=1):
        if min(roll.rest, roll.width) >= SMALLEST:
            name = f"roll_{number}"
            yield name, Offcut(name, None, max(roll.rest, roll.width), min(roll.rest, roll.width), 0.0)
    if laid.form == "one":
        found = leftovers(area.ground, area.beyond, layout.turned, layout.length, layout.width)
        for number, rest in enumerate(found, start=1):
            yield f"A_{number}", Offcut("A", rest.corners, rest.length, rest.width, 0.0)


def _used(rest: Offcut, name: str, patches: Mapping[str, PatchOrder]) -> Offcut:
    used = sum(patch.size**2 for patch in patches.values() if patch.cut_from == name)
    return Offcut(rest.piece, rest.corners, rest.length, rest.width, used)


def _wanted(
    liner: str,
    area: LinerArea,
    boots: Mapping[str, BootOrder],
    ordered: Area,
    view: Mapping[str, Any],
    results: Mapping[str, Any],
) -> Iterator[tuple[str, tuple[tuple[Length, Length] | None, Length]]]:
    """Small pieces that a liner wants: its patches, a collar for each pipe, and some to spare."""
    for name, patch in view["lining.patches"].items():
        place = patch.place.east, patch.place.north
        if _body_at(area, place, results) is not None:
            yield name, (place, patch.size)
    for name, boot in boots.items():
        yield f"collar_{name}", (boot.place, boot.collar)
    for number in range(1, ceil(ordered / PATCHED) + 1):
        yield f"spare_{number}", (None, SPARE_PATCH)


def _boots(
    liner: str, area: LinerArea, view: Mapping[str, Any], results: Mapping[str, Any]
) -> Iterator[tuple[str, BootOrder]]:
    """Pipes through this liner."""
    shore, z = results["shape.shore"], results["earth.subgrade"].z
    for name, row in view["lining.penetrations"].items():
        place = row.place.east, row.place.north
        body = _body_at(area, place, results)
        if body is None:
            continue
        point = np.array([place])
        ring = shore.bodies[body].rings[0]
        nearest = ring[int(np.argmin(np.hypot(*(ring - point).T)))]
        way = nearest - point[0]
        size = max(float(np.hypot(*way)), 1e-9)
        over = np.array([point[0], nearest + area.beyond / size * way])
        yield (
            name,
            BootOrder(
                place=place,
                body=body,
                item=row.boot,
                over=row.over,
                diameter=row.diameter,
                depth=shore.bodies[body].level - float(surface_at(z, shore.grid, point)[0]),
                collar=row.diameter + 2.0 * COLLAR,
                way_over=length_over_ground(area.ground, over),
            ),
        )


def _body_at(area: LinerArea, place: tuple[Length, Length], results: Mapping[str, Any]) -> str | None:
    """Body of a liner in or beside which a place lies; None where it is beyond the liner."""
    shore = results["shape.shore"]
    west, south, east, north = shore.grid.extent
    if not (west <= place[0] <= east and south <= place[1] <= north):
        return None
    point = np.array([place])
    inside = {
        body: float(surface_at(shore.bodies[body].distance, shore.grid, point)[0]) for body in area.bodies
    }
    body = max(inside, key=lambda name: inside[name])
    return body if inside[body] >= -area.beyond else None


def _holes(area: LinerArea, results: Mapping[str, Any]) -> Iterator[Hole]:
    """Sheet over the middle of each island, that is cut out once the sheet has settled."""
    for body in area.bodies:
        shore = results["shape.shore"].bodies[body]
        for name, ring in zip(shore.ring_names[1:], shore.rings[1:], strict=True):
            inner = shapely.Polygon(ring).buffer(-area.beyond)
            for part in getattr(inner, "geoms", [inner]):
                if part.area > 0.0:
                    yield Hole(body, name, np.array(part.exterior.coords), float(part.area))


def _findings(
    name: str,
    liner: Liner,
    order: LinerOrder,
    sheet: Membrane,
    view: Mapping[str, Any],
    limits: Limits,
) -> Iterator[Finding]:
    """Checks of one liner's order."""
    named = name in view["lining.liners"]
    if order.membrane is None or not sheet.told:
        yield checks.check_membrane(name, order.membrane, sheet)
    if order.joints:
        yield checks.check_seam(name, seam_of(liner), limits)
    if order.several is not None and order.form == "one":
        saved = order.several.saved / order.ordered_area
        pieces = len(order.several.pieces)
        yield checks.check_several(name, named, liner.bodies, saved, order.several.saved, pieces, limits)
    if liner.parts and order.form == "one":
        yield checks.no_parts(name)
    ends = sum(joint.kind == "end" for joint in order.joints)
    if ends:
        yield checks.check_roll_ends(name, ends)
    if order.rolls:
        rest = sum(roll.width * roll.rest for roll in order.rolls)
        yield checks.check_roll_rest(name, rest, rest / order.ordered_area, limits)
    for pipe, boot in order.boots.items():
        yield checks.check_penetration(pipe, boot, limits)
    yield from cushion_findings(name, order.cushion, limits)
