"""What random jobs found, each in the smallest job that shows it.

Tests of planner/planning/make.py, planner/usecases/plan.py, planner/usecases/read.py.
"""

import re
from datetime import date

import pytest

from planner.judge import judged
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from tests.random_jobs.calendars import holidays_on
from tests.random_jobs.jobs import made_job
from tests.random_jobs.refusals import faults_of, held_by
from tests.support.command import covetime
from tests.support.judge import case_of
from tests.support.schedule import block, instance, person, task
from tests.support.values import STRAIGHT, changed, job_file

SOON = 0.02  # of the usual work


def planned(tmp_path, *changes: tuple[str, str]) -> tuple[Inputs, Plan]:
    return case_of(job_file(tmp_path, changed(STRAIGHT, *changes)), SOON)


def in_shifts(lines: list[str]) -> tuple[tuple[str, str], ...]:
    """Return the changes by which both of the crew keep these shifts."""
    listed = f"shifts = {lines}".replace("'", '"')
    return (
        (
            '["carpenter", "finisher", "painter"]',
            f'["carpenter", "finisher"]\n{listed}',
        ),
        ('["labourer", "painter"]', f'["labourer", "painter"]\n{listed}'),
        ('length = "5 m"', 'length = "2.5 m"'),
    )


@pytest.mark.parametrize(
    "shifts",
    [
        ["Mon-Fri 06:00-11:00", "Mon-Fri 18:00-23:00"],
        ["Mon-Thu 18:00-22:00", "Tue-Fri 05:00-09:00"],
    ],
)
@pytest.mark.slow
def test_shifts_that_stay_out_for_a_rest_are_no_idling(shifts, tmp_path):
    """Seven hours lie between two shifts, 11 are needed: every other one stays out."""
    inputs, plan = planned(tmp_path, *in_shifts(shifts))
    assert judged(inputs, plan) == ()
    assert all(
        (b - a).total_seconds() >= 11 * 3600 for c in plan.crew for a, b in c.rests
    )
    assert any(c.rests for c in plan.crew)


@pytest.mark.parametrize(
    ("lines", "shift"),
    [
        pytest.param(
            ["Mon-Fri 08:00-12:00", "Mon-Fri 13:00-17:00"],
            "08:00-12:00 13:00-17:00",
            marks=pytest.mark.slow,
        ),
        (["Mon-Fri 07:00-11:00", "Mon-Fri 15:00-19:00"], "07:00-11:00 15:00-19:00"),
        pytest.param(
            ["Mon-Fri 20:00-24:00", "Tue-Sat 00:30-05:00"],
            "20:00-24:00 00:30-05:00",
            marks=pytest.mark.slow,
        ),
    ],
)
def test_a_shift_on_two_lines_is_the_shift_on_one(lines, shift, tmp_path):
    inputs, plan = planned(tmp_path, *in_shifts(lines))
    _, same = planned(tmp_path, *in_shifts([f"Mon-Fri {shift}"]))
    assert judged(inputs, plan) == ()
    assert plan.tasks == same.tasks
    assert plan.crew == same.crew
    assert not any(c.rests for c in plan.crew)


@pytest.mark.slow
def test_no_night_shift_reaches_in_from_a_holiday_before_the_first_day(tmp_path):
    """The job begins on Mon 8 Feb 2027; the Sunday is off, and so is its night."""
    (tmp_path / "off.ics").write_bytes(holidays_on(date(2027, 2, 7)))
    nights = 'shifts = ["Mon-Sun 20:00-24:00 00:30-05:00"]'
    inputs, plan = planned(
        tmp_path,
        ("[[stage.run]]", 'holidays = ["off.ics"]\n[[stage.run]]'),
        (
            '["carpenter", "finisher", "painter"]',
            f'["carpenter", "finisher"]\n{nights}',
        ),
        ('["labourer", "painter"]', f'["labourer", "painter"]\n{nights}'),
        ('length = "5 m"', 'length = "2.5 m"'),
    )
    first = min(t.start for t in plan.tasks).astimezone(inputs.job.zone)
    assert (first.day, first.hour) == (8, 20)


ROOM = """
[air.room]
volume = "150 m3"
heat = [{ to = "19 C" }]
[air.outside]
temperature = "5 C"
humidity = "70 %"
"""


def test_a_cut_of_just_the_least_width_is_one_cut_to_planner_and_judge(tmp_path):
    """8 ft 1 in are two modules of 4 ft and the inch that the kit allows to be cut."""
    inputs, plan = planned(
        tmp_path,
        ('"5 m"', '"8 ft 1 in"'),
        ('"1219.2 mm"\nradius', '"4 ft"\nleast_cut = "1 in"\nradius'),
    )
    assert judged(inputs, plan) == ()
    cut = next(t for t in plan.tasks if t.phase == "cut")
    assert cut.quantity == "1 module"


@pytest.mark.slow
def test_a_coat_in_a_stack_is_refused_for_the_limits_that_it_breaks_until_all_is_dry(
    tmp_path,
):
    """Seed 491: by itself the coat kept its limits, and nothing was named."""
    path = made_job(491).write(tmp_path)
    ran = covetime("plan", str(path), "--work-limit", "0.02")
    assert ran.returncode == 1, ran.stderr
    said = [x for x in ran.stderr.splitlines() if "gives off" in x]
    assert any("Setting compound" in x for x in said)
    assert all(
        re.search(r"it lies \d.* h without .* before it is dry$", x) for x in said
    )
    assert faults_of(path)[0] == []


def test_what_a_coats_own_water_rules_out_holds_in_the_hours_that_it_is_laid_in():
    """It is worked out in these hours alone, so they stay when other facts are lifted."""
    problem = instance(
        task("coat", 2, "ana", no_work=(block("quiet:x", (0, 4)),)),
        people=(person("ana", (2, 10), fact="person:ana"),),
    )
    assert held_by(problem, {"booking:x", "own-damp:coat"}) == {"person:ana", "quiet:x"}
    assert held_by(problem, {"booking:x"}) == set()
