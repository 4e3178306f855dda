"""`covetime today`: now, next, what is wet, what to read and what to decide, on a phone.

Tests of planner/commands/living.py, planner/usecases/living/today.py,
planner/report/living/today_text.py.
"""

import shutil
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.nouns.plan import Plan
from planner.report.living.today_text import WIDTH, today_text
from planner.usecases.living.today import today
from tests.support.command import covetime
from tests.support.living import HOUR, begun
from tests.support.values import STRAIGHT, job_file, put

ZONE = ZoneInfo("America/Halifax")
STEP = timedelta(minutes=15)


@pytest.fixture(scope="module")
def once(tmp_path_factory):
    folder = tmp_path_factory.mktemp("today")
    job = begun(folder, STRAIGHT)
    put(job.plan, folder / "plan", now=job.plan.grid_start)
    return folder, job.plan


@pytest.fixture
def job(once, tmp_path):
    shutil.copytree(once[0], tmp_path, dirs_exist_ok=True)
    return job_file(tmp_path, STRAIGHT)


def parts(text: str) -> dict[str, str]:
    """Each heading with what stands below it, in one line."""
    out: dict[str, list[str]] = {}
    head = ""
    for line in text.splitlines():
        if line.isupper() and not line.startswith(" "):
            head = line
        elif head:
            out.setdefault(head, []).append(line.strip())
    return {k: " ".join(v).strip() for k, v in out.items()}


def at(plan: Plan, moment: datetime, **how) -> dict[str, str]:
    return parts(today_text(plan, moment, **how))


def clock(moment: datetime) -> str:
    return f"{moment.astimezone(ZONE):%H:%M}"


def test_no_line_is_wider_than_a_phone(once):
    _, plan = once
    for task in plan.tasks:
        text = today_text(plan, task.start, decide=("a" * 30 + " " + "b" * 40,))
        assert 40 <= WIDTH <= 48
        assert max(map(len, text.splitlines())) <= WIDTH


def test_now_is_what_is_worked_now_and_next_what_begins_later(once):
    _, plan = once
    task = plan.task("fasten.wall")
    inside = at(plan, task.start)
    assert f"until {clock(task.spans[0][1])} Fasten to the wall, wall" in inside["NOW"]
    assert "Fasten to the wall" not in inside["NEXT"]
    before = at(plan, task.start - STEP)
    assert "Fasten to the wall, wall" in before["NEXT"]
    assert f"{clock(task.start)}-" in before["NEXT"]
    assert "Fasten to the wall" not in before["NOW"]
    assert "Fasten to the wall" not in " ".join(at(plan, task.end).values())


def test_in_the_evening_the_next_day_of_work_is_told(once):
    _, plan = once
    last = max(t.end for t in plan.tasks if t.start < plan.task("prime-2").start)
    evening = last.astimezone(ZONE).replace(hour=23, minute=0)
    told = at(plan, evening)
    assert told["NOW"] == "nothing"
    first = min(a for t in plan.tasks for a, _ in t.spans if a > evening)
    assert told["NEXT"].startswith(f"{first.astimezone(ZONE):%a} ")
    assert f"{clock(first)}-" in told["NEXT"]


def test_after_the_last_task_nothing_is_next(once):
    _, plan = once
    told = at(plan, max(t.end for t in plan.tasks))
    assert (told["NOW"], told["NEXT"]) == ("nothing", "nothing")


def test_what_is_wet_is_left_alone_until_it_is_ready(once):
    _, plan = once
    coat = plan.task("prime-1")
    wait = next(w for w in plan.waits if w.task == coat.id and w.stage == "recoat")
    wet = at(plan, coat.end + STEP)["LEAVE ALONE"]
    assert "Primer coat 1: dries" in wet
    assert clock(wait.ready) in wet
    assert "Primer coat 1" not in at(plan, wait.ready).get("LEAVE ALONE", "")


def test_a_task_that_waits_is_checked_and_how_to_tell_is_said(once):
    _, plan = once
    rub = plan.task("rub.wall")
    told = at(plan, rub.start - STEP)
    assert "[ ] Topping 1, wall: dry by" in told["NEXT"]
    assert "[" in told["READ, MEASURE"]  # a test with its source
    assert "the air before the start" in at(plan, plan.task("prime-1").start)[
        "READ, MEASURE"
    ]  # fmt: skip


def test_only_the_work_of_one_is_told(once):
    _, plan = once
    ana = [t for t in plan.tasks if "ana" in t.team]
    both = at(plan, ana[0].start - STEP, who="ana")
    assert ana[0].title.split(",")[0] in both["NEXT"]
    task = next(t for t in plan.tasks if "ana" not in t.team)
    assert task.title not in at(plan, task.start, who="ana")["NOW"]
    assert task.title in at(plan, task.start, who="bo")["NOW"]


# ----------------------------------------------------------------- the command


def test_what_must_be_decided_comes_from_the_log(job, once):
    _, plan = once
    task = plan.task("fasten.wall")
    now = task.start + STEP

    def decided() -> str:
        text = today(job, job.parent / "plan", at="now", who="", now=now)
        return parts(text)["DECIDE"]

    first = decided()
    assert "not logged as begun: fasten.wall" in first
    assert "not logged as done: " in first
    assert "revise it" not in first
    said = f"{now:%Y-%m-%dT%H:%M:%SZ}"
    for words in (
        ["begun", "fasten.wall"],
        ["shows", "wall", "--says", "third joint"],
        ["damaged", "wall"],
    ):
        assert covetime("log", str(job), *words, "--now", said).returncode == 0
    second = decided()
    assert "not logged as begun" not in second
    assert "logged since the plan was made, 2 in all: revise it" in second
    assert "a joint shows in wall, logged" in second
    assert "(third joint): the plan holds no work for it" in second
    assert "a piece is damaged in wall" in second
    path = job.parent / "job-log.txt"
    path.write_bytes(path.read_bytes() + b"half")
    assert "line 5 of the log can't be used" in decided()


def test_the_command_takes_times_and_names_as_people_say_them(job, once):
    _, plan = once
    task = plan.task("prime-1")
    moment = task.start.astimezone(ZONE)
    when = f"{moment:%Y-%m-%d %H:%M}"
    who = task.team[0].capitalize()
    ran = covetime("today", str(job), "--who", who, "--at", when)
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.splitlines()[1].endswith(f", {who}")
    assert "Primer coat 1" in parts(ran.stdout)["NOW"]
    hours = (plan.task("prime-2").start - task.start) / HOUR
    assert hours > 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--who", "Cy"], '--who: nobody of the crew is called "Cy"'),
        (["--at", "soon"], '--at: "soon": at what hour?'),
    ],
)
def test_what_cant_be_understood_is_asked_back(job, words, said):
    ran = covetime("today", str(job), *words)
    assert ran.returncode == 2
    assert said in ran.stderr


def test_without_a_plan_there_is_no_today(tmp_path):
    ran = covetime("today", str(job_file(tmp_path, STRAIGHT)))
    assert ran.returncode == 2
    assert "there is no plan" in ran.stderr
