"""Which tests are about which module: the docstring of each test module says it.

Its last paragraph reads ``Tests of planner/air/laws.py, planner/air/waits.py.``, so a
search for a module's path finds its tests.
"""

import ast
import re
from collections.abc import Iterable
from functools import cache

from tests.support.places import ROOT

MODULE = re.compile(r"planner/[\w/]+\.py")


def modules_of_tests() -> list[str]:
    """Return every test module, by its path."""
    found = (ROOT / "tests").rglob("test_*.py")
    return sorted(path.relative_to(ROOT).as_posix() for path in found)


@cache
def named_in(test_module: str) -> frozenset[str]:
    """Return the modules of the program that a test module says it tests."""
    text = (ROOT / test_module).read_text("utf-8")
    doc = ast.get_docstring(ast.parse(text)) or ""
    last = doc.rpartition("\n\n")[2]
    if not last.startswith("Tests of planner/"):
        return frozenset()
    return frozenset(MODULE.findall(last))


def answering_for(modules: Iterable[str]) -> list[str]:
    """Return the test modules that name any of these modules, by their paths.

    A module with examples in its docstrings is a test of itself, too.
    """
    asked = frozenset(modules)
    own = [m for m in sorted(asked) if ">>> " in (ROOT / m).read_text("utf-8")]
    return own + [t for t in modules_of_tests() if named_in(t) & asked]
