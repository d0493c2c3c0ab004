"""The site's stages: from the document's shots to the existing ground, and what a shore finds on it.

``site.ground`` reads the survey alone, so that it rests while a shore is bent; ``site.uncertainty``
tells how sure that ground is, which nobody waits for while a shot is moved; ``site.existing`` lays
each body's shoreline on that ground.
"""

from __future__ import annotations

from pondwright.rooms.site.stage.existing import BodyOnGround, ExistingResult, existing_stage
from pondwright.rooms.site.stage.ground import (
    GroundResult,
    UncertaintyResult,
    ground_stage,
    uncertainty_stage,
)

__all__ = [
    "BodyOnGround",
    "ExistingResult",
    "GroundResult",
    "UncertaintyResult",
    "existing_stage",
    "ground_stage",
    "uncertainty_stage",
]
