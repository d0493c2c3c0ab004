"""The stone's stages.

``stone.takeoff`` counts stone by place and class, first what is on hand, then what is to be bought;
``stone.net_storage`` tells how much water each body holds beside it.
``stone.yard`` gives each measured stone a place, and tells trucks and loads; ``stone.setting`` tells which
machine sets which stone from where, and whether the stones stay.
"""

from __future__ import annotations

from pondwright.rooms.stone.stage.setting import setting_stage
from pondwright.rooms.stone.stage.setting_results import (
    Hold,
    LifterReach,
    PlaceReach,
    SetStone,
    SettingResult,
    Stand,
)
from pondwright.rooms.stone.stage.storage import BodyNet, NetStorageResult, net_storage_stage
from pondwright.rooms.stone.stage.takeoff import takeoff_stage
from pondwright.rooms.stone.stage.takeoff_results import (
    BodyStone,
    ClassTotal,
    CourseRun,
    FallTotal,
    StoneLine,
    StoneTop,
    TakeoffResult,
    TreatmentStone,
    ZoneStone,
)
from pondwright.rooms.stone.stage.yard import (
    ClassLoads,
    TruckLoad,
    YardPlace,
    YardResult,
    YardStone,
    yard_stage,
)

__all__ = [
    "BodyNet",
    "BodyStone",
    "ClassLoads",
    "ClassTotal",
    "CourseRun",
    "FallTotal",
    "Hold",
    "LifterReach",
    "NetStorageResult",
    "PlaceReach",
    "SetStone",
    "SettingResult",
    "Stand",
    "StoneLine",
    "StoneTop",
    "TakeoffResult",
    "TreatmentStone",
    "TruckLoad",
    "YardPlace",
    "YardResult",
    "YardStone",
    "ZoneStone",
    "net_storage_stage",
    "setting_stage",
    "takeoff_stage",
    "yard_stage",
]
