"""The groundwater's stages.

``groundwater.aquifer`` fits soils and readings to each other, before anything is built; ``groundwater.heads``
follows a hand with the wet season's heads once the job is built, and ``groundwater.cases`` has every case.
``groundwater.uplift`` and ``groundwater.range`` tell from these two how hard each liner is pushed;
``groundwater.venting`` looks after gas below it.
``groundwater.profiles`` tells how each drain falls, ``groundwater.route`` where a missing one would.
``groundwater.pumping`` tells of water while it is built: the old pond emptied, the dig kept dry, trenches.
"""

from __future__ import annotations

from pondwright.rooms.groundwater.stage.aquifer import AquiferResult, aquifer_stage
from pondwright.rooms.groundwater.stage.cases import CasesResult, cases_stage
from pondwright.rooms.groundwater.stage.drain_results import ProfilesResult
from pondwright.rooms.groundwater.stage.heads import HeadsResult, heads_stage
from pondwright.rooms.groundwater.stage.profiles import profiles_stage
from pondwright.rooms.groundwater.stage.pumping import PumpingResult, pumping_stage
from pondwright.rooms.groundwater.stage.range import RangeResult, range_stage
from pondwright.rooms.groundwater.stage.route import RouteResult, route_stage
from pondwright.rooms.groundwater.stage.uplift import UpliftResult, uplift_stage
from pondwright.rooms.groundwater.stage.venting import VentingResult, venting_stage

__all__ = [
    "AquiferResult",
    "CasesResult",
    "HeadsResult",
    "ProfilesResult",
    "PumpingResult",
    "RangeResult",
    "RouteResult",
    "UpliftResult",
    "VentingResult",
    "aquifer_stage",
    "cases_stage",
    "heads_stage",
    "profiles_stage",
    "pumping_stage",
    "range_stage",
    "route_stage",
    "uplift_stage",
    "venting_stage",
]
