"""Measure the style of a Python code folder (and, roughly, of TypeScript).

Reads every source file under the given folders with the standard library only
and prints one table row a folder, so that two code bases, or one code base at
two dates, can be compared by the same ruler.

    python style_metrics.py pkg/                      # source figures
    python style_metrics.py pkg/ --tests tests/       # ... and the tests
    python style_metrics.py pkg/ --worst 10           # longest functions, files
    python style_metrics.py pkg/ --by-package         # one row a sub-folder
    python style_metrics.py web/src --ts              # TypeScript / JavaScript
    python style_metrics.py pkg/ --json               # for a check in CI
    python style_metrics.py pkg/ --gate p90_func=40 --gate doc_pub=95

What the columns mean
    files      modules that hold at least one statement (vendored, generated
               and test folders are skipped: see SKIP_PARTS and TEST_PARTS)
    loc        code lines: not blank, not comment, not docstring
    f.med      median physical lines a file;  f.p90, f.max likewise
    fn         functions and methods, overload stubs and nested ones left out
    fn.med     median BODY lines of a function: from its first statement after
               the docstring to its last line, blank and comment lines left out
    fn.p90     90th percentile of the same;  fn>50  share of those above 50
    cc.med     median branch count + 1 (if, for, while, except, and/or, ifexp,
               comprehension, assert, match case);  cc>10  share above ten
    args.p90   90th percentile of the number of parameters (self left out)
    pubdoc%    public functions, methods of public classes and public classes
               that carry a docstring (names without a leading underscore;
               dunder, property setters, overloads left out)
    moddoc%    modules with a docstring
    secs%      of the docstrings of public functions with parameters: those
               with a Parameters/Args/:param section
    units%     of the same: those that tell a unit in the text, e.g. [m^3/s],
               (m), "in metres", 'W/m^2'  (a rough pattern; read it as a trend)
    ref%       ... that cite a source: References, [1]_, doi, Eq., Table, ISBN
    eg%        ... that hold a runnable example (>>> or an Examples section)
    hints%     public functions with every parameter and the return annotated
    comm%      comment lines as a share of comment + code lines
    priv%      share of top-level functions that are private
    raise/k    raise statements per thousand code lines
    cycle%     modules in the largest import cycle, as a share of all modules
               (imports at module level; TYPE_CHECKING blocks left out)
    tests      test functions;  t/file median tests a test file
    t.med      median body lines of a test function
    assert     median assert statements (and pytest.raises / assert_* calls)
    tdoc%      test functions whose name has four words or a docstring
    t:src      test code lines per source code line
"""

from __future__ import annotations

import argparse
import ast
import io
import json
import re
import statistics
import sys
import tokenize
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

SKIP_PARTS = {
    ".git",
    ".venv",
    "venv",
    "node_modules",
    "build",
    "dist",
    "__pycache__",
    "_vendor",
    "vendor",
    "vendored",
    "migrations",
    ".tox",
    ".mypy_cache",
    "site-packages",
    "generated",
}
TEST_PARTS = {"tests", "test", "testing"}  # kept out of the source figures

UNIT_PATTERN = re.compile(
    r"\[(?:-|[a-zA-Z°%µ][\w°%µ^*/ .²³·-]{0,18})\]"  # [m^3/s], [-], [mm/day]
    r"|\((?:m|mm|cm|m2|m3|m/s|m\^?3/s|kg|Pa|kPa|K|degC|W|kW|s|h|days?|deg|rad)\)"
    r"|\b(?:W/m\^?2|m\^?3/s|m/s|mm/d(?:ay)?|kg/m\^?3|metres|meters|kelvin|"
    r"radians|degrees|seconds|pascals?|kilograms|litres|liters)\b",
)
REF_PATTERN = re.compile(
    r"^\s*References?\s*:?\s*$|\[\d+\]_|\bdoi\b|:cite|\bEqs?\.|\bEquation\b|"
    r"\bTable \d|\bISBN\b|et al\b|\(\d{4}[a-z]?\)",
    re.MULTILINE | re.IGNORECASE,
)
PARAM_PATTERN = re.compile(
    r"^\s*(?:Parameters|Args|Arguments)\s*:?\s*$|:param\b|\bArgs:|:arg\b",
    re.MULTILINE,
)
EXAMPLE_PATTERN = re.compile(r">>>|^\s*Examples?\s*:?:?\s*$", re.MULTILINE)

