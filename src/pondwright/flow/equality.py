"""Whether two results are the same, and results whose arrays nobody can change.

Python's own ``==`` does not answer for dataclasses that hold arrays.  Here arrays are compared without
any tolerance: a stage that gives the same bits gives the same result.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from functools import cache
from itertools import zip_longest
from operator import attrgetter
from typing import Any

import numpy as np

from pondwright.geometry.kernels.changes import alike

_PLAIN = (float, int, str)
_BARE = frozenset({*_PLAIN, bool, type(None)})
"""Classes of what holds nothing."""

_SERIES = (tuple, list)


def same(one: Any, other: Any) -> bool:
    """Whether two values are equal, arrays inside them too.

    Parameters
    ----------
    one, other : object
        Results: dataclasses, mappings, tuples, lists, arrays and plain values, nested at will.

    Returns
    -------
    bool
        False also where equality has no plain answer.  Fields of a dataclass with ``compare=False`` do not
        count.

    Examples
    --------
    >>> same({"z": np.zeros(3)}, {"z": np.zeros(3)}), same((1, np.zeros(3)), (1, np.ones(3)))
    (True, False)
    """
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and one.shape == other.shape and _same_elements(one, other)
    if isinstance(one, _PLAIN):
        return bool(one == other or (one != one and other != other))
    if held := _compared(one.__class__):
        pairs = [pair for pair in zip(held(one), held(other), strict=True) if pair[0] is not pair[1]]
        # Large arrays last: results that differ mostly do so in a number as well.
        return all(same(*pair) for pair in sorted(pairs, key=_cost))
    if isinstance(one, Mapping):
        return list(one) == list(other) and all(same(one[name], other[name]) for name in one)
    if isinstance(one, _SERIES):
        return len(one) == len(other) and all(map(same, one, other))
    return (one == other) is True


def sealed(value: Any, known: Any = None) -> None:
    """Make every array in a result read-only, so that later stages cannot change it.

    Parameters
    ----------
    value : object
        A result; what is not a dataclass, mapping, tuple, list or array is left as it is.
    known : object
        A result that is sealed already: what it holds at the same place as the very same object is passed
        over.
    """
    if isinstance(value, np.ndarray):
        value.setflags(write=False)
        return
    of = value.__class__
    inside = _inside(of)
    if inside is None:
        return
    for item, before in zip_longest(inside(value), inside(known) if known.__class__ is of else ()):
        # Most of what a drag gives is what it gave before: no call for that.
        if item is before or item.__class__ in _BARE:
            continue
        if item.__class__ is np.ndarray:
            # As an attribute of the flags it takes twice as long.
            item.setflags(write=False)
        else:
            sealed(item, before)


def _cost(pair: tuple[Any, Any]) -> int:
    """How long it may take to compare two values: numbers first, large arrays last."""
    return -1 if isinstance(pair[0], _PLAIN) else int(getattr(pair[0], "size", 0))


def getter(paths: Sequence[str]) -> Callable[[Any], tuple[Any, ...]]:
    """Getter of what stands at some dotted paths below an object, always as a tuple.

    Parameters
    ----------
    paths : str

    Returns
    -------
    callable

    Examples
    --------
    >>> getter(["imag"])(2.0), getter(["real", "imag"])(2.0)
    ((0.0,), (2.0, 0.0))
    """
    if len(paths) > 1:
        return attrgetter(*paths)
    alone = [attrgetter(path) for path in paths]
    return lambda value: tuple([get(value) for get in alone])


@cache
def _inside(of: Any) -> Callable[[Any], Iterable[Any]] | None:
    """Getter of all that a value of a class holds, in one call; none if values of it hold nothing."""
    if is_dataclass(of):
        return getter([field.name for field in fields(of)])
    if issubclass(of, Mapping):
        return lambda value: value.values()
    return iter if issubclass(of, _SERIES) else None


@cache
def _compared(of: Any) -> Callable[[Any], tuple[Any, ...]] | None:
    """Getter of what a dataclass answers; fields with ``compare=False`` only spare work next time."""
    return getter([field.name for field in fields(of) if field.compare]) if is_dataclass(of) else None


def _same_elements(one: Any, other: Any) -> bool:
    if one.dtype.kind == "f":
        # Their bits as whole numbers: one pass over the memory, and NaN equals NaN.
        one, other = (np.ascontiguousarray(array).view(f"i{one.itemsize}") for array in (one, other))
    if one.dtype == np.int64:
        return bool(alike(*(np.ascontiguousarray(array).reshape(-1) for array in (one, other))))
    return bool(np.array_equal(one, other))
