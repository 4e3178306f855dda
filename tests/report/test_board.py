"""The board against the plan: places worked out by hand, words, looks, hard names.

Tests of planner/report/board/bands.py, planner/report/board/board.py,
planner/report/board/closed.py, planner/report/board/lane.py,
planner/report/board/legend.py, planner/report/board/states.py,
planner/report/board/story.py, planner/report/board/style.py,
planner/report/drawing/drying_progress.py, planner/report/drawing/elements.py,
planner/report/drawing/tokens.py, planner/report/drawing/view.py,
planner/report/drawing/week_rows.py, planner/report/network/layout.py.
"""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from planner.nouns.plan import AirSeries, Taken
from planner.report.board.board import board_svg
from planner.report.board.closed import closed
from planner.report.board.states import surfaces
from planner.report.board.style import WIDE, Axis
from planner.report.drawing import tokens
from planner.report.drawing.drying_progress import Drying
from planner.report.drawing.elements import clean, fitted, width_of
from planner.report.drawing.view import View
from planner.report.drawing.week_rows import rows
from planner.report.network.draw import network_pictures
from planner.report.network.layout import held, needed, network
from tests.support.plans import changed, made_plan

SVG = "{http://www.w3.org/2000/svg}"


def drawn(plan):
    return ET.fromstring(board_svg(plan))


def texts(root):
    return ["".join(t.itertext()) for t in root.iter(f"{SVG}text")]


def test_the_board_tells_its_story_to_those_who_listen():
    plan = made_plan()
    root = drawn(plan)
    named = {e.get("id"): e for e in root.iter() if e.get("id")}
    assert root.get("role") == "img"
    title = named[root.get("aria-labelledby")]
    story = named[root.get("aria-describedby")]
    assert (title.tag, story.tag) == (f"{SVG}title", f"{SVG}desc")
    # One hour for each of 36 tasks from Mon 8 Feb, 08:00; see the steps of the plan.
    assert (
        "Working plan: stage closed Mon 8 Feb, 08:00 to Thu 18 Feb, 10:00" in story.text
    )
    for bay in plan.stage.bays:
        assert f"{bay.name}: as found" in story.text
    for r in plan.stage.returns:
        assert View(plan, year_said=True).when(r.when) in story.text


def test_a_bay_is_what_the_last_work_on_it_made_of_it():
    # Bay 1 of 1: mark 8-9, open 9-10, back 10-11, set 11-12, anchor 12-13 on Monday,
    # the glue holds until 15; tape 15-16; compound Tue 8-9, set at 11; topping 11-12,
    # dry Wed 8; rub 8-9; primer 9-10, ready 14; colour 14-15, ready 21; colour Thu 8-9.
    plan = made_plan(bays=("wall",))
    view = View(plan)
    found = surfaces(
        view, "tern-street:bay-0", plan.stage.closure[0], plan.stage.closure[1]
    )
    assert [
        (s.name, view.when(s.start)[:2], view.when(s.start)[-5:]) for s in found
    ] == [
        ("as found", "Mo", "08:00"),
        ("opened", "Mo", "10:00"),
        ("backed", "Mo", "11:00"),
        ("placed", "Mo", "12:00"),
        ("anchored", "Mo", "13:00"),
        ("taped", "Mo", "16:00"),
        ("compound, coat 1", "Tu", "09:00"),
        ("topped, coat 1", "Tu", "12:00"),
        ("primed, coat 1", "We", "10:00"),
        ("colour, coat 1", "We", "15:00"),
        ("colour, coat 2", "Th", "09:00"),
    ]
    assert all(a.end == b.start for a, b in pairwise(found))
    later = surfaces(
        view,
        "tern-street:bay-0",
        plan.stage.closure[0],
        plan.stage.closure[1] + timedelta(days=1),
    )
    assert later[-1].name == "in service"
    assert later[-1].start == plan.stage.closure[1]


def test_a_place_across_the_sheet_is_its_share_of_the_week():
    view = View(made_plan())
    row = rows(view, 7)[0]
    axis = Axis(row=row, sheet=WIDE)
    # Monday 8 Feb 2027, 12:00 in Halifax is 16:00 UTC: half a day of seven.
    noon = datetime(2027, 2, 8, 16, tzinfo=UTC)
    assert axis.x(noon) == pytest.approx(WIDE.left + (WIDE.right - WIDE.left) / 14)
    assert axis.x(row.start - timedelta(days=3)) == WIDE.left


