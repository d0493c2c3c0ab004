"""How far the survey lets the dug and placed soil be trusted, and where one more shot helps most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Any

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.findings import Finding
from pondwright.base.kinds import (
    BULK_MASS,
    LENGTH,
    SOIL_VOLUME,
    Areas,
    Density,
    Length,
    Mass,
    Masses,
    Volume,
    Volumes,
)
from pondwright.job.fields import value_of
from pondwright.job.site import ByCoordinates, Shot
from pondwright.rooms.earth.checks import soil as checks
from pondwright.rooms.earth.cutfill import volume_slopes
from pondwright.rooms.earth.next_shot import best_shots, own_errors
from pondwright.rooms.earth.stage.shared import limits_of
from pondwright.rooms.earth.stage.soil import SoilResult
from pondwright.rooms.earth.subgrade import dig_depth
from pondwright.rooms.site.carried import (
    CarriedErrors,
    VolumeSigma,
    carried_errors,
    summed_sigma,
    volume_sigma,
)

SHOTS_TOLD = 10
"""Shots that are told by name, those whose error adds most."""

NEW_SHOT: Length = value_of(Shot(place=ByCoordinates(by="coordinates", east=0.0, north=0.0)), "sigma")
"""Standard deviation of the next shot: the stated default of any shot. [m]"""

NARROWED = ("site.uncertainty.sigma", "earth.survey.dug_sigma")
ERRORS = ("site.shots.*.sigma", "site.uncertainty.roughness")


@dataclass(frozen=True, slots=True)
class ShotError:
    """What the error of one shot does to the soil that is dug."""

    dug: Volume = figure(
        SOIL_VOLUME,
        "What its own error adds to the dug volume",
        by=own_errors,
        uses=("site.uncertainty.sigma",),
    )
    mass: Mass = figure(
        BULK_MASS, "The same in mass", by=own_errors, uses=("site.uncertainty.sigma", "earth.soil.by_kind")
    )


@dataclass(frozen=True, slots=True, eq=False)
class SurveyResult:
    """How far the survey lets the volumes be trusted.

    `by_cause` is the dug volume's; `dug_weight` its growth per metre that a node rises, `carried` what it has
    of each error; `dug_by_shot` and `mass_by_shot` what the own error of each shot of `site.ground.shots`
    adds, and `shots` the ten that add most.
    """

    by_cause: VolumeSigma
    dug_weight: Areas
    carried: CarriedErrors
    dug_by_shot: Volumes
    mass_by_shot: Masses
    shots: Mapping[str, ShotError]
    dug_sigma: Volume = figure(
        SOIL_VOLUME, "Standard deviation of the dug volume from the survey", by=volume_sigma, uses=ERRORS
    )
    dug_mass_sigma: Mass = figure(
        BULK_MASS,
        "Standard deviation of the dug mass from the survey",
        by=volume_sigma,
        uses=(*ERRORS, "earth.soil.by_kind"),
    )
    placed_sigma: Volume = figure(
        SOIL_VOLUME, "Standard deviation of the placed volume from the survey", by=volume_sigma, uses=ERRORS
    )


@dataclass(frozen=True, slots=True)
class NextShot:
    """A place to shoot, or a reading to take again: `why` in words, `name` of the shot or set-up, if any."""

    why: str
    name: str
    east: Length = figure(LENGTH, "East of the place to shoot", by=best_shots, uses=NARROWED)
    north: Length = figure(LENGTH, "North of the place to shoot", by=best_shots, uses=NARROWED)
    sigma_before: Volume = figure(
        SOIL_VOLUME, "Standard deviation of the dug volume now", by=volume_sigma, uses=NARROWED
    )
    sigma_after: Volume = figure(
        SOIL_VOLUME, "Standard deviation of the dug volume with that shot", by=best_shots, uses=NARROWED
    )


@dataclass(frozen=True, slots=True)
class NextShotResult:
    """Up to five places to shoot next, `1` the best."""

    places: Mapping[str, NextShot]


WHY = {
    "gap": "The ground between the shots is least known here.",
    "guess": "Nothing was shot out here.",
    "again": "Shot {name} alone decides much of the volume: read it once more.",
    "level": "Set-up {name} carries many shots: check it against a benchmark, or close its loop.",
}


def survey_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[SurveyResult, tuple[Finding, ...]]:
    """Uncertainty that the survey gives to dug and placed soil.

    The water at its level is not in it: inside the shore the finish is drawn and set out from the level, so
    that its volume does not depend on any shot (but for the cells that the shore cuts).

    Parameters
    ----------
    view : mapping        Reads `rules`.
    results : mapping     Needs `site.ground`, `site.uncertainty`, `earth.subgrade`, `earth.soil`.

    Returns
    -------
    SurveyResult and the check of the survey.
    """
    ground, errors, soil = results["site.ground"], results["site.uncertainty"].errors, results["earth.soil"]
    dug, placed = volume_slopes(dig_depth(ground.z, results["earth.subgrade"].z), ground.grid)
    carried = carried_errors(errors, dug)
    sigma, density = summed_sigma(errors, carried), _bank_density(soil)
    own = own_errors(errors, carried, len(ground.shots.ids))
    most = [int(shot) for shot in np.argsort(-own, kind="stable")[:SHOTS_TOLD] if own[shot] > 0.0]
    result = SurveyResult(
        by_cause=sigma,
        dug_weight=dug,
        carried=carried,
        dug_by_shot=own,
        mass_by_shot=density * own,
        shots=MappingProxyType(
            {ground.shots.ids[shot]: ShotError(float(own[shot]), density * float(own[shot])) for shot in most}
        ),
        dug_sigma=sigma.total,
        dug_mass_sigma=density * sigma.total,
        placed_sigma=volume_sigma(errors, placed).total,
    )
    return result, (checks.check_survey(soil.dug, result.dug_sigma, limits_of(view)),)


def next_shot_stage(
    view: Mapping[str, Any], results: Mapping[str, Any]
) -> tuple[NextShotResult, tuple[Finding, ...]]:
    """Where one more shot narrows the dug volume most.

    Parameters
    ----------
    view : mapping        Reads `rules`.
    results : mapping     Needs `site.ground`, `site.uncertainty`, `earth.soil`, `earth.survey`.

    Returns
    -------
    NextShotResult and the check of the best place.
    """
    ground, survey = results["site.ground"], results["earth.survey"]
    found = best_shots(
        results["site.uncertainty"].errors,
        survey.dug_weight,
        survey.carried,
        NEW_SHOT,
        ground.shots.ids,
        [pair for line in ground.breaks for pair in pairwise(line)],
    )
    places = {
        str(number): NextShot(
            WHY[each.why].format(name=each.name), each.name, each.east, each.north, each.before, each.after
        )
        for number, each in enumerate(found, 1)
    }
    finding = checks.check_next_shot(
        [(each.why, each.east, each.north) for each in places.values()],
        found[0].before - found[0].after if found else 0.0,
        results["earth.soil"].dug,
        limits_of(view),
    )
    return NextShotResult(MappingProxyType(places)), (finding,)


def _bank_density(soil: SoilResult) -> Density:
    """Density in the bank of what is dug; of the soils as they are told where nothing is."""
    parts = [(account.dug + account.stripped, account.bank_density) for account in soil.by_kind.values()]
    whole = sum(volume for volume, _ in parts)
    if whole <= 0.0:
        return sum(density for _, density in parts) / len(parts)
    return sum(volume * density for volume, density in parts) / whole
