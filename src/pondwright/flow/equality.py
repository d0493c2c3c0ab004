"""Whether two results are the same, and results whose arrays nobody can change.

Python's own ``==`` does not answer for dataclasses that hold arrays.  Here arrays are compared without
any tolerance: a stage that gives the same bits gives the same result.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from itertools import repeat
from typing import Any

import numpy as np

_PLAIN = (float, int, str)


def same(one: Any, other: Any) -> bool:
    """Whether two values are equal, arrays inside them too.

    Parameters
    ----------
    one, other : object
        Results: dataclasses, mappings, tuples, lists, arrays and plain values, nested at will.

    Returns
    -------
    bool
        False also where equality has no plain answer.

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
    if is_dataclass(one):
        pairs = [(getattr(one, name), getattr(other, name)) for name in _names(one.__class__)]
        # Large arrays last: results that differ mostly do so in a number as well.
        return all(same(*pair) for pair in sorted(pairs, key=_cost) if pair[0] is not pair[1])
    if isinstance(one, Mapping):
        return list(one) == list(other) and all(same(one[name], other[name]) for name in one)
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(map(same, one, other))
    return (one == other) is True


def sealed(value: Any, known: Any = None) -> None:
    """Make every array in a result read-only, so that later stages cannot change it.

    Parameters
    ----------
    value : object
        A result; what is not a dataclass, mapping, tuple, list or array is left as it is.
    known : object
        The result of last time: what it holds at the same place as the very same object is sealed already.
    """
    if isinstance(value, np.ndarray):
        value.flags.writeable = False
        return
    for item, before in _inside(value, known):
        # Most of what a drag gives is what it gave before: no call for that.
        if item is not before and not isinstance(item, _PLAIN):
            sealed(item, before)


def _inside(value: Any, known: Any) -> Iterable[tuple[Any, Any]]:
    """What a value holds, each with what was at the same place last time."""
    if value is known:
        return ()
    if names := _names(value.__class__):
        return [(getattr(value, name), getattr(known, name, None)) for name in names]
    if isinstance(value, tuple | list):
        alike = isinstance(known, tuple | list) and len(known) == len(value)
        return zip(value, known if alike else repeat(None), strict=False)
    if _is_mapping(value.__class__):
        known = known if isinstance(known, Mapping) else {}
        return [(item, known.get(name)) for name, item in value.items()]
    return ()


def _cost(pair: tuple[Any, Any]) -> int:
    """How long it may take to compare two values: numbers first, large arrays last."""
    return -1 if isinstance(pair[0], _PLAIN) else int(getattr(pair[0], "size", 0))


@cache
def _names(of: Any) -> tuple[str, ...]:
    """Names of the fields of a dataclass; none of anything else."""
    return tuple(field.name for field in fields(of)) if is_dataclass(of) else ()


@cache
def _is_mapping(of: type) -> bool:
    """Whether a class is one of mappings: the question itself takes longer than what it saves."""
    return issubclass(of, Mapping)


def _same_elements(one: Any, other: Any) -> bool:
    if one.dtype.kind == "f":
        # Their bits as whole numbers: one pass over the memory, and NaN equals NaN.
        one, other = (np.ascontiguousarray(array).view(f"i{one.itemsize}") for array in (one, other))
    return bool(np.array_equal(one, other))
