"""The table of contents of the tool: every stage, in the order of the job.

A row names the sections of the document that the stage reads, the earlier stages that it needs, its function,
the class of its result, when it runs, and the time that it may take [s].  Reading this table is reading
how a pond is computed.
"""

from __future__ import annotations

from pondwright.flow.engine import Stage
from pondwright.flow.table.earth import EARTH
from pondwright.flow.table.groundwater import GROUNDWATER
from pondwright.flow.table.lining import LINING
from pondwright.flow.table.shape import BENDS, SHAPE
from pondwright.flow.table.site import SITE
from pondwright.flow.table.stone import STONE
from pondwright.job.document import Job

STAGES: tuple[Stage, ...] = (*SITE, *SHAPE, *EARTH, *GROUNDWATER, BENDS, *LINING, *STONE)


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
