"""Painting again what stands: its work, its amounts, the earliest return found by trying.

That floors and coves are cleared, washed, scuffed, wiped and covered before a coat is
*common practice, no source*; so is one coat in the same colour and two in another one.

Tests of planner/trade/phases/repainting.py, planner/trade/recipes/paint/one_colour.py,
planner/trade/phases/gates.py, planner/trade/work.py, planner/trade/buying/measures.py,
planner/files/job/jobfile.py, planner/files/job/checks.py, planner/files/job/methods.py,
planner/planning/wording/around.py, planner/usecases/opening.py.
"""

import math
from datetime import datetime, timedelta
from functools import cache

import pytest

from planner.errors import JobFileError, NoPlanError, PlannerError
from planner.files.job.jobfile import read_job
from planner.nouns.case import Case, ClosureWindow
from planner.nouns.work import ReturnKind
from planner.planning.answering import answer
from planner.planning.posing import takeoff_of
from planner.usecases import opening
from planner.usecases.plan import Choices
from planner.usecases.read import read_inputs
from tests.support.command import covetime
from tests.support.finished import finished
from tests.support.values import STRAIGHT, changed, job_file, work_of

REPAINT = changed(STRAIGHT, ("[survey]", '[repaint]\narea = "floor"\n[survey]'))


def with_area(area: str, *more: tuple[str, str]) -> str:
    return changed(REPAINT, ('area = "floor"', f'area = "{area}"'), *more)


# ----------------------------------------------------------------------- the work


def test_nothing_is_built_and_the_work_comes_in_the_trades_order(tmp_path):
    work = work_of(tmp_path, REPAINT)
    ids = ["clear", "scuff.apron", "wipe", "cover", "colour-1", "handover"]
    assert [t.id for t in work.tasks] == ids
    told = {(x.before, x.after, x.wait and x.wait.stage) for x in work.links}
    assert told == {
        ("clear", "scuff.apron", "recoat"),
        ("clear", "wipe", "recoat"),
        ("scuff.apron", "wipe", None),
        ("wipe", "cover", "recoat"),
        ("wipe", "colour-1", "recoat"),
        ("cover", "colour-1", None),
        ("colour-1", "handover", "recoat"),
    }


def test_another_colour_takes_two_coats_and_a_number_given_is_kept(tmp_path):
    for more, count in (
        ('colour = "another"', 2),
        ('colour = "another"\ncoats = 3', 3),
        ("coats = 2", 2),
    ):
        text = with_area("floor", ('area = "floor"', f'area = "floor"\n{more}'))
        coats = [t for t in work_of(tmp_path, text).tasks if t.phase == "colour"]
        assert [t.id for t in coats] == [f"colour-{n + 1}" for n in range(count)]


@pytest.mark.parametrize("area", ["floor", "floor and coves", "all"])
def test_what_is_painted_is_what_the_take_off_has_of_it(tmp_path, area):
    """The floor in front of a wall of 5 m is 5 m by 8 ft: 5 * 2.4384 = 12.192 m²."""
    inputs = read_inputs(job_file(tmp_path, with_area(area)))
    takeoff = takeoff_of(inputs)
    (wall,) = takeoff.built
    floor = 5.0 * 2.4384
    wanted = {
        "floor": floor,
        "floor and coves": floor + wall.module_m2 + wall.ends_m2,
        "all": floor + wall.module_m2 + wall.ends_m2 + wall.wall_above_m2,
    }[area]
    tasks = {t.id: t for t in work_of(tmp_path, with_area(area)).tasks}
    assert tasks["colour-1"].wet_m2 == pytest.approx(wanted)
    assert tasks["wipe"].wet_m2 == pytest.approx(wanted)
    assert tasks["scuff.apron"].person_hours == pytest.approx(0.036 * floor)
    bays = ("apron",) if area == "floor" else ("wall", "apron")
    assert tasks["colour-1"].bays == bays


