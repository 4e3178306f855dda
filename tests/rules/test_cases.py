"""Cases: the papers of a job are read once, and many changed jobs come of them.

Tests of planner/files/job_calendars.py, planner/nouns/kept.py,
planner/planning/inside.py, planner/planning/posing.py, planner/usecases/read.py.
"""

import io
import json
import pickle
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.errors import FaultsError
from planner.files.ics import reading
from planner.files.job.changes import changes_from
from planner.files.tables import readings
from planner.hours.open import person_hours
from planner.nouns.kept import Kept
from planner.planning.answering import answer
from planner.planning.inside import room_air
from planner.planning.posing import problem_of
from planner.planning.problem import lookup_of
from planner.planning.searching import Search
from planner.schedule.problem.limits import SearchLimits
from planner.trade.takeoff import take_off
from planner.usecases.read import Papers, read_inputs
from tests.support.command import covetime
from tests.support.finished import finished
from tests.support.full import full_job
from tests.support.ics import calendar, event, put
from tests.support.places import ROOT
from tests.support.values import STRAIGHT, changed, job_file

STRAIGHT_EXAMPLE = ROOT / "examples" / "straight" / "job.toml"

FIFTY = """
import json, sys
from collections import Counter
from pathlib import Path

from planner.files.job.changes import changes_from
from planner.planning.answering import answer
from planner.planning.posing import problem_of
from planner.planning.searching import Search
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.read import Papers

opened = Counter()

def audit(event, args):
    if event == "open" and isinstance(args[0], (str, bytes)):
        path = Path(args[0] if isinstance(args[0], str) else args[0].decode()).resolve()
        if path.suffix in (".toml", ".ics", ".csv", ".json"):
            opened[str(path)] += 1

sys.addaudithook(audit)
papers = Papers(Path(sys.argv[1]))
(first, *others) = papers.inputs().job.crew
cases, returns = set(), []
for number in range(50):
    changes = {
        f'crew."{first.name}".rest': f"{number % 10 + 6} h",
        "job.drying_margin": f"{number // 10 * 50} %",
    }
    case = papers.case(changes_from(changes))
    cases.add(case.fingerprint)
    problem_of(case.inputs, weeks=6)
    if number % 10 == 0:
        found = answer(case, Search(limits=SearchLimits(work=0.01)))
        returns.append(found.worth.full_service.isoformat())
print(json.dumps([opened, len(cases), returns]))
"""


