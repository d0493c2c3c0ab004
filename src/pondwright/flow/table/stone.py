"""Stages of the stone: takeoff, yard, setting."""

from __future__ import annotations

from pondwright.flow.engine import Stage
from pondwright.rooms.stone import stage as stone

STONE: tuple[Stage, ...] = (
    Stage(
        "stone.takeoff",
        reads=(
            "stone.classes",
            "stone.treatments",
            "stone.pieces",
            "stone.piles",
            "stone.falls",
            "build_up",
            "catalogue",
            "shape.bodies",
            "shape.bank_types",
            "rules",
        ),
        needs=("shape.shore",),
        function=stone.takeoff_stage,
        result=stone.TakeoffResult,
        tier="settle",
        budget=0.040,
    ),
    Stage(
        "stone.net_storage",
        reads=("rules",),
        needs=("shape.shore", "shape.storage", "stone.takeoff"),
        function=stone.net_storage_stage,
        result=stone.NetStorageResult,
        tier="settle",
        budget=0.005,
    ),
    Stage(
        "stone.yard",
        reads=("stone.pieces", "stone.falls", "stone.classes", "shape.bodies", "earth.trucks", "rules"),
        needs=("shape.shore", "shape.grading", "stone.takeoff"),
        function=stone.yard_stage,
        result=stone.YardResult,
        tier="settle",
        budget=0.020,
    ),
    Stage(
        "stone.setting",
        reads=("stone.pieces", "stone.falls", "stone.classes", "stone.lifters", "shape.bodies", "rules"),
        needs=("shape.shore", "shape.grading", "stone.takeoff"),
        function=stone.setting_stage,
        result=stone.SettingResult,
        tier="settle",
        budget=0.050,
    ),
)
