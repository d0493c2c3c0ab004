"""Data tables that ship with the package: CSV files beside the module that reads them.

Every table begins with the line ``# source: document | place | standing`` (place and standing may be
left out; the standings are those of :class:`pondwright.base.sources.Standing`).  Further lines that begin
with ``#`` are notes.  This is the only module of the core that opens a file.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from pondwright.base.errors import DomainError
from pondwright.base.sources import PRACTICE, Source, Standing

_SOURCE = "# source:"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of one data table, as text by column, and where its numbers come from."""

    source: Source
    rows: tuple[Mapping[str, str], ...]


@cache
def read_table(package: str, name: str) -> Table:
    """Data table that lies beside the modules of a package; read once, then kept.

    Parameters
    ----------
    package : str
        Dotted name of the package that holds the file, for example ``pondwright.base``.
    name : str
        File name, for example ``units.csv``.

    Returns
    -------
    Table
        Its source and its rows.

    Raises
    ------
    DomainError
        If there is no such table, it states no source, or a row does not fill the columns.
    """
    file = files(package).joinpath(name)
    if not file.is_file():
        raise DomainError(f"table `{name}` must lie in the package `{package}`, none found")
    return _table(name, file.read_text(encoding="utf-8"))


def _table(name: str, text: str) -> Table:
    lines = [line for line in text.splitlines() if line.strip()]
    sources = [line.removeprefix(_SOURCE).strip() for line in lines if line.startswith(_SOURCE)]
    if len(sources) != 1:
        raise DomainError(f"table `{name}` must state its source in one line, got {len(sources)} of them")
    columns, *rows = list(csv.reader(line for line in lines if not line.startswith("#"))) or [[]]
    if not columns:
        raise DomainError(f"table `{name}` must have a line of column names, got none")
    for row in rows:
        if len(row) != len(columns):
            raise DomainError(
                f"table `{name}` must have {len(columns)} cells in the row `{row[0]}`, got {len(row)}"
            )
    return Table(
        _source(name, sources[0]),
        tuple(MappingProxyType(dict(zip(columns, row, strict=True))) for row in rows),
    )


def _source(name: str, text: str) -> Source:
    if text == PRACTICE.standing:
        return PRACTICE
    document, place, standing = [*(part.strip() for part in text.split("|")), "", ""][:3]
    if standing and standing not in list(Standing):
        raise DomainError(f"table `{name}` must state a known standing of its source, got `{standing}`")
    return Source(document, place, Standing(standing) if standing else Standing.CONFIRMED)
