"""Site: what is there.  From readings to the existing ground, and how well it is known.

First room of the job; every later room stands on its surface.  It locates the shots, joins them to a
ground, says how sure that ground is, and what it says about a shore: the low rim, the hollow, and
how much of it is a guess.  Its methods are plain geometry and the propagation of errors; its limits are
mostly common practice and say so.
"""

from __future__ import annotations

from pondwright.rooms.site.carried import VolumeSigma, volume_sigma
from pondwright.rooms.site.existing import Hollow, LowRim, guessed_share, hollow, low_rim
from pondwright.rooms.site.ground import (
    GUESSED,
    INTERPOLATED,
    SHOT,
    default_grid,
    existing_ground,
    ground_uncertainty,
)
from pondwright.rooms.site.location import bearing_point, many_tape_tie, offset_point, two_tape_tie
from pondwright.rooms.site.muck import MuckAccount, muck_account, muck_surface
from pondwright.rooms.site.old_hole import OldHole, hole_storage
from pondwright.rooms.site.soils import SoilLayers, layer_stack, soil_column
from pondwright.rooms.site.uncertainty import GroundUncertainty

__all__ = [
    "GUESSED",
    "INTERPOLATED",
    "SHOT",
    "GroundUncertainty",
    "Hollow",
    "LowRim",
    "MuckAccount",
    "OldHole",
    "SoilLayers",
    "VolumeSigma",
    "bearing_point",
    "default_grid",
    "existing_ground",
    "ground_uncertainty",
    "guessed_share",
    "hole_storage",
    "hollow",
    "layer_stack",
    "low_rim",
    "many_tape_tie",
    "muck_account",
    "muck_surface",
    "offset_point",
    "soil_column",
    "two_tape_tie",
    "volume_sigma",
]
