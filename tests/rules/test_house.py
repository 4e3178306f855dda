"""The house: a complete map in DEVELOPERS.md, small rooms, no circles, one name each."""

import ast
import re
from collections import Counter, defaultdict
from pathlib import Path

import grimp

from tests.support.places import ROOT

PLANNER = ROOT / "planner"
MOST_MODULES = 16  # in one room; beyond it a prefix wants to be a room of its own
MOST_LINES = 400  # of a module
MOST_OF_FUNCTION = 60  # lines of a function, its docstring left out


def rooms() -> set[str]:
    """Every package below planner/, named as the map names it."""
    found = {p.parent.relative_to(PLANNER) for p in PLANNER.rglob("__init__.py")}
    return {"planner/" if f == Path() else f"{f.as_posix()}/" for f in found}


def test_the_map_has_one_line_for_each_room():
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    table = text[text.index("| room | its one duty |") :].split("\n\n")[0]
    rows = re.findall(r"^\| `([^`]+)` \| (.+) \|$", table, re.M)
    assert sorted(name for name, _ in rows) == sorted(rooms())
    assert all(len(duty) > 15 for _, duty in rows)


def test_no_room_holds_too_many_modules():
    count = Counter(
        p.parent.relative_to(ROOT).as_posix()
        for p in PLANNER.rglob("*.py")
        if p.name != "__init__.py"
    )
    assert {room: n for room, n in count.items() if n > MOST_MODULES} == {}


def test_no_module_is_too_long():
    lines = {p: len(p.read_text("utf-8").splitlines()) for p in PLANNER.rglob("*.py")}
    assert len(lines) > 300  # it has looked
    assert {
        str(p.relative_to(ROOT)): n for p, n in lines.items() if n > MOST_LINES
    } == {}


def test_no_function_is_too_long():
    found = {}
    for path in PLANNER.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                first, last = node.body[0], node.end_lineno or 0
                told = ast.get_docstring(node) is not None
                doc = (first.end_lineno or 0) - first.lineno + 1 if told else 0
                found[f"{path.relative_to(ROOT)}: {node.name}"] = (
                    last - node.lineno + 1 - doc
                )
    assert len(found) > 1500  # it has looked
    assert {name: n for name, n in found.items() if n > MOST_OF_FUNCTION} == {}


def test_no_module_imports_itself_in_a_circle():
    graph = grimp.build_graph("planner", cache_dir=None)
    circles = [
        module
        for module in graph.modules
        if any(
            module in graph.find_downstream_modules(other) and other != module
            for other in graph.find_modules_that_directly_import(module)
            if other in graph.find_upstream_modules(module)
        )
    ]
    assert circles == []


def test_no_public_class_name_stands_for_two_things():
    places = defaultdict(list)
    for path in sorted(PLANNER.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert len(places) > 200  # it has looked
    assert {name: at for name, at in places.items() if len(at) > 1} == {}
