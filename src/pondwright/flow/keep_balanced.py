"""Keep balanced: the water level follows what is drawn, so that dug and placed soil stay in balance.

A body may ask for it.  While something of the shape is in the hand, the level is found anew for each frame
by a few trials near the last one; on the drop it is found exactly, and becomes a part of that same edit, so
that one step of undo takes both back.  An edit that sets the level itself is left as it is.

See Also
--------
pondwright.rooms.earth.balance : the soil of a trial level.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from pondwright.base.errors import DocumentError
from pondwright.base.findings import Op
from pondwright.base.kinds import Elevation
from pondwright.flow.engine import Run, Status, advance, section
from pondwright.flow.stages import STAGES, stages_for
from pondwright.job.document import Job
from pondwright.job.edits import Edit, apply, overlaps
from pondwright.job.log import Log
from pondwright.job.shape import first_kept
from pondwright.rooms.earth.balance import LEVEL_TOLERANCE
from pondwright.rooms.earth.stage import level_near

FOLLOWED = ("shape", "build_up")
"""Sections whose changes the level follows; after others, such as a new survey, a check offers the level."""


def dragged(job: Job, log: Log, edit: Edit, after: Run | None) -> Run:
    """What an edit in the hand gives, the water level kept balanced where the job asks for it.

    Parameters
    ----------
    job : Job
    log : Log
    edit : Edit
    after : Run or None     The run of the frame before, or of the job as it is.

    Returns
    -------
    Run                     Of the tier `drag`.

    Raises
    ------
    DocumentError           If the edit does not fit.
    """
    now = apply(job, edit)
    name = followed_body(job, now, edit)
    if name is None:
        return advance(STAGES, after, now, log, "drag")
    before = now if after is None else _with_level(now, name, _level(after, name))
    # The soil of the shape in the hand, at the level of the frame before.
    first = advance(stages_for("earth.soil"), after, before, log, "drag")
    known = {} if after is None else dict(after.stages)
    near = Run(before, log, MappingProxyType(known | dict(first.stages)))
    level = None if first.stages["earth.soil"].status is not Status.FRESH else _near_balance(first, name)
    return advance(STAGES, near, _with_level(now, name, level), log, "drag")


def kept_balanced(job: Job, log: Log, edit: Edit, after: Run | None) -> Edit:
    """The edit, with the water level at which its soil balances where the job asks for it.

    Parameters
    ----------
    job : Job               Before the edit.
    log : Log
    edit : Edit
    after : Run or None     A run of the job to go on from.

    Returns
    -------
    Edit                    The same one where there is nothing to follow, or no level at which the water can
                            stand balances.

    Raises
    ------
    DocumentError           If the edit does not fit.
    """
    now = apply(job, edit)
    name = followed_body(job, now, edit)
    if name is None:
        return edit
    run = advance(stages_for("earth.balance"), after, now, log, "settle")
    if run.stages["earth.balance"].status is not Status.FRESH:
        return edit
    level = run.results.earth.balance.offered_level
    if level is None or abs(level - run.results.shape.shore.bodies[name].level) <= LEVEL_TOLERANCE:
        return edit
    found = _with_level(now, name, level).shape.bodies[name].level
    if found == now.shape.bodies[name].level:
        return edit
    return replace(edit, ops=(*edit.ops, Op("replace", _path(name), found)))


def followed_body(before: Job, now: Job, edit: Edit) -> str | None:
    """Body whose level has to follow an edit, if one has.

    Parameters
    ----------
    before, now : Job
    edit : Edit

    Returns
    -------
    str or None     The first body that is to be kept balanced; none if the edit sets its level itself.
    """
    name = first_kept(now.shape.bodies)
    if name is None or overlaps((Op("test", _path(name)),), edit.ops):
        return None
    changed = any(
        section(before, Log(), path) is not section(now, Log(), path)
        for stage in stages_for("earth.balance")
        for path in stage.reads
        if path.split(".")[0] in FOLLOWED
    )
    return name if changed else None


def _near_balance(run: Run, name: str) -> Elevation | None:
    results = {stage: state.result for stage, state in run.stages.items()}
    return level_near(name, {"shape.berms": section(run.job, run.log, "shape.berms")}, results)


def _level(run: Run, name: str) -> Elevation | None:
    """Level of a body in a run, if it has one there."""
    shore = run.stages["shape.shore"].result
    return shore.bodies[name].level if shore is not None and name in shore.bodies else None


def _with_level(job: Job, name: str, level: Elevation | None) -> Job:
    """Job with the level of one body, which never goes below the low one that is planned for."""
    if level is None:
        return job
    low = job.shape.bodies[name].low_level
    held = round(level if low is None else max(level, low), 6)
    if held == job.shape.bodies[name].level:
        return job
    try:
        return apply(job, Edit("keep_balanced", 0, (Op("replace", _path(name), held),)))
    except DocumentError:
        return job


def _path(name: str) -> str:
    return f"/shape/bodies/{name}/level"
