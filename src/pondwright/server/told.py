"""What a window has been told already: a frame tells only the figures and checks that are new to it.

A job has thousands of figures and hundreds of checks, and a peg under a hand moves few of them.  Frames
reach a window one after the other and none is lost, so that each may go on from the one before.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from pondwright import api
from pondwright.base.findings import Finding
from pondwright.flow.engine import Run
from pondwright.server.plain import plain


@dataclass(frozen=True, slots=True)
class Told:
    """What the last frame of a window told: its number (none before the first), results, and checks."""

    seq: int | None
    results: Mapping[str, Any]
    checks: tuple[Finding, ...]


NOTHING = Told(None, {}, ())
"""What a window knows that has just come."""


def told_by(seq: int, run: Run) -> Told:
    """What a window knows once it has been told everything of a run.

    Parameters
    ----------
    seq : int
        Number of the frame that tells it.
    run : Run

    Returns
    -------
    Told
    """
    found = api.checks(run)
    results = {name: state.result for name, state in run.stages.items()}
    return Told(seq, results, (*found.stop, *found.look, *found.good))


def new_figures(run: Run, before: Told) -> dict[str, dict[str, float | None]]:
    """Figures of the stages that gave something else than the window knows, by stage and path.

    Parameters
    ----------
    run : Run
    before : Told

    Returns
    -------
    dict
        Of each such stage all figures; numbers without end are None.
    """
    new = [name for name, state in run.stages.items() if state.result is not before.results.get(name)]
    return {name: {one.path: _finite(one.value) for one in api.figures(run, name)} for name in new}


def new_checks(checks: Sequence[Finding], before: Sequence[Finding]) -> list[dict[str, Any] | int]:
    """Checks in their order: plain JSON of each that is new, the place in the list before of each other.

    Parameters
    ----------
    checks, before : sequence of Finding

    Returns
    -------
    list of dict or int
    """
    places = {(finding.code, finding.says): place for place, finding in enumerate(before)}
    told: list[dict[str, Any] | int] = []
    for finding in checks:
        place = places.get((finding.code, finding.says))
        told.append(plain(finding) if place is None or before[place] != finding else place)
    return told


def _finite(value: float | None) -> float | None:
    return None if value is None or not isfinite(value) else float(value)
