"""Latest times and fumes: recoat windows, batches used up in time, air that clears.

Tests of planner/air/limits.py, planner/air/waits.py, planner/planning/inside.py,
planner/planning/problem.py, planner/trade/work.py.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from planner.air.waits import hours_at, likely_ticks, ready_ticks
from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.nouns.ids import bare
from planner.nouns.product import CLEARED, Air
from planner.nouns.work import Pace, ReturnKind
from planner.trade.data import materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from planner.usecases.check import read_problem
from tests.support.finished import plan_of
from tests.support.values import STRAIGHT, changed, job_file

PRIMED = changed(STRAIGHT, ("[stage]", '[methods]\nprimer = "mine"\n[stage]'))
OWN = """
[[product]]
id = "mine"
like = "{like}"
recoat = "10 h"
at = "25 C"
cover_within = "{within}"
sheet = "a data sheet of our own"
"""


def planned(tmp_path, *, within: str, like: str = "solvent-primer"):
    text = PRIMED + OWN.format(like=like, within=within)
    return plan_of(job_file(tmp_path, text))


def air(*, changes: float | None, ticks: int = 4 * 24 * 20, temp_c: float = 20.0):
    return Air(
        tick_minutes=15,
        air_c=np.full(ticks, temp_c),
        humidity_pct=np.full(ticks, 50.0),
        changes_per_h=None if changes is None else np.full(ticks, changes),
    )


def stage_of(product: str, stage: str):
    return next(s for s in materials.product(product).stages if s.stage == stage)


# ---------------------------------------------------------------- windows


def test_a_window_long_enough_is_kept_and_nothing_is_sanded_again(tmp_path):
    plan = planned(tmp_path, within="200 h")
    assert not [t for t in plan.tasks if t.phase == "sand-again"]
    painted = [w for w in plan.windows if bare(w.before) != "bed.wall"]
    assert [w.sanded_again for w in painted] == [None, None]
    for w in plan.windows:
        assert w.closes is None or plan.task(w.after).start <= w.closes


def test_a_window_that_closes_before_the_fumes_clear_brings_sanding_again(tmp_path):
    # 11 h at 25 °C are 15.6 h at 20 °C (2^0.5); the coat recoats after 14.1 h and 3.5 h
    # of margin, so the second coat comes too late even without a night between.
    plan = planned(tmp_path, within="11 h")
    painted = [w for w in plan.windows if bare(w.before) != "bed.wall"]
    again = {bare(w.before): bare(w.sanded_again or "") for w in painted}
    assert again == {"prime-1": "sand-again-1", "prime-2": "sand-again-2"}
    for w in painted:
        sanded = plan.task(w.sanded_again or "")
        assert plan.task(w.before).end < sanded.start
        assert sanded.end <= plan.task(w.after).start
        assert w.closes is not None
        assert w.closes < plan.task(w.after).start


@pytest.mark.slow
def test_a_window_that_is_just_long_enough_is_kept(tmp_path):
    """The window between two coats, given exactly, suffices; a tick less doesn't."""
    plan = planned(tmp_path, within="200 h", like="water-primer")
    first = next(w for w in plan.windows if w.before == plan.task("prime-1").id)
    gap = plan.task(first.after).start - plan.task(first.before).end
    gap_h = gap.total_seconds() / 3600
    just = planned(tmp_path, within=f"{gap_h} h", like="water-primer")
    kept = next(w for w in just.windows if w.before == just.task("prime-1").id)
    assert kept.sanded_again is None
    assert (
        just.stage.returning(ReturnKind.FULL_SERVICE).when
        == plan.stage.returning(ReturnKind.FULL_SERVICE).when
    )


def test_a_window_no_longer_than_the_wait_is_refused(tmp_path):
    text = PRIMED + OWN.format(like="solvent-primer", within="10 h")
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, text))
    assert "cover_within" in str(caught.value.faults[0].message)


# ------------------------------------------------------------------ fumes


def test_fumes_clear_after_the_coat_has_dried_and_three_air_changes():
    # ASTM E741, tracer decay: a twentieth is left after -ln(0.05) = 3.00 air changes
    clear, recoat = (stage_of("solvent-primer", s) for s in (CLEARED, "recoat"))
    room = air(changes=2.0)
    likely = likely_ticks(clear, room)
    dry = likely_ticks(recoat, room)
    six_quarters = math.ceil(-math.log(0.05) / 2.0 * 4)
    within = dry + six_quarters <= len(room)
    assert (likely[within] == dry[within] + six_quarters).all()
    assert within.sum() > 500


def test_air_that_never_changes_never_clears():
    room = air(changes=0.0)
    assert (
        ready_ticks(stage_of("solvent-primer", CLEARED), room) == len(room) + 1
    ).all()


@pytest.mark.parametrize(("fewer", "more"), [(0.1, 0.3), (0.3, 1.0), (1.0, 8.0)])
def test_more_air_changes_clear_sooner(fewer, more):
    clear = stage_of("solvent-primer", CLEARED)
    slow, quick = (ready_ticks(clear, air(changes=n)) for n in (fewer, more))
    assert (quick <= slow).all()
    assert (quick < slow)[:500].all()


