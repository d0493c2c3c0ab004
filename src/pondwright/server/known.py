"""Runs of late: a document comes back when an edit is taken back or made again, and with every copy."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from pondwright.flow.engine import Run, Status
from pondwright.job.alike import with_parts_of
from pondwright.job.document import Job
from pondwright.job.log import Log

MOST = 12
"""Runs that are kept; one of a large site holds some ten megabytes of its own."""


def new_shelf() -> deque[Run]:
    """Empty shelf of runs; those that came last stand last, and the first ones make room."""
    return deque(maxlen=MOST)


def is_exact(run: Run) -> bool:
    """Whether no result of a run is of an earlier job."""
    return all(state.status is not Status.STALE for state in run.stages.values())


def put(shelf: deque[Run], run: Run) -> None:
    """Keep an exact run, instead of an older one of the same document."""
    for old in shelf:
        if old.job is run.job and old.log is run.log:
            shelf.remove(old)
            break
    shelf.append(run)


def known(runs: Sequence[Run], job: Job, log: Log) -> Run | None:
    """The newest run of a document that differs from a job in nothing but its name, if there is one.

    Its job is given the parts of the run, so that nothing has to be computed again.

    Parameters
    ----------
    runs : sequence of Run
    job : Job
    log : Log

    Returns
    -------
    Run or None
        A run of ``job`` itself.
    """
    for run in reversed(runs):
        named = run.job.model_copy(update={"id": job.id, "name": job.name})
        if named == job and run.log == log:
            return Run(with_parts_of(job, run.job), run.log, run.stages)
    return None
