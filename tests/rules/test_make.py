"""From inputs to a plan: grids that grow, limits never kept, nobody for the work.

Tests of planner/planning/answering.py, planner/planning/horizons.py,
planner/planning/make.py, planner/planning/refusals/no_plan.py,
planner/planning/refusals/unmanned.py, planner/planning/searching.py.
"""

from dataclasses import replace

import numpy as np
import pytest

from planner.errors import NoPlanError, ProgramFaultError
from planner.hours.spans import Spans
from planner.nouns.case import Case, ClosureWindow, SettledTask
from planner.nouns.inputs import Inputs
from planner.planning import make, posing
from planner.planning.answer import checked
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.make import worded
from planner.planning.posing import problem_of
from planner.planning.problem import Problem
from planner.planning.refusals.air_limits import never_kept
from planner.planning.refusals.no_plan import no_plan
from planner.planning.refusals.unmanned import refuse_unmanned, unmanned
from planner.planning.searching import Search
from planner.schedule.check.verify import values
from planner.schedule.climb.solve import solve
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import Placement, Planned
from planner.usecases.read import read_inputs
from tests.support.finished import plan_of
from tests.support.full import built, full_job
from tests.support.ics import HALIFAX, calendar, event, local, put
from tests.support.odds import kept_always
from tests.support.values import STRAIGHT, changed, job_file

DAY = 96


@pytest.fixture(scope="module")
def inputs(tmp_path_factory) -> Inputs:
    return read_inputs(full_job(tmp_path_factory.mktemp("job")))


@pytest.mark.slow
def test_a_job_whose_stage_is_booked_for_six_weeks_is_planned_in_thirteen(tmp_path):
    booked = event("DTSTART;VALUE=DATE:20270208", "DTEND;VALUE=DATE:20270323")
    put(tmp_path, calendar(booked), "stage.ics")
    text = changed(STRAIGHT, ("[stage]", '[stage]\nbookings = ["stage.ics"]'))
    plan = plan_of(job_file(tmp_path, text))
    # Tuesday 23 March is the first day after it
    assert plan.stage.closure[0] >= local(HALIFAX, 2027, 3, 23)
    assert plan.grid_ticks * plan.tick_minutes == 13 * 7 * 24 * 60 - 60  # an hour lost
    assert HORIZON_WEEKS[:2] == (6, 13)


# ---------------------------------------------------------------- limits never kept


def test_limits_that_no_hour_keeps_are_told(inputs):
    assert never_kept(built(inputs, 20.0)) == ()
    cold = never_kept(built(inputs, 8.0))
    assert cold.count("limits:topping") == 1
    assert len(cold) == len(set(cold)) > 1
    error = no_plan(inputs, built(inputs, 8.0), Search(limits=SearchLimits()))
    assert isinstance(error, NoPlanError)
    assert all(words.startswith("no hour keeps ") for words in error.conflict)
    assert "within 53 weeks of 2027-02-08" in error.message


@pytest.mark.parametrize(
    ("search", "shown"),
    [
        (Search(limits=SearchLimits()), True),
        (Search(limits=SearchLimits(clock_s=0.0)), False),
        (Search(limits=SearchLimits(), stop=lambda: True), False),
    ],
)
def test_a_clash_cut_short_says_that_it_blames_perhaps_the_innocent(
    tmp_path, search, shown
):
    # a booking each week leaves no gap; the hours of Ana and Bo have no part in it
    booked = event(
        "DTSTART;VALUE=DATE:20270212", "DTEND;VALUE=DATE:20270213", "RRULE:FREQ=WEEKLY"
    )
    put(tmp_path, calendar(booked), "stage.ics")
    text = changed(STRAIGHT, ("[stage]", '[stage]\nbookings = ["stage.ics"]'))
    inputs = read_inputs(job_file(tmp_path, text))
    error = no_plan(inputs, problem_of(inputs, weeks=13), search)
    lines = "\n".join(error.lines())
    assert ("hours of Ana" in lines) is not shown
    assert ("perhaps in conflict: the open hours of Ana" in lines) is not shown
    assert ("it is certain that there is no plan" in lines) is not shown
    assert ("  in conflict: booking" in lines) is shown


@pytest.mark.parametrize(("hours", "kept"), [(27.5, False), (27.75, True)])
def test_a_limit_must_be_kept_from_a_coats_start_until_it_is_dry(inputs, hours, kept):
    """0.8 h of topping take two of them, at 0.95 each, half an hour, after setting up.

    That takes half an hour too. It then dries for 26.75 h at 70 °F and 50 %: 17 h on
    board, 1.25 times on the modules, a quarter more, up to the tick: 27.75 h together.
    """
    air_c = np.full(14 * DAY, 8.0)
    air_c[300 : 300 + round(hours * 4)] = (70 - 32) / 1.8
    never = never_kept(built(inputs, air_c))
    assert ("limits:topping" in never) != kept


# ------------------------------------------------------------- checked before it leaves


@pytest.fixture(scope="module")
def problem(inputs) -> Problem:
    return problem_of(inputs, weeks=6)


