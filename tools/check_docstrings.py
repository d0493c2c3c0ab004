"""Check that docstrings tell the unit that the annotation tells.

    python -m tools.check_docstrings [folder ...]

The kind of a quantity stands once, in the annotated alias (`Length`, `Flows`, ...).  A public
function repeats its unit in brackets, `[m]`, in the sections Parameters and Returns; this check
reads both and tells where they differ.  In rooms and geometry every parameter and result with a
kind must be described; elsewhere only what is described must agree.
"""

from __future__ import annotations

import argparse
import ast
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Annotated, get_args, get_origin

from pondwright.base import kinds

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src/pondwright"
METHODS = {"geometry", "rooms"}
NOT_METHODS = {"stage", "checks", "__init__"}

UNITS = {
    name: kind.unit
    for name, alias in vars(kinds).items()
    if get_origin(alias) is Annotated
    for kind in get_args(alias)[1:]
    if isinstance(kind, kinds.Kind)
}
SECTION = re.compile(r"^(?P<title>[A-Z][A-Za-z ]+)\n-{3,}\n", re.MULTILINE)
ENTRY = re.compile(r"^(?P<names>\*{0,2}\w+(?:, \*{0,2}\w+)*)(?= :|  |$)", re.MULTILINE)
BRACKETS = re.compile(r"\[([^\]]+)\](?!_)")

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, slots=True)
class Public:
    """A public function or method, and where it stands."""

    node: Function
    where: str
    is_method: bool


def public_functions(path: Path) -> Iterator[Public]:
    """Public functions of a module and public methods of its public classes."""
    shown = path.relative_to(ROOT) if path.is_relative_to(ROOT) else path
    names = set(path.with_suffix("").parts)
    is_method = bool(METHODS & names) and not NOT_METHODS & names
    tree = ast.parse(path.read_text(encoding="utf-8"))
    classes = [n for n in tree.body if isinstance(n, ast.ClassDef) and not n.name.startswith("_")]
    for body in (tree.body, *(found.body for found in classes)):
        for node in body:
            if isinstance(node, Function) and not node.name.startswith("_"):
                yield Public(node, f"{shown}:{node.lineno} {node.name}", is_method)


def unit_of(annotation: ast.expr | None) -> str | None:
    """House unit that an annotation such as ``Length`` or ``Length | None`` tells, if any."""
    if annotation is None:
        return None
    names = {node.id for node in ast.walk(annotation) if isinstance(node, ast.Name)}
    names |= {node.attr for node in ast.walk(annotation) if isinstance(node, ast.Attribute)}
    units = {UNITS[name] for name in names if name in UNITS}
    return units.pop() if len(units) == 1 else None


def sections(docstring: str) -> dict[str, str]:
    """Text of a numpydoc docstring's sections by title."""
    parts = SECTION.split(docstring)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def entries(section: str) -> dict[str, str]:
    """Text of each entry of a Parameters section by parameter name."""
    starts = [*ENTRY.finditer(section)]
    bounds = [*(start.start() for start in starts), len(section)]
    return {
        name.strip(" *"): section[begin:end]
        for start, (begin, end) in zip(starts, pairwise(bounds), strict=True)
        for name in start["names"].split(",")
    }


def told_units(text: str) -> set[str]:
    """What stands in brackets in a text, the first word of each: ``[m], >= 0`` gives ``m``."""
    return {inside.split(",")[0].strip() for inside in BRACKETS.findall(text)}


def disagreement(text: str, unit: str, required: bool) -> str | None:
    """How a text fails to tell `unit`; None when it does, or when it may be silent."""
    told = told_units(text)
    if unit in told:
        return None
    others = told & set(UNITS.values())
    if others:
        return f"tells [{', '.join(sorted(others))}], its annotation [{unit}]"
    return f"must tell its unit [{unit}]" if required else None


def faults_of(function: Public) -> Iterator[str]:
    """Every disagreement between one function's annotations and its docstring."""
    node = function.node
    text = sections(ast.get_docstring(node) or "")
    described = entries(text.get("Parameters", ""))
    for parameter in [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]:
        unit = unit_of(parameter.annotation)
        if unit is not None and (function.is_method or parameter.arg in described):
            fault = disagreement(described.get(parameter.arg, ""), unit, function.is_method)
            if fault:
                yield f"{function.where}: `{parameter.arg}` {fault}"
    unit = unit_of(node.returns)
    if unit is not None and (function.is_method or "Returns" in text):
        fault = disagreement(text.get("Returns", ast.get_docstring(node) or ""), unit, function.is_method)
        if fault:
            yield f"{function.where}: what it returns {fault}"


def faults_in(folder: Path) -> list[str]:
    """Every disagreement in the modules below a folder."""
    return [
        fault
        for path in sorted(folder.rglob("*.py"))
        for function in public_functions(path)
        for fault in faults_of(function)
    ]


def main() -> int:
    """Print every disagreement; 1 when there is one."""
    parser = argparse.ArgumentParser(description="Check that docstrings tell the annotated units.")
    parser.add_argument("folders", nargs="*", type=Path, default=[SOURCE])
    faults = [fault for folder in parser.parse_args().folders for fault in faults_in(folder)]
    for fault in faults:
        print(fault)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
