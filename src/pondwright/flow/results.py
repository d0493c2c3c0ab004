"""The tree of results and of the document: every value by its dotted path.

``shape.storage.bodies.pond.volume`` goes through the result of the stage ``shape.storage``, a mapping and a
dataclass; ``site.shots.s1.elevation`` goes through the document.  In a pattern, ``*`` stands for each
entry of a mapping or list.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from difflib import get_close_matches
from functools import cache
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

from pondwright.base.errors import DomainError
from pondwright.base.figures import Figure, figures_of, kept_of
from pondwright.flow.engine import Run, Status
from pondwright.flow.stages import STAGES
from pondwright.job.fields import Section

EACH = "*"


@dataclass(frozen=True, slots=True)
class FigureValue:
    """One figure of a run: where it is, what it is, its value, and whether that is fresh."""

    path: str
    value: float | None
    figure: Figure
    stage: str
    status: Status


def value_at(run: Run, path: str) -> Any:
    """Value at a dotted path of the results or the document.

    Parameters
    ----------
    run : Run
    path : str
        For example ``shape.storage.bodies.pond.volume`` or ``shape.bodies.pond.level``.

    Returns
    -------
    object
        A number, an array, or the part of the tree that stands there.

    Raises
    ------
    DomainError
        If there is nothing at that path; names what is there instead.
    """
    stage = stage_of(run, path)
    value: Any = run.stages[stage].result if stage else run.job
    done = [stage] if stage else []
    for name in _names_after(stage, path):
        inside = entries(value)
        if name not in inside:
            raise _not_there(path, ".".join(done), name, [*inside, *_stages_below(run, done)])
        value = inside[name]
        done.append(name)
    return value


def stage_of(run: Run, path: str) -> str | None:
    """Stage whose result a path goes through, or None for a path of the document.

    Parameters
    ----------
    run : Run
    path : str

    Returns
    -------
    str or None
    """
    return next((stage for stage in run.stages if f"{path}.".startswith(f"{stage}.")), None)


def expanded(run: Run, pattern: str, bound: Mapping[str, str] | None = None) -> list[tuple[str, Any]]:
    """Paths and values that a pattern stands for.

    Parameters
    ----------
    run : Run
    pattern : str
        A dotted path in which ``*`` stands for each entry.
    bound : mapping or None
        Entry that a ``*`` stands for behind a name: ``{"bodies": "pond"}`` turns ``bodies.*`` into
        ``bodies.pond`` where there is a ``pond``.

    Returns
    -------
    list of (str, object)
        Empty if a map that the pattern goes through is empty.

    Raises
    ------
    DomainError
        If a name of the pattern does not exist.
    """
    head, star, tail = pattern.partition(f".{EACH}")
    value = value_at(run, head)
    if not star:
        return [(head, value)]
    inside = list(entries(value))
    own = (bound or {}).get(head.rpartition(".")[2])
    names = [own] if own in inside else inside
    return [found for name in names for found in expanded(run, f"{head}.{name}{tail}", bound)]


def bindings(run: Run, path: str) -> dict[str, str]:
    """Entries that a path goes through, by the name of their map.

    Parameters
    ----------
    run : Run
    path : str

    Returns
    -------
    dict
        For example ``{"bodies": "pond"}`` of ``shape.storage.bodies.pond.volume``.
    """
    names = path.split(".")
    places = range(len(stage.split(".")) if (stage := stage_of(run, path)) else 1, len(names))
    return {
        names[place - 1]: names[place]
        for place in places
        if isinstance(value_at(run, ".".join(names[:place])), Mapping | tuple | list)
    }


def figures(run: Run, at: str = "") -> list[FigureValue]:
    """All figures of a run, in the order of the stages.

    Parameters
    ----------
    run : Run
    at : str
        Dotted path: only the figures of its stage, or of all stages below it.  Empty for all.

    Returns
    -------
    list of FigureValue
    """
    return [
        FigureValue(path, value, figure, stage, state.status)
        for stage, state in run.stages.items()
        if not at or f"{at}.".startswith(f"{stage}.") or stage.startswith(f"{at}.")
        for path, value, figure in _figures_in(state.result, stage)
    ]


def figure_at(run: Run, path: str) -> Figure | None:
    """What a result field says of itself, or None if no figure stands at that path.

    Parameters
    ----------
    run : Run
    path : str

    Returns
    -------
    Figure or None

    Raises
    ------
    DomainError
        If there is nothing at that path.
    """
    owner_path, _, name = path.rpartition(".")
    value_at(run, path)
    if stage_of(run, path) in (None, path):
        return None
    owner = value_at(run, owner_path)
    return figures_of(owner).get(name) if is_dataclass(owner) else None


def entries(value: Any) -> Mapping[str, Any]:
    """What stands one step further down in a section, result, mapping or list, by name.

    Parameters
    ----------
    value : object

    Returns
    -------
    mapping
        Entries of a list go by their ``id`` where they have one, else by number; empty for a leaf.
    """
    if isinstance(value, Section):
        return {name: getattr(value, name) for name in type(value).model_fields}
    if is_dataclass(value):
        return {field.name: getattr(value, field.name) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(name): item for name, item in value.items()}
    if isinstance(value, tuple | list):
        return {str(getattr(item, "id", place)): item for place, item in enumerate(value)}
    return {}


def _figures_in(value: Any, path: str) -> Iterator[tuple[str, float | None, Figure]]:
    if is_dataclass(value):
        for name, told in _worth_a_look(value.__class__):
            item = getattr(value, name)
            if told:
                yield f"{path}.{name}", item, told
            else:
                yield from _figures_in(item, f"{path}.{name}")
    elif isinstance(value, Mapping | tuple | list):
        for name, item in entries(value).items():
            yield from _figures_in(item, f"{path}.{name}")


@cache
def _worth_a_look(result: type) -> tuple[tuple[str, Figure | None], ...]:
    """Fields of a result that are figures, and those, without one, that may hold some further down.

    A frame tells all figures, and most of what a run holds are long rows of numbers and words.
    """
    told, hints = figures_of(result), get_type_hints(result)
    seen = {name: hint for name, hint in hints.items() if name not in kept_of(result)}
    names = [name for name, hint in seen.items() if name in told or _may_hold_figures(hint)]
    return tuple((name, told.get(name)) for name in names)


def _may_hold_figures(hint: Any) -> bool:
    if isinstance(hint, type) and is_dataclass(hint):
        return bool(_worth_a_look(hint))
    named = get_type_hints(hint).values() if hasattr(hint, "_fields") else ()
    return hint in (Any, object) or any(map(_may_hold_figures, (*named, *get_args(hint))))


def _names_after(stage: str | None, path: str) -> list[str]:
    rest = path.removeprefix(stage).lstrip(".") if stage else path
    return rest.split(".") if rest else []


def _stages_below(run: Run, done: list[str]) -> list[str]:
    """Names that would go on to a stage from here."""
    places = len(done)
    parts = (stage.split(".") for stage in run.stages)
    return sorted({names[places] for names in parts if len(names) > places and names[:places] == done})


def _not_there(path: str, done: str, name: str, known: list[str]) -> DomainError:
    where = f" in `{done}`" if done else ""
    if not known:
        return DomainError(f"`{path}` must lead to a value, and nothing stands{where} yet")
    names = list(dict.fromkeys(known))
    near = get_close_matches(name, names, n=3, cutoff=0.5) or names[:8]
    return DomainError(
        f"`{path}` must lead to a value, and `{name}` is not{where or ' there'}: try {_or(near)}"
    )


def _or(names: list[str]) -> str:
    quoted = [f"`{name}`" for name in names]
    return " or ".join([", ".join(quoted[:-1]), quoted[-1]] if len(quoted) > 1 else quoted)


def figure_catalogue() -> Iterator[tuple[str, str, Figure]]:
    """Every figure that a run can have.

    Yields
    ------
    tuple of (str, str, Figure)
        Its path, with ``*`` for each entry of a mapping, its stage, and what it says.
    """
    for stage in STAGES:
        for path, found in _declared(stage.result, stage.name):
            yield path, stage.name, found


def _told(hint: Any) -> Any:
    """What a field holds where it holds anything: the type without its None."""
    others = [each for each in get_args(hint) if each is not NoneType]
    return others[0] if NoneType in get_args(hint) and len(others) == 1 else hint


def _declared(result: type, path: str) -> Iterator[tuple[str, Figure]]:
    hints = get_type_hints(result)
    for name, found in figures_of(result).items():
        yield f"{path}.{name}", found
    for name, whole in hints.items():
        hint = _told(whole)
        inner = get_args(hint)[1] if get_origin(hint) is Mapping and len(get_args(hint)) == 2 else hint
        # Rows of a mapping may hold figures deeper down than in themselves.
        if isinstance(inner, type) and is_dataclass(inner) and (inner is not hint or figures_of(inner)):
            yield from _declared(inner, f"{path}.{name}" + (f".{EACH}" if inner is not hint else ""))
