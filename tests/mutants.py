"""Weaken checks one at a time and see whether the tests notice: ``python -m tests.mutants``.

Each mutant changes one thing in one module: a comparison, an arithmetic operator, `and` or `or`, a number, a
condition made true or false, a statement that raises left out. It runs in a process of its own, with the changed
module in place of the one on disk, so nothing is written there. A mutant that no test notices is printed with its
line; it shows a check that has no forged claim of its own, or code that could be simpler. The modules and the tests
that have to notice can be named: ``python -m tests.mutants proofs/costs --tests tests/proofs``.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib.abc
import importlib.util
import os
import random
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from importlib.machinery import ModuleSpec
from multiprocessing import get_context
from pathlib import Path

import seamtree

LIBRARY = Path(seamtree.__file__).parent

CHECKERS = ("check", "corners", "costs", "cuts", "limited", "planar", "rows", "straight", "swept")
USUAL = [f"proofs/{name}" for name in CHECKERS]

COMPARISONS = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
ARITHMETIC = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.FloorDiv: ast.Mult,
    ast.Mult: ast.FloorDiv,
}

PRELOADED = ["networkx", "numpy", "ortools.sat.python.cp_model", "pytest", "scipy.optimize", "shapely"]
"""What nearly every test loads: loaded once, in the process that those of all mutants are forked from."""


class _Changed(importlib.abc.MetaPathFinder):
    """Finds the changed module in place of the one on disk."""

    def __init__(self, module: str, file: str) -> None:
        self._module, self._file = module, file

    def find_spec(self, fullname: str, path: object, target: object = None) -> ModuleSpec | None:
        return importlib.util.spec_from_file_location(fullname, self._file) if fullname == self._module else None


def run_tests(module: str, file: str, tests: list[str]) -> None:
    """Run tests with one module changed, and end the process with their status."""
    import pytest

    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    sys.meta_path.insert(0, _Changed(module, file))
    sys.exit(pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", *tests]))


def variants(node: ast.AST) -> list[ast.AST]:  # noqa: PLR0911 - a table
    """Return what a node of the syntax tree is changed to."""
    match node:
        case ast.Compare():
            swapped = [(n, COMPARISONS[type(op)]()) for n, op in enumerate(node.ops) if type(op) in COMPARISONS]
            return [_with(node, ops=[*node.ops[:n], op, *node.ops[n + 1 :]]) for n, op in swapped]
        case ast.BinOp() | ast.AugAssign() if type(node.op) in ARITHMETIC:
            return [_with(node, op=ARITHMETIC[type(node.op)]())]
        case ast.BoolOp():
            other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
            fewer = [node.values[:n] + node.values[n + 1 :] for n in range(len(node.values))]
            return [_with(node, op=other), *(_with(node, values=values) for values in fewer)]
        case ast.UnaryOp(op=ast.Not()):
            return [node.operand]
        case ast.Constant() if type(node.value) is int:
            return [ast.Constant(node.value + 1)]
        case ast.If() | ast.IfExp():
            return [_with(node, test=ast.Constant(value)) for value in (True, False)]
        case ast.While():
            return [_with(node, test=ast.Constant(value=False))]
        case ast.Raise():
            return [ast.Pass()]
    return []


def _with(node: ast.AST, **changes: object) -> ast.AST:
    changed = copy.copy(node)
    for field, value in changes.items():
        setattr(changed, field, value)
    return changed


def mutants(source: str) -> Iterator[tuple[int, str, str]]:
    """Yield the line that is changed, what is changed there, and the whole changed module."""
    tree = ast.parse(source)
    annotations = [getattr(node, name, None) for node in ast.walk(tree) for name in ("annotation", "returns")]
    unread = {below for node in annotations if node is not None for below in ast.walk(node)}  # while a program runs
    for parent in list(ast.walk(tree)):
        for field, value in list(ast.iter_fields(parent)):
            if parent in unread or field in ("annotation", "returns"):
                continue
            places = list(enumerate(value)) if isinstance(value, list) else [(None, value)]
            for n, node in places:
                if not isinstance(node, ast.AST):
                    continue
                for changed in variants(node):
                    ast.copy_location(changed, node)
                    _put(parent, field, n, changed)
                    yield (
                        node.lineno,
                        f"{_short(node)}  →  {_short(changed)}",
                        ast.unparse(ast.fix_missing_locations(tree)),
                    )
                    _put(parent, field, n, node)


def _put(parent: ast.AST, field: str, n: int | None, node: ast.AST) -> None:
    if n is None:
        setattr(parent, field, node)
    else:
        getattr(parent, field)[n] = node


def _short(node: ast.AST) -> str:
    return ast.unparse(node).splitlines()[0][:70]


def survives(module: str, text: str, tests: list[str], seconds: float) -> bool:
    """Tell whether the tests pass with a module changed; one that never ends is noticed."""
    with tempfile.TemporaryDirectory() as folder:
        changed = Path(folder) / "changed.py"
        changed.write_text(text, encoding="utf-8")
        process = get_context("forkserver").Process(target=run_tests, args=(module, str(changed), tests))
        process.start()
        process.join(seconds)
        noticed = process.exitcode != 0
        process.kill()
        process.join()
    return not noticed


def main() -> int:
    """Run the mutants and print those that survive."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("modules", nargs="*", default=USUAL, help="modules below the library, such as proofs/costs")
    parser.add_argument("--tests", nargs="*", default=["tests/proofs"], help="tests that have to notice")
    parser.add_argument("--some", type=int, help="only so many mutants of each module, the same ones every time")
    parser.add_argument("--part", default="1/1", help="such as 2/3: the second third of the mutants of each module")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=120.0, help="after which a mutant counts as noticed")
    given = parser.parse_args()
    get_context("forkserver").set_forkserver_preload(PRELOADED)
    total = noticed = 0
    for name in given.modules:
        path = LIBRARY / f"{name}.py"
        found = list(mutants(path.read_text(encoding="utf-8")))
        if given.some is not None and given.some < len(found):
            found = sorted(random.Random(0).sample(found, given.some))
        part, parts = map(int, given.part.split("/"))
        found = found[part - 1 :: parts]
        module = "seamtree." + name.replace("/", ".")
        twins = [str(twin) for test in given.tests if (twin := Path(test, f"test_{path.stem}.py")).is_file()]
        judge = partial(survives, module, tests=[*twins, *given.tests], seconds=given.seconds)
        if not judge(path.read_text(encoding="utf-8")):
            raise SystemExit(f"{name}: the tests fail, or take too long, with nothing changed")
        alive = 0
        with ThreadPoolExecutor(given.workers) as pool:
            lives = pool.map(judge, [text for _, _, text in found])
            for (line, what, _), survivor in zip(found, lives, strict=True):
                if survivor:
                    alive += 1
                    print(f"{name}.py:{line}: {what}", flush=True)
        total, noticed = total + len(found), noticed + len(found) - alive
        print(f"{name}: {len(found) - alive} of {len(found)} noticed", flush=True)
    print(f"all: {noticed} of {total} noticed, {noticed / max(1, total):.0%}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
