"""One turn of the search for a flat piece that covers a mesh without being stretched."""

from __future__ import annotations

from math import sqrt

import numpy as np

from pondwright.geometry.kernels.compile import (
    READ_1D,
    READ_2D,
    READ_INTEGERS_2D,
    WRITE_1D,
    WRITE_2D,
    float64,
    kernel,
    void,
)


@kernel(void(READ_2D, READ_INTEGERS_2D, READ_2D, WRITE_1D))
def least_sizes(places: np.ndarray, triangles: np.ndarray, flat: np.ndarray, out: np.ndarray) -> None:
    """Least stretch from the ground to the sheet of each triangle; negative where it is turned over.

    Each row of ``flat`` holds the first side of a triangle laid flat and the place of its third corner.
    """
    for t in range(len(triangles)):
        p, q, r = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        base, slant, height = flat[t, 0], flat[t, 1], flat[t, 2]
        a, c = (places[q, 0] - places[p, 0]) / base, (places[q, 1] - places[p, 1]) / base
        b = (places[r, 0] - places[p, 0] - slant * a) / height
        d = (places[r, 1] - places[p, 1] - slant * c) / height
        out[t] = 0.5 * (sqrt((a + d) ** 2 + (c - b) ** 2) - sqrt((a - d) ** 2 + (c + b) ** 2))


@kernel(
    void(
        READ_2D, READ_INTEGERS_2D, READ_2D, READ_1D, READ_1D, float64, float64,
        WRITE_2D, WRITE_2D, WRITE_2D, WRITE_2D, WRITE_2D,
    )
)  # fmt: skip
def turn(
    places: np.ndarray,
    triangles: np.ndarray,
    flat: np.ndarray,
    weights: np.ndarray,
    half: np.ndarray,
    hold: float,
    relaxed: float,
    wanted: np.ndarray,
    held: np.ndarray,
    owed: np.ndarray,
    owed_places: np.ndarray,
    right: np.ndarray,
) -> None:
    """What triangles and piece want of the places, as the right side of the solve.

    ``wanted`` and ``owed`` (a row a triangle), ``held`` and ``owed_places`` are those of the last turn and
    become those of this one.  ``relaxed`` is how far a turn goes: 1 is to the places, more is beyond them.
    """
    for n in range(len(places)):
        for k in range(2):
            place = relaxed * places[n, k] + (1.0 - relaxed) * held[n, k] + owed_places[n, k]
            held[n, k] = min(max(place, -half[k]), half[k])
            owed_places[n, k] = place - held[n, k]
            right[n, k] = hold * (held[n, k] - owed_places[n, k])
    for t in range(len(triangles)):
        p, q, r = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        base, slant, height = flat[t, 0], flat[t, 1], flat[t, 2]
        a, c = (places[q, 0] - places[p, 0]) / base, (places[q, 1] - places[p, 1]) / base
        b = (places[r, 0] - places[p, 0] - slant * a) / height
        d = (places[r, 1] - places[p, 1] - slant * c) / height
        a = relaxed * a + (1.0 - relaxed) * wanted[t, 0] + owed[t, 0]
        b = relaxed * b + (1.0 - relaxed) * wanted[t, 1] + owed[t, 1]
        c = relaxed * c + (1.0 - relaxed) * wanted[t, 2] + owed[t, 2]
        d = relaxed * d + (1.0 - relaxed) * wanted[t, 3] + owed[t, 3]
        spin = 0.5 * sqrt((a + d) ** 2 + (c - b) ** 2)
        mirror = 0.5 * sqrt((a - d) ** 2 + (c + b) ** 2)
        large, small = max(spin + mirror, 1.0), max(spin - mirror, 1.0)
        turned = 0.5 * (large + small) / max(spin, 1e-12)
        mirrored = 0.5 * (large - small) / max(mirror, 1e-12)
        even, odd = 0.5 * (a + d) * turned, 0.5 * (a - d) * mirrored
        cross, twist = 0.5 * (c + b) * mirrored, 0.5 * (c - b) * turned
        wa, wb, wc, wd = even + odd, cross - twist, cross + twist, even - odd
        wanted[t, 0], wanted[t, 1], wanted[t, 2], wanted[t, 3] = wa, wb, wc, wd
        owed[t, 0], owed[t, 1], owed[t, 2], owed[t, 3] = a - wa, b - wb, c - wc, d - wd
        w = weights[t]
        a, b, c, d = w * (2.0 * wa - a), w * (2.0 * wb - b), w * (2.0 * wc - c), w * (2.0 * wd - d)
        x, y = (a - slant / height * b) / base, (c - slant / height * d) / base
        right[q, 0] += x
        right[q, 1] += y
        right[r, 0] += b / height
        right[r, 1] += d / height
        right[p, 0] -= x + b / height
        right[p, 1] -= y + d / height
