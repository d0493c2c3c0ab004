"""What ``pondwright check`` prints: the headline numbers, then the checks, the worst first."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from typing import Any

from pondwright.base.findings import Finding, Grade, Op
from pondwright.base.kinds import RATIO
from pondwright.base.units import Shown, Style, format_value
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

LIMIT_WORDS = {"<=": "at most", ">=": "at least", "<": "less than", ">": "more than"}
PERCENT = Style(("%",))


def print_checks(run: Run, found: Checks, *, every: bool, as_json: bool) -> None:
    """Print the headline numbers and the checks of a run.

    Parameters
    ----------
    run : Run
    found : Checks
    every : bool
        All that are open, not only those that matter most.
    as_json : bool
        Always tells all.
    """
    if as_json:
        output.print_json(_plain(run, found))
    else:
        output.answer(None, _text(run, found, every=every), as_json=False)


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
    offered = any(each.path == "earth.balance.offered_level" and each.value is not None for each in known)
    return [
        figure
        for pattern in HEADLINES
        for figure in known
        if figure.value is not None
        and _fits(figure.path, pattern)
        # A level at which no water can stand is not recommended: the check tells of it.
        and (offered or figure.path != "earth.balance.balanced_level")
    ]


def _text(run: Run, found: Checks, *, every: bool) -> str:
    shown = run.job.shown_units
    title = f"{run.job.name}" + ("  (invented example)" if run.job.demo else "")
    blocks = [title]
    if numbers := headlines(run):
        rows = [(_says(figure, run), _value(figure, shown), figure.path) for figure in numbers]
        blocks.append(output.columns(rows, indent="  ", right=frozenset({1})))
    blocks.append(_counts(found))
    told = found.is_open if every else found.on_show
    blocks += ["\n".join(_lines(finding, shown)) for finding in told]
    if left := found.is_open[len(told) :]:
        stops = sum(finding.grade is Grade.STOP for finding in left)
        blocks.append(
            f"{len(left)} more{f', {stops} of them stop' if stops else ''}: add --all to read them."
        )
    accepted = [each for each in (*found.stop, *found.look) if each.accepted]
    if accepted:
        blocks.append("accepted\n" + output.columns(_accepted(accepted), indent="  "))
    return "\n\n".join(blocks)


def _says(figure: FigureValue, run: Run) -> str:
    """What a figure is; with the name of its body where there are several."""
    bodies = run.job.shape.bodies
    _, _, inside = figure.path.partition(".bodies.")
    body = inside.partition(".")[0]
    if len(bodies) < 2 or body not in bodies:
        return figure.figure.says
    return f"{figure.figure.says}: {bodies[body].name or body}"


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
        value, limit = (_number(number, finding, shown) for number in (finding.value, finding.limit))
        if value == limit and finding.value != finding.limit:  # a near miss must not read like a hit
            value = _number(finding.value, finding, shown, digits=4)
        source = f"   [{finding.source}]" if finding.source else ""
        yield f"      {value}; should be {LIMIT_WORDS[finding.operator]} {limit}{source}"
    for advice in finding.advice:
        yield f"      → {advice.says}"
        yield from (f"          in the file: {_by_hand(op)}" for op in advice.ops)


def _number(value: float, finding: Finding, shown: Shown, digits: int | None = None) -> str:
    """Value beside its limit: a share of a whole in percent, anything else in the units of the job."""
    share = finding.kind == RATIO and finding.limit is not None and finding.limit < 1.0
    return format_value(value, finding.kind, shown, style=PERCENT if share else None, digits=digits)


def _by_hand(op: Op) -> str:
    """What to write for an operation in a job file, whose numbers are metric whatever is shown."""
    place = ".".join(name.replace("~1", "/").replace("~0", "~") for name in op.path.split("/")[1:])
    if op.op == "remove":
        return f"take {place} out"
    return f"{place} = {json.dumps(_rounded(op.value), ensure_ascii=False)}"


def _rounded(value: Any) -> Any:
    """Value with its numbers to a tenth of a millimetre, which nobody builds to."""
    if isinstance(value, dict):
        return {name: _rounded(item) for name, item in value.items()}
    return round(value, 4) if isinstance(value, float) else value


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