@pytest.mark.slow
def test_fifty_changed_cases_of_an_example_open_no_file_twice():
    ran = subprocess.run(
        [sys.executable, "-c", FIFTY, str(STRAIGHT_EXAMPLE)],
        capture_output=True, text=True, cwd=ROOT, timeout=170, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    opened, cases, returns = json.loads(ran.stdout)
    assert opened[str(STRAIGHT_EXAMPLE)] == 1
    assert sum(Path(f).parent == ROOT / "calendars" for f in opened) == 3
    assert {f: n for f, n in opened.items() if n > 1} == {}
    assert cases == 50
    assert len(returns) == 5
    assert returns[0] < min(returns[1:])  # the others have a margin on what dries


@pytest.fixture
def opens(monkeypatch) -> list[str]:
    """Return a list that gets the path of each file that is opened by this process."""
    seen: list[str] = []
    inside = io.open

    def noted(file, *args, **named):
        seen.append(str(file))
        return inside(file, *args, **named)

    monkeypatch.setattr(io, "open", noted)  # what Path.open calls
    return seen


def test_what_a_change_names_anew_is_read_then_and_once(tmp_path, opens):
    path = full_job(tmp_path)
    put(tmp_path, calendar(event("DTSTART;VALUE=DATE:20270209")), "late.ics")
    opens.clear()
    papers = Papers(path)
    papers.case()
    late = changes_from({"crew.Bo.calendar": "late.ics"})
    assert not any(f.endswith("late.ics") for f in opens)
    for _ in range(2):
        case = papers.case(late)
        assert [b.file for b in case.inputs.hours.people["bo"]] == ["late.ics"]
    named = [f for f in opens if f.startswith(str(tmp_path))]
    assert sorted(named) == sorted(set(named))
    assert len(named) == 7  # the job file and five calendars of it, and the late one


def test_each_calendar_is_read_anew_only_for_other_days_or_another_reading(tmp_path):
    papers = Papers(full_job(tmp_path))
    kept = papers.case().inputs.kept
    read = kept.times(reading.read_calendar)
    assert read > 0
    papers.case(changes_from({"crew.Bo.rest": "9 h", "methods.fill": "foam"}))
    assert kept.times(reading.read_calendar) == read
    papers.case(changes_from({"crew.Ana.mail": ["ana@example.org"]}))
    assert kept.times(reading.read_calendar) == read + 1
    papers.case(changes_from({"job.earliest": papers.case().inputs.job.earliest}))
    assert kept.times(reading.read_calendar) == read + 1


def test_readings_are_read_once_and_told_wrong_each_time(tmp_path):
    text = changed(STRAIGHT, ("[stage]", '[air]\nreadings = "room.csv"\n[stage]'))
    (tmp_path / "room.csv").write_text("time,temp_C,rh_pct\n2027-02-08 09:00,19,60\n")
    papers = Papers(job_file(tmp_path, text))
    one = papers.case().inputs
    other = papers.case(changes_from({"methods.fill": "foam"})).inputs
    assert one.readings == other.readings
    assert one.kept.times(readings.read_air) == 1
    (tmp_path / "room.csv").write_text("time,temp_C\n")
    wrong = Papers(job_file(tmp_path, text))
    for _ in range(2):
        with pytest.raises(FaultsError, match="fault"):
            wrong.case()


def test_a_case_without_changes_is_the_job_as_read_and_other_cases_are_others(tmp_path):
    papers = Papers(full_job(tmp_path))
    plain = papers.case()
    assert plain.inputs == read_inputs(tmp_path / "job.toml")
    one = papers.case(changes_from({"methods.fill": "foam", "crew.Bo.rest": "9 h"}))
    two = papers.case(changes_from({"crew.Bo.rest": "9 h", "methods.fill": "foam"}))
    three = papers.case(changes_from({"crew.Bo.rest": "8 h", "methods.fill": "foam"}))
    assert one.fingerprint == two.fingerprint
    assert len({c.fingerprint for c in (plain, one, three)}) == 3


def test_a_plan_of_a_changed_job_says_so(tmp_path):
    case = Papers(job_file(tmp_path)).case(changes_from({"methods.fill": "foam"}))
    found = answer(case, Search(limits=SearchLimits(work=0.01)))
    plan = finished(case, found)
    assert plan.remarks[0] == (
        'planned with a change to the job file: methods.fill = "foam"'
    )
    assert any(t.product == case.inputs.job.methods.foam for t in plan.tasks)


def test_a_case_can_be_sent_to_another_process_without_what_was_kept(tmp_path):
    case = Papers(full_job(tmp_path)).case()
    case.inputs.kept.of(str, 1)
    there = pickle.loads(pickle.dumps(case))
    assert there == case
    assert there.inputs.kept.times(str) == 0


def test_what_is_kept_is_kept_by_value():
    kept = Kept()
    done = []

    def double(number: int) -> int:
        done.append(number)
        return 2 * number

    assert [kept.of(double, n) for n in (3, 4, 3, 3)] == [6, 8, 6, 6]
    assert done == [3, 4]
    assert kept.times(double) == 2
    assert Kept().times(double) == 0


def test_what_a_change_leaves_as_it_was_is_not_worked_out_again(tmp_path):
    text = changed(STRAIGHT, ("[stage]", '[air.room]\nvolume = "150 m3"\n[stage]'))
    papers = Papers(job_file(tmp_path, text))
    kept = papers.case().inputs.kept

    def done(**changes: str) -> tuple[int, int, int, int]:
        """Return how often hours, take-off, air and look-ups had to be worked out."""
        asked = {key.replace("__", "."): value for key, value in changes.items()}
        parts: tuple[Callable[..., object], ...] = (
            person_hours,
            take_off,
            room_air,
            lookup_of,
        )
        before = [kept.times(p) for p in parts]
        shared = problem_of(papers.case(changes_from(asked)).inputs, weeks=6)
        alone = problem_of(Papers(papers.path).inputs(changes_from(asked)), weeks=6)
        assert shared.instance == alone.instance  # the same as with nothing kept
        hours, off, air, ready = (
            kept.times(p) - b for p, b in zip(parts, before, strict=True)
        )
        return hours, off, air, ready

    first = done()
    assert first[:3] == (2, 1, 1)
    assert first[3] > 5
    assert done() == (0, 0, 0, 0)
    hours, _, air, ready = done(crew__Bo__rest="9 h")
    assert (hours, air, ready) == (1, 0, 0)
    hours, _, air, ready = done(air__room__volume="160 m3")
    assert (hours, air, ready) == (0, 1, first[3])
    hours, _, air, ready = done(job__drying_margin="60 %")
    assert (hours, air) == (0, 0)
    assert 0 < ready < first[3]  # what sets has no margin


@pytest.mark.parametrize(
    "args",
    [
        ["check"],
        ["hours"],
        ["air"],
        ["quantities"],
        ["opening"],
        ["plan", "--work-limit", "0.01"],
    ],
    ids=lambda args: args[0],
)
def test_a_command_reads_each_file_once(tmp_path, opens, args):
    job = full_job(tmp_path)
    given = sorted(tmp_path.iterdir())
    opens.clear()
    ran = covetime(args[0], str(job), *args[1:])
    assert ran.returncode == 0, ran.stderr
    read = Counter(f for f in opens if Path(f) in given)
    assert read[str(job)] == 1
    assert set(read.values()) == {1}
    assert len(read) == (1 if args[0] == "opening" else len(given))
