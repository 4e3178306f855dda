"""Old and new plan on one board, what happened beside it, and how sure the return is.

Tests of planner/living/moved.py, planner/nouns/living/earlier.py,
planner/report/board/earlier.py, planner/report/board/odds_edge.py,
planner/report/page/moved.py.
"""

from dataclasses import replace
from datetime import timedelta
from xml.etree import ElementTree as ET

import pytest

from planner.living.moved import earlier_places
from planner.nouns.work import ReturnKind
from planner.report.board.board import board_svg
from planner.report.board.odds_edge import EDGE_H, edge_of
from planner.report.board.style import WIDE, Axis
from planner.report.drawing.view import View
from planner.report.drawing.week_rows import rows
from planner.report.page.crew import crew_page
from tests.report.test_page import Read
from tests.support.plans import FIRST, LATEST, PROMISED, changed, local, made_plan

SVG = "{http://www.w3.org/2000/svg}"
DAY, HOUR = timedelta(days=1), timedelta(hours=1)
PLAN = made_plan(bays=("wall",))
NOW = local(FIRST + DAY, 10)  # Tue 9 Feb, 10:00


def shifted(plan, id_, by, **others):
    """The plan with one task elsewhere, and other fields of it changed."""
    return replace(
        plan,
        tasks=tuple(
            replace(
                t,
                start=t.start + by,
                end=t.end + by,
                spans=tuple((a + by, b + by) for a, b in t.spans),
                **others,
            )
            if t.id == id_
            else t
            for t in plan.tasks
        ),
    )


def drawn(plan, earlier=None):
    return ET.fromstring(board_svg(plan, earlier))


def paths(root, kind):
    return [e for e in root.iter(f"{SVG}path") if e.get("class") == kind]


def left_of(path):
    return float((path.get("d") or "")[1:].split()[0])


COLOUR = PLAN.tasks[-1].id  # colour coat 2, Thu 11 Feb, 8:00 to 9:00 by the steps
TAPE = next(t.id for t in PLAN.tasks if t.phase == "tape")  # Mon 15:00 to 16:00
LATER = shifted(PLAN, COLOUR, HOUR)


def test_what_moved_is_outlined_where_it_was_and_drawn_where_it_is():
    found = earlier_places(PLAN, LATER, None, now=NOW)
    assert [(t.task, t.spans) for t in found.tasks] == [(COLOUR, PLAN.tasks[-1].spans)]
    root = drawn(LATER, found)
    view = View(LATER)
    row = next(r for r in rows(view, 7) if r.meets(*PLAN.tasks[-1].spans[0]))
    axis = Axis(row=row, sheet=WIDE)
    (was,) = (p for p in paths(root, "bwas") if len(p))  # the key's has no tip
    assert left_of(was) == pytest.approx(axis.x(PLAN.tasks[-1].start) + 1, abs=0.06)
    assert "was planned" in was.find(f"{SVG}title").text
    texts = ["".join(t.itertext()) for t in root.iter(f"{SVG}text")]
    assert "was planned here before" in texts
    assert "past to the left, as it happened" in texts
    story = next(root.iter(f"{SVG}desc")).text
    assert f"{PLAN.tasks[-1].title} was planned" in story


def test_the_line_of_now_stands_once_at_its_hour():
    found = earlier_places(PLAN, LATER, None, now=NOW)
    axis = Axis(row=rows(View(LATER), 7)[0], sheet=WIDE)
    lines = [p for p in paths(drawn(LATER, found), "bnow") if not p.get("transform")]
    assert [left_of(p) for p in lines] == [pytest.approx(axis.x(NOW), abs=0.06)]


def test_a_plan_that_was_not_revised_shows_neither():
    root = drawn(PLAN)
    assert not paths(root, "bwas")
    assert not paths(root, "bnow")


def test_a_revision_that_moved_nothing_has_no_room_for_outlines():
    found = earlier_places(PLAN, PLAN, None, now=NOW)
    assert found.tasks == ()
    root, plain = drawn(PLAN, found), drawn(PLAN)
    assert not paths(root, "bwas")
    lanes = [e.get("y") for e in root.iter(f"{SVG}rect") if e.get("class") == "f0"]
    assert lanes == [
        e.get("y") for e in plain.iter(f"{SVG}rect") if e.get("class") == "f0"
    ]


def test_what_happened_is_held_against_the_last_plan_before_it_began():
    # planned at 15:00, revised to 16:00 before it began, done at 17:00, revised again
    second = shifted(PLAN, TAPE, HOUR)
    first_step = earlier_places(PLAN, second, None, now=NOW)
    third = shifted(second, TAPE, HOUR, happened="done")
    second_step = earlier_places(second, third, first_step, now=NOW + DAY)
    tape = next(t for t in PLAN.tasks if t.id == TAPE)
    hour_on = tuple((a + HOUR, b + HOUR) for a, b in tape.spans)
    assert [t.spans for t in second_step.tasks] == [hour_on]
    # and a later revision, by which it has long been done, still knows
    fourth = shifted(third, COLOUR, HOUR)
    third_step = earlier_places(third, fourth, second_step, now=NOW + 2 * DAY)
    assert {t.task: t.spans for t in third_step.tasks} == {
        TAPE: hour_on,
        COLOUR: PLAN.tasks[-1].spans,
    }


