"""The site's stages: from the document's shots to the existing ground, and what a shore finds on it.

``site.ground`` reads the survey alone, so that it rests while a shore is bent; ``site.uncertainty``
tells how sure that ground is, which nobody waits for while a shot is moved; ``site.existing`` lays
each body's shoreline on that ground.  ``site.old_hole`` and ``site.layers`` need no shore: the old pond, its
muck, and the soil and water round it.
"""

from __future__ import annotations

from pondwright.rooms.site.stage.bounds import (
    ClearancesResult,
    LineClearance,
    ThingClearance,
    clearances_stage,
)
from pondwright.rooms.site.stage.existing import BodyOnGround, ExistingResult, existing_stage
from pondwright.rooms.site.stage.ground import (
    GroundResult,
    UncertaintyResult,
    ground_stage,
    uncertainty_stage,
)
from pondwright.rooms.site.stage.levels import (
    BookLevels,
    BookLine,
    LevelPointsResult,
    LevelsResult,
    level_points_stage,
    levels_stage,
)
from pondwright.rooms.site.stage.muck import MuckResult
from pondwright.rooms.site.stage.old_hole import MarkOnHole, OldHoleResult, old_hole_stage
from pondwright.rooms.site.stage.painted import PaintedLine, PaintedResult, painted_stage
from pondwright.rooms.site.stage.rebase import RebaseResult, rebase_stage
from pondwright.rooms.site.stage.soils import LayersResult, ProbeOnGround, layers_stage
from pondwright.rooms.site.stage.visit import VisitResult, visit_stage

__all__ = [
    "BodyOnGround",
    "BookLevels",
    "BookLine",
    "ClearancesResult",
    "ExistingResult",
    "GroundResult",
    "LayersResult",
    "LevelPointsResult",
    "LevelsResult",
    "LineClearance",
    "MarkOnHole",
    "MuckResult",
    "OldHoleResult",
    "PaintedLine",
    "PaintedResult",
    "ProbeOnGround",
    "RebaseResult",
    "ThingClearance",
    "UncertaintyResult",
    "VisitResult",
    "clearances_stage",
    "existing_stage",
    "ground_stage",
    "layers_stage",
    "level_points_stage",
    "levels_stage",
    "old_hole_stage",
    "painted_stage",
    "rebase_stage",
    "uncertainty_stage",
    "visit_stage",
]
