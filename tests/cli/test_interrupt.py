"""Ctrl-C and the clock, in every phase of a run: what is kept and how it ends.

Each run is a process of its own that sends itself the signal when it comes to a phase.

Tests of planner/commands/options.py, planner/commands/planning.py,
planner/commands/progress.py, planner/main.py, planner/planning/searching.py,
planner/schedule/problem/limits.py, planner/usecases/plan.py.
"""

import os
import resource
import subprocess
import sys
import time

import pytest

from tests.support.crews import corner_with_crew
from tests.support.places import ROOT
from tests.support.values import STRAIGHT, changed, job_file

CORNER = "examples/corner/job.toml"
CPU_S_AFTER = 5.0  # in which a run ends once the clock ran out
# Processor time from Ctrl-C to the end: to leave, and to word, judge and write the plan
# that is kept.
CPU_S_TO_LEAVE, CPU_S_TO_KEEP = 1.0, 3.0

IN_A_PHASE = """
import atexit, importlib, os, signal, sys, threading, time
place, name, later_s = {place!r}, {name!r}, {later_s!r}
def press():
    begin = time.process_time()
    atexit.register(lambda: open({clock!r}, "w").write(str(time.process_time() - begin)))
    os.kill(os.getpid(), signal.SIGINT)
home = importlib.import_module(place)
whole = getattr(home, name)
def pressed(*args, **named):
    setattr(home, name, whole)
    print("pressed", file=sys.stderr, flush=True)
    if later_s:
        threading.Timer(later_s, press).start()
    else:
        press()
    return whole(*args, **named)
setattr(home, name, pressed)
from planner.main import main
sys.argv = ["covetime", *{args!r}]
main()
"""

WHILE_LOADING = """
import importlib, os, signal, sys
class Press:
    def find_spec(self, name, *rest):
        if name == {name!r}:
            sys.meta_path.remove(self)
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Press())
from planner.main import main
sys.argv = ["covetime", *{args!r}]
main()
"""


