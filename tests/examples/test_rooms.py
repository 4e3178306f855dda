"""Ten rooms of different shapes, each planned and verified, every method among them.

All rooms are invented. What must hold of them is arithmetic: a plan breaks no rule,
a longer wall is never less work, and feet or metres make no difference.

Tests of planner/trade/recipes/compound/bonded.py, planner/trade/recipes/fill/foam.py,
planner/trade/recipes/sanding/sanded_in_place.py, planner/trade/takeoff.py,
planner/trade/work.py, planner/usecases/plan.py.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

import pytest

from planner.files.job.jobfile import read_job
from planner.judge import judged
from planner.measures import Units
from planner.nouns.ids import bare
from planner.nouns.job import Job
from planner.nouns.plan import Plan
from planner.nouns.work import Task, Work
from planner.trade import recipes
from planner.trade.data import materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from planner.usecases.read import read_inputs
from tests.support import rooms
from tests.support.finished import plan_of
from tests.support.values import in_inches, in_mm, job_file, kit

CREW = """
[[crew]]
name = "Ana"
trades = ["carpenter", "finisher", "painter"]
shifts = ["Mon-Fri 07:00-13:00 13:30-17:30"]

[[crew]]
name = "Bo"
trades = ["carpenter", "labourer", "painter"]
shifts = ["Mon-Fri 07:00-13:00 13:30-17:30"]

