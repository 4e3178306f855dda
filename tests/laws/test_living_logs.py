"""Whatever is logged, what is left is planned, and the judge agrees.

Tests of planner/usecases/living/revise.py, planner/living/went.py,
planner/planning/begun/past.py, planner/planning/begun/finding.py,
planner/judge/asked.py.
"""

from datetime import timedelta
from random import Random

import pytest

from tests.support.living import HOUR, Begun, begun

SEEDS = [
    3,
    *(pytest.param(n, marks=pytest.mark.slow) for n in range(4, 24)),
]


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return begun(tmp_path_factory.mktemp("logs"))


def random_log(job: Begun, seed: int):
    """Return a moment and events up to it: late, early, wet, dry, stopped, away."""
    r = Random(seed)
    tasks = sorted(job.plan.tasks, key=lambda t: t.start)
    last = r.choice(tasks)
    now = last.start + r.random() * 20 * HOUR
    people = [p.id for p in job.plan.crew]
    events = []
    for task in tasks:
        name = job.plan.short_id(task.id)
        end = task.end + timedelta(minutes=r.choice((0, 0, -40, 7, 55, 400)))
        if r.random() < 0.5 and task.start < end <= now:
            by = (r.choice(people),) if r.random() < 0.3 else ()
            events.append(job.event("done", name, end, by=by))
            if task.product and r.random() < 0.5:
                look = end + r.random() * 30 * HOUR
                if look <= now:
                    events.append(job.event(r.choice(("dry", "wet")), name, look))
        elif r.random() < 0.3 and task.start <= now:
            events.append(job.event("begun", name, task.start))
            if r.random() < 0.5:
                left = r.choice((None, 0.5, 3.0))
                events.append(job.event("stopped", name, now, left_h=left))
    for what, share in (("away", 0.4), ("quiet", 0.2), ("booked", 0.2)):
        if r.random() < share:
            start = now + r.random() * 100 * HOUR
            about = r.choice(people) if what == "away" else ""
            until = start + r.choice((3, 9, 30)) * HOUR
            events.append(job.event(what, about, now, start=start, until=until))
    if r.random() < 0.3:
        events.append(job.event("air", "", now, air_c=16.0, humidity_pct=65.0))
    return now, events


@pytest.mark.parametrize("seed", SEEDS)
def test_any_log_leads_to_a_judged_plan(job, seed):
    """The judge passes each plan before it is returned; a fault would be raised."""
    now, events = random_log(job, seed)
    found = job.revised(now, *events)
    happened = {t.id: t.happened for t in found.after.tasks if t.happened}
    to_come = [t for t in found.after.tasks if not t.happened]
    assert all(t.start >= found.revision.now for t in to_come)
    assert all(happened[e.about] == "done" for e in events if e.what == "done")