def run(code: str) -> tuple[int, str, str, float]:
    """Return status, stdout and stderr of a process, and the processor time it took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    ran = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True, text=True, cwd=ROOT, timeout=120, check=False,
        env={**os.environ, "COLUMNS": "200"},
    )  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    took = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return ran.returncode, ran.stdout, ran.stderr, took


def pressed_in(
    tmp_path, place: str, name: str, args: list[str], later_s: float = 0
) -> tuple[int, str, str, float]:
    """Return status, stdout and stderr, and the processor time from Ctrl-C to the end."""
    clock = tmp_path / "took.txt"
    code = IN_A_PHASE.format(
        place=place, name=name, later_s=later_s, args=args, clock=str(clock)
    )
    status, out, err, _ = run(code)
    return status, out, err, float(clock.read_text())


def plan_args(folder, *more: str) -> list[str]:
    # so much work that only Ctrl-C or the clock can end it in time
    return ["plan", CORNER, "--out", str(folder), "--work-limit", "4000", *more]


@pytest.mark.parametrize(
    ("place", "name"),
    [
        ("planner.usecases.read", "read_job_calendars"),
        pytest.param("planner.planning.answering", "posed", marks=pytest.mark.slow),
        pytest.param(
            "planner.schedule.climb.solve", "make_space", marks=pytest.mark.slow
        ),
        ("planner.schedule.climb.solve", "first_plan"),
    ],
)
def test_an_interrupt_before_any_plan_ends_at_once_and_writes_nothing(
    place, name, tmp_path
):
    args = plan_args(tmp_path / "plan")
    status, out, err, took = pressed_in(tmp_path, place, name, args)
    assert "pressed" in err
    assert (status, out) == (3, "")
    assert "stopped before any plan was found" in err
    assert "Traceback" not in err
    assert not (tmp_path / "plan" / "plan.json").exists()
    assert took < CPU_S_TO_LEAVE


@pytest.mark.parametrize(
    ("place", "name", "later_s"),
    [
        pytest.param(
            "planner.schedule.cp.search", "_solver", 0.3, marks=pytest.mark.slow
        ),  # the solver itself is at work
        pytest.param(  # a model is being built
            "planner.schedule.cp.search", "keep_all_rules", 0, marks=pytest.mark.slow
        ),
        pytest.param("planner.planning.make", "plan_of", 0, marks=pytest.mark.slow),
        pytest.param("planner.planning.make", "judged", 0, marks=pytest.mark.slow),
        pytest.param("planner.usecases.write", "outputs", 0, marks=pytest.mark.slow),
    ],
)
def test_an_interrupt_after_a_plan_was_found_keeps_it(place, name, later_s, tmp_path):
    args = plan_args(tmp_path / "plan")
    if name not in {"_solver", "keep_all_rules"}:
        args += ["--seconds", "1"]  # to come to the phase soon
    status, out, err, took = pressed_in(tmp_path, place, name, args, later_s)
    assert "pressed" in err
    assert status == 0, err
    assert "stopping; the best plan so far is kept" in err
    assert "Traceback" not in err
    assert (tmp_path / "plan" / "plan.json").exists()
    assert "not proven" in " ".join(out.split())
    assert took < CPU_S_TO_KEEP


@pytest.mark.slow
@pytest.mark.parametrize(
    ("place", "name", "later_s"),
    [
        ("planner.schedule.climb.ladder", "narrow", 0),
        ("planner.schedule.climb.ladder", "moved_up", 0),
        ("planner.promise.keeping", "kept_from", 0.2),
        ("planner.promise.keeping", "told", 0),
        ("planner.promise.keeping", "with_room", 0.2),
        ("planner.promise.keeping", "Improving", 0.1),
        ("planner.promise.improving", "verify", 0),
        ("planner.usecases.plan", "odds_of_placed", 0.2),
        ("planner.odds.tally", "held_by", 0),
        ("planner.planning.make", "judged", 0),
        ("planner.usecases.write", "outputs", 0),
    ],
)
@pytest.mark.parametrize("unlike", [False, True])
def test_an_interrupt_with_a_large_crew_keeps_the_plan_as_soon(
    unlike, place, name, later_s, tmp_path
):
    text = corner_with_crew(39, each="all", unlike=unlike)
    args = ["plan", str(job_file(tmp_path, text)), "--work-limit", "0.2"]
    status, out, err, took = pressed_in(tmp_path, place, name, args, later_s)
    assert "pressed" in err
    assert status == 0, err
    assert "Keep the stage clear" in out
    assert took < CPU_S_TO_KEEP


@pytest.mark.slow
def test_an_interrupt_between_rounds_of_plan_and_air_keeps_a_plan_that_holds(
    tmp_path,
):
    room = '[air.room]\nvolume = "150 m3"\n[air.outside]\ntemperature = "2 C"\nhumidity = "90 %"\n[[air.room.heat]]\nto = "20 C"\n[stage]'
    text = changed(STRAIGHT, ("[stage]", room))
    args = ["plan", str(job_file(tmp_path, text))]
    status, out, err, took = pressed_in(
        tmp_path, "planner.planning.rounds", "coats_of", args
    )
    assert status == 0, err
    assert "Keep the stage clear" in out
    page = (tmp_path / "plan" / "plan.json").read_text()
    assert "every wait and limit is kept in that air" in page
    assert "not proven" in page
    assert took < CPU_S_TO_KEEP


@pytest.mark.parametrize(
    ("module", "status", "words"),
    [
        ("typer", 130, "stopped\n"),
        ("ortools", 3, "stopped before any plan was found; there may be one\n"),
    ],
)
def test_an_interrupt_while_the_program_is_loaded_leaves_no_traceback(
    module, status, words, tmp_path
):
    found, out, err, _ = run(
        WHILE_LOADING.format(name=module, args=plan_args(tmp_path / "plan"))
    )
    assert (found, out, err) == (status, "", words)


def test_an_interrupt_while_the_clash_is_looked_for_still_says_that_there_is_no_plan(
    tmp_path,
):
    bookings = f'bookings = ["{ROOT}/calendars/stage-bookings-tight.ics"]'
    text = changed(STRAIGHT, ('"2.9 m"', f'"2.9 m"\n{bookings}'))
    args = ["plan", str(job_file(tmp_path, text))]
    status, out, err, took = pressed_in(
        tmp_path, "planner.schedule.why.conflict", "conflict", args
    )
    assert took < CPU_S_TO_LEAVE
    assert (status, out) == (1, "")
    assert "no plan is possible within 53 weeks" in err
    assert "the search was stopped before the rules that clash were found" in err
    assert "Traceback" not in err


def test_an_interrupt_in_another_command_ends_it_quietly(tmp_path):
    args = ["check", CORNER]
    status, out, err, took = pressed_in(
        tmp_path, "planner.usecases.read", "read_job_calendars", args
    )
    assert took < CPU_S_TO_LEAVE
    assert (status, out, err) == (130, "", "pressed\nstopped\n")


@pytest.mark.parametrize("seconds", ["0.1", pytest.param("2", marks=pytest.mark.slow)])
def test_a_run_ends_soon_after_its_seconds(seconds, tmp_path):
    begin = time.monotonic()
    args = ["covetime", *plan_args(tmp_path / "plan", "--seconds", seconds)]
    code = f"import sys; from planner.main import main; sys.argv = {args!r}; main()"
    status, out, _, took = run(code)
    assert status == 0
    assert "not proven" in " ".join(out.split())
    assert "clock limit" in " ".join(out.split())
    assert took < float(seconds) + CPU_S_AFTER
    assert time.monotonic() - begin >= float(seconds)


@pytest.mark.slow
@pytest.mark.parametrize("seconds", ["1", "3", "8"])
@pytest.mark.parametrize("unlike", [False, True])
def test_a_run_with_a_large_crew_ends_as_soon(unlike, seconds, tmp_path):
    text = corner_with_crew(39, each="all", unlike=unlike)
    job = str(job_file(tmp_path, text))
    args = ["covetime", "plan", job, "--work-limit", "4000", "--seconds", seconds]
    code = f"import sys; from planner.main import main; sys.argv = {args!r}; main()"
    status, out, _, took = run(code)
    assert status == 0
    assert "Cut short" in out
    assert took < float(seconds) + CPU_S_AFTER