def test_sound_paint_of_unknown_make_is_surveyed_before_it_is_sanded(tmp_path):
    """Old floor paint may hold lead; no wall is opened, so no service is looked for."""
    text = changed(REPAINT, ("own_making = true", "own_making = false"))
    work = work_of(tmp_path, text)
    ids = [t.id for t in work.tasks]
    assert "survey" in ids
    assert "locate" not in ids
    waits = {(x.before, x.after) for x in work.links if x.wait is not None}
    assert ("survey", "scuff.apron") in waits
    assert ("survey", "clear") in {(x.before, x.after) for x in work.links}


def test_the_usual_cautions_are_said(tmp_path):
    tasks = {t.id: " ".join(t.cautions) for t in work_of(tmp_path, REPAINT).tasks}
    assert "Silica" in tasks["scuff.apron"]
    assert "slippery" in tasks["clear"]
    assert "Keep out of a freshly painted room" in tasks["colour-1"]
    assert all("Exits" in said for said in tasks.values())


# ------------------------------------------------------------------- the job file


def test_a_delivery_of_the_building_is_none_of_a_repaint(tmp_path):
    text = changed(
        REPAINT,
        ("earliest = 2027-02-08",
         "earliest = 2027-02-08\ndelivery = 2027-02-08T10:00:00\n"
         'order_lead = "3 weeks"'),
    )  # fmt: skip
    job = read_job(job_file(tmp_path, text))
    assert (job.delivery, job.order_lead_h) == (None, None)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('area = "floor"', 'area = "walls"', "repaint.area"),
        ('area = "floor"', 'colour = "blue"', "repaint.colour"),
        ('area = "floor"', "coats = 0", "repaint.coats"),
        ('area = "floor"', "plastic = 2", "repaint.plastic"),
        (
            'ceiling = "2.9 m"',
            'ceiling = "2.9 m"\napron = "0 m"',
            "there is no floor to paint",
        ),
    ],
)
def test_faults_are_told_with_their_place(tmp_path, old, new, said):
    with pytest.raises(JobFileError) as raised:
        read_job(job_file(tmp_path, changed(REPAINT, (old, new))))
    assert any(said in line for line in raised.value.lines())


def test_a_job_without_the_section_is_no_repaint(tmp_path):
    assert read_job(job_file(tmp_path, STRAIGHT)).repaint is None


def test_no_wall_is_opened(tmp_path):
    with pytest.raises(PlannerError, match="no wall is opened"):
        opening.read(job_file(tmp_path, REPAINT))


# --------------------------------------------------------- the plan, and by trying

# One painter, whole days of 8 h; at 25 °C and 50 % every sheet's hours are its own.
ALONE = changed(
    REPAINT,
    ("earliest = 2027-02-08", 'earliest = 2027-02-08\ndrying_margin = "0 %"'),
    ('trades = ["carpenter", "finisher", "painter"]',
     'trades = ["painter"]\nshifts = ["Mon-Fri 08:00-16:00"]'),
    ('[[crew]]\nname = "Bo"\ntrades = ["labourer", "painter"]\n',
     '[air]\ntemperature = "25 C"\nhumidity = "50 %"\n'),
)  # fmt: skip
TICK_H = 0.25
DAY = 96  # ticks
FLOOR_M2 = 5.0 * 2.4384
# Hours of one person, set-up, in one go, and hours until the next may begin; the rates
# are those of the labour data, the waits those of the sheets: damp 0.5 h, recoat 5 h.
STEPS = (
    (0.02 * FLOOR_M2, 0.5, False, 0.5),
    (0.036 * FLOOR_M2, 0.5, False, 0.0),
    (0.03 * FLOOR_M2, 0.25, False, 0.5),
    (0.05 * 5.0, 0.25, False, 0.0),
    (0.06 * FLOOR_M2 / 0.9, 0.75, True, 5.0),
    (0.01 * FLOOR_M2, 1.0, False, 0.0),
)
FULL_H = 72.0  # general pages, read, weak: 72 h to full service at 25 °C, 50 %


