"""Plain JSON of what the model says: checks, edits, explanations, faults."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from enum import StrEnum
from typing import Any

from pondwright.base.errors import DocumentError, PondwrightError
from pondwright.base.findings import Finding, Op
from pondwright.base.kinds import Kind
from pondwright.base.sources import Source
from pondwright.store import KeptEdit


def plain(value: Any) -> Any:
    """Plain JSON values of anything that a run or the store holds; numbers without end become None."""
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, str):
        return str(value) if isinstance(value, StrEnum) else value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, Kind):
        return value.name
    if isinstance(value, Source):
        return str(value)
    if isinstance(value, Op):
        return plain_op(value)
    if hasattr(value, "model_dump"):
        return value.model_dump(mode="json", exclude_defaults=True)
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(name): plain(item) for name, item in value.items()}
    if isinstance(value, tuple | list | set | frozenset):
        return [plain(item) for item in value]
    return plain(value.tolist()) if hasattr(value, "tolist") else str(value)


def plain_op(op: Op) -> dict[str, Any]:
    """One operation; what removes has no value."""
    return {"op": op.op, "path": op.path, **({} if op.op == "remove" else {"value": op.value})}


def plain_checks(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Checks, in the order given."""
    found: list[dict[str, Any]] = plain(tuple(findings))
    return found


def plain_edits(edits: Iterable[KeptEdit]) -> list[dict[str, Any]]:
    """Edits of a history, oldest first."""
    found: list[dict[str, Any]] = plain(tuple(edits))
    return found


def plain_refusal(error: PondwrightError) -> dict[str, Any]:
    """What a refusal says, with every fault of a document."""
    if isinstance(error, DocumentError):
        return {"says": error.says, "faults": plain(error.faults)}
    return {"says": str(error), "faults": []}


__all__ = ["plain", "plain_checks", "plain_edits", "plain_op", "plain_refusal"]
