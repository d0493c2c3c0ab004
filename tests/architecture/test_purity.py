"""Methods have no clock, no chance of their own, no files and no voice."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).resolve().parents[2] / "src/pondwright"
PURE = ("base", "geometry", "rooms")
MODULES = [path for floor in PURE for path in sorted((SOURCE / floor).rglob("*.py"))]

CALLS = {"open", "print", "input"}
IMPORTS = {"logging", "random", "secrets", "time", "socket", "subprocess", "urllib"}
CLOCKS = {"now", "today", "utcnow"}
CHANCE_WITH_A_SEED = {"Generator", "SeedSequence", "PCG64", "default_rng"}


def impurities(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(id=name)) if name in CALLS:
                yield f"line {node.lineno}: calls {name}()"
            case ast.Call(func=ast.Attribute(attr="default_rng"), args=[], keywords=[]):
                yield f"line {node.lineno}: a generator without a seed"
            case ast.Attribute(value=ast.Name(id="datetime" | "date"), attr=name) if name in CLOCKS:
                yield f"line {node.lineno}: reads the clock"
            case ast.Attribute(value=ast.Attribute(attr="random", value=numpy), attr=name) if (
                ast.unparse(numpy) in {"np", "numpy"} and name not in CHANCE_WITH_A_SEED
            ):
                yield f"line {node.lineno}: numpy.random.{name} has no generator"
            case ast.Import(names=names):
                yield from (
                    f"line {node.lineno}: imports {alias.name}"
                    for alias in names
                    if alias.name.split(".")[0] in IMPORTS
                )
            case ast.ImportFrom(module=str(module)) if module.split(".")[0] in IMPORTS:
                yield f"line {node.lineno}: imports {module}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(SOURCE).as_posix())
def test_a_method_module_is_pure(path):
    assert list(impurities(ast.parse(path.read_text(encoding="utf-8")))) == []


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("print('dig')", "line 1: calls print()"),
        ("open('shots.csv')", "line 1: calls open()"),
        ("import random", "line 1: imports random"),
        ("from time import monotonic", "line 1: imports time"),
        ("datetime.now()", "line 1: reads the clock"),
        ("np.random.normal()", "line 1: numpy.random.normal has no generator"),
        ("np.random.default_rng()", "line 1: a generator without a seed"),
    ],
)
def test_an_impurity_is_found(line, found):
    assert list(impurities(ast.parse(line))) == [found]


def test_a_generator_with_a_seed_is_pure():
    assert list(impurities(ast.parse("np.random.default_rng(7).normal()"))) == []
