"""Checks in the names of the document: the stages know ids only, and set them in backticks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from pondwright.base.findings import Finding
from pondwright.job.document import Job
from pondwright.job.lining import Liner
from pondwright.job.places import Row
from pondwright.job.stone import Piece

_SENTENCE_BEGINS = re.compile(r"(?:^|[.!?] )$")
_QUOTED = re.compile(r"`((?:[a-z]+\.[a-z_]+\.)?[a-z][a-z0-9_]*)`")

NAMED = (
    "shape.bodies",
    "lining.liners",
    "lining.edges",
    "lining.penetrations",
    "lining.guards",
    "lining.tapes",
    "lining.patches",
    "stone.piles",
    "stone.pieces",
    "stone.falls",
    "stone.lifters",
    "stone.treatments",
    "stone.classes",
    "shape.seats",
    "shape.ways",
    "site.things",
    "earth.piles",
    "earth.off_site",
    "site.probes",
    "site.soils",
)
"""Maps of the document whose rows the checks call by name; of rows with one id, the first is meant."""


def with_names(findings: Iterable[Finding], job: Job) -> Iterator[Finding]:
    """Findings that call what is in the document by its name; the stages know ids only, set in backticks.

    Parameters
    ----------
    findings : iterable of Finding
    job : Job

    Yields
    ------
    Finding

    Notes
    -----
    Where rows of several maps have one id, it is the body; else the row that the finding is about; else the
    first in the order of `NAMED`.  A whole path in backticks, as `` `lining.edges.wading` ``, is that row.
    What has no name is called by its id, with a capital letter where a sentence begins.
    """
    rows = _named_rows(job)
    for finding in findings:
        if not any("`" in says for says in (finding.says, *(way.says for way in finding.advice))):
            yield finding
            continue
        about = finding.where.paths
        advice = tuple(replace(way, says=named(way.says, rows, about)) for way in finding.advice)
        yield replace(finding, says=named(finding.says, rows, about), advice=advice)


def in_names(says: str, job: Job) -> str:
    """A sentence or a cell of a table that calls what is in the document by its name.

    Parameters
    ----------
    says : str
        Ids and paths set in backticks.
    job : Job

    Returns
    -------
    str
    """
    return named(says, _named_rows(job))


def named(says: str, rows: Mapping[str, Mapping[str, Row]], about: Sequence[str] = ()) -> str:
    """A sentence that calls rows of the document by their names, where it had their ids in backticks.

    Parameters
    ----------
    says : str
    rows : mapping of str to mapping of str to Row
        Rows by the path of their map, `shape.bodies` among them.
    about : sequence of str
        Paths that the sentence is about.

    Returns
    -------
    str
    """

    def name(found: re.Match[str]) -> str:
        path = _meant(found[1], about, rows)
        if path is None:
            return found[0]
        begins = _SENTENCE_BEGINS.search(found.string[: found.start()]) is not None
        return _called(path, rows, begins)

    return _QUOTED.sub(name, says)


def _named_rows(job: Job) -> dict[str, Mapping[str, Row]]:
    return {path: _rows(job, path) for path in NAMED}


def _rows(job: Job, path: str) -> Mapping[str, Row]:
    section, name = path.split(".")
    rows: Mapping[str, Row] = getattr(getattr(job, section), name)
    return rows


def _meant(
    quoted: str, paths: Sequence[str], rows: Mapping[str, Mapping[str, Row]]
) -> tuple[str, str] | None:
    """Map and id of the row that stands in backticks; none where it is no row."""
    where, _, own = quoted.rpartition(".")
    if where:
        return (where, own) if own in rows.get(where, {}) else None
    if own in rows["shape.bodies"]:
        return "shape.bodies", own
    about = [path.split(".") for path in paths]
    its = [".".join(parts[:2]) for parts in about if len(parts) > 2 and parts[2] == own]
    return next(((place, own) for place in (*its, *NAMED) if own in rows.get(place, {})), None)


def _called(path: tuple[str, str], rows: Mapping[str, Mapping[str, Row]], begins: bool) -> str:
    """Name of a row; a stone by its mark, and a liner by its waters: sentences speak of the liner of them."""
    row = rows[path[0]][path[1]]
    if isinstance(row, Liner) and row.bodies:
        bodies = [("shape.bodies", body) for body in row.bodies if body in rows["shape.bodies"]]
        if bodies:
            return " and ".join(_called(body, rows, begins and body == bodies[0]) for body in bodies)
    words = path[1].replace("_", " ")
    mark = row.tag if isinstance(row, Piece) else ""
    return mark or row.name or (words[0].upper() + words[1:] if begins else words)
