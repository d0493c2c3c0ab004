"""What a client wishes for of a frame, and the arrays that are put together for it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

CENTIMETRE = 0.01

Array = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Wish:
    """What a client wants to see: every ``lod``-th node, which arrays, and a section line."""

    seq: int
    lod: int
    names: frozenset[str]
    section: tuple[tuple[float, float], ...]
    at_rest: bool


@dataclass
class Arrays:
    """Arrays of a frame under way."""

    heads: list[dict[str, Any]] = field(default_factory=list)
    bodies: list[bytes] = field(default_factory=list)
    length: int = 0

    def add(self, name: str, array: Array, **more: Any) -> None:
        """Put an array behind the others."""
        body = np.ascontiguousarray(array).tobytes()
        self.heads.append(
            {"name": name, "dtype": array.dtype.name, "shape": array.shape, "offset": self.length, **more}
        )
        self.bodies.append(body + b"\0" * (-len(body) % 8))
        self.length += len(self.bodies[-1])

    def add_heights(self, name: str, heights: Array, zero: float = 0.0) -> None:
        """Put heights behind the others, as whole centimetres above ``zero`` [m]."""
        steps = np.clip(np.rint((heights - zero) / CENTIMETRE), -32_767, 32_767)
        self.add(name, steps.astype("<i2"), scale=CENTIMETRE, zero=zero)
