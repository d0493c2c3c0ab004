"""Defaults in use: every number that the job leaves open, with what stands in for it and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from pondwright.base.kinds import Kind
from pondwright.base.sources import Source
from pondwright.job.document import Job
from pondwright.job.fields import Default, Quantity, Section, quantity_of
from pondwright.job.shape import Shape


@dataclass(frozen=True, slots=True)
class DefaultInUse:
    """One stated default that the job relies on, and in how many rows.

    A value of ``None`` is worked out by a stage, or is a choice rather than a number.
    """

    path: str
    value: float | None
    kind: Kind | None
    says: str
    source: Source
    count: int = 1


def defaults_in_use(job: Job) -> list[DefaultInUse]:
    """Stated defaults that the job relies on, rows of one map told together.

    Parameters
    ----------
    job : Job

    Returns
    -------
    list of DefaultInUse   In the order of the document; ``*`` in a path stands for each row.
    """
    counts: dict[tuple[str, float | None, Source], int] = {}
    first: dict[tuple[str, float | None, Source], DefaultInUse] = {}
    for path, quantity, default, section in _open_fields(job, ""):
        value, source = default.of(section)
        key = (path, value, source)
        if key not in counts:
            first[key] = DefaultInUse(path, value, quantity.kind, default.says, source)
        counts[key] = counts.get(key, 0) + 1
    return [replace(found, count=counts[key]) for key, found in first.items()]


def _open_fields(section: Section, path: str) -> Iterator[tuple[str, Quantity, Default, Section]]:
    stated, containers = _interesting_fields(type(section))
    for name, quantity, default in stated:
        if getattr(section, name) is None:
            yield f"{path}{name}", quantity, default, section
    for name in containers:
        yield from _open_inside(getattr(section, name), f"{path}{name}")
    if isinstance(section, Shape):
        yield from _open_inside(_unwritten_berms(section), f"{path}berms")


def _open_inside(value: Any, path: str) -> Iterator[tuple[str, Quantity, Default, Section]]:
    if isinstance(value, Section):
        yield from _open_fields(value, f"{path}.")
    elif isinstance(value, Mapping | tuple):
        for item in value.values() if isinstance(value, Mapping) else value:
            yield from _open_inside(item, f"{path}.*")


def _unwritten_berms(shape: Shape) -> tuple[Section, ...]:
    """Berms of bodies that no row writes down: they stand on their defaults alone."""
    written = {berm.body for berm in shape.berms.values()}
    return tuple(shape.berm(body) for body in shape.bodies if body not in written)


@cache
def _interesting_fields(
    model: type[Section],
) -> tuple[tuple[tuple[str, Quantity, Default], ...], tuple[str, ...]]:
    """Fields with a stated default, and the fields that may hold further sections."""
    quantities = {name: quantity_of(model, name) for name in model.model_fields}
    stated = tuple(
        (name, found, found.default) for name, found in quantities.items() if found and found.default
    )
    return stated, tuple(name for name, found in quantities.items() if found is None)
