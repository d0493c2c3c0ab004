"""Stages of the earth: what is dug, placed and hauled, and other levels of the water."""

from __future__ import annotations

from pondwright.flow import level_question
from pondwright.flow.engine import Stage
from pondwright.rooms.earth import stage as earth

AT_LEVELS = (
    "site.soils",
    "site.things",
    "site.bounds",
    "earth.counted",
    "earth.trucks",
    "earth.piles",
    "earth.off_site",
    "shape.bodies",
    "shape.bank_types",
    "shape.berms",
    "shape.slopes",
    "shape.mounds",
    "shape.ways",
    "build_up",
    "lining.liners",
    "rules",
)
"""What a job at another level of the water is computed from."""

BUILT = ("site.ground", "shape.shore", "shape.grading", "shape.storage", "earth.subgrade", "earth.soil")
"""What stands at the level of the job."""

EARTH: tuple[Stage, ...] = (
    Stage(
        "earth.subgrade",
        reads=("build_up",),
        needs=("shape.grading",),
        function=earth.subgrade_stage,
        result=earth.SubgradeResult,
        budget=0.002,
    ),
    Stage(
        "earth.services",
        reads=("site.things", "rules"),
        needs=("site.ground", "earth.subgrade"),
        function=earth.services_stage,
        result=earth.ServicesResult,
        tier="settle",
        budget=0.005,
    ),
    Stage(
        "earth.soil",
        reads=(
            "site.soils",
            "earth.counted",
            "earth.trucks",
            "earth.piles",
            "earth.off_site",
            "shape.berms",
            "rules",
        ),
        needs=("site.ground", "shape.grading", "earth.subgrade"),
        function=earth.soil_stage,
        result=earth.SoilResult,
        budget=0.010,
        hint=True,
    ),
    Stage(
        "earth.survey",
        reads=("rules",),
        needs=("site.ground", "site.uncertainty", "earth.subgrade", "earth.soil"),
        function=earth.survey_stage,
        result=earth.SurveyResult,
        tier="settle",
        budget=0.050,
    ),
    Stage(
        "earth.next_shot",
        reads=("rules",),
        needs=("site.ground", "site.uncertainty", "earth.soil", "earth.survey"),
        function=earth.next_shot_stage,
        result=earth.NextShotResult,
        tier="settle",
        budget=0.100,
    ),
    Stage(
        "earth.haul",
        reads=(
            "site.things",
            "site.bounds",
            "earth.trucks",
            "earth.machines",
            "earth.compactors",
            "earth.piles",
            "earth.off_site",
            "rules",
        ),
        needs=("site.ground", "shape.shore", "earth.subgrade", "earth.soil"),
        function=earth.haul_stage,
        result=earth.HaulResult,
        tier="settle",
        budget=0.200,
    ),
    Stage(
        "earth.balance",
        reads=AT_LEVELS,
        needs=BUILT,
        function=level_question.balance_stage,
        result=earth.BalanceResult,
        tier="settle",
        budget=0.300,
    ),
    Stage(
        "earth.levels",
        reads=AT_LEVELS,
        needs=(*BUILT, "earth.balance"),
        function=level_question.levels_stage,
        result=earth.LevelsResult,
        tier="background",
        budget=2.0,
    ),
)
