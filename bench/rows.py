"""One measured figure beside its peer and its goal, and how times are taken."""

from __future__ import annotations

import operator
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

COMPARE: dict[str, Callable[[float, float], bool]] = {"<=": operator.le, ">=": operator.ge}


@dataclass(frozen=True, slots=True)
class Goal:
    """What a figure should reach: ``<=`` or ``>=`` a limit; of the ratio where there is a peer."""

    operator: str
    limit: float

    def __str__(self) -> str:
        return f"{self.operator} {self.limit:g}"


def at_most(limit: float) -> Goal:
    """Goal that is met by the limit and anything below."""
    return Goal("<=", limit)


def at_least(limit: float) -> Goal:
    """Goal that is met by the limit and anything above."""
    return Goal(">=", limit)


@dataclass(frozen=True, slots=True)
class Row:
    """One figure: what was measured, in its unit, and its peer's figure from the same run."""

    name: str
    value: float
    unit: str
    peer: str = ""
    peer_value: float | None = None
    goal: Goal | None = None

    @property
    def ratio(self) -> float | None:
        """Value over the peer's value, where there is a peer."""
        return self.value / self.peer_value if self.peer_value else None

    @property
    def met(self) -> bool | None:
        """Whether the goal holds, of the ratio where there is one; None without a goal."""
        if self.goal is None:
            return None
        judged = self.value if self.ratio is None else self.ratio
        return bool(COMPARE[self.goal.operator](judged, self.goal.limit))

    def record(self) -> dict[str, Any]:
        """The row as it stands in the record file."""
        return {
            "name": self.name,
            "value": float(self.value),
            "unit": self.unit,
            "peer": self.peer,
            "peer_value": None if self.peer_value is None else float(self.peer_value),
            "ratio": None if self.ratio is None else float(self.ratio),
            "goal": None if self.goal is None else str(self.goal),
            "met": self.met,
        }


def best_seconds(work: Callable[[], object], repeats: int = 7, at_least_seconds: float = 0.02) -> float:
    """Seconds that one call of `work` takes: the best of several repeats, each long enough to time.

    The first call is not counted: it fills caches and may compile.
    """
    work()
    calls = 1
    while (seconds := _seconds(work, calls)) < at_least_seconds:
        calls = max(2 * calls, int(calls * at_least_seconds / max(seconds, 1e-9)))
    return min(_seconds(work, calls) for _ in range(repeats)) / calls


def _seconds(work: Callable[[], object], calls: int) -> float:
    began = time.perf_counter()
    for _ in range(calls):
        work()
    return time.perf_counter() - began
