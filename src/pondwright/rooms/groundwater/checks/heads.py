"""What is checked about the model of the groundwater: readings, soils, seeps, drains."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pondwright.base.findings import Advice, Finding, Grade, Limit, Where, judged
from pondwright.base.kinds import COUNT, FLOW, LENGTH, RATIO, SPEED, Flow, Length, Ratio, Speed
from pondwright.base.sources import PRACTICE, Source, Standing, from_memory

Limits = Mapping[str, Limit]
PlanPoint = tuple[Length, Length]
Spots = tuple[PlanPoint, ...]

KSAT = Source(
    "Saxton and Rawls; Rawls, Brakensiek and Saxton 1982",
    "Ksat by texture; the two tables differ by up to four times",
    Standing.MEMORY,
)
HVORSLEV = from_memory("M. J. Hvorslev, Time Lag and Soil Permeability (1951)", "open hole")
REST = Source("derived: the wetted ground of the last round was kept", "", Standing.DERIVED)
FLOOR = Source("derived: a cell that has fallen dry keeps 1 % of its thickness", "", Standing.DERIVED)

LIMITS = (
    Limit(
        "groundwater.readings",
        "Places where the groundwater was read in a season, at least",
        3.0,
        COUNT,
        PRACTICE,
    ),
    Limit(
        "groundwater.reading_met",
        "Modelled groundwater off what was read at a place, at most",
        0.10,
        LENGTH,
        PRACTICE,
    ),
    Limit(
        "groundwater.seep_flow",
        "Modelled and measured flow of a seep, one as a multiple of the other, at most",
        2.0,
        RATIO,
        PRACTICE,
    ),
    Limit(
        "groundwater.permeability",
        "Layers of soil whose permeability is a guess by kind, at most",
        0.0,
        COUNT,
        KSAT,
    ),
    Limit(
        "groundwater.pit",
        "Permeability from a pit as a multiple of the told range's nearest end, at most",
        1.0,
        RATIO,
        HVORSLEV,
    ),
    Limit(
        "groundwater.dry_ground",
        "Share of the ground that is computed as dry to its base, at most",
        0.05,
        RATIO,
        FLOOR,
    ),
    Limit(
        "groundwater.settled",
        "Cases in which the groundwater does not come to rest in computing, at most",
        0.0,
        COUNT,
        REST,
    ),
    Limit(
        "groundwater.drain_formula",
        "Water to a drain by the model and by the trench formula, one as a multiple of the other, at most",
        3.0,
        RATIO,
        PRACTICE,
    ),
    Limit("groundwater.drain_end", "Drains that lead nowhere, at most", 0.0, COUNT, PRACTICE),
)
"""Limits of these checks; a job may replace each by its code."""


def no_readings(with_water: Sequence[str]) -> Finding:
    """Nobody has read the groundwater yet."""
    ways = [
        "Leave a standpipe, a slotted pipe in a narrow hole 2 m (6 ft) deep, beside the dig, and two more "
        "well apart from it; read each in the wettest weeks and in a dry spell.",
        "Write down every seep, spring and ditch with its level, and how long it takes to fill a bucket.",
    ]
    if with_water:
        ways.insert(
            0,
            f"Water stood in {_listed(with_water)}: enter it as a reading, with the season in which it was "
            "read.",
        )
    return Finding(
        code="groundwater.readings",
        grade=Grade.LOOK,
        says="Nobody has read the groundwater here yet, so nothing is said about it.",
        where=Where(("groundwater.readings",)),
        value=0.0,
        limit=1.0,
        operator=">=",
        kind=COUNT,
        source=PRACTICE,
        advice=tuple(map(Advice, ways)),
    )


def check_readings(season: str, count: int, spots: Spots, limits: Limits) -> Finding:
    """Whether enough places were read in a season to tell which way the groundwater falls."""
    limit = limits["groundwater.readings"]
    holds = count >= limit.value
    says = f"Enough places were read in the {season} season to tell which way the groundwater falls."
    if not holds:
        says = (
            f"Too few places were read in the {season} season to tell which way the groundwater falls: it is "
            "taken to fall as the ground does, half as steeply."
        )
    return judged(
        limit,
        float(count),
        Grade.GOOD if holds else Grade.LOOK,
        says,
        where=Where(("groundwater.readings",), spots),
        operator=">=",
        advice=(
            Advice(
                "Leave another standpipe, well off the line through the others, and read it in this season."
            ),
        ),
    )


def missing_season(season: str) -> Finding:
    """A season in which nothing was read, though another was."""
    return Finding(
        code="groundwater.season",
        grade=Grade.LOOK,
        says=f"The groundwater was not read in the {season} season, so nothing is said about that season."
        if season == "dry"
        else "The groundwater was not read in the wet season, and that is when it lifts a liner.",
        where=Where(("groundwater.readings",)),
        source=PRACTICE,
        advice=(Advice(f"Read the standpipes again in the {season} season."),),
    )


def off_plan(names: Sequence[str]) -> Finding:
    """Readings beyond the survey, which the model cannot use."""
    return Finding(
        code="groundwater.reading_place",
        grade=Grade.LOOK,
        says=f"{_listed(names)} lies beyond the surveyed ground and is not used."
        if len(names) == 1
        else f"{_listed(names)} lie beyond the surveyed ground and are not used.",
        where=Where(tuple(f"groundwater.readings.{name}.place" for name in names)),
        source=PRACTICE,
        advice=(Advice("Shoot some ground out to there, or put the reading in its right place."),),
    )


def check_reading_met(
    name: str, called: str, season: str, residual: Length, place: PlanPoint, limits: Limits
) -> Finding:
    """Whether the model gives what was read at one place."""
    limit = limits["groundwater.reading_met"]
    holds = abs(residual) <= limit.value
    way = "higher" if residual > 0.0 else "lower"
    return judged(
        limit,
        abs(residual),
        Grade.GOOD if holds else Grade.LOOK,
        (
            f"The model agrees with what was read at {called} in the {season} season."
            if holds
            else f"At {called} the model stands {way} than what was read in the {season} season."
        ),
        where=Where((f"groundwater.readings.{name}.{season}", "groundwater.aquifer.seasons"), (place,)),
        advice=(
            Advice("Read it again: is the level right, and the right one of two pipes?"),
            Advice("Look for what the model does not know: another layer, an old drain, a leaking pipe."),
            Advice("Leave another standpipe between this one and the next, to see which stands alone."),
        ),
        assumes=("The soils are as told between the test pits.",),
    )


def check_seep_flow(
    name: str,
    called: str,
    season: str,
    measured: Flow,
    modelled: tuple[Flow, Flow, Flow],
    place: PlanPoint,
    limits: Limits,
) -> Finding:
    """Whether as much water comes out at a seep in the model as was measured, and at which permeability."""
    limit = limits["groundwater.seep_flow"]
    low, likely, high = modelled
    holds = low / limit.value <= measured <= high * limit.value
    says = f"About as much water comes out at {called} in the model as was measured in the {season} season."
    if not holds:
        way = "more" if measured > high else "less"
        says = (
            f"At {called} {way} water was measured in the {season} season than the soils as told can bring."
        )
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=says,
        where=Where((f"groundwater.readings.{name}.{season}_flow", "site.soils.*.layers"), (place,)),
        value=measured,
        limit=high if measured > likely else low,
        operator="<=" if measured > likely else ">=",
        kind=FLOW,
        source=limit.source,
        advice=()
        if holds
        else (
            Advice("Measure it again: the seconds that it takes to fill a bucket, three times."),
            Advice(
                "Dig a test pit above the seep: sand or gravel may be thicker or coarser than told, or an "
                "old pipe may feed it."
            ),
            Advice("Size drains by the larger of the two flows."),
        ),
    )


def check_permeability(kinds: Sequence[str], guessed_soil: bool, limits: Limits) -> Finding:
    """Whether somebody has told how permeable the soils are."""
    limit = limits["groundwater.permeability"]
    holds = not kinds
    says = "How permeable the soils are is told for every layer."
    if guessed_soil:
        says = "No soil is told yet: its layers, and how permeable they are, are a guess."
    elif kinds:
        says = f"How permeable the {_listed(kinds)} is, is a guess by its kind, ten times less or more."
    return judged(
        limit,
        float(len(kinds)),
        Grade.GOOD if holds else Grade.LOOK,
        says,
        where=Where(("site.soils.*.layers.*.permeability",)),
        advice=(
            Advice(
                "Bail out a test pit and write down how the water rises in it: its depth after 10 min, 1 h, "
                "4 h and 24 h."
            ),
        ),
    )


def check_pit(
    name: str, called: str, found: Speed, low: Speed, high: Speed, place: PlanPoint, limits: Limits
) -> Finding:
    """Whether the water rose in a pit as the told soils let it."""
    limit = limits["groundwater.pit"]
    off = max(low / found, found / high)
    holds = off <= limit.value
    way = "more" if found > high else "less"
    return Finding(
        code=limit.code,
        grade=Grade.GOOD if holds else Grade.LOOK,
        says=f"Water rose in {called} as the soils told there let it."
        if holds
        else f"By how the water rose in {called} the ground there is {way} permeable than told.",
        where=Where((f"site.probes.{name}.rises", "site.soils.*.layers.*.permeability"), (place,)),
        value=found,
        limit=high if found > high else low,
        operator="<=" if found > high else ">=",
        kind=SPEED,
        source=limit.source,
        advice=()
        if holds
        else (Advice("Put the permeability of the layer that the water came out of into the soils."),),
        assumes=("The pit is about 1 m (3 ft) across.",),
    )


def check_dry_ground(share: Ratio, spots: Spots, limits: Limits) -> Finding:
    """Whether the ground stays wet enough for what is computed to hold."""
    limit = limits["groundwater.dry_ground"]
    holds = share <= limit.value
    return judged(
        limit,
        share,
        Grade.GOOD if holds else Grade.LOOK,
        (
            "Nearly nowhere does the model find the ground dry to its base."
            if holds
            else "In places the ground is dry to its base: of the groundwater there only that it is low is "
            "told."
        ),
        where=Where(("groundwater.base", "groundwater.heads"), spots),
        advice=(Advice("Tell how deep the ground lets water through, if it is deeper than the soils told."),),
    )


def check_settled(restless: int, limits: Limits) -> Finding:
    """Whether the groundwater came to rest in computing, in every case."""
    limit = limits["groundwater.settled"]
    holds = restless <= limit.value
    return judged(
        limit,
        float(restless),
        Grade.GOOD if holds else Grade.LOOK,
        (
            "The groundwater comes to rest in computing, in every case."
            if holds
            else "Here and there the groundwater does not come to rest in computing: its level is only near."
        ),
        where=Where(("groundwater.cases", "groundwater.base", "site.soils.*.layers")),
        advice=(
            Advice("Look for open soil that is told as very thin on a steep slope, and tell it thicker."),
            Advice("Or tell how deep the ground lets water through, if it is deeper than the soils told."),
            Advice("Until then trust the standpipes more than the model."),
        ),
    )


def check_drain_end(names: Sequence[str], spots: Spots, limits: Limits) -> Finding:
    """Whether every drain leads somewhere."""
    limit = limits["groundwater.drain_end"]
    holds = not names
    says = "Every drain leads to an outlet or a sump."
    if names:
        verb = "leads" if len(names) == 1 else "lead"
        says = f"{_listed(names)} {verb} nowhere, and {'is' if len(names) == 1 else 'are'} not counted."
    return judged(
        limit,
        float(len(names)),
        Grade.GOOD if holds else Grade.STOP,
        says,
        where=Where(tuple(f"groundwater.drains.{name}.into" for name in names), spots),
        advice=(Advice("Let it run into an outlet, another drain or a sump, or take it out."),),
    )


def check_formula(
    name: str, called: str, modelled: Flow, formula: Flow, place: PlanPoint, limits: Limits
) -> Finding:
    """Whether the model brings about as much water to a drain as the trench formula does."""
    limit = limits["groundwater.drain_formula"]
    off = max(modelled / formula, formula / modelled)
    holds = off <= limit.value
    start = called[0].upper() + called[1:]
    many = f"{off:.2g} times as much"
    says = f"{start} takes about as much water in the model as by the trench formula."
    if not holds and modelled > formula:
        says = f"The model brings {many} water to {called} as the trench formula does."
    elif not holds:
        says = f"The trench formula brings {many} water to {called} as the model does."
    return judged(
        limit,
        off,
        Grade.GOOD if holds else Grade.LOOK,
        says,
        where=Where((f"groundwater.drains.{name}", f"groundwater.cases.formulas.{name}"), (place,)),
        advice=(
            Advice("Size the drain by the larger of the two."),
            Advice("Look at what the formula does not know: a seep, a pond or ditch near by, steep ground."),
        ),
        assumes=("The formula takes the drain for one long trench in level ground, felt by rule of thumb.",),
    )


def drain_above_liner(name: str, called: str, place: PlanPoint) -> Finding:
    """A drain that lies within a pond, above its liner."""
    return Finding(
        code="groundwater.drain_place",
        grade=Grade.STOP,
        says=f"{called} lies above the liner of a pond for a part, where it would drain the pond.",
        where=Where((f"groundwater.drains.{name}.inverts",), (place,)),
        source=PRACTICE,
        advice=(Advice("Lay it below the liner, or lead it round the pond."),),
    )


def _listed(names: Sequence[str]) -> str:
    shown = [name.replace("_", " ") for name in names]
    text = shown[0] if len(shown) == 1 else ", ".join(shown[:-1]) + " and " + shown[-1]
    return text[0].upper() + text[1:] if text[0].isalpha() and not text.islower() else text