[[crew]]
name = "Cleo"
trades = ["finisher", "painter"]
shifts = ["Mon-Fri 07:00-13:00 13:30-17:30"]
"""


@dataclass(frozen=True)
class Room:
    """A room: its runs (one after "+" meets the run before), its walls, its methods."""

    name: str
    runs: str
    ceiling: str
    wall: str
    methods: str
    apron: str = "2 m"


ROOMS = (
    Room("small, metric", "4 m", "2.7 m", "board on wood studs", ""),
    Room(
        "small, feet",
        "12 ft",
        "9 ft",
        "board on steel studs",
        'fill = "foam"\nbonding_agent = true',
        "6 ft",
    ),
    Room(
        "masonry",
        "3.6 m",
        "3 m",
        "masonry",
        'backing = "furred"\ntopping_coats = 0\nsetting = "setting-45"',
    ),
    Room(
        "corner, drying",
        "3 m + 2.5 m",
        "2.6 m",
        "board on wood studs",
        'backing = "furred"\nsetting_coats = 0',
    ),
    Room(
        "corner, solvent",
        "10 ft + 9 ft",
        "9 ft",
        "board on steel studs",
        'backing = "furred"\nfill = "foam"\nprimer = "solvent-primer-fast"',
        "6 ft",
    ),
    Room(
        "two corners, masonry",
        "2 m + 4 m + 2 m",
        "3.2 m",
        "masonry",
        'backing = "furred"\nprimer_in = "bays"\nsanding = "stage"',
    ),
    Room(
        "two corners, feet",
        "6 ft + 12 ft + 6 ft",
        "9 ft",
        "board on wood studs",
        'second_colour = { bays = ["apron"], coats = 1 }',
        "5 ft",
    ),
    Room(
        "three corners",
        "2 m + 3 m + 3 m + 2 m",
        "2.8 m",
        "board on wood studs",
        "setting_coats = 1\ndrying_coats = 1",
        "1 m",
    ),
    Room(
        "two walls apart",
        "3 m, 2.5 m",
        "2.8 m",
        "board on steel studs",
        'sanding = "stage"\nsecond_colour = { bays = ["run 2"] }',
    ),
    Room(
        "high, apron left",
        "14 ft",
        "15 ft",
        "board on wood studs",
        'next_coat_after = "dry"\ncolour_coats = 3\ncolour_on_apron = false',
        "8 ft",
    ),
)
# Planned in the usual run: one wall, one corner, two walls apart; the others on demand.
USUAL = ("masonry",)


def text_of(room: Room, *, runs: str | None = None, metric: bool | None = None) -> str:
    """Return the job file of a room; `metric` writes its lengths in one system."""

    def said(length: str) -> str:
        if metric is None:
            return length
        value, unit = length.split()
        mm = float(value) * (1000.0 if unit == "m" else 304.8)
        return f"{mm / 1000.0!r} m" if metric else f"{mm / 304.8!r} ft"

    parts = re.split(r"\s*([+,])\s*", runs or room.runs)
    out = []
    for n, length in enumerate(parts[::2]):
        joint = parts[2 * n + 1] if 2 * n + 1 < len(parts) else ""
        meets = f'meets = "run {n + 2}"\n' if joint == "+" else ""
        out.append(
            f'[[stage.run]]\nname = "run {n + 1}"\nlength = "{said(length)}"\n{meets}'
        )
    say = in_inches if " ft" in said(room.ceiling) else in_mm
    return (
        f'[job]\nname = "{room.name}"\ntime_zone = "Europe/Tallinn"\n'
        "earliest = 2027-04-05\n"
        f'[stage]\nceiling = "{said(room.ceiling)}"\nwall = "{room.wall}"\n'
        f'apron = "{said(room.apron)}"\n'
        f"{''.join(out)}{kit(say)}[methods]\n{room.methods}\n{CREW}"
    )


def read(tmp_path, text: str) -> Job:
    return read_job(job_file(tmp_path, text))


def work_of(job: Job) -> Work:
    ids = tuple(r.name.replace(" ", "-") for r in job.stage.runs)
    return work(job, take_off(job, ids=ids), materials.load())


@pytest.mark.parametrize(
    "room",
    [
        pytest.param(r, id=r.name, marks=[] if r.name in USUAL else [pytest.mark.slow])
        for r in ROOMS
    ],
)
def test_a_room_is_planned_and_breaks_no_rule(tmp_path, room):
    plan: Plan = plan_of(job_file(tmp_path, text_of(room)), 0.3)
    made = work_of(read(tmp_path, text_of(room)))
    needed = {t.id for t in made.tasks if not t.optional}
    assert needed <= {bare(t.id) for t in plan.tasks}
    assert judged(read_inputs(job_file(tmp_path, text_of(room))), plan) == ()


def test_every_recipe_and_shape_is_in_one_of_the_rooms(tmp_path):
    jobs = [read(tmp_path, text_of(r)) for r in ROOMS]
    used = {
        recipes.chosen(choice, j.methods, j.stage.wall)
        for j in jobs
        for choice in recipes.CHOSEN
    }
    assert used == set(recipes.recipes())
    assert {len(j.stage.corners) for j in jobs} == {0, 1, 2, 3}
    assert len(ROOMS) == 10


def doubled(runs: str) -> str:
    return re.sub(r"[\d.]+", lambda m: f"{2 * float(m.group()):g}", runs)


def by_kind(tasks: Iterable[Task]) -> dict[str, float]:
    """Person-hours by kind of work, all bays together.

    A seam in the wall belongs to a corner or to the run beside it, as the studs part
    them, and a longer run parts them elsewhere: so not task by task. How many modules
    are cut hangs on what whole ones leave over, which a longer run leaves otherwise.
    """
    hours: dict[str, float] = {}
    for task in (t for t in tasks if t.phase != "cut"):
        hours[task.phase] = hours.get(task.phase, 0.0) + task.person_hours
    return hours


@pytest.mark.parametrize("room", ROOMS, ids=[r.name for r in ROOMS])
def test_twice_the_length_is_no_less_work_of_any_kind(tmp_path, room):
    short = work_of(read(tmp_path, text_of(room)))
    long = work_of(read(tmp_path, text_of(room, runs=doubled(room.runs))))
    assert {t.id for t in short.tasks} ^ {t.id for t in long.tasks} <= {"cut"}
    before, after = by_kind(short.tasks), by_kind(long.tasks)
    for kind, hours in before.items():
        assert after[kind] >= hours, kind
    assert sum(after.values()) > 1.2 * sum(before.values())


@pytest.mark.parametrize("room", ROOMS, ids=[r.name for r in ROOMS])
def test_feet_or_metres_make_no_difference(tmp_path, room):
    metric, feet = (
        work_of(replace(read(tmp_path, text_of(room, metric=m)), units=Units.US))
        for m in (True, False)
    )
    assert metric == feet


@pytest.mark.parametrize("room", rooms.ROOMS, ids=lambda r: r.name)
def test_other_kits_and_studs_are_no_less_work_at_twice_the_length(tmp_path, room):
    job, takeoff = rooms.measured(tmp_path, room)
    runs = tuple(replace(r, length_mm=2 * r.length_mm) for r in job.stage.runs)
    long = replace(job, stage=replace(job.stage, runs=runs))
    before = by_kind(work(job, takeoff, materials.load()).tasks)
    after = by_kind(work(long, take_off(long, ids=room.ids), materials.load()).tasks)
    assert all(after[kind] >= hours for kind, hours in before.items())
