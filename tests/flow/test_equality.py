"""When two results are the same."""

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from pondwright.flow.equality import same, sealed


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    z: np.ndarray
    name: str = "finish"


NAN = float("nan")


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        pytest.param(Surface(np.ones(3)), Surface(np.ones(3)), True, id="equal arrays in a dataclass"),
        pytest.param(
            Surface(np.ones(3)), Surface(np.array([1.0, 1.0, 1.0 + 1e-15])), False, id="one last bit"
        ),
        pytest.param(Surface(np.ones(3)), Surface(np.ones((3, 1))), False, id="another shape"),
        pytest.param(np.ones(3), np.ones(3, dtype=int), False, id="another type of number"),
        pytest.param(np.array([NAN]), np.array([NAN]), True, id="the same gap in an array"),
        pytest.param(np.ones(2000), np.append(np.ones(1999), 1.0 + 1e-15), False, id="the last of many"),
        pytest.param(np.ones((50, 40)).T, np.ones((40, 50)), True, id="another order in the memory"),
        pytest.param(np.array(["a"]), np.array(["a"]), True, id="words"),
        pytest.param((1, [np.ones(2)]), (1, [np.ones(2)]), True, id="nested lists"),
        pytest.param((1, 2), (1, 2, 3), False, id="another length"),
        pytest.param(
            MappingProxyType({"a": np.ones(2)}), MappingProxyType({"a": np.ones(2)}), True, id="maps"
        ),
        pytest.param({"a": 1}, {"b": 1}, False, id="another name"),
        pytest.param({"a": 1, "b": 2}, {"b": 2, "a": 1}, False, id="another order"),
        pytest.param(1.0, 1, False, id="float and whole number"),
        pytest.param(None, None, True, id="nothing"),
        pytest.param(None, 1.0, False, id="nothing and something"),
        pytest.param(NAN, float("nan"), True, id="two NaN"),
    ],
)
def test_sameness(one, other, expected):
    assert same(one, other) is expected


def test_sealing_reaches_every_array():
    result = {"a": (Surface(np.ones(2)), [np.ones(2)])}

    sealed(result)

    assert not result["a"][0].z.flags.writeable and not result["a"][1][0].flags.writeable


def test_what_is_new_beside_what_was_known_is_sealed():
    known = Surface(np.ones(2))
    sealed(known)
    result = {"a": known, "b": Surface(np.ones(2)), "c": (known, np.ones(2))}

    sealed(result, {"a": known, "b": known, "c": (known,)})

    assert not result["b"].z.flags.writeable and not result["c"][1].flags.writeable


def test_what_comes_in_another_order_than_what_was_known_is_sealed():
    known = {"a": Surface(np.ones(2)), "b": [np.ones(2)]}
    sealed(known)
    result = {"c": Surface(np.ones(2)), "b": known["b"], "a": (np.ones(2), known["a"])}

    sealed(result, known)

    assert not result["c"].z.flags.writeable and not result["a"][0].flags.writeable


def test_what_only_spares_work_next_time_is_no_part_of_the_answer_but_is_sealed():
    @dataclass(frozen=True, eq=False)
    class Answer:
        value: float
        kept: Any = field(compare=False)

    one, other = Answer(1.0, np.zeros(3)), Answer(1.0, np.ones(3))
    sealed(one)

    assert same(one, other) and not same(one, Answer(2.0, one.kept))
    assert not one.kept.flags.writeable