def test_likely_is_never_after_planned_and_neither_goes_backwards():
    room = air(changes=0.5)
    clear = stage_of("solvent-primer", CLEARED)
    likely, planned = (
        likely_ticks(clear, room),
        ready_ticks(clear, room, margin_frac=0.25),
    )
    assert (planned >= likely).all()
    assert (np.diff(likely) >= 0).all()
    assert (np.diff(planned) >= 0).all()


def test_the_hours_in_constant_air_hold_the_drying_before():
    # 16 h at 25 °C double each 10 °C: 22.63 h at 20 °C; then 3.00/0.3 = 9.99 h
    hours = hours_at(stage_of("solvent-primer", CLEARED), 20.0, 50.0)
    assert hours == pytest.approx(22.627 + 9.986, abs=0.002)


def test_nobody_but_the_painters_is_in_the_room_until_the_fumes_have_cleared(tmp_path):
    text = changed(
        STRAIGHT, ("[stage]", '[methods]\nprimer = "solvent-primer"\n[stage]')
    )
    plan = plan_of(job_file(tmp_path, text))
    clears = {w.task: w.ready for w in plan.waits if w.stage == CLEARED}
    coats = [t for t in plan.tasks if t.fumes]
    assert len(coats) == 2
    for coat in coats:
        for other in plan.tasks:
            if other.on_stage and other not in coats:
                cleared = clears.get(coat.id, clears[plan.task("prime-2").id])
                assert other.end <= coat.start or other.start >= cleared


@pytest.mark.slow
def test_ventilation_brings_the_return_forward(tmp_path):
    returns = []
    for changes in (0.5, 6):
        text = changed(
            STRAIGHT,
            (
                "[stage]",
                '[methods]\nprimer = "solvent-primer"\n[air.room]\nvolume = "200 m3"\n'
                f"[[air.room.heat]]\nto = '20 C'\n"
                f"[[air.room.ventilation]]\nchanges_per_hour = {changes}\n[stage]",
            ),
            # long days, so that hours which the fumes take less aren't lost in a night;
            # and wide ticks, as courses over long days with short rests are many
            ("earliest", 'tick = "60 min"\nearliest'),
            ('name = "Ana"', 'name = "Ana"\nshifts = ["Mon-Sun 06:00-22:00"]'),
            ('name = "Bo"', 'name = "Bo"\nshifts = ["Mon-Sun 06:00-22:00"]'),
        )
        plan = plan_of(job_file(tmp_path, text), 0.2)
        returns.append(plan.stage.returning(ReturnKind.FULL_SERVICE).when)
    assert returns[1] < returns[0]


# ---------------------------------------------------------------- batches


def coat(tmp_path, usable_h: float | None, length: str = "5 m"):
    text = changed(STRAIGHT, ('length = "5 m"', f'length = "{length}"'))
    job = read_job(job_file(tmp_path, text))
    made = work(
        job,
        take_off(job, ids=("wall",)),
        materials.load(),
        {} if usable_h is None else {"setting-90": usable_h},
    )
    return next(t for t in made.tasks if t.phase == "setting-coat")


def test_a_coat_is_worked_in_batches_that_are_used_up_in_time(tmp_path):
    # what never runs out is ready mixed: nobody mixes it
    laying_h = coat(tmp_path, None).person_hours
    for usable_h in (0.2, 0.5, 1.0):
        batches = math.ceil(laying_h / usable_h)
        task = coat(tmp_path, usable_h)
        assert task.person_hours == pytest.approx(laying_h + 0.15 * batches)
        said = "one batch" if batches == 1 else f"{batches} batches"
        assert said in task.how


def test_a_coat_of_one_batch_is_laid_in_one_go(tmp_path):
    assert coat(tmp_path, 0.2).pace is Pace.PAUSABLE
    assert coat(tmp_path, 8.0).pace is Pace.ONE_GO


def test_a_warmer_room_shortens_the_batches_and_so_lengthens_the_work(tmp_path):
    def hours(temperature: str) -> float:
        text = changed(
            STRAIGHT,
            ("[stage]", f'[air]\ntemperature = "{temperature}"\n[stage]'),
            ('"5 m"', '"3 m"'),
        )
        _, problem = read_problem(job_file(tmp_path, text))
        return sum(
            t.person_hours for t in problem.work.tasks if t.phase == "setting-coat"
        )

    assert hours("34 C") > hours("14 C")


def test_the_hours_usable_are_those_of_the_warmest_air():
    from planner.planning.inside import usable_h

    product = materials.product("setting-90")
    mixed = air(changes=None, ticks=96)
    warm = replace(mixed, air_c=np.where(np.arange(96) < 4, 30.0, 15.0))
    # class of 60 min in the pan at 75 °F (23.9 °C), 15 % less for each 20 °F of warmth
    expected = 60 / 60 * 1.15 ** ((23.889 - 30.0) / 11.111)
    assert usable_h({"setting-90": product}, warm)["setting-90"] == pytest.approx(
        expected, abs=1e-3
    )
