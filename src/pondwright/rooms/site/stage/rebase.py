"""Ground before the latest survey that replaces another, against the ground now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.figures import figure
from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import (
    AREA,
    LENGTH,
    SOIL_VOLUME,
    VOLUME,
    Area,
    Elevations,
    Length,
    Lengths,
    Volume,
)
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside
from pondwright.geometry.tin import Tin, tin_to_grid
from pondwright.job.site import Survey
from pondwright.rooms.site.checks import rebase as rebase_checks
from pondwright.rooms.site.existing import hollow
from pondwright.rooms.site.location import PlanPoint
from pondwright.rooms.site.rebase import ground_change, ring_grid
from pondwright.rooms.site.stage.ground import survey_tin
from pondwright.rooms.site.stage.shared import limits_of
from pondwright.rooms.site.stage.survey import located_survey, survey_ranks

SURVEY = ("site.marks", "site.shots", "site.lines", "site.surveys", "site.clouds")
"""What the survey is read from."""

TWO_GROUNDS = ("site.surveys", "site.ground.z")


@dataclass(frozen=True, slots=True, eq=False)
class RebaseResult:
    """What the latest survey that replaces another found changed; nothing where there is none.

    `rise` tells at each node of the ground how much it rose; what lies outside `ring` did not.
    """

    survey: str
    ring: Lengths
    rise: Lengths | None
    drop_point: PlanPoint | None
    gone: Volume | None = figure(
        SOIL_VOLUME, "Ground gone since it was shot before", by=ground_change, uses=TWO_GROUNDS
    )
    come: Volume | None = figure(
        SOIL_VOLUME, "Ground come since it was shot before", by=ground_change, uses=TWO_GROUNDS
    )
    area: Area | None = figure(AREA, "Area that was shot again", by=ground_change, uses=("site.surveys",))
    largest_drop: Length | None = figure(
        LENGTH, "Deepest lowering since it was shot before", by=ground_change, uses=TWO_GROUNDS
    )
    hollow_change: Volume | None = figure(
        VOLUME,
        "What the hollow inside it holds more than before; below zero it holds less",
        by=hollow,
        uses=TWO_GROUNDS,
    )


def rebase_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[RebaseResult, tuple[Finding, ...]]:
    """What changed where the ground was shot again.

    Parameters
    ----------
    view : mapping        Reads `site.marks`, `site.shots`, `site.lines`, `site.surveys`, `site.clouds`,
                          `rules`.
    results : mapping     Needs `site.levels`, `site.ground`.

    Returns
    -------
    RebaseResult and the check of what moved.
    """
    limits, ground, heights = limits_of(view), results["site.ground"], results["site.levels"].heights
    survey = {name: view[name] for name in SURVEY}
    latest = _latest(survey["site.surveys"])
    ring = next((each.ring for each in ground.replaced if each.survey == latest), None)
    old = None if latest is None else _before(latest, survey, heights, limits)
    if latest is None or ring is None or old is None:
        return RebaseResult("", np.empty((0, 2)), None, None, None, None, None, None, None), ()
    grid = ring_grid(ring)
    change = ground_change(tin_to_grid(old, grid).z, tin_to_grid(ground.tin, grid).z, grid, ring)
    before = tin_to_grid(old, ground.grid).z
    nodes = np.column_stack([part.ravel() for part in np.meshgrid(ground.grid.east, ground.grid.north)])
    inside = points_inside([ring], nodes).reshape(ground.grid.shape)
    held = [_held(z, ground.grid, ring) for z in (before, ground.z)]
    result = RebaseResult(
        survey=latest,
        ring=ring,
        rise=np.where(inside, ground.z - before, 0.0),
        drop_point=change.drop_point if change.largest_drop > 0.0 else None,
        gone=change.gone,
        come=change.come,
        area=change.area,
        largest_drop=change.largest_drop,
        hollow_change=None if held[0] is None or held[1] is None else held[1] - held[0],
    )
    return result, (rebase_checks.check_rebased(latest, change, limits),)


def _latest(surveys: Mapping[str, Survey]) -> str | None:
    """Last survey in the order in which they were made that replaces what was there before."""
    replacing = [name for name in survey_ranks(surveys) if surveys[name].replaces]
    return replacing[-1] if replacing else None


def _before(
    latest: str, view: Mapping[str, Any], heights: Mapping[str, float], limits: Mapping[str, Limit]
) -> Tin | None:
    """Ground as if the latest survey had not been made; none if there was none."""
    try:
        return survey_tin(located_survey(view, heights, limits, without=latest), view["site.lines"])[0]
    except DomainError:
        return None


def _held(z: Elevations, grid: Grid, ring: Lengths) -> Volume | None:
    """What the hollow inside a ring holds; none where the ring lies between the nodes."""
    try:
        return hollow(z, grid, ring).volume
    except DomainError:
        return None
