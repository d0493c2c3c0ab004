"""What this computer can do: the row that lets figures of two computers be compared."""

from __future__ import annotations

import numpy as np

from bench.rows import Row, best_seconds

TRIAD_LENGTH = 4_000_000


def rows() -> list[Row]:
    """Memory bandwidth of one core, by the triad a = b + s c on arrays larger than its caches."""
    return [Row("machine: memory bandwidth, triad, one core", triad_bandwidth() / 1e9, "GB/s")]


def triad_bandwidth() -> float:
    """Bytes a second moved by a triad in two numpy passes over three arrays of 32 MB.

    The product pass reads one array and writes one, the sum reads two and writes one: five in all.
    """
    b, c, a = (np.full(TRIAD_LENGTH, value) for value in (1.0, 2.0, 0.0))

    def triad() -> None:
        np.multiply(c, 3.0, out=a)
        np.add(a, b, out=a)

    return 5 * a.nbytes / best_seconds(triad)
