"""The table of contents of the tool: every stage, in the order of the job.

A row names the sections of the document that the stage reads, the earlier stages that it needs, its function,
the class of its result, when it runs, and the time that it may take [s].  Reading this table is reading
how a pond is computed.
"""

from __future__ import annotations

from pondwright.flow.engine import Stage
from pondwright.rooms.earth import stage as earth
from pondwright.rooms.shape import stage as shape
from pondwright.rooms.site import stage as site

STAGES: tuple[Stage, ...] = (
    Stage(
        "site.ground",
        reads=("site.frame", "site.marks", "site.shots", "site.lines", "rules"),
        needs=(),
        function=site.ground_stage,
        result=site.GroundResult,
        budget=0.010,
    ),
    Stage(
        "site.uncertainty",
        reads=("site.marks", "site.shots", "rules"),
        needs=("site.ground",),
        function=site.uncertainty_stage,
        result=site.UncertaintyResult,
        tier="settle",
        budget=0.060,
    ),
    Stage(
        "site.existing",
        reads=("shape.bodies", "rules"),
        needs=("site.ground",),
        function=site.existing_stage,
        result=site.ExistingResult,
        tier="settle",
        budget=0.010,
    ),
    Stage(
        "shape.shore",
        reads=("shape.bodies", "shape.berms", "rules"),
        needs=("site.ground",),
        function=shape.shore_stage,
        result=shape.ShoreResult,
        budget=0.006,
    ),
    Stage(
        "shape.grading",
        reads=("shape.bodies", "shape.bank_types", "shape.berms", "shape.slopes", "rules"),
        needs=("site.ground", "shape.shore"),
        function=shape.grading_stage,
        result=shape.GradingResult,
        budget=0.008,
    ),
    Stage(
        "shape.storage",
        reads=("shape.bodies", "shape.berms", "rules"),
        needs=("shape.shore", "shape.grading"),
        function=shape.storage_stage,
        result=shape.StorageResult,
        budget=0.006,
    ),
    Stage(
        "earth.subgrade",
        reads=("build_up",),
        needs=("shape.grading",),
        function=earth.subgrade_stage,
        result=earth.SubgradeResult,
        budget=0.002,
    ),
    Stage(
        "earth.soil",
        reads=("site.soils", "shape.berms", "rules"),
        needs=("site.ground", "shape.grading", "earth.subgrade"),
        function=earth.soil_stage,
        result=earth.SoilResult,
        budget=0.010,
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
        "earth.balance",
        reads=("site.soils", "shape.bodies", "shape.berms", "rules"),
        needs=(
            "site.ground",
            "shape.shore",
            "shape.grading",
            "shape.storage",
            "earth.subgrade",
            "earth.soil",
        ),
        function=earth.balance_stage,
        result=earth.BalanceResult,
        tier="settle",
        budget=0.300,
    ),
)
