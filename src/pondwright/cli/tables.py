"""What the commands of liner and stone share: tables, numbers in words, checks that are not good."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import Kind
from pondwright.base.units import Shown
from pondwright.cli import output
from pondwright.cli.groundwater import figures_in
from pondwright.flow.words import in_words

NONE = "–"


def print_room(
    room: str,
    results: Mapping[str, Any],
    blocks: Iterable[Iterator[str]],
    findings: Sequence[Finding],
    *,
    as_json: bool,
) -> None:
    """Print a room: its blocks, and what of its checks is not good.

    Parameters
    ----------
    room : str
        Its name, the beginning of its stages' names.
    results : mapping
        Results of its stages by name.
    blocks : iterable of iterators of str
        Lines of each block; an empty one is left out.
    findings : sequence of Finding
    as_json : bool
    """
    if as_json:
        plain = {
            name.removeprefix(f"{room}."): figures_in(result)
            for name, result in results.items()
            if result is not None
        }
        output.print_json({**plain, "checks": findings})
        return
    told = ["\n".join(lines) for block in blocks if (lines := list(block))]
    raised = [finding for finding in findings if finding.grade is not Grade.GOOD]
    if raised:
        told.append("\n".join(line for finding in raised for line in _told(finding)))
    output.answer(None, "\n\n".join(told), as_json=False)


def words(shown: Shown, *values: tuple[float | None, Kind]) -> tuple[str, ...]:
    """Values with their units; a dash for one that is not there.

    Parameters
    ----------
    shown : Shown
    *values : (value, Kind)

    Returns
    -------
    tuple of str
    """
    return tuple(
        NONE if value is None or not math.isfinite(value) else in_words(float(value), kind, shown)
        for value, kind in values
    )


def table(head: Sequence[str], rows: Sequence[Sequence[str]], left: int, until: int | None = None) -> str:
    """Rows below their head.

    Parameters
    ----------
    head : sequence of str
    rows : sequence of sequence of str
    left, until : int
        Columns from ``left`` on, and before ``until``, are aligned to the right.

    Returns
    -------
    str
    """
    right = frozenset(range(left, len(head) if until is None else until))
    return output.columns([head, *rows], indent="  ", right=right)


def _told(finding: Finding) -> Iterator[str]:
    """A check; ways out of a stop too, those of a look are told by ``pondwright check --all``."""
    yield f"{output.graded(finding.grade.value)}  {finding.says}"
    if finding.grade is Grade.STOP:
        yield from (f"      → {advice.says}" for advice in finding.advice)
