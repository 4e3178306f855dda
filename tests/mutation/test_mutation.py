"""The runner itself: a change that matters is noticed, one that can't be isn't."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.mutation.__main__ import ROOT, Outcome, drawn, report
from tests.mutation.changes import Change, changed, changes, siblings

HERE = Path(__file__).parent
SUMS = """
class Span:
    start: int
    end: int
    name: str

def ticks(first: int, last: int) -> list[int]:
    out = []
    for tick in range(last):
        if tick < first:
            continue
        out.append(tick)
    return out

def larger(one: int, other: int) -> int:
    return one if one > other else other

def halvings(size: int) -> int:
    count = 0
    while size > 0:
        size, count = size // 2, count + 1
    return count

def doubled(size: int) -> int:
    return 2 * size if size >= 0 else 0

def unseen(span: Span) -> bool:
    return not span.start

LARGEST = 9
"""
TESTS = """
import pytest
from sums.plain import LARGEST, doubled, halvings, larger, ticks

@pytest.fixture(scope="module")
def six():
    return doubled(3)

def test_it_is_set_up(six):
    assert six is not None

def test_of_what_another_test_had_set_up(six):
    assert six == 6

def test_a_span_includes_its_start_and_excludes_its_end():
    assert ticks(2, 4) == [2, 3]

def test_the_larger_of_two():
    assert (larger(2, 1), larger(1, 2), larger(1, 1)) == (2, 2, 1)

def test_halvings():
    assert halvings(8) == 4

def test_the_largest():
    assert LARGEST == 9
"""
TRIAL = """
from pathlib import Path
from tests.mutation.changes import changes
from tests.mutation import trial
from tests.mutation.trial import noticed, reach

trial.SPARE_S = 3.0
found = reach(["test_sums.py"], code="sums")
for change in changes("sums/plain.py", Path("sums/plain.py").read_text(), {}):
    tried = change.kind in ("one off", "returns nothing", "opposite")
    if not tried and change.now != "LARGEST = 8":
        continue
    print(change.now, noticed(change, found), sep=" | ")
"""


@pytest.mark.slow
def test_a_planted_change_is_noticed_and_an_equivalent_one_lives(tmp_path):
    (tmp_path / "sums").mkdir()
    (tmp_path / "sums" / "__init__.py").touch()
    (tmp_path / "sums" / "plain.py").write_text(SUMS)
    (tmp_path / "test_sums.py").write_text(TESTS)
    (tmp_path / "conftest.py").write_text("import sums.plain\n")
    ran = subprocess.run(
        [sys.executable, "-c", TRIAL],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": f"{tmp_path}{os.pathsep}{ROOT}"},
        capture_output=True,
        text=True,
        timeout=300,
        check=True,
    )
    found = dict(line.split(" | ", 1) for line in ran.stdout.splitlines())
    ours = "test_sums.py::test_a_span_includes_its_start_and_excludes_its_end"
    assert found["if (tick <= first):"] == ours
    assert found["return []"] == ours
    set_up = "test_sums.py::test_of_what_another_test_had_set_up"
    assert found["return 2 * size if (size < 0) else 0"] == set_up
    # of two equal numbers either is the larger
    assert found["return one if (one >= other) else other"] == "lives"
    assert found["while (size >= 0):"] == "time up"  # for ever
    assert found["return (span.start)"] == "no test reaches it"
    # what runs as a module is imported concerns all tests, whoever imports it first
    assert found["LARGEST = 8"] == "test_sums.py::test_the_largest"
    assert (tmp_path / "sums" / "plain.py").read_text() == SUMS


def offered(text: str) -> set[str]:
    return {c.now for c in changes("a.py", text, siblings({"a.py": text}))}


def test_wrong_changes_are_those_that_people_make():
    assert {
        "if (tick <= first):",
        "if (tick >= first):",
        "if False:",
        "for tick in [*(range(last))][1:]:",
        "for tick in range(first):",
        "pass",
        "return []",
        "return (other if one > other else one)",
        "return (span.start)",
        "return not (span.end)",
    } <= offered(SUMS)
    assert offered("a = b + 2 and c") == {
        "a = (b - 2) and c",
        "a = b + 3 and c",
        "a = b + 1 and c",
        "a = (b + 2 or c)",
        "a = (c)",
        "a = (b + 2)",
    }
    assert "f((y), x=1)" not in offered("f(x, y)")
    assert offered("f(x, y)") == {"(f(y, x))", "pass"}
    assert offered("f(a=x, b=y)") == {"(f(a=y, b=x))", "pass"}


def test_words_and_types_are_left_alone():
    assert offered('"""Two or three."""\nx: tuple[int, 2] = y\nz = f"{1 + 1}"') == set()


def test_letters_beyond_ascii_shift_no_place():
    text = 'x = "°C", 1\n'
    now = {changed(text.encode(), c).decode() for c in changes("a.py", text, {})}
    assert now == {'x = "°C", 2\n', 'x = "°C", 0\n'}


@pytest.mark.slow
def test_a_sample_is_the_same_by_its_seed_and_mixes_kinds():
    once, again, other = (drawn(["planner/hours/spans.py"], 12, s) for s in (1, 1, 2))
    assert once == again != other
    assert len({c.kind for c in once}) == 12
    assert {Path(c.path).parent for c in once} == {Path("planner/hours")}


def outcome(by: str, **more) -> Outcome:
    change = Change(
        path="a.py",
        line=3,
        last_line=3,
        head_line=3,
        kind="one off",
        start=0,
        end=1,
        new="y",
        was="x",
        now="y",
    )
    return Outcome(room="air", change=change, by=by, **more)


def test_the_share_leaves_out_what_is_equivalent_and_nothing_else():
    text = report(
        [
            outcome("test_a"),
            outcome("lives"),
            outcome("lives", why="never both", equivalent=True),
            outcome("lives", why="words", equivalent=False),
        ]
    )
    assert text.splitlines()[1].split() == ["air", "1", "4", "1", "33%"]
    assert text.count("a.py:3 one off: lives") == 3
    assert "no reason given" in text


def test_what_may_live_has_a_reason_and_still_stands_in_its_file():
    for row in tomllib.loads((HERE / "lives.toml").read_text("utf-8"))["lives"]:
        text = (ROOT / row["file"]).read_text("utf-8")
        assert row["was"] in " ".join(text.split()), row["file"]
        assert row["why"]
        assert isinstance(row["equivalent"], bool)
