"""What ``pondwright levels`` prints: level books as a field book reads, and what they close by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

import typer

from pondwright import api
from pondwright.base.errors import ImportRefused
from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import ELEVATION, LENGTH, Kind
from pondwright.base.units import Shown, format_value
from pondwright.cli import output
from pondwright.exchange.field_book import Reads, RodUnit
from pondwright.job.document import Job
from pondwright.job.edits import Edit

HEADER = ("point", "BS", "HI", "IFS", "FS", "elevation", "correction", "adjusted")
UNITS: Mapping[str, RodUnit] = {"m": "m", "cm": "cm", "mm": "mm", "ft": "ft", "ft-in": "ft-in"}
_NUMBERS = frozenset(range(1, len(HEADER)))
_COLUMN = {"back": "BS", "side": "IFS", "turn": "FS", "check": "FS"}


@dataclass(frozen=True, slots=True)
class _Printed:
    """One printed row: a point, and the text of each column."""

    point: str
    cells: dict[str, str]


def print_levels(result: Any, findings: Sequence[Finding], shown: Shown, *, as_json: bool) -> None:
    """Print level books worked out.

    Parameters
    ----------
    result : LevelsResult
    findings : sequence of Finding
        Checks of the books.
    shown : Shown
        Units of the job.
    as_json : bool
    """
    if as_json:
        output.print_json({"heights": result.heights, "books": result.books, "checks": findings})
        return
    if not result.books:
        output.answer(None, "There is no level book in this job.", as_json=False)
        return
    blocks = ["\n".join(_book(name, book, shown)) for name, book in result.books.items()]
    told = [f"{output.graded(each.grade)}  {each.says}" for each in findings if each.grade is not Grade.GOOD]
    blocks.append("\n".join(told) if told else f"{output.graded('good')}  Nothing to be said against it.")
    output.answer(None, "\n\n".join(blocks), as_json=False)


def taken(job: Job, page: Path, out: Path | None, unit: str | None, *, up: bool) -> Job:
    """Job with a page of a field book in it, written to a file.

    Parameters
    ----------
    job : Job
    page : Path
        The page, a file of comma-separated values.
    out : Path or None
        Where the job is written.
    unit : str or None
        Unit of the rod, if it is not that of the job.
    up : bool
        A larger reading is higher ground.

    Returns
    -------
    Job

    Raises
    ------
    ImportRefused
        If the page cannot be read whole: every cell that cannot be read is told, and nothing is written.
    """
    if out is None:
        raise ImportRefused("`--take` needs `--out JOB2`: the file for the job with the page in it")
    if unit is not None and unit not in UNITS:
        raise ImportRefused(f"`--unit` must be one of {', '.join(UNITS)}, got `{unit}`")
    reads: Reads = "up" if up else "down"
    found = api.read_field_book(_text_of(page), job, unit=UNITS[unit] if unit else None, reads=reads)
    if found.faults:
        raise ImportRefused("\n".join([f"`{page}` was not taken:", *(f"  {each}" for each in found.faults)]))
    name = next(f"book{number}" for number in count(1) if f"book{number}" not in job.site.books)
    changed = api.edit(job, Edit("take_page", 0, found.ops(name), "Take in a page of the field book"))
    api.save_job(changed, out)
    typer.echo(f"{found.says}  Written to {out} as book `{name}`.", err=True)
    return changed


def _text_of(page: Path) -> str:
    try:
        return page.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise ImportRefused(f"`{page}` cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise ImportRefused(
            f"`{page}` must be text in UTF-8, got other bytes at place {error.start}"
        ) from error


def _book(name: str, book: Any, shown: Shown) -> Iterator[str]:
    yield f"book {name}"
    printed = [tuple(row.cells.get(column, "") for column in HEADER) for row in _rows(book.lines, shown)]
    yield output.columns([HEADER, *printed], indent="  ", right=_NUMBERS)
    sums = book.arithmetic
    told = [("backsights", sums.sum_back), ("foresights", sums.sum_fore), ("rise", sums.rise)]
    yield "  " + ", ".join(f"{word} {_number(value, LENGTH, shown)}" for word, value in told)
    if book.misclosure is None:
        yield "  not closed: nothing checks these heights"
    else:
        missed, allowed = (_number(value, LENGTH, shown) for value in (book.misclosure, book.allowed))
        yield f"  misclosure {missed}, allowed {allowed}"


def _rows(lines: Sequence[Any], shown: Shown) -> list[_Printed]:
    """Rows of a field book: the backsight on a turning point stands beside its foresight."""
    rows: list[_Printed] = []
    set_up = -1
    for line in lines:
        cells = {_COLUMN[line.role]: _number(line.rod, LENGTH, shown)}
        if line.role == "back" and line.set_up != set_up:
            cells["HI"] = _number(line.instrument, ELEVATION, shown)
            set_up = line.set_up
        if line.role == "back" and rows and rows[-1].point == line.point and "BS" not in rows[-1].cells:
            rows[-1].cells.update(cells)
            continue
        cells |= {
            "point": line.point,
            "elevation": _number(line.elevation, ELEVATION, shown),
            "correction": _number(line.correction, LENGTH, shown),
            "adjusted": _number(line.adjusted, ELEVATION, shown),
        }
        rows.append(_Printed(line.point, cells))
    return rows


def _number(value: float | None, kind: Kind, shown: Shown) -> str:
    """Text of a number; feet and metres with three decimals, as a misclosure needs them."""
    if value is None:
        return ""
    return format_value(value, kind, shown, digits=_DIGITS.get(shown))


_DIGITS: Mapping[Shown, int] = {"metric": 3, "us": 3}
