"""Figures: result fields that can explain themselves.

A stage's result is a frozen dataclass whose numbers are declared with :func:`figure`: what
kind it is, what it says in plain words, which function gives it and which inputs it uses (dotted
paths into the document or into earlier results, ``*`` for each id).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pondwright.base.kinds import Kind

_KEY = "figure"
_KEPT = "kept"


@dataclass(frozen=True, slots=True)
class Figure:
    """What a result field says, and where it comes from."""

    kind: Kind
    says: str
    by: Callable[..., Any] | None
    uses: tuple[str, ...]


def figure(kind: Kind, says: str, *, by: Callable[..., Any] | None = None, uses: tuple[str, ...] = ()) -> Any:
    """Field of a result dataclass that carries a :class:`Figure`."""
    return dataclasses.field(metadata={_KEY: Figure(kind, says, by, uses)})


def kept() -> Any:
    """Field of a result that later stages or runs look at: its figures are told where they come from."""
    return dataclasses.field(metadata={_KEPT: True})


def kept_of(result: Any) -> frozenset[str]:
    """Fields of a result, or of its class, whose figures are told elsewhere."""
    return frozenset(field.name for field in dataclasses.fields(result) if _KEPT in field.metadata)


def figures_of(result: Any) -> dict[str, Figure]:
    """Figures that a result, or its class, declares, by field name."""
    return {
        field.name: field.metadata[_KEY] for field in dataclasses.fields(result) if _KEY in field.metadata
    }
