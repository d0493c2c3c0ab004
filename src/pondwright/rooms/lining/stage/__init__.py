"""The lining's stages.

``lining.arcs`` follows the hand: the ground under each liner, and its size by tapes; ``lining.area`` measures
that ground; ``lining.layout`` lays the pieces on the plan; ``lining.cover`` proves behind the scenes which
piece or strips cover.
"""

from __future__ import annotations

from pondwright.rooms.lining.stage.arcs import ArcsResult, LinerArcs, arcs_stage
from pondwright.rooms.lining.stage.area import AreaResult, LinerArea, area_stage
from pondwright.rooms.lining.stage.cover import CoverResult, LinerCover, cover_stage
from pondwright.rooms.lining.stage.layout import LayoutResult, LinerLayout, layout_stage
from pondwright.rooms.lining.stage.order import order_stage
from pondwright.rooms.lining.stage.order_results import LinerOrder, OrderResult
from pondwright.rooms.lining.stage.proved import LinerProved, ProvedResult, proved_stage
from pondwright.rooms.lining.stage.rim import rim_stage
from pondwright.rooms.lining.stage.rim_results import BodyRim, RimResult

__all__ = [
    "ArcsResult",
    "AreaResult",
    "BodyRim",
    "CoverResult",
    "LayoutResult",
    "LinerArcs",
    "LinerArea",
    "LinerCover",
    "LinerLayout",
    "LinerOrder",
    "LinerProved",
    "OrderResult",
    "ProvedResult",
    "RimResult",
    "arcs_stage",
    "area_stage",
    "cover_stage",
    "layout_stage",
    "order_stage",
    "proved_stage",
    "rim_stage",
]
