"""A small invented job that the tests of shape and earth share, and its stages run in order."""

import json

import numpy as np

from pondwright.flow.engine import section
from pondwright.flow.stages import STAGES, stages_for
from pondwright.job.codec import loads
from pondwright.job.log import Log


def pegs(radius, east=15.0, north=15.0, count=16, prefix="p"):
    angles = 2.0 * np.pi * np.arange(count) / count
    return [
        {
            "id": f"{prefix}{index}",
            "east": east + radius * float(np.cos(angle)),
            "north": north + radius * float(np.sin(angle)),
        }
        for index, angle in enumerate(angles)
    ]


def job_values(fall=0.03, level=100.0, radius=6.0, nodes=121):
    """A round pond on ground that falls to the south, on a window of 30 m; everything is invented."""
    places = [(east, north) for east in np.linspace(-1, 31, 5) for north in np.linspace(-1, 31, 5)]
    shots = {
        f"s{index}": {
            "place": {"by": "coordinates", "east": east, "north": north},
            "elevation": 100.0 + fall * (north - 15.0),
        }
        for index, (east, north) in enumerate(places)
    }
    spacing = 30.0 / (nodes - 1)
    grid = {"origin_east": 0.0, "origin_north": 0.0, "spacing": spacing, "columns": nodes, "rows": nodes}
    return {
        "format": 1,
        "id": "trial",
        "name": "trial",
        "demo": True,
        "site": {"frame": {"grid": grid}, "shots": shots},
        "shape": {
            "bodies": {"pond": {"outline": {"form": "ring", "curve": {"pegs": pegs(radius)}}, "level": level}}
        },
    }


class Computed:
    """Results and findings of a job's stages: those that one needs, or all."""

    def __init__(self, values, upto=""):
        job = loads(json.dumps(values))
        self.results, self.findings = {}, {}
        for stage in stages_for(upto) if upto else STAGES:
            view = {path: section(job, Log(), path) for path in stage.reads}
            self.results[stage.name], findings = stage.function(view, self.results)
            for finding in findings:
                self.findings.setdefault(finding.code, []).append(finding)

    def __getitem__(self, stage):
        return self.results[stage]

    def finding(self, code):
        return self.findings[code][0]
