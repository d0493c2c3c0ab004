"""The lining's stages.

``lining.area`` measures the ground under each liner; ``lining.layout`` lays out pieces while the shore is
dragged; ``lining.cover`` proves behind the scenes that a piece of the ordered size covers.
"""

from __future__ import annotations

from pondwright.rooms.lining.stage.area import AreaResult, LinerArea, area_stage
from pondwright.rooms.lining.stage.cover import CoverResult, LinerCover, cover_stage
from pondwright.rooms.lining.stage.layout import LayoutResult, LinerLayout, layout_stage

__all__ = [
    "AreaResult",
    "CoverResult",
    "LayoutResult",
    "LinerArea",
    "LinerCover",
    "LinerLayout",
    "area_stage",
    "cover_stage",
    "layout_stage",
]
