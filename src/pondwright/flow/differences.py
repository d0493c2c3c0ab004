"""What differs between two jobs, and which figures moved between two runs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pondwright.base.kinds import Kind
from pondwright.flow.engine import Run
from pondwright.flow.equality import same
from pondwright.flow.results import entries, figures
from pondwright.job.document import Job
from pondwright.job.fields import Section, quantity_of


@dataclass(frozen=True, slots=True)
class Change:
    """A value that differs: where, what it was, what it is now (None for not there), and its kind."""

    path: str
    before: Any
    now: Any
    kind: Kind | None = None


def job_differences(before: Job, now: Job) -> tuple[Change, ...]:
    """Values in which two jobs differ, in the order of the document.

    Parameters
    ----------
    before, now : Job

    Returns
    -------
    tuple of Change
        A row that was added or removed is one change, and so is a list without ids.
    """
    return tuple(_inside(before, now, ""))


def moved_figures(before: Run, now: Run) -> tuple[Change, ...]:
    """Figures in which two runs differ, in the order of the stages.

    Parameters
    ----------
    before, now : Run

    Returns
    -------
    tuple of Change
        A figure that only one run has is None in the other.
    """
    old = {figure.path: figure for figure in figures(before)}
    new = {figure.path: figure for figure in figures(now)}
    changes = (
        Change(
            path,
            old[path].value if path in old else None,
            new[path].value if path in new else None,
            known.figure.kind,
        )
        for path, known in {**old, **new}.items()
    )
    return tuple(change for change in changes if not same(change.before, change.now))


def kind_at(owner: Any, name: str) -> Kind | None:
    """Kind of a section's field, if it holds a quantity.

    Parameters
    ----------
    owner : object
        The section that holds the field.
    name : str

    Returns
    -------
    Kind or None
    """
    if not isinstance(owner, Section) or name not in type(owner).model_fields:
        return None
    found = quantity_of(type(owner), name)
    return found.kind if found else None


def _inside(before: Any, now: Any, path: str) -> Iterator[Change]:
    old, new = entries(before), entries(now)
    for name in {**old, **new}:
        one, other = old.get(name), new.get(name)
        here = f"{path}.{name}" if path else name
        if one is other or one == other:
            continue
        if _comparable(one, other):
            yield from _inside(one, other, here)
        else:
            yield Change(here, one, other, kind_at(now, name) or kind_at(before, name))


def _comparable(one: Any, other: Any) -> bool:
    """Whether two values are told apart by what is inside them."""
    if isinstance(one, Section | Mapping):
        return type(one) is type(other)
    return isinstance(one, tuple) and isinstance(other, tuple) and _have_ids(one) and _have_ids(other)


def _have_ids(items: tuple[Any, ...]) -> bool:
    return bool(items) and all(hasattr(item, "id") for item in items)
