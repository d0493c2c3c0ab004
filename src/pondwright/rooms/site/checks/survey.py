"""What is checked about the shots: enough of them, located, and agreeing with one another."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pondwright.base.findings import Advice, Finding, Grade, Limit, Op, Where, judged
from pondwright.base.kinds import (
    ANGLE,
    COUNT,
    LENGTH,
    RATIO,
    Angle,
    Elevation,
    Elevations,
    Length,
    Lengths,
    Ratio,
)
from pondwright.base.sources import PRACTICE, derived
from pondwright.geometry.tin import TinProblem
from pondwright.rooms.site.location import PlanPoint, TapeTie
from pondwright.rooms.site.uncertainty import LeftOut

Limits = Mapping[str, Limit]

LIMITS = (
    Limit("site.shot_count", "Shots on the ground, at least", 12.0, COUNT, PRACTICE),
    Limit("site.shots_without_height", "Shots on the ground without a height, at most", 0.0, COUNT, PRACTICE),
    Limit("site.same_place", "Distance between two shots, at least", 0.01, LENGTH, PRACTICE),
    Limit(
        "site.reading_slip",
        "Misfit of a shot against its neighbours, in times of what is usual on this site, at most",
        4.0,
        RATIO,
        derived("one in 16,000 by chance if misses are normal"),
    ),
    Limit(
        "site.tie_angle",
        "Angle between two tapes, at least, and as much short of a straight line",
        math.radians(30.0),
        ANGLE,
        derived("error of place doubles against a square tie"),
    ),
    Limit("site.tape_residual", "Gap that three tapes leave, at most", 0.06, LENGTH, PRACTICE),
    Limit(
        "site.far_shot",
        "Distance of a shot from the middle of all, in times of what half of them have, at most",
        5.0,
        RATIO,
        PRACTICE,
    ),
    Limit(
        "site.height_in_feet",
        "Height of a shot off the middle of all, in times of their spread, at most",
        5.0,
        RATIO,
        PRACTICE,
    ),
    Limit("site.line_heights", "Difference of height where breaklines meet, at most", 0.02, LENGTH, PRACTICE),
)

FOOT = 0.3048

_WHOLE_SLIPS = (FOOT, 1.0)
_FEWEST_TO_COMPARE = 5
_MOST_OF_THEM = 0.9
_LEAST_SPREAD = 0.5
_SLIP_SLACK = 0.15
_FEW = 30


@dataclass(frozen=True, slots=True, eq=False)
class SurveyShots:
    """Shots that stand for the ground: id, place and elevation, and which ones a line goes through."""

    ids: tuple[str, ...]
    points: Lengths
    elevations: Elevations
    on_line: frozenset[str]

    def place(self, shot: int) -> PlanPoint:
        """East and north of a shot."""
        return float(self.points[shot, 0]), float(self.points[shot, 1])

    def path(self, shot: int) -> str:
        """Dotted path of a shot in the document."""
        return f"site.shots.{self.ids[shot]}"


def check_shot_count(shots: int, points: int, limits: Limits) -> Finding:
    """Whether enough shots, and points of measured surfaces, tell the ground."""
    limit = limits["site.shot_count"]
    count = shots + points
    enough = count >= limit.value
    told = f"{shots} shots on the ground" + (f" and {points} points of measured surfaces" if points else "")
    return judged(
        limit,
        float(count),
        Grade.GOOD if enough else Grade.LOOK,
        told + ("." if enough else ": a pond needs more."),
        where=Where(paths=("site.shots",)),
        operator=">=",
        advice=(
            Advice("Shoot the rim every few steps, closest where it is low, then a cross through the floor."),
        ),
    )


def check_heights(without: Sequence[str], limits: Limits) -> Finding:
    """Whether every shot on the ground has a height and a place."""
    limit = limits["site.shots_without_height"]
    return Finding(
        code=limit.code,
        grade=Grade.LOOK if len(without) > limit.value else Grade.GOOD,
        says=f"{len(without)} shots on the ground have no height or place yet and are left out."
        if without
        else "Every shot on the ground has a height and a place.",
        where=Where(paths=tuple(f"site.shots.{shot}" for shot in without)),
        value=float(len(without)),
        limit=limit.value,
        operator="<=",
        kind=COUNT,
        source=limit.source,
        advice=(Advice("Type their heights in, or read them in a level book; locate those without a place."),)
        if without
        else (),
    )


def check_same_place(
    shots: SurveyShots, pairs: Sequence[tuple[int, int]], limits: Limits
) -> tuple[Finding, ...]:
    """Shots that stand on one spot: the first is kept, never a mean."""
    limit = limits["site.same_place"]
    if not pairs:
        return (_passed(limit, "No two shots stand on one spot.", "site.shots", ">="),)
    return tuple(_same_place(shots, kept, dropped, limit) for kept, dropped in pairs)


def check_reading_slips(
    shots: SurveyShots, left: LeftOut, rough: Length, limits: Limits
) -> tuple[Finding, ...]:
    """Shots far off what their neighbours foretell: probably a slip of the rod or of the pen."""
    limit = limits["site.reading_slip"]
    times = np.abs(left.miss) / np.maximum(left.expected(rough), np.finfo(np.float64).tiny)
    slipped = _worst_of_each_star(times, left, limit.value)
    if not slipped:
        return (_passed(limit, "Every shot agrees with its neighbours.", "site.shots", "<="),)
    return tuple(_slip(shots, shot, float(left.miss[shot]), float(times[shot]), limit) for shot in slipped)


def check_tie(shot: str, place: PlanPoint, angle: Angle, limits: Limits) -> Finding:
    """Whether the two tapes of a tied shot cross squarely enough."""
    limit = limits["site.tie_angle"]
    least = min(angle, math.pi - angle)
    good = least >= limit.value
    return judged(
        limit,
        least,
        Grade.GOOD if good else Grade.LOOK,
        (
            f"The tapes to shot {shot} cross squarely enough."
            if good
            else f"The tapes to shot {shot} run almost in one line, so its place is weak."
        ),
        where=Where((f"site.shots.{shot}.place",), (place,)),
        operator=">=",
        advice=(Advice("Tape it from a mark more to the side, or add a third tape."),),
    )


def check_tape_residual(shot: str, place: PlanPoint, residual: Length, limits: Limits) -> Finding:
    """Whether three tapes to one shot agree."""
    limit = limits["site.tape_residual"]
    good = residual <= limit.value
    return judged(
        limit,
        residual,
        Grade.GOOD if good else Grade.LOOK,
        f"The tapes to shot {shot} agree." if good else f"The tapes to shot {shot} do not agree.",
        where=Where((f"site.shots.{shot}.place",), (place,)),
        advice=(Advice("Tape it again; one of the tapes was misread or not level."),),
    )


def check_tie_side(
    shot: str,
    tie: TapeTie,
    between: tuple[str, str],
    told: Literal["left", "right"],
    found: Literal["left", "right"],
    *,
    third: bool,
) -> Finding:
    """On which side of its two marks a taped shot stands, with the other answer offered.

    Two tapes cannot tell the sides apart; a third one can, and then it holds.
    """
    first, second = between
    other: Literal["left", "right"] = "right" if found == "left" else "left"
    path = f"/site/shots/{shot}/place/side"
    agrees = told == found
    advice: tuple[Advice, ...] = ()
    if not agrees:
        says = (
            f"The third tape puts shot {shot} on the {found} of the line from {first} to {second}, "
            f"not on the {told}; the tapes hold."
        )
        advice = (Advice(f"Write down that it stands on the {found}.", (Op("add", path, found),)),)
    elif third:
        says = f"The tapes put shot {shot} on the {found} of the line from {first} to {second}, as told."
    else:
        says = f"Shot {shot} is taken to stand on the {found} of the line from {first} to {second}."
        advice = (Advice(f"If it does not, put it on the {other} of it.", (Op("add", path, other),)),)
    return Finding(
        code="site.tie_side",
        grade=Grade.GOOD if agrees else Grade.LOOK,
        says=says,
        where=Where((f"site.shots.{shot}.place",), (tie.point, tie.other)),
        source=derived("two circles meet twice"),
        advice=advice,
    )


def check_far_shots(
    shots: SurveyShots, by_coordinates: NDArray[np.bool_], points: Lengths, limits: Limits
) -> tuple[Finding, ...]:
    """Shots that stand far off all others: mostly a slip of the pen, or feet typed as metres."""
    limit = limits["site.far_shot"]
    everywhere = np.concatenate([shots.points, points])
    far: list[int] = []
    if len(everywhere) >= _FEWEST_TO_COMPARE:
        middle = np.median(everywhere, axis=0)
        usual = float(np.median(np.hypot(*(everywhere - middle).T)))
        away = np.hypot(*(shots.points - middle).T)
        far = [int(shot) for shot in np.flatnonzero(away > limit.value * usual)] if usual > 0.0 else []
    if not far:
        return (_passed(limit, "No shot stands far off all others.", "site.shots", "<="),)
    return tuple(
        _far(shots, shot, float(away[shot]) / usual, limit, _feet_of_place(shots, shot, middle, usual))
        if by_coordinates[shot]
        else _far(shots, shot, float(away[shot]) / usual, limit, ())
        for shot in far
    )


def check_height_units(
    shots: SurveyShots, typed: NDArray[np.bool_], heights: Elevations, limits: Limits
) -> tuple[Finding, ...]:
    """Heights that are off all others and would not be, had they been typed in the other unit."""
    limit = limits["site.height_in_feet"]
    everything = np.concatenate([shots.elevations, heights])
    told: list[Finding] = []
    if len(everything) >= _FEWEST_TO_COMPARE:
        middle = float(np.median(everything))
        spread = max(float(np.quantile(np.abs(everything - middle), _MOST_OF_THEM)), _LEAST_SPREAD)
        for shot in np.flatnonzero(np.abs(shots.elevations - middle) > limit.value * spread):
            elevation = float(shots.elevations[shot])
            for factor, was, is_now in ((FOOT, "feet", "metres"), (1.0 / FOOT, "metres", "feet")):
                if abs(elevation * factor - middle) <= spread:
                    times = abs(elevation - middle) / spread
                    told.append(
                        _in_feet(shots, int(shot), times, factor, was, is_now, limit, bool(typed[shot]))
                    )
    return tuple(told) or (
        _passed(limit, "No height looks as if typed in another unit.", "site.shots", "<="),
    )


def untied(shot: str, why: str) -> Finding:
    """A shot whose place has no answer: it is left out, and that stops."""
    return Finding(
        code="site.no_place",
        grade=Grade.STOP,
        says=f"Shot {shot} has no place and is left out: {why}.",
        where=Where((f"site.shots.{shot}.place",)),
        source=derived("plane geometry"),
        advice=(Advice("Measure it again, or type its east and north."),),
    )


def check_lines_agree(
    shots: SurveyShots, problems: Sequence[TinProblem], limits: Limits
) -> tuple[Finding, ...]:
    """Breaklines that cross, or pass through a shot, at another height: never averaged."""
    limit = limits["site.line_heights"]
    told = [problem for problem in problems if abs(problem.held - problem.other) > limit.value]
    if not told:
        return (_passed(limit, "The breaklines agree where they meet.", "site.lines", "<="),)
    return tuple(_disagreement(shots, problem, limit) for problem in told)


def told_replaced(survey: str, shots: Sequence[str], points: int, ring: Lengths) -> Finding:
    """That a later survey took over ground that was shot before."""
    told = [f"{len(shots)} shots"] if shots else []
    told += [f"{points} points of measured surfaces"] if points else []
    return Finding(
        code="site.replaced",
        grade=Grade.GOOD,
        says=f"Survey {survey} replaces {' and '.join(told)} on the ground that was shot again.",
        where=Where(
            (f"site.surveys.{survey}", *(f"site.shots.{shot}" for shot in shots[:_FEW])),
            tuple((float(east), float(north)) for east, north in ring[:: 1 + len(ring) // _FEW]),
        ),
        value=float(len(shots) + points),
        kind=COUNT,
        source=derived("the later survey holds where it was made"),
        advice=(
            Advice(
                "If it is not to replace them, let both hold.",
                (Op("add", f"/site/surveys/{survey}/replaces", False),),
            ),
        ),
    )


def check_replaced_lines(lines: Mapping[str, Sequence[str]], left: Mapping[str, int]) -> tuple[Finding, ...]:
    """Breaklines that lost shots to a later survey (by line), and how many of their shots are left."""
    return tuple(
        Finding(
            code="site.line_replaced",
            grade=Grade.LOOK,
            says=f"Breakline {line} lost {len(shots)} shots to a later survey and ends where they were."
            if left[line] > 1
            else f"Breakline {line} lost its shots to a later survey and is left out.",
            where=Where((f"site.lines.{line}", *(f"site.shots.{shot}" for shot in shots[:_FEW]))),
            value=float(len(shots)),
            kind=COUNT,
            source=derived("a breakline needs its shots"),
            advice=(Advice("If the bank is still there, shoot along it again and join the new shots."),)
            + (
                ()
                if left[line] > 1
                else (Advice(f"Remove breakline {line}.", (Op("remove", f"/site/lines/{line}"),)),)
            ),
        )
        for line, shots in lines.items()
    )


def check_plan_lines(lines: Sequence[str]) -> tuple[Finding, ...]:
    """Breaklines that are drawn on the plan only: without heights they cannot bend the ground."""
    return tuple(
        Finding(
            code="site.line_without_heights",
            grade=Grade.LOOK,
            says=f"Breakline {line} runs through points without heights and is left out.",
            where=Where((f"site.lines.{line}",)),
            source=derived("a breakline needs heights"),
            advice=(Advice("Shoot along it and join the shots."),),
        )
        for line in lines
    )


def _passed(limit: Limit, says: str, path: str, operator: str) -> Finding:
    return Finding(
        code=limit.code,
        grade=Grade.GOOD,
        says=says,
        where=Where((path,)),
        limit=limit.value,
        operator=operator,
        kind=limit.kind,
        source=limit.source,
    )


def _same_place(shots: SurveyShots, kept: int, dropped: int, limit: Limit) -> Finding:
    advice: tuple[Advice, ...] = (Advice("Remove one of the two, or move the one that was misplaced."),)
    if shots.ids[dropped] not in shots.on_line:
        remove = Op("remove", f"/site/shots/{shots.ids[dropped]}")
        advice += (Advice(f"Remove shot {shots.ids[dropped]}.", (remove,)),)
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"Shots {shots.ids[kept]} and {shots.ids[dropped]} stand on one spot; the first is used.",
        where=Where((shots.path(kept), shots.path(dropped)), (shots.place(kept),)),
        value=math.dist(shots.place(kept), shots.place(dropped)),
        limit=limit.value,
        operator=">=",
        kind=LENGTH,
        source=limit.source,
        advice=advice,
    )


def _feet_of_place(shots: SurveyShots, shot: int, middle: Lengths, usual: Length) -> tuple[Advice, ...]:
    """Advice to read a place as feet, if that brings it among the others."""
    metres = shots.points[shot] * FOOT
    if math.dist(metres, middle) > 2.0 * usual:
        return ()
    path = f"/site/shots/{shots.ids[shot]}/place"
    ops = tuple(
        Op("replace", f"{path}/{way}", round(float(value), 4))
        for way, value in zip(("east", "north"), metres, strict=True)
    )
    return (Advice("Its place was typed in feet: turn it into metres.", ops),)


def _far(shots: SurveyShots, shot: int, times: Ratio, limit: Limit, ways: tuple[Advice, ...]) -> Finding:
    name = shots.ids[shot]
    if name not in shots.on_line:
        ways += (Advice(f"Remove shot {name}.", (Op("remove", f"/site/shots/{name}"),)),)
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"Shot {name} stands far off all other shots.",
        where=Where((f"{shots.path(shot)}.place",), (shots.place(shot),)),
        value=times,
        limit=limit.value,
        operator="<=",
        kind=RATIO,
        source=limit.source,
        advice=(Advice("Look whether its place was typed right."), *ways),
    )


def _in_feet(
    shots: SurveyShots,
    shot: int,
    times: Ratio,
    factor: Ratio,
    was: str,
    taken: str,
    limit: Limit,
    typed: bool,
) -> Finding:
    name = shots.ids[shot]
    straight = round(float(shots.elevations[shot]) * factor, 4)
    turn = Advice(
        f"Turn its height from {was} into {taken}.",
        (Op("replace", f"/site/shots/{name}/elevation", straight),),
    )
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"The height of shot {name} looks as if it was read in {was} and taken as {taken}.",
        where=Where((f"{shots.path(shot)}.elevation",), (shots.place(shot),)),
        value=times,
        limit=limit.value,
        operator="<=",
        kind=RATIO,
        source=limit.source,
        advice=(turn,) if typed else (Advice("Look at the unit of the level book that it was read in."),),
    )


def _worst_of_each_star(times: NDArray[np.float64], left: LeftOut, most: Ratio) -> list[int]:
    """Shots beyond the limit, without those that only look wrong beside a worse one."""
    suspects = [int(shot) for shot in np.flatnonzero(left.usable & (times > most))]
    return [
        shot
        for shot in suspects
        if not any(times[beside] > times[shot] for beside in left.neighbours[shot] if beside in suspects)
    ]


def _slip(shots: SurveyShots, shot: int, miss: Length, times: Ratio, limit: Limit) -> Finding:
    name, elevation = shots.ids[shot], float(shots.elevations[shot])
    high = "above" if miss > 0.0 else "below"
    advice = tuple(
        _taken_off(name, elevation, slip, miss)
        for slip in _WHOLE_SLIPS
        if abs(abs(miss) - slip) <= _SLIP_SLACK * slip
    )
    if name not in shots.on_line:
        advice += (Advice(f"Remove shot {name}.", (Op("remove", f"/site/shots/{name}"),)),)
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=f"Shot {name} stands far {high} what the shots around it say: probably a slip in reading.",
        where=Where((shots.path(shot),), (shots.place(shot),)),
        value=times,
        limit=limit.value,
        operator="<=",
        kind=RATIO,
        source=limit.source,
        advice=(Advice("Shoot it again."), *advice),
        assumes=("The ground is as rough here as elsewhere on the site.",),
    )


def _disagreement(shots: SurveyShots, problem: TinProblem, limit: Limit) -> Finding:
    concerned = tuple(dict.fromkeys(problem.shots))
    says = (
        "Two breaklines cross at different heights; the one listed first holds."
        if problem.kind == "crossing"
        else f"Shot {shots.ids[concerned[0]]} stands on a breakline at another height; the shot holds."
    )
    return Finding(
        code=limit.code,
        grade=Grade.LOOK,
        says=says,
        where=Where(tuple(shots.path(shot) for shot in concerned), (problem.point,)),
        value=abs(problem.held - problem.other),
        limit=limit.value,
        operator="<=",
        kind=LENGTH,
        source=limit.source,
        advice=(Advice("Take a shot where they meet and put it into both lines, or end one of them there."),),
    )


def _taken_off(name: str, elevation: Elevation, slip: Length, miss: Length) -> Advice:
    """Advice to take a whole foot or metre off a reading that slipped by it, or to put it on."""
    unit = "foot" if slip == FOOT else "metre"
    straight = round(elevation - math.copysign(slip, miss), 4)
    says = f"Take one {unit} off." if miss > 0.0 else f"Put one {unit} on."
    return Advice(says, (Op("replace", f"/site/shots/{name}/elevation", straight),))
