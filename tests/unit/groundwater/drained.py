"""A small invented job with a drain under its pond, and its stages as far as the drains need them."""

import json
from types import SimpleNamespace

import numpy as np

from pondwright.flow.engine import section
from pondwright.flow.stages import stages_for
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.rooms.groundwater.stage.profiles import profiles_stage
from pondwright.rooms.groundwater.stage.route import route_stage
from tests.unit.shape.ponds import job_values


def drained_values(drain=None, outlet=None, **groundwater):
    """The round pond of the shape's tests, with a drain from north to south under it."""
    values = job_values()
    points = [{"east": 15.0, "north": 26.0}, {"east": 15.0, "north": 1.0}]
    values["groundwater"] = {
        "drains": {
            "relief": {
                "place": {"at": "line", "points": points},
                "into": "ditch",
                "fall": 0.02,
                **(drain or {}),
            }
        },
        "outlets": {
            "ditch": {"place": {"at": "point", "east": 15.0, "north": 1.0}, "invert": 97.7, **(outlet or {})}
        },
        **groundwater,
    }
    return values


class View(dict):
    """Sections of a job by their paths."""

    def __init__(self, job):
        super().__init__()
        self.job = job

    def __missing__(self, path):
        return section(self.job, Log(), path)


def ground_of(values):
    """Results that the drains need, but for the water: no reading tells it."""
    job = loads(json.dumps(values))
    results = {}
    for stage in stages_for("earth.subgrade"):
        view = {path: section(job, Log(), path) for path in stage.reads}
        results[stage.name], _ = stage.function(view, results)
    results["groundwater.cases"] = SimpleNamespace(cases={})
    return job, results


def profiled(values, flows=None):
    """Profiles of a job, and its checks by code; ``flows`` are the highest of the wet season by drain."""
    job, results = ground_of(values)
    if flows is not None:
        wet = {name: SimpleNamespace(high=flow) for name, flow in flows.items()}
        results["groundwater.cases"] = SimpleNamespace(cases={"wet_working": SimpleNamespace(flows=wet)})
    result, findings = profiles_stage(View(job), results)
    return result, by_code(findings)


def routed(values, head):
    """Routes of a job whose groundwater stands level, and its checks by code."""
    job, results = ground_of(values)
    grid, under = results["site.ground"].grid, results["shape.shore"].bodies["pond"].distance > 0.0
    results["groundwater.heads"] = SimpleNamespace(
        grid=grid,
        head=None if head is None else np.full(grid.shape, head),
        under=under,
        bank=np.zeros_like(under),
        body=np.where(under, 0, -1),
        cap=np.where(under, results["earth.subgrade"].z, np.inf),
    )
    result, findings = route_stage(View(job), results)
    return result, by_code(findings)


def by_code(findings):
    """Findings by their code, the first of each."""
    found = {}
    for finding in findings:
        found.setdefault(finding.code.removeprefix("groundwater."), finding)
    return found
