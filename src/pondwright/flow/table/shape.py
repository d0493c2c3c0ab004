"""Stages of the shape: shores, finish, storage, what runs over, ways and views."""

from __future__ import annotations

from pondwright.flow import bends
from pondwright.flow.engine import Stage
from pondwright.rooms.shape import stage as shape

SHAPE: tuple[Stage, ...] = (
    Stage(
        "shape.shore",
        reads=("shape.bodies", "shape.berms", "rules"),
        needs=("site.ground",),
        function=shape.shore_stage,
        result=shape.ShoreResult,
        budget=0.006,
        hint=True,
    ),
    Stage(
        "shape.grading",
        reads=(
            "shape.bodies",
            "shape.bank_types",
            "shape.berms",
            "shape.slopes",
            "site.soils",
            "shape.mounds",
            "shape.ways",
            "rules",
        ),
        needs=("site.ground", "shape.shore"),
        function=shape.grading_stage,
        result=shape.GradingResult,
        budget=0.008,
        hint=True,
    ),
    Stage(
        "shape.storage",
        reads=("shape.bodies", "shape.berms", "shape.ways", "rules"),
        needs=("shape.shore", "shape.grading"),
        function=shape.storage_stage,
        result=shape.StorageResult,
        budget=0.006,
        hint=True,
    ),
    Stage(
        "shape.meeting",
        reads=("shape.bodies", "rules"),
        needs=("site.ground", "shape.shore", "shape.grading"),
        function=shape.meeting_stage,
        result=shape.MeetingResult,
        tier="settle",
        budget=0.050,
    ),
    Stage(
        "shape.reach",
        reads=("shape.ways", "shape.bodies", "rules"),
        needs=("shape.shore", "shape.grading"),
        function=shape.reach_stage,
        result=shape.ReachResult,
        tier="settle",
        budget=0.020,
    ),
    Stage(
        "shape.built",
        reads=("shape.ways", "rules"),
        needs=("shape.shore", "shape.grading"),
        function=shape.built_stage,
        result=shape.BuiltResult,
        tier="settle",
        budget=0.005,
    ),
    Stage(
        "shape.views",
        reads=("shape.seats", "shape.ways", "shape.bodies", "site.things", "rules"),
        needs=("shape.shore", "shape.grading"),
        function=shape.views_stage,
        result=shape.ViewsResult,
        budget=0.005,
        hint=True,
    ),
    Stage(
        "shape.views_exact",
        reads=("shape.seats", "site.things", "rules"),
        needs=("shape.grading", "shape.views"),
        function=shape.views_exact_stage,
        result=shape.ExactViewsResult,
        tier="settle",
        budget=0.300,
        hint=True,
    ),
)

BENDS = Stage(
    "shape.bends",
    reads=(
        "site.soils",
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
        "shape.seats",
        "site.things",
        "build_up",
        "rules",
    ),
    needs=("site.ground", "shape.shore", "shape.grading", "shape.reach", "shape.views", "earth.soil"),
    function=bends.bends_stage,
    result=bends.BendsResult,
    tier="background",
    budget=1.0,
)
"""Ways to bend a shore: they ask for the soil, so that they come after it."""
