"""What ``pondwright bends`` prints: ways to bend a pond's shore, one of which can be taken."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from pondwright.base.errors import DomainError
from pondwright.base.kinds import AREA, LENGTH, RATIO, SOIL_VOLUME, Kind
from pondwright.base.units import Shown
from pondwright.cli import output
from pondwright.flow.engine import Run
from pondwright.flow.words import in_words
from pondwright.job.document import Job
from pondwright.job.edits import Edit

COLUMNS: tuple[tuple[str, str, Kind | None], ...] = (
    ("area", "area", AREA),
    ("shore", "length", LENGTH),
    ("against round", "development", RATIO),
    ("narrowest", "narrowest", LENGTH),
    ("dug", "dug", SOIL_VOLUME),
    ("left over", "surplus_bank", SOIL_VOLUME),
    ("reached", "reached", None),
    ("seen", "seen", None),
)
"""Head of each column, what it shows and its kind; a share has none, and is shown in percent."""


def bends_of(run: Run, body: str) -> Any:
    """Ways to bend one body.

    Parameters
    ----------
    run : Run
    body : str

    Returns
    -------
    BodyBends

    Raises
    ------
    DomainError
        If the job has no answer, or the body is no pond with a shoreline.
    """
    result = run.stages["shape.bends"].result
    if result is None:
        raise DomainError(run.findings[0].says)
    if body not in result.bodies:
        known = ", ".join(f"`{name}`" for name in result.bodies) or "none"
        raise DomainError(f"`body` must be a pond with a shoreline ({known}), got `{body}`")
    return result.bodies[body]


def print_bends(run: Run, body: str, *, as_json: bool) -> None:
    """Print the ways to bend one body.

    Parameters
    ----------
    run : Run
    body : str
    as_json : bool
    """
    found = bends_of(run, body)
    if as_json:
        output.print_json(found)
        return
    rows = [("", *(head for head, _name, _kind in COLUMNS))]
    for name, each in (("as it is drawn", found.drawn), *found.variants.items()):
        if not each.refused:
            rows.append((name, *_cells(each, run.job.shown_units)))
    table = output.columns(rows, right=frozenset(range(1, len(COLUMNS) + 1)))
    output.answer(None, f"{table}\n\n" + "\n".join(_said(found.variants)), as_json=False)


def taken(run: Run, body: str, name: str, out: Path | None) -> Job:
    """Job with one of the ways taken, written to a file.

    Parameters
    ----------
    run : Run
    body : str
    name : str
        Of the way.
    out : Path or None
        Where the job is written.

    Returns
    -------
    Job

    Raises
    ------
    DomainError
        If there is no such way, it is refused, or nobody tells where to write the job.
    """
    if out is None:
        raise DomainError("`--take` must come with `--out`, the file for the job with the bend in it")
    variants = bends_of(run, body).variants
    if name not in variants:
        raise DomainError(f"`--take` must be one of {', '.join(variants)}, got `{name}`")
    chosen = variants[name]
    if chosen.refused:
        raise DomainError(f"`--take {name}` cannot be taken: {chosen.refused}")
    return output.written(run.job, Edit("bend", 0, chosen.ops, chosen.says), out)


def _cells(variant: Any, shown: Shown) -> tuple[str, ...]:
    return tuple(_cell(getattr(variant, name), kind, shown) for _head, name, kind in COLUMNS)


def _cell(value: float | None, kind: Kind | None, shown: Shown) -> str:
    if value is None:
        return ""
    return f"{100.0 * value:.1f} %" if kind is None else in_words(value, kind, shown)


def _said(variants: Mapping[str, Any]) -> Iterator[str]:
    for name, each in variants.items():
        yield f"{name}: {each.says}" + (f" - not offered: {each.refused}" if each.refused else "")
