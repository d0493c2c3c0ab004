"""The water test of the bare liner of one body: its numbers, and what the last one told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from pondwright.base.findings import Finding, Limit
from pondwright.base.kinds import Area
from pondwright.job.log import BucketEntry, Log
from pondwright.rooms.lining.checks import edge as checks
from pondwright.rooms.lining.filling import DAY, allowed_drop, detected_leak, first_shelf, leak
from pondwright.rooms.lining.stage.rim_results import WaterTest


def test_of(
    body: str, view: Mapping[str, Any], results: Mapping[str, Any], limits: Mapping[str, Limit]
) -> WaterTest | None:
    """Water test of one body; none of a stream, whose water does not stand."""
    shore = results["shape.shore"].bodies[body]
    if shore.stream is not None:
        return None
    storage = results["shape.storage"].bodies[body]
    depth = first_shelf(results["shape.grading"].bodies[body].profile)
    level = shore.level - depth
    area: Area = max(float(np.interp(level, storage.levels, storage.areas)), 1e-6)
    hours, reading = limits["lining.bare_test"].value, limits["lining.reading"].value
    speed = limits["lining.evaporation"].value / DAY
    told = _last(body, view["log"])
    return WaterTest(
        steps=_steps(hours),
        level=level,
        depth=depth,
        volume=float(np.interp(level, storage.levels, storage.volumes)),
        hours=hours,
        evaporation=speed * hours,
        allowed=allowed_drop(speed, hours, reading),
        detects=detected_leak(reading, area, hours) * DAY,
        leak=None if told is None else leak(told.pond_drop, told.bucket_drop, area, told.duration) * DAY,
    )


def test_findings(rims: Mapping[str, Any], log: Log, limits: Mapping[str, Limit]) -> Iterator[Finding]:
    """Tests that are still to be made, in one; and what the last test of each body told."""
    waiting = {}
    for body, rim in rims.items():
        told = _last(body, log)
        if rim.test is not None and told is None:
            waiting[body] = rim.test
        elif rim.test is not None and told is not None:
            fall = (told.pond_drop - told.bucket_drop) * DAY / told.duration
            yield checks.check_leak(body, fall, limits)
    if waiting:
        yield checks.check_test(waiting, limits)


def _last(body: str, log: Log) -> BucketEntry | None:
    """The last test of a body with a bucket beside it."""
    found = [entry for entry in log.entries if isinstance(entry, BucketEntry) and entry.body == body]
    return max(found, key=lambda entry: entry.time, default=None)


def _steps(hours: float) -> tuple[str, ...]:
    return (
        "Look over every seam, boot and fold while the liner is dry.",
        "Fill to the first shelf, and stop the pumps and every inflow.",
        "Wait an hour until the sheet has settled, then mark the water on a tube or a board out of the wind.",
        "Stand a bucket of the same water in it, and mark its water too.",
        f"Read both after {hours / 3600.0:.0f} h: what the pond fell more than the bucket is leak.",
        "Set stone only when it holds.",
    )