def test_both_returns_stand_at_their_time():
    plan = made_plan(bays=("wall",))
    root = drawn(plan)
    row = rows(View(plan), 7)[0]
    axis = Axis(row=row, sheet=WIDE)
    lines = [
        float((e.get("d") or "")[1:].split()[0])
        for e in root.iter(f"{SVG}path")
        if (e.get("class") or "").startswith("breturn")
    ]
    assert lines == [
        pytest.approx(axis.x(r.when), abs=0.05) for r in plan.stage.returns
    ]
    said = texts(root)
    for r in plan.stage.returns:
        assert f"{r.kind} {View(plan, year_said=True).when(r.when)}" in said


@pytest.mark.parametrize(("slow", "weeks"), [(0.1, 1), (1.0, 2), (6.0, 5), (14.0, 10)])
def test_a_longer_job_has_more_rows_of_weeks(slow, weeks):
    plan = made_plan(bays=("wall", "corner"), slow=slow)
    kept = tuple(  # and nothing is told of later days
        replace(r, promise=r.when, tentative_until=r.when) for r in plan.stage.returns
    )
    root = drawn(changed(plan, returns=kept))
    said = texts(root)
    days = [t for t in said if re.fullmatch(r"\w{3} \d+ \w{3}", t)]
    first = plan.tasks[0].start
    last = plan.stage.closure[1]
    local = View(plan).zone
    touched = (last.astimezone(local).date() - first.astimezone(local).date()).days + 1
    assert -(-touched // 7) == weeks  # the plan is as long as this case means it to be
    assert len(days) == len(set(days)) == (touched if weeks == 1 else weeks * 7)
    assert float(root.get("width")) == WIDE.width + 48


def test_days_of_a_row_are_as_long_as_the_clock_makes_them():
    # Halifax puts its clocks forward on Sun 14 Mar 2027 (tz database): 23 hours.
    plan = made_plan(bays=("wall", "corner"), slow=14.0)
    hours = {
        (b - a) / timedelta(hours=1): View(plan).when(a)
        for row in rows(View(plan), 7)
        for a, b in pairwise(row.days)
    }
    assert set(hours) == {23.0, 24.0}
    assert hours[23.0] == "Sun 14 Mar 2027, 00:00"


def test_weeks_without_anything_are_named_and_left_out():
    plan = made_plan(bays=("wall",))
    away = timedelta(weeks=3)
    early = replace(
        plan.tasks[0],
        id="tern-street:crates",
        start=plan.tasks[0].start - away,
        end=plan.tasks[0].end - away,
        spans=tuple((a - away, b - away) for a, b in plan.tasks[0].spans),
        on_stage=False,
    )
    moved = replace(plan, tasks=(early, *plan.tasks))
    found = rows(View(moved), 7)
    assert [r.idle for r in found] == [False, True, False]
    assert len(found[1].days) == 15
    said = texts(drawn(moved))
    assert "Mon 25 Jan to Sun 7 Feb: no work, no waits, stage open" in said


def test_a_coat_that_dries_in_even_air_is_half_dry_half_way():
    plan = made_plan(bays=("wall",))
    drying = Drying(plan)
    topping = next(w for w in plan.waits if w.product == "topping")  # 20 h
    assert drying.half_way(topping) == topping.begins + timedelta(hours=10)
    (start, wet), (end, dry) = drying.curve(topping)  # a straight line
    assert (start, end) == (topping.begins, topping.ready)
    assert wet == 0.0
    assert dry == pytest.approx(1.0)


def test_a_coat_dries_slower_in_the_damp_half_of_its_wait():
    plan = made_plan(bays=("wall",))
    wait = next(w for w in plan.waits if w.product == "topping")
    tick = (wait.begins - plan.stage.air.start) // timedelta(minutes=15)
    half = tick + 40  # 10 of the 20 hours
    damp = [80.0] * half + [40.0] * (len(plan.stage.air.air_c) - half)
    law = replace(
        next(p for p in plan.products if p.id == "topping").stages[0],
        law="water_film",
        numbers={"hours_h": 10.0, "at_c": 25.0, "at_rh_pct": 50.0},
    )
    products = tuple(
        replace(p, stages=(law,)) if p.id == "topping" else p for p in plan.products
    )
    air = AirSeries(
        start=plan.stage.air.start,
        tick_minutes=15,
        air_c=plan.stage.air.air_c,
        humidity_pct=tuple(damp),
        changes_per_h=plan.stage.air.changes_per_h,
        wall_colder_delta_k=0.0,
        readings=(),
        origin=(),
    )
    shares = Drying(changed(plan, air=air, products=products)).shares(wait)
    # The film's time goes with (1 - RH)^-0.900: at 40 % it is (0.6/0.2)^0.900 = 2.688
    # times as quick as at 80 %, so the damp half brings 1/3.688 = 0.271 of the way.
    assert shares[40] == pytest.approx(0.271, abs=0.002)


def test_waits_that_hold_the_date_are_drawn_heavier():
    plan = made_plan(bays=("wall",))
    slopes = [
        (e.get("class") or "").split()
        for e in drawn(plan).iter(f"{SVG}path")
        if (e.get("class") or "").startswith("bslope")
    ]
    assert any("h" in s for s in slopes)
    assert any("t" in s for s in slopes)  # waits of the return only are dashed


def test_bookings_quiet_hours_and_days_off_are_drawn_and_named():
    day = datetime(2027, 2, 10, 12, tzinfo=UTC)
    shoot = Taken(start=day, end=day + timedelta(hours=9), reason='"Shoot" (stage.ics)')
    quiet = Taken(start=day, end=day + timedelta(hours=2), reason="voices next door")
    plan = made_plan(bookings=(shoot,), quiet=(quiet,))
    found = closed(View(plan), rows(View(plan), 7)[0].days)
    kinds = {c.kind for c in found}
    assert kinds == {"booked", "quiet hours", "nobody in", "day off"}
    off = [View(plan).when(c.start) for c in found if c.kind == "day off"]
    assert off == ["Sat 13 Feb 2027, 00:00", "Sun 14 Feb 2027, 00:00"]
    story = next(drawn(plan).iter(f"{SVG}desc")).text
    assert "Booked Wed 10 Feb, 08:00 to 17:00" in story
    assert "Quiet hours Wed 10 Feb, 08:00 to 10:00: voices next door" in story


def test_the_key_holds_what_the_board_shows_and_nothing_else():
    start = datetime(2027, 2, 9, 12, tzinfo=UTC)
    booking = Taken(start=start, end=start + timedelta(hours=4), reason="shoot")
    plain = texts(drawn(made_plan()))
    booked = texts(drawn(made_plan(bookings=(booking,))))
    assert "booked" not in plain
    assert "booked" in booked
    assert "quiet hours" not in plain
    assert "fumes, until the air is clear" not in plain  # no coat of it gives any off
    assert {"curing", "setting", "drying, from wet to dry"} <= set(plain)
    assert "3 placed" in plain


def test_the_head_leads_with_the_promise_and_names_the_working_plan():
    head = texts(drawn(made_plan(bays=("north", "east"))))[1:3]
    # By hand (tests/report/test_page_browser.py): Mon 15 Feb, 16:00; promised for two days
    # later.
    assert "full service Wed 17 Feb, 16:00" in head[0]
    assert head[0].startswith("Promised: ")
    assert "full service Mon 15 Feb, 16:00" in head[1]
    assert "working plan" in head[1]


def test_hours_are_marked_where_a_day_has_room():
    assert texts(drawn(made_plan())).count("12") >= 7  # each day of the first week


def test_no_meaning_is_left_to_colour_alone():
    """Each face and each wait has a pattern of its own besides its tone."""
    root = drawn(made_plan())
    strokes = {
        p.get("id"): [c.get("d") for c in p if c.tag == f"{SVG}path"]
        for p in root.iter(f"{SVG}pattern")
    }
    faces = {k: tuple(v) for k, v in strokes.items() if k.startswith("face-")}
    assert len(faces) == 11
    assert len(set(faces.values())) == 11
    assert len({tuple(v) for k, v in strokes.items() if k.startswith("wet-")}) == 5


def luminance(tone):
    """Relative luminance, WCAG 2.2 'relative luminance' (from IEC 61966-2-1)."""
    parts = [int(tone[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    r, g, b = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts
    )
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one, other):
    """Contrast ratio, WCAG 2.2 'contrast ratio'."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_as_the_guidelines_reckon_it():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    # G18, a technique of WCAG: #777777 on white fails 4.5:1, #767676 passes.
    assert contrast("#777777", "#ffffff") < 4.5 <= contrast("#767676", "#ffffff")


@pytest.mark.parametrize("theme", tokens.THEMES)
def test_tones_keep_the_contrast_of_wcag_2_2_aa(theme):
    tones = tokens.THEMES[theme]
    assert set(tones) == set(tokens.LIGHT)
    for ink, ground in tokens.READ:  # 1.4.3: 4.5 to 1 for text
        assert contrast(tones[ink], tones[ground]) >= 4.5, (ink, ground)
    for line, ground in tokens.SEEN:  # 1.4.11: 3 to 1 for what must be seen
        assert contrast(tones[line], tones[ground]) >= 3.0, (line, ground)


HARD = (
    "<script>alert(1)</script>",
    "\"quotes\" & 'apostrophes' ]]>",
    "👷‍♀️ 🧱",
    "קיר צפוני",
    "الجدار الشمالي",
    "n" * 200,
    "control \x0b and \ud800 half",
)


@pytest.mark.parametrize("name", HARD)
def test_hard_names_neither_break_the_picture_nor_run(name):
    plan = made_plan(bays=(name, "wall"), people=(name, "Bo"), job=name, suffix=name)
    root = drawn(plan)
    assert not list(root.iter(f"{SVG}script"))
    assert not [e for e in root.iter() if any(k.startswith("on") for k in e.attrib)]
    whole = " ".join(clean(name).split())
    shown = [t.strip("\u2068\u2069…") for t in texts(root)]
    assert any(t and whole.startswith(t) for t in shown)
    for said in texts(root):
        assert width_of(said, 12) < WIDE.width


def test_a_cut_name_fits_and_says_that_it_is_cut():
    assert fitted("north", 100, 12) == "north"
    cut = fitted("n" * 200, 100, 12)
    assert cut.endswith("…")
    assert width_of(cut, 12) <= 100


def test_the_same_plan_gives_the_same_bytes():
    assert board_svg(made_plan()) == board_svg(made_plan())


def test_lines_of_the_network_keep_clear_of_each_other_and_of_boxes():
    plan = made_plan(bays=("a", "b", "c", "d"))
    net = network(plan)
    places = [(c.column, c.row) for c in net.cells.values()]
    assert len(set(places)) == len(plan.tasks)
    for before, after in needed(plan):
        assert net.cells[before].row < net.cells[after].row
    at = [
        (r.gutter, r.track, net.cells[r.before].row, net.cells[r.after].row)
        for r in net.routes
        if not r.straight
    ]
    for n, (gutter, track, top, bottom) in enumerate(at):
        for other, lane, first, last in at[n + 1 :]:
            if (gutter, track) == (other, lane):
                assert bottom <= first or last <= top


def test_the_network_draws_what_holds_the_date_without_a_gap():
    plan = made_plan(bays=("a", "b"))
    order = [t.id for t in plan.tasks]
    linked = {(x.before, x.after) for x in plan.links}
    steps = list(pairwise(order))
    chain = tuple(
        replace(
            next(s for s in plan.stage.chain if s.task == after),
            cause="link" if (before, after) in linked else "person",
        )
        for before, after in steps
    )
    plan = changed(plan, chain=chain)
    alone = set(steps) - linked
    assert set(held(plan)) == alone
    drawn_ = str(network_pictures(View(plan)).whole)
    heavy = drawn_.count('class="nline h"') + drawn_.count('class="nline h p"')
    assert drawn_.count('class="nline h p"') == len(alone) > 0
    assert heavy == len(set(steps) & (set(needed(plan)) | alone))
    assert "…" not in drawn_  # titles and waits are whole


def test_a_task_stands_below_all_that_it_follows():
    plan = made_plan(bays=("wall", "corner"))
    last = plan.tasks[-1]  # in the second bay, which is left with nothing else
    first = [t for t in plan.tasks if t.bays == ("tern-street:bay-0",)]
    link = replace(plan.links[0], before=first[8].id, after=last.id)
    kept = tuple(x for x in plan.links if {x.before, x.after} <= {t.id for t in first})
    net = network(replace(plan, tasks=(*first, last), links=(*kept, link)))
    assert net.cells[first[8].id].row == 8
    assert net.cells[last.id].row == 9


def test_a_link_that_others_imply_is_not_drawn():
    plan = made_plan(bays=("wall",))
    first, second, third = (t.id for t in plan.tasks[:3])
    implied = replace(plan.links[0], before=first, after=third)
    pairs = needed(replace(plan, links=(*plan.links, implied)))
    assert (first, second) in pairs
    assert (second, third) in pairs
    assert (first, third) not in pairs
