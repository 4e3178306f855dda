"""Modules that stand set and not yet fastened: nobody works beside them.

That what can fall is fastened or the place kept clear: common practice, no source.

Tests of planner/trade/phases/fixing.py, planner/trade/phases/modules.py.
"""

import pytest

from planner.files.job.jobfile import read_job
from planner.trade.data import materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from tests.random_jobs.jobs import made_job

SETTING = ("set", "set-corner")


def after(w) -> dict[str, set[str]]:
    """Return all tasks that the links put after each task, near and far."""
    direct: dict[str, set[str]] = {t.id: set() for t in w.tasks}
    for link in w.links:
        direct[link.before].add(link.after)
    out: dict[str, set[str]] = {}

    def gather(task: str) -> set[str]:
        if task not in out:
            out[task] = set().union(*({n} | gather(n) for n in direct[task]))
        return out[task]

    for task in direct:
        gather(task)
    return out


def test_whatever_the_room_nothing_but_setting_and_fastening_lies_beside_them(tmp_path):
    cornered = 0
    for seed in range(60):
        made = made_job(seed)
        if made.fault:
            continue
        job = read_job(made.write(tmp_path))
        ids = tuple(r.id for r in job.stage.runs)
        room = take_off(job, ids=ids)
        w = work(job, room, materials.merged(job.products))
        later = after(w)
        cornered += bool(job.stage.corners)
        for bay in room.built:
            near = {bay.id, *bay.beside}
            (placed,) = (
                t.id for t in w.tasks if t.phase in SETTING and t.bays == (bay.id,)
            )
            (fasten,) = (
                t.id for t in w.tasks if t.phase == "fasten" and t.bays == (bay.id,)
            )
            for task in w.tasks:
                if not task.on_stage or not near & set(task.bays):
                    continue
                if task.phase in (*SETTING, "fasten") or len(task.bays) > 1:
                    continue
                settled = placed in later[task.id] or task.id in later[fasten]
                assert settled, (seed, placed, task.id)
    assert cornered > 10


@pytest.mark.parametrize("phase", ["prime", "colour"])
def test_what_covers_several_bays_comes_after_all_is_fastened(tmp_path, phase):
    job = read_job(made_job(3, small=True).write(tmp_path))
    ids = tuple(r.id for r in job.stage.runs)
    w = work(job, take_off(job, ids=ids), materials.merged(job.products))
    later = after(w)
    fastened = [t.id for t in w.tasks if t.phase == "fasten"]
    for task in w.tasks:
        if task.phase == phase:
            assert all(task.id in later[f] for f in fastened)
