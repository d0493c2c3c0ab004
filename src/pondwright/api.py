"""The public face of pondwright: open a job, compute it, ask, change it, and put it on paper.

Nothing else of the package is promised.  Everything heavy is loaded by the function that needs it, so that
importing this module costs next to nothing.

Examples
--------
>>> from pondwright import api
>>> job = api.new_job("Mill Lane 4", "us")
>>> run = api.compute(job)
>>> [finding.code for finding in api.checks(run).stop]
['site.ground.blocked']
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from pondwright.flow.differences import Change
    from pondwright.flow.engine import Run, Tier
    from pondwright.flow.explain import Explanation
    from pondwright.flow.findings import Checks
    from pondwright.flow.results import FigureValue
    from pondwright.job.document import Job
    from pondwright.job.edits import Edit
    from pondwright.job.log import Entry, Log
    from pondwright.ledger.run import Ledger

__all__ = [
    "Comparison",
    "checks",
    "compare",
    "compute",
    "edit",
    "explain",
    "figures",
    "ledger",
    "new_job",
    "open_job",
    "save_job",
    "schema",
    "show",
    "warm",
    "write_papers",
]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between two jobs: their documents, and the figures that moved.

    ``words`` tells the differences of the documents, one sentence each.
    """

    document: tuple[Change, ...]
    figures: tuple[Change, ...]
    words: tuple[str, ...]


def new_job(name: str, shown_units: Literal["us", "us_inch", "metric"] = "metric") -> Job:
    """Empty job with a name.

    Parameters
    ----------
    name : str
        What people call it.
    shown_units : str
        ``us`` (feet and tenths), ``us_inch`` (feet and inches) or ``metric``.

    Returns
    -------
    Job
    """
    from pondwright.job.document import new_job

    return new_job(name, shown_units)


def open_job(path: str | Path) -> Job:
    """Job of a file.

    Parameters
    ----------
    path : str or Path
        A ``.pond.json`` file.

    Returns
    -------
    Job

    Raises
    ------
    DocumentError
        If it cannot be read or is no sound job; carries every fault.
    """
    from pondwright.job.codec import read_job

    return read_job(Path(path))


def save_job(job: Job, path: str | Path) -> None:
    """Write a job to a file, whole or not at all.

    Parameters
    ----------
    job : Job
    path : str or Path

    Raises
    ------
    StoreError
        If the file cannot be written.
    """
    from pondwright.base.errors import StoreError
    from pondwright.job.codec import write_job

    try:
        write_job(Path(path), job)
    except OSError as error:
        raise StoreError(f"`{path}` cannot be written: {error.strerror}") from error


def compute(
    job: Job,
    log: Log | Iterable[Entry] = (),
    tier: Tier = "background",
    *,
    after: Run | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Run:
    """Everything that follows from a job.

    Parameters
    ----------
    job : Job
    log : Log or iterable of Entry
        What was observed on its site.
    tier : Tier
        ``drag`` for what must follow a hand, ``settle`` for what may take a second, ``background`` for all.
    after : Run or None
        A run to go on from, so that only what changed is computed again; it stays as it is.
    cancelled : callable or None
        Asked between stages; once true, the rest is left and marked stale.

    Returns
    -------
    Run
        A stage without an answer is a stop among its checks, not an error.
    """
    from pondwright.flow.engine import advance, never
    from pondwright.flow.stages import STAGES
    from pondwright.job.log import Log

    whole = log if isinstance(log, Log) else Log(tuple(log))
    return advance(STAGES, after, job, whole, tier, cancelled=cancelled or never)


def edit(job: Job, edit: Edit) -> Job:
    """Next job: all operations of an edit, or none.

    Parameters
    ----------
    job : Job
    edit : Edit

    Returns
    -------
    Job
        Sections that the edit does not touch are the same objects.

    Raises
    ------
    DocumentError
        If an operation does not fit, or the job would break its rules.
    """
    from pondwright.job.edits import apply

    return apply(job, edit)


def checks(run: Run) -> Checks:
    """Checks of a run by grade, the worst first; the five that matter most are ``on_show``.

    Parameters
    ----------
    run : Run

    Returns
    -------
    Checks
    """
    from pondwright.flow.findings import checks_of

    return checks_of(run)


def figures(run: Run) -> list[FigureValue]:
    """All figures of a run with their paths, in the order of the job.

    Parameters
    ----------
    run : Run

    Returns
    -------
    list of FigureValue
    """
    from pondwright.flow.results import figures

    return figures(run)


def show(run: Run, path: str) -> Any:
    """Value at a dotted path of the results or the document, in the house unit.

    Parameters
    ----------
    run : Run
    path : str
        For example ``shape.storage.bodies.pond.volume``.

    Returns
    -------
    object

    Raises
    ------
    DomainError
        If there is nothing at that path; names what is there instead.
    """
    from pondwright.flow.results import value_at

    return value_at(run, path)


def explain(run: Run, path: str, before: Run | None = None) -> Explanation:
    """Where a value comes from: method, formula, sources, inputs, defaults, and what moved it.

    Parameters
    ----------
    run : Run
    path : str
    before : Run or None
        Another run, to tell what moved the value since.

    Returns
    -------
    Explanation

    Raises
    ------
    DomainError
        If there is nothing at that path.
    """
    from pondwright.flow.explain import explain
    from pondwright.flow.stages import STAGES

    return explain(STAGES, run, path, before)


def compare(before: Job, now: Job) -> Comparison:
    """What differs between two jobs, and which figures moved because of it.

    Parameters
    ----------
    before, now : Job

    Returns
    -------
    Comparison
        In the words and units of the later job.
    """
    from pondwright.flow.differences import job_differences, moved_figures
    from pondwright.flow.words import change_in_words

    first = compute(before)
    document = job_differences(before, now)
    moved = moved_figures(first, compute(now, after=first))
    return Comparison(document, moved, tuple(change_in_words(found, now.shown_units) for found in document))


def write_papers(run: Run, out: str | Path) -> Sequence[Path]:
    """Write the papers of a run into a folder.

    Parameters
    ----------
    run : Run
    out : str or Path
        Made if it is not there.

    Returns
    -------
    sequence of Path
        The files that were written.

    Raises
    ------
    DomainError
        If a stage had no answer, so that there is nothing to draw.
    StoreError
        If the folder cannot be written.
    """
    from pondwright.base.errors import DomainError, StoreError
    from pondwright.flow.engine import is_blocked
    from pondwright.papers import write_papers

    found = checks(run)
    for finding in filter(is_blocked, found.stop):
        raise DomainError(f"there is nothing to draw yet: {finding.says}")
    try:
        return write_papers(run.job, run.results.below, (*found.stop, *found.look, *found.good), Path(out))
    except OSError as error:
        raise StoreError(f"`{out}` cannot be written: {error.strerror}") from error


def schema() -> dict[str, Any]:
    """JSON Schema of the job document.

    Returns
    -------
    dict
    """
    from pondwright.job.codec import job_schema

    return job_schema()


def ledger() -> Ledger:
    """Every method against its published or hand-derived cases, and the methods that have none.

    Returns
    -------
    Ledger
    """
    from pondwright.ledger.run import ledger

    return ledger()


def warm() -> int:
    """Compile or load every kernel, so that the first answer is as quick as the next.

    Returns
    -------
    int
        Kernels that are ready.
    """
    from pondwright.geometry.kernels import warm

    return warm()
