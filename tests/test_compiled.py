"""Compiled loops: without a place for a cache, their division, and no code left over from before a change."""

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from commands import ROOT
from numba.core import caching

from assembly.compiled import kernel, numpy_kernel


@pytest.mark.parametrize("decorate", [kernel, numpy_kernel])
def test_no_place_for_a_cache(monkeypatch, decorate):
    """With no folder to write in, numba refuses to cache; the loop is compiled without."""
    monkeypatch.setattr(caching.CompileResultCacheImpl, "_locator_classes", [])

    def quarter(total):
        return total / 4

    assert decorate(quarter)(1.0) == 0.25


def test_division_by_nought():
    """The loops are two, as numba's cache would take one for the other."""

    @numpy_kernel
    def as_numpy(total, parts):
        return total / parts

    @kernel
    def as_python(total, parts):
        return total / parts

    assert as_numpy(1.0, 0.0) == np.inf
    with pytest.raises(ZeroDivisionError) as refused:
        as_python(1.0, 0.0)
    assert str(refused.value) == "division by zero"


def test_linear_algebra_where_a_loop_asks_for_it():
    """Loading numba without scipy's linear algebra takes nothing away: a dot product loads it then."""

    @kernel
    def product(left, right):
        return np.dot(left, right)

    assert product(np.array([1.0, 2.0]), np.array([3.0, 4.0])) == 11.0


# Stale code: numba looks for changes in a loop's own file and in no other


def foreign(source: str) -> dict[str, set[str]]:
    """Return what each compiled loop of a module takes from other modules of the package, by the loop's name.

    A loop is compiled with the loops it calls and the constants it names, and cached by its own file; so all of them
    must stand in that file. What a module computes from another's names counts as the other's.
    """
    tree = ast.parse(source)
    taken = {
        alias.asname or alias.name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
        if (node.module or "." if isinstance(node, ast.ImportFrom) else alias.name).split(".")[0] in {"assembly", ""}
    } - {"kernel", "numpy_kernel", "inner_kernel"}
    for node in tree.body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value and names_in(node.value) & taken:
            taken |= names_in(node) - names_in(node.value)
    loops = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        and any(names_in(each) & {"kernel", "numpy_kernel", "inner_kernel"} for each in node.decorator_list)
    ]
    return {loop.name: set().union(*(names_in(line) for line in loop.body)) & taken for loop in loops}


def names_in(node: ast.AST) -> set[str]:
    return {each.id for each in ast.walk(node) if isinstance(each, ast.Name)}


def test_compiled_loops_call_and_name_only_what_stands_in_their_own_file():
    found = {
        f"{file.relative_to(ROOT)}: {loop}": names
        for file in (ROOT / "assembly").rglob("*.py")
        for loop, names in foreign(file.read_text(encoding="utf-8")).items()
    }
    assert len(found) > 20
    assert {loop: names for loop, names in found.items() if names} == {}


ONE_FILE = """
from assembly.compiled import kernel

PARTS = 2

@kernel
def part(x):
    return x / PARTS

@kernel
def whole(x):
    return part(x) + part(x) + 1.0
"""
CALLED = """
from assembly.compiled import kernel

PARTS = 2

@kernel
def part(x):
    return x / PARTS
"""
CALLS = """
from assembly.compiled import kernel
from assembly.called import PARTS, part

TWICE = 2 * PARTS

@kernel
def whole(x):
    return part(x) + part(x) + 1.0

@kernel
def named(x):
    return x * TWICE
"""


def test_what_a_loop_takes_from_elsewhere_is_seen():
    assert foreign(ONE_FILE) == {"part": set(), "whole": set()}
    assert foreign(CALLS) == {"whole": {"part"}, "named": {"TWICE"}}
    assert foreign(CALLS.replace("from assembly.called import PARTS, part", "import assembly.called as part")) == {
        "whole": {"part"},
        "named": set(),
    }


def whole_of_six(folder: Path, module: str) -> float:
    """Return what a module's loop makes of 6, in a process of its own.

    Python keeps no bytecode (-B): it would take a change within a second, of as many bytes, for none.
    """
    words = [sys.executable, "-B", "-c", f"from assembly.{module} import whole\nprint(whole(6.0))"]
    return float(subprocess.run(words, cwd=folder, capture_output=True, check=True).stdout)


@pytest.mark.parametrize(("module", "changed", "after"), [("one_file", "one_file", 4.0), ("calls", "called", 7.0)])
def test_a_change_is_seen_in_a_loop_s_own_file_and_in_no_other(tmp_path, module, changed, after):
    """In a copy of the package halves become quarters: 6/2 + 6/2 + 1 is 7, 6/4 + 6/4 + 1 is 4, but for stale code."""
    package = tmp_path / "assembly"
    package.mkdir()
    for name in ("__init__", "compiled"):
        shutil.copy(ROOT / "assembly" / f"{name}.py", package)
    for name, source in (("one_file", ONE_FILE), ("called", CALLED), ("calls", CALLS)):
        (package / f"{name}.py").write_text(source)
    assert whole_of_six(tmp_path, module) == 7.0
    file = package / f"{changed}.py"
    file.write_text(file.read_text().replace("PARTS = 2", "PARTS = 4"))
    assert whole_of_six(tmp_path, module) == after
