"""Values and differences as a person reads them, in the units of the job."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import is_dataclass
from itertools import groupby
from typing import Any

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Kind
from pondwright.base.units import Shown, format_value
from pondwright.flow.differences import Change
from pondwright.job.fields import Section

NOTHING = "nothing"
LONGEST = 60

FEW_ROWS = 4
"""Rows that came or went and are told one by one."""


def in_words(value: Any, kind: Kind | None, shown: Shown) -> str:
    """Text of any value of a run.

    Parameters
    ----------
    value : object
        A number, a part of the document or of a result, or None.
    kind : Kind or None
        What a number measures.
    shown : Shown
        Units of the job.

    Returns
    -------
    str
        A number with its unit, or a few words about anything larger.

    Examples
    --------
    >>> from pondwright.base.kinds import LENGTH
    >>> in_words(0.5, LENGTH, "metric"), in_words(None, LENGTH, "metric"), in_words({"a": 1}, None, "us")
    ('0.50 m', 'nothing', '1 entry')
    """
    if value is None or (isinstance(value, str) and not value):
        return NOTHING
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, int | float | np.number):
        return _number(float(value), kind, shown)
    if isinstance(value, np.ndarray):
        return _array(value, kind, shown)
    if isinstance(value, Section):
        return _row(value)
    if isinstance(value, Mapping | tuple | list):
        return f"{len(value)} {'entry' if len(value) == 1 else 'entries'}"
    return type(value).__name__ if is_dataclass(value) else _shortened(str(value))


def change_in_words(change: Change, shown: Shown) -> str:
    """One difference in a sentence without its end.

    Parameters
    ----------
    change : Change
    shown : Shown
        Units of the job.

    Returns
    -------
    str
        For example ``shape.bodies.pond.level was 29.566 m and is 29.700 m``.
    """
    before, now = (in_words(value, change.kind, shown) for value in (change.before, change.now))
    if change.before is None:
        return f"{change.path} is new: {now}"
    if change.now is None:
        return f"{change.path} is gone: {before}"
    return f"{change.path} was {before} and is {now}"


def changes_in_words(changes: Iterable[Change], shown: Shown) -> Iterator[str]:
    """Differences in sentences without their ends; many rows of one map that came or went are one.

    Parameters
    ----------
    changes : iterable of Change
    shown : Shown
        Units of the job.

    Yields
    ------
    str
    """
    for (holder, way), group in groupby(
        changes, lambda change: (change.path.rpartition(".")[0], _way(change))
    ):
        rows = list(group)
        if way == "changed" or len(rows) <= FEW_ROWS:
            yield from (change_in_words(row, shown) for row in rows)
        else:
            names = [row.path.rpartition(".")[2] for row in rows]
            yield f"{holder}: {len(rows)} rows are {way}, {names[0]} to {names[-1]}"


def _way(change: Change) -> str:
    if change.before is None:
        return "new"
    return "gone" if change.now is None else "changed"


def _number(value: float, kind: Kind | None, shown: Shown) -> str:
    try:
        return f"{value:g}" if kind is None else format_value(value, kind, shown)
    except DomainError:  # infinite, or a level slope as a percentage
        return f"{value:g}"


def _array(value: Any, kind: Kind | None, shown: Shown) -> str:
    size = " × ".join(map(str, value.shape))
    finite = value[np.isfinite(value)] if value.dtype.kind in "fiu" else value[:0]
    if not len(finite):
        return f"{size} values"
    least, most = (_number(float(end), kind, shown) for end in (finite.min(), finite.max()))
    return f"{size} values from {least} to {most}"


def _row(value: Section) -> str:
    """A part of the document by what people call it, or by the fields that it has."""
    named = getattr(value, "name", "") or getattr(value, "text", "") or getattr(value, "id", "")
    given = [field for field in type(value).model_fields if field in value.model_fields_set]
    return _shortened(f"“{named}”" if named else f"with {', '.join(given) or 'nothing in it'}")


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
