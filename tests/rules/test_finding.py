"""The tests of each module are found from its name, and belong to it in truth.

The convention is in `tests/support/finding.py`.
"""

import ast
import json
import re
import subprocess
import sys
import tomllib
from collections import Counter
from functools import cache

import grimp
import pytest

from tests.support.finding import (
    MODULE,
    answering_for,
    modules_of_tests,
    named_in,
)
from tests.support.places import ROOT

PLANNER = sorted(p.relative_to(ROOT).as_posix() for p in ROOT.glob("planner/**/*.py"))
ROOMS = tomllib.loads((ROOT / "tests/mutation/rooms.toml").read_text("utf-8"))
LOADED_BY_NAME = "planner.trade.recipes"  # loads what its recipes.toml lists


def functions(path: str) -> list[ast.FunctionDef]:
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]


def dotted(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


# -------------------------------------------------------------- each is named


def test_each_module_with_a_function_is_named_by_its_tests():
    named = frozenset[str]().union(*map(named_in, modules_of_tests()))
    without = [m for m in PLANNER if m not in named and functions(m)]
    assert without == [], (
        "end the docstring of the test module that tests them with the paragraph: "
        "Tests of planner/ROOM/MODULE.py, planner/ROOM/MODULE.py."
    )


def test_each_module_that_is_named_exists():
    wrong = {t: sorted(named_in(t) - set(PLANNER)) for t in modules_of_tests()}
    assert {t: names for t, names in wrong.items() if names} == {}


def test_modules_are_named_in_the_last_paragraph_alone():
    """So that what `grep` finds is what the other tests here look at."""
    for test in modules_of_tests():
        doc = ast.get_docstring(ast.parse((ROOT / test).read_text("utf-8"))) or ""
        assert set(MODULE.findall(doc)) == named_in(test) or test.endswith(
            "test_finding.py"
        )


# ------------------------------------------------------- and reached in truth


@cache
def program() -> grimp.ImportGraph:
    return grimp.build_graph("planner", cache_dir=None)


@cache
def reached_from(module: str) -> frozenset[str]:
    """Return a module of the program and all that it imports, also by way of others."""
    found = {module, *program().find_upstream_modules(module)}
    if LOADED_BY_NAME in found:
        found |= program().find_descendants(LOADED_BY_NAME)
    return frozenset(found)


@cache
def imported(path: str) -> frozenset[str]:
    """Return the modules, of program and tests, that a module imports.

    That includes what it names in code kept as text, for a process of its own.
    """
    found: set[str] = set()
    for node in ast.walk(ast.parse((ROOT / path).read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{n.name}" for n in node.names)}
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            found |= set(re.findall(r"planner(?:\.\w+)+", node.value))
    return frozenset(found)


def reach(path: str) -> set[str]:
    """Return the modules of the program that a test module can reach."""
    seen, todo = {path}, [path]
    found: set[str] = set()
    while todo:
        for name in imported(todo.pop()):
            if name in program().modules:
                found |= reached_from(name)
            beside = name.replace(".", "/") + ".py"
            if name.startswith("tests.") and (ROOT / beside).is_file():
                todo += [beside] if beside not in seen else []
                seen.add(beside)
    return found


@pytest.mark.parametrize("test", [t for t in modules_of_tests() if named_in(t)])
def test_tests_can_reach_what_they_name(test):
    assert sorted({dotted(m) for m in named_in(test)} - reach(test)) == []


@pytest.mark.slow
@pytest.mark.parametrize("test", [t for t in modules_of_tests() if named_in(t)])
def test_tests_run_what_they_name(test, tmp_path):
    """Each test module alone, in a process of its own, its lines counted."""
    settings = tmp_path / "coveragerc"
    settings.write_text(
        f"[run]\nsource = planner\npatch = subprocess\nparallel = true\n"
        f"concurrency = multiprocessing, thread\ndata_file = {tmp_path / 'lines'}\n"
    )
    coverage = [sys.executable, "-m", "coverage"]
    pytest_alone = ["-m", "pytest", "-n", "0", "-q", "-p", "no:cacheprovider", test]
    rc = f"--rcfile={settings}"
    for words in (
        ["run", rc, *pytest_alone],
        ["combine", "-q", rc],
        ["json", "-q", rc, "-o", str(tmp_path / "lines.json")],
    ):
        subprocess.run([*coverage, *words], cwd=ROOT, check=True, timeout=1200)
    found = json.loads((tmp_path / "lines.json").read_text("utf-8"))["files"]
    ran = {path: set(lines["executed_lines"]) for path, lines in found.items()}
    idle = [m for m in named_in(test) if not ran.get(m, set()) & within(m)]
    assert idle == []


def within(path: str) -> set[int]:
    """Return the lines within a module's functions; all of them if it has none."""
    if not functions(path):
        return set(range(1, len((ROOT / path).read_text("utf-8").splitlines()) + 1))
    return {
        line
        for function in functions(path)
        for step in function.body
        for line in range(step.lineno, (step.end_lineno or step.lineno) + 1)
    }


# ------------------------------------------------------- rooms of mutation tests


def test_each_module_is_in_one_room_of_the_mutation_tests():
    held = Counter(
        path.relative_to(ROOT).as_posix()
        for patterns in ROOMS.values()
        for path in {p for pattern in patterns for p in ROOT.glob(pattern)}
    )
    assert {m: held[m] for m in PLANNER if held[m] != 1 and functions(m)} == {}
    assert set(held) <= set(PLANNER)


@pytest.mark.parametrize("room", ROOMS)
def test_each_pattern_of_a_room_finds_modules(room):
    assert [p for p in ROOMS[room] if not any(ROOT.glob(p))] == []


@pytest.mark.parametrize("room", ROOMS)
def test_each_room_has_tests(room):
    modules = [
        p.relative_to(ROOT).as_posix() for q in ROOMS[room] for p in ROOT.glob(q)
    ]
    assert answering_for(modules)
