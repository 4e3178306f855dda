"""All that the work of a job may say is said in every language, method by method.

The jobs are those of the random jobs, with rooms, methods and products of every kind;
none is planned.

Tests of planner/nouns/told/saying.py, planner/report/drawing/telling.py,
planner/trade/behind.py, planner/trade/lifting/lifters.py,
planner/trade/lifting/lifting.py, planner/trade/parts.py, planner/trade/phases/gates.py,
planner/trade/phases/modules.py, planner/trade/recipes/compound/coated.py.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from planner.files.job.jobfile import read_job
from planner.languages.catalogues import NAMES, language_of
from planner.languages.language import ENGLISH
from planner.nouns.job import Behind, Job, Shows
from planner.nouns.told.saying import each_once
from planner.nouns.work import Task, Work
from planner.report.drawing.telling import Telling
from planner.trade.behind import MADE_SAFE
from planner.trade.data import materials
from planner.trade.takeoff import TakeOff, take_off
from planner.trade.work import work
from tests.random_jobs.jobs import made_job

FEW, MANY = range(1, 9), range(9, 80)
ALIKE = re.compile(r"\d+ (joint|module|test)s?")  # French says these as English does


def jobs(folder: Path, seeds: range) -> Iterator[Job]:
    """Sound jobs, each with something behind a cove, a report and a joint that shows."""
    for seed in seeds:
        made = made_job(seed)
        if made.fault:
            continue
        here = folder / str(seed)
        here.mkdir()
        job = read_job(made.write(here))
        what = tuple(MADE_SAFE)[seed % len(MADE_SAFE)]
        run = job.stage.runs[0]
        behind = Behind(what=what, run=run.id, from_start_mm=500.0, height_mm=300.0)
        yield replace(
            job,
            stage=replace(job.stage, behind=(behind,)),
            survey=replace(job.survey, report="no. 12"),
            shows=(Shows(number=1, bay=run.id, before="wipe"),),
        )


@pytest.fixture(
    scope="module", params=[FEW, pytest.param(MANY, marks=pytest.mark.slow)], ids=str
)
def works(request, tmp_path_factory) -> list[tuple[Job, TakeOff, Work]]:
    """The whole work of each job; batches run out as they would."""
    out = []
    for job in jobs(tmp_path_factory.mktemp("jobs"), request.param):
        takeoff = take_off(job, ids=tuple(r.id for r in job.stage.runs))
        products = materials.merged(job.products)
        usable = dict.fromkeys(products, 0.5)
        out.append((job, takeoff, work(job, takeoff, products, usable)))
    return out


def texts_of(task: Task) -> Iterator[str]:
    yield from (task.title, task.how, task.quantity)
    yield from (*task.bring, *task.cautions, *task.lifts)


@pytest.mark.parametrize("tag", [t for t in NAMES if t != ENGLISH.tag])
def test_all_that_a_task_may_say_is_translated(works, tag):
    left, phases = set(), set()
    for job, takeoff, made in works:
        own = {c for p in job.products for c in (p.title, *p.cautions)}
        sayings = each_once(
            (
                *(b.named for b in takeoff.bays),
                *(s for t in made.tasks for s in t.sayings),
            )
        )
        tell = Telling(job.units, sayings, language_of(tag)).told
        for task in made.tasks:
            phases.add(task.phase)
            left |= {x for x in texts_of(task) if tell(x) == x and x not in own}
    assert {x for x in left if not ALIKE.fullmatch(x)} == set()
    assert len(phases) > 30  # it has looked


def test_english_says_each_saying_as_the_plan_has_it(works):
    """The sayings are the plan's own words, whatever they are put together of."""
    count = 0
    for job, _, made in works:
        for task in made.tasks:
            tell = Telling(job.units, each_once(task.sayings), ENGLISH).told
            assert [tell(x) for x in texts_of(task)] == list(texts_of(task))
            count += len(task.sayings)
    assert count > 1_000
