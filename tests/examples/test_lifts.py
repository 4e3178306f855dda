"""What is lifted, and by how many: the same in the opening, the plan and the sheets.

Tests of planner/report/days/text.py, planner/report/opening/sheet.py,
planner/trade/lifting/lifters.py, planner/trade/lifting/lifting.py,
planner/usecases/opening.py.
"""

import re

import pytest

from planner.errors import NoPlanError
from planner.files.job.jobfile import read_job
from planner.report.days.text import day_sheets_text
from planner.report.opening.sheet import opening_text
from planner.usecases.check import read_problem
from planner.usecases.opening import opening_of
from tests.support.finished import plan_of
from tests.support.rooms import ROOMS, Room
from tests.support.values import job_file

HELP = "".join(f'[[crew]]\nname = "{n}"\ntrades = ["labourer"]\n' for n in ("Cy", "Di"))
WAYS = ("by hand", "singly", "hoist")
COUNT = {"two": 2, "three": 3, "four": 4}
USUAL = ("one wall, metric, a gap at its end",)  # else on demand
CORNERED = [r for r in ROOMS if r.corners]


def words(text: str) -> str:
    """Return a text without its line breaks."""
    return " ".join(text.split())


def text_of(room: Room, lifting: str, *, crew: str = HELP) -> str:
    return (
        room.text.replace("[methods]\n", f'[methods]\nlifting = "{lifting}"\n') + crew
    )


@pytest.mark.parametrize(
    ("room", "lifting"),
    [
        pytest.param(
            *(room, WAYS[n % 3]),
            id=room.name,
            marks=[] if room.name in USUAL else [pytest.mark.slow],
        )
        for n, room in enumerate(ROOMS)
    ],
)
def test_a_lift_takes_as_many_people_wherever_it_is_said(tmp_path, room, lifting):
    path = job_file(tmp_path, text_of(room, lifting))
    plan = plan_of(path, 0.02)
    opening = words(opening_text(opening_of(read_job(path))))
    sheets = words(day_sheets_text(plan))
    said = {}  # by what is lifted, from the opening alone
    for what, mass, people in re.findall(
        r"\d+ x (.*?): ([\d.]+ (?:lb|kg) \([\d.]+ (?:kg|lb)\)); limit for one .*?: "
        r"(two|three|four|by hoist, two)",
        opening,
    ):
        said[f"{what}, {mass}"] = COUNT[people.split()[-1]]
    told = set()
    for task in plan.tasks:
        for lift in task.lifts:
            what, _, people = lift.rpartition(": ")
            told.add(what)
            assert said[what] == COUNT[people.removeprefix("by hoist, ").split()[0]]
            assert said[what] <= task.lifters <= len(task.team)
            assert f"lift: {lift}" in sheets
    assert told == set(said)
    assert any(t.phase == "set" and t.lifts for t in plan.tasks)


@pytest.mark.parametrize(
    "room",
    [
        pytest.param(r, id=r.name, marks=[pytest.mark.slow] if n else [])
        for n, r in enumerate(CORNERED)
    ],
)
def test_a_crew_too_small_is_told_so_with_a_way_out_that_is_one(tmp_path, room):
    path = job_file(tmp_path, text_of(room, "by hand", crew=""))
    by_hand = max(x.people or 9 for x in opening_of(read_job(path)).lifts)
    if by_hand <= 2:
        plan_of(path, 0.02)
        return
    with pytest.raises(NoPlanError) as told:
        plan_of(path, 0.02)
    assert "too few people for what is lifted" in told.value.message
    lifted = [c for c in told.value.conflict if " lifts " in c]
    assert lifted
    assert all("2 of the crew may do it (Ana, Bo)" in c for c in lifted)
    helps = [h for h in told.value.helps if h.startswith("[methods] lifting = ")]
    assert helps
    for one in helps:
        way = one.split('"')[1]
        other = job_file(tmp_path, text_of(room, way, crew=""))
        assert max(x.people or 9 for x in opening_of(read_job(other)).lifts) == 2


def test_uprights_that_go_up_singly_are_bolted_on_the_wall(tmp_path):
    room = next(r for r in ROOMS if r.name == "one corner, feet")
    tasks = {}
    for way in WAYS:
        job = job_file(tmp_path, text_of(room, way))
        tasks[way] = {t.id: t for t in read_problem(job)[1].work.tasks}
    assert "join-uprights.corner" not in tasks["singly"]
    # the joint is bolted all the same: 0.75 h of it, from labour.toml
    hours = [tasks[w]["set-corner.corner"].person_hours for w in WAYS]
    assert hours[1] == pytest.approx(hours[0] + 0.75)
    assert hours[2] == hours[0]
    cautions = [" ".join(tasks[w]["set-corner.corner"].cautions) for w in WAYS]
    assert "guarded working platform" in cautions[1]
    assert "Nobody stands beneath a load" in cautions[2]


def test_what_no_four_can_lift_by_hand_is_refused_unless_there_is_a_hoist(tmp_path):
    heavy = text_of(ROOMS[2], "by hand").replace('"24 lb"', '"100 kg"')
    with pytest.raises(NoPlanError) as told:
        plan_of(job_file(tmp_path, heavy), 0.02)
    assert "not by hand in this posture" in " ".join(told.value.conflict)
    assert [h.split('"')[1] for h in told.value.helps] == ["hoist"]
