"""Try the cases of the ledger: what a method gives beside what it must, and which methods lack a case."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from pondwright.base.errors import DomainError
from pondwright.geometry.grid import Grid
from pondwright.ledger.cases import REFUSED, Case, LedgerError, cases

METHOD_PACKAGES = ("pondwright.geometry", "pondwright.rooms")
NOT_TOPICS = ("stage", "checks")


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a case came out; ``deviation`` is ours less expected, None where they are no numbers."""

    case: Case
    ours: str
    expected: str
    deviation: float | None
    met: bool


@dataclass(frozen=True, slots=True)
class Ledger:
    """All cases with their outcomes, how many of each status, and the methods without a case."""

    outcomes: tuple[Outcome, ...]
    counts: Mapping[str, int]
    missing: tuple[str, ...]

    @property
    def unmet(self) -> tuple[Outcome, ...]:
        """Cases that did not come out as they must."""
        return tuple(outcome for outcome in self.outcomes if not outcome.met)


def ledger() -> Ledger:
    """Ledger of this pondwright.

    Returns
    -------
    Ledger
    """
    outcomes = tuple(map(outcome_of, cases()))
    counts = Counter(case.status for case in cases())
    return Ledger(outcomes, dict(counts), missing_methods())


def outcome_of(case: Case) -> Outcome:
    """Outcome of one case.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Outcome
    """
    try:
        ours = _selected(_function(case)(**_arguments(case.inputs)), case.result)
    except DomainError:
        ours = REFUSED
    return _compared(case, ours)


def public_methods() -> dict[str, Callable[..., Any]]:
    """Public functions of the geometry and of the rooms' topic modules, by dotted name below ``pondwright``.

    Returns
    -------
    dict
    """
    return {
        f"{module.removeprefix('pondwright.')}.{name}": function
        for module in _topic_modules()
        for name, function in _public_functions(module)
    }


def missing_methods() -> tuple[str, ...]:
    """Public methods that no case covers.

    Returns
    -------
    tuple of str
    """
    covered = {method for case in cases() for method in case.methods}
    return tuple(sorted(public_methods().keys() - covered))


def _topic_modules() -> Iterator[str]:
    for package in METHOD_PACKAGES:
        for found in pkgutil.walk_packages(importlib.import_module(package).__path__, f"{package}."):
            if (
                not found.ispkg
                and ".kernels." not in found.name
                and not set(found.name.split(".")).intersection(NOT_TOPICS)
            ):
                yield found.name


def _public_functions(name: str) -> Iterator[tuple[str, Callable[..., Any]]]:
    module = importlib.import_module(name)
    told = getattr(module, "__all__", None)
    for word, value in vars(module).items():
        own = inspect.isfunction(value) and value.__module__ == name and not word.startswith("_")
        if own and (told is None or word in told):
            yield word, value


def _function(case: Case) -> Callable[..., Any]:
    if case.problem:
        dotted = case.problem if "." in case.problem else f"problems.{case.problem}"
        return _named(f"ledger.{dotted}", case)
    if len(case.methods) != 1:
        raise LedgerError(f"case `{case.id}` must name a problem, because it has several methods")
    return _named(case.methods[0], case)


def _named(dotted: str, case: Case) -> Callable[..., Any]:
    module, _, name = dotted.rpartition(".")
    found: Any = getattr(importlib.import_module(f"pondwright.{module}"), name, None)
    if found is None:
        raise LedgerError(f"case `{case.id}` must name a function, and `{dotted}` is none")
    return found


def _arguments(inputs: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _argument(value) for name, value in inputs.items()}


def _argument(value: Any) -> Any:
    """Lists of numbers as arrays; other lists, such as rings of unlike length, item by item.

    ``{"grid": [origin_east, origin_north, spacing, columns, rows]}`` is a grid, and ``{"int8": [...]}`` an
    array of that type.
    """
    if isinstance(value, dict):
        word, inside = next(iter(value.items()))
        return Grid(*inside) if word == "grid" else np.array(inside, dtype=word)
    if not isinstance(value, list):
        return value
    try:
        array = np.array(value)
    except ValueError:
        return [_argument(item) for item in value]
    if array.dtype.kind == "b":
        return array
    return array.astype(np.float64) if array.dtype.kind in "if" else value


def _selected(value: Any, path: str) -> Any:
    for name in filter(None, path.split(".")):
        if isinstance(value, Mapping):
            value = value[name]
        else:
            value = value[int(name)] if name.lstrip("-").isdigit() else getattr(value, name)
    return value


def _compared(case: Case, ours: Any) -> Outcome:
    expected = case.expected
    if isinstance(expected, bool | str | None) or isinstance(ours, str | None):
        return Outcome(case, str(ours), str(expected), None, ours == expected)
    found, wanted = np.asarray(ours, dtype=np.float64), np.asarray(expected, dtype=np.float64)
    if found.shape != wanted.shape:
        return Outcome(case, f"shape {found.shape}", f"shape {wanted.shape}", None, False)
    difference = found - wanted
    allowed = case.tolerance * (np.abs(wanted) if case.tolerance_kind == "relative" else 1.0)
    worst = float(difference.flat[np.argmax(np.abs(difference))]) if difference.size else 0.0
    return Outcome(case, _told(found), _told(wanted), worst, bool(np.all(np.abs(difference) <= allowed)))


def _told(values: Any) -> str:
    return f"{float(values):.8g}" if values.ndim == 0 else f"{values.size} numbers"