BRANCH_NODES = (
    ast.If,
    ast.For,
    ast.AsyncFor,
    ast.While,
    ast.ExceptHandler,
    ast.IfExp,
    ast.comprehension,
    ast.Assert,
    ast.match_case,
)
FUNCTION_NODES = (ast.FunctionDef, ast.AsyncFunctionDef)
Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass
class FunctionFacts:
    """What is measured of one function or method."""

    where: str
    name: str
    body_lines: int
    branches: int
    args: int
    public: bool
    has_doc: bool
    doc_counts: bool  # belongs in the docstring share
    doc: str
    annotated: bool
    top_level: bool
    asserts: int
    has_params: bool


@dataclass
class FolderFacts:
    """All that is gathered of one folder."""

    name: str
    file_lines: list[tuple[int, str]] = field(default_factory=list)
    code_lines: int = 0
    comment_lines: int = 0
    modules_with_doc: int = 0
    raises: int = 0
    functions: list[FunctionFacts] = field(default_factory=list)
    public_classes: int = 0
    public_classes_with_doc: int = 0
    unreadable: list[str] = field(default_factory=list)
    imports: dict[str, set[str]] = field(default_factory=dict)


def python_files(folder: Path, with_tests: bool = False) -> list[Path]:
    """Every .py file below `folder`, skipped and test folders left out, sorted."""
    if folder.is_file():
        return [folder]
    skipped = SKIP_PARTS if with_tests else SKIP_PARTS | TEST_PARTS
    found = []
    for path in folder.rglob("*.py"):
        if skipped.isdisjoint(path.relative_to(folder).parts):
            found.append(path)
    return sorted(found)


def line_kinds(source: str) -> tuple[set[int], set[int]]:
    """Line numbers that hold code, and those that hold only a comment."""
    code: set[int] = set()
    comment: set[int] = set()
    quiet = {
        tokenize.NL,
        tokenize.NEWLINE,
        tokenize.INDENT,
        tokenize.DEDENT,
        tokenize.ENDMARKER,
        tokenize.ENCODING,
    }
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type == tokenize.COMMENT:
            comment.add(token.start[0])
        elif token.type not in quiet:
            code.update(range(token.start[0], token.end[0] + 1))
    return code, comment - code


def last_line(node: ast.stmt) -> int:
    """Number of the last line of a statement."""
    return node.end_lineno or node.lineno


def docstring_lines(tree: ast.AST) -> set[int]:
    """Line numbers taken by docstrings (module, class, function)."""
    lines: set[int] = set()
    for node in ast.walk(tree):
        if not isinstance(node, (ast.Module, ast.ClassDef, *FUNCTION_NODES)):
            continue
        if ast.get_docstring(node, clean=False) is not None:
            first = node.body[0]
            lines.update(range(first.lineno, last_line(first) + 1))
    return lines


def decorator_names(node: ast.AST) -> set[str]:
    """Last part of each decorator's dotted name."""
    names = set()
    for item in getattr(node, "decorator_list", []):
        target = item.func if isinstance(item, ast.Call) else item
        if isinstance(target, ast.Attribute):
            names.add(target.attr)
        elif isinstance(target, ast.Name):
            names.add(target.id)
    return names


def own_nodes(function: ast.AST) -> Iterator[ast.AST]:
    """Nodes of a function, those of functions nested in it left out."""
    stack = list(ast.iter_child_nodes(function))
    while stack:
        node = stack.pop()
        yield node
        if not isinstance(node, (*FUNCTION_NODES, ast.ClassDef)):
            stack.extend(ast.iter_child_nodes(node))


def count_branches(function: ast.AST) -> int:
    """Branch count + 1."""
    total = 1
    for node in own_nodes(function):
        if isinstance(node, BRANCH_NODES):
            total += 1
        elif isinstance(node, ast.BoolOp):
            total += len(node.values) - 1
    return total


def count_asserts(function: ast.AST) -> int:
    """Assert statements, pytest.raises and assert_* calls."""
    total = 0
    for node in ast.walk(function):
        if isinstance(node, ast.Assert):
            total += 1
        elif isinstance(node, ast.Call):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if re.match(r"assert|raises$|warns$", name):
                total += 1
    return total


