"""The table of contents of the tool: every stage, in the order of the job.

A row names the sections of the document that the stage reads, the earlier stages that it needs, its function,
the class of its result, when it runs, and the time that it may take [s].  Reading this table is reading
how a pond is computed.
"""

from __future__ import annotations

from pondwright.flow import bends, uplift_offers
from pondwright.flow.engine import Stage
from pondwright.job.document import Job
from pondwright.rooms.earth import stage as earth
from pondwright.rooms.groundwater import stage as groundwater
from pondwright.rooms.lining import stage as lining
from pondwright.rooms.shape import stage as shape
from pondwright.rooms.site import stage as site

STAGES: tuple[Stage, ...] = (
    Stage(
        "site.levels",
        reads=("site.marks", "site.books", "rules"),
        needs=(),
        function=site.levels_stage,
        result=site.LevelsResult,
        budget=0.004,
    ),
    Stage(
        "site.level_points",
        reads=("site.marks", "site.books", "site.shots", "rules"),
        needs=("site.levels",),
        function=site.level_points_stage,
        result=site.LevelPointsResult,
        tier="settle",
        budget=0.004,
    ),
    Stage(
        "site.ground",
        reads=(
            "site.frame",
            "site.marks",
            "site.shots",
            "site.lines",
            "site.surveys",
            "site.clouds",
            "rules",
        ),
        needs=("site.levels",),
        function=site.ground_stage,
        result=site.GroundResult,
        budget=0.010,
    ),
    Stage(
        "site.uncertainty",
        reads=("site.marks", "site.shots", "site.clouds", "rules"),
        needs=("site.levels", "site.ground"),
        function=site.uncertainty_stage,
        result=site.UncertaintyResult,
        tier="settle",
        budget=0.060,
    ),
    Stage(
        "site.rebase",
        reads=("site.marks", "site.shots", "site.lines", "site.surveys", "site.clouds", "rules"),
        needs=("site.levels", "site.ground"),
        function=site.rebase_stage,
        result=site.RebaseResult,
        tier="settle",
        budget=0.030,
    ),
    Stage(
        "site.painted",
        reads=("site.lines", "shape.bodies", "rules"),
        needs=("site.ground",),
        function=site.painted_stage,
        result=site.PaintedResult,
        tier="settle",
        budget=0.010,
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
        "site.old_hole",
        reads=("site.water_marks", "rules"),
        needs=("site.ground",),
        function=site.old_hole_stage,
        result=site.OldHoleResult,
        tier="settle",
        budget=0.050,
    ),
    Stage(
        "site.layers",
        reads=("site.probes", "site.soils", "site.shots", "shape.bodies", "rules"),
        needs=("site.ground", "site.old_hole"),
        function=site.layers_stage,
        result=site.LayersResult,
        tier="settle",
        budget=0.060,
    ),
    Stage(
        "site.clearances",
        reads=("site.bounds", "site.things", "shape.bodies", "shape.berms", "rules"),
        needs=("site.ground",),
        function=site.clearances_stage,
        result=site.ClearancesResult,
        tier="settle",
        budget=0.020,
    ),
    Stage(
        "site.visit",
        reads=("site.walk", "site.things", "site.bounds", "brief", "rules"),
        needs=(),
        function=site.visit_stage,
        result=site.VisitResult,
        tier="settle",
        budget=0.001,
    ),
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
        reads=("shape.bodies", "shape.berms", "rules"),
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
        "shape.views",
        reads=("shape.seats", "shape.ways", "shape.bodies", "site.things"),
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
        reads=("site.soils", "earth.counted", "shape.berms", "rules"),
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
        reads=("earth.trucks", "earth.machines", "earth.piles", "earth.off_site", "rules"),
        needs=("site.ground", "shape.shore", "earth.subgrade", "earth.soil"),
        function=earth.haul_stage,
        result=earth.HaulResult,
        tier="settle",
        budget=0.200,
    ),
    Stage(
        "earth.balance",
        reads=("site.soils", "earth.counted", "shape.bodies", "shape.berms", "rules"),
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
    Stage(
        "earth.levels",
        reads=("site.soils", "earth.counted", "shape.berms"),
        needs=(
            "site.ground",
            "shape.shore",
            "shape.grading",
            "earth.subgrade",
            "earth.soil",
            "earth.balance",
        ),
        function=earth.levels_stage,
        result=earth.LevelsResult,
        tier="settle",
        budget=0.300,
    ),
    Stage(
        "groundwater.aquifer",
        reads=("groundwater", "site.soils", "site.probes", "rules"),
        needs=("site.ground",),
        function=groundwater.aquifer_stage,
        result=groundwater.AquiferResult,
        budget=1.0,
        hint=True,
    ),
    Stage(
        "groundwater.heads",
        reads=("groundwater.drains", "groundwater.outlets", "groundwater.sumps", "lining.liners", "rules"),
        needs=("groundwater.aquifer", "shape.shore", "shape.grading", "earth.subgrade"),
        function=groundwater.heads_stage,
        result=groundwater.HeadsResult,
        budget=0.006,
        hint=True,
        warm=True,
    ),
    Stage(
        "groundwater.uplift",
        reads=("build_up", "shape.bodies", "rules"),
        needs=("shape.shore", "shape.grading", "shape.storage", "earth.subgrade", "groundwater.heads"),
        function=groundwater.uplift_stage,
        result=groundwater.UpliftResult,
        budget=0.003,
    ),
    Stage(
        "groundwater.venting",
        reads=("groundwater.gas", "groundwater.vents", "rules"),
        needs=("shape.shore", "earth.subgrade"),
        function=groundwater.venting_stage,
        result=groundwater.VentingResult,
        tier="settle",
        budget=0.010,
    ),
    Stage(
        "groundwater.cases",
        reads=("groundwater.drains", "groundwater.outlets", "groundwater.sumps", "lining.liners", "rules"),
        needs=("groundwater.aquifer", "groundwater.heads", "shape.shore", "shape.grading", "earth.subgrade"),
        function=groundwater.cases_stage,
        result=groundwater.CasesResult,
        tier="settle",
        budget=0.5,
    ),
    Stage(
        "groundwater.range",
        reads=("groundwater.sumps", "groundwater.building", "rules"),
        needs=("groundwater.aquifer", "groundwater.heads", "groundwater.uplift", "groundwater.cases"),
        function=groundwater.range_stage,
        result=groundwater.RangeResult,
        tier="settle",
        budget=0.030,
    ),
    Stage(
        "groundwater.profiles",
        reads=(
            "groundwater.drains",
            "groundwater.outlets",
            "groundwater.sumps",
            "groundwater.pipes",
            "groundwater.gravels",
            "groundwater.fabrics",
            "groundwater.soil_grains",
            "groundwater.readings",
            "lining.liners",
            "site.things",
            "rules",
        ),
        needs=("site.ground", "shape.shore", "shape.grading", "earth.subgrade", "groundwater.cases"),
        function=groundwater.profiles_stage,
        result=groundwater.ProfilesResult,
        tier="settle",
        budget=0.020,
    ),
    Stage(
        "groundwater.route",
        reads=(
            "groundwater.outlets",
            "groundwater.readings",
            "groundwater.drains",
            "site.things",
            "site.bounds",
            "rules",
        ),
        needs=("site.ground", "shape.shore", "shape.grading", "earth.subgrade", "groundwater.heads"),
        function=groundwater.route_stage,
        result=groundwater.RouteResult,
        tier="background",
        budget=1.0,
    ),
    Stage(
        "groundwater.pumping",
        reads=(
            "groundwater.building",
            "groundwater.readings",
            "groundwater.drains",
            "groundwater.outlets",
            "groundwater.sumps",
            "site.things",
            "rules",
        ),
        needs=(
            "site.ground",
            "site.old_hole",
            "site.layers",
            "shape.shore",
            "earth.subgrade",
            "groundwater.aquifer",
        ),
        function=groundwater.pumping_stage,
        result=groundwater.PumpingResult,
        tier="settle",
        budget=0.060,
    ),
    Stage(
        "groundwater.offers",
        reads=(
            "site.soils",
            "shape.bodies",
            "shape.bank_types",
            "shape.berms",
            "shape.slopes",
            "shape.mounds",
            "shape.ways",
            "build_up",
            "catalogue",
            "groundwater.drains",
            "groundwater.outlets",
            "groundwater.sumps",
            "groundwater.building",
            "lining.liners",
            "rules",
        ),
        needs=(
            "site.ground",
            "shape.shore",
            "shape.grading",
            "shape.storage",
            "earth.subgrade",
            "groundwater.aquifer",
            "groundwater.heads",
            "groundwater.uplift",
            "groundwater.cases",
            "groundwater.range",
            "groundwater.route",
        ),
        function=uplift_offers.offers_stage,
        result=uplift_offers.OffersResult,
        tier="background",
        budget=5.0,
    ),
    Stage(
        "shape.bends",
        reads=(
            "site.soils",
            "earth.counted",
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
        needs=("site.ground", "shape.shore", "shape.grading", "shape.views", "earth.soil"),
        function=bends.bends_stage,
        result=bends.BendsResult,
        tier="background",
        budget=1.0,
    ),
    Stage(
        "lining.area",
        reads=("lining.liners",),
        needs=("shape.shore", "shape.grading", "earth.subgrade"),
        function=lining.area_stage,
        result=lining.AreaResult,
        tier="settle",
        budget=0.030,
        hint=True,
    ),
    Stage(
        "lining.layout",
        reads=("lining.liners", "rules"),
        needs=("shape.shore", "lining.area"),
        function=lining.layout_stage,
        result=lining.LayoutResult,
        tier="settle",
        budget=0.100,
        hint=True,
    ),
    Stage(
        "lining.cover",
        reads=("rules",),
        needs=("lining.area", "lining.layout"),
        function=lining.cover_stage,
        result=lining.CoverResult,
        tier="background",
        budget=3.0,
        hint=True,
    ),
)


def stages_for(path: str) -> tuple[Stage, ...]:
    """Stages that a value needs, in their order: none for a value of the document, all for an unknown path.

    Parameters
    ----------
    path : str
        Dotted path of a figure or of a room.

    Returns
    -------
    tuple of Stage

    Examples
    --------
    >>> [stage.name for stage in stages_for("shape.shore.bodies.pond.area")][-1]
    'shape.shore'
    """
    wanted = {
        stage.name for stage in STAGES if f"{path}.".startswith(f"{stage.name}.") or _below(stage, path)
    }
    for stage in reversed(STAGES):
        if stage.name in wanted:
            wanted.update(stage.needs)
    if not wanted and _in_document(path):
        return ()
    return tuple(stage for stage in STAGES if stage.name in wanted) or STAGES


def _in_document(path: str) -> bool:
    head, _, rest = path.partition(".")
    owner = Job.model_fields[head].annotation if head in Job.model_fields else None
    return owner is not None and (not rest or rest.partition(".")[0] in getattr(owner, "model_fields", ()))


def _below(stage: Stage, path: str) -> bool:
    return stage.name.startswith(f"{path}.")
