"""The opening of board walls: heights and ends are common practice, no source.

Tests of planner/trade/geometry/furring.py, planner/trade/opening/cutting.py,
planner/trade/opening/nouns.py, planner/trade/opening/opening.py,
planner/trade/opening/pieces.py, planner/trade/opening/seams.py,
planner/trade/opening/studs.py.
"""

import math
from bisect import bisect
from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.trade.opening.cutting import FEET_SHEET, METRIC_SHEET
from planner.trade.opening.nouns import Rect, StripKind
from planner.trade.opening.opening import LeftClosed
from planner.trade.takeoff import BayKind
from tests.support.rooms import ROOMS, Room, measured

OPENED = [r for r in ROOMS if r.wall != "masonry" and "furred" not in r.methods]
IN = 25.4
STUD = 1.5 * IN  # a dressed two by four


def opened(tmp_path, room: Room):
    job, takeoff = measured(tmp_path, room)
    return job, takeoff.opening


def wood(job, i: int, corners: tuple[int, ...]) -> list[float]:
    """Return every place along a run where wood stands behind the board.

    The grid goes on both ways from the first stud, beyond the run's free ends; in an
    inside corner the wall ends, on framing of its own.
    """
    run, step = job.stage.runs[i], job.stage.stud_spacing_mm
    grid = [
        run.first_stud_mm + step * k for k in range(-4, int(run.length_mm / step) + 5)
    ]
    if i - 1 in corners:
        grid = [g for g in grid if g >= -1e-6]
        grid += [0.0] * all(abs(g) >= STUD for g in grid)
    if i in corners:
        grid = [g for g in grid if g <= run.length_mm + 1e-6]
        far = all(abs(g - run.length_mm) >= STUD for g in grid)
        grid += [run.length_mm] * far
    return sorted(grid)


def near(value: float, places: list[float]) -> bool:
    n = bisect(places, value)
    return any(abs(value - p) < 1e-6 for p in places[max(n - 1, 0) : n + 1])


def test_a_corner_wall_worked_by_hand(tmp_path):
    # 24 ft, corner on the right, studs each 16 in: the corner piece's edge is at
    # 288 - 41 1/2 = 246 1/2 in, between the studs at 240 and 256. 18 ft, corner on the
    # left: the edge at 41 1/2, between 32 and 48; the cove ends at 216, the next stud
    # is at 224. Ceiling 136 in.
    _, plan = opened(tmp_path, ROOMS[2])
    north, east = plan.runs
    rects = [
        tuple(round(v / IN, 6) for v in (r.left_mm, r.right_mm, r.bottom_mm, r.top_mm))
        for r in (s.rect for run in (north, east) for s in run.strips)
    ]
    assert rects == [
        (0, 240, 35.5, 39.5),
        (240, 256, 35.5, 136),
        (32, 48, 35.5, 136),
        (48, 224, 35.5, 39.5),
    ]
    assert len(north.taken) == 16
    assert north.ends == ("left: ends on the stud at the end of the cove",)
    assert east.ends == ("right: ends on the first stud beyond the end of the cove",)


def the_strip_brackets_every_line_that_is_screwed_to_it(job, plan, corners):
    kit, ceiling = job.kit, job.stage.ceiling_mm
    for i, run in enumerate(plan.runs):
        sides = []
        if i - 1 in corners:
            sides.append(kit.corner_leg_mm)
        if i in corners:
            sides.append(job.stage.runs[i].length_mm - kit.corner_leg_mm)
        for strip in run.strips:
            r = strip.rect
            assert r.bottom_mm < kit.straight_height_mm < r.top_mm
            assert r.height_mm >= 4 * IN - 1e-6
            if strip.kind is StripKind.CORNER:
                assert r.bottom_mm < kit.corner_height_mm < r.top_mm
                assert r.top_mm == pytest.approx(ceiling)
        tall = [s.rect for s in run.strips if s.kind is StripKind.CORNER]
        for side in sides:
            assert any(
                r.left_mm <= side - IN + 1 and side + IN - 1 <= r.right_mm for r in tall
            )
        assert all(b.holds for b in run.brackets)
        named = {b.line for b in run.brackets}
        assert ("corner piece's top edge" in named) == bool(sides)


def test_for_the_usual_kit_the_strip_starts_at_35_and_a_half(tmp_path):
    _, plan = opened(tmp_path, ROOMS[0])
    (strip,) = plan.runs[0].strips
    assert strip.rect.bottom_mm / IN == pytest.approx(35.5)
    assert strip.rect.top_mm / IN == pytest.approx(39.5)


