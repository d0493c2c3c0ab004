"""Ways out for a liner that the groundwater lifts: each of them one edit, tried on the whole model.

A way out is tried by the stages of the job themselves, on the job with that edit: what is told here is what
one gets by taking it.  That is why this stage stands above the rooms, and not in one of them.  What leads the
water away for good by gravity comes first, what depends on a pump last.

See Also
--------
pondwright.rooms.groundwater.stage.range : the checks that a way out must meet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Advice, Finding, Grade, Op, Where
from pondwright.base.kinds import (
    ELEVATION,
    FLOW,
    LENGTH,
    RATIO,
    Elevation,
    Elevations,
    FloatArray,
    Flow,
    Length,
    Lengths,
    Ratio,
)
from pondwright.base.sources import derived
from pondwright.flow.uplift_trials import LITTLE, State, Trouble, again, trouble_of, uplift_findings
from pondwright.geometry.polygon import resampled, ring_length
from pondwright.job.catalogue import Item
from pondwright.job.groundwater import Drain, Outlet
from pondwright.job.shape import Body
from pondwright.rooms.groundwater.ballast import layer_weights
from pondwright.rooms.groundwater.beds import lack_of_weight, safe_mark
from pondwright.rooms.groundwater.lines import invert_beside
from pondwright.rooms.groundwater.stage.drain_lines import BUILT, DrainLine, drain_lines
from pondwright.rooms.groundwater.uplift import net_factor

LEAST_FALL: Ratio = 0.005
"""Least fall that can be built against a few millimetres of error; common practice. [-]"""

STEPS = (1.0, 1.3, 1.8, 2.6)
"""How many times what is lacking is tried, until it holds."""

BELOW_LINER = (0.3, 0.6, 1.0, 1.5)
"""How far below the liner the bottom of a drain is tried. [m]"""

AROUND = 16
"""Points of a shore for a line that follows it."""

INSIDE: Ratio = 0.85
"""Where such a line runs, from the middle of the pond to its shore."""

SUMP_HEIGHT: Length = 0.3
"""Between the levels at which its pump starts and stops. [m]"""

VOIDS: Ratio = 0.40
"""Share of voids of stone that is offered where none lies yet; common practice. [-]"""

BACKUP = 6 * 3600.0
"""How long a sump that is offered runs without power. [s]"""

SPARE_PUMP: Ratio = 2.0
"""What a pump lifts for one of what comes; common practice. [-]"""

EVERYTHING = ("groundwater.drains", "groundwater.sumps", "build_up", "shape.bodies.*.level")


@dataclass(frozen=True, slots=True, eq=False)
class Offer:
    """One way out with its numbers from the whole model; why it is refused, or no reason and its edit.

    `holds` tells whether no uplift of this body is left that stops it.
    """

    says: str
    refused: str
    holds: bool
    ops: tuple[Op, ...]
    change: Length | None = figure(LENGTH, "How much is lowered, raised, thickened or laid", uses=EVERYTHING)
    excess: Length | None = figure(
        LENGTH, "Groundwater that would stand above the pond", by=lack_of_weight, uses=EVERYTHING
    )
    net: Ratio | None = figure(RATIO, "Net factor in use that it gives", by=net_factor, uses=EVERYTHING)
    mark: Elevation | None = figure(
        ELEVATION, "Mark below which it then may not be pumped", by=safe_mark, uses=EVERYTHING
    )
    flow: Flow | None = figure(FLOW, "What its drains would bring", uses=EVERYTHING)


@dataclass(frozen=True, slots=True, eq=False)
class BodyOffers:
    """Ways out for one body, the best first, and the checks that stop it now."""

    stops: tuple[str, ...]
    offers: Mapping[str, Offer]


@dataclass(frozen=True, slots=True, eq=False)
class OffersResult:
    """Ways out for every body whose liner does not hold."""

    bodies: Mapping[str, BodyOffers]


def offers_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[OffersResult, tuple[Finding, ...]]:
    """Ways out for every liner that does not hold.

    Parameters
    ----------
    view : mapping        Reads `site.soils`, `shape.bodies`, `shape.bank_types`, `shape.berms`,
                          `shape.slopes`, `shape.mounds`, `shape.ways`, `build_up`, `catalogue`,
                          `groundwater.drains`,
                          `groundwater.outlets`, `groundwater.sumps`, `groundwater.building`, `lining.liners`,
                          `rules`.
    results : mapping     Needs `site.ground`, `shape.shore`, `shape.grading`, `shape.storage`,
                          `earth.subgrade`, `groundwater.aquifer`, `groundwater.heads`, `groundwater.uplift`,
                          `groundwater.cases`, `groundwater.range`, `groundwater.route`.

    Returns
    -------
    OffersResult and for each such body its ways out, each of them one press.
    """
    read = {path: view[path] for path in view}
    known = {need: results[need] for need in results}
    now = State(read, known, uplift_findings(read, known))
    bodies, findings = {}, []
    for name in known["groundwater.range"].bodies:
        if not now.stops(name):
            continue
        trouble = trouble_of(name, now)
        offers = _ranked(trouble)
        stops = tuple(finding.code for finding in now.stops(name))
        bodies[name] = BodyOffers(stops, MappingProxyType(offers))
        findings.append(_told(trouble, offers))
    return OffersResult(MappingProxyType(bodies)), tuple(findings)


def _ranked(trouble: Trouble) -> dict[str, Offer]:
    """Offers in their order: what holds first, then what lasts longest."""
    offers = dict(_offers(trouble))
    return dict(sorted(offers.items(), key=lambda item: (bool(item[1].refused), not item[1].holds)))


def _offers(trouble: Trouble) -> Iterator[tuple[str, Offer]]:
    """Every way out; the sort by what holds keeps this order, which is by how long each lasts."""
    for name, drain in trouble.now.view["groundwater.drains"].items():
        if drain.status == "new" and drain.working and drain.slotted:
            yield f"lower_{name}", _lowered(trouble, name, drain)
    yield "drain", _first_holding(trouble, "Add a drain", list(_new_drains(trouble)), _NO_OUTLET)
    yield "level", _raised(trouble)
    yield "stone", _thickened(trouble)
    yield "sump", _first_holding(trouble, "Keep a sump", list(_new_sumps(trouble)), "")


_NO_OUTLET = "no outlet lies low enough for a drain that runs by itself"

Attempt = tuple[str, tuple[Op, ...], Length]
"""What it says, its edit, and the length that it changes."""


def _lowered(trouble: Trouble, name: str, drain: Drain) -> Offer:
    """A drain laid as deep as its end lets it fall, with those that it runs into."""
    called = name.replace("_", " ")
    says = f"Lower {called}"
    lines = _lines(trouble.now)
    if lines[name].why:
        return _refused(says, lines[name].why)
    ops, most = [], 0.0
    for each, inverts, lower in _as_low_as_it_gets(trouble.now, name, lines):
        most = max(most, float((inverts - lower).max()))
        path = f"/groundwater/drains/{each}/inverts"
        ops.append(Op("add", path, [round(float(invert), 4) for invert in lower]))
    if most < LITTLE:
        return _refused(says, "it falls as little as can be built already: only a lower outlet helps")
    told = f"Lower {called} by up to {_length(most)}: as deep as its outlet lets it"
    return _tried(trouble, told, tuple(ops), most)


def _as_low_as_it_gets(
    now: State, name: str, lines: Mapping[str, DrainLine]
) -> Iterator[tuple[str, Elevations, Elevations]]:
    """Bottoms now and at the lowest of a drain and the new ones that it runs into, from the end up."""
    rows: Mapping[str, Drain] = now.view["groundwater.drains"]
    chain = [name]
    while (into := rows[chain[-1]].into) is not None and into in rows and rows[into].status == "new":
        chain.append(into)
    below: tuple[Lengths, Elevations] | None = None
    for each in reversed(chain):
        points, inverts = lines[each].points, lines[each].inverts
        if inverts is None:
            return
        end = float(inverts[-1])
        if below is not None:
            end = min(end, invert_beside(*below, *map(float, points[-1])))
        below = points, np.minimum(inverts, end + LEAST_FALL * _left(points))
        yield each, inverts, below[1]


def _new_drains(trouble: Trouble) -> Iterator[Attempt]:
    """Drains that run by themselves: the routes with the least trench, then lines along the worst side."""
    for ops, length in _routes(trouble):
        yield f"Add a slotted drain of {_length(length)} from the worst spot to its outlet", ops, length
    outlets: Mapping[str, Outlet] = trouble.now.view["groundwater.outlets"]
    free = _free(trouble.now.view["groundwater.drains"], "relief")
    for outlet, row in outlets.items():
        end = np.array([row.place.east, row.place.north])
        for deep, (where, under) in product(BELOW_LINER, _lines_under(trouble)):
            line = np.vstack([_towards(under, end), end])
            left = _left(line)
            # What lies under the pond is to be deep enough all along.
            fall = (trouble.lowest - deep - row.invert) / float(left[0])
            if fall < LEAST_FALL:
                continue
            drain = _drain(line, row.invert + fall * left, outlet)
            length = float(left[0])
            says = (
                f"Add a slotted drain of {_length(length)} {where}, {_length(deep)} below the liner, "
                f"to {outlet.replace('_', ' ')}"
            )
            yield says, (Op("add", f"/groundwater/drains/{free}", drain),), length


def _routes(trouble: Trouble) -> Iterator[tuple[tuple[Op, ...], Length]]:
    """Least trenches from near the worst spot, the shortest first."""
    routes = trouble.now.results["groundwater.route"].routes.values()
    reach = 1.2 * trouble.reach
    near = [route for route in routes if np.hypot(*(route.points[0] - trouble.centre)) <= reach]
    for route in sorted(near, key=lambda each: float(each.length))[:2]:
        yield route.ops, float(route.length)


def _new_sumps(trouble: Trouble) -> Iterator[Attempt]:
    """Sumps at the worst side, deeper and deeper, each with a slotted pipe along it."""
    view = trouble.now.view
    sump, drain = _free(view["groundwater.sumps"], "sump"), _free(view["groundwater.drains"], "sump_drain")
    for deep, (_where, side) in product(BELOW_LINER, _lines_under(trouble)):
        off = trouble.lowest - deep - SUMP_HEIGHT
        inverts = off + SUMP_HEIGHT + LEAST_FALL * _left(side)
        place = {"at": "point", "east": float(side[-1, 0]), "north": float(side[-1, 1])}
        pit = {
            "place": place,
            "on": off + SUMP_HEIGHT,
            "off": off,
            "pump": 1e-3,
            "standby": True,
            "backup": BACKUP,
        }
        ops = (
            Op("add", f"/groundwater/sumps/{sump}", pit),
            Op("add", f"/groundwater/drains/{drain}", _drain(side, inverts, sump)),
        )
        says = (
            f"Keep a sump {_length(deep + SUMP_HEIGHT)} below the liner, with a second pump and a backup of "
            f"{BACKUP / 3600.0:.0f} h, that runs for as long as the pond is there"
        )
        yield says, ops, deep + SUMP_HEIGHT


def _raised(trouble: Trouble) -> Offer:
    """The pond kept higher."""
    level = trouble.now.results["shape.shore"].bodies[trouble.name].level
    row: Body = trouble.now.view["shape.bodies"][trouble.name]
    says = "Keep the water higher"
    if trouble.now.results["shape.shore"].bodies[trouble.name].stream is not None:
        return _refused(says, "a stream runs dry whenever its pump stops")
    attempts = []
    for step in STEPS:
        rise = _up(step * trouble.lack)
        path = f"/shape/bodies/{trouble.name}"
        ops = [Op("add", f"{path}/level", round(level + rise, 4))]
        if row.low_level is not None:
            ops.append(Op("add", f"{path}/low_level", round(row.low_level + rise, 4)))
        attempts.append((f"Keep the water {_length(rise)} higher; its bank rises with it", tuple(ops), rise))
    return _first_holding(trouble, says, attempts, "")


def _thickened(trouble: Trouble) -> Offer:
    """More stone on the liner, dug deeper for so that the pond stays as deep."""
    says = "Lay thicker stone on the liner"
    found = _stone_layer(trouble) or _new_layer(trouble)
    if found is None:
        return _refused(says, "no stone or gravel is in the catalogue yet")
    stops = trouble.now.stops(trouble.name)
    factor = max((stop.limit or 1.0 for stop in stops if stop.kind is RATIO), default=1.0)
    attempts = []
    for step in STEPS:
        more = _up(step * factor * trouble.lack / found.weight)
        told = f"Lay {_length(more)} more stone on the liner of `{trouble.name}`, and dig that much deeper"
        attempts.append((told, (found.thicker(more),), more))
    return _first_holding(trouble, says, attempts, "")


@dataclass(frozen=True, slots=True)
class _Stone:
    """A layer of stone on a liner: where the document tells it, and what more of it weighs under water."""

    op: str
    path: str
    row: Mapping[str, Any]
    index: int
    weight: Ratio

    def thicker(self, more: Length) -> Op:
        """Edit that makes the layer thicker; a new row goes in whole, of an old one only its layers."""
        layers = [dict(layer) for layer in self.row["layers"]]
        layers[self.index]["thickness"] = round(layers[self.index]["thickness"] + more, 4)
        return Op(self.op, self.path, layers if self.op == "replace" else {**self.row, "layers": layers})


def _stone_layer(trouble: Trouble) -> _Stone | None:
    """Heaviest layer that lies on the liner of the whole body."""
    found: list[tuple[Ratio, _Stone]] = []
    for name, row in trouble.now.view["build_up"].items():
        if row.place.at != "whole" or row.place.body not in (None, trouble.name):
            continue
        sealing = [index for index, layer in enumerate(row.layers) if layer.seals]
        first = sealing[-1] + 1 if sealing else 0
        for index, layer in enumerate(row.layers[first:], start=first):
            weight = layer_weights(layer.porosity, layer.density)[1]
            if weight > 0.0:
                told = row.model_dump(mode="json")
                stone = _Stone("replace", f"/build_up/{name}/layers", told, index, weight)
                found.append((layer.thickness * weight, stone))
    return max(found, key=lambda each: each[0])[1] if found else None


def _new_layer(trouble: Trouble) -> _Stone | None:
    """Row for stone or gravel of the catalogue on a body that has none."""
    catalogue: Mapping[str, Item] = trouble.now.view["catalogue"]
    item = next((name for name, row in catalogue.items() if row.kind in ("stone", "gravel")), None)
    if item is None:
        return None
    layer = {"item": item, "thickness": 0.0, "porosity": VOIDS}
    row = {"place": {"at": "whole", "body": trouble.name}, "layers": [layer]}
    path = f"/build_up/{_free(trouble.now.view['build_up'], f'{trouble.name[:30]}_stone')}"
    return _Stone("add", path, row, 0, layer_weights(VOIDS, None)[1])


def _first_holding(trouble: Trouble, says: str, attempts: Sequence[Attempt], none_because: str) -> Offer:
    """The first attempt that holds; else the one that comes nearest, with its numbers."""
    best: Offer | None = None
    for text, ops, change in attempts:
        offer = _tried(trouble, text, ops, change)
        if offer.holds:
            return offer
        if not offer.refused and (best is None or _factor(offer) > _factor(best)):
            best = offer
    return best or _refused(says, none_because or "no such change can be built here")


def _tried(trouble: Trouble, says: str, ops: tuple[Op, ...], change: Length) -> Offer:
    """One edit, tried by the stages of the job."""
    try:
        state = again(trouble.now, ops, trouble.name)
    except DomainError as reason:
        return _refused(says, str(reason))
    body = state.results["groundwater.uplift"].bodies.get(trouble.name)
    if body is None:
        return _refused(says, "the pond would be gone")
    drains = state.results["groundwater.heads"].drains
    own = [op.path.split("/")[3] for op in ops if op.path.startswith("/groundwater/drains/")]
    ops = _with_pump(ops, sum(drains[each].flow for each in own))
    flow = sum(drain.flow for drain in drains.values())
    holds = not state.stops(trouble.name)
    return Offer(says, "", holds, ops, change, body.in_use.excess, body.in_use.net, body.mark, flow)


def _with_pump(ops: tuple[Op, ...], flow: Flow) -> tuple[Op, ...]:
    """Same edit with the pump of a new sump as large as the flow of its drain asks for."""
    pump = max(SPARE_PUMP * flow, 1e-4)
    return tuple(
        Op(op.op, op.path, {**op.value, "pump": float(f"{pump:.2g}")})
        if op.path.startswith("/groundwater/sumps/")
        else op
        for op in ops
    )


def _lines_under(trouble: Trouble) -> tuple[tuple[str, Lengths], ...]:
    """Lines under a pond: straight along its worst side, and round the half of its shore about that."""
    out = np.asarray(trouble.spot) - trouble.centre
    length = float(np.hypot(*out))
    out = out / length if length > 0.0 else np.array([1.0, 0.0])
    along = np.array([-out[1], out[0]])
    half = 0.5 * trouble.reach
    side = np.array([trouble.spot - half * along, trouble.spot, trouble.spot + half * along])
    outer = trouble.now.results["shape.shore"].bodies[trouble.name].rings[0]
    ring = resampled(outer, float(ring_length(outer)) / AROUND)
    nearest = int(np.argmin(np.hypot(*(ring - trouble.spot).T)))
    chosen = np.arange(nearest - AROUND // 4, nearest + AROUND // 4 + 1) % len(ring)
    round_it = trouble.centre + INSIDE * (ring[chosen] - trouble.centre)
    return ("along the worst side", side), ("round the worst half of the shore", round_it)


def _towards(line: Lengths, end: FloatArray) -> Lengths:
    """Same line, run so that it ends at its nearer end to a place."""
    first, last = (float(np.hypot(*(point - end))) for point in (line[0], line[-1]))
    return line[::-1] if first < last else line


def _drain(line: Lengths, inverts: Elevations, into: str) -> dict[str, Any]:
    """Row of a slotted drain."""
    return {
        "name": "Relief drain",
        "place": {
            "at": "line",
            "points": [{"east": round(float(e), 3), "north": round(float(n), 3)} for e, n in line],
        },
        "inverts": [round(float(each), 4) for each in inverts],
        "into": into,
    }


def _lines(now: State) -> Mapping[str, DrainLine]:
    """Drains as the model sees them once the job is built."""
    drains, outlets, sumps = (now.view[f"groundwater.{name}"] for name in ("drains", "outlets", "sumps"))
    return drain_lines(drains, outlets, sumps, BUILT, wet=True)


def _left(line: Lengths) -> Lengths:
    """Way left to the end of a line from each of its points. [m]"""
    steps = np.hypot(*np.diff(line, axis=0).T)
    return np.concatenate([np.cumsum(steps[::-1])[::-1], [0.0]])


def _free(rows: Mapping[str, Any], name: str) -> str:
    """Id that is not taken."""
    names = (name, *(f"{name}_{count}" for count in range(2, len(rows) + 3)))
    return next(each for each in names if each not in rows)


def _factor(offer: Offer) -> Ratio:
    """Net factor of an offer; nothing that pushes is more than any."""
    return math.inf if offer.net is None else offer.net


def _refused(says: str, why: str) -> Offer:
    return Offer(says, why, False, (), None, None, None, None, None)


def _told(trouble: Trouble, offers: Mapping[str, Offer]) -> Finding:
    """The ways out of one body as a check that one press settles."""
    holding = [offer for offer in offers.values() if offer.holds]
    called = f"`{trouble.name}`"
    if not holding:
        says = f"No single change holds the liner of {called} down: take two of them, or move the pond."
    elif len(holding) == 1:
        says = f"One change holds the liner of {called} down."
    else:
        says = f"{len(holding)} changes hold the liner of {called} down, each by itself, the best first."
    return Finding(
        code="groundwater.ways_out",
        grade=Grade.LOOK,
        says=says,
        where=Where(
            (f"groundwater.offers.bodies.{trouble.name}", f"shape.bodies.{trouble.name}"), (trouble.spot,)
        ),
        source=derived("each of them tried on the whole model"),
        advice=tuple(Advice(f"{offer.says}{_result(offer)}.", offer.ops) for offer in holding),
    )


def _result(offer: Offer) -> str:
    """What a way out gives, in a clause."""
    if offer.net is None or not math.isfinite(offer.net):
        return f": then groundwater stays {_length(-(offer.excess or 0.0))} below it"
    return f": then the weight on the liner is {offer.net:.1f} times what lifts it"


def _up(length: Length) -> Length:
    """Length rounded up to a centimetre, as it is built."""
    return math.ceil(length * 100.0 - 1e-6) / 100.0


def _length(length: Length) -> str:
    """Length in millimetres and inches, a long one in metres and feet."""
    if abs(length) < 1.0:
        return f"{1e3 * length:.0f} mm ({length / 0.0254:.1f} in)"
    return f"{length:.1f} m ({length / 0.3048:.0f} ft)"