def is_open(tick: int) -> bool:
    day, of_day = divmod(tick, DAY)
    return day % 7 < 5 and 32 <= of_day < 64  # Monday first; 08:00 to 16:00


def ended(start: int, hours: float, set_up_h: float, one_go: bool) -> int | None:
    """The tick at which work that begins at a tick is done; None: it can't begin there."""
    left, tick, first = hours, start, True
    while left > 1e-9:
        if not is_open(tick):
            if first or one_go:
                return None
            tick += 1
            continue
        until = tick
        while is_open(until):
            until += 1
        gives = (until - tick) * TICK_H - math.ceil(set_up_h / TICK_H) * TICK_H
        if gives <= 1e-9:
            if first:
                return None
            tick = until
            continue
        first = False
        if left <= gives + 1e-9:
            return until - math.floor((gives - left) / TICK_H + 1e-9)
        left, tick = left - gives, until
        if one_go:
            return None
    return tick


@cache
def earliest(step: int, ready: int, horizon: int) -> float:
    """The earliest full service if a step may begin from a tick on, by trying all starts."""
    if step == len(STEPS):
        return ready
    hours, set_up_h, one_go, wait_h = STEPS[step]
    best = math.inf
    for start in range(ready, horizon):
        end = ended(start, hours, set_up_h, one_go)
        if end is None:
            continue
        after = earliest(step + 1, end + math.ceil(wait_h / TICK_H - 1e-9), horizon)
        if step == 4:  # the coat itself also has to bear service
            after = max(after, end + FULL_H / TICK_H)
        best = min(best, after)
    return best


def test_the_earliest_return_is_the_one_found_by_trying_every_start(tmp_path):
    """Every start of every task within ten days; the engine proves the same date."""
    case = Case(inputs=read_inputs(job_file(tmp_path, ALONE)))
    found = answer(case, Choices().search())
    plan = finished(case, found)  # and the judge has passed it
    full = plan.stage.returning(ReturnKind.FULL_SERVICE).when
    monday = datetime(2027, 2, 8, tzinfo=case.inputs.job.zone)
    tick = (full - monday) / timedelta(hours=TICK_H)
    assert tick == earliest(0, 0, 10 * DAY)
    assert plan.aims[0].proven


def test_a_gap_as_long_as_that_holds_it_and_a_step_less_does_not(tmp_path):
    inputs = read_inputs(job_file(tmp_path, ALONE))
    monday = datetime(2027, 2, 8, tzinfo=inputs.job.zone)
    # a gap that begins on Wednesday at noon
    begin = 2 * DAY + 48
    end = earliest(0, begin, 20 * DAY)
    first, last = (monday + timedelta(hours=t * TICK_H) for t in (begin, end))
    fits = Case(inputs=inputs, window=ClosureWindow(not_before=first, not_after=last))
    assert answer(fits, Choices().search()).closure[1] == last
    short = ClosureWindow(not_before=first, not_after=last - timedelta(hours=TICK_H))
    with pytest.raises(NoPlanError):
        answer(Case(inputs=inputs, window=short), Choices(explain=False).search())


def test_a_job_of_its_own_is_planned_with_all_its_files(tmp_path):
    job = job_file(tmp_path, with_area("floor and coves"))
    ran = covetime("plan", str(job), "--work-limit", "0.02")
    assert ran.returncode == 0, ran.stderr
    names = {p.name for p in (tmp_path / "plan").rglob("*") if p.is_file()}
    assert {"plan.html", "board.svg", "day-sheets.txt", "closure.ics"} < names
    assert not {"opening.txt", "opening.svg"} & names
    sheets = (tmp_path / "plan" / "day-sheets.txt").read_text("utf-8")
    assert "Order the kit" not in sheets
    assert "Gypsum" not in sheets
    assert "crate" not in sheets
    assert "Heavy point loads" in sheets
    bought = (tmp_path / "plan" / "quantities.txt").read_text("utf-8")
    assert "Flat colour" in bought
    assert "tape" in bought.lower()