def test_a_task_that_fell_away_and_another_team_are_told():
    swapped = shifted(LATER, COLOUR, timedelta(0), team=("p0", "p1"))
    gone = replace(PLAN.tasks[0], id="tern-street:extra", title="Sand once more")
    before = replace(PLAN, tasks=(gone, *PLAN.tasks))
    found = earlier_places(before, swapped, None, now=NOW)
    words = Read(crew_page(swapped, earlier=found)).part("moved")
    assert f"{gone.title} " in words
    assert "falls away" in words
    assert "Marisol, Hedda instead of" in words


def test_the_page_tells_from_where_to_where_and_what_happened():
    third = shifted(LATER, TAPE, HOUR, happened="done")
    found = earlier_places(PLAN, third, None, now=NOW)
    read = Read(crew_page(third, earlier=found))
    words = read.part("moved")
    assert "Planned anew as of Tue 9 Feb" in words
    come, _, happened = words.partition("As it happened")
    assert "Colour coat, wall Thu 11 Feb" in come
    assert "08:00 to 09:00" in come
    assert "09:00 to 10:00" in come
    assert "Tape, wall" in happened
    assert "15:00 to 16:00" in happened
    assert "16:00 to 17:00" in happened
    assert "moved" not in Read(crew_page(PLAN)).words


# --------------------------------------------------- how sure the return is, drawn


def test_the_edge_falls_by_the_plans_own_chances():
    # Kept in 25 of 100, promised in 80 two days later, in 95 five days later.
    full = PLAN.stage.returning(ReturnKind.FULL_SERVICE)
    edge = edge_of(View(PLAN))
    assert edge is not None
    whens, chances = zip(*edge.points, strict=True)
    assert whens == (full.when, full.when + PROMISED, full.when + LATEST)
    assert chances == pytest.approx((0.75, 0.20, 0.05))
    # half way between the first two: (75 + 20) / 2
    assert edge.chance(full.when + PROMISED / 2) == pytest.approx(0.475)
    assert edge.chance(full.when + LATEST + HOUR) == 0.0


def test_the_edge_is_as_high_as_it_is_likely_and_the_promise_is_named():
    root = drawn(PLAN)
    slices = paths(root, "bfade")[:-3]  # without the key's
    high = [float(p.get("d").split("v")[1].split("h")[0]) for p in slices]
    assert high == sorted(high, reverse=True)
    assert max(high) <= 0.75 * EDGE_H + 0.1
    assert min(high) >= 0.05 * EDGE_H - 0.1
    full = PLAN.stage.returning(ReturnKind.FULL_SERVICE)
    texts = ["".join(t.itertext()) for t in root.iter(f"{SVG}text")]
    view = View(PLAN, year_said=True)
    assert full.promise is not None
    assert full.tentative_until is not None
    assert f"promised {view.when(full.promise)} (80 of 100)" in texts
    assert f"back in 95 of 100 by {view.when(full.tentative_until)}" in texts
    assert "still closed, as likely as it is high" in texts


@pytest.mark.parametrize("promise", [None, timedelta(0)])
def test_where_nothing_is_promised_later_no_edge_is_drawn(promise):
    full = PLAN.stage.returning(ReturnKind.FULL_SERVICE)
    when = None if promise is None else full.when + promise
    sure = replace(full, promise=when, tentative_until=when)
    plain = changed(PLAN, returns=(PLAN.stage.returns[0], sure))
    root = drawn(plain)
    assert not paths(root, "bfade")
    assert not paths(root, "bpromise")


def test_weeks_after_the_plan_in_which_only_the_odds_are_told_are_short():
    full = PLAN.stage.returning(ReturnKind.FULL_SERVICE)
    far = replace(full, tentative_until=full.when + timedelta(weeks=3))
    long = changed(PLAN, returns=(PLAN.stage.returns[0], far))
    found = rows(View(long), 7, until=far.tentative_until)
    # Mon 8 to Sun 14 Feb is the plan's; Sun 7 Mar, 9:00 is the last date told.
    assert [r.tail for r in found] == [False, True, True, True]
    assert all(len(r.days) == 8 for r in found)
    narrow = rows(View(long), 3, until=far.tentative_until)
    assert [r.tail for r in narrow] == [False] * 3 + [True] * 3
    assert max(len(r.days) for r in narrow) == 8
    assert [r[-1].end for r in (found, narrow)] == [local(FIRST + 28 * DAY, 0)] * 2
