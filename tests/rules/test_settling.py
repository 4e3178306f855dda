"""Plan and air go round: wet work dampens the room, the room lengthens the waits."""

import pytest

from planner import app
from planner.plan import Plan
from planner.plans import make
from planner.plans.inside import coats_of, inside
from planner.plans.make import problem_of
from planner.schedule.limits import Limits
from planner.schedule.outcome import Planned
from planner.schedule.solve import solve
from planner.schedule.verify import verify
from tests.support import STRAIGHT, changed, job_file

SMALL_ROOM = "[air.room]\nvolume = '60 m3'\nleak_per_hour = 0.2\n"
DRIER = SMALL_ROOM + "[[air.room.dehumidifier]]\nrated = '40 l/day'\nset_to = '50 %'\n"


def planned(tmp_path, room: str):
    text = changed(STRAIGHT, ("[stage]", f"{room}[stage]"))
    path = job_file(tmp_path, text)
    return path, app.plan(path, app.Choices())


def drying_min(plan: Plan) -> float:
    waits = [w for w in plan.waits if w.stage == "dry"]
    return max((w.ready - w.begins).total_seconds() / 60 for w in waits)


@pytest.fixture(scope="module")
def plans(tmp_path_factory):
    return {
        name: planned(tmp_path_factory.mktemp(name), room)
        for name, room in (("none", ""), ("small", SMALL_ROOM), ("drier", DRIER))
    }


def test_wet_work_in_a_small_room_lengthens_its_own_waits(plans):
    assert drying_min(plans["small"][1]) > drying_min(plans["none"][1])
    full = [plans[n][1].returning("full service").when for n in ("small", "none")]
    assert full[0] >= full[1]


def test_a_dehumidifier_takes_the_wait_back(plans):
    assert drying_min(plans["drier"][1]) < drying_min(plans["small"][1])


def test_the_plan_says_that_it_holds_in_its_own_air_and_it_does(plans):
    path, plan = plans["small"]
    said = [r for r in plan.remarks if "wet work" in r or "did not settle" in r]
    assert len(said) == 1
    # worked out again from the written plan's own coats
    inputs = app.read(path)
    weeks = plan.grid_ticks * plan.tick_minutes // (60 * 24 * 7)
    bare = problem_of(inputs, weeks=weeks)
    grid = bare.grid
    placements = app.placements(plan, bare)
    coats = coats_of(bare.work, inputs.products, placements)
    own = problem_of(inputs, weeks=weeks, coats=coats)
    if "did not settle" not in said[0]:
        assert verify(own.instance, tuple(placements)) == ()
    # and all the water of the coats has left them by the end
    room = inside(inputs, grid, coats)
    assert room.given_off_kg.sum() == pytest.approx(
        sum(c.water_kg for c in coats), rel=1e-6
    )


def test_without_a_room_nothing_is_given_off(plans):
    inputs = app.read(plans["none"][0])
    problem = problem_of(inputs, weeks=6)
    found = solve(problem.instance, limits=Limits())
    assert isinstance(found, Planned)
    coats = coats_of(problem.work, inputs.products, found.placements)
    assert coats
    assert inside(inputs, problem.grid, coats).given_off_kg.sum() == 0.0


def test_rounds_are_bounded_and_the_damper_air_is_used_and_said(tmp_path, monkeypatch):
    monkeypatch.setattr(make, "ROUNDS", 1)
    monkeypatch.setattr(make, "_settled", lambda *_: False)
    _, plan = planned(tmp_path, SMALL_ROOM)
    assert any("did not settle in 1 rounds" in r for r in plan.remarks)
    assert any("damper of two" in words for words in plan.air.origin)
