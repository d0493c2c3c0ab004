"""How the kernels of pondwright are compiled, cached and warmed.

A kernel is a plain function of numbers and arrays in a module of this folder, decorated with
:func:`kernel` and an explicit signature.  Importing its module therefore compiles it, or loads
it from the cache; a later call never compiles, and one with other types is refused.

Signatures are written with the shorthands below.  An array that is only read is declared
``READ_1D``, ``READ_2D``, ``READ_BYTES`` and so on, which take read-only and writable arrays alike;
an array that is filled is declared ``WRITE_...`` and must be writable.  All are in row order::

    @kernel(void(READ_2D, float64, WRITE_2D))
    def raised(z, height, out): ...

The cache is a folder in the user's own cache folder, named by a hash of the sources of all
kernels and of the versions of Python, numpy and numba: numba alone does not see that a kernel
changed when it is called from another file.  Where no such folder can be written, a private
temporary folder serves this process.  numba knows its cache folder only as a global setting, so
it is set while one of our kernels is decorated and put back at once; other users of numba in the
same process keep theirs.

No kernel runs in parallel (one thread draws a frame) and none uses fast arithmetic (which loses
NaN and the order of sums).
"""

from __future__ import annotations

import hashlib
import importlib
import os
import platform
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import numba
import numpy as np
from numba import boolean, float64, int8, int32, int64, types, void
from numba.core.registry import cpu_target

__all__ = [
    "READ_1D",
    "READ_2D",
    "READ_3D",
    "READ_BYTES",
    "READ_BYTES_2D",
    "READ_INTEGERS_2D",
    "WRITE_1D",
    "WRITE_2D",
    "WRITE_3D",
    "WRITE_BYTES",
    "WRITE_BYTES_2D",
    "WRITE_INTEGERS_2D",
    "boolean",
    "cache_folder",
    "compiled_count",
    "float64",
    "int8",
    "int32",
    "int64",
    "kernel",
    "types",
    "void",
    "warm",
]

READ_1D = types.Array(float64, 1, "C", readonly=True)
READ_2D = types.Array(float64, 2, "C", readonly=True)
READ_3D = types.Array(float64, 3, "C", readonly=True)
WRITE_1D = types.Array(float64, 1, "C")
WRITE_2D = types.Array(float64, 2, "C")
WRITE_3D = types.Array(float64, 3, "C")
READ_BYTES = types.Array(int8, 1, "C", readonly=True)
READ_BYTES_2D = types.Array(int8, 2, "C", readonly=True)
WRITE_BYTES = types.Array(int8, 1, "C")
WRITE_BYTES_2D = types.Array(int8, 2, "C")
READ_INTEGERS_2D = types.Array(int32, 2, "C", readonly=True)
WRITE_INTEGERS_2D = types.Array(int32, 2, "C")

_FOLDER = Path(__file__).parent
_settings: Any = numba.config
_kernels: list[Any] = []

Function = TypeVar("Function", bound=Callable[..., Any])


def kernel(signature: Any) -> Callable[[Function], Function]:
    """Decorator that compiles a function for one signature, or loads it from the cache.

    Parameters
    ----------
    signature : numba signature
        Types of the arguments and of the result, such as ``float64(READ_2D, float64)``.

    Returns
    -------
    decorator
        The compiled function releases the interpreter lock while it runs.
    """

    def compiled(function: Function) -> Function:
        before = _settings.CACHE_DIR
        _settings.CACHE_DIR = str(cache_folder())
        try:
            dispatcher = numba.njit(signature, nogil=True, cache=True)(function)
        finally:
            _settings.CACHE_DIR = before
        _kernels.append(dispatcher)
        return dispatcher

    return compiled


@cache
def cache_folder() -> Path:
    """Folder that holds the compiled kernels of exactly these sources and versions."""
    try:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
        folder = base / "pondwright" / f"kernels-{_sources_hash()}"
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return folder
    except (OSError, RuntimeError):  # no place that can be written, or a user without a home
        return Path(_temporary_folder().name)


@cache
def _temporary_folder() -> tempfile.TemporaryDirectory[str]:
    """Folder for this process alone: a shared one could be filled with code by somebody else."""
    return tempfile.TemporaryDirectory(prefix="pondwright-kernels-")


def _sources_hash() -> str:
    """Hash of every kernel's source, of the versions and of the processor."""
    digest = hashlib.sha256()
    for path in sorted(_FOLDER.glob("*.py")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    processor = str(cpu_target.target_context.codegen().magic_tuple())
    for version in (platform.python_version(), np.__version__, numba.__version__, processor):
        digest.update(version.encode() + b"\0")
    return digest.hexdigest()[:16]


def warm() -> int:
    """Import every kernel, so that no later call has to compile one; gives how many there are."""
    for path in sorted(_FOLDER.glob("*.py")):
        if path.stem != "__init__":
            importlib.import_module(f"{__package__}.{path.stem}")
    return len(_kernels)


def compiled_count() -> int:
    """Number of kernels that this process had to compile because the cache lacked them.

    A test of a warm start asserts that it is 0 after :func:`warm`; a test of a warm frame asserts
    that the frame leaves it unchanged.
    """
    return sum(sum(dispatcher.stats.cache_misses.values()) for dispatcher in _kernels)
