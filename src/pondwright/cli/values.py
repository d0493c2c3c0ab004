"""What ``pondwright show`` and ``pondwright compare`` print."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from pondwright.api import Comparison
from pondwright.base.units import Shown
from pondwright.cli import output
from pondwright.flow.differences import Change
from pondwright.flow.engine import Run, Status
from pondwright.flow.explain import Explanation, Input, Method, of_document
from pondwright.flow.results import FigureValue, figure_at, figures, stage_of, value_at
from pondwright.flow.words import change_in_words, in_words
from pondwright.job.defaults import DefaultInUse

FEW = 8
"""Inputs of one name that are told one by one; more are told together."""


def print_value(run: Run, path: str, *, as_json: bool) -> None:
    """Print the value at a path, or all figures below it.

    Parameters
    ----------
    run : Run
    path : str
    as_json : bool

    Raises
    ------
    DomainError
        If there is nothing at that path.
    """
    below = [each for each in figures(run) if each.path.startswith(f"{path}.")]
    value, figure = (None, None) if below else (value_at(run, path), figure_at(run, path))
    stage = stage_of(run, path)
    kind = figure.kind if figure else None if stage or below else of_document(run, path)[0]
    shown = run.job.shown_units
    if as_json:
        plain = {each.path: each.value for each in below} if below else output.plain_of(value)
        output.print_json(
            {"path": path, "value": plain, "unit": kind.unit if kind else None,
             "status": run.stages[stage].status if stage else Status.FRESH}
        )  # fmt: skip
    elif below:
        rows = [(each.figure.says, _marked(each, shown), each.path) for each in below]
        output.answer(None, output.columns(rows, right=frozenset({1})), as_json=False)
    else:
        words = "left open" if value is None and not stage else in_words(value, kind, shown)
        output.answer(None, words, as_json=False)


def print_explanation(found: Explanation, shown: Shown, *, as_json: bool) -> None:
    """Print where a value comes from.

    Parameters
    ----------
    found : Explanation
    shown : Shown
        Units of the job.
    as_json : bool
    """
    if as_json:
        output.print_json(found)
    else:
        output.answer(None, "\n\n".join(_blocks(found, shown)), as_json=False)


def print_comparison(found: Comparison, shown: Shown, *, as_json: bool) -> None:
    """Print what differs between two jobs.

    Parameters
    ----------
    found : Comparison
    shown : Shown
        Units of the later job.
    as_json : bool
    """
    if as_json:
        output.print_json({"document": found.document, "figures": found.figures})
        return
    if not found.document:
        output.answer(None, "The two jobs are the same.", as_json=False)
        return
    blocks = ["What was changed", *(f"  {sentence}" for sentence in found.words), "", "What moved"]
    blocks.append(_moved(found.figures, shown, ("was", "is")))
    output.answer(None, "\n".join(blocks), as_json=False)


def print_moved(survey: str, found: Comparison, shown: Shown, *, as_json: bool) -> None:
    """Print which figures a survey moved.

    Parameters
    ----------
    survey : str
    found : Comparison
        Of the job without that survey, and with it.
    shown : Shown
        Units of the job.
    as_json : bool
    """
    if as_json:
        output.print_json({"survey": survey, "figures": found.figures})
        return
    title = f"What survey {survey} moved"
    output.answer(None, f"{title}\n{_moved(found.figures, shown, ('without', 'with'))}", as_json=False)


def _moved(changes: Sequence[Change], shown: Shown, heads: tuple[str, str]) -> str:
    rows = [
        (change.path, *(in_words(value, change.kind, shown) for value in (change.before, change.now)))
        for change in changes
    ]
    if not rows:
        return "  No figure moved."
    return output.columns([("", *heads), *rows], indent="  ", right=frozenset({1, 2}))


def _marked(each: FigureValue, shown: Shown) -> str:
    words = in_words(each.value, each.figure.kind, shown)
    return words if each.status is Status.FRESH else f"{words} ({each.status})"


def _blocks(found: Explanation, shown: Shown) -> Iterator[str]:
    value = (
        "left open" if found.value is None and not found.stage else in_words(found.value, found.kind, shown)
    )
    status = "" if found.status is Status.FRESH else f"   ({found.status})"
    yield f"{found.path}   {value}{status}\n  {found.says}"
    if found.stage:
        yield f"stage   {found.stage}"
    if found.method:
        yield "\n".join(_method_lines(found.method))
    if found.inputs:
        yield "inputs\n" + output.columns(_input_rows(found.inputs, shown), indent="  ")
    if found.defaults:
        yield "defaults in use\n" + output.columns(_default_rows(found.defaults, shown), indent="  ")
    if found.moved_by:
        yield "moved by\n" + "\n".join(f"  {change_in_words(each, shown)}" for each in found.moved_by)


def _method_lines(method: Method) -> Iterator[str]:
    yield f"method  {method.name}"
    yield f"  {method.summary}"
    yield from (f"  {line}".rstrip() for line in method.formula.splitlines())
    yield from (f"  [{place}] {reference}" for place, reference in enumerate(method.references, start=1))


def _input_rows(inputs: tuple[Input, ...], shown: Shown) -> Iterator[tuple[str, str, str]]:
    """One row an input; many of one name are told together, with their least and most."""
    alike: dict[tuple[str, str], list[Input]] = defaultdict(list)
    for each in inputs:
        alike[each.says, each.path.rpartition(".")[2]].append(each)
    for (says, name), group in alike.items():
        if len(group) <= FEW:
            yield from ((each.path, _given(each, shown), says) for each in group)
        else:
            yield f"{len(group)} × {name}, {group[0].path} …", _span(group, shown), says


def _span(group: list[Input], shown: Shown) -> str:
    numbers = [each.value for each in group if isinstance(each.value, int | float)]
    if not numbers:
        return _given(group[0], shown)
    least, most = (in_words(end(numbers), group[0].kind, shown) for end in (min, max))
    return f"{least} to {most}"


def _given(each: Input, shown: Shown) -> str:
    return "left open" if each.value is None else in_words(each.value, each.kind, shown)


def _default_rows(defaults: tuple[DefaultInUse, ...], shown: Shown) -> Iterator[tuple[str, str, str, str]]:
    for each in defaults:
        path = each.path if each.count == 1 else f"{each.path} (× {each.count})"
        value = "" if each.value is None else in_words(each.value, each.kind, shown)
        yield path, value, each.says, str(each.source)
