"""Memory for a passing use: asked for once in each thread, not anew in each frame.

A frame needs room for what a loop notes of every node and nobody reads afterwards.  Large arrays come from
the system as fresh pages, and to touch those for the first time takes longer than many a loop over them.
"""

from __future__ import annotations

import threading
from typing import Any

import numpy as np
from numpy.typing import NDArray


class Scratch(threading.local):
    """Arrays by use, of one thread."""

    def room(self, use: str, count: int, kind: type[np.generic]) -> NDArray[Any]:
        """Array whose numbers are whatever was left in it, until this thread asks for the same use again.

        Parameters
        ----------
        use : str
            What it is for: each use has memory of its own.
        count : int
            Numbers that it must hold.
        kind : numpy type
            The same one for all arrays of a use.

        Returns
        -------
        (count,) array
            Never give it away: neither as a result nor as part of one.

        Examples
        --------
        >>> len(SCRATCH.room("a use", 3, np.float64)), SCRATCH.room("a use", 2, np.float64).dtype
        (3, dtype('float64'))

        hand
        """
        known: NDArray[Any] | None = self.__dict__.get(use)
        if known is None or len(known) < count:
            known = self.__dict__[use] = np.empty(count, dtype=kind)
        return known[:count]


SCRATCH = Scratch()
