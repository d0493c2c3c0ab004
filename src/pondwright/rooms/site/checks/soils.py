"""What is checked about soils, muck and water in the ground: what was probed against what is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import COUNT, ELEVATION, LENGTH, RATIO, Elevation, Length, Ratio, Volume
from pondwright.base.sources import PRACTICE
from pondwright.rooms.site.location import PlanPoint
from pondwright.rooms.site.soils import LayerMatch

Limits = Mapping[str, Limit]

LIMITS = (
    Limit(
        "site.muck_pair",
        "Distance between a shot on muck and one on its firm floor, at most",
        1.0,
        LENGTH,
        PRACTICE,
    ),
    Limit("site.muck_sigma", "Likely error of the muck as a share of it, at most", 0.2, RATIO, PRACTICE),
    Limit(
        "site.muck_carried", "Share of the muck beyond the outermost probes, at most", 0.25, RATIO, PRACTICE
    ),
    Limit("site.probe_empty", "Probes that tell no layer and no water, at most", 0.0, COUNT, PRACTICE),
    Limit("site.probe_outside", "Probes beyond the survey, at most", 0.0, COUNT, PRACTICE),
    Limit(
        "site.soil_against_probe", "Layer of a pit off the soil told there, at most", 0.15, LENGTH, PRACTICE
    ),
    Limit(
        "site.soil_untold",
        "Share of the site of which no soil or probe tells, at most",
        0.25,
        RATIO,
        PRACTICE,
    ),
    Limit("site.soil_reach", "Distance up to which a pit tells of the soil, at most", 15.0, LENGTH, PRACTICE),
    Limit(
        "site.water_in_pit", "Water in a pit above the floor of the old hole, at most", 0.0, LENGTH, PRACTICE
    ),
    Limit("site.leaky_layer", "Sand or gravel in the bank of the old hole, at most", 0.0, LENGTH, PRACTICE),
)

STANDPIPE = Advice("Leave a standpipe in the pit and read it for weeks, in the wet season too.")


def check_muck_pairs(lone: Sequence[str], upside_down: Sequence[str], limits: Limits) -> Finding:
    """Whether each shot on muck has one on the firm floor below it, and the other way round."""
    limit = limits["site.muck_pair"]
    wrong = [*lone, *upside_down]
    if upside_down:
        says = f"At {_listed(upside_down)} the firm floor was shot above the muck: they are left out."
    elif lone:
        says = f"{_listed(lone)} has no shot near by on the other side of the muck: it tells no thickness."
    else:
        says = "Every shot on muck has its shot on the firm floor."
    return Finding(
        code=limit.code,
        grade=Grade.LOOK if wrong else Grade.GOOD,
        says=says,
        where=Where(tuple(f"site.shots.{shot}" for shot in wrong)),
        source=limit.source,
        advice=(Advice("Push the rod through to firm ground where the muck was shot, and read both."),)
        if wrong
        else (),
    )


def check_muck_sigma(volume: Volume, sigma: Volume, limits: Limits) -> Finding:
    """Whether the muck is known well enough to ask for a price."""
    limit = limits["site.muck_sigma"]
    share = sigma / volume if volume > 0.0 else 0.0
    good = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if good else Grade.LOOK,
        (
            "The muck is known well enough to ask for a price of its disposal."
            if good
            else "The muck is known too roughly to ask for a price of its disposal."
        ),
        where=Where(("site.layers.muck.volume", "site.probes")),
        advice=(Advice("Probe half way between the rods, first where the muck is thick."),),
    )


def check_muck_carried(share: Ratio, limits: Limits) -> Finding:
    """Whether probes reach to where the muck ends."""
    limit = limits["site.muck_carried"]
    good = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if good else Grade.LOOK,
        (
            "The probes reach to where the muck ends."
            if good
            else "Part of the muck lies beyond the outermost probes and is a guess."
        ),
        where=Where(("site.probes",)),
        advice=(Advice("Probe outward until the rod finds firm ground at once, and write those down too."),),
    )


def check_probes_told(empty: Sequence[str], limits: Limits) -> Finding:
    """Whether every probe tells what it went through, or where water stood."""
    limit = limits["site.probe_empty"]
    good = len(empty) <= limit.value
    return judged(
        limit,
        float(len(empty)),
        Grade.GOOD if good else Grade.LOOK,
        "Every probe tells what it met." if good else f"{_listed(empty)} tells no layer and no water.",
        where=Where(tuple(f"site.probes.{probe}" for probe in empty)),
        advice=(
            Advice("Write down what the rod met; where there is no muck, the firm soil that stopped it."),
        ),
    )


def check_probes_inside(off: Sequence[str], guessed: Sequence[str], limits: Limits) -> Finding:
    """Whether the ground at every probe was surveyed, so that depths become elevations."""
    limit = limits["site.probe_outside"]
    outside = [*off, *guessed]
    good = len(outside) <= limit.value
    if off:
        says = f"{_listed(off)} lies off the plan: the depths there have no elevation."
    elif not good:
        says = f"{_listed(guessed)} lies beyond the survey: the elevations there are a guess."
    else:
        says = "The ground at every probe was surveyed."
    return judged(
        limit,
        float(len(outside)),
        Grade.GOOD if good else Grade.LOOK,
        says,
        where=Where(tuple(f"site.probes.{probe}.place" for probe in outside)),
        advice=(Advice("Shoot the ground beside it, and from there to the pond."),),
    )


def check_soil_against_probe(
    probe: str, soil: str, worst: LayerMatch | None, place: PlanPoint, limits: Limits
) -> Finding:
    """Whether a pit or bore found the layers that the soil there tells."""
    limit = limits["site.soil_against_probe"]
    paths = Where((f"site.probes.{probe}.layers", f"site.soils.{soil}.layers"), (place,))
    if worst is None or worst.miss <= limit.value:
        return judged(
            limit,
            0.0 if worst is None else worst.miss,
            Grade.GOOD,
            f"`{probe}` found the layers of soil `{soil}`.",
            where=paths,
        )
    advice = (Advice("Give the place of the pit a soil of its own, or correct the soil."),)
    if worst.told is None:
        return Finding(
            code=limit.code,
            grade=Grade.LOOK,
            says=f"`{probe}` found {worst.kind} where soil `{soil}` has none.",
            where=paths,
            value=worst.probed,
            limit=0.0,
            operator="<=",
            kind=LENGTH,
            source=limit.source,
            advice=advice,
        )
    if worst.told == float("inf"):
        return Finding(
            code=limit.code,
            grade=Grade.LOOK,
            says=f"`{probe}` went through the {worst.kind} that in soil `{soil}` has no end.",
            where=paths,
            source=limit.source,
            advice=advice,
        )
    thicker = worst.probed > worst.told
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"The {worst.kind} in `{probe}` is {'thicker' if thicker else 'thinner'} "
        f"than soil `{soil}` tells.",
        where=paths,
        value=worst.probed,
        limit=worst.told,
        operator="<=" if thicker else ">=",
        kind=LENGTH,
        source=limit.source,
        advice=advice,
    )


def check_soil_untold(share: Ratio, limits: Limits) -> Finding:
    """Whether somebody has told what the ground of the site is made of."""
    limit = limits["site.soil_untold"]
    good = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if good else Grade.LOOK,
        (
            "The soil of the site is told."
            if good
            else "Of part of the site no soil is told and no pit is near."
        ),
        where=Where(("site.soils", "site.probes")),
        advice=(Advice("Dig a pit where most soil will be moved, a little deeper than the pond."),),
    )


def check_water_unread(unread: Sequence[str], limits: Limits) -> Finding:
    """That pits and bores stand open and nobody read water in any of them."""
    limit = limits["site.water_in_pit"]
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"No water was read in {_listed(unread)}: nobody knows yet how high it stands in the ground.",
        where=Where(tuple(f"site.probes.{name}" for name in unread)),
        source=limit.source,
        advice=(STANDPIPE,),
    )


def check_water_in_pit(
    probe: str, water: Elevation, floor: Elevation, place: PlanPoint, limits: Limits
) -> Finding:
    """Whether water stands in a pit above the floor of the old hole."""
    limit = limits["site.water_in_pit"]
    above = water - floor > limit.value
    return Finding(
        code=limit.code,
        grade=Grade.LOOK if above else Grade.GOOD,
        says=f"Water in `{probe}` stands above the floor of the old hole: it flows in when that is emptied, "
        "and presses under a liner."
        if above
        else f"Water in `{probe}` stands below the floor of the old hole.",
        where=Where((f"site.probes.{probe}",), (place,)),
        value=water,
        limit=floor + limit.value,
        operator="<=",
        kind=ELEVATION,
        source=limit.source,
        advice=(STANDPIPE, Advice("Plan a drain under the liner, and never empty the pond without it."))
        if above
        else (),
    )


def leaky_layer(
    probe: str, kind: str, thickness: Length, stopped: bool, place: PlanPoint, limits: Limits
) -> Finding:
    """That sand or gravel lies in the bank of the old hole, where water may leave it."""
    limit = limits["site.leaky_layer"]
    where_it_stops = ", at the height where its water stops rising" if stopped else ""
    return judged(
        limit,
        thickness,
        Grade.LOOK,
        (
            f"`{probe}` met {kind} between floor and lip of the old hole{where_it_stops}: "
            "water may leave or come in there."
        ),
        where=Where((f"site.probes.{probe}.layers",), (place,)),
        advice=(Advice("Look for that layer all round the bank when the hole is empty."),),
    )


def no_leaky_layer(probes: Sequence[str], limits: Limits) -> Finding:
    """That no pit or bore met sand or gravel in the bank of the old hole."""
    limit = limits["site.leaky_layer"]
    return judged(
        limit,
        0.0,
        Grade.GOOD,
        f"{_listed(probes)} met no sand or gravel between floor and lip of the old hole.",
        where=Where(tuple(f"site.probes.{probe}.layers" for probe in probes)),
    )


def _listed(names: Sequence[str]) -> str:
    quoted = [f"`{name}`" for name in names[:4]]
    more = f" and {len(names) - 4} more" if len(names) > 4 else ""
    return ", ".join(quoted) + more