def every_strip_ends_on_wood_at_or_beyond_the_end_of_the_cove(job, plan, corners):
    for i, run in enumerate(plan.runs):
        studs = wood(job, i, corners)
        for strip in run.strips:
            assert near(strip.rect.left_mm, studs)
            assert near(strip.rect.right_mm, studs)
        backed = sorted((s.rect.left_mm, s.rect.right_mm) for s in run.strips)
        for (_, a), (b, _) in pairwise(backed):
            assert a == pytest.approx(b)  # no gap between two strips
        layout = run.layout
        assert backed[0][0] <= layout.start_mm + 1e-6
        assert backed[-1][1] >= layout.end_mm - 1e-6
        # and on the first such stud, not further on
        inside = [s for s in studs if s <= layout.start_mm + 1e-6]
        if i - 1 not in corners and not run.strips[0].bays[0].startswith("corner"):
            assert backed[0][0] == pytest.approx(max(inside))


def corner_cuts_are_on_the_nearest_studs_inside_and_outside_each_edge(
    job, plan, corners
):
    for i, run in enumerate(plan.runs):
        studs = wood(job, i, corners)
        tall = [s.rect for s in run.strips if s.kind is StripKind.CORNER]
        if len(tall) != (i in corners) + (i - 1 in corners):
            continue  # two corners so near that their strips are one
        sides = [job.kit.corner_leg_mm] * (i - 1 in corners)
        sides += [job.stage.runs[i].length_mm - job.kit.corner_leg_mm] * (i in corners)
        for side in sides:
            found = [r for r in tall if r.left_mm < side < r.right_mm]
            assert len(found) == 1
            # an inch of wood on both sides: 0.5 mm is let pass
            assert found[0].left_mm == max(s for s in studs if s <= side - IN + 0.5)
            assert found[0].right_mm == min(s for s in studs if s >= side + IN - 0.5)


def no_cut_crosses_a_stud(job, plan, corners):
    for i, run in enumerate(plan.runs):
        studs = wood(job, i, corners)
        assert run.cuts
        for cut in run.cuts:
            (x0, y0), (x1, y1) = cut.from_mm, cut.to_mm
            if y0 == y1 and cut.sawn:
                for s in studs:
                    assert x1 <= s - STUD / 2 + 1e-6 or x0 >= s + STUD / 2 - 1e-6
            elif y0 == y1:  # scored over a stud, within its width
                assert any(
                    abs(x0 - s) < STUD / 2 + 1e-6 and abs(x1 - s) < STUD / 2 + 1e-6
                    for s in studs
                )
            else:  # upright: on a stud's centre line, scored
                assert x0 == x1
                assert not cut.sawn
                assert near(x0, studs)


def the_cuts_go_all_round_what_is_taken_out(job, plan, corners):
    """Their length is the outline of the opening, less what lies under the ceiling."""
    ceiling = job.stage.ceiling_mm
    for run in plan.runs:
        rects = [s.rect for s in run.strips]
        around = 0.0
        for r in rects:
            around += 2 * r.width_mm + 2 * r.height_mm
            around -= r.width_mm * (abs(r.top_mm - ceiling) < 1e-6)
        for a, b in pairwise(rects):  # a common edge is no edge of the whole
            around -= 2 * min(a.height_mm, b.height_mm)
        cut = sum(math.dist(c.from_mm, c.to_mm) for c in run.cuts)
        assert cut == pytest.approx(around)


def over(a: Rect, b: Rect) -> float:
    wide = min(a.right_mm, b.right_mm) - max(a.left_mm, b.left_mm)
    high = min(a.top_mm, b.top_mm) - max(a.bottom_mm, b.bottom_mm)
    return max(wide, 0.0) * max(high, 0.0)


def board_and_backing_fill_the_strips_once_and_are_joined_on_studs(job, plan, corners):
    for i, run in enumerate(plan.runs):
        studs = wood(job, i, corners)
        want = sum(s.rect.area_m2 for s in run.strips)
        for pieces in (run.taken, run.backing):
            rects = [p.rect for p in pieces]
            assert sum(r.area_m2 for r in rects) == pytest.approx(want)
            assert all(over(a, b) < 1e-3 for a, b in combinations(rects, 2))
            for r in rects:
                held = sum(over(r, s.rect) for s in run.strips)
                assert held == pytest.approx(r.width_mm * r.height_mm)
                assert near(r.left_mm, studs)
                assert near(r.right_mm, studs)
        for p in run.taken:
            assert not any(p.rect.left_mm + 1 < s < p.rect.right_mm - 1 for s in studs)
    labels = [p.label for p in plan.backing]
    assert len(set(labels)) == len(labels)


