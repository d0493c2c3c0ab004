"""Where a number comes from: its function's own words, its inputs and defaults, and what moved it."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Kind
from pondwright.flow.differences import Change, job_differences, kind_at
from pondwright.flow.engine import LOG, Run, Stage, Status
from pondwright.flow.results import EACH, bindings, expanded, figure_at, figures, stage_of, value_at
from pondwright.job.defaults import DefaultInUse, defaults_in_use
from pondwright.job.fields import Section

_SECTION = re.compile(r"^(?P<title>[A-Z][A-Za-z ]+)\n-{3,}\n", re.MULTILINE)
_REFERENCE = re.compile(r"^\.\. \[(\w+)\] ", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Method:
    """What a function's docstring says: its first line, its notes with the formula, its sources."""

    name: str
    summary: str
    formula: str
    references: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a figure, with its value in this run."""

    path: str
    value: Any
    kind: Kind | None
    says: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """Where a value comes from.

    ``moved_by`` are the differences of the document, against another run, that can have moved it;
    ``before`` is the value there.
    """

    path: str
    value: Any
    kind: Kind | None
    says: str
    stage: str | None
    status: Status
    method: Method | None
    inputs: tuple[Input, ...]
    defaults: tuple[DefaultInUse, ...]
    before: Any = None
    moved_by: tuple[Change, ...] = ()


def explain(table: tuple[Stage, ...], run: Run, path: str, before: Run | None = None) -> Explanation:
    """Where the value at a dotted path comes from.

    Parameters
    ----------
    table : tuple of Stage
        The stages that made the run.
    run : Run
    path : str
        A figure, or a value of the document.
    before : Run or None
        Another run, to tell what moved the value since.

    Returns
    -------
    Explanation

    Raises
    ------
    DomainError
        If there is nothing at that path, or a whole room.
    """
    below = [each.path for each in figures(run, path) if each.path.startswith(f"{path}.")]
    if below:
        raise DomainError(f"`{path}` is not one number but {len(below)}: ask for one, such as `{below[0]}`")
    value, figure, stage = value_at(run, path), figure_at(run, path), stage_of(run, path)
    uses = figure.uses if figure else (path,) if stage is None else ()
    written = [use for use in uses if stage_of(run, use) is None]
    bound = bindings(run, path)
    kind, says = (figure.kind, figure.says) if figure else of_document(run, path)
    return Explanation(
        path=path,
        value=value,
        kind=kind,
        says=says,
        stage=stage,
        status=run.stages[stage].status if stage else Status.FRESH,
        method=method_of(figure.by) if figure and figure.by else None,
        inputs=tuple(_input(run, *found) for use in uses for found in expanded(run, use, bound))
        if figure
        else (),
        defaults=tuple(
            found for found in defaults_in_use(run.job) if any(_meets(found.path, use) for use in written)
        )
        if written
        else (),
        before=_value_before(before, path),
        moved_by=tuple(_moved_by(table, run, path, before)) if before else (),
    )


def method_of(function: Callable[..., Any]) -> Method:
    """What the docstring of a function says, taken apart.

    Parameters
    ----------
    function : callable

    Returns
    -------
    Method
    """
    text = inspect.getdoc(function) or ""
    head, *rest = _SECTION.split(text)
    parts = dict(zip(rest[::2], rest[1::2], strict=True))
    references = _REFERENCE.split(parts.get("References", ""))[2::2]
    return Method(
        name=f"{function.__module__.removeprefix('pondwright.')}.{function.__name__}",
        summary=" ".join(head.split("\n\n")[0].split()),
        formula=parts.get("Notes", "").strip(),
        references=tuple(" ".join(reference.split()) for reference in references),
    )


def sections_behind(table: tuple[Stage, ...], stage: str) -> tuple[str, ...]:
    """Sections of the document that a stage's result can depend on, its needs' sections too.

    Parameters
    ----------
    table : tuple of Stage
    stage : str
        Name of the stage.

    Returns
    -------
    tuple of str
        Dotted paths, each once.
    """
    row = next(row for row in table if row.name == stage)
    behind = [path for need in row.needs for path in sections_behind(table, need)]
    return tuple(dict.fromkeys([*behind, *(path for path in row.reads if path != LOG)]))


def _moved_by(table: tuple[Stage, ...], run: Run, path: str, before: Run) -> Iterator[Change]:
    stage = stage_of(run, path)
    sections = sections_behind(table, stage) if stage else (path,)
    for change in job_differences(before.job, run.job):
        if any(_meets(change.path, section) for section in sections):
            yield change


def _value_before(before: Run | None, path: str) -> Any:
    return value_at(before, path) if before and _is_there(before, path) else None


def _is_there(run: Run, path: str) -> bool:
    try:
        value_at(run, path)
    except ValueError:
        return False
    return True


def _input(run: Run, path: str, value: Any) -> Input:
    figure = figure_at(run, path)
    kind, says = (figure.kind, figure.says) if figure else of_document(run, path)
    return Input(path, value, kind, says)


def of_document(run: Run, path: str) -> tuple[Kind | None, str]:
    """Kind and help of a field of the document.

    Parameters
    ----------
    run : Run
    path : str
        Of a value of the document.

    Returns
    -------
    tuple of (Kind or None, str)
    """
    owner_path, _, name = path.rpartition(".")
    owner = value_at(run, owner_path) if owner_path else run.job
    declared = type(owner).model_fields.get(name) if isinstance(owner, Section) else None
    return kind_at(owner, name), (declared.description or "") if declared else ""


def _meets(path: str, use: str) -> bool:
    """Whether a path and a pattern lie on one line of the tree: one is the other or stands inside it."""
    pairs = zip(path.split("."), use.split("."), strict=False)
    return all(one == other or EACH in (one, other) for one, other in pairs)
