"""The shape's stages: shore, graded surface, storage, and where waters meet.

``shape.shore`` lays rings, distances and coverage; ``shape.grading`` the finish; ``shape.storage`` what it
holds; ``shape.meeting`` finds what cannot be built as it is drawn.  Each rests while its own inputs stay the
same objects.
"""

from __future__ import annotations

from pondwright.rooms.shape.stage.grading import BodyGrading, GradingResult, grading_stage
from pondwright.rooms.shape.stage.meeting import MeetingResult, meeting_stage
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult, shore_stage
from pondwright.rooms.shape.stage.storage import BodyStorage, StorageResult, storage_stage

__all__ = [
    "BodyGrading",
    "BodyShore",
    "BodyStorage",
    "GradingResult",
    "MeetingResult",
    "ShoreResult",
    "StorageResult",
    "grading_stage",
    "meeting_stage",
    "shore_stage",
    "storage_stage",
]
