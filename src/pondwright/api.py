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

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from pondwright.exchange.field_book import FieldPage, Reads, RodUnit
    from pondwright.exchange.reading import Reading
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
    "drag",
    "edit",
    "explain",
    "figures",
    "keep_balanced",
    "ledger",
    "new_job",
    "open_job",
    "preview_file",
    "read_field_book",
    "save_job",
    "schema",
    "show",
    "take_file",
    "warm",
    "without_survey",
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


def read_field_book(text: str, job: Job, *, unit: RodUnit | None = None, reads: Reads = "down") -> FieldPage:
    """Page of a level book, pasted or out of a file; nothing is taken before its edit is applied.

    Parameters
    ----------
    text : str
        A line for each point: station, backsight, height of instrument, foresights, elevation.
    job : Job
        The job it is for: its units hold for bare numbers, and its marks and shots are known by name.
    unit : str or None
        Unit in which the rod was read, if it is not that of the job.
    reads : str
        ``down``: a larger reading is lower ground; ``up``: it is higher.

    Returns
    -------
    FieldPage
        Its rows with what is wrong in each cell; ``page.ops("monday")`` are the operations of the edit.

    Raises
    ------
    ImportRefused
        If it is no such page.
    """
    from pondwright.exchange.field_book import read_field_book

    site = job.site
    return read_field_book(
        text, job.shown_units, unit=unit, reads=reads, marks=site.marks.keys(), shots=site.shots.keys()
    )


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
    only: str = "",
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
    only : str
        Dotted path of a value: only the stages that it needs are run.  Empty for all.

    Returns
    -------
    Run
        A stage without an answer is a stop among its checks, not an error.
    """
    from pondwright.flow.engine import advance, never
    from pondwright.flow.stages import STAGES, stages_for
    from pondwright.job.log import Log

    whole = log if isinstance(log, Log) else Log(tuple(log))
    table = stages_for(only) if only else STAGES
    return advance(table, after, job, whole, tier, cancelled=cancelled or never)


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


def drag(job: Job, edit: Edit, log: Log | Iterable[Entry] = (), *, after: Run | None = None) -> Run:
    """What an edit in the hand gives: all that must follow a hand, and the level that keeps soil balanced.

    Parameters
    ----------
    job : Job
        As it is; the edit is not kept.
    edit : Edit
    log : Log or iterable of Entry
        What was observed on its site.
    after : Run or None
        The run of the frame before, or of the job.

    Returns
    -------
    Run
        Where a body is to be kept balanced, at the level that balances it to about half a millimetre.

    Raises
    ------
    DocumentError
        If the edit does not fit.
    """
    from pondwright.flow.keep_balanced import dragged
    from pondwright.job.log import Log

    return dragged(job, log if isinstance(log, Log) else Log(tuple(log)), edit, after)


def keep_balanced(job: Job, edit: Edit, log: Log | Iterable[Entry] = (), *, after: Run | None = None) -> Edit:
    """The edit, with the water level that balances its soil where the job asks for that.

    Parameters
    ----------
    job : Job
        Before the edit.
    edit : Edit
    log : Log or iterable of Entry
        What was observed on its site.
    after : Run or None
        A run of the job, to go on from.

    Returns
    -------
    Edit
        The same edit where there is nothing to follow; else its inverse takes back the level too.

    Raises
    ------
    DocumentError
        If the edit does not fit.
    """
    from pondwright.flow.keep_balanced import kept_balanced
    from pondwright.job.log import Log

    return kept_balanced(job, log if isinstance(log, Log) else Log(tuple(log)), edit, after)


def preview_file(
    job: Job,
    path: str | Path,
    *,
    unit: str = "",
    height_unit: str = "",
    order: str = "",
    epsg: int | None = None,
    surface: str = "",
    heights: Literal["mean", "lowest"] = "mean",
    window: tuple[float, float, float, float] | None = None,
    spacing: float | None = None,
) -> Reading:
    """What a survey file holds, and how it was understood beside a job; nothing is taken.

    Parameters
    ----------
    job : Job
    path : str or Path
        A point table, XYZ, LAS, LAZ, GeoTIFF, LandXML or GeoJSON.
    unit, height_unit : str
        ``m``, ``ft`` or ``ftUS``; empty for what the file tells.
    order : str
        Columns of a text, such as ``PNEZD``; empty for what its header and numbers tell.
    epsg : int or None
        Code of the file's map grid; None for what the file tells.
    surface : str
        Which surface of several.
    heights : str
        What a cell with several points takes: their ``mean`` or the ``lowest``.
    window : tuple of float or None
        West, south, east and north of what is wanted, in the job's own coordinates [m].
    spacing : float or None
        Size of the cells [m]; None for what suits the points.

    Returns
    -------
    Reading

    Raises
    ------
    ImportRefused
        If it cannot be read, with the reason in one sentence.
    """
    from pondwright.exchange.columns import parse_order
    from pondwright.exchange.read import read_file
    from pondwright.exchange.reading import Wanted, unit_named_by
    from pondwright.exchange.taking import around_of

    wanted = Wanted(
        unit=unit_named_by(unit, "unit"), height_unit=unit_named_by(height_unit, "height_unit"),
        order=parse_order(order) if order else (), epsg=epsg, surface=surface, heights=heights, window=window,
        spacing=spacing,
    )  # fmt: skip
    return read_file(Path(path), Path(path).name, wanted, around_of(job))


def take_file(
    job: Job,
    reading: Reading,
    take_as: str = "",
    *,
    points: int = 4000,
    survey: str | None = None,
    edit_id: str = "import",
    base: int = 0,
) -> Edit:
    """The one edit that takes what was read into a job; its inverse takes it back.

    Parameters
    ----------
    job : Job
    reading : Reading
        What :func:`preview_file` gave.
    take_as : str
        ``shots`` or ``cloud`` (a measured surface); empty for what suits the file.
    points : int
        Points of a thinned surface, at most.
    survey : str or None
        The survey of which it is a part.
    edit_id : str
        Name of the edit.
    base : int
        Revision of the job that it is made on.

    Returns
    -------
    Edit

    Raises
    ------
    ImportRefused
        If something must be answered first, or it cannot be taken so.
    """
    from pondwright.exchange.taking import take

    return take(reading, job, take_as, edit_id=edit_id, base=base, most=points, survey=survey)


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


def figures(run: Run, at: str = "") -> list[FigureValue]:
    """All figures of a run with their paths, in the order of the job.

    Parameters
    ----------
    run : Run
    at : str
        Dotted path: only the figures of its stage, or of all stages below it.  Empty for all.

    Returns
    -------
    list of FigureValue
    """
    from pondwright.flow.results import figures

    return figures(run, at)


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
    from pondwright.flow.words import changes_in_words

    # What is worked out behind the scenes are offers, no numbers of the design.
    first = compute(before, tier="settle")
    document = job_differences(before, now)
    moved = moved_figures(first, compute(now, tier="settle", after=first))
    return Comparison(document, moved, tuple(changes_in_words(document, now.shown_units)))


def without_survey(job: Job, survey: str) -> Job:
    """The same job as if one of its surveys had not been made.

    Parameters
    ----------
    job : Job
    survey : str
        Id of the survey.

    Returns
    -------
    Job
        The survey replaces nothing, and its shots and measured surfaces are marked as removed.

    Raises
    ------
    DomainError
        If there is no such survey; names those that there are.
    """
    from pondwright.base.errors import DomainError
    from pondwright.base.findings import Op
    from pondwright.job.edits import Edit, apply

    if survey not in job.site.surveys:
        there = ", ".join(f"`{name}`" for name in job.site.surveys) or "none"
        raise DomainError(f"`{survey}` must be a survey of the job: there are {there}")
    ops = [
        Op("add", f"/site/{rows}/{name}/status", "remove")
        for rows in ("shots", "clouds")
        for name, row in getattr(job.site, rows).items()
        if row.survey == survey
    ]
    ops.append(Op("add", f"/site/surveys/{survey}/replaces", False))
    return apply(job, Edit("without_survey", 0, tuple(ops), f"Without survey {survey}"))


def write_papers(run: Run, out: str | Path, files: Mapping[str, bytes] | None = None) -> Sequence[Path]:
    """Write the papers of a run into a folder.

    Parameters
    ----------
    run : Run
    out : str or Path
        Made if it is not there.
    files : mapping or None
        Bytes of photos by their hash, SHA-256; a photo that is not among them is printed as an empty frame.

    Returns
    -------
    sequence of Path
        The files that were written.  The site report is always among them; a plan is left out while a
        stage that it is drawn from has no answer.

    Raises
    ------
    StoreError
        If the folder cannot be written.
    """
    from pondwright.base.errors import StoreError
    from pondwright.papers import material_of, write_papers

    try:
        return write_papers(material_of(run, files), Path(out))
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
