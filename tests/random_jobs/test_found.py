"""What random jobs found, each in the smallest job that shows it.

Tests of planner/planning/make.py, planner/usecases/plan.py, planner/usecases/read.py.
"""

from datetime import date, timedelta

import pytest

from planner.judge import judged
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.usecases.plan import Choices, plan_inputs
from planner.usecases.read import read_inputs
from tests.random_jobs.calendars import holidays_on
from tests.support.values import STRAIGHT, changed, job_file

SOON = Choices(work_limit=0.02)


def planned(tmp_path, *changes: tuple[str, str]) -> tuple[Inputs, Plan]:
    inputs = read_inputs(job_file(tmp_path, changed(STRAIGHT, *changes)))
    return inputs, plan_inputs(inputs, SOON)


HALVES = ("07:00-11:00", "15:00-19:00")


@pytest.mark.parametrize(
    "shifts",
    [
        [f"Mon-Fri {half}" for half in HALVES],
        ["Mon-Thu 20:00-24:00", "Tue-Fri 00:30-05:00"],
        pytest.param(
            [
                f"Mon-Fri {half}"
                for half in ("06:00-09:00", "10:00-13:00", "14:00-17:00")
            ],
            marks=pytest.mark.slow,
        ),
    ],
)
def test_shifts_that_stay_out_for_a_rest_are_no_idling(shifts, tmp_path):
    """A line is a shift, and 11 hours lie between two: every other one stays out."""
    listed = f"shifts = {shifts}".replace("'", '"')
    inputs, plan = planned(
        tmp_path,
        (
            '["carpenter", "finisher", "painter"]',
            f'["carpenter", "finisher"]\n{listed}',
        ),
        ('["labourer", "painter"]', f'["labourer", "painter"]\n{listed}'),
        ('length = "5 m"', 'length = "2.5 m"'),
    )
    assert judged(inputs, plan) == ()
    assert all(
        (b - a).total_seconds() >= 11 * 3600 for c in plan.crew for a, b in c.rests
    )
    assert any(c.rests for c in plan.crew)


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


def test_the_plan_holds_the_air_until_its_cautious_return(tmp_path):
    """After full service it gets damp, so the cautious return comes later still.

    In the last day before it over and over it would come sooner.
    """
    _, drier = planned(tmp_path, ("\n[stage]", f"{ROOM}\n[stage]"))
    back = drier.stage.returning(ReturnKind.FULL_SERVICE)
    rows = (back.when + timedelta(hours=n) for n in range(1, 200))
    readings = "\n".join(f"{t.isoformat()},12,92" for t in rows)
    (tmp_path / "air.csv").write_text(f"time,temp_C,rh_pct\n{readings}\n")
    read = f'\n[air]\nreadings = "air.csv"{ROOM}'
    _, damper = planned(tmp_path, ("\n[stage]", f"{read}\n[stage]"))
    later = damper.stage.returning(ReturnKind.FULL_SERVICE)
    assert later.cautious - later.when > back.cautious - back.when
    air = damper.stage.air
    lasts = timedelta(minutes=air.tick_minutes * len(air.air_c))
    assert air.start + lasts > later.cautious
