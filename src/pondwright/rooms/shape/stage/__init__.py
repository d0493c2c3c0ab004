"""The shape's stages: shore, graded surface, storage.

``shape.shore`` lays rings, distances and coverage; ``shape.grading`` the finish; and
``shape.storage`` what it holds.  Each rests while its own inputs stay the same objects.
"""

from __future__ import annotations

from pondwright.rooms.shape.stage.grading import BodyGrading, GradingResult, grading_stage
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult, shore_stage
from pondwright.rooms.shape.stage.storage import BodyStorage, StorageResult, storage_stage

__all__ = [
    "BodyGrading",
    "BodyShore",
    "BodyStorage",
    "GradingResult",
    "ShoreResult",
    "StorageResult",
    "grading_stage",
    "shore_stage",
    "storage_stage",
]
