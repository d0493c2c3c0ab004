"""Where each drain can be rodded: eyes that come up outside every liner, and how far a rod must reach.

Drains that go on straight into each other are one line: where they meet under a liner no eye is needed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import Angle, Elevations, Length, Lengths
from pondwright.job.groundwater import Drain
from pondwright.rooms.groundwater.checks.drains import Named, check_eyes
from pondwright.rooms.groundwater.lines import stations as distances
from pondwright.rooms.groundwater.pipes import SHARP_BEND, cut_line, eyes_outside, rodding_eyes
from pondwright.rooms.groundwater.stage.drain_lines import DrainLine

MEETS: Length = 0.5
"""Ends that are no farther apart meet. [m]; common practice, no source."""

Covered = Callable[[Lengths], NDArray[np.bool_]]
Places = dict[str, tuple[Length, ...]]


def eyes_of(
    lines: Mapping[str, DrainLine],
    drains: Mapping[str, Drain],
    covered: Covered,
    step: Length,
    limits: Mapping[str, Limit],
) -> tuple[Places, list[Finding]]:
    """Rodding eyes of all drains, as distances along each, and whether every line can be rodded.

    Parameters
    ----------
    lines : mapping         Drains with a length, by name.
    drains : mapping        Their rows.
    covered : callable      Whether a liner lies over points.
    step : Length           Longest distance between the places that are tried. [m]
    limits : mapping        Limits by code.

    Returns
    -------
    Distances by drain, and a check of each line of drains.
    """
    places: Places = {name: () for name in lines}
    findings = []
    most = limits["groundwater.drain_eyes"].value
    for chain in _chains(lines, drains):
        points = np.vstack([lines[chain[0]].points, *(lines[name].points[1:] for name in chain[1:])])
        level: Elevations = np.zeros(len(points))
        tried = cut_line(points, level, step)
        eyes = eyes_outside(rodding_eyes(points, most), tried.chainage, covered(tried.points))
        starts = _starts(chain, lines, points)
        for eye in eyes:
            name = chain[_number(starts, eye)]
            own = min(eye - starts[chain.index(name)], lines[name].length)
            places[name] = (*places[name], max(own, 0.0))
        findings.append(_finding(chain, starts, eyes, tried.chainage, tried.points, drains, limits))
    return places, findings


def _chains(lines: Mapping[str, DrainLine], drains: Mapping[str, Drain]) -> list[list[str]]:
    """Drains in lines, each from its upper end down; of several that meet, the straightest goes on."""
    before: dict[str, tuple[Angle, str]] = {}
    for name, line in lines.items():
        into = drains[name].into
        if into is None or into not in lines:
            continue
        end, start = line.points[-1], lines[into].points[0]
        turn = _turn(line.points, lines[into].points)
        if math.dist(end, start) <= MEETS and turn <= SHARP_BEND + 1e-9:
            before[into] = min(before.get(into, (math.inf, "")), (turn, name))
    after = {name: into for into, (_turned, name) in before.items()}
    chains = []
    for name in (one for one in lines if one not in before):
        chain = [name]
        while chain[-1] in after:
            chain.append(after[chain[-1]])
        chains.append(chain)
    return chains


def _turn(upper: Lengths, lower: Lengths) -> Angle:
    """Turn between the end of a line and the beginning of another. [rad]"""
    ways = [_way(upper[::-1]) + math.pi, _way(lower)]
    return abs((ways[1] - ways[0] + math.pi) % (2.0 * math.pi) - math.pi)


def _way(points: Lengths) -> Angle:
    """Direction of the first piece of a line that has a length. [rad]"""
    steps = points - points[0]
    step = steps[int(np.argmax(np.hypot(*steps.T) > 1e-9))]
    return math.atan2(step[1], step[0])


def _starts(chain: list[str], lines: Mapping[str, DrainLine], points: Lengths) -> list[Length]:
    """Where each drain of a line begins. [m]"""
    run = distances(points)
    corners = np.cumsum([0, *(len(lines[name].points) - 1 for name in chain[:-1])])
    return [float(run[corner]) for corner in corners]


def _number(starts: list[Length], at: Length) -> int:
    """Which drain of a line a distance along it lies in; where two meet, the lower."""
    return max(int(np.searchsorted(starts, at + 1e-9)) - 1, 0)


def _finding(
    chain: list[str],
    starts: list[Length],
    eyes: tuple[Length, ...],
    chainage: Lengths,
    points: Lengths,
    drains: Mapping[str, Drain],
    limits: Mapping[str, Limit],
) -> Finding:
    """Whether a line of drains can be rodded: the farthest that a rod must reach, and in which drain."""
    length = float(chainage[-1])
    ends = np.array([0.0, *eyes, length])
    worst = int(np.argmax(np.diff(ends)))
    middle = float(0.5 * (ends[worst] + ends[worst + 1]))
    east, north = (float(np.interp(middle, chainage, points[:, axis])) for axis in (0, 1))
    name = chain[_number(starts, middle)]
    row = Named(drains[name].name or f"the drain `{name}`", f"groundwater.drains.{name}")
    longest = float(np.diff(ends).max()) if eyes else None
    return check_eyes(row, longest, (east, north), limits)
