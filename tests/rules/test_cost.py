"""What a plan costs: shifts are paid from the first work to the last, breaks apart.

Tests of planner/planning/cost.py, planner/planning/wording/account.py.
"""

from pathlib import Path

import pytest

from planner.hours.spans import Spans
from planner.planning.cost import cost_of, paid_times
from planner.planning.problem import Problem
from planner.planning.wording.account import crew_of
from planner.schedule.problem.outcome import Placement
from planner.usecases.check import read_problem
from tests.support.values import STRAIGHT, changed, job_file

RATES = ("[[crew]]\nname = \"Ana\"", '[rates]\ncurrency = "CAD"\nlabour_per_hour = 40\n\n[[crew]]\nname = "Ana"')  # fmt: skip
HOUR = 4  # ticks; the grid begins on Mon 8 Feb at midnight
DAY = 24 * HOUR


def problem(folder: Path, *pairs: tuple[str, str]) -> Problem:
    return read_problem(job_file(folder, changed(STRAIGHT, RATES, *pairs)))[1]


def at(task: str, *hours: tuple[float, float], day: int = 0) -> Placement:
    """Return work of Ana's at hours of a day."""
    worked = Spans.of(
        (day * DAY + round(a * HOUR), day * DAY + round(b * HOUR)) for a, b in hours
    )
    return Placement(
        task=task,
        team=("ana",),
        start=worked.items[0][0],
        end=worked.items[-1][1],
        worked=worked,
    )


def paid(found: Problem, *placed: Placement) -> tuple[float, float, float | None]:
    """Return Ana's hours at work, her idle hours, and what labour costs."""
    where = {p.task: p for p in placed}
    crew = crew_of(found, where)
    cost = cost_of(found, (0, DAY), paid_times(found, where))
    return crew[0].worked_min / 60, crew[0].idle_min / 60, cost.labour


def test_a_gap_between_two_tasks_is_paid_and_the_break_in_it_is_not(tmp_path):
    # 8-10 and 14-17 of a shift 8-12, 13-17: 5 h at work, 10-12 and 13-14 idle
    found = paid(problem(tmp_path), at("count", (8, 10)), at("mark.wall", (14, 17)))
    assert found == (5, 3, 8 * 40)


def test_work_without_a_gap_and_before_or_after_the_shift_costs_no_more(tmp_path):
    # 9-12 and 13-15: nothing before 9, nothing after 15, the break is her own
    assert paid(problem(tmp_path), at("count", (9, 12), (13, 15))) == (5, 0, 5 * 40)


def test_the_night_between_two_shifts_is_not_paid(tmp_path):
    placed = (at("count", (15, 17)), at("mark.wall", (8, 9), day=1))
    assert paid(problem(tmp_path), *placed) == (3, 0, 3 * 40)


def test_what_a_persons_calendar_takes_out_of_a_gap_is_not_paid(tmp_path):
    (tmp_path / "ana.ics").write_text(
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nBEGIN:VEVENT\r\n"
        "UID:dentist\r\nDTSTAMP:20270101T000000Z\r\nSUMMARY:Dentist\r\n"
        "DTSTART;TZID=America/Halifax:20270208T100000\r\n"
        "DTEND;TZID=America/Halifax:20270208T110000\r\n"
        "END:VEVENT\r\nEND:VCALENDAR\r\n",
        newline="",
    )
    own = ('name = "Ana"', 'name = "Ana"\ncalendar = "ana.ics"')
    # 8-10 and 14-17, away 10-11: idle 11-12 and 13-14
    placed = (at("count", (8, 10)), at("mark.wall", (14, 17)))
    assert paid(problem(tmp_path, own), *placed) == (5, 2, 7 * 40)


def test_a_person_without_a_rate_leaves_labour_unknown(tmp_path):
    job = job_file(
        tmp_path, changed(STRAIGHT, ('name = "Bo"', 'name = "Bo"\nrate = 9'))
    )
    found = read_problem(job)[1]
    times = paid_times(found, {"count": at("count", (8, 10))})
    cost = cost_of(found, (0, DAY), times)
    assert (cost.labour, cost.labour_idle) == (None, None)


@pytest.mark.parametrize("rate", [30, 50])
def test_a_persons_own_rate_comes_first(tmp_path, rate):
    own = ('name = "Ana"', f'name = "Ana"\nrate = {rate}')
    found = paid(problem(tmp_path, own), at("count", (8, 9)), at("mark.wall", (10, 11)))
    assert found == (2, 1, 3 * rate)


@pytest.mark.parametrize(
    ("span", "days"),
    [
        ((HOUR, 5 * HOUR), 1),
        ((0, DAY), 1),
        ((0, DAY + 1), 2),
        ((DAY - 1, DAY), 1),
        ((DAY - 1, 3 * DAY), 3),
    ],
)
def test_each_day_that_the_closure_touches_is_paid_whole(tmp_path, span, days):
    priced = (
        "[rates]\n",
        "[rates]\nstage_per_day = 250\n",
    )
    found = problem(tmp_path, priced)
    cost = cost_of(found, span, paid_times(found, {}))
    assert (cost.stage, cost.currency) == (250 * days, "CAD")
    free = problem(tmp_path)
    assert cost_of(free, span, paid_times(free, {})).stage is None


def test_idle_hours_are_told_apart_from_all_that_labour_costs(tmp_path):
    found = problem(tmp_path)
    placed = {"count": at("count", (8, 10)), "mark.wall": at("mark.wall", (14, 17))}
    cost = cost_of(found, (0, DAY), paid_times(found, placed))
    assert (cost.labour, cost.labour_idle) == (8 * 40, 3 * 40)
