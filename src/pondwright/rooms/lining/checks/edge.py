"""What is checked about the liner's edge: how high it stands all round, what shows, roots and burrows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pondwright.base import both_units as words
from pondwright.base.findings import Advice, Alike, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import LENGTH, RATIO, TIME, Area, Length, Ratio
from pondwright.base.sources import PRACTICE

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]

LIMITS = (
    Limit("lining.edge_low", "The liner's edge lies lower than drawn by, at most", 0.0, LENGTH, PRACTICE),
    Limit("lining.edge_high", "The liner's edge may stand higher than drawn by", 0.05, LENGTH, PRACTICE),
    Limit("lining.edge_height", "Liner's edge above the full water, at least", 0.1, LENGTH, PRACTICE),
    Limit("lining.edge_berm", "The same on a berm and beside a fall, at least", 0.15, LENGTH, PRACTICE),
    Limit("lining.upturn", "Liner turned up behind the edge stone, at least", 0.05, LENGTH, PRACTICE),
    Limit(
        "lining.reach", "Liner beyond the shore against what its edge needs, at least", 1.0, RATIO, PRACTICE
    ),
    Limit("lining.capillary", "Shore along which the lawn wicks water out, at most", 0.0, LENGTH, PRACTICE),
    Limit("lining.band", "Share of the shore along which bare liner is seen, at most", 0.1, RATIO, PRACTICE),
    Limit("lining.roots", "From a tree to a liner, no guard between, at least", 6.0, LENGTH, PRACTICE),
    Limit("lining.root_guard", "Depth of a guard against roots, at least", 0.6, LENGTH, PRACTICE),
    Limit("lining.burrow_guard", "Depth of a guard against burrows, at least", 1.0, LENGTH, PRACTICE),
    Limit("lining.bare_test", "Time for which a bare liner is watched, at least", 172_800.0, TIME, PRACTICE),
    Limit("lining.leak", "Fall in a day beyond that of a pan of water, at most", 0.001, LENGTH, PRACTICE),
    Limit("lining.evaporation", "Water lost to the air in a day of that time", 0.005, LENGTH, PRACTICE),
    Limit("lining.reading", "How far a reading of the level is out", 0.001, LENGTH, PRACTICE),
)
"""Limits of these checks; a job may replace each by its code."""

ONE_SIDED = "The edge is one-sided: 50 mm (2 in) too high does no harm, 1 mm too low drains to there."
PAN = "Stand a pan of water beside it and take what the pan loses from what the pond loses."
CHILDREN = "Keep children and dogs off: bare liner below water is slippery and nobody climbs out of it."
TUCK = "Tuck the edge and do not trim it for two to four weeks and one hard rain: fresh banks sink."


def check_low(body: str, lows: tuple[Any, ...], limits: Limits) -> Finding:
    """Whether the liner's edge stands as high as drawn all round.

    Parameters
    ----------
    body : str
    lows : Low             Lowest first, with `place`, `point`, `lack`, `over_water`, `length`.
    limits : mapping
    """
    limit = limits["lining.edge_low"]
    if not lows:
        says, grade = f"The ground holds the liner's edge of `{body}` as high as drawn all round.", Grade.GOOD
    else:
        worst = lows[0]
        many = f", the lowest of {len(lows)} low places" if len(lows) > 1 else ""
        stands = f"{words.length(abs(worst.over_water))} {'above' if worst.over_water > 0.0 else 'below'}"
        says = f"Liner's edge of `{body}` {worst.place}{many}: only {stands} the full water."
        grade = Grade.STOP if worst.over_water <= 0.0 else Grade.LOOK
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=Where(
            (
                f"shape.bodies.{body}",
                f"lining.rim.bodies.{body}.lows",
            ),
            tuple(low.point for low in lows),
        ),
        value=lows[0].lack if lows else 0.0,
        limit=limit.value,
        operator="<=",
        kind=LENGTH,
        source=limit.source,
        advice=(
            Advice(
                f"Raise the ground there by {words.length(lows[0].lack)} along "
                f"{words.length(lows[0].length)}, in compacted layers, and shoot it again."
            ),
            Advice("Or lower the full water, or set a higher stone there with the liner behind it."),
        )
        if lows
        else (),
        assumes=(ONE_SIDED, TUCK),
    )


def check_height(
    body: str,
    edge: str,
    height: Length,
    along: Length,
    placed: bool,
    points: tuple[PlanPoint, ...],
    limits: Limits,
) -> Finding:
    """Whether the edge is drawn high enough over the full water; higher on placed soil and beside streams.

    `points` are the places where it is drawn too low.
    """
    limit = limits["lining.edge_berm" if placed else "lining.edge_height"]
    holds = height >= limit.value - 1e-6
    where = f"{words.length(along)} of placed soil or falls" if placed else f"{words.length(along)} of shore"
    op = Op("replace", f"/lining/edges/{edge}/height", limit.value)
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"Along {where} the liner's edge of `{body}` is drawn high enough."
        if holds
        else f"Along {where} the liner's edge of `{body}` is drawn too low over the full water.",
        where=_at(body, edge, "height", () if holds else points),
        value=height,
        limit=limit.value,
        operator=">=",
        kind=LENGTH,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice(
                f"Draw it {words.length(limit.value)} above the full water.", () if edge == "rest" else (op,)
            ),
            Advice("Placed soil settles and falls splash: what is level today is low next year.")
            if placed
            else Advice("Or lower the full water, if the overflow can be set lower."),
        ),
        assumes=(ONE_SIDED,),
    )


def check_upturn(body: str, edge: str, found: Any, limits: Limits) -> Finding:
    """Whether enough liner is turned up behind the edge stone.

    Parameters
    ----------
    body, edge : str
    found : EdgeStretch     With `upturn`.
    limits : mapping
    """
    limit = limits["lining.upturn"]
    holds = found.upturn >= limit.value
    return judged(
        limit,
        found.upturn,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"Enough liner is turned up behind the edge stone of `{body}`."
            if holds
            else f"Only {words.length(found.upturn)} of liner is turned up behind the edge stone of `{body}`."
        ),
        where=_at(body, edge, "upturn"),
        operator=">=",
        advice=(Advice("Fold it up behind the first stone by 50 to 100 mm (2 to 4 in)."),),
    )


def check_reach(
    body: str, edge: str, liner: str, named: bool, has: Length, needs: Length, limits: Limits
) -> Finding:
    """Whether the liner reaches far enough beyond the shore for its edge."""
    limit = limits["lining.reach"]
    holds = has >= limit.value * needs - 1e-6
    place = "all round" if edge == "rest" else f"along `lining.edges.{edge}`"
    op = Op("replace", f"/lining/liners/{liner}/margin", round(needs + 0.05, 2))
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.STOP,
        says=f"The liner of `{body}` reaches far enough beyond the shore {place}."
        if holds
        else f"The liner of `{body}` ends {words.length(needs - has)} short of its edge {place}.",
        where=Where((f"shape.bodies.{body}", f"lining.liners.{liner}.margin")),
        value=has / needs if needs > 0.0 else None,
        limit=limit.value if needs > 0.0 else None,
        operator=">=" if needs > 0.0 else "",
        kind=RATIO,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice(f"Order it {words.length(needs)} beyond the shore all round.", (op,) if named else ()),
            Advice("Or turn the edge up behind stones there instead of laying it in a trench."),
        ),
    )


def check_capillary(body: str, length: Length, limits: Limits) -> Finding:
    """Whether the liner parts the wet stone from the lawn everywhere."""
    limit = limits["lining.capillary"]
    holds = length <= limit.value
    return judged(
        limit,
        length,
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The liner of `{body}` parts the wet stone from the lawn all round."
            if holds
            else f"Along {words.length(length)} of the shore of `{body}` the lawn wicks water out."
        ),
        where=Where(
            (
                f"shape.bodies.{body}",
                f"lining.rim.bodies.{body}.no_break",
            )
        ),
        advice=(
            Advice("Bring the liner's edge up to the air, and keep soil and turf outside it."),
            Advice("Fill a hand's breadth of gravel between stone and lawn."),
        ),
        assumes=("A wick a few metres long can lose as much as the sun takes.",),
    )


def check_band(body: str, band: Any, views: Mapping[str, Any], limits: Limits) -> Finding:
    """How much of the bare liner between full and low water is seen.

    Parameters
    ----------
    body : str
    band : Band             With `height`, `bare`, `points`.
    views : mapping         From each seat and path, with `share` and `length`.
    limits : mapping
    """
    limit = limits["lining.band"]
    worst = max(views, key=lambda name: views[name].share, default=None)
    share: Ratio = views[worst].share if worst is not None else 0.0
    holds = share <= limit.value
    fall = words.length(band.height)
    bare: Area = band.bare
    if bare <= 0.0:
        says = f"When `{body}` falls by {fall} no bare liner shows."
    elif worst is None:
        says = (
            f"When `{body}` falls by {fall}, {words.area(bare)} of liner lies bare; no seat or path is told."
        )
    elif holds:
        says = f"When `{body}` falls by {fall}, little of the bare liner is seen from seats and paths."
    else:
        says = (
            f"When `{body}` falls by {fall}, {words.area(bare)} of liner lies bare; from `{worst}` it is "
            f"seen along {words.length(views[worst].length)} of shore."
        )
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        says,
        where=Where(
            (f"shape.bodies.{body}", f"lining.rim.bodies.{body}.band", f"shape.bodies.{body}.low_level")
        ),
        advice=(
            Advice("Stand edge stones before it that are taller than the water falls."),
            Advice("Or let gravel run up from a shelf, or plant the shelf before it."),
            Advice("Or top the water up sooner, so that it falls less."),
        ),
        assumes=("Plants and people hide nothing of it.",),
    )


@dataclass(frozen=True, slots=True)
class Tree:
    """A tree near a liner: its name, where it stands, how far from the liner [m], and a guard between."""

    name: str
    point: PlanPoint
    away: Length
    guarded: bool


def check_roots(body: str, trees: tuple[Tree, ...], limits: Limits) -> Finding:
    """Whether a guard stands between a liner and every tree that is near."""
    limit = limits["lining.roots"]
    near = sorted((tree for tree in trees if not tree.guarded), key=lambda tree: tree.away)
    names = ", ".join(f"`site.things.{tree.name}`" for tree in near)
    many = f"Roots of {names}" if len(near) == 1 else f"Roots of {len(near)} trees, {names},"
    return Finding(
        code=limit.code,
        grade=Grade.LOOK if near else Grade.GOOD,
        says=f"{many} stand so near to `{body}` that they can lift its liner."
        if near
        else f"A guard keeps the roots of the trees beside `{body}` from its liner.",
        where=Where(
            (f"shape.bodies.{body}", "lining.guards", *(f"site.things.{tree.name}" for tree in trees)),
            tuple(tree.point for tree in (near or trees)),
        ),
        value=near[0].away if near else None,
        limit=limit.value if near else None,
        operator=">=" if near else "",
        kind=LENGTH,
        source=limit.source,
        advice=(
            Advice("Set a root guard between, 0.6 to 0.9 m (2 to 3 ft) deep, well away from the trees."),
            Advice("Willow, poplar, bamboo and reed pierce a liner: ask somebody who knows the tree."),
        )
        if near
        else (),
        assumes=("Protect the trees as well: dig within their root zone only as their keeper says.",),
        alike=Alike("Trees stand so near that their roots can lift liners: {}.", f"{names} beside `{body}`"),
    )


def check_guard(name: str, kind: str, depth: Length, limits: Limits) -> Finding:
    """Whether a guard reaches deep enough."""
    limit = limits["lining.root_guard" if kind == "root" else "lining.burrow_guard"]
    holds = depth >= limit.value - 1e-6
    against = "roots" if kind == "root" else "burrowing animals"
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"`lining.guards.{name}` is deep enough against {against}."
        if holds
        else f"`lining.guards.{name}` is too shallow against {against}.",
        where=Where((f"lining.guards.{name}.depth",)),
        value=depth,
        limit=limit.value,
        operator=">=",
        kind=LENGTH,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice("Make it 0.6 to 0.9 m (2 to 3 ft) deep.")
            if kind == "root"
            else Advice("Let the mesh reach from 0.3 m (1 ft) above the water to 1.0 m (3.3 ft) below it."),
        ),
    )


def check_built(body: str, low: Any, high: Any, shots: int, limits: Limits) -> Finding:
    """Whether the edge as shot stands within its one-sided tolerance.

    Parameters
    ----------
    body : str
    low, high : BuiltShot or None     The worst ones, with `off`, `place`, `point`.
    shots : int                       On the edge.
    limits : mapping
    """
    limit = limits["lining.edge_low" if low is not None or high is None else "lining.edge_high"]
    worst = low if low is not None else high
    if worst is None:
        says = f"The liner's edge of `{body}` as shot stands within its tolerance."
    else:
        way = "low" if low is not None else "high"
        says = (
            f"The liner's edge of `{body}` as shot is {words.length(abs(worst.off))} too {way} {worst.place}."
        )
    return Finding(
        code="lining.edge_built",
        grade=Grade.STOP if low is not None else Grade.GOOD if worst is None else Grade.LOOK,
        says=says,
        where=Where(
            (
                f"shape.bodies.{body}",
                f"lining.rim.bodies.{body}.built",
            ),
            () if worst is None else (worst.point,),
        ),
        value=0.0 if worst is None else abs(worst.off),
        limit=0.0,
        operator="<=",
        kind=LENGTH,
        source=limit.source,
        advice=()
        if worst is None
        else (Advice("Raise the ground below the edge there and shoot it again, before stone hides it."),)
        if low is not None
        else (Advice("Leave it, or fold the edge down behind its stone where it shows."),),
        assumes=(ONE_SIDED, f"{shots} shots on the edge; every 2 m (6 ft 7 in) is wanted."),
    )


def check_test(tests: Mapping[str, Any], limits: Limits) -> Finding:
    """Water tests of bare liners that are still to be made.

    Parameters
    ----------
    tests : mapping of WaterTest     With `depth`, `hours`, `allowed`.
    limits : mapping
    """
    limit = limits["lining.bare_test"]
    first = next(iter(tests.values()))
    told = ", ".join(f"`{body}` to {words.length(test.depth)} below full" for body, test in tests.items())
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"Fill the bare liner before any stone, {told}: a fall of more than "
        f"{words.length(first.allowed)} in {first.hours / 3600.0:.0f} h is a leak.",
        where=Where(tuple(f"shape.bodies.{body}" for body in tests)),
        value=first.hours,
        kind=TIME,
        source=limit.source,
        advice=(Advice("Make the test, and write both falls down: the pond's and that of a pan beside it."),),
        assumes=(PAN, CHILDREN),
    )


def check_leak(body: str, fall: Length, limits: Limits) -> Finding:
    """Whether the water fell by more in a day than a pan beside it."""
    limit = limits["lining.leak"]
    holds = fall <= limit.value
    return judged(
        limit,
        fall,
        Grade.GOOD if holds else Grade.STOP,
        (
            f"In its test `{body}` fell as a pan of water did: it holds."
            if holds
            else f"In its test `{body}` fell faster than a pan of water: it leaks."
        ),
        where=Where(
            (
                f"shape.bodies.{body}",
                f"lining.rim.bodies.{body}.test",
            )
        ),
        advice=(
            Advice("Let it fall until it stops: the leak is at that height; walk along that line."),
            Advice("Look first at boots, then at seams, then at folds, and patch dry."),
            Advice("Set no stone before it holds."),
        ),
        assumes=(PAN, CHILDREN),
    )


def _at(body: str, edge: str, field: str, points: tuple[PlanPoint, ...] = ()) -> Where:
    """Place of a finding about one field of an edge; the default edge has no row."""
    return Where(
        (f"shape.bodies.{body}", *((f"lining.edges.{edge}.{field}",) if edge != "rest" else ())), points
    )
