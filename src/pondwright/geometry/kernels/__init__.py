"""Compiled loops of the geometry: plain functions of arrays, one module a topic.

Each module is the inside of the public module of the same name one folder up, which checks what
goes in and says what comes out.  :mod:`.compile` tells how they are compiled and cached.
"""

from __future__ import annotations

from pondwright.geometry.kernels.compile import compiled_count, warm

__all__ = ["compiled_count", "warm"]
