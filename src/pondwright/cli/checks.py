"""What ``pondwright check`` prints: the headline numbers, then the checks, the worst first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict
from typing import Any

from pondwright.base.findings import Finding
from pondwright.base.units import Shown, format_value
from pondwright.cli import output
from pondwright.flow.engine import Run, Status
from pondwright.flow.findings import Checks
from pondwright.flow.results import FigureValue, figures
from pondwright.flow.words import in_words

HEADLINES = (
    "shape.shore.bodies.*.level",
    "shape.shore.bodies.*.area",
    "shape.storage.bodies.*.volume",
    "shape.storage.bodies.*.greatest_depth",
    "earth.soil.dug",
    "earth.soil.placed",
    "earth.soil.surplus_bank",
    "earth.soil.load_count",
    "earth.balance.balanced_level",
)
"""Figures that a builder asks for first; those that a job does not have are left out."""


def print_checks(run: Run, found: Checks, *, as_json: bool) -> None:
    """Print the headline numbers and the checks of a run.

    Parameters
    ----------
    run : Run
    found : Checks
    as_json : bool
    """
    output.answer(
        _plain(run, found) if as_json else None, "" if as_json else _text(run, found), as_json=as_json
    )


def headlines(run: Run) -> list[FigureValue]:
    """Figures that a builder asks for first.

    Parameters
    ----------
    run : Run

    Returns
    -------
    list of FigureValue
    """
    known = figures(run)
    return [figure for pattern in HEADLINES for figure in known if _fits(figure.path, pattern)]


def _text(run: Run, found: Checks) -> str:
    shown = run.job.shown_units
    title = f"{run.job.name}" + ("  (invented example)" if run.job.demo else "")
    blocks = [title]
    if numbers := headlines(run):
        rows = [(figure.figure.says, figure.path, _value(figure, shown)) for figure in numbers]
        blocks.append(output.columns(rows, indent="  ", right=frozenset({2})))
    blocks.append(_counts(found))
    blocks += ["\n".join(_lines(finding, shown)) for finding in found.is_open]
    accepted = [each for each in (*found.stop, *found.look) if each.accepted]
    if accepted:
        blocks.append("accepted\n" + output.columns(_accepted(accepted), indent="  "))
    return "\n\n".join(blocks)


def _value(figure: FigureValue, shown: Shown) -> str:
    words = in_words(figure.value, figure.figure.kind, shown)
    return words if figure.status is Status.FRESH else f"{words} ({figure.status})"


def _counts(found: Checks) -> str:
    by_grade = (("stop", found.stop), ("look", found.look), ("good", found.good))
    return "   ".join(f"{len(findings)} {output.graded(grade)}" for grade, findings in by_grade)


def _lines(finding: Finding, shown: Shown) -> Iterator[str]:
    yield f"{output.graded(finding.grade.value)}  {finding.code}"
    yield f"      {finding.says}"
    if finding.value is not None and finding.limit is not None:
        value, limit = (
            format_value(number, finding.kind, shown) for number in (finding.value, finding.limit)
        )
        source = f"   [{finding.source}]" if finding.source else ""
        yield f"      {value}; the limit is {finding.operator} {limit}{source}"
    yield from (f"      → {advice.says}" for advice in finding.advice)


def _accepted(findings: Iterable[Finding]) -> Iterator[tuple[str, ...]]:
    for finding in findings:
        yield output.graded(finding.grade.value), finding.code, finding.accepted


def _plain(run: Run, found: Checks) -> dict[str, Any]:
    return {
        "job": run.job.id,
        "stops": found.stops,
        "headlines": [
            {"path": each.path, "says": each.figure.says, "value": each.value,
             "unit": each.figure.kind.unit, "status": each.status}
            for each in headlines(run)
        ],
        "checks": [
            {**asdict(finding), "kind": finding.kind.name, "unit": finding.kind.unit,
             "source": str(finding.source) if finding.source else None}
            for finding in (*found.stop, *found.look, *found.good)
        ],
    }  # fmt: skip


def _fits(path: str, pattern: str) -> bool:
    names, wanted = path.split("."), pattern.split(".")
    return len(names) == len(wanted) and all(
        one in ("*", name) for name, one in zip(names, wanted, strict=True)
    )