@pytest.fixture(scope="module")
def found(problem) -> Planned:
    outcome = solve(problem.instance, limits=SearchLimits(work=0.1), explain=False)
    assert isinstance(outcome, Planned)
    return outcome


def a_day_early(found: Planned, task: str) -> tuple[Placement, ...]:
    """Return the placements with a task moved by a day."""
    return tuple(
        replace(
            p,
            start=p.start - DAY,
            end=p.end - DAY,
            worked=Spans.of((a - DAY, b - DAY) for a, b in p.worked),
        )
        if p.task == task
        else p
        for p in found.placements
    )


def test_a_plan_that_breaks_a_rule_never_leaves(problem, found):
    """Its aims come to just what is said of them, so that only the rule tells."""
    moved = a_day_early(found, "handover")
    counted = values(problem.instance, moved)
    aims = tuple(replace(a, value=counted[a.aim]) for a in found.aims)
    with pytest.raises(ProgramFaultError) as fault:
        checked(problem, replace(found, placements=moved, aims=aims), fingerprint="f")
    assert any("handover" in words for words in fault.value.found)


def test_a_plan_that_the_judge_finds_fault_with_never_leaves(
    inputs, problem, found, monkeypatch
):
    asked = Case(
        inputs=inputs,
        window=ClosureWindow(not_after=problem.grid.instant(problem.grid.ticks)),
        settled=(SettledTask(task="handover"),),
    )
    answer = checked(problem, found, fingerprint=asked.fingerprint)

    def judged(facts, plan, *, window, settled, past):
        assert facts.fingerprint == plan.fingerprint == asked.fingerprint
        assert (window, settled, past) == (asked.window, asked.settled, asked.past)
        return ("a fault",)

    monkeypatch.setattr(make, "judged", judged)
    with pytest.raises(ProgramFaultError, match="isn't what the job asks for") as fault:
        worded(asked, answer, kept_always(inputs, answer), program="a program")
    assert fault.value.found == ("a fault",)


def test_a_plan_says_who_made_it_of_what_with_all_remarks(inputs, problem, found):
    answer = checked(problem, found, fingerprint=inputs.fingerprint)
    remarked = replace(inputs, remarks=("one remark", "another"))
    said = worded(
        Case(inputs=remarked), answer, kept_always(inputs, answer), program="a program"
    )
    assert said.program == "a program"
    assert said.remarks[:2] == ("one remark", "another")
    assert said.fingerprint == inputs.fingerprint


def test_an_aim_that_comes_to_less_than_the_engine_says_never_leaves(problem, found):
    for number, aim in enumerate(found.aims):
        better = replace(aim, value=aim.value - 1, bound=aim.value - 1)
        aims = (*found.aims[:number], better, *found.aims[number + 1 :])
        with pytest.raises(ProgramFaultError) as fault:
            checked(problem, replace(found, aims=aims), fingerprint="f")
        said = f"{aim.aim} is {aim.value}, not {aim.value - 1}"
        assert fault.value.found == (said,)


@pytest.mark.parametrize("rounds", [0, 2])
def test_an_answers_problem_is_posed_again_in_the_air_of_its_coats(
    inputs, problem, found, monkeypatch, rounds
):
    answer = checked(problem, found, fingerprint=inputs.fingerprint, rounds=rounds)
    posed_for = []

    def posed(_case, *, weeks, coats=()):
        posed_for.append((weeks, coats))
        return problem

    def coats_of(work, products, placements):
        assert (work, products) == (problem.work, problem.products)
        return placements

    monkeypatch.setattr(posing, "posed", posed)
    monkeypatch.setattr(posing, "coats_of", coats_of)
    assert posing.answered(Case(inputs=inputs), answer) is problem
    again = [(6, answer.placements)] if rounds else []
    assert posed_for == [(6, ()), *again]


def test_an_answer_to_another_case_is_not_worded(inputs, problem, found):
    answer = checked(problem, found, fingerprint="of another one")
    with pytest.raises(ValueError, match="another case"):
        worded(
            Case(inputs=inputs),
            answer,
            kept_always(inputs, answer),
            program="a program",
        )


# ---------------------------------------------------------------- nobody for the work


def test_work_without_a_lead_or_with_too_few_is_told_by_its_title(inputs):
    problem = built(inputs, 20.0)
    assert unmanned(problem) == ()
    refuse_unmanned(problem, lambda: problem)
    alone = built(inputs, 20.0, crew=inputs.job.crew[:1])
    # the crates and the modules need two
    titles = {t.id: t.title for t in alone.work.tasks}
    found = unmanned(alone)
    assert found == ("intake", "join.wall", "set.wall")
    with pytest.raises(NoPlanError, match="has nobody") as error:
        refuse_unmanned(alone, lambda: alone)
    words = " ".join(error.value.conflict)
    assert all(f'"{titles[i]}"' in words for i in found)
    assert "in a team of 2; the crew has fewer for it" in words


def test_a_problem_is_posed_for_whole_weeks_from_the_earliest_day(inputs):
    for weeks in (1, 6):
        problem = problem_of(inputs, weeks=weeks)
        days = problem.grid.days()
        assert len(days) == 7 * weeks
        assert days[0][0].isoformat() == "2027-02-08"
