"""How commands print: aligned plain text for people, JSON for programs; colour only in a terminal."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any

import typer

from pondwright import api
from pondwright.job.document import Job
from pondwright.job.edits import Edit

_COLOURS = {"stop": "red", "look": "yellow", "good": "green"}


def answer(plain: Any, text: str, *, as_json: bool) -> None:
    """Print an answer as JSON or as text.

    Parameters
    ----------
    plain : object
        What the JSON tells.
    text : str
        What a person reads.
    as_json : bool
    """
    if as_json:
        print_json(plain)
    else:
        typer.echo(text)


def print_json(value: Any) -> None:
    """Print any value as JSON.

    Parameters
    ----------
    value : object
    """
    typer.echo(json.dumps(plain_of(value), indent=1, ensure_ascii=False, allow_nan=False))


def written(job: Job, edit: Edit, out: Path) -> Job:
    """The job with an edit, written to a file.

    Parameters
    ----------
    job : Job
    edit : Edit
    out : Path

    Returns
    -------
    Job
    """
    edited = api.edit(job, edit)
    api.save_job(edited, out)
    typer.echo(f"wrote {out}", err=True)
    return edited


def graded(word: str) -> str:
    """Grade of a check in its colour; the colour is dropped where the output is no terminal.

    Parameters
    ----------
    word : str

    Returns
    -------
    str
    """
    return typer.style(word, fg=_COLOURS.get(word), bold=word == "stop")


def columns(rows: Iterable[Sequence[str]], indent: str = "", right: frozenset[int] = frozenset()) -> str:
    """Rows of text with their columns aligned.

    Parameters
    ----------
    rows : iterable of sequence of str
        All of one length.
    indent : str
        What every line begins with.
    right : frozenset of int
        Columns that are aligned to the right, such as numbers.

    Returns
    -------
    str

    Examples
    --------
    >>> print(columns([("area", "12 m²"), ("volume", "8 m³")], right=frozenset({1})))
    area    12 m²
    volume   8 m³
    """
    table = [tuple(row) for row in rows]
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    lines = (
        "  ".join(
            cell.rjust(width) if place in right else cell.ljust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        for row in table
    )
    return "\n".join(f"{indent}{line}".rstrip() for line in lines)


def plain_of(value: Any) -> Any:
    """Plain JSON values of anything that a run holds.

    Parameters
    ----------
    value : object

    Returns
    -------
    object
        Mappings, lists, text, numbers; not finite numbers become None.
    """
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, str):
        return str(value) if isinstance(value, StrEnum) else value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    if hasattr(value, "model_dump"):
        return value.model_dump(mode="json", exclude_defaults=True)
    if is_dataclass(value):
        return {field.name: plain_of(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(name): plain_of(item) for name, item in value.items()}
    if isinstance(value, tuple | list | set | frozenset):
        return [plain_of(item) for item in value]
    return plain_of(value.tolist()) if hasattr(value, "tolist") else str(value)
