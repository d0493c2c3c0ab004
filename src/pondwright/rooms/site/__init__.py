"""Site: what is there.  From readings to the existing ground, and how well it is known.

First room of the job; every later room stands on its surface.  It locates the shots, joins them to a
ground, says how sure that ground is, and what it says about a shore: the low rim, the hollow, and
how much of it is a guess.  Its methods are plain geometry and the propagation of errors; its limits are
mostly common practice and say so.
"""

from __future__ import annotations

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
from pondwright.rooms.site.uncertainty import GroundUncertainty, VolumeSigma, volume_sigma

__all__ = [
    "GUESSED",
    "INTERPOLATED",
    "SHOT",
    "GroundUncertainty",
    "Hollow",
    "LowRim",
    "VolumeSigma",
    "bearing_point",
    "default_grid",
    "existing_ground",
    "ground_uncertainty",
    "guessed_share",
    "hollow",
    "low_rim",
    "many_tape_tie",
    "offset_point",
    "two_tape_tie",
    "volume_sigma",
]
