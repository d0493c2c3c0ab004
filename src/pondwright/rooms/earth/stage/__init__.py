"""The earth's stages: subgrade, moved soil, how sure it is, balance.

``earth.subgrade`` takes the covers off the finish; ``earth.services`` tells where the dig meets what is
buried; ``earth.soil`` measures what is dug and placed; ``earth.survey`` tells how sure that is and
``earth.next_shot`` where to shoot next; ``earth.balance`` tries water
levels of one body, and ``earth.levels`` answers the question of its level for every body.
"""

from __future__ import annotations

from pondwright.rooms.earth.stage.balance import (
    AtLevel,
    BalanceResult,
    BodyLevels,
    LevelsResult,
    Said,
    balance_stage,
    level_near,
    levels_stage,
)
from pondwright.rooms.earth.stage.haul import GateResult, HaulResult, PileResult, haul_stage
from pondwright.rooms.earth.stage.soil import (
    GUESSED_SOIL,
    ServicesResult,
    ServiceUnderDig,
    SoilAccount,
    SoilResult,
    SubgradeResult,
    services_stage,
    soil_stage,
    subgrade_stage,
)
from pondwright.rooms.earth.stage.survey import (
    NextShot,
    NextShotResult,
    ShotError,
    SurveyResult,
    next_shot_stage,
    survey_stage,
)

__all__ = [
    "GUESSED_SOIL",
    "AtLevel",
    "BalanceResult",
    "BodyLevels",
    "GateResult",
    "HaulResult",
    "LevelsResult",
    "NextShot",
    "NextShotResult",
    "PileResult",
    "Said",
    "ServiceUnderDig",
    "ServicesResult",
    "ShotError",
    "SoilAccount",
    "SoilResult",
    "SubgradeResult",
    "SurveyResult",
    "balance_stage",
    "haul_stage",
    "level_near",
    "levels_stage",
    "next_shot_stage",
    "services_stage",
    "soil_stage",
    "subgrade_stage",
    "survey_stage",
]