def parameters(function: Function) -> list[ast.arg]:
    """Every parameter but self and cls."""
    spec = function.args
    found = [*spec.posonlyargs, *spec.args, *spec.kwonlyargs]
    found += [a for a in (spec.vararg, spec.kwarg) if a is not None]
    if found and found[0].arg in {"self", "cls"}:
        found = found[1:]
    return found


def measure_function(
    node: Function, where: str, code: set[int], public: bool, top_level: bool
) -> FunctionFacts:
    """The facts of one function node."""
    doc = ast.get_docstring(node) or ""
    body = node.body[1:] if doc and len(node.body) > 1 else node.body
    if doc and len(node.body) == 1:
        lines = 0
    else:
        span = range(body[0].lineno, last_line(node) + 1)
        lines = sum(1 for number in span if number in code)
    params = parameters(node)
    decorators = decorator_names(node)
    dunder = node.name.startswith("__") and node.name.endswith("__")
    annotated = all(p.annotation is not None for p in params) and (
        node.returns is not None or node.name == "__init__"
    )
    return FunctionFacts(
        where=where,
        name=node.name,
        body_lines=lines,
        branches=count_branches(node),
        args=len(params),
        public=public,
        has_doc=bool(doc),
        doc_counts=public and not dunder and not decorators & {"setter", "deleter"},
        doc=doc,
        annotated=annotated,
        top_level=top_level,
        asserts=count_asserts(node),
        has_params=bool(params),
    )


def module_name(base: Path, path: Path) -> str:
    """Dotted name of a file, the folder's own name first."""
    parts = [base.name, *path.relative_to(base).with_suffix("").parts]
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def is_type_checking(test: ast.expr) -> bool:
    """True for `TYPE_CHECKING` and `typing.TYPE_CHECKING`."""
    return getattr(test, "id", getattr(test, "attr", "")) == "TYPE_CHECKING"