def every_piece_of_backing_is_cut_from_a_sheet(job, plan, corners):
    cut = {p.label: p for one in plan.sheets() for p in one.pieces}
    assert cut.keys() == {p.label for p in plan.backing}
    for piece in plan.backing:
        sides = {round(piece.rect.width_mm, 3), round(piece.rect.height_mm, 3)}
        placed = cut[piece.label]
        assert {round(placed.length_mm, 3), round(placed.width_mm, 3)} == sides


def test_studs_in_inches_take_feet_sheets_and_others_metric_ones(tmp_path):
    # 16 in each: six to 8 ft; 400 mm each: six to 2400 mm
    assert opened(tmp_path, ROOMS[2])[1].sheet == FEET_SHEET
    assert opened(tmp_path, ROOMS[7])[1].sheet == METRIC_SHEET
    longest = max(p.rect.width_mm for p in opened(tmp_path, ROOMS[0])[1].backing)
    assert longest == pytest.approx(96 * IN)


def test_a_bay_knows_what_is_opened_for_it(tmp_path):
    # the hand-worked corner wall: 240 by 4 in; twice 16 by 100 1/2 in; 176 by 4 in
    _, takeoff = measured(tmp_path, ROOMS[2])
    one, corner, two, apron = takeoff.bays
    square = (IN / 1000) ** 2
    assert one.opening_m2 == pytest.approx(240 * 4 * square)
    assert corner.opening_m2 == pytest.approx(2 * 16 * 100.5 * square)
    assert two.opening_m2 == pytest.approx(176 * 4 * square)
    assert one.opening_mm == pytest.approx(240 * IN)
    assert two.opening_mm == pytest.approx(176 * IN)
    assert corner.opening_mm == pytest.approx(2 * 100.5 * IN)
    assert apron.opening_m2 == 0.0


@pytest.mark.parametrize(
    ("room", "why"),
    [
        (ROOMS[4], LeftClosed.MASONRY),
        (ROOMS[6], LeftClosed.MASONRY),
        (ROOMS[3], LeftClosed.FURRED),
    ],
    ids=["masonry", "masonry, two corners", "furred board"],
)
def test_a_wall_that_is_not_opened_says_so(tmp_path, room, why):
    _, takeoff = measured(tmp_path, room)
    plan = takeoff.opening
    assert (plan.runs, plan.why_none, plan.sheets()) == ((), why, ())
    assert all(b.opening_m2 == 0.0 for b in takeoff.of(BayKind.RUN))


RULES = (
    the_strip_brackets_every_line_that_is_screwed_to_it,
    every_strip_ends_on_wood_at_or_beyond_the_end_of_the_cove,
    corner_cuts_are_on_the_nearest_studs_inside_and_outside_each_edge,
    no_cut_crosses_a_stud,
    the_cuts_go_all_round_what_is_taken_out,
    board_and_backing_fill_the_strips_once_and_are_joined_on_studs,
    every_piece_of_backing_is_cut_from_a_sheet,
)


@pytest.mark.parametrize("room", OPENED, ids=lambda r: r.name)
@pytest.mark.parametrize("rule", RULES, ids=lambda f: f.__name__)
def test_each_room_is_opened_by_the_rules(tmp_path, rule, room):
    job, plan = opened(tmp_path, room)
    assert plan.runs
    rule(job, plan, room.corners)


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    length=st.integers(2300, 9_000),
    corners=st.sampled_from([(), (0,), (1,), (0, 1)]),
    spacing=st.sampled_from(["16 in", "24 in", "400 mm", "600 mm", "625 mm", "300 mm"]),
    first=st.integers(0, 300),
    ceiling=st.integers(1500, 6000),
)
def test_any_wall_is_opened_by_the_rules(
    tmp_path, length, corners, spacing, first, ceiling
):
    room = replace(
        ROOMS[2],
        runs=("3 m", f"{length} mm", "3 m"),
        corners=corners,
        spacing=spacing,
        first_studs=("0 mm", f"{first} mm", "0 mm"),
        ceiling=f"{ceiling} mm",
    )
    job, plan = opened(tmp_path, room)
    for rule in RULES:
        rule(job, plan, corners)
