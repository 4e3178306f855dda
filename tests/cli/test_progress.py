"""What a run says while it works: one clock, numbered rounds, what is left.

Tests of planner/commands/progress.py.
"""

from datetime import UTC, datetime
from time import monotonic

import pytest

from planner.commands import progress as telling
from planner.commands.progress import (
    BAR,
    Counted,
    RunClock,
    Teller,
    bar,
    left_words,
    progress_words,
)
from planner.hours.grid import Grid
from planner.schedule.problem.outcome import Progress
from planner.schedule.problem.parts import AimKind
from tests.support.command import covetime
from tests.support.plans import HALIFAX

CALLS = AimKind.CALLS
GRID = Grid(
    start=datetime(2027, 2, 8, tzinfo=UTC), tick_minutes=15, ticks=96, zone=HALIFAX
)


def at(aim, best, bound, number=0):
    """Where a search stands, ten seconds after it began."""
    most = 4 if number else 0
    return Progress(
        elapsed_s=10.0, aim=aim, best=best, bound=bound, round=number, most_rounds=most
    )


def told(capsys):
    return capsys.readouterr().err.splitlines()


@pytest.fixture
def second(monkeypatch):
    """A clock of which a test says the second."""
    now = [0.0]
    monkeypatch.setattr(telling, "monotonic", lambda: now[0])
    return now


def test_the_clock_is_that_of_the_run_and_not_of_a_search(second, capsys):
    teller = Teller(RunClock(0.0))
    second[0] = 31.0
    teller.progress(at(CALLS, 9, 3), GRID)  # ten seconds by the search's own clock
    second[0] = 32.5
    teller.step("playing 10,000 futures")
    assert told(capsys) == [
        " 31.0 s  fewest shifts: best 9, no better than 3",
        " 32.5 s  playing 10,000 futures",
    ]


def test_a_run_that_may_take_so_long_says_of_how_much(second, capsys):
    second[0] = 12.0
    Teller(RunClock(0.0, 60.0)).step("reading")
    assert told(capsys) == [" 12.0 of 60 s  reading"]


def test_rounds_are_numbered_by_how_many_there_may_be():
    words = progress_words(at(CALLS, 9, 3, number=2), GRID)
    assert words == "round 2 of at most 4, fewest shifts: best 9, no better than 3"


def test_once_there_is_a_plan_none_is_said_to_be_missing(second, capsys):
    teller = Teller(RunClock(0.0))
    for seen in (
        at(CALLS, None, 2, 1),
        at(CALLS, 9, 2, 1),
        at(CALLS, None, 3, 2),
        at(CALLS, None, None, 3),
    ):
        second[0] += 2.0
        teller.progress(seen, GRID)
    said = [line.partition("fewest shifts: ")[2] for line in told(capsys)]
    assert said == [
        "no plan yet, no better than 2",
        "best 9, no better than 2",
        "no better than 3",
        "looking",
    ]


def test_what_came_within_a_second_is_said_once_it_is_the_last(second, capsys):
    teller = Teller(RunClock(0.0))
    for best in (9, 8, 7):
        second[0] += 0.1
        teller.progress(at(CALLS, best, 2), GRID)
    assert len(told(capsys)) == 1
    teller.say_held()
    teller.say_held()
    assert [line.partition("best ")[2] for line in told(capsys)] == [
        "7, no better than 2"
    ]


def test_the_time_left_goes_by_what_was_planned_and_not_by_what_was_ruled_out(
    second, capsys
):
    count = Counted(Teller(RunClock(0.0)))
    second[0] = 1.0
    count.tell("too short", 6, planned=False)
    for second[0] in (21.0, 41.0):  # twenty seconds each, three more of them: 60 s
        count.tell("back", 6)
    lines = told(capsys)
    assert lines[:2] == ["  1.0 s  1 of 6  too short", " 21.0 s  2 of 6  back"]
    assert lines[2] == " 41.0 s  3 of 6, about 60 s left  back"


def test_a_bar_is_as_full_as_what_is_done():
    assert bar(0, 8) == "░" * BAR
    assert bar(2, 8) == "█" * (BAR // 4) + "░" * (BAR * 3 // 4)
    assert bar(8, 8) == "█" * BAR


def test_what_is_left_is_said_roughly():
    assert [left_words(s) for s in (0.4, 41, 119, 200)] == [
        "5 s", "40 s", "120 s", "3 min",
    ]  # fmt: skip


@pytest.mark.slow
def test_the_clock_of_a_plan_never_runs_back(tmp_path):
    begun_s = monotonic()
    ran = covetime(
        "plan", "examples/straight/job.toml", "--out", str(tmp_path / "p"),
        "--work-limit", "0.2", "--seconds", "40", kept=True,
    )  # fmt: skip
    took_s = monotonic() - begun_s
    assert ran.returncode == 0, ran.stderr
    lines = [line for line in ran.stderr.splitlines() if " of 40 s  " in line]
    clocks = [float(line.split()[0]) for line in lines]
    assert clocks == sorted(clocks)
    assert 0.0 < clocks[0] < clocks[-1] <= took_s
    said = " ".join(lines)
    assert "earliest return: best " in said
    assert "playing 10,000 futures" in said
    assert "none yet" not in said
