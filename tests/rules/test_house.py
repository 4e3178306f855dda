"""The house: a complete map in DEVELOPERS.md, small rooms, no circles, one name each."""

import ast
import re
from collections import Counter, defaultdict
from pathlib import Path

import grimp

from tests.support.places import ROOT

PLANNER = ROOT / "planner"
MOST_MODULES = 16  # in one room; beyond it a prefix wants to be a room of its own


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