def imported_names(nodes: Iterable[ast.stmt], module: str, is_package: bool) -> set[str]:
    """Dotted names that a module imports when it is loaded."""
    found: set[str] = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            stem = node.module or ""
            if node.level:
                parts = module.split(".")
                keep = len(parts) - node.level + is_package
                stem = ".".join([*parts[:keep], *([stem] if stem else [])])
            found.update(f"{stem}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Try) or (isinstance(node, ast.If) and not is_type_checking(node.test)):
            found |= imported_names([*node.body, *node.orelse], module, is_package)
    return found


def largest_cycle(imports: dict[str, set[str]]) -> int:
    """Number of modules in the largest strongly connected group, 0 for none."""

    def module_of(target: str) -> str:  # a name inside a module counts as the module
        return target if target in imports else target.rpartition(".")[0]

    graph = {
        name: {module_of(t) for t in targets if module_of(t) in imports} - {name}
        for name, targets in imports.items()
    }
    backwards: dict[str, set[str]] = {name: set() for name in graph}
    for name, targets in graph.items():
        for target in targets:
            backwards[target].add(name)

    def reach(start: str, edges: dict[str, set[str]], skip: set[str], out: list[str]) -> None:
        stack = [(start, iter(edges[start]))]
        skip.add(start)
        while stack:
            name, rest = stack[-1]
            nxt = next((t for t in rest if t not in skip), None)
            if nxt is None:
                out.append(name)
                stack.pop()
            else:
                skip.add(nxt)
                stack.append((nxt, iter(edges[nxt])))

    order: list[str] = []
    seen: set[str] = set()
    for name in graph:
        if name not in seen:
            reach(name, graph, seen, order)
    largest, seen = 0, set()
    for name in reversed(order):
        if name not in seen:
            group: list[str] = []
            reach(name, backwards, seen, group)
            largest = max(largest, len(group))
    return largest if largest > 1 else 0


def walk_scope(
    nodes: Iterable[ast.stmt],
    facts: FolderFacts,
    path: str,
    code: set[int],
    public: bool,
    top: bool,
    prefix: str = "",
) -> None:
    """Gather functions of one scope; classes recurse, nested functions do not."""
    for node in nodes:
        if isinstance(node, FUNCTION_NODES):
            if "overload" in decorator_names(node):
                continue
            dunder = node.name.startswith("__") and node.name.endswith("__")
            shown = public and (dunder or not node.name.startswith("_"))
            facts.functions.append(
                measure_function(node, f"{path}:{node.lineno} {prefix}{node.name}", code, shown, top)
            )
        elif isinstance(node, ast.ClassDef):
            shown = public and not node.name.startswith("_")
            if shown:
                facts.public_classes += 1
                facts.public_classes_with_doc += bool(ast.get_docstring(node))
            walk_scope(node.body, facts, path, code, shown, False, f"{node.name}.")
        elif isinstance(node, (ast.If, ast.Try)):
            walk_scope(node.body, facts, path, code, public, top, prefix)
            walk_scope(node.orelse, facts, path, code, public, top, prefix)


def measure_folder(folder: Path, files: list[Path] | None = None, name: str = "") -> FolderFacts:
    """Read all files below a folder and gather their facts."""
    facts = FolderFacts(name or str(folder))
    base = folder.parent if folder.is_file() else folder
    for path in files if files is not None else python_files(folder):
        text = path.read_text(encoding="utf-8", errors="replace")
        shown = str(path.relative_to(base))
        try:
            tree = ast.parse(text)
            code, comment = line_kinds(text)
        except (SyntaxError, tokenize.TokenError, IndentationError):
            facts.unreadable.append(shown)
            continue
        if not tree.body:
            continue
        code -= docstring_lines(tree)
        facts.file_lines.append((text.count("\n"), shown))
        facts.code_lines += len(code)
        facts.comment_lines += len(comment)
        facts.modules_with_doc += bool(ast.get_docstring(tree))
        name_of = module_name(base, path)
        facts.imports[name_of] = imported_names(tree.body, name_of, path.name == "__init__.py")
        facts.raises += sum(isinstance(n, ast.Raise) for n in ast.walk(tree))
        walk_scope(tree.body, facts, shown, code, True, True)
    return facts


def percentile(values: Sequence[float], share: float) -> float:
    """Nearest-rank percentile; 0 for no values."""
    if not values:
        return 0
    ranked = sorted(values)
    return ranked[min(len(ranked) - 1, int(share * len(ranked)))]


def median(values: Sequence[float]) -> float:
    """Median; 0 for no values."""
    return statistics.median(values) if values else 0


def percent(part: int, whole: int) -> float:
    """Share in percent, 0 for an empty whole."""
    return 100.0 * part / whole if whole else 0.0


def source_figures(facts: FolderFacts) -> dict[str, float]:
    """The figures of one source folder."""
    bodies = [f.body_lines for f in facts.functions]
    branches = [f.branches for f in facts.functions]
    lines = [n for n, _ in facts.file_lines]
    counted = [f for f in facts.functions if f.doc_counts]
    documented = sum(f.has_doc for f in counted) + facts.public_classes_with_doc
    with_params = [f for f in counted if f.has_doc and f.has_params]
    top = [f for f in facts.functions if f.top_level]

    def share(pattern: re.Pattern[str]) -> float:
        return percent(sum(bool(pattern.search(f.doc)) for f in with_params), len(with_params))

    return {
        "files": len(lines),
        "loc": facts.code_lines,
        "f.med": median(lines),
        "f.p90": percentile(lines, 0.9),
        "f.max": max(lines, default=0),
        "fn": len(bodies),
        "fn.med": median(bodies),
        "fn.p90": percentile(bodies, 0.9),
        "fn>50": percent(sum(b > 50 for b in bodies), len(bodies)),
        "cc.med": median(branches),
        "cc>10": percent(sum(b > 10 for b in branches), len(branches)),
        "args.p90": percentile([f.args for f in facts.functions], 0.9),
        "pubdoc%": percent(documented, len(counted) + facts.public_classes),
        "moddoc%": percent(facts.modules_with_doc, len(lines)),
        "secs%": share(PARAM_PATTERN),
        "units%": share(UNIT_PATTERN),
        "ref%": share(REF_PATTERN),
        "eg%": share(EXAMPLE_PATTERN),
        "hints%": percent(sum(f.annotated for f in counted), len(counted)),
        "comm%": percent(facts.comment_lines, facts.comment_lines + facts.code_lines),
        "priv%": percent(sum(f.name.startswith("_") for f in top), len(top)),
        "raise/k": 1000.0 * facts.raises / facts.code_lines if facts.code_lines else 0,
        "cycle%": percent(largest_cycle(facts.imports), len(facts.imports)),
    }


def is_test(function: FunctionFacts) -> bool:
    """Pytest and unittest naming."""
    return function.name.startswith("test")


def test_figures(facts: FolderFacts, source_loc: int) -> dict[str, float]:
    """The figures of one tests folder."""
    tests = [f for f in facts.functions if is_test(f)]
    by_file: dict[str, int] = {}
    for test in tests:
        key = test.where.split(":")[0]
        by_file[key] = by_file.get(key, 0) + 1
    told = sum(t.has_doc or len(t.name.split("_")) >= 5 for t in tests)
    return {
        "tests": len(tests),
        "t.files": len(by_file),
        "t/file": median(list(by_file.values())),
        "t.med": median([t.body_lines for t in tests]),
        "t.p90": percentile([t.body_lines for t in tests], 0.9),
        "assert": median([t.asserts for t in tests]),
        "tdoc%": percent(told, len(tests)),
        "t:src": facts.code_lines / source_loc if source_loc else 0,
    }


TS_FUNCTION = re.compile(
    r"^\s*(?:export\s+)?(?:default\s+)?(?:async\s+)?function\s*\*?\s*(\w+)"
    r"|^\s*(?:export\s+)?(?:const|let)\s+(\w+)\s*(?::[^=]+)?=\s*(?:async\s*)?"
    r"(?:\([^)]*\)|\w+)\s*(?::\s*[\w<>\[\]| .]+)?\s*=>\s*\{"
    r"|^\s+(?:(?:public|private|protected|static|async|get|set|override|readonly)\s+)*"
    r"(?!(?:if|for|while|switch|catch|return|function|constructor\s*\(\)\s*;)\b)"
    r"(\w+)\s*(?:<[^>]*>)?\([^;]*\)\s*(?::\s*[^{;]+)?\{\s*$",
)


def ts_figures(folder: Path) -> dict[str, float]:
    """Rough figures of TypeScript / JavaScript: by pattern, no parser."""
    lines_each, bodies, code_total, comment_total = [], [], 0, 0
    doc_before = exported = any_casts = tests = test_files = 0
    for path in sorted(folder.rglob("*")):
        if path.suffix not in {".ts", ".tsx", ".js", ".mjs"} or path.name.endswith(".d.ts"):
            continue
        if not SKIP_PARTS.isdisjoint(path.relative_to(folder).parts):
            continue
        text = path.read_text(encoding="utf-8", errors="replace")
        rows = text.splitlines()
        if re.search(r"\.(test|spec)\.|__tests__|(^|/)tests?/", str(path.relative_to(folder))):
            tests += len(re.findall(r"^\s*(?:it|test)(?:\.\w+)*\(", text, re.MULTILINE))
            test_files += 1
            continue
        lines_each.append(len(rows))
        in_block = False
        for row in rows:
            bare = row.strip()
            if in_block or bare.startswith(("//", "/*")):
                comment_total += 1
                in_block = (in_block or bare.startswith("/*")) and "*/" not in bare
            elif bare:
                code_total += 1
        any_casts += len(re.findall(r"\bas any\b|:\s*any\b", text))
        for number, row in enumerate(rows):
            if re.match(r"export (?:default )?(?:async )?(?:function|class|const)\b", row):
                exported += 1
                doc_before += number > 0 and rows[number - 1].strip().endswith("*/")
            if TS_FUNCTION.match(row):
                indent = len(row) - len(row.lstrip())
                for offset, later in enumerate(rows[number + 1 :], 1):
                    if later.startswith(" " * indent + "}") and (len(later) - len(later.lstrip()) == indent):
                        inside = rows[number + 1 : number + offset]
                        bodies.append(
                            sum(
                                bool(r.strip()) and not r.strip().startswith(("//", "*", "/*"))
                                for r in inside
                            )
                        )
                        break
    return {
        "files": len(lines_each),
        "loc": code_total,
        "f.med": median(lines_each),
        "f.p90": percentile(lines_each, 0.9),
        "f.max": max(lines_each, default=0),
        "fn": len(bodies),
        "fn.med": median(bodies),
        "fn.p90": percentile(bodies, 0.9),
        "fn>50": percent(sum(b > 50 for b in bodies), len(bodies)),
        "expdoc%": percent(doc_before, exported),
        "comm%": percent(comment_total, comment_total + code_total),
        "any/k": 1000.0 * any_casts / code_total if code_total else 0,
        "tests": tests,
        "t.files": test_files,
    }


def show(value: float) -> str:
    """Short text of a figure."""
    if isinstance(value, int) or value == int(value):
        return str(int(value))
    return f"{value:.2f}" if abs(value) < 1 else f"{value:.1f}"


def print_table(rows: list[tuple[str, dict[str, float]]]) -> None:
    """Print rows under one head, columns aligned."""
    if not rows:
        return
    heads = list(rows[0][1])
    cells = [[name, *(show(figures[h]) for h in heads)] for name, figures in rows]
    widths = [max(len(r[i]) for r in [["folder", *heads], *cells]) for i in range(len(heads) + 1)]
    for row in [["folder", *heads], *cells]:
        padded = [cell.rjust(width) for cell, width in zip(row, widths, strict=True)]
        padded[0] = row[0].ljust(widths[0])
        print("  ".join(padded))


def split_by_package(folder: Path) -> list[tuple[str, list[Path]]]:
    """Files grouped by the first folder below `folder`."""
    groups: dict[str, list[Path]] = {}
    for path in python_files(folder):
        parts = path.relative_to(folder).parts
        groups.setdefault(parts[0] if len(parts) > 1 else "(top)", []).append(path)
    return sorted(groups.items())


def failed_gates(figures: dict[str, float], gates: list[str]) -> list[str]:
    """Gates that do not hold: a share must reach its limit; sizes and cycles stay at or below."""
    alias = {"p90_func": "fn.p90", "med_func": "fn.med", "doc_pub": "pubdoc%", "p90_file": "f.p90"}
    broken = []
    for gate in gates:
        name, limit = gate.split("=")
        key = alias.get(name, name)
        value = figures[key]
        wants_more = key.endswith("%") and key != "cycle%"
        if (value < float(limit)) if wants_more else (value > float(limit)):
            broken.append(f"{key} is {show(value)}, wants {'>=' if wants_more else '<='} {limit}")
    return broken


def main(argv: list[str] | None = None) -> int:
    """Parse the command line and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--tests", type=Path, help="tests folder of the first folder")
    parser.add_argument("--by-package", action="store_true")
    parser.add_argument("--worst", type=int, default=0, metavar="N")
    parser.add_argument("--ts", action="store_true")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--gate", action="append", default=[], metavar="NAME=LIMIT")
    args = parser.parse_args(argv)

    if args.ts:
        rows = [(str(f), ts_figures(f)) for f in args.folders]
        if args.json:
            print(json.dumps(dict(rows), indent=1))
        else:
            print_table(rows)
        return 0

    gathered = []
    for folder in args.folders:
        if args.by_package:
            for name, files in split_by_package(folder):
                gathered.append(measure_folder(folder, files, f"{folder.name}/{name}"))
        else:
            gathered.append(measure_folder(folder))
    rows = [(f.name, source_figures(f)) for f in gathered]
    test_rows = []
    if args.tests is not None:
        test_facts = measure_folder(args.tests, python_files(args.tests, with_tests=True))
        test_rows = [(str(args.tests), test_figures(test_facts, gathered[0].code_lines))]
    if args.json:
        print(json.dumps(dict(rows + test_rows), indent=1))
    else:
        print_table(rows)
        print_table(test_rows)
    if args.worst:
        for facts in gathered:
            print("\nlongest functions of", facts.name)
            for f in sorted(facts.functions, key=lambda f: -f.body_lines)[: args.worst]:
                print(f"  {f.body_lines:5d} lines  {f.branches:3d} branches  {f.where}")
            print("longest files of", facts.name)
            for count, name in sorted(facts.file_lines, reverse=True)[: args.worst]:
                print(f"  {count:5d} lines  {name}")
    for facts in gathered:
        if facts.unreadable:
            print("not parsed:", ", ".join(facts.unreadable), file=sys.stderr)
    broken = [b for _, figures in rows for b in failed_gates(figures, args.gate)]
    for line in broken:
        print("gate:", line, file=sys.stderr)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
