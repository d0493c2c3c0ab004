"""The shape's stages: shore, graded surface, storage, and where waters meet.

``shape.shore`` lays rings, distances and coverage; ``shape.grading`` the finish; ``shape.storage`` what it
holds; ``shape.meeting`` finds what cannot be built as it is drawn; ``shape.built`` counts and measures walls,
fences, lights, steps and ramps; ``shape.reach`` tells how the shore is reached;
``shape.views`` and ``shape.views_exact`` what is seen from the seats.  Each rests while its own inputs
stay the same objects.
"""

from __future__ import annotations

from pondwright.rooms.shape.stage.built import BuiltResult, built_stage
from pondwright.rooms.shape.stage.grading import BodyGrading, GradingResult, grading_stage
from pondwright.rooms.shape.stage.meeting import MeetingResult, meeting_stage
from pondwright.rooms.shape.stage.reach import ReachResult, reach_stage
from pondwright.rooms.shape.stage.shore import BodyShore, ShoreResult, shore_stage
from pondwright.rooms.shape.stage.storage import BodyStorage, StorageResult, storage_stage
from pondwright.rooms.shape.stage.views import ViewsResult, views_stage
from pondwright.rooms.shape.stage.views_exact import ExactViewsResult, views_exact_stage

__all__ = [
    "BodyGrading",
    "BodyShore",
    "BodyStorage",
    "BuiltResult",
    "ExactViewsResult",
    "GradingResult",
    "MeetingResult",
    "ReachResult",
    "ShoreResult",
    "StorageResult",
    "ViewsResult",
    "built_stage",
    "grading_stage",
    "meeting_stage",
    "reach_stage",
    "shore_stage",
    "storage_stage",
    "views_exact_stage",
    "views_stage",
]
